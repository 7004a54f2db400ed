"""What is said of a suggestion on demand, as labelled paragraphs: plain functions without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.plans import ControlError, control_errors
from stirfall.bench.units import THIN_SPACE, Amount, Difference, format_number
from stirfall.desktop.odds.phrases import joined
from stirfall.desktop.odds.state import DetailLine
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import basis, in_full, interval, percent

if TYPE_CHECKING:
    from stirfall.bench.estimates import Reason
    from stirfall.planning.suggestions import Suggestion

_HOURS = "h"


def detail_lines(
    suggestion: Suggestion, state: CampaignState, *, jar: str, is_recipe: bool = False, decimal: str
) -> tuple[DetailLine, ...]:
    """Return all that is said of a suggestion, or of the recommended recipe; ``jar`` names the jar and the wait."""
    told = suggestion.explanation
    settles = [_text(suggestion.reason, decimal)]
    lines = [DetailLine("Chance", _chance(suggestion, state, decimal))]
    if suggestion.outside_tried:
        text = sentence("next.outside", {"factors": joined(list(suggestion.outside_tried))})
        lines.append(DetailLine("Caution", (text,), is_caution=True))
    if told is not None:
        settles.append(_text(told.settles, decimal))
    lines.append(DetailLine("Why", tuple(settles)))
    if told is not None:
        if told.after:
            lines.append(DetailLine("Then", tuple(_text(each.reason, decimal) for each in told.after)))
        lines.append(DetailLine("Nearest", (_text(told.near, decimal),)))
    if not is_recipe:
        lines.append(DetailLine("Jar", (jar or sentence("next.no_jar"),)))
    return tuple(lines)


def _text(reason: Reason, decimal: str) -> str:
    return sentence(reason.code, reason.params, decimal=decimal)


def _chance(suggestion: Suggestion, state: CampaignState, decimal: str) -> tuple[str, ...]:
    texts = [f"{in_full(suggestion.probability)}."]
    held, errors = suggestion.held, control_errors(state.visible_factors, state.settings.plan)
    if held is not None and errors:
        said = joined([error_text(each, state, decimal=decimal) for each in errors])
        chance = f"{percent(held.mean)}, {interval(held)}"
        texts.append(sentence("next.held", {"errors": said, "chance": chance}))
    elif held is not None:
        texts.append(sentence("next.held_exactly"))
    figure = figure_text(suggestion, state, decimal=decimal)
    return (*texts, figure) if figure else tuple(texts)


def error_text(error: ControlError, state: CampaignState, *, decimal: str) -> str:
    """Say how well a factor is held: "temperature ±3 °C", "sample age ±10 %"."""
    if error.is_share:
        number = format_number(error.half_width, decimal=decimal)
        return f"{error.factor} ±{number}{THIN_SPACE}%"
    unit = next(factor.unit for factor in state.visible_factors if factor.name == error.factor)
    return f"{error.factor} ±{Difference(error.half_width, unit).text(decimal=decimal)}"


def figure_text(suggestion: Suggestion, state: CampaignState, *, decimal: str) -> str:
    """Say what the goal promises, with its interval and n; "" where the goal counts nothing but the chance."""
    figure = suggestion.figure
    if figure is None:
        return sentence("next.no_figure") if suggestion.goal == "most" else ""
    unit, code = (_HOURS, "next.soonest") if figure.unit == _HOURS else ("g", "next.most")
    params: dict[str, object] = {
        "value": Amount(figure.value, unit),
        "lower": Amount(figure.lower, unit),
        "upper": Amount(figure.upper, unit),
        "attempts": basis(suggestion.probability),
        "horizon": Amount(state.settings.plan.horizon_h, _HOURS),
    }
    return sentence(code, params, decimal=decimal)
