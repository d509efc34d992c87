"""The weigh-out and making sheet as one page for the printer: black on white, A4 or Letter, no network, no scripts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from .making_sheet import CAUTION, HEADS, NO_PROCEDURE, OBSERVATIONS, SIGNATURES, SUMS, Content, PhaseTable, PHPlan, Row
from .making_words import BLANK, StepWords
from .safe_text import one_line

PAPERS = {"a4": "A4", "letter": "letter"}
_SPARE_STEPS = 10
_RULES = "<div class=rule></div>" * 3
_STYLE = """
@page { size: PAPER; margin: 13mm 13mm 15mm; }
@page { @bottom-left { content: FOOT; font: 8pt sans-serif; }
        @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; } }
* { box-sizing: border-box; }
html { color: #000; background: #fff; }
body { font: 10.5pt/1.35 "Liberation Sans", Arial, Helvetica, sans-serif; margin: 0 auto; max-width: 190mm; padding: 1em; }
@media print { body { padding: 0; max-width: none; } }
h1 { font-size: 19pt; line-height: 1.15; margin: 0 0 .1em; overflow-wrap: anywhere; }
h2 { font-size: 12pt; margin: 1.3em 0 .35em; border-bottom: 1.5pt solid #000; break-after: avoid; }
h3 { font-size: 10.5pt; margin: .9em 0 .25em; break-after: avoid; }
p, ul, ol { margin: .3em 0; }
ul { padding-left: 1.2em; }
li { break-inside: avoid; }
.banner { border: 4pt solid #000; padding: .15em .5em .35em; margin: 0 0 .8em; break-inside: avoid; }
.banner strong { display: block; font-size: 46pt; line-height: 1.1; letter-spacing: .02em; }
.pairs { display: grid; grid-template-columns: repeat(2, 1fr); gap: 0 6mm; margin: .5em 0; }
.pairs div { display: flex; gap: .5em; padding: .18em 0; border-bottom: .5pt solid #000; align-items: baseline; }
.pairs .wide { grid-column: 1 / -1; }
.pairs b { flex: none; font-weight: 600; }
.pairs span { overflow-wrap: anywhere; }
.blanks div { padding-top: .75em; }
table { border-collapse: collapse; width: 100%; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { border: .5pt solid #000; padding: .28em .4em; text-align: left; vertical-align: top; }
th { font-size: 8.5pt; }
td.tick, th.tick { width: 7mm; }
td.n, th.n { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }
td.g { font-weight: 700; font-size: 11.5pt; }
.w { width: 25mm; } .lot { width: 28mm; }
tr.vessel th { font-size: 10.5pt; border-top: 1.5pt solid #000; break-after: avoid; }
small { display: block; font-size: 8.5pt; overflow-wrap: anywhere; }
.box { display: inline-block; width: 4.2mm; height: 4.2mm; border: 1pt solid #000; vertical-align: -.6mm; }
ol.steps { list-style: none; padding: 0; }
ol.steps > li { display: grid; grid-template-columns: 8mm 7mm 1fr; padding: .45em 0; border-bottom: .5pt solid #000; }
ol.steps .no { font-weight: 700; text-align: right; padding-right: 2mm; }
ol.steps .do { font-weight: 600; }
ol.steps ul { margin: .1em 0; }
.blank { display: inline-block; min-width: 15mm; border-bottom: .7pt solid #000; }
.record { margin-top: .45em; line-height: 1.9; }
.spare { min-height: 2em; }
.plan, .keep { break-inside: avoid; }
.rule { border-bottom: .5pt solid #000; min-height: 2.2em; padding-top: .7em; break-inside: avoid; }
@media screen and (max-width: 40em) { .pairs { grid-template-columns: 1fr; } section { overflow-x: auto; } }
"""


def page(content: Content, paper: str = "a4") -> str:
    """The whole page. paper: a key of PAPERS; a printer set to the other size fits it as well."""
    style = _STYLE.replace("PAPER", PAPERS[paper]).replace("FOOT", _css_text(_foot(content)))
    return "".join(
        (
            '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n',
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n',
            f"<title>{_text(content.title)}: making sheet</title>\n<style>{style}</style>\n</head>\n<body>\n",
            "\n".join(_body(content)),
            "\n</body>\n</html>\n",
        )
    )


def _foot(content: Content) -> str:
    """What stands at the foot of every page; a page that lost its first one still says that it is on hold."""
    return ", ".join((*(words for words, _ in content.banners), content.title))


def _body(content: Content) -> Iterator[str]:
    for words, why in content.banners:
        yield f'<div class="banner" role="alert"><strong>{_text(words)}</strong>{_text(why)}</div>'
    yield f"<header><h1>{_text(content.title)}</h1><p>Weigh-out and making sheet</p>"
    yield _pairs((*content.facts, ("File", content.file)))
    yield _pairs(((head, "") for head in HEADS), "blanks") + "</header>"
    yield from _findings(content)
    yield "<section><h2>Before you start</h2><ul>"
    yield from (f"<li>{_text(caution)}</li>" for caution in (*content.cautions, CAUTION))
    yield "</ul></section>"
    yield from _weighing(content)
    yield f"<section><h2>Making</h2><p>{_text(SUMS)}</p>"
    yield from _steps(content)
    yield "</section>"
    yield from (part for plan in content.plans for part in _plan(plan))
    yield "<section><h2>Seen while making, and after</h2>"
    yield from (f"<div class=rule><b>{_text(label)}</b></div>" for label in OBSERVATIONS)
    yield f"{_RULES}</section><section class=keep><h2>Signed</h2>"
    yield _pairs(((label, "") for each in SIGNATURES for label in (each, "Date")), "blanks") + "</section>"


def _findings(content: Content) -> Iterator[str]:
    if not content.findings and not content.left_out:
        return
    yield "<section><h2>Open findings</h2><ul>"
    for finding in content.findings:
        step = f" (step {finding.step})" if finding.step is not None else ""
        remedy = f"<br>{_text(finding.remedy)}" if finding.holds else ""
        yield f"<li><b>{_text(finding.severity.upper())}{step}:</b> {_text(finding.message)}{remedy}</li>"
    left_out = f"<p>{_text(content.left_out)}</p>" if content.left_out else ""
    yield f"</ul>{left_out}</section>"


def _weighing(content: Content) -> Iterator[str]:
    yield "<section><h2>Weigh out</h2><table><thead><tr><th class=tick scope=col>done</th><th scope=col>material</th>"
    yield "<th class=n scope=col>%</th><th class=n scope=col>g</th><th class=w scope=col>weighed g</th>"
    yield "<th class=lot scope=col>lot</th></tr></thead>"
    for phase in content.phases:
        yield from _phase(phase)
    if content.to_taste:
        yield "<tbody><tr class=vessel><th colspan=6 scope=rowgroup>To have at hand for the pH</th></tr>"
        yield from map(_row, content.to_taste)
        yield "</tbody>"
    yield f"</table><p>All phases together: <b>{_text(content.sum)}</b></p>"
    if content.weighing_notes:
        notes = "".join(f"<li>{_text(note)}</li>" for note in content.weighing_notes)
        yield f"<ul>{notes}</ul>"
    yield "</section>"


def _phase(phase: PhaseTable) -> Iterator[str]:
    head = f"Vessel {_text(phase.letter)}, {_text(phase.sum)}"
    yield f"<tbody><tr class=vessel><th colspan=6 scope=rowgroup>{head}</th></tr>"
    yield from map(_row, phase.rows)
    yield "</tbody>"


def _row(row: Row) -> str:
    hazards = f"hazards: {row.hazards}" if row.hazards else ""
    small = "; ".join(filter(None, (row.known_as, row.note, hazards)))
    under = f"<small>{_text(small)}</small>" if small else ""
    return (
        f"<tr><td class=tick>{_box()}</td><td>{_text(row.name)}{under}</td>"
        f'<td class=n>{_text(row.percent.removesuffix(" %"))}</td><td class="n g">{_text(row.grams)}</td>'
        f"<td class=w></td><td class=lot>{_text(row.lot)}</td></tr>"
    )


def _steps(content: Content) -> Iterator[str]:
    yield "<ol class=steps>"
    if not content.steps:
        yield f"<p>{_text(NO_PROCEDURE)}</p>"
        blank = "<div class=spare></div>"
        yield from (
            f"<li><span class=no>{no}</span><span>{_box()}</span>{blank}</li>" for no in range(1, _SPARE_STEPS + 1)
        )
    yield from map(_step, content.steps)
    yield "</ol>"


def _step(step: StepWords) -> str:
    watch = "".join(f"<li>{_text(each)}</li>" for each in step.watch)
    note = f"<div>Note: {_text(step.note)}</div>" if step.note else ""
    record = f"<div class=record>{_blanks(', '.join(step.record))}</div>" if step.record else ""
    return (
        f"<li><span class=no>{step.number}</span><span>{_box()}</span><div><div class=do>{_text(step.do)}</div>"
        f"{'<ul>' + watch + '</ul>' if watch else ''}{note}{record}</div></li>"
    )


def _plan(plan: PHPlan) -> Iterator[str]:
    yield f"<section class=plan><h2>pH plan</h2><h3>{_text(plan.head)}</h3><ul>"
    yield from (f"<li>{_text(said)}</li>" for said in plan.says)
    yield "</ul>"
    if plan.portions:
        yield "<table><thead><tr><th class=tick scope=col>done</th><th scope=col>add</th><th scope=col>then</th>"
        yield "<th class=n scope=col>pH expected</th><th class=w scope=col>pH measured</th><th class=w scope=col>added g</th></tr></thead><tbody>"
        for portion in plan.portions:
            yield (
                f"<tr><td class=tick>{_box()}</td><td><b>{_text(portion.add)}</b></td><td>{_text(portion.then)}</td>"
                f"<td class=n>{_text(portion.expected)}</td><td></td><td></td></tr>"
            )
        yield "</tbody></table>"
    yield "</section>"


def _pairs(pairs: Iterable[tuple[str, str]], kind: str = "") -> str:
    cells = "".join(
        f"<div{' class=wide' if len(value) > 44 else ''}><b>{_text(label)}</b><span>{_text(value)}</span></div>"
        for label, value in pairs
    )
    return f'<div class="pairs {kind}">{cells}</div>'


def _box() -> str:
    return '<span class=box role="img" aria-label="tick box"></span>'


def _blanks(text: str) -> str:
    """The text with every blank as a line to write on."""
    return _text(text).replace(BLANK, '<span class=blank aria-label="blank">&nbsp;</span>')


def _text(text: str) -> str:
    return escape(one_line(text))


def _css_text(text: str) -> str:
    """The text as a string of a style sheet: everything but letters, digits and spaces as an escape."""
    plain = (
        character if character.isalnum() or character == " " else f"\\{ord(character):x} "
        for character in one_line(text)
    )
    return f'"{"".join(plain)}"'
