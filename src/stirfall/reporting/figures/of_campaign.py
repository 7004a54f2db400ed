"""Which figures a campaign has: those that its attempts can fill, in the order in which a reader wants them."""

from __future__ import annotations

from collections.abc import Callable

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.reporting.figures.along import along_figure, shares_figure
from stirfall.reporting.figures.drawing import Figure
from stirfall.reporting.figures.records import attempts_figure, foretold_figure, recovery_figure
from stirfall.reporting.figures.rows import effects_figure, lots_figure
from stirfall.session.analysis import Analysis

_Maker = Callable[[Analysis, Conditions, str], Figure | None]
_MAKERS: tuple[_Maker, ...] = (
    along_figure,
    shares_figure,
    effects_figure,
    attempts_figure,
    lots_figure,
    foretold_figure,
    recovery_figure,
)


def figures_of(
    analysis: Analysis,
    conditions: Conditions | None = None,
    *,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> tuple[Figure, ...]:
    """Return the figures of a campaign at ``conditions``, or at the recommended ones; none without attempts.

    A figure that the attempts cannot fill is left out. Raises Cancelled.
    """
    at = _conditions(analysis, conditions)
    found = []
    for make in _MAKERS:
        if token is not None:
            token.raise_if_cancelled()
        figure = make(analysis, at, decimal)
        if figure is not None:
            found.append(figure)
    return tuple(found)


def _conditions(analysis: Analysis, given: Conditions | None) -> Conditions:
    if given is None:
        try:
            given = analysis.best().conditions
        except InputError:  # the limits allow nothing, or there is nothing to recommend
            given = Conditions()
    return analysis.complete(given)
