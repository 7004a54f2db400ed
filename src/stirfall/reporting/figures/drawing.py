"""One figure: how it is drawn in ink on white, and how it becomes SVG or PNG; the same figure, the same bytes."""

from __future__ import annotations

import io
import threading
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, cast

from stirfall.bench.factors import Factor
from stirfall.reporting import ink
from stirfall.reporting.axis_ticks import axis_title, ticks

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Canvas

WIDTH_MM, HEIGHT_MM = 160.0, 95.0
_MM_PER_INCH = 25.4
_DPI = 300
# The settings of the drawing library belong to the whole process, and figures are drawn on worker threads.
_lock = threading.Lock()
_STYLE: Mapping[str, object] = {
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9.0,
    "text.color": ink.INK,
    "axes.edgecolor": ink.LINE,
    "axes.labelcolor": ink.INK,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.unicode_minus": True,
    "grid.color": ink.GRID,
    "grid.linewidth": 0.6,
    "xtick.color": ink.LINE,
    "ytick.color": ink.LINE,
    "xtick.labelcolor": ink.INK,
    "ytick.labelcolor": ink.INK,
    "figure.facecolor": ink.PAPER,
    "savefig.facecolor": ink.PAPER,
    "text.parse_math": False,  # a name may hold a dollar sign
    "svg.fonttype": "path",
    "svg.hashsalt": "stirfall",
    "legend.frameon": False,
}


@dataclass(frozen=True)
class Figure:
    """A figure with its caption, and the numbers that it shows as a table for those who do not see it.

    ``name`` is that of its files, ``columns`` and ``rows`` are finished text.
    """

    name: str
    title: str
    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    draw: Callable[[Canvas], None] = field(repr=False, compare=False)
    width_mm: float = WIDTH_MM
    height_mm: float = HEIGHT_MM

    def svg(self) -> bytes:
        """Return the figure as SVG, with its letters as outlines, so that it looks the same everywhere."""
        metadata = {"Date": None, "Creator": None, "Title": self.title}
        return self._saved("svg", metadata=metadata)

    def png(self, dpi: int = _DPI) -> bytes:
        """Return the figure as PNG."""
        return self._saved("png", dpi=dpi, metadata={"Software": None, "Title": self.title})

    def _saved(self, kind: str, *, metadata: Mapping[str, str | None], dpi: int = _DPI) -> bytes:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure as Canvas

        out = io.BytesIO()
        with _styled():
            canvas = Canvas(
                figsize=(self.width_mm / _MM_PER_INCH, self.height_mm / _MM_PER_INCH), layout="constrained"
            )
            FigureCanvasAgg(canvas)
            self.draw(canvas)
            canvas.savefig(out, format=kind, dpi=dpi, metadata=dict(metadata))
        return out.getvalue()


@contextmanager
def _styled() -> Iterator[None]:
    import matplotlib as mpl

    with _lock, mpl.rc_context(cast("Any", dict(_STYLE))):
        yield


def show_number_axis(axes: Axes, factor: Factor, low: float, high: float, *, decimal: str, most: int = 8) -> None:
    """Give the x axis the title, the scale and the round ticks of a number factor."""
    if factor.scale == "log":
        axes.set_xscale("log")
    axes.set_xlim(low, high)
    placed = ticks(factor, low, high, most=most, decimal=decimal)
    axes.set_xticks([tick.value for tick in placed], [tick.label for tick in placed])
    axes.set_xticks([], minor=True)
    axes.set_xlabel(drawable(axis_title(factor, decimal=decimal)))


def drawable(text: str, most: int = 60) -> str:
    """Return text of the user as one line that fits beside a picture and that the font of figures can draw.

    What the font lacks becomes a white square; marks of direction and control go; what is too long ends in dots.
    """
    from matplotlib.font_manager import findfont, get_font

    known = get_font(findfont("DejaVu Sans")).get_charmap()
    line = "".join(each for each in " ".join(text.split()) if unicodedata.category(each) not in ("Cc", "Cf"))
    seen = "".join(each if ord(each) in known else "□" for each in line)
    return seen if len(seen) <= most else f"{seen[: most - 1]}…"


def show_percent_axis(axes: Axes, title: str) -> None:
    """Give the y axis whole per cent from 0 to 100."""
    from stirfall.bench.units import THIN_SPACE

    axes.set_ylim(-0.09, 1.09)
    places = [0.0, 0.25, 0.5, 0.75, 1.0]
    axes.set_yticks(places, [f"{100 * place:.0f}{THIN_SPACE}%" for place in places])
    axes.set_ylabel(title)


def spread_out(count: int, width: float) -> tuple[float, ...]:
    """Return offsets for marks that would hide one another, even over ``width``, in an order that mixes neighbours.

    The fractional parts of multiples of the golden ratio: evenly spread for every count, and no chance in it.
    """
    golden = (5**0.5 - 1) / 2
    return tuple(width * ((place * golden) % 1.0 - 0.5) for place in range(count))


def table_of(columns: Sequence[str], rows: Sequence[Sequence[str]]) -> dict[str, tuple[object, ...]]:
    """Return the two table fields of a figure."""
    return {"columns": tuple(columns), "rows": tuple(tuple(row) for row in rows)}
