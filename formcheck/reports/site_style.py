"""How the documentation looks: one template and one style sheet, with nothing from elsewhere: no scripts, fonts or pictures.

Paper and ink are those of the HTML report.
"""

from __future__ import annotations

from .html_style import DARK, LIGHT

GENERATOR = "formcheck site"
POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'"
TEMPLATE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="generator" content="@GENERATOR@">
<meta http-equiv="Content-Security-Policy" content="@POLICY@">
<title>{% if page and page.title and not page.is_homepage %}{{ page.title|e }}: {% endif %}{{ config.site_name|e }}</title>
<link rel="stylesheet" href="{{ 'site.css'|url }}">
</head>
<body>
{%- macro entry(item) %}
{%- if item.is_section %}
<li><span class="group">{{ item.title|e }}</span><ul>{% for child in item.children %}{{ entry(child) }}{% endfor %}</ul></li>
{%- else %}
<li><a href="{{ item.url|url }}"{% if item.active %} aria-current="page"{% endif %}>{{ item.title|e }}</a></li>
{%- endif %}
{%- endmacro %}
{%- macro first(item) %}{% if item.is_section %}{{ item.children[0].url|url }}{% else %}{{ item.url|url }}{% endif %}{% endmacro %}
{%- set part = namespace(item=none) %}
{%- for item in nav %}{% if item.active and item.is_section %}{% set part.item = item %}{% endif %}{% endfor %}
<a class="away" href="#text">To the text</a>
<header>
<p class="name"><a href="{{ nav.homepage.url|url }}">{{ config.site_name|e }}</a><span>before anything is weighed</span></p>
<nav aria-label="Parts"><ul>
{%- for item in nav %}
<li><a href="{{ first(item) }}"{% if item.active %} aria-current="true"{% endif %}>{{ item.title|e }}</a></li>
{%- endfor %}
</ul></nav>
</header>
<div class="desk{% if not part.item %} bare{% endif %}">
{%- if part.item %}
<nav class="shelf" aria-label="In this part">
<p class="label">{{ part.item.title|e }}</p>
<ul>{% for child in part.item.children %}{{ entry(child) }}{% endfor %}</ul>
</nav>
{%- endif %}
<main id="text">
{%- set places = namespace(items=[]) %}
{%- for top in page.toc %}{% if top.level == 1 %}{% set places.items = top.children %}{% endif %}{% endfor %}
{%- set content = page.content.split('</h1>', 1) %}
{{ content[0] }}{% if content|length > 1 %}</h1>
{%- if places.items|length > 7 %}
<details class="places"{% if places.items|length < 30 %} open{% endif %}><summary>On this page</summary>
<ul>{% for place in places.items %}<li><a href="{{ place.url }}">{{ place.title|e }}</a></li>{% endfor %}</ul>
</details>
{%- endif %}
{{ content[1] }}{% endif %}
{%- if page.previous_page or page.next_page %}
<nav class="turn" aria-label="Before and after">
{%- if page.previous_page %}<a rel="prev" href="{{ page.previous_page.url|url }}">{{ page.previous_page.title|e }}</a>{% else %}<span></span>{% endif %}
{%- if page.next_page %}<a rel="next" href="{{ page.next_page.url|url }}">{{ page.next_page.title|e }}</a>{% endif %}
</nav>
{%- endif %}
</main>
</div>
<footer>
<p>Nothing here calls a product safe, and none of it stands for a safety assessment, a challenge test or a stability test.
Suppliers' data sheets, local rules and licensed practice come first.</p>
</footer>
</body>
</html>
""".replace("@GENERATOR@", GENERATOR).replace("@POLICY@", POLICY)


def _variables(colours: dict[str, str]) -> str:
    return "".join(f"--{name}:{colour};" for name, colour in colours.items())


_SERIF = '"Iowan Old Style","Palatino Linotype",Palatino,"URW Palladio L","Noto Serif","Liberation Serif",Georgia,serif'
_SANS = 'system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif'
_MONO = 'ui-monospace,"Cascadia Mono","DejaVu Sans Mono","Liberation Mono",monospace'
_PAGE = """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%;scroll-padding-top:1rem}
body{margin:0;background:var(--paper);color:var(--ink);font:1rem/1.55 SANS;overflow-wrap:break-word}
a{color:var(--leaf);text-underline-offset:.18em;text-decoration-thickness:1px}
a:hover{text-decoration-thickness:2px}
a:focus-visible,summary:focus-visible{outline:3px solid var(--leaf);outline-offset:2px;border-radius:2px}
.away{position:absolute;left:-100vw}
.away:focus{left:.5rem;top:.5rem;background:var(--paper);padding:.4rem .7rem;z-index:2}
header{border-bottom:3px double var(--rule);padding:1.1rem 1rem .7rem;max-width:84rem;margin:0 auto}
.name{margin:0 0 .5rem;font:italic 1.5rem/1.2 SERIF;display:flex;flex-wrap:wrap;gap:.1rem .8rem;align-items:baseline}
.name a{color:var(--ink);text-decoration:none}
.name span{font-size:1rem;color:var(--soft)}
header ul,.shelf ul,.places ul{list-style:none;margin:0;padding:0}
header ul{max-width:none;display:flex;flex-wrap:wrap;gap:.2rem 1.4rem}
header li a{text-decoration:none;padding:.2rem 0;display:inline-block;border-bottom:3px solid transparent}
header li a[aria-current]{border-bottom-color:var(--leaf);color:var(--ink);font-weight:600}
.desk{max-width:84rem;margin:0 auto;padding:1.2rem 1rem 3rem;display:grid;gap:1.5rem 3rem}
main{min-width:0;max-width:52rem}
.bare main{margin:0 auto;width:100%}
.shelf{font-size:.93rem}
.shelf li{margin:.1rem 0}
.shelf ul ul{padding:0 0 .5rem .7rem;border-left:1px solid var(--rule)}
.shelf a{text-decoration:none;display:inline-block;padding:.08rem 0}
.shelf a:hover{text-decoration:underline}
.shelf a[aria-current]{color:var(--ink);font-weight:700}
.label,.group{color:var(--soft);font:italic 1rem/1.4 SERIF;margin:0 0 .3rem}
h1,h2,h3,h4{font-family:SERIF;font-weight:600;line-height:1.25}
h1{font-size:1.95rem;margin:0 0 .8rem}
h2{font-size:1.35rem;margin:2.2rem 0 .6rem;padding-top:.5rem;border-top:1px solid var(--rule)}
h3{font-size:1.1rem;margin:1.6rem 0 .4rem}
p,ul,ol{max-width:46rem}
main li{margin:.2rem 0}
strong{font-weight:700}
code{font:.9em/1.5 MONO;background:var(--sheet);padding:.05em .3em;border-radius:2px;overflow-wrap:anywhere}
pre{background:var(--sheet);border:1px solid var(--rule);border-left:.45rem solid var(--rule);padding:.7rem .9rem;overflow-x:auto;font-size:.94rem;line-height:1.5}
pre code{background:none;padding:0;font-size:.88rem;overflow-wrap:normal}
.language-diff{display:block}
table{border-collapse:collapse;font-size:.94rem;margin:.6rem 0 1.2rem;width:100%}
th,td{text-align:left;vertical-align:top;padding:.32rem 1rem .32rem 0;border-bottom:1px solid var(--rule)}
thead th{border-bottom:2px solid var(--ink);font-weight:600}
thead:not(:has(th:not(:empty))){display:none}
td:first-child{min-width:8.5rem}
.scroll{overflow-x:auto}
blockquote{margin:1rem 0;padding:.1rem 1rem;border-left:.45rem solid var(--rule)}
.places{font-size:.93rem;border:1px solid var(--rule);padding:.4rem .8rem;margin:0 0 1.4rem;background:var(--sheet)}
.places summary{cursor:pointer;color:var(--leaf)}
.places ul{columns:15rem;column-gap:1.6rem;max-width:none;padding:.3rem 0 .2rem}
.places li{break-inside:avoid}
.turn{display:flex;justify-content:space-between;gap:2rem;margin-top:3rem;padding-top:.8rem;border-top:3px double var(--rule);font-size:.95rem}
.turn [rel=prev]::before{content:"\\2190\\00a0"}
.turn [rel=next]::after{content:"\\00a0\\2192"}
.turn [rel=next]{text-align:right}
footer{max-width:84rem;margin:0 auto;padding:.6rem 1rem 2rem;color:var(--soft);font-size:.88rem;border-top:1px solid var(--rule)}
@media(max-width:59.99rem){.shelf{order:2;border-top:3px double var(--rule);padding-top:1rem}}
@media(max-width:40rem){main table{display:block;overflow-x:auto}}
@media(min-width:60rem){
.desk{grid-template-columns:15rem minmax(0,1fr)}
.bare{grid-template-columns:minmax(0,1fr)}
.shelf{position:sticky;top:0;align-self:start;max-height:100vh;overflow-y:auto;padding:.2rem .5rem 2rem 0}
}
@media print{
header nav,.shelf,.places,.turn,.away{display:none}
body{background:none;font-size:10pt}
main{max-width:none}
a{color:inherit;text-decoration:none}
h2,h3{break-after:avoid}
pre,tr{break-inside:avoid}
}
"""
STYLE = f":root{{color-scheme:light dark;{_variables(LIGHT)}}}" + (
    f"@media screen and (prefers-color-scheme:dark){{:root{{{_variables(DARK)}}}}}"
    + _PAGE.replace("SANS", _SANS).replace("SERIF", _SERIF).replace("MONO", _MONO)
)
