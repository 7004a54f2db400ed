"""One label as it is drawn: code and large id above, then contents, hazard, times and blanks; nothing overflows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QRectF

from stirfall.desktop.printing.canvas import Canvas, Type, height_of, largest_that
from stirfall.reporting.labels import Label
from stirfall.reporting.square_code import QUIET, SquareCode, square_code

LEAST_PT, READABLE_PT, MOST_PT = 4.6, 5.6, 12.0
CAP_MM = 9.0
"""How high the letters of a short id should be at least: it is read at arm's length, by people in goggles."""

_PADDING, _GAP, _WRITING = 2.0, 1.0, 4.6
_DARK_LEAST, _DARK_MOST, _DARK_SHARE = 13.5, 18.0, 0.43  # of the code without its light margin, about 20 mm with it
_ONE_LINE = 8  # ids up to this length are never broken
_ID_MOST_PT = 60.0


@dataclass(frozen=True)
class _Areas:
    """Where the parts of a label stand: the code with its margin, what is beside it, and what is below."""

    code: QRectF
    beside: QRectF
    below: QRectF


def draw_label(canvas: Canvas, label: Label, area: QRectF, printable: QRectF) -> None:
    """Draw a label into ``area``, inside of what the printer reaches; both in mm."""
    code = square_code(label.code)
    areas = _areas(area, printable, code)
    with canvas.clipped(area):
        canvas.square(code, areas.code)
        areas.beside.setTop(_draw_id(canvas, label.name, areas.beside))
        _draw_words(canvas, label, areas)


def _areas(area: QRectF, printable: QRectF, code: SquareCode) -> _Areas:
    """The light margin of the code may reach into the padding, which is white as well."""
    inner = area.adjusted(_PADDING, _PADDING, -_PADDING, -_PADDING).intersected(printable)
    dark = min(max(inner.height() * _DARK_SHARE, _DARK_LEAST), _DARK_MOST)
    quiet = dark / len(code.rows) * QUIET
    shift = min(quiet, inner.left() - area.left(), inner.top() - area.top())
    square = QRectF(inner.left() - shift, inner.top() - shift, dark + 2 * quiet, dark + 2 * quiet)
    return _Areas(
        square,
        QRectF(square.right(), inner.top(), inner.right() - square.right(), square.bottom() - inner.top()),
        QRectF(inner.left(), square.bottom(), inner.width(), inner.bottom() - square.bottom()),
    )


def _draw_id(canvas: Canvas, jar_id: str, area: QRectF) -> float:
    """Draw the id as large as it fits and return where it ends; white space above capitals is not wasted."""
    room = max(area.height() * 0.55, CAP_MM + 0.1)
    kind = _id_type(jar_id, area.width(), room)
    above = (kind.line_mm - kind.cap_mm) * 0.5
    canvas.text(jar_id, kind, area.left(), area.top() - above, area.width(), most_mm=room + 2 * above)
    lines = max(1, round(height_of(jar_id, kind, area.width()) / kind.line_mm))
    return area.top() + min(kind.line_mm * (lines - 1) + kind.cap_mm, room) + _GAP


def _id_type(jar_id: str, width: float, room: float) -> Type:
    def fits(size: float) -> bool:
        kind = Type(size, bold=True)
        lines = height_of(jar_id, kind, width) / kind.line_mm
        is_whole = kind.width_mm(jar_id) <= width or len(jar_id) > _ONE_LINE
        return is_whole and (lines - 1) * kind.line_mm + kind.cap_mm <= room

    return Type(largest_that(fits, LEAST_PT, _ID_MOST_PT) or LEAST_PT, bold=True)


def _text(size: float, *, bold: bool = False) -> Type:
    """Return small text, set a little closer than usual: the label is small and its text must be large."""
    return Type(size, bold, leading=0.93)


def _size(label: Label, areas: _Areas) -> tuple[float, float]:
    """Return the size of the small text, and the most height of one line on the contents.

    The largest size at which everything fits; where that would be too small to read, the contents are cut to one
    line each, which leaves the hazard words and the times whole.
    """
    for least, most_lines in ((READABLE_PT, 1e6), (LEAST_PT, 1.0)):
        size = largest_that(partial(_fits, label, areas, most_lines), least, MOST_PT)
        if size is not None:
            return size, most_lines
    return LEAST_PT, 1.0


