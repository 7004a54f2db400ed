"""What a rehearsal says, as lines of text and as a JSON document."""

from __future__ import annotations

import math
from collections.abc import Mapping

from stirfall.bench.ages import stamp
from stirfall.bench.estimates import Estimate
from stirfall.bench.units import format_number
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
        f"Attempts that it takes: {first} for one campaign in ten, {middle} for half, {last} for nine in ten.",
        f"Weeks that it takes: {told_quantile(order.weeks.median, None, decimal=decimal)} for half.",
        f"Done within {counted(most, 'attempt')}: {told_share(attempts.reached)}.",
        f"Done for three attempts on end: {settled}.",
    ]
    return lines if order.against is None else [*lines, against_line(order.against, decimal=decimal)]


def against_line(against: Against, *, decimal: str = ".") -> str:
    """Return how an order compares with another one on the same truths, in one sentence."""
    middle, low, high = (
        _fewer(saved, decimal) for saved in (against.saved, against.saved_upper, against.saved_lower)
    )
    counts = f"quicker in {against.quicker}, the same in {against.same}, slower in {against.slower}"
    return (
        f"Against {against.order}: {middle} attempts on average (between {low} and {high}); {counts} of "
        f"{counted(against.campaigns, 'campaign')}."
    )


def told_share(share: Estimate) -> str:
    """Write a share of campaigns with its interval: "31 of 50 campaigns, 62 % (47 to 75 %)"."""
    count = round(share.mean * share.n)
    return f"{count} of {counted(share.n, 'campaign')}, {percent(share.mean)} ({interval(share)})"


def told_quantile(quantile: Quantile, most: int | None, *, decimal: str = ".") -> str:
    """Write a quantile with its interval: "7 (5 to more than 30)"; ``most`` is what was played, None: not known."""
    value = told_value(quantile.value, most, decimal=decimal)
    if quantile.lower is None:
        return value
    lower, upper = (told_value(bound, most, decimal=decimal) for bound in (quantile.lower, quantile.upper))
    return f"{value} ({lower} to {upper})"


def told_value(value: float | None, most: int | None, *, decimal: str = ".") -> str:
    """Write a number of attempts or weeks; what lies beyond all that was played is said to."""
    if value is None:
        return "longer than was played" if most is None else f"more than {most}"
    return format_number(value, digits=2 if value < 100 else 3, decimal=decimal)


def _fewer(saved: float, decimal: str) -> str:
    """Write attempts saved as what they are: "1.8 fewer", "0.4 more"."""
    if not math.isfinite(saved):
        return "unknown"
    size = f"{abs(saved):.1f}".replace(".", decimal)
    return f"{size} {'more' if saved < 0 else 'fewer'}"


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
