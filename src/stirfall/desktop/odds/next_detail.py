"""What is said of a suggestion on demand, as labelled paragraphs: plain functions without a window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.plans import ControlError, control_errors
from stirfall.bench.units import THIN_SPACE, Difference, format_number
from stirfall.desktop.odds.phrases import joined
from stirfall.desktop.odds.state import DetailLine
from stirfall.reporting.goal_words import figure_text
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import in_full, interval, percent

if TYPE_CHECKING:
    from stirfall.bench.estimates import Reason
    from stirfall.planning.suggestions import Suggestion


def detail_lines(
    suggestion: Suggestion,
    state: CampaignState,
    *,
    jar: str,
    no_figure: str = "",
    is_recipe: bool = False,
    decimal: str = ".",
) -> tuple[DetailLine, ...]:
    """Return all that is said of a suggestion, or of the recommended recipe.

    ``jar`` names the jar and the wait, ``no_figure`` says why the goal promises no grams.
    """
    told = suggestion.explanation
    why = [_text(suggestion.reason, decimal), *([] if told is None else [_text(told.settles, decimal)])]
    then = () if told is None else tuple(_text(each.reason, decimal) for each in told.after)
    chance = DetailLine("Chance", _chance(suggestion, state, no_figure, decimal))
    caution = DetailLine("Caution", _outside(suggestion), is_caution=True)
    if is_recipe:
        lines = [chance, caution, DetailLine("Why", tuple(why))]
    else:
        near = () if told is None else (_text(told.near, decimal),)
        said = (DetailLine("Why", tuple(why)), DetailLine("Then", then), chance, caution, DetailLine("Tried", near))
        lines = [*said, DetailLine("Jar", (jar or sentence("next.no_jar"),))]
    return tuple(line for line in lines if line.texts)


def _outside(suggestion: Suggestion) -> tuple[str, ...]:
    names = joined(list(suggestion.outside_tried))
    return (sentence("next.outside", {"factors": names}),) if names else ()


def _text(reason: Reason, decimal: str) -> str:
    return sentence(reason.code, reason.params, decimal=decimal)


def _chance(suggestion: Suggestion, state: CampaignState, no_figure: str, decimal: str) -> tuple[str, ...]:
    texts = [f"{in_full(suggestion.probability)}."]
    held, errors = suggestion.held, control_errors(state.visible_factors, state.settings.plan)
    if held is not None and errors:
        said = joined([error_text(each, state, decimal=decimal) for each in errors])
        chance = f"{percent(held.mean)}, {interval(held)}"
        texts.append(sentence("next.held", {"errors": said, "chance": chance}))
    elif held is not None:
        texts.append(sentence("next.held_exactly"))
    figure = suggestion.figure
    if figure is not None:
        texts.append(figure_text(figure, suggestion.probability, decimal=decimal))
    elif no_figure:
        texts.append(no_figure)
    return tuple(texts)


def error_text(error: ControlError, state: CampaignState, *, decimal: str) -> str:
    """Say how well a factor is held: "temperature ±3 °C", "sample age ±10 %"."""
    if error.is_share:
        number = format_number(error.half_width, decimal=decimal)
        return f"{error.factor} ±{number}{THIN_SPACE}%"
    unit = next(factor.unit for factor in state.visible_factors if factor.name == error.factor)
    return f"{error.factor} ±{Difference(error.half_width, unit).text(decimal=decimal)}"
