"""What a rehearsal says, as lines of text and as a JSON document."""

from __future__ import annotations

import math
from collections.abc import Mapping

from stirfall.bench.ages import stamp
from stirfall.bench.estimates import Estimate
from stirfall.bench.units import MINUS, format_number
from stirfall.planning.rehearsal import Against, Distribution, OrderRehearsed, Quantile, Rehearsed
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted, interval, percent


def rehearsal_lines(rehearsed: Rehearsed, *, decimal: str = ".") -> list[str]:
    """Return the rehearsal as text for people: what was asked, each order, and what was assumed."""
    most, target = counted(rehearsed.most, "more attempt"), percent(rehearsed.target)
    played = counted(rehearsed.campaigns, "rehearsed campaign")
    lines = [
        f"{played} for each order; wanted: a recipe of {target}, within {most}.",
        f"The recipe of today is good enough already in {told_share(rehearsed.already)}.",
        f"Within the limits {target} can be reached at all in {told_share(rehearsed.reachable)}.",
    ]
    for order in rehearsed.orders:
        lines += ["", order.order.capitalize()]
        lines += [f"   {line}" for line in order_lines(order, decimal=decimal)]
    return [*lines, "", *(sentence(each.code, each.params, decimal=decimal) for each in rehearsed.assumed)]


def order_lines(order: OrderRehearsed, *, decimal: str = ".") -> list[str]:
    """Return one order as text: attempts, weeks, the share that is done, and what it saves."""
    attempts, most = order.attempts, round(order.attempts.most)
    middle, last = (told_quantile(each, most, decimal=decimal) for each in attempts.quantiles[1:])
    first = told_value(attempts.quantiles[0].value, most, decimal=decimal)
    settled = told_share(order.settled.reached)
    lines = [
        f"Attempts: half of the campaigns are done by {middle}, one in ten by {first}, nine in ten by {last}.",
        f"Weeks: half by {told_quantile(order.weeks.median, None, decimal=decimal)}.",
        f"Done within {counted(most, 'attempt')}: {told_share(attempts.reached)}.",
        f"Done for three attempts on end: {settled}.",
    ]
    return lines if order.against is None else [*lines, against_line(order.against, decimal=decimal)]


def against_line(against: Against, *, decimal: str = ".") -> str:
    """Return how an order compares with another one on the same truths, in one sentence."""
    low, high = (_signed(bound, decimal) for bound in (against.saved_lower, against.saved_upper))
    return (
        f"Against {against.order}: {_signed(against.saved, decimal)} attempts saved on average ({low} to {high}); "
        f"quicker in {against.quicker}, the same in {against.same}, slower in {against.slower} of "
        f"{counted(against.campaigns, 'campaign')}."
    )


def told_share(share: Estimate) -> str:
    """Write a share of campaigns with its interval: "31 of 50 campaigns, 62 % (47 to 75 %)"."""
    count = round(share.mean * share.n)
    return f"{count} of {counted(share.n, 'campaign')}, {percent(share.mean)} ({interval(share)})"


def told_quantile(quantile: Quantile, most: int | None, *, decimal: str = ".") -> str:
    """Write a quantile with its interval: "7 (5 to more than 30)"; ``most`` is what was played, None: not known."""
    lower, upper = (told_value(bound, most, decimal=decimal) for bound in (quantile.lower, quantile.upper))
    return f"{told_value(quantile.value, most, decimal=decimal)} ({lower} to {upper})"


def told_value(value: float | None, most: int | None, *, decimal: str = ".") -> str:
    """Write a number of attempts or weeks; what lies beyond all that was played is said to."""
    if value is None:
        return "longer than was played" if most is None else f"more than {most}"
    return format_number(value, digits=2 if value < 100 else 3, decimal=decimal)


def _signed(value: float, decimal: str) -> str:
    if not math.isfinite(value):
        return "unknown"
    rounded = round(value, 1)
    return f"{MINUS if rounded < 0 else ''}{abs(rounded):.1f}".replace(".", decimal)


def rehearsal_json(rehearsed: Rehearsed) -> dict[str, object]:
    """Return the rehearsal as JSON has it, without the head of the document; null is beyond what was played."""
    return {
        "source": rehearsed.source,
        "begun_at": stamp(rehearsed.begun_at),
        "campaigns": rehearsed.campaigns,
        "complete": rehearsed.is_whole,
        "target": rehearsed.target,
        "most": rehearsed.most,
        "seed": rehearsed.seed,
        "level": rehearsed.level,
        "already": _share(rehearsed.already),
        "reachable": _share(rehearsed.reachable),
        "assumed": [{"code": each.code, "text": sentence(each.code, each.params)} for each in rehearsed.assumed],
        "orders": [_order(order) for order in rehearsed.orders],
    }


def _order(order: OrderRehearsed) -> dict[str, object]:
    return {
        "order": order.order,
        "campaigns": order.campaigns,
        "attempts": _distribution(order.attempts),
        "weeks": _distribution(order.weeks),
        "settled": _distribution(order.settled),
        "against": None if order.against is None else dict(vars(order.against)),
    }


def _distribution(found: Distribution) -> dict[str, object]:
    curve = {"x": found.x, "not_yet": found.not_yet, "lower": found.lower, "upper": found.upper}
    return {
        "reached": _share(found.reached),
        "quantiles": [dict(vars(each)) for each in found.quantiles],
        "most": found.most,
        "mean": found.mean,
        "standard_error": found.standard_error,
        "values": [float(value) if math.isfinite(value) else None for value in found.values],
        "curve": {name: [float(each) for each in column] for name, column in curve.items()},
    }


def _share(share: Estimate) -> Mapping[str, object]:
    return {"share": share.mean, "lower": share.lower, "upper": share.upper, "n": share.n}
