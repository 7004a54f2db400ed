"""From proofs and their chances to what the section "Proof" shows: pure, without widgets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Outcome
from stirfall.bench.records import find_factor
from stirfall.desktop.plan.proof_state import PlanChoice, ProofLine, RecipeLine, Steps
from stirfall.desktop.plan.tonight_rows import chance_of
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import Theme
from stirfall.planning.proof import CountPlan, SequentialPlan, Verdict
from stirfall.planning.proof_outlook import Outlook
from stirfall.reporting.proof_words import rule_line, verdict_line
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.reporting.shares import counted
from stirfall.session.forecast_evenings import local

if TYPE_CHECKING:
    from stirfall.session.proving import MarkedAttempt, ProofStanding

CLEAN_MARK, FAILED_MARK, LEFT_MARK = "●", "✕", "·"
_MOST_MARKS = 120


def recipe_lines(
    recipe: Conditions, widths: Mapping[str, float], typed: Mapping[str, str], state: CampaignState, shown: Shown
) -> tuple[RecipeLine, ...]:
    """Return the factors of a recipe with their widths: as typed, or else as suggested."""
    lines = []
    for name, value in recipe.items():
        factor = find_factor(state.factors, name)
        if isinstance(value, str):
            lines.append(RecipeLine(name, value))
            continue
        usual = shown.difference(widths.get(name, 0.0), factor.unit)
        text = typed.get(name, _number(usual, shown))
        _, problem = read_width(text, factor.unit, shown)
        lines.append(RecipeLine(name, shown.text(value, factor.unit), text, shown.label(factor.unit), problem))
    return tuple(lines)


def _number(value: float, shown: Shown) -> str:
    return shown.number(value, "") if value else "0"


def read_width(text: str, unit: str, shown: Shown) -> tuple[float | None, str]:
    """Return a width in ``unit`` from its text, a bare number in the shown unit; or None and the reason."""
    try:
        if not text.strip():
            raise InputError("proof_page.no_width")
        if shown.unit(unit) == unit:
            value = shown.read(text, unit)
        else:  # a width of temperature: the zero of the scale plays no part
            value = shown.stored(shown.read(text, ""), unit) - shown.stored(0.0, unit)
        if not 0 <= value < float("inf"):
            raise InputError("proof_page.no_width")
    except InputError as error:
        return None, error_sentence(error, decimal=shown.decimal)
    return value, ""


def key_of(outlook: Outlook) -> str:
    """Name a plan in a way that another claim does not change."""
    plan = outlook.plan
    return f"count {plan.failures_allowed}" if isinstance(plan, CountPlan) else "sequence"


def choice_of(outlook: Outlook, decimal: str) -> PlanChoice:
    """Return a plan as a card shows it."""
    plan = outlook.plan
    if isinstance(plan, CountPlan):
        code = "proof_page.size_clean" if not plan.failures_allowed else "proof_page.size_count"
        size = sentence(code, {"attempts": counted(plan.attempts), "failures": plan.failures_allowed})
    else:
        size = sentence("proof_page.size_sequence", {"fewest": plan.fewest or plan.attempts, "most": plan.attempts})
    chance = chance_of(outlook.chance)
    assert chance is not None, "an outlook has a chance"
    expected = sentence("proof_page.expected", {"attempts": counted(max(round(outlook.attempts), 1))})
    warning = sentence("proof.improve_first", {}) if outlook.improve_first else ""
    return PlanChoice(key_of(outlook), size, rule_line(plan, decimal=decimal), chance, expected, warning)


def large_words(standing: ProofStanding) -> str:
    """Return the one large line of a proof: how many of how many, or how it ended."""
    if standing.verdict is not Verdict.OPEN:
        return {
            Verdict.SHOWN: "Shown",
            Verdict.NOT_SHOWN: "Not shown",
            Verdict.GIVEN_UP: "Given up",
        }[standing.verdict]
    code = "proof_page.so_far" if isinstance(standing.plan, CountPlan) else "proof_page.so_far_at_most"
    failures = "no failure" if not standing.failures else counted(standing.failures, "failure")
    return sentence(
        code,
        {
            "made": standing.made,
            "made_words": counted(standing.made),
            "attempts": standing.plan.attempts,
            "failures": failures,
        },
    )


def title_of(standing: ProofStanding) -> str:
    """Name a proof by its title, or by the day on which it was started."""
    started = local(standing.proof.started_at)
    when = f"{started:%Y-%m-%d %H:%M}"
    return sentence(
        "proof_page.title" if standing.proof.title else "proof_page.started",
        {
            "title": standing.proof.title,
            "when": when,
        },
    )


def earlier_line(standing: ProofStanding, decimal: str) -> str:
    """Return an earlier proof in one line."""
    return f"{title_of(standing)}: {verdict_line(standing, decimal=decimal)}"


def line_of(marked: MarkedAttempt, theme: Theme, decimal: str) -> ProofLine:
    """Return one marked attempt as a row."""
    attempt = marked.attempt
    mark = theme.mark(Outcome.ABORTED if attempt.aborted else attempt.outcome)
    told = marked.left_out or marked.remark
    said = "" if told is None else sentence(told.code, told.params, decimal=decimal)
    place = "" if marked.place is None else str(marked.place)
    return ProofLine(attempt.number, attempt.id, place, mark.glyph, mark.word, mark.colour, said)


def marks_of(standing: ProofStanding) -> str:
    """Return a proof by count as a row of marks: clean, failed, still to come; "" where it would be too long."""
    plan = standing.plan
    if not isinstance(plan, CountPlan) or plan.attempts > _MOST_MARKS:
        return ""
    steps = zip(standing.path, standing.path[1:], strict=False)
    made = [FAILED_MARK if after[1] > before[1] else CLEAN_MARK for before, after in steps]
    left = plan.attempts - len(made) if standing.verdict is Verdict.OPEN else 0
    marks = [*made, *[LEFT_MARK] * left]
    return " ".join("".join(marks[at : at + 10]) for at in range(0, len(marks), 10))


def steps_of(standing: ProofStanding) -> Steps | None:
    """Return the picture of a proof in sequence, None for one by count."""
    plan = standing.plan
    if not isinstance(plan, SequentialPlan):
        return None
    return Steps(plan.lines.slope, plan.lines.shown, plan.lines.refused, plan.attempts, standing.path)
