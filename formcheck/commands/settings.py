"""What is in force for a formula or a folder, every value with the file and line it comes from.

The nearest formcheck.toml (or [tool.formcheck] in pyproject.toml) at or above the folder holds alone, unless it says
«builds-on». Exit status: 0 shown, 2 the configuration cannot be used.
"""

from __future__ import annotations

import argparse
import json
import os
import sys

from ..reports import settings_report
from ..reports.terminal import width_of
from ..review.run import Reviewer
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, plugins_of
from .main import complain

EXAMPLES = """examples:
  formcheck settings
  formcheck settings formulas/hand-gel.formula.yaml
  formcheck settings formulas/ --format json
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "path", nargs="?", default=".", metavar="PATH", help="a formula file or a folder (default: the working folder)"
    )
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    path = options.path
    if path != "-" and not os.path.exists(path):
        return complain(f"{path}: there is no such file or folder")
    reviewer = Reviewer(plugins=plugins_of(options))
    for fault in reviewer.plugins.faults:
        complain(f"plug-in {fault.who}: {fault.what}")
    try:
        settings = reviewer.settings(os.path.join(path, "") if os.path.isdir(path) else path)
    except BadSettings as error:
        return complain_of(error)
    rules = [*reviewer.rules, *settings.house]
    if options.format == "json":
        print(json.dumps(settings_report.as_data(path, settings, rules), indent=2))
    else:
        print("\n".join(settings_report.page(path, settings, rules, width_of(sys.stdout))))
    return 2 if reviewer.plugins.faults else 0
