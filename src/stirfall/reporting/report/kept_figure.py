"""A figure that is drawn once, however many files it goes into."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stirfall.reporting.report.tree import Drawn


class KeptFigure:
    """The same figure, whose drawings are kept after the first time."""

    def __init__(self, figure: Drawn) -> None:
        self._figure = figure
        self._svg = cache(figure.svg)
        self._png = cache(figure.png)

    @property
    def name(self) -> str:
        """The name of its files, without a suffix."""
        return self._figure.name

    @property
    def title(self) -> str:
        """What it shows, in a few words."""
        return self._figure.title

    @property
    def caption(self) -> str:
        """How to read it."""
        return self._figure.caption

    @property
    def columns(self) -> Sequence[str]:
        """The headings of its numbers."""
        return self._figure.columns

    @property
    def rows(self) -> Sequence[Sequence[object]]:
        """Its numbers."""
        return self._figure.rows

    def svg(self) -> bytes:
        """Return it as SVG."""
        return self._svg()

    def png(self, dpi: int = 300) -> bytes:
        """Return it as PNG."""
        return self._png(dpi)
