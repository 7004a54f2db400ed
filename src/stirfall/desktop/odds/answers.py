"""From an analysis to the words and numbers beside the picture: plain functions without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Conditions, Factor, Value
from stirfall.bench.records import Attempt
from stirfall.bench.units import MINUS, human_time
from stirfall.desktop.odds.next_detail import detail_lines
from stirfall.desktop.odds.phrases import FEW_ATTEMPTS, counted, joined, sure, value_text
from stirfall.desktop.odds.pictures import GATE_WORDS
from stirfall.desktop.odds.state import Headline, SuggestionRow, ValueShown
from stirfall.reporting.axis_ticks import from_axis, to_axis
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, percent

if TYPE_CHECKING:
    from stirfall.inference.direction import Direction
    from stirfall.inference.table import AttemptCounts
    from stirfall.planning.findings import Finding
    from stirfall.planning.next_attempts import Suggestion
    from stirfall.session.analysis import Analysis

_STEPS_ALONG_AXIS = 60
_FILLED_SHOWN = 3
_FLAGS_SHOWN = 2
_TITLES = {
    "form": "odds.title_form",
    "attempt": "odds.title_attempt",
    "jar": "odds.title_jar",
    "recipe": "odds.title_recipe",
    "suggestion": "odds.title_suggestion",
}


class InHandLike(Protocol):
    """What an answer needs of the conditions in hand."""

    @property
    def conditions(self) -> Conditions:
        """The values."""
        ...

    @property
    def source(self) -> str:
        """Where they come from."""
        ...

    @property
    def label(self) -> str:
        """What they are called, "" where the source says it all."""
        ...

    @property
    def lot_id(self) -> str | None:
        """The lot of the metal, None where it is not known."""
        ...

    @property
    def jar_id(self) -> str | None:
        """The jar of the metal, None where it is not known."""
        ...

    @property
    def bench(self) -> str | None:
        """The bench of a pooled attempt, None for this session's own bench."""
        ...


def title_of(in_hand: InHandLike) -> str:
    """Say what the conditions in hand are: "Form on the bench", "Attempt 12", "Jar J4", "Recipe"."""
    title = in_hand.label or sentence(_TITLES[in_hand.source])
    return title[:1].upper() + title[1:]


def completed(
    analysis: Analysis, conditions: Conditions, *, skip: tuple[str, ...] = ()
) -> tuple[Conditions, tuple[str, ...]]:
    """Return conditions without gaps, save ``skip``, for the model's factors, and the names that were changed."""
    whole = analysis.complete(conditions, skip=skip)
    changed = {*whole.filled, *whole.lowered}
    return Conditions(whole), tuple(f.name for f in analysis.model.design.factors if f.name in changed)


def conditions_of(analysis: Analysis, in_hand: InHandLike) -> Conditions:
    """Return the conditions in hand, those of a recorded attempt or a jar with the film index of their own jar.

    An attempt has the one that the analysis worked out for it.
    """
    name, conditions = analysis.follows, in_hand.conditions
    if name is None or name in conditions:
        return conditions
    if in_hand.source == "jar":
        from stirfall.session.film_factor import with_film_of_jar

        return with_film_of_jar(analysis.state, in_hand.jar_id, conditions)
    if in_hand.source != "attempt":
        return conditions
    for attempt in reversed(analysis.state.attempts):
        if attempt.jar_id == in_hand.jar_id and attempt.conditions.with_value(name, None) == conditions:
            return attempt.conditions
    return conditions


def headline(analysis: Analysis, in_hand: InHandLike, *, decimal: str = ".", with_yield: bool = False) -> Headline:
    """Answer for the conditions in hand; ``with_yield`` adds the metal to be expected to the details."""
    whole, filled = completed(analysis, conditions_of(analysis, in_hand))
    estimate = analysis.estimate(whole)
    gates = analysis.gate_estimates(whole) if len(analysis.model.gates) > 1 else {}
    direction = analysis.direction(whole)
    findings = analysis.limits.check(in_hand.conditions) if in_hand.conditions else ()
    factors = analysis.model.design.factors
    return Headline(
        title=title_of(in_hand),
        estimate=estimate,
        gates=tuple((GATE_WORDS[name], gate) for name, gate in gates.items()),
        direction=_direction_text(estimate, direction, may_wait=analysis.limits.may_wait),
        caution=_caution(findings, decimal),
        filled=_filled_text(factors, whole, filled, decimal, most=_FILLED_SHOWN),
        filled_in_full=_filled_text(factors, whole, filled, decimal, most=len(filled)),
        left_out=left_out_text(analysis.counts),
        left_out_short=left_out_short(analysis.counts),
        details=(
            *_details(analysis, estimate, gates, direction, findings, decimal=decimal),
            *(_yield_lines(analysis, whole, decimal) if with_yield else ()),
        ),
        can_take=in_hand.source != "form" and not any(_forbids(found) for found in findings),
    )


