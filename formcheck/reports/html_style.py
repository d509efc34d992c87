"""How the HTML report looks: paper and ink, by day, by night, in print, on a telephone, and without colour.

The variables of :root are the only colours. Everything that a colour says is said in words, shape or hatching as well.
"""

from __future__ import annotations

import base64
import hashlib

LIGHT = {
    "paper": "#fbf9f3",
    "sheet": "#f3f0e6",
    "ink": "#22302b",
    "soft": "#55615b",
    "rule": "#cfcabb",
    "leaf": "#1d5f50",
    "critical": "#8c1740",
    "major": "#8f4300",
    "minor": "#27557f",
    "note": "#565a63",
    "mark": "#efe3b5",
}
DARK = {
    "paper": "#151c1a",
    "sheet": "#1e2725",
    "ink": "#e7e8e0",
    "soft": "#a9b3ac",
    "rule": "#43504b",
    "leaf": "#7cc9b2",
    "critical": "#f294b0",
    "major": "#f0ac6c",
    "minor": "#93c0ea",
    "note": "#b5b9c2",
    "mark": "#4a431f",
}


def _variables(colours: dict[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())


_PAGE = """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif;overflow-wrap:anywhere}
.sheet{max-width:68rem;margin:0 auto;padding:1.25rem 1rem 3rem}
h1,h2,h3,h4{font-family:"Iowan Old Style","Palatino Linotype",Palatino,"URW Palladio L","Noto Serif","Liberation Serif",Georgia,serif;font-weight:600;line-height:1.25;margin:0}
h1{font-size:1rem;color:var(--soft);font-style:italic;font-weight:400}
h2{font-size:1.9rem;margin:.1rem 0 .15rem}
h3{font-size:1.3rem;margin:2.4rem 0 .9rem;padding-top:.5rem;border-top:3px double var(--rule)}
h4{font-size:1.08rem}
p{margin:.5rem 0;max-width:44rem}
a{color:var(--leaf);text-underline-offset:.18em}
a:focus-visible,summary:focus-visible,[tabindex]:focus-visible{outline:3px solid var(--leaf);outline-offset:2px;border-radius:2px}
.away{position:absolute;left:-100vw}
.away:focus{left:.5rem;top:.5rem;background:var(--paper);padding:.4rem .7rem;z-index:2}
.quiet{color:var(--soft);font-size:.9rem}
.verdict{display:flex;gap:.9rem;align-items:stretch;margin:1rem 0;border:2px solid var(--ink);max-width:44rem;background:var(--sheet)}
.verdict .band{flex:0 0 1.6rem;border-right:2px solid var(--ink)}
.hold .band,.unread .band{background:repeating-linear-gradient(-45deg,var(--ink) 0 5px,transparent 5px 11px)}
.ready .band{background:var(--leaf)}
.verdict p{margin:.55rem .6rem .6rem 0}
.verdict strong{font-size:1.35rem;letter-spacing:.04em;display:block;line-height:1.2}
.brief{display:flex;flex-wrap:wrap;gap:.1rem 1.6rem;margin:.8rem 0;font-size:.93rem}
.brief div{display:flex;gap:.45rem}
dt{color:var(--soft)}
dd{margin:0}
nav ul{list-style:none;display:flex;flex-wrap:wrap;gap:.35rem 1.2rem;padding:0;margin:.9rem 0 0}
nav li{padding:.15rem 0}
.caution{border:1px solid var(--ink);border-left-width:.5rem;padding:.5rem .9rem;margin:.6rem 0;max-width:44rem;background:var(--sheet)}
.step{margin:1.6rem 0 .4rem;font-style:italic;color:var(--soft)}
.finding{margin:0 0 1.7rem;padding:.1rem 0 0 .9rem;border-left:3px solid var(--rule)}
.finding.critical{border-left:7px double var(--critical)}
.finding.major{border-left:4px solid var(--major)}
.finding.minor{border-left:3px dashed var(--minor)}
.finding.note{border-left:3px dotted var(--note)}
.grade{font:600 .86rem/1.4 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif;display:block;margin-bottom:.2rem}
.critical .grade,.critical.sign{color:var(--critical)}
.major .grade,.major.sign{color:var(--major)}
.minor .grade,.minor.sign{color:var(--minor)}
.note .grade,.note.sign{color:var(--note)}
.grade svg,.sign svg{width:.95em;height:.95em;vertical-align:-.1em;margin-right:.35em}
.sign svg{margin-right:.2em}
.grade .where{font-weight:400;color:var(--soft)}
.beside{display:grid;gap:.7rem 1.6rem;margin-top:.6rem}
.beside .source{order:-1}
.words{display:grid;grid-template-columns:max-content 1fr;gap:.35rem .9rem;margin:0;align-content:start;font-size:.95rem}
.words .small{font-size:.86rem;color:var(--soft)}
.source{background:var(--sheet);border:1px solid var(--rule);padding:.45rem 0;margin:0;font:.85rem/1.55 ui-monospace,"Cascadia Mono","DejaVu Sans Mono","Liberation Mono",monospace;align-self:start;min-width:0}
.source div{display:grid;grid-template-columns:3.6em 1fr;padding-right:.6rem}
.source .wide-margin{grid-template-columns:3.6em 1fr max-content}
.source .no{color:var(--soft);text-align:right;padding-right:.9em;font-variant-numeric:tabular-nums;text-decoration:none}
.source a.no{color:var(--leaf);text-decoration:underline}
.source code{font:inherit;white-space:pre-wrap;tab-size:2}
.source .here{background:var(--mark)}
.source .here .no{font-weight:700;color:var(--ink)}
.source .here .no::before{content:"\\25B6\\FE0E ";font-size:.7em}
mark{background:none;color:inherit;font-weight:700;text-decoration:underline;text-decoration-thickness:2px;text-underline-offset:3px}
.signs{white-space:nowrap;padding-left:.8em}
.sign{margin-left:.5em;font-family:system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif}
.plain{padding-left:1.2rem;max-width:48rem}
.plain li{margin:.5rem 0}
.scroll{overflow-x:auto;max-width:100%}
table{border-collapse:collapse;font-size:.9rem;margin:.4rem 0 .8rem;overflow-wrap:break-word}
caption{text-align:left;font-weight:600;padding:.3rem 0}
th,td{text-align:left;vertical-align:top;padding:.28rem .9rem .28rem 0;border-bottom:1px solid var(--rule)}
thead th{border-bottom:2px solid var(--ink);font-weight:600}
tbody th{font-weight:400}
.list{width:100%;font-size:1rem}
.list th,.list td{padding-top:.5rem;padding-bottom:.5rem}
details{margin:.3rem 0}
summary{cursor:pointer;color:var(--leaf);padding:.2rem 0}
footer{margin-top:3rem;border-top:3px double var(--rule);padding-top:.8rem}
.formula:not(:only-child){margin-top:3.5rem;padding-top:2rem;border-top:.5rem solid var(--rule)}
"""

_PICTURES = """
.gallery figure{margin:0;min-width:0}
.gallery figcaption{font-size:.95rem;margin:.4rem 0}
.gallery svg{display:block;margin:.6rem 0;height:auto}
.gallery svg:not(.wide){width:100%;max-width:36rem}
.gallery svg.wide{min-width:100%}
.gallery figure+figure{margin-top:2rem}
svg.patterns{position:absolute}
svg text{font-family:system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif;fill:var(--ink);font-size:12px}
svg .small{font-size:11px;fill:var(--soft)}
svg .strong{font-weight:700}
svg .halo{paint-order:stroke;stroke:var(--paper);stroke-width:3.5px;stroke-linejoin:round}
svg .grid{stroke:var(--rule);stroke-width:.7}
svg .axis{stroke:var(--ink);stroke-width:1}
svg .leader{stroke:var(--soft);stroke-width:.8}
svg .hatch{stroke:var(--ink);stroke-width:.9;fill:none}
svg .hatch-dot{fill:var(--ink)}
svg .breach-hatch{stroke:var(--critical);stroke-width:1.1}
svg .ceiling{opacity:.75}
svg .limit{stroke:var(--ink);stroke-width:1.4}
svg .habit{stroke:var(--soft);stroke-width:1.2;stroke-dasharray:5 3}
svg .breach{fill:var(--critical);stroke:var(--paper);stroke-width:1}
svg .breach-bar{stroke:var(--paper);stroke-width:2}
svg .breach-area{stroke:var(--critical);stroke-width:1.4}
svg .breach-line{stroke:var(--critical);stroke-width:3}
svg .vessel{fill:none;stroke:var(--leaf);stroke-width:2.2;stroke-linejoin:round}
svg .v1{stroke:var(--minor);stroke-dasharray:7 3}
svg .v2{stroke:var(--major);stroke-dasharray:2.5 2.5}
svg .v3{stroke:var(--note);stroke-dasharray:9 3 2 3}
svg .pour{fill:none;stroke:var(--soft);stroke-width:1.1;stroke-dasharray:1.5 2.5}
svg .pour-head{fill:none;stroke:var(--soft);stroke-width:1.6}
svg .marker{fill:var(--ink)}
svg .hollow{fill:var(--paper);stroke:var(--ink);stroke-width:1.4}
svg .marker-line{stroke:var(--ink);stroke-width:1.6}
svg .ring{fill:var(--paper);stroke:var(--ink);stroke-width:1.3}
svg .ring-letter{font-size:11px;font-weight:700}
svg .works{fill:var(--leaf)}
svg .keeps{stroke:var(--leaf);stroke-width:1.2}
svg .open-end{fill:none;stroke:var(--ink);stroke-width:1.8}
svg .target-area{opacity:.35}
svg .target-edge{stroke:var(--paper);stroke-width:3}
svg .target{stroke:var(--ink);stroke-width:1.6;stroke-dasharray:6 3}
svg .cross{stroke:var(--critical);stroke-width:2.4}
svg .whisker{stroke:var(--ink);stroke-width:1.4}
svg .prediction{fill:var(--paper);stroke:var(--ink);stroke-width:1.8}
svg .part{stroke:var(--ink);stroke-width:1}
svg rect.part:not([fill]){fill:var(--leaf);fill-opacity:.55}
svg .missing{fill:none;stroke:var(--critical);stroke-width:1.6;stroke-dasharray:4 3}
"""

_WIDE = """
@media(min-width:58rem){
.gallery figure+figure{margin-top:0}
.sheet{padding:2rem 2rem 4rem}
.beside{grid-template-columns:minmax(0,11fr) minmax(0,9fr)}
.beside .source{order:0}
.gallery{display:grid;grid-template-columns:1fr 1fr;gap:2rem 2.4rem;align-items:start}
.gallery .broad{grid-column:1/-1}
}
"""

_PRINT = """
@media(forced-colors:active){
svg text{fill:CanvasText}
svg .halo{stroke:Canvas}
svg .works,svg .marker,svg .hatch-dot{fill:CanvasText}
svg .ring,svg .hollow,svg .prediction{fill:Canvas;stroke:CanvasText}
svg :is(.vessel,.limit,.habit,.axis,.hatch,.whisker,.target,.cross,.pour,.open-end,.breach-area,.keeps,.part){stroke:CanvasText}
svg .breach{fill:CanvasText;stroke:Canvas}
}
@media print{
body{background:none;font-size:10pt}
.sheet{max-width:none;padding:0}
nav,.away{display:none}
a{color:inherit;text-decoration:none}
h3{margin-top:1.4rem}
h2,h3,h4{break-after:avoid}
.finding,figure,.caution,.verdict,tr,.source div{break-inside:avoid}
.beside{grid-template-columns:minmax(0,11fr) minmax(0,9fr)}
.beside .source{order:0}
.gallery{display:grid;grid-template-columns:1fr 1fr;gap:1rem 1.4rem;align-items:start}
.gallery figure+figure{margin-top:0}
.gallery svg.wide{min-width:0;width:100%}
.gallery table{font-size:7.5pt}
.gallery th,.gallery td{padding-right:.6em}
.scroll{overflow:visible}
.verdict .band{print-color-adjust:exact;-webkit-print-color-adjust:exact}
details::details-content{content-visibility:visible;height:auto;display:block}
.formula:not(:only-child){break-before:page;border-top:0;margin-top:0;padding-top:0}
}
"""

STYLE = (
    f":root{{color-scheme:light dark;{_variables(LIGHT)}}}"
    f"@media screen and (prefers-color-scheme:dark){{:root{{{_variables(DARK)}}}}}"
    f"{_PAGE}{_PICTURES}{_WIDE}{_PRINT}"
)


def content_policy() -> str:
    """The Content Security Policy (W3C, CSP Level 3) of a page: nothing but this very style sheet, by its hash."""
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
