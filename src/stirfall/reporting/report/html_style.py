"""The style sheet of a report as HTML, for screen and paper; ink on white, nothing said by colour alone."""

from __future__ import annotations

from stirfall.reporting import ink

STYLE = f"""\
:root {{ color-scheme: light; }}
html {{ background: {ink.PAPER}; color: {ink.INK}; }}
body {{ font: 1rem/1.5 "Noto Sans", "Segoe UI", "Helvetica Neue", Arial, sans-serif; margin: 0 auto;
  max-width: 72rem; padding: 1.5rem; overflow-wrap: anywhere; }}
h1 {{ font-size: 1.9rem; line-height: 1.2; margin: 0 0 0.5rem; }}
h2 {{ font-size: 1.35rem; color: {ink.ACCENT}; margin: 2.2rem 0 0.6rem; border-bottom: 1px solid {ink.LINE}; }}
h3 {{ font-size: 1.08rem; margin: 1.5rem 0 0.4rem; }}
p, ul {{ max-width: 48rem; margin: 0.4rem 0; }}
li {{ margin: 0.25rem 0; }}
.kicker {{ color: {ink.ACCENT}; font-weight: 600; margin: 0; }}
.fact, .quiet {{ color: {ink.MUTED}; font-size: 0.9rem; }}
.strong {{ font-weight: 600; font-size: 1.1rem; }}
nav {{ border: 1px solid {ink.LINE}; padding: 0.6rem 1rem; margin: 1.2rem 0; max-width: 46rem; }}
nav h2 {{ border: 0; margin: 0; font-size: 1.05rem; }}
nav ol {{ margin: 0.3rem 0; columns: 2 16rem; }}
nav li {{ margin: 0; padding: 0.3rem 0; }}
nav a {{ color: {ink.ACCENT}; }}
.notice {{ border-left: 0.35rem solid {ink.CAUTION}; background: {ink.CAUTION_WASH}; padding: 0.5rem 0.8rem; }}
.notice.invented {{ font-weight: 600; }}
.notice.stop {{ border-color: {ink.DANGER}; }}
.notice.note {{ border-color: {ink.LINE}; background: {ink.WASH}; }}
.cautions {{ border: 2px solid {ink.CAUTION}; padding: 0.4rem 1rem; }}
.wide {{ overflow-x: auto; margin: 0.8rem 0 0.2rem; }}
.wide:focus-visible, a:focus-visible, summary:focus-visible {{ outline: 3px solid {ink.ACCENT}; }}
table {{ border-collapse: collapse; font-size: 0.85rem; line-height: 1.3; }}
caption {{ text-align: left; font-weight: 600; padding: 0.3rem 0; font-size: 0.95rem; }}
th, td {{ text-align: left; vertical-align: top; padding: 0.22rem 0.55rem; border-bottom: 1px solid {ink.GRID};
  white-space: pre-line; overflow-wrap: break-word; }}
td, tbody th {{ min-width: 3.2rem; font-weight: 400; }}
thead th {{ vertical-align: bottom; border-bottom: 2px solid {ink.LINE}; background: {ink.WASH};
  overflow-wrap: break-word; }}
.n {{ text-align: right; font-variant-numeric: tabular-nums; }}
.w {{ min-width: 14rem; overflow-wrap: anywhere; }}
.k {{ white-space: nowrap; }}
figure {{ margin: 1.2rem 0; max-width: 52rem; }}
figure svg {{ width: 100%; height: auto; display: block; }}
figure.photo {{ display: inline-block; width: 30rem; max-width: 48%; margin: 0.6rem 1% 0.6rem 0;
  vertical-align: top; }}
figure.photo img {{ max-width: 100%; height: auto; display: block; }}
figcaption {{ font-size: 0.92rem; margin-top: 0.3rem; }}
summary {{ font-size: 0.9rem; padding: 0.7rem 0; cursor: pointer; }}
footer {{ border-top: 1px solid {ink.LINE}; margin-top: 2rem; color: {ink.MUTED}; font-size: 0.9rem; }}
@media print {{
  body {{ font-size: 9.5pt; max-width: none; padding: 0; }}
  nav, summary {{ display: none; }}
  .wide {{ overflow: visible; }}
  table {{ font-size: 7.5pt; width: 100%; }}
  th, td {{ padding: 0.5mm 1mm; min-width: 0; }}
  .w {{ min-width: 0; }}
  thead {{ display: table-header-group; }}
  tr, figure, .notice {{ break-inside: avoid; }}
  h2, h3, caption {{ break-after: avoid; }}
}}
"""


def page_style(running: str) -> str:
    """Return the style of printed pages: a line that stands on each, and its number (CSS Paged Media Level 3)."""
    text = running.replace("\\", "\\\\").replace('"', '\\"').replace("<", "\\3c ")
    font = f"font-size: 8pt; color: {ink.MUTED};"
    return (
        "@page { margin: 18mm 15mm 16mm;\n"
        f'  @top-left {{ content: "{text}"; {font} }}\n'
        f'  @bottom-right {{ content: "page " counter(page) " of " counter(pages); {font} }} }}\n'
    )