def _forbids(found: Finding) -> bool:
    """Whether conditions may not go into the form: beyond a limit, or a longer exposure of a metal at risk."""
    return found.level == "block" or found.code == "limits.longer_exposure"


def left_out_short(counts: AttemptCounts) -> str:
    """Say only how many attempts do not count, where there is little room."""
    return sentence("odds.left_out_short", {"attempts": counted(counts.left_out)}) if counts.left_out else ""


def left_out_text(counts: AttemptCounts) -> str:
    """Say which attempts do not count and why: "Left out: 3 aborted, 1 struck out, 2 with unknown values."."""
    parts = [
        f"{number} {word}"
        for number, word in (
            (counts.aborted, "aborted"),
            (counts.struck, "struck out"),
            (counts.missing, "with unknown values"),
            (counts.not_graded, "not graded"),
            (counts.only_counted, "counted without grades"),
        )
        if number
    ]
    return sentence("odds.left_out", {"parts": joined(parts)}) if parts else ""


def _direction_text(estimate: Estimate, direction: Direction | None, *, may_wait: bool) -> str:
    if estimate.n == 0:
        return sentence("odds.no_attempts")
    if estimate.n <= FEW_ATTEMPTS:
        return sentence("odds.few_attempts", {"attempts": basis(estimate)})
    if direction is None:
        return "" if may_wait else sentence("odds.no_waiting_advice")
    if direction.factor is None:
        return sentence("odds.unsure_at_all")
    return sentence(f"odds.{direction.code}", {"longer": percent(direction.prob_longer)})


def _caution(findings: tuple[Finding, ...], decimal: str) -> str:
    grave = [found for found in findings if found.level != "note"]
    if not grave:
        return ""
    text = sentence(grave[0].code, grave[0].params, decimal=decimal)
    return text if len(grave) == 1 else f"{text} {sentence('odds.more_cautions', {'count': len(grave) - 1})}"


def _filled_text(
    factors: tuple[Factor, ...], whole: Conditions, filled: tuple[str, ...], decimal: str, *, most: int
) -> str:
    if not filled:
        return ""
    parts = [f"{f.name} {value_text(f, whole[f.name], decimal=decimal)}" for f in factors if f.name in filled]
    if len(parts) > most:
        shown = {"values": joined(parts[: most - 1]), "count": len(parts) - most + 1}
        return sentence("odds.filled_short", shown)
    return sentence("odds.filled", {"values": joined(parts)})


def _details(
    analysis: Analysis,
    estimate: Estimate,
    gates: dict[str, Estimate],
    direction: Direction | None,
    findings: tuple[Finding, ...],
    *,
    decimal: str,
) -> list[str]:
    lines = [sentence("odds.about_interval", {"level": round(100 * estimate.level), "attempts": basis(estimate)})]
    lines += [f"{GATE_WORDS[name].capitalize()}: {sure(gate)}, {basis(gate)}." for name, gate in gates.items()]
    if direction is not None and direction.factor is not None:
        lines.append(
            sentence(
                "odds.direction_detail",
                {
                    "factor": direction.factor,
                    "longer": percent(direction.prob_longer),
                    "longer_gain": _points(direction.gains["longer"]),
                    "shorter": percent(direction.prob_shorter),
                    "shorter_gain": _points(direction.gains["shorter"]),
                },
            )
        )
    lines += [sentence("odds.dropped_factor", {"factor": name}) for name in analysis.counts.dropped_factors]
    lines += [sentence(found.code, found.params, decimal=decimal) for found in findings]
    if not analysis.model.health.is_sound:
        lines.append(sentence("odds.not_sound"))
    return lines


def _yield_lines(analysis: Analysis, whole: Conditions, decimal: str) -> list[str]:
    """Say how many clean grams to expect and how much metal comes back; nothing while no clean one was weighed."""
    recovery = analysis.recovery
    if recovery is None:
        return []
    from stirfall.reporting.recovery_words import recovery_lines

    return recovery_lines(recovery, recovery.at(whole), recovery.expected_grams(whole), decimal=decimal)


