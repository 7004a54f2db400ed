"""The film index of two jars over the time under oil, both on log axes, with their bands and where they are now."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import format_number, human_time
from stirfall.desktop.physics.film_state import UNIT, FilmCurve
from stirfall.desktop.physics.still_plot import LATE_OPACITY, Axes, StillPlot
from stirfall.desktop.theme import Theme
from stirfall.reporting.sentences import sentence

_ROOM = 1.15
_LEAST_SPAN = 30.0


class FilmPlot(StillPlot):
    """Shows the curves of one or two jars: the first one full with a filled band, the second one dashed."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, "film_plot", parent)
        self.curves: tuple[FilmCurve, ...] = ()
        self.setAccessibleName("Film index over the time under oil")
        self._is_built = True
        self.apply_theme(theme)

    def show_curves(self, curves: tuple[FilmCurve, ...], *, late: bool = False, decimal: str = ".") -> None:
        """Draw these curves, greyed while they are ``late``."""
        self.curves, self.decimal = curves, decimal
        self.view_box.setOpacity(LATE_OPACITY if late else 1.0)
        self.draw()
        self.setAccessibleDescription(described(curves, decimal=decimal))

    def _redraw(self) -> None:
        if not self.curves:
            return
        self.fit_axes(axes_of(self.curves))
        inks = (self.theme.accent, self.theme.text)
        for place, curve in enumerate(self.curves):
            if place == 0:
                self.add_band(curve.t_h, curve.low, curve.high, self.theme.band)
            else:
                edge = self.pen(self.theme.muted, width=1, style=Qt.PenStyle.DotLine)
                self.add_curve(curve.t_h, curve.low, edge)
                self.add_curve(curve.t_h, curve.high, edge)
            style = Qt.PenStyle.SolidLine if place == 0 else Qt.PenStyle.DashLine
            self.add_curve(curve.t_h, curve.index, self.pen(inks[place], width=2.2, style=style))
        for place, curve in enumerate(self.curves):
            symbol = "o" if place == 0 else "s"
            self.add_dot(max(curve.now_h, float(curve.t_h[0])), curve.now_index, inks[place], symbol=symbol)
        self._label_ends()

    def _label_ends(self) -> None:
        """Name the curves at their right ends, kept apart where these lie close together."""
        high = self.metrics().height() + 2
        ends = sorted(
            (self.pixels_of(float(curve.t_h[-1]), float(curve.index[-1])).y(), curve.jar) for curve in self.curves
        )
        places = [min(max(down, high), self.view_box.height() - high) for down, _jar in ends]
        for upper, lower in pairwise(range(len(places))):
            if places[lower] - places[upper] < high:
                middle = (places[lower] + places[upper]) / 2
                places[upper], places[lower] = middle - high / 2, middle + high / 2
        for down, (_down, jar) in zip(places, ends, strict=True):
            self.add_text(jar, QPointF(self.view_box.width() - 4, down), (1.0, 0.5))


def axes_of(curves: tuple[FilmCurve, ...]) -> Axes:
    """Return log axes that hold all curves with their bands."""
    across = Factor(
        "time under oil", "h", float(curves[0].t_h[0]), max(float(curve.t_h[-1]) for curve in curves), Scale.LOG
    )
    high = max(float(curve.high.max()) for curve in curves) * _ROOM
    least = [float(curve.low[curve.low > 0].min()) for curve in curves if (curve.low > 0).any()]
    low = min(min(least, default=high / _LEAST_SPAN) / _ROOM, high / _LEAST_SPAN)
    return Axes(across, Factor("film index", UNIT, max(low, high * 1e-4), high, Scale.LOG))


def described(curves: tuple[FilmCurve, ...], *, decimal: str = ".") -> str:
    """Say in words where the jars are, for people who cannot see the picture."""
    return " ".join(
        sentence(
            "film_page.described",
            {
                "jar": curve.jar,
                "age": human_time(curve.now_h, "h", decimal=decimal),
                "index": format_number(curve.now_index, digits=2, decimal=decimal),
                "unit": UNIT,
            },
        )
        for curve in curves
    )
