"""Correct one formula file where there is one right answer, and show the change.

The rest of the file stays as it is, byte for byte. A correction is kept only if the file still reads, the finding is
gone and nothing critical or major is new. Nothing is written without --save, and never to a file that could not be read
in full. Exit status: 0 nothing to correct, or written; 1 corrections that are not written; 2 the file could not be read
or written.
"""

from __future__ import annotations

import argparse
import codecs
import sys

from ..reading.document import Unreadable
from ..reading.text import MOST_BYTES
from ..reports.safe_text import visible
from ..review.run import Reviewer
from ..review.settings import BadSettings
from .configured import add_pack_argument, complain_of, plugins_of
from .given import say_faults, say_unreadable
from .main import complain
from .saving import NotSaved, save

EXAMPLES = """examples:
  formcheck correct hand-gel.formula.yaml
  formcheck correct hand-gel.formula.yaml --also inci-names --also legal-maximum
  formcheck correct hand-gel.formula.yaml --save
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    from ..review.corrections import ON_REQUEST

    parser.add_argument(
        "file", metavar="FILE", help="a formula file, or - for what is piped in, which is then only shown"
    )
    parser.add_argument("--save", action="store_true", help="write the corrected text into the file")
    parser.add_argument(
        "--also",
        action="append",
        default=[],
        choices=tuple(ON_REQUEST),
        metavar="WHAT",
        help="correct these too, which are a matter of taste: "
        + "; ".join(f"{name}: {about}" for name, about in ON_REQUEST.items())
        + "; give it again for several",
    )
    parser.add_argument(
        "--format",
        choices=("text", "json"),
        default="text",
        help="text for the screen (default) or json for other programs",
    )
    add_pack_argument(parser)


def run(options: argparse.Namespace) -> int:
    from ..reports import corrections_report
    from ..reports.terminal import width_of
    from ..review.corrections import CannotEdit, correct

    if options.save and options.file == "-":
        return complain("--save writes into a file, and standard input is none")
    reviewer = Reviewer(plugins=plugins_of(options))
    say_faults(reviewer)
    try:
        data = _bytes(options.file)
        result = correct(reviewer, options.file, data, options.also)
        saved = options.save and bool(result.made)
        if saved:
            mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
            save(options.file, mark + result.new.encode(), data)
    except BadSettings as error:
        return complain_of(error)
    except Unreadable as error:
        say_unreadable(options.file, error)
        return complain(f"{visible(options.file)} cannot be read in full and was left alone")
    except (CannotEdit, NotSaved, OSError) as error:
        reason = error.strerror.lower() if isinstance(error, OSError) and error.strerror else str(error)
        return complain(f"{visible(options.file)}: {visible(reason)}")
    if options.format == "json":
        sys.stdout.write(corrections_report.as_data(result, saved))
    else:
        sys.stdout.write(corrections_report.text(result, saved, width_of(sys.stdout)))
    for fault in result.review.faults:
        complain(f"{fault.who}: {fault.what}")
    broken = result.review.faults or reviewer.plugins.faults
    return 2 if broken else int(bool(result.made) and not saved)


def _bytes(file: str) -> bytes:
    """What is in the file, or a little more than a formula may have of it. Raises OSError."""
    if file == "-":
        return sys.stdin.buffer.read(MOST_BYTES + 1)
    with open(file, "rb") as stream:
        return stream.read(MOST_BYTES + 1)
