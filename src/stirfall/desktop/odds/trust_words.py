"""How the Trust view follows from an analysis: forms in words, checks sorted by what needs a look first."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from stirfall.bench.units import MINUS, THIN_SPACE, format_number
from stirfall.desktop.odds.effects_state import basis_of
from stirfall.desktop.odds.phrases import FEW_ATTEMPTS
from stirfall.desktop.odds.trust_state import STANDING_MARKS, CheckLine, FormRow, FormsBlock, Standing, TrustContent
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import percent

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.inference.forms import FormScore
    from stirfall.session.analysis import Analysis

SHAKY_K = 0.7
"""Above this Pareto k a score rests on very few draws (Vehtari et al. 2024, J. Mach. Learn. Res. 25:72)."""
_NO_DIFFERENCE = 0.05
_FIXED_SPACE = "\u00a0"


def trust_content(analysis: Analysis, decimal: str, token: CancelToken | None = None) -> TrustContent:
    """Work out how far an analysis can be trusted, in words; made for a worker thread."""
    if analysis.base.n <= FEW_ATTEMPTS:
        params = {"attempts": basis_of(analysis), "enough": FEW_ATTEMPTS + 1}
        return TrustContent("few", sentence("trust_view.few", params))
    if analysis.stage == "first":
        return TrustContent("first", sentence("trust_view.first"))
    from stirfall.desktop.odds.health_words import health_parts

    report = analysis.health(token=token)
    parts = health_parts(report, decimal)
    return TrustContent(
        "ready",
        first_look=parts.first_look,
        forms=forms_block(analysis, decimal),
        checks=with_grades(parts.checks, analysis.state, decimal),
        calibration=parts.calibration,
        pulls=parts.pulls,
        pulls_note=parts.pulls_note,
    )


def with_grades(checks: tuple[CheckLine, ...], state: CampaignState, decimal: str) -> tuple[CheckLine, ...]:
    """Return the checks with what the blind second grades say among them, where there are any."""
    from stirfall.reporting.agreement_words import agreement_lines
    from stirfall.session.regrading import FEWEST, compared

    comparison = compared(state)
    if not comparison.agreement.n:
        return checks
    standing: Standing = "look" if comparison.is_low else "few" if comparison.agreement.n < FEWEST else "fine"
    first, *more = agreement_lines(comparison, decimal=decimal)
    order = list(STANDING_MARKS)
    lines = (*checks, CheckLine("grades", standing, first, tuple(more)))
    return tuple(sorted(lines, key=lambda line: order.index(line.standing)))


def forms_block(analysis: Analysis, decimal: str) -> FormsBlock:
    """Return the candidate forms in words, with what their scores can and cannot tell."""
    scores = analysis.forms
    rows = tuple(form_row(score, decimal) for score in scores)
    pinned = next((row.name for row in rows if row.is_pinned), "")
    basis = basis_of(analysis)
    if pinned:
        note = sentence("trust_view.pinned", {"form": pinned})
    elif len(scores) < 2:
        note = sentence("trust_view.one_form")
    elif not analysis.forms_differ:
        note = sentence("trust_view.forms_alike", {"attempts": basis})
    else:
        note = _differing(scores, rows[0].name, basis)
    return FormsBlock(note, rows, pinned)


def _differing(scores: Sequence[FormScore], best: str, basis: str) -> str:
    """Say which forms the attempts rule out, and how many they cannot tell apart."""
    worse = sum(score.is_distinguishable for score in scores)
    alike = len(scores) - worse
    if alike == 1:
        return sentence("trust_view.one_best", {"form": best})
    params = {"worse": worse, "forms": len(scores), "alike": alike, "attempts": basis}
    return sentence("trust_view.forms_differ", params)


def form_row(score: FormScore, decimal: str) -> FormRow:
    """Return one form as a row."""
    name = sentence(score.form.code, score.form.params, decimal=decimal).replace("gate ", f"gate{_FIXED_SPACE}")
    return FormRow(
        key=score.form.key,
        name=name[:1].upper() + name[1:].rstrip("."),
        weight=score.weight,
        weight_text=percent(score.weight),
        score_text=_score_text(score, decimal),
        warning=sentence("trust_view.shaky_form") if score.pareto_k > SHAKY_K else "",
        details=_details(score, decimal),
        is_pinned=score.is_pinned,
        is_best=score.behind <= 0.0,
    )


def _score_text(score: FormScore, decimal: str) -> str:
    if score.behind <= 0.0:
        return sentence("trust_view.best_form")
    params = {"behind": _one_digit(score.behind, decimal), "noise": _one_digit(score.behind_se, decimal)}
    code = "trust_view.level_form" if score.behind < _NO_DIFFERENCE else "trust_view.behind_form"
    return sentence(code, params)


def _details(score: FormScore, decimal: str) -> str:
    params = {
        "score": _signed(score.log_score, decimal),
        "se": _one_digit(score.log_score_se, decimal),
        "k": format_number(score.pareto_k, digits=2, decimal=decimal),
        "marginal": _signed(score.log_marginal, decimal),
    }
    return sentence("trust_view.form_details" if math.isfinite(score.pareto_k) else "trust_view.form_exact", params)


def _one_digit(value: float, decimal: str) -> str:
    return f"{value:.1f}".replace("-", MINUS).replace(".", decimal) if math.isfinite(value) else "unknown"


def _signed(value: float, decimal: str) -> str:
    return _one_digit(value, decimal).replace(" ", THIN_SPACE)
