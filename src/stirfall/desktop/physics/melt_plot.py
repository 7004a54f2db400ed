"""Density or viscosity of metal and oil over temperature, with the melting point and the operating window."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, Qt
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor, Scale
from stirfall.bench.units import THIN_SPACE, format_number, format_quantity, liked_value
from stirfall.desktop.physics.melt_state import UNITS, MeltPicture
from stirfall.desktop.physics.still_plot import LATE_OPACITY, Axes, StillPlot
from stirfall.desktop.theme import Theme
from stirfall.reporting.sentences import sentence

_LINES_ABOVE, _LINES_BELOW, _MOST_ROOM = 2.3, 1.5, 0.6  # lines of text beside the curves; of the height at most
_LEAST_SPAN, _LEAST_DECADES = 0.12, 0.3


class MeltPlot(StillPlot):
    """Shows one MeltPicture."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(theme, "melt_plot", parent)
        self.picture: MeltPicture | None = None
        self.setAccessibleName("Metal and oil over temperature")
        self._is_built = True
        self.apply_theme(theme)

    def show_picture(self, picture: MeltPicture | None, *, late: bool = False, decimal: str = ".") -> None:
        """Draw a picture, greyed while it is ``late``; None empties the plot."""
        self.picture, self.decimal = picture, decimal
        self.view_box.setOpacity(LATE_OPACITY if late else 1.0)
        self.draw()
        self.setAccessibleDescription(described(picture, decimal=decimal) if picture is not None else "")

    def _redraw(self) -> None:
        picture = self.picture
        if picture is None:
            return
        line = (self.metrics().height() + 4) / max(self.view_box.height(), 1.0)
        shrunk = min(1.0, _MOST_ROOM / ((_LINES_ABOVE + _LINES_BELOW) * line))
        room = {"above": _LINES_ABOVE * line * shrunk, "below": _LINES_BELOW * line * shrunk}
        self.fit_axes(axes_of(picture, **room))
        self._draw_window(picture)
        self._draw_curves(picture)
        if picture.at_c is not None:
            self._draw_mark(picture, picture.at_c)

    def _draw_window(self, picture: MeltPicture) -> None:
        if picture.window is not None:
            low, high = picture.window
            self.shade(low, high, self.theme.band)
            left, right = (min(max(self.pixels_of(value).x(), 0.0), self.view_box.width()) for value in (low, high))
            text = window_text(picture.window, decimal=self.decimal)
            half = 0.5 * self.metrics().horizontalAdvance(text) + 6
            middle = min(max((left + right) / 2, half), self.view_box.width() - half)
            self.add_text(text, QPointF(middle, 1), (0.5, 0.0))
        if picture.melting_c is not None:
            pen = self.pen(self.theme.text, width=1.2, style=Qt.PenStyle.DashLine)
            self.add_upright(picture.melting_c, pen)
            text = sentence(
                "melt_panel.melts", {"at": format_quantity(picture.melting_c, "C", decimal=self.decimal)}
            )
            self._label_upright(text, picture.melting_c, self.view_box.height() - 1, 1.0)

    def _label_upright(self, text: str, value: float, down: float, anchor: float) -> None:
        """Write beside an upright line, at its left where there is room, else at its right."""
        at = self.pixels_of(value).x()
        is_left = at > self.metrics().horizontalAdvance(text) + 12
        self.add_text(text, QPointF(at - 3 if is_left else at + 3, down), (1.0 if is_left else 0.0, anchor))

    def _draw_curves(self, picture: MeltPicture) -> None:
        colours = {"metal": self.theme.accent, "oil": self.theme.text}
        for trace in picture.traces:
            style = Qt.PenStyle.SolidLine if trace.word == "metal" else Qt.PenStyle.DashDotLine
            self.add_curve(picture.t_c, trace.values, self.pen(colours[trace.word], width=2.2, style=style))
            known = np.flatnonzero(np.isfinite(trace.values))
            if len(known):
                last = int(known[-1])
                place = self.pixels_of(float(picture.t_c[last]), float(trace.values[last]))
                above = place.y() > 1.8 * self.metrics().height()
                down = place.y() - 3 if above else place.y() + 3
                self.add_text(trace.word, QPointF(place.x() - 4, down), (1.0, 1.0 if above else 0.0))
        for word, value in picture.levels:
            self.add_level(value, self.pen(self.theme.muted, width=1.6, style=Qt.PenStyle.DotLine))
            left = float(self.axes.across.bounds[0]) if self.axes else 0.0
            place = self.pixels_of(left, value)
            self.add_text(word, QPointF(6, place.y() - 2), (0.0, 1.0))

    def _draw_mark(self, picture: MeltPicture, at_c: float) -> None:
        self.add_upright(at_c, self.pen(self.theme.text, width=2))
        right = self.pixels_of(at_c).x()
        unit = UNITS[picture.quantity]
        for trace in picture.traces:
            value = value_at(picture, trace.values, at_c)
            if value is None:
                continue
            self.add_dot(at_c, value, self.theme.text)
            text = f"{format_number(value, digits=3, decimal=self.decimal)}{THIN_SPACE}{unit}"
            wide = self.metrics().horizontalAdvance(text) + 14
            is_right = right + wide < self.view_box.width()
            place = self.pixels_of(at_c, value)
            self.add_text(
                text, QPointF(right + (9 if is_right else -9), place.y() - 4), (0.0 if is_right else 1.0, 1.0)
            )


