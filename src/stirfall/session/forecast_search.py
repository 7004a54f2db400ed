"""Where the best times of jars lie: a search with few draws and fine steps, for all jars of a lot at once."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.cancel import CancelToken
from stirfall.inference.stack import FittedModel
from stirfall.planning.draws import thin
from stirfall.session.forecast_course import Course
from stirfall.session.forecast_window import NEAR_BEST, Window, stands_out, supported, window_of, worst_outside

FloatArray = NDArray[np.float64]

SEARCH_DRAWS = 1024
_LIFE_POINTS = 32
_FINER = 5
_JARS_AT_ONCE = 50


@dataclass(frozen=True, eq=False)
class Found:
    """The search along one jar: ``hours`` and ``means`` that were looked at, and what came of it."""

    hours: FloatArray
    means: FloatArray
    window: Window | None = None

    def to_compare(self) -> FloatArray:
        """Return three hours: the best, the worst before the window and the worst after it, else the best again."""
        window = window_of(self.hours, self.means)
        best = float(self.hours[np.argmax(self.means)])
        worst = (None, None) if window is None else worst_outside(self.hours, self.means, window)
        return np.array([best, *(best if hour is None else hour for hour in worst)])

    def judged(self, opens: bool, closes: bool) -> Found:
        """Return the search with the window that is borne out."""
        window = window_of(self.hours, self.means)
        return replace(self, window=None if window is None else supported(window, opens, closes))

    @property
    def highest(self) -> float:
        """The highest mean that was met."""
        return float(self.means.max())

    def best_to_come(self, ends_h: float) -> float:
        """Return the hour of the highest mean from now on."""
        to_come = np.flatnonzero((self.hours >= 0.0) & (self.hours <= ends_h))
        return float(self.hours[to_come[np.argmax(self.means[to_come])]]) if len(to_come) else 0.0


def _finer(hours: FloatArray, means: FloatArray) -> FloatArray:
    """Return hours between the points that the best time and the ends of the window lie between."""
    best = int(np.argmax(means))
    near = {max(best - 1, 0), min(best, len(hours) - 2)}
    below = np.flatnonzero(means < NEAR_BEST * means[best])
    before, after = below[below < best], below[below > best]
    if len(before):
        near.add(int(before[-1]))
    if len(after):
        near.add(int(after[0]) - 1)
    # Always as many, whatever is near.
    starts = (sorted(near) + [max(best - 1, 0)] * 4)[:4]
    inside = np.arange(1, _FINER + 1) / (_FINER + 1)
    return np.concatenate([hours[at] + inside * (hours[at + 1] - hours[at]) for at in starts])


def _merged(
    hours: FloatArray, means: FloatArray, more: FloatArray, further: FloatArray
) -> tuple[FloatArray, FloatArray]:
    together, places = np.unique(np.r_[hours, more], return_index=True)
    return together, np.r_[means, further][places]


class Search:
    """Finds the windows of jars whose chances come from the same draws."""

    def __init__(self, model: FittedModel, token: CancelToken) -> None:
        self._model, self._token = model, token
        self._draws = thin(model, SEARCH_DRAWS)

    def of(self, courses: list[Course]) -> list[Found]:
        """Find every window with few draws and fine steps; what is shown is then worked out with all draws."""
        grids = [course.life_h(_LIFE_POINTS) for course in courses]
        means = self._means(courses, grids)
        fine = [_finer(hours, each) for hours, each in zip(grids, means, strict=True)]
        finer = self._means(courses, fine)
        whole = [
            _merged(hours, each, more, further)
            for hours, each, more, further in zip(grids, means, fine, finer, strict=True)
        ]
        return self._borne_out(courses, [Found(hours, each) for hours, each in whole])

    def _borne_out(self, courses: list[Course], found: list[Found]) -> list[Found]:
        """Keep those ends of the windows that the paired draws bear out; all draws are asked."""
        asked = [each.to_compare() for each in found]
        columns = joined([c.columns(hours) for c, hours in zip(courses, asked, strict=True)])
        draws, weights = self._model.probability_draws(columns), self._model.weights
        best, before, after = (draws[:, place::3] for place in range(3))
        return [
            each.judged(
                stands_out(best[:, at], before[:, at], weights), stands_out(best[:, at], after[:, at], weights)
            )
            for at, each in enumerate(found)
        ]

    def _means(self, courses: list[Course], hours: list[FloatArray]) -> list[FloatArray]:
        means: list[FloatArray] = []
        for first in range(0, len(courses), _JARS_AT_ONCE):
            self._token.raise_if_cancelled()
            part = slice(first, first + _JARS_AT_ONCE)
            columns = [c.columns(h) for c, h in zip(courses[part], hours[part], strict=True)]
            found = self._draws.means(joined(columns))
            means += np.split(found, np.cumsum([len(h) for h in hours[part]])[:-1])
        return means


def joined(columns: list[dict[str, FloatArray]]) -> dict[str, FloatArray]:
    """Put the columns of several jars one after the other."""
    return {name: np.concatenate([each[name] for each in columns]) for name in columns[0]}
