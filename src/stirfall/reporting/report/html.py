"""A report as one HTML file that needs nothing else: no script, nothing fetched, readable aloud and on paper."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Iterator
from functools import singledispatch
from html import escape

from stirfall.bench.cancel import CancelToken
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.report.html_style import STYLE, page_style
from stirfall.reporting.report.plain_text import shown
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    CautionsBlock,
    Column,
    FigureBlock,
    Heading,
    Notice,
    Paragraph,
    PhotoBlock,
    Report,
    TableBlock,
)

_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
_WORDS = {"invented": "", "stop": "Stop: ", "warning": "Warning: ", "note": "Note: "}
_PROLOGUE = re.compile(r"^.*?(?=<svg\b)", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
_OWN_SIZE = re.compile(r'(<svg\b[^>]*?)\s(?:width|height)="[^"]*"')
_NAMES = re.compile(r'(\bid="|href="#|url\(#)')


def report_html(report: Report, *, token: CancelToken | None = None) -> str:
    """Return the report as one HTML page with everything in it; the same report gives the same text."""
    return "".join(_page(report, token))


def _page(report: Report, token: CancelToken | None) -> Iterator[str]:
    title = text_html(report.title)
    yield '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    yield f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
    yield f'<meta name="generator" content="Stirfall {escape(report.program_version)}">\n'
    running = f"{INVENTED_NOTICE} · {report.foot}" if report.invented else report.foot
    yield f"<title>Lab report: {title}</title>\n<style>\n{STYLE}{page_style(running)}</style>\n</head>\n<body>\n"
    yield f"<header>\n<p class=kicker>Lab report</p>\n<h1>{title}</h1>\n"
    yield "".join(f"<p class=fact>{text_html(fact)}</p>\n" for fact in report.facts)
    blocks = list(report.blocks)
    if blocks and isinstance(blocks[0], Notice):
        yield from _block(blocks.pop(0))
    yield "</header>\n"
    yield _contents(report)
    yield "<main>\n"
    place = 0
    for block in blocks:
        if token is not None:
            token.raise_if_cancelled()
        if isinstance(block, Heading):
            place += 1
            yield f'<h{block.level} id="part-{place}">{text_html(block.text)}</h{block.level}>\n'
        else:
            yield from _block(block)
    yield f"</main>\n<footer>\n<p>{text_html(running)}</p>\n</footer>\n</body>\n</html>\n"


def text_html(text: str) -> str:
    """Return text in which nothing is markup."""
    return escape(shown(text), quote=True)


def _contents(report: Report) -> str:
    items = [
        f'<li><a href="#part-{place}">{text_html(heading.text)}</a></li>\n'
        for place, heading in enumerate(report.headings, 1)
        if heading.level == 2
    ]
    return f'<nav aria-label="Contents">\n<h2>Contents</h2>\n<ol>\n{"".join(items)}</ol>\n</nav>\n'


@singledispatch
def _block(block: Block) -> Iterator[str]:
    raise TypeError(block)


@_block.register
def _paragraph(block: Paragraph) -> Iterator[str]:
    yield f"<p class={block.tone}>{text_html(block.text)}</p>\n"


@_block.register
def _bullets(block: Bullets) -> Iterator[str]:
    yield f"<ul>\n{''.join(f'<li>{text_html(item)}</li>' + chr(10) for item in block.items)}</ul>\n"


@_block.register
def _notice(block: Notice) -> Iterator[str]:
    text = f"<strong>{_WORDS[block.weight]}</strong>{text_html(block.text)}"
    yield f'<p class="notice {block.weight}" role="note">{text}</p>\n'


@_block.register
def _table(block: TableBlock) -> Iterator[str]:
    caption = text_html(f"Table {block.number}. {block.caption}")
    yield f'<div class="wide" role="region" tabindex="0" aria-label="Table {block.number}">\n<table>\n'
    yield f"<caption>{caption}</caption>\n"
    yield from table_parts(block.columns, block.rows)
    yield "</table>\n</div>\n"
    if block.note:
        yield f"<p class=quiet>{text_html(block.note)}</p>\n"


def table_parts(columns: tuple[Column, ...], rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    """Yield head and body of a table; the first cell of a row names it."""
    kinds = ["n" if each.is_number else "w" if each.wide else "k" if each.whole else "" for each in columns]
    marks = [f" class={kind}" if kind else "" for kind in kinds]
    heads = "".join(
        f"<th scope=col{mark}>{text_html(column.title)}</th>" for mark, column in zip(marks, columns, strict=True)
    )
    yield f"<thead><tr>{heads}</tr></thead>\n<tbody>\n"
    for row in rows:
        cells = "".join(f"<td{mark}>{text_html(cell)}</td>" for mark, cell in zip(marks[1:], row[1:], strict=True))
        yield f"<tr><th scope=row{marks[0]}>{text_html(row[0])}</th>{cells}</tr>\n"
    yield "</tbody>\n"


@_block.register
def _figure(block: FigureBlock) -> Iterator[str]:
    figure, name = block.figure, f"figure-{block.number}"
    yield f'<figure id="{name}">\n<div role="img" aria-label="{text_html(figure.title)}">\n'
    yield f"{inline_svg(figure.svg(), name)}\n</div>\n"
    yield f"<figcaption><strong>Figure {block.number}. {text_html(figure.title)}.</strong> "
    yield f"{text_html(figure.caption)}</figcaption>\n"
    if figure.rows:
        columns = tuple(Column(title, is_number=place > 0) for place, title in enumerate(figure.columns))
        rows = [tuple(str(cell) for cell in row) for row in figure.rows]
        yield "<details><summary>The numbers of this figure</summary>\n<table>\n"
        yield f"<caption>Numbers of figure {block.number}</caption>\n"
        yield from table_parts(columns, rows)
        yield "</table>\n</details>\n"
    yield "</figure>\n"


def inline_svg(svg: bytes, name: str) -> str:
    """Return a drawing to stand within a page: as wide as the page, its names its own, its maker not named."""
    text = _METADATA.sub("", _PROLOGUE.sub("", svg.decode("utf-8")))
    text = _OWN_SIZE.sub(r"\1", _OWN_SIZE.sub(r"\1", text, count=1), count=1)
    return _NAMES.sub(rf"\1{name}-", text).strip()


@_block.register
def _photo(block: PhotoBlock) -> Iterator[str]:
    data = base64.b64encode(block.data).decode("ascii")
    caption = text_html(block.caption)
    yield f'<figure class=photo>\n<img src="data:{escape(block.media_type)};base64,{data}" alt="{caption}">\n'
    yield f"<figcaption><strong>Photo {block.number}.</strong> {caption}</figcaption>\n</figure>\n"


@_block.register
def _cautions(block: CautionsBlock) -> Iterator[str]:
    items = "".join(
        f"<li>{text_html(text)} <span class=quiet>({text_html(source)})</span></li>\n"
        for text, source in block.items
    )
    headline = text_html(block.headline)
    yield f'<div class="cautions">\n<p><strong>{headline}</strong></p>\n<ul>\n{items}</ul>\n</div>\n'