def _fits(label: Label, areas: _Areas, most_lines: float, size: float) -> bool:
    _, rest = _split(label, areas.beside, size, most_lines)
    over = sum(_line_height(line, size, areas.below.width(), most_lines) for line in rest)
    return over + _body_height(label, areas.below, size) <= areas.below.height()


def _line_height(line: str, size: float, width: float, most_lines: float) -> float:
    kind = _text(size)
    return min(height_of(line, kind, width), most_lines * kind.line_mm)


def _split(label: Label, beside: QRectF, size: float, most_lines: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return which lines on the contents stand beside the code, and which below it."""
    room = beside.height()
    for count, line in enumerate(label.contents):
        room -= _line_height(line, size, beside.width(), most_lines)
        if room < 0:
            return label.contents[:count], label.contents[count:]
    return label.contents, ()


def _hazard_indent(size: float) -> float:
    return _text(size, bold=True).line_mm * 1.25


def _body_height(label: Label, area: QRectF, size: float) -> float:
    indent = _hazard_indent(size)
    hazard = height_of(label.hazard, _text(size, bold=True), area.width() - indent)
    return max(hazard, indent) + _times_height(label, area.width(), size) + _blank_height(size) + _GAP / 2


def _blank_height(size: float) -> float:
    return max(_WRITING, _text(size).line_mm)


def _times_lines(label: Label, width: float, size: float) -> tuple[str, ...]:
    """Return start and use-by on one line where they fit, else each on its own."""
    joined = " \u00b7 ".join(label.times)
    return (joined,) if _text(size).width_mm(joined) <= width else label.times


def _times_height(label: Label, width: float, size: float) -> float:
    return sum(height_of(line, _text(size), width) for line in _times_lines(label, width, size))


def _draw_words(canvas: Canvas, label: Label, areas: _Areas) -> None:
    """Draw the contents, then the hazard words and the times, whole, and the line to write on at the foot."""
    size, most_lines = _size(label, areas)
    plain, strong = _text(size), _text(size, bold=True)
    area, beside = areas.below, areas.beside
    upper, lower = _split(label, beside, size, most_lines)
    _lines(canvas, upper, plain, beside, most_lines)
    y = _lines(canvas, lower, plain, area, most_lines)
    indent = _hazard_indent(size)
    canvas.warning_sign(area.left(), y + 0.1, indent - 0.4)
    height = canvas.text(label.hazard, strong, area.left() + indent, y, area.width() - indent)
    times = QRectF(area)
    times.setTop(y + max(height, indent) + _GAP / 2)
    _lines(canvas, _times_lines(label, area.width(), size), plain, times)
    foot = area.bottom() - _blank_height(size)
    _draw_foot(canvas, label, QRectF(area.left(), foot, area.width(), area.bottom() - foot), size)


def _lines(canvas: Canvas, lines: tuple[str, ...], kind: Type, area: QRectF, most_lines: float = 1e6) -> float:
    """Draw lines one below the other, each cut where it is too long; return where they end."""
    y = area.top()
    for line in lines:
        y += canvas.text(line, kind, area.left(), y, area.width(), most_mm=most_lines * kind.line_mm)
    return y


def _draw_foot(canvas: Canvas, label: Label, area: QRectF, size: float) -> None:
    """Draw each word with a line to write on, side by side, and the mark at their right."""
    plain, strong = _text(size), _text(size, bold=True)
    base = area.bottom() - 0.6
    top = base - plain.line_mm * 0.85
    room = area.width()
    if label.mark:
        room -= strong.width_mm(label.mark) + _GAP
        canvas.text(label.mark, strong, area.left() + room + _GAP, top, area.width() - room)
    width = (room - _GAP * (len(label.blanks) - 1)) / len(label.blanks)
    for place, word in enumerate(label.blanks):
        left = area.left() + place * (width + _GAP)
        canvas.text(word, plain, left, top, width)
        start = plain.width_mm(word) + _GAP
        canvas.rule(left + start, base, width - start)
