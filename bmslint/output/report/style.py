"""The page's style: one sheet for light, dark and paper, from a phone's width to a desk's.

Every colour is named once for light and once for dark. Words say what colours only repeat; blue and orange
tell cold from warm, because most readers who confuse red and green tell those two apart.
"""

from __future__ import annotations

LIGHT = {
    "ground": "#ffffff", "ink": "#14202b", "quiet": "#4a5a68", "rule": "#c3ced6",
    "edge": "#75838f",
    "link": "#0a4f91", "reject": "#9c1136", "review": "#6f4a00", "note": "#3d4f5e", "accepted": "#00584a",
    "chilly": "#0b5aa8", "mild": "#4c3a8f", "hot": "#a63c00",
    "cold1": "#cfe1f5", "cold2": "#a9c9ec", "cold3": "#82afdf", "cold4": "#5c93cf", "cold5": "#3a78bd",
    "warm1": "#fbe6d2", "warm2": "#f6cfa8", "warm3": "#efb57c", "warm4": "#e69a51", "warm5": "#d97f29",
    "shade": "#e3edf8", "cross": "#14202b",
}  # fmt: skip
DARK = {
    "ground": "#0f151b", "ink": "#e8eef3", "quiet": "#a9b8c4", "rule": "#35434f",
    "edge": "#7f909e",
    "link": "#8cc2ff", "reject": "#ff9aac", "review": "#f3c667", "note": "#b4c3cf", "accepted": "#6fdcc0",
    "chilly": "#7cbcff", "mild": "#c3b1ff", "hot": "#ffac6b",
    "cold1": "#2b4a6b", "cold2": "#2f5b8a", "cold3": "#356da9", "cold4": "#4380c4", "cold5": "#5894db",
    "warm1": "#5a4430", "warm2": "#755230", "warm3": "#92602d", "warm4": "#b06f29", "warm5": "#cf8026",
    "shade": "#1a2a3b", "cross": "#ffffff",
}  # fmt: skip
"""Colours by what they are for, in both schemes."""


def sheet() -> str:
    """Write the style sheet.

    Returns:
        CSS.
    """
    return (
        f":root{{color-scheme:light dark;{_named(LIGHT)}}}\n"
        f"@media (prefers-color-scheme:dark){{:root{{{_named(DARK)}}}}}\n"
        f"{TEXT}{PARTS}{TABLES}{FIGURES}"
        f"@media print{{:root{{color-scheme:light;{_named(LIGHT)}}}{PAPER}}}\n"
    )


def _named(colours: dict[str, str]) -> str:
    return ";".join(f"--{name}:{value}" for name, value in colours.items())


TEXT = """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;scroll-padding-top:1rem}
body{margin:0;background:var(--ground);color:var(--ink);font:1rem/1.55 system-ui,-apple-system,"Segoe UI",
 "Noto Sans","Liberation Sans",sans-serif;overflow-wrap:break-word}
h1,h2,h3,h4,h5{line-height:1.25;margin:0;text-wrap:balance}
h1{font-size:1.65rem}h2{font-size:1.35rem}h3{font-size:1.15rem}h4,h5{font-size:1rem}
p,ul,ol,dl{margin:.5rem 0}
a{color:var(--link);text-underline-offset:.15em}
a:focus-visible,summary:focus-visible,input:focus-visible,select:focus-visible,[tabindex]:focus-visible
 {outline:3px solid var(--link);outline-offset:2px;border-radius:2px}
code{font:.9em/1.4 ui-monospace,"Liberation Mono","DejaVu Sans Mono",monospace;overflow-wrap:anywhere}
bdi{unicode-bidi:isolate}
.quiet{color:var(--quiet)}
.strong{font-weight:600}
.skip{position:absolute;left:-99rem}
.skip:focus{position:static}
"""

