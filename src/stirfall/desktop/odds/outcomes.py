"""From an analysis to the stacked picture of the outcomes: plain functions, safe on a worker thread."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Outcome
from stirfall.desktop.odds.marks import drawn
from stirfall.desktop.odds.phrases import value_text
from stirfall.desktop.odds.pictures import caption_of, curve_spots, model_basis, tried_range
from stirfall.desktop.odds.state import Floats, OutcomePicture, ShareBand
from stirfall.reporting.axis_ticks import to_axis
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.inference.odds import Bands
    from stirfall.session.analysis import Analysis
    from stirfall.session.outcome_shares import OutcomeShares

WORDS = {Outcome.CLEAN: "clean", Outcome.PARTED_BEADS: "parted but beads", Outcome.NOTHING_PARTED: "not parted"}
_SHORT: dict[Outcome, tuple[str, ...]] = {
    Outcome.CLEAN: (),
    Outcome.PARTED_BEADS: ("beads",),
    Outcome.NOTHING_PARTED: (),
}
_FILM: dict[Outcome, tuple[str, ...]] = {
    Outcome.CLEAN: (),
    Outcome.PARTED_BEADS: ("parted but beads: too much film",),
    Outcome.NOTHING_PARTED: ("not parted: too little film",),
}
_SAME = 0.015


def why_no_outcomes(analysis: Analysis) -> str:
    """Say why the outcomes cannot be told apart, "" where they can."""
    from stirfall.session.outcome_shares import why_no_shares

    reason = why_no_shares(analysis)
    return sentence(reason.code, reason.params) if reason else ""


def outcome_picture(
    analysis: Analysis,
    factor: Factor,
    conditions: Conditions,
    *,
    decimal: str = ".",
    token: CancelToken | None = None,
) -> OutcomePicture | None:
    """Return the shares of the outcomes along ``factor``, None where there is one gate only.

    The clean band is that of the curve. Where forms with one gate share in that answer, only those with two can say
    how the rest divides: it is divided as they divide it, and the caption says so.
    """
    from stirfall.session.outcome_shares import outcome_shares

    shares = outcome_shares(analysis, factor.name, conditions)
    if token is not None:
        token.raise_if_cancelled()
    if shares is None:
        return None
    tried_levels, tried = tried_range(analysis, factor)
    bands = _bands(analysis, shares)
    caption = caption_of(analysis, conditions, (factor.name,), decimal)
    if any(score.form.gates == 1 and score.weight > 0 for score in analysis.forms):
        caption = f"{caption} {sentence('odds.outcomes_of_two_gates')}"
    spots = curve_spots(analysis.state.attempts, factor)
    shown = drawn(spots)
    return OutcomePicture(
        factor=factor,
        x=np.asarray(shares.x, dtype=float),
        level=shares.level,
        tried=tried,
        tried_levels=tried_levels,
        spots=tuple(shown),
        not_drawn=len(spots) - len(shown),
        caption=caption,
        sentence=_sentence(analysis, bands, shares, decimal),
        bands=bands,
    )


def _bands(analysis: Analysis, shares: OutcomeShares) -> tuple[ShareBand, ...]:
    def made(outcome: Outcome, band: Bands) -> ShareBand:
        # No word of film where a longer exposure is never advised: "too little" would invite to wait.
        film = _FILM[outcome] if analysis.limits.may_wait else ()
        labels = (*film, WORDS[outcome], *_SHORT[outcome])
        return ShareBand(outcome, WORDS[outcome], band.mean, band.lower, band.upper, labels)

    return (
        made(Outcome.CLEAN, shares.clean),
        made(Outcome.PARTED_BEADS, shares.beads),
        made(Outcome.NOTHING_PARTED, shares.not_parted),
    )


def shares_at(picture: OutcomePicture, at: float, clean: float | None = None) -> tuple[float, ...]:
    """Return the share of each band at an axis position, lowest first.

    ``clean`` is the answer of the headline there: it stands in for the share that was read off the picture where
    the two are the same up to the reading.
    """
    places = np.array(
        [float(x) if picture.factor.is_choice else to_axis(picture.factor, float(x)) for x in picture.x]
    )
    read = [float(np.interp(at, places, band.mean)) for band in picture.bands]
    if clean is None or abs(read[0] - clean) > _SAME:
        return tuple(read)
    rest = sum(read[1:])
    scale = (1.0 - clean) / rest if rest > 0 else 0.0
    return (clean, *(share * scale for share in read[1:]))


def axis_places(picture: OutcomePicture) -> Floats:
    """Return the axis positions of a picture's points."""
    if picture.factor.is_choice:
        return np.asarray(picture.x, dtype=float)
    return np.array([to_axis(picture.factor, float(value)) for value in picture.x])


def _sentence(analysis: Analysis, bands: tuple[ShareBand, ...], shares: OutcomeShares, decimal: str) -> str:
    factor = shares.factor

    def most(mean: Floats) -> str:
        index = int(np.argmax(mean))
        value = factor.levels[index] if factor.is_choice else float(shares.x[index])
        return f"{value_text(factor, value, decimal=decimal)} with {percent(float(mean[index]))}"

    clean, beads, not_parted = (most(band.mean) for band in bands)
    return sentence(
        "odds.outcomes_said",
        {
            "factor": factor.name,
            "basis": model_basis(analysis),
            "clean": clean,
            "beads": beads,
            "not_parted": not_parted,
        },
    )
