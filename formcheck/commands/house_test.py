"""Run the examples of house rules: the flawed formula has to set its rule off, the mended one has to keep it quiet.

Without a HOUSE-FILE, the house rule files of the configuration that serves the working folder. Materials that a rule names and
nothing knows are told as well. Exit status: 0 all as meant, 1 a rule is astray, 2 a file cannot be read.
"""

from __future__ import annotations

import argparse
import os
import sys
import textwrap

from ..formula.names import listed
from ..reports.safe_text import one_line
from ..reports.terminal import width_of
from ..review.house import HouseRule, read_house
from ..review.house_examples import Bench, Tried
from ..review.run import Reviewer
from ..review.settings import BadSettings, shown
from .configured import complain_of
from .main import complain

EXAMPLES = """examples:
  formcheck house-test
  formcheck house-test nettle-row.house.yaml
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "files", nargs="*", metavar="HOUSE-FILE", help="a file of house rules, such as nettle-row.house.yaml"
    )


def run(options: argparse.Namespace) -> int:
    bench = Bench()
    try:
        files = options.files or _configured()
        if not files:
            return complain("no configuration at or above the working folder names house rules; name a file of them")
        read = {file: _rules(file, bench) for file in dict.fromkeys(files)}
    except BadSettings as error:
        return complain_of(error)
    width = width_of(sys.stdout)
    astray = 0
    for file, rules in read.items():
        print(one_line(shown(file)))
        for rule in rules:
            tried = bench.try_rule(rule)
            astray += bool(tried.problems)
            _show(tried, width)
    count = sum(map(len, read.values()))
    print(f"\n{count} house rules: {listed((f'{count - astray} as meant', f'{astray} astray'))}")
    return int(astray > 0)


def _configured() -> list[str]:
    """The files that the configuration of the working folder names. Raises BadSettings."""
    return [str(given.value) for given in Reviewer().settings("-").house_files]


def _rules(file: str, bench: Bench) -> tuple[HouseRule, ...]:
    """Raises BadSettings."""
    taken = {rule.id: "built in or of a plug-in" for rule in bench.reviewer.rules}
    return read_house(os.path.abspath(file), bench.reviewer.reference, taken)


def _show(tried: Tried, width: int) -> None:
    rule = tried.rule
    print(f"  {rule.id:<32} {'ASTRAY' if tried.problems else 'as meant'}")
    for problem in tried.problems:
        place = f"{shown(rule.file)}:{problem.place.line}:{problem.place.column}"
        _print(f"{place}: {problem.message}", width)
    if not tried.problems:
        _print(f"{tried.findings[0].severity}, {tried.findings[0].message}", width)


def _print(text: str, width: int) -> None:
    for line in textwrap.wrap(one_line(text), width, initial_indent="      ", subsequent_indent="      "):
        print(line)