def value_at(picture: MeltPicture, values: np.ndarray, at_c: float) -> float | None:
    """Return the value of a curve (n,) at a temperature, None where it is not known."""
    known = np.isfinite(values)
    t = picture.t_c[known]
    if not len(t) or not t[0] <= at_c <= t[-1]:
        return None
    return float(np.interp(at_c, t, values[known]))


def axes_of(picture: MeltPicture, *, above: float = 0.2, below: float = 0.15) -> Axes:
    """Return axes that hold all curves, with shares of the height left free ``above`` and ``below`` for labels."""
    held = [value for value in (picture.at_c, picture.melting_c) if value is not None]
    low_t, high_t = min(float(picture.t_c[0]), *held), max(float(picture.t_c[-1]), *held)
    across = Factor("temperature", "C", low_t, high_t)
    values = np.concatenate([trace.values for trace in picture.traces])
    numbers = [*(float(value) for value in values[np.isfinite(values)]), *(value for _, value in picture.levels)]
    is_log = picture.quantity == "viscosity"
    low, high = (math.log10(end) if is_log else end for end in (min(numbers), max(numbers)))
    span = max(high - low, _LEAST_DECADES if is_log else _LEAST_SPAN * high) / (1.0 - above - below)
    low, high = low - below * span, high + above * span
    if is_log:
        low, high = 10.0**low, 10.0**high
    scale = Scale.LOG if is_log else Scale.LINEAR
    return Axes(across, Factor(picture.quantity, UNITS[picture.quantity], low, high, scale))


def window_text(window: tuple[float, float], *, decimal: str = ".") -> str:
    """Name the operating window with its ends: "operating window 143 to 175 °C"."""
    low = format_number(liked_value(window[0], "C", decimal), decimal=decimal)
    high = format_quantity(window[1], "C", decimal=decimal)
    return sentence("melt_panel.window", {"low": low, "high": high})


def described(picture: MeltPicture, *, decimal: str = ".") -> str:
    """Say in words what the picture shows, for people who cannot see it."""
    parts = []
    unit = UNITS[picture.quantity]
    for trace in picture.traces:
        value = value_at(picture, trace.values, picture.at_c) if picture.at_c is not None else None
        known = "" if value is None else f" {format_number(value, decimal=decimal)} {unit}"
        parts.append(f"{picture.quantity} of the {trace.word}{known}")
    if picture.melting_c is not None:
        parts.append(sentence("melt_panel.melts", {"at": format_quantity(picture.melting_c, "C", decimal=decimal)}))
    if picture.window is not None:
        parts.append(window_text(picture.window, decimal=decimal))
    return "; ".join(parts) + "."