PARTS = """
.sheet{max-width:78rem;margin:0 auto;padding:1rem}
.top{border-bottom:1px solid var(--rule);padding-bottom:1rem}
.top p{max-width:46rem}
.kicker{color:var(--quiet);font-size:.9rem;margin:0 0 .25rem}
.contents ul{list-style:none;display:flex;flex-wrap:wrap;gap:.3rem 1.1rem;padding:0;margin:.75rem 0 0}
.part{margin-top:2.5rem;scroll-margin-top:1rem}
.part>h2,.part>h3{border-bottom:2px solid var(--ink);padding-bottom:.3rem;margin-bottom:.75rem}
.part>p,.part>ul{max-width:46rem}
.verdict{display:grid;grid-template-columns:auto 1fr;gap:.25rem .9rem;align-items:center;margin:1rem 0;
 padding:.8rem 1rem;border:2px solid var(--tone);border-radius:4px}
.verdict p{margin:0;grid-column:2}
.verdict .word{font-size:1.5rem;font-weight:700;color:var(--tone);letter-spacing:.01em}
.verdict .sign{grid-row:span 2;align-self:start}
.sign{width:1.15em;height:1.15em;flex:none;fill:none;stroke:var(--tone);stroke-width:2;vertical-align:-.2em}
.verdict .sign{width:2.4rem;height:2.4rem}
.rejected,.reject,.unusable{--tone:var(--reject)}
.review,.not-judged{--tone:var(--review)}
.note{--tone:var(--note)}
.accepted{--tone:var(--accepted)}
.caution{border:1px solid var(--edge);padding:.6rem .9rem;max-width:60rem}
.key{display:grid;grid-template-columns:repeat(auto-fit,minmax(9.5rem,1fr));gap:.6rem 1.4rem;margin:1rem 0}
.key div{border-top:1px solid var(--rule);padding-top:.35rem}
.key dt{color:var(--quiet);font-size:.9rem}
.key dd{margin:0;font-size:1.3rem;font-weight:600;font-variant-numeric:tabular-nums}
.key dd small{display:block;font-size:.85rem;font-weight:400;color:var(--quiet)}
.finding{border-top:1px solid var(--rule);padding:1.1rem 0}
.finding:first-of-type{border-top:0}
.finding .severity{color:var(--tone);font-weight:700;margin:0}
.finding .place{margin:.1rem 0 .5rem;color:var(--quiet)}
.finding p{max-width:46rem}
.held{display:grid;grid-template-columns:repeat(auto-fill,minmax(9.5rem,1fr));gap:.6rem 1.4rem;margin:.8rem 0;
 max-width:46rem;font-variant-numeric:tabular-nums}
.held div{border-top:1px solid var(--rule);padding-top:.3rem}
.held dt{color:var(--quiet);font-size:.9rem;line-height:1.3}
.held dd{margin:0;font-weight:600;font-size:1.1rem}
.finding .lead{font-size:1.08rem}
.finding h4,.finding h5{margin-top:.9rem}
.finding h4+p,.finding h5+p{margin-top:.2rem}
.scroll{overflow-x:auto}
.minutes{width:auto}.minutes th,.minutes td{padding-right:1.6rem;white-space:nowrap}
.fine{font-size:.92rem}
.pairs{display:grid;grid-template-columns:minmax(7rem,17rem) minmax(0,1fr);gap:.35rem 1.2rem;margin:.5rem 0;
 max-width:60rem}
.pairs dt{color:var(--quiet)}.pairs dd{margin:0}
.hash{overflow-wrap:anywhere}
.try{border:1px solid var(--edge);border-radius:4px;padding:1rem;margin:1rem 0}
.try .controls{display:grid;gap:1rem}
.try .controls[hidden]{display:none}
@media (min-width:56rem){.try{display:grid;grid-template-columns:minmax(0,2fr) minmax(0,3fr);gap:1rem 2.5rem}
 .try details{grid-column:1/-1}}
.try label{font-weight:600}
.try select,.try input{width:100%;min-height:2.2rem;font:inherit;color:inherit;accent-color:var(--link)}
.try select{background:var(--ground);border:1px solid var(--edge);border-radius:3px;padding:.25rem}
.try output{font-weight:400}
.answer{font-size:1.05rem;border-top:1px solid var(--rule);margin-top:1rem;padding-top:.8rem;max-width:46rem}
.overview{list-style:none;padding:0;margin:0 0 1.5rem}
.overview li{display:grid;grid-template-columns:9.5rem minmax(0,1fr);gap:.1rem 1rem;padding:.7rem 0;
 border-bottom:1px solid var(--rule)}
.overview .mini{color:var(--tone);font-weight:700;grid-row:span 3}
.overview p{margin:0;grid-column:2}
.foot{border-top:1px solid var(--rule);margin-top:3rem;padding:1rem 0}
details>summary{cursor:pointer;padding:.3rem 0;color:var(--link)}
@media (min-width:64rem){
 .columns{display:grid;grid-template-columns:13rem minmax(0,1fr);gap:2.5rem}
 .contents{position:sticky;top:1rem;align-self:start;max-height:calc(100vh - 2rem);overflow:auto}
 .contents ul{display:block}.contents li{margin:.35rem 0}
}
"""

TABLES = """
table{border-collapse:collapse;width:100%;font-size:.92rem;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--quiet);padding-bottom:.4rem}
th,td{text-align:left;vertical-align:top;padding:.35rem .8rem .35rem 0;border-bottom:1px solid var(--rule)}
thead th{border-bottom:1px solid var(--edge);color:var(--quiet);font-weight:600}
tbody th{font-weight:400}
.group th{font-weight:700;padding-top:1rem;border-bottom:1px solid var(--edge)}
.line{overflow-wrap:anywhere;color:var(--quiet)}
td p{margin:0 0 .2rem}
.columns-3 th:first-child{width:38%}.columns-3 td:nth-child(2){width:18%}
.columns-4 th:first-child{width:48%}
.curve-table{width:auto;margin:.5rem 0 1.5rem}
.curve-table th,.curve-table td{text-align:right;padding-left:.8rem}
@media (max-width:40rem){
 .overview li{grid-template-columns:1fr}.overview p{grid-column:1}
 .held{grid-template-columns:repeat(2,minmax(0,1fr))}
 .pairs{display:block}.pairs dd{margin:0 0 .6rem}
 .stack thead{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
 .stack,.stack tbody,.stack tr,.stack th,.stack td{display:block;border:0;padding:0}
 .stack tr{border-bottom:1px solid var(--rule);padding:.5rem 0}
 .stack th{padding-bottom:.15rem}
 .stack td[data-name]::before{content:attr(data-name) ": ";color:var(--quiet)}
}
"""

