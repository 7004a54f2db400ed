"""A report as Markdown, with its figures and photos as files beside it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import singledispatch

from stirfall.bench.cancel import CancelToken
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.reporting.markdown import plain
from stirfall.reporting.report.plain_text import on_one_line
from stirfall.reporting.report.tree import (
    Block,
    Bullets,
    CautionsBlock,
    FigureBlock,
    Heading,
    Notice,
    Paragraph,
    PhotoBlock,
    Report,
    TableBlock,
)

FIGURES, PHOTOS = "figures", "chosen-photos"
_WORDS = {"invented": "", "stop": "Stop: ", "warning": "Warning: ", "note": "Note: "}
_SUFFIXES = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}
_LIST_MARK = re.compile(r"^(\s*\d*)([-+.)])(?=\s)")


def report_markdown(report: Report, *, folder: str = "", token: CancelToken | None = None) -> str:
    """Return the report as Markdown; pictures are looked for in ``folder`` (see ``picture_files``)."""
    blocks = [f"# Lab report: {text_markdown(report.title)}"]
    blocks += [text_markdown(fact) for fact in report.facts]
    for block in report.blocks:
        if token is not None:
            token.raise_if_cancelled()
        blocks += _block(block, f"{folder}/" if folder else "")
    running = f"{INVENTED_NOTICE} · {report.foot}" if report.invented else report.foot
    return "\n\n".join([*blocks, "---", text_markdown(running)]) + "\n"


def picture_files(report: Report, *, token: CancelToken | None = None) -> Mapping[str, bytes]:
    """Return the pictures that the Markdown shows, by their paths beside it."""
    files = {}
    for block in report.figures:
        if token is not None:
            token.raise_if_cancelled()
        files[figure_path(block, ".svg")] = block.figure.svg()
    return files | {photo_path(block): block.data for block in report.photos}


def figure_path(block: FigureBlock, suffix: str) -> str:
    """Return where the file of a figure stands."""
    return f"{FIGURES}/{block.number:02d}-{block.figure.name}{suffix}"


def photo_path(block: PhotoBlock) -> str:
    """Return where the file of a photo stands; its own name may be anything and is not used."""
    suffix = _SUFFIXES.get(block.media_type, ".bin")
    return f"{PHOTOS}/{block.number:02d}-attempt-{block.attempt}{suffix}"


def text_markdown(text: str) -> str:
    """Return text of which nothing is markup, on one line."""
    escaped = plain(on_one_line(text)).replace("&", "&amp;")
    return _LIST_MARK.sub(r"\1\\\2", escaped)


@singledispatch
def _block(block: Block, folder: str) -> Iterator[str]:
    raise TypeError(block, folder)


@_block.register
def _heading(block: Heading, _folder: str) -> Iterator[str]:
    yield f"{'#' * block.level} {text_markdown(block.text)}"


@_block.register
def _paragraph(block: Paragraph, _folder: str) -> Iterator[str]:
    text = text_markdown(block.text)
    yield f"**{text}**" if block.tone == "strong" else text


@_block.register
def _bullets(block: Bullets, _folder: str) -> Iterator[str]:
    yield _list(block.items)


@_block.register
def _notice(block: Notice, _folder: str) -> Iterator[str]:
    yield f"> **{_WORDS[block.weight]}{text_markdown(block.text)}**"


@_block.register
def _table(block: TableBlock, _folder: str) -> Iterator[str]:
    yield f"**Table {block.number}. {text_markdown(block.caption)}**"
    yield _rows([column.title for column in block.columns], [c.is_number for c in block.columns], block.rows)
    if block.note:
        yield text_markdown(block.note)


@_block.register
def _figure(block: FigureBlock, folder: str) -> Iterator[str]:
    title = text_markdown(block.figure.title)
    yield f"![{title}]({folder}{figure_path(block, '.svg')})"
    yield f"**Figure {block.number}. {title}.** {text_markdown(block.figure.caption)}"


@_block.register
def _photo(block: PhotoBlock, folder: str) -> Iterator[str]:
    caption = text_markdown(block.caption)
    yield f"![{caption}]({folder}{photo_path(block)})"
    yield f"**Photo {block.number}.** {caption}"


@_block.register
def _cautions(block: CautionsBlock, _folder: str) -> Iterator[str]:
    yield f"**{text_markdown(block.headline)}**"
    yield _list(f"{text} ({source})" for text, source in block.items)


def _list(items: Iterable[str]) -> str:
    return "\n".join(f"- {text_markdown(item)}" for item in items)


def _rows(titles: Sequence[str], numbers: Sequence[bool], rows: Iterable[Sequence[str]]) -> str:
    rule = ["---:" if is_number else "---" for is_number in numbers]
    head = ["| " + " | ".join(text_markdown(title) for title in titles) + " |", "|" + "|".join(rule) + "|"]
    return "\n".join(
        [*head, *("| " + " | ".join(text_markdown(cell) or " " for cell in row) + " |" for row in rows)]
    )
