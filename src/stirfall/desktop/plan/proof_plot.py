"""A proof in sequence as a picture: failures against attempts, the two lines, and the run so far in steps."""

from __future__ import annotations

import math

import numpy as np
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtWidgets import QWidget

from stirfall.bench.factors import Factor
from stirfall.desktop.physics.still_plot import Axes, StillPlot
from stirfall.desktop.plan.proof_state import Steps
from stirfall.desktop.theme import Theme

_LEAST_FAILURES = 4.0
_ROOM = 1.15
_BELOW = 0.06


class ProofPlot(StillPlot):
    """Draws the steps of a proof; above the upper line it is not shown, on or below the lower one it is."""

    def __init__(self, theme: Theme, parent: QWidget | None = None, *, ink: float = 1.0) -> None:
        super().__init__(theme, "proof_plot", parent)
        self.ink = ink
        self.steps: Steps | None = None
        self.setAccessibleName("Failures against attempts, with the two lines of the proof")
        self._is_built = True
        self.apply_theme(theme)

    def sizeHint(self) -> QSize:
        """Ask for a picture that can be read across the bench."""
        return QSize(420, 260)

    def show_steps(self, steps: Steps, description: str) -> None:
        """Draw the steps; ``description`` says them in words."""
        self.setAccessibleDescription(description)
        if steps != self.steps:
            self.steps = steps
            self.draw()

    def _redraw(self) -> None:
        steps = self.steps
        if steps is None:
            return
        self.fit_axes(axes_of(steps))
        assert self.axes is not None
        top = self.axes.upward.bounds[1]
        ends = np.array([0.0, float(steps.most)])
        self.add_curve(ends, steps.slope * ends + steps.refused, self.pen(self.theme.text, width=1.8))
        first = max(-steps.shown / steps.slope, 0.0)
        lower = np.array([min(first, steps.most), float(steps.most)])
        self.add_curve(lower, steps.slope * lower + steps.shown, self.pen(self.theme.text, width=1.8))
        self.add_upright(float(steps.most), self.pen(self.theme.muted, style=Qt.PenStyle.DotLine))
        per_px = steps.most / max(self.view_box.width(), 1.0)
        left = 0.03 * steps.most
        beside = left + self.metrics().horizontalAdvance("not shown") * per_px
        self._label("not shown", left, steps.slope * beside + steps.refused, above=True)
        right = 0.98 * steps.most
        beside = right - self.metrics().horizontalAdvance("shown") * per_px
        self._label("shown", right, max(steps.slope * beside + steps.shown, 0.0), above=False)
        made = np.array([at for at, _ in steps.path], dtype=float)
        failed = np.array([failures for _, failures in steps.path], dtype=float)
        x, y = np.repeat(made, 2)[1:], np.repeat(failed, 2)[:-1]
        self.add_curve(x, y, self.pen(self.theme.accent, width=2.6))
        self.add_dot(float(made[-1]), min(float(failed[-1]), top), self.theme.accent)

    def _label(self, word: str, x: float, y: float, *, above: bool) -> None:
        place = self.pixels_of(x, y)
        anchor = (0.0, 1.0) if above else (1.0, 0.0)
        self.add_text(word, QPointF(place.x(), place.y() + (-2 if above else 2)), anchor, self.theme.text)


def axes_of(steps: Steps) -> Axes:
    """Return axes that hold both lines to the cut, and the run."""
    highest = max(steps.slope * steps.most + steps.refused, float(steps.path[-1][1]), _LEAST_FAILURES)
    top = float(math.ceil(highest * _ROOM))
    upward = Factor("failures", "", -_BELOW * top, top)  # a run without a failure is drawn whole above the axis
    return Axes(Factor("attempts", "", 0.0, float(steps.most) * 1.02, step=1.0), upward)


def in_words(steps: Steps) -> str:
    """Say the picture in words: where the run stands, and where the lines lie there."""
    made, failures = steps.path[-1]
    upper, lower = steps.slope * made + steps.refused, steps.slope * made + steps.shown
    shown = f"shown at {math.floor(lower)} or fewer" if lower >= 0 else "not shown yet with any number"
    return (
        f"After {made} attempts there are {failures} failures. At this number it is not shown from "
        f"{math.ceil(upper)} failures on, and {shown}. It is cut off after {steps.most} attempts."
    )