FIGURES = """
.figures{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(22rem,100%),1fr));gap:2rem 2.5rem}
figure{margin:0;max-width:34rem}
figure svg{display:block;width:100%;height:auto;overflow:visible}
figcaption{font-size:.92rem;color:var(--quiet);margin-top:.4rem}
.figure-title{display:block;color:var(--ink);font-weight:600}
svg text{font-size:13px;fill:var(--ink);direction:ltr;unicode-bidi:isolate;font-variant-numeric:tabular-nums}
svg .tick,svg .axis-name{fill:var(--quiet);font-size:12px}
svg .strong{font-weight:700}
svg polyline,svg .cell,svg .hatch{fill:none}
.grid{stroke:var(--rule);stroke-width:1}
.axis{stroke:var(--edge);stroke-width:1}
.curve{stroke-width:2.4;stroke-linejoin:round}
.curve.coldest{stroke:var(--chilly)}.curve.hottest{stroke:var(--hot);stroke-dasharray:9 4}
.curve.reading{stroke:var(--mild);stroke-dasharray:3 3}
.curve.borne{stroke:var(--chilly)}.curve.permitted{stroke:var(--hot);stroke-dasharray:8 4}
.curve.answered{stroke:var(--chilly)}
.level{stroke:var(--ink);stroke-width:1.2}
.level.release{stroke-dasharray:12 3 2 3}.level.inhibit{stroke-dasharray:2 4}
.level.least{stroke:var(--chilly);stroke-width:1.6}
.lead{stroke:var(--edge);stroke-width:1}
.pointer{stroke:var(--ink);stroke-width:1}
.moment{stroke:var(--ink);stroke-width:1.4}
.dot{stroke:var(--ground);stroke-width:1.5}
.dot.coldest{fill:var(--chilly)}.dot.hottest{fill:var(--hot)}.dot.reading{fill:var(--mild)}
.dot.answered{fill:var(--ink)}
text.coldest{fill:var(--chilly)}text.hottest{fill:var(--hot)}text.reading{fill:var(--mild)}
text.least,text.borne{fill:var(--chilly)}text.permitted{fill:var(--hot)}
.too-cold{fill:var(--shade)}
.over{fill:var(--hot);fill-opacity:.35;stroke:var(--hot);stroke-width:1}
.hatch{stroke:var(--cross);stroke-width:1;stroke-opacity:.55}
.heating{fill:var(--hot)}
.cell{stroke:var(--ink);stroke-width:1.2}
.film{stroke:var(--hot);stroke-width:5;stroke-linecap:round}
.sensor{fill:var(--ground);stroke:var(--ink);stroke-width:2}
.sensor.decides{fill:var(--ink);stroke:var(--ground)}
.extreme{fill:none;stroke:var(--cross);stroke-width:2.4}
.mark.limit{fill:var(--ink)}.mark.trip{fill:var(--hot);stroke:var(--hot);stroke-width:1.5}
.mark.release{fill:var(--ground);stroke:var(--hot);stroke-width:1.8}
.mark.level{fill:var(--ground);stroke:var(--chilly);stroke-width:1.8}
""" + "".join(f".band.{side}{i}{{fill:var(--{side}{i})}}\n" for side in ("cold", "warm") for i in range(1, 6))

PAPER = """
@page{margin:16mm 14mm}
body{font-size:9.5pt;line-height:1.4}
.sheet{max-width:none;padding:0}
.contents,.skip,.try .controls{display:none}
.part{margin-top:1.4rem}
h2,h3,h4,h5{break-after:avoid}
figure,tr,.verdict,.caution,.key div,.held,.minutes,.finding p{break-inside:avoid}
p{orphans:3;widows:3}
table{font-size:7.5pt;line-height:1.35}th,td{padding:.1rem .5rem .1rem 0}.fine,figcaption{font-size:8.5pt}
.finding{padding:.7rem 0}
.try{display:block;border:0;padding:0}.try figure{max-width:26rem}
td p{margin:0}
.figures{grid-template-columns:1fr 1fr;gap:1rem 1.2rem}
thead{display:table-header-group}
details::details-content{content-visibility:visible;height:auto}
details>summary{list-style:none;color:var(--ink);font-weight:600}
a{color:inherit;text-decoration:none}
*{print-color-adjust:exact;-webkit-print-color-adjust:exact}
"""
