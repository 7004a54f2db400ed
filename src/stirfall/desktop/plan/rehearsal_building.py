"""From what was rehearsed to what the section "Rehearsal" shows: pure, without widgets."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from stirfall.bench.units import format_number
from stirfall.desktop.plan.rehearsal_state import WEEKS, OrderChoice, OrderLine, Shown, StepLine
from stirfall.planning.orders import Order
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, level_percent, percent
from stirfall.session.forecast_evenings import local

if TYPE_CHECKING:
    from stirfall.planning.rehearsal import Against, Distribution, OrderRehearsed, Rehearsed

# Order: (name in a picture, code of what it means).
_ORDERS = {
    "planned to learn": ("learn", "learn"),
    "planned for reliability": ("reliable", "reliable"),
    "planned for the soonest batch": ("soonest", "soonest"),
    "planned for most grams": ("most grams", "most"),
    "space filling": ("space filling", "space"),
    "random": ("random", "random"),
    "one factor at a time": ("one factor", "one"),
    "repeat the best": ("repeat best", "repeat"),
}
ORDER_WORDS = tuple(_ORDERS)
"""The orders as they are shown, the planned ones first."""


def order_choices(wanted: Collection[str]) -> tuple[OrderChoice, ...]:
    """Return all orders with what they mean, those that are wanted marked."""
    return tuple(
        OrderChoice(order, order.capitalize(), sentence(f"rehearsal_page.order_{code}"), order in wanted)
        for order, (_, code) in _ORDERS.items()
    )


def in_order(wanted: Collection[str]) -> tuple[str, ...]:
    """Return orders in the order in which they are shown."""
    return tuple(order for order in ORDER_WORDS if order in wanted)


def shown_of(rehearsed: Rehearsed, measure: str, decimal: str) -> Shown:
    """Return the results in words, by attempts or by weeks."""
    from stirfall.reporting.rehearsal_words import told_share

    target, most = percent(rehearsed.target), counted(rehearsed.most, "more attempt")
    played = min(order.campaigns for order in rehearsed.orders)
    params = {"target": target, "most": most, "seed": rehearsed.seed, "played": played}
    code = "rehearsal_page.asked" if rehearsed.is_whole else "rehearsal_page.asked_partly"
    has_measure = any(order.against is not None for order in rehearsed.orders)
    begun = f"{local(rehearsed.begun_at):%Y-%m-%d %H:%M}"
    lines = tuple(_line(order, rehearsed, measure, decimal, has_measure) for order in rehearsed.orders)
    return Shown(
        sentence(code, {**params, "campaigns": counted(rehearsed.campaigns, "campaign")}),
        sentence("rehearsal_page.begun", {"when": begun}),
        sentence("rehearsal_page.already", {"share": told_share(rehearsed.already)}),
        sentence("rehearsal_page.reachable", {"target": target, "share": told_share(rehearsed.reachable)}),
        lines,
        max(line.steps.most for line in lines),
        target,
        (
            *(sentence(each.code, each.params, decimal=decimal) for each in rehearsed.assumed),
            sentence("rehearsal_page.how_to_read", {"level": level_percent(rehearsed.level)}),
        ),
    )


def _line(order: OrderRehearsed, whole: Rehearsed, measure: str, decimal: str, has_measure: bool) -> OrderLine:
    found = order.weeks if measure == WEEKS else order.attempts
    campaigns = counted(order.campaigns, "campaign")
    told = _Told(found, whole.most, measure, decimal)
    missed = order.campaigns - round(order.attempts.reached.mean * order.campaigns)
    return OrderLine(
        order.order,
        order.order.capitalize(),
        _ORDERS[order.order][0],
        ORDER_WORDS.index(order.order),
        told.large(),
        told.middle(campaigns, level_percent(whole.level)),
        told.spread(),
        _reached(order, whole),
        sentence("rehearsal_page.missed", {"count": missed, "most": told.most}) if missed else "",
        _saves(order, measure, decimal, has_measure),
        _steps(found),
    )


def _reached(order: OrderRehearsed, whole: Rehearsed) -> str:
    from stirfall.reporting.rehearsal_words import told_share

    share = told_share(order.attempts.reached)
    return sentence("rehearsal_page.reached", {"most": counted(whole.most), "share": share})


class _Told:
    """One distribution in words."""

    def __init__(self, found: Distribution, most: int, measure: str, decimal: str) -> None:
        self._found, self._decimal = found, decimal
        self._is_weeks = measure == WEEKS
        self.most = counted(most)
        self._beyond = "longer than was played" if self._is_weeks else f"more than {most}"

    def value(self, value: float | None, *, with_noun: bool = True) -> str:
        if value is None:
            return self._beyond
        number = format_number(value, digits=2 if value < 100 else 3, decimal=self._decimal)
        if not with_noun:
            return number
        noun = "week" if self._is_weeks else "attempt"
        return f"{number} {noun}" if number == "1" else f"{number} {noun}s"

    def large(self) -> str:
        middle = self._found.median.value
        if middle is None:
            return sentence("rehearsal_page.half_beyond", {"most": self.most})
        if middle == 0:
            return sentence("rehearsal_page.half_now_weeks" if self._is_weeks else "rehearsal_page.half_now")
        return self.value(middle)

    def middle(self, campaigns: str, level: str) -> str:
        middle = self._found.median
        code = "rehearsal_page.middle"
        if not middle.value:
            code = "rehearsal_page.middle_beyond" if middle.value is None else "rehearsal_page.middle_now"
        lower, upper = (self.value(each, with_noun=False) for each in (middle.lower, middle.upper))
        params = {"campaigns": campaigns, "level": level, "lower": lower, "upper": upper}
        return sentence(code, params)

    def spread(self) -> str:
        first, _, last = self._found.quantiles
        both = {"first": self.value(first.value, with_noun=last.value is None), "last": self.value(last.value)}
        return sentence("rehearsal_page.spread", both)


def _saves(order: OrderRehearsed, measure: str, decimal: str, has_measure: bool) -> str:
    against = order.against
    if against is None:
        is_one = order.order == Order.SPACE_FILLING and has_measure
        if is_one:
            return sentence("rehearsal_page.is_measure")
        return "" if order.order == Order.SPACE_FILLING else sentence("rehearsal_page.no_measure")
    parts = [_saved(against, decimal)]
    if measure == WEEKS:
        params = {
            "weeks": _fewer(against.saved_weeks, decimal),
            "error": _one_place(against.saved_weeks_se, decimal),
        }
        parts.append(sentence("rehearsal_page.saved_weeks", params))
    counts = {"quicker": against.quicker, "same": against.same, "slower": against.slower}
    campaigns = counted(against.campaigns, "campaign")
    parts.append(sentence("rehearsal_page.quicker", {**counts, "campaigns": campaigns}))
    return " ".join(parts)


def _saved(against: Against, decimal: str) -> str:
    saved, lower, upper = against.saved, against.saved_lower, against.saved_upper
    if lower <= 0 <= upper:
        first, middle, last = (_fewer(each, decimal) for each in (upper, saved, lower))
        params = {"other": against.order, "first": first, "middle": middle, "last": last}
        return sentence("rehearsal_page.no_difference", params)
    ends = (saved, lower, upper) if lower > 0 else (-saved, -upper, -lower)
    middle, first, last = (_one_place(each, decimal) for each in ends)
    noun = "attempt" if middle == "1" else "attempts"
    params = {"other": against.order, "lower": first, "upper": last, "saved": f"{middle} {noun}"}
    return sentence("rehearsal_page.saves" if lower > 0 else "rehearsal_page.costs", params)


def _fewer(value: float, decimal: str) -> str:
    code = "rehearsal_page.fewer" if value >= 0 else "rehearsal_page.more"
    return sentence(code, {"number": _one_place(abs(value), decimal)})


def _one_place(value: float, decimal: str) -> str:
    """Write a mean with no more places than so few campaigns can carry."""
    text = f"{value:.1f}" if value < 9.95 else f"{value:.0f}"
    return text.removesuffix(".0").replace(".", decimal[:1])


def _steps(found: Distribution) -> StepLine:
    return StepLine(
        tuple(float(each) for each in found.x),
        tuple(1.0 - float(each) for each in found.not_yet),
        tuple(1.0 - float(each) for each in found.upper),
        tuple(1.0 - float(each) for each in found.lower),
        float(found.most),
    )


def time_left(seconds: float) -> str:
    """Write how long work goes on, as roughly as it is known."""
    minutes = seconds / 60.0
    if minutes < 1:
        return "less than a minute"
    if minutes < 90:
        return f"about {minutes:.0f} min"
    return f"about {minutes / 60.0:.0f} h"