def _points(gain: float) -> str:
    whole = round(100 * gain)
    sign = "+" if whole > 0 else MINUS if whole < 0 else "±"
    return f"{sign}{abs(whole)}"


# -- moving along an axis ---------------------------------------------------------------------------------


def value_at(factor: Factor, position: float) -> Value:
    """Return the value at an axis position, on the factor's steps and inside its range."""
    if factor.is_choice:
        index = min(max(round(position), 0), len(factor.levels) - 1)
        return factor.levels[index]
    return factor.snap(from_axis(factor, position))


def stepped_value(factor: Factor, value: Value, steps: int) -> Value:
    """Return the value ``steps`` key presses away: a sixtieth of the axis each, at least one step of the factor."""
    if factor.is_choice:
        index = factor.levels.index(value) if value in factor.levels else 0
        return factor.levels[min(max(index + (1 if steps > 0 else -1), 0), len(factor.levels) - 1)]
    low, high = factor.bounds
    start = min(max(float(value), low), high)
    if steps == 0:
        return start
    notch = (to_axis(factor, high) - to_axis(factor, low)) / _STEPS_ALONG_AXIS
    for count in range(abs(steps), _STEPS_ALONG_AXIS + 1):
        reached = factor.snap(from_axis(factor, to_axis(factor, start) + (count if steps > 0 else -count) * notch))
        if (reached - start) * steps > 0:
            return reached
    return factor.snap(high if steps > 0 else low)


# -- next attempts ----------------------------------------------------------------------------------------


def suggestion_rows(
    suggestions: tuple[Suggestion, ...], state: CampaignState, *, no_figure: str = "", decimal: str = "."
) -> tuple[SuggestionRow, ...]:
    """Return the next attempts as rows; ``no_figure`` says why the goal promises no grams."""
    return tuple(suggestion_row(each, state, no_figure=no_figure, decimal=decimal) for each in suggestions)


def last_attempt(state: CampaignState) -> Attempt | None:
    """Return the attempt with the highest number that was not struck out, or None."""
    return state.newest


def suggestion_row(
    suggestion: Suggestion,
    state: CampaignState,
    *,
    no_figure: str = "",
    is_recipe: bool = False,
    decimal: str = ".",
) -> SuggestionRow:
    """Return one next attempt, or the recommended recipe, as a row, compared with the last attempt."""
    last = last_attempt(state)
    values = []
    for factor in state.visible_factors:
        if factor.name not in suggestion.conditions:
            continue
        text = value_text(factor, suggestion.conditions[factor.name], decimal=decimal)
        before = last.conditions.get(factor.name) if last else None
        same = before is not None and value_text(factor, before, decimal=decimal) == text
        values.append(ValueShown(factor.name, text, last is not None and not same))
    jar = _jar_text(suggestion.jar_id, suggestion.wait_h, decimal)
    return SuggestionRow(
        conditions=suggestion.conditions,
        values=tuple(values),
        estimate=suggestion.probability,
        reason=sentence(suggestion.reason.code, suggestion.reason.params, decimal=decimal),
        flag=_flag_text(suggestion.outside_tried),
        jar=jar,
        jar_id=suggestion.jar_id,
        compared_with=f"attempt {last.number}" if last else "",
        details=detail_lines(suggestion, state, jar=jar, no_figure=no_figure, is_recipe=is_recipe, decimal=decimal),
    )


def _flag_text(outside: tuple[str, ...]) -> str:
    if not outside:
        return ""
    shown, more = outside[:_FLAGS_SHOWN], len(outside) - _FLAGS_SHOWN
    names = f"{joined(list(shown))} and {more} more" if more > 0 else joined(list(shown))
    return sentence("odds.not_tried_here", {"factors": names})


def _jar_text(jar_id: str | None, wait_h: float | None, decimal: str) -> str:
    if jar_id is None and not wait_h:
        return ""
    wait = human_time(wait_h, "h", decimal=decimal) if wait_h and wait_h > 0 else ""
    if jar_id is None:
        return sentence("odds.wait", {"wait": wait})
    return (
        sentence("odds.jar_later", {"jar": jar_id, "wait": wait})
        if wait
        else sentence("odds.jar_now", {"jar": jar_id})
    )
