"""The style sheet of the page: readable on a telephone, on a screen in light or dark, and on two sheets of A4."""

from __future__ import annotations

from benchmon.views.figures.colours import DARK, LIGHT, Look


def style() -> str:
    """CSS; every colour is a variable that the reader's light or dark setting chooses."""
    return (
        f":root{{{_variables(LIGHT)}}}"
        f"@media (prefers-color-scheme: dark){{:root{{{_variables(DARK)}}}}}"
        f"@media print{{:root{{{_variables(LIGHT)}}}}}" + _RULES
    )


def _variables(look: Look) -> str:
    lines = "".join(f"--{name}:{colour};" for name, colour in look.lines.items())
    return f"--ground:{look.ground};--ink:{look.ink};--faint:{look.faint};{lines}"


_RULES = """
html{background:var(--ground);color:var(--ink);font:16px/1.5 Georgia,'Times New Roman',serif}
body{max-width:60rem;margin:0 auto;padding:1.2rem 1rem 3rem}
h1{font-size:1.45rem;line-height:1.25;margin:.2rem 0 .8rem;font-weight:normal}
h2{font-size:1.05rem;margin:1.8rem 0 .4rem;font-weight:bold}
.verdict p{font-size:1.12rem;margin:.3rem 0}.verdict p+p{font-size:1rem}
dl{display:grid;grid-template-columns:max-content 1fr;gap:.1rem 1rem;margin:0}
dt{font-weight:bold}dd{margin:0;overflow-wrap:anywhere}
.wide{overflow-x:auto}
table{border-collapse:collapse;margin:.7rem 0;font-size:.88rem;font-variant-numeric:tabular-nums}
th,td{padding:.22rem .55rem;text-align:right;white-space:nowrap}
th:first-child,td:first-child{text-align:left;padding-left:0}
thead th{border-bottom:1px solid var(--ink);vertical-align:bottom;font-weight:bold}
thead small{display:block;font-weight:normal}
tbody tr+tr td,tbody tr+tr th{border-top:1px solid var(--faint)}
tbody th{font-weight:normal}tbody th.part{padding-left:1.2rem}
figure{margin:.8rem 0}figcaption,footer{font-size:.85rem}
svg{display:block;width:100%;height:auto;font:11px Georgia,'Times New Roman',serif}
svg text{fill:var(--ink);stroke:var(--ground);stroke-width:3px;paint-order:stroke}
ul,ol{padding-left:1.2rem;margin:.3rem 0}li{margin:.15rem 0;overflow-wrap:anywhere}
.rule{stroke:var(--faint);stroke-width:.5}.edge{stroke:var(--faint);stroke-width:1}
.level{stroke:var(--ink);stroke-width:1;stroke-dasharray:5 4}
.trace{fill:none;stroke-width:1.4;stroke-linejoin:round}
.earlier{stroke-dasharray:4 3;stroke-opacity:.75}
.label{font-weight:bold;font-size:12px}
.held{fill-opacity:.12;stroke:none}.woven{stroke:none;fill-opacity:.3}.tex{fill:none;stroke-width:1}
.interval{stroke:var(--ink);stroke-width:5;stroke-opacity:.45}
.capacity{fill:var(--ink)}.entry{fill:var(--ink)}
.point{fill:var(--ground);stroke-width:2}
.band{stroke:none;fill:var(--temp);fill-opacity:.18}
.clock{stroke:var(--clock)}.power{stroke:var(--power)}.temp{stroke:var(--temp)}.work{stroke:var(--work)}
.settled{fill:var(--temp)}
text.label{stroke:var(--ground)}
.held.heat{fill:var(--heat)}.held.limited{fill:var(--limited)}
.held.outside{fill:var(--outside)}.held.unknown{fill:var(--unknown)}
.woven.heat{fill:url(#tex-heat)}.woven.limited{fill:url(#tex-limited)}
.woven.outside{fill:url(#tex-outside)}.woven.unknown{fill:none}
.tex.heat{stroke:var(--heat)}.tex.limited{stroke:var(--limited)}.tex.outside{stroke:var(--outside)}
@media (max-width:36rem){dl{grid-template-columns:1fr}dd+dt{margin-top:.4rem}
figure{overflow-x:auto}svg{min-width:42rem}}
@page{size:A4;margin:14mm}
@media print{html{font-size:9.5pt;line-height:1.35}figure svg{width:84%}
body{max-width:none;padding:0}figure,tr,li,.verdict{break-inside:avoid}
h2{break-after:avoid}.wide{overflow:visible}table{font-size:8pt}th,td{padding:.12rem .3rem}}
"""
