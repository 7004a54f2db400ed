"""The pair of attempts that would tell an explanation from its nearest rival, within the operating limits.

Two jars of one lot and one age, opened on one day in the order that a coin tosses, that differ in one thing.
Nothing here ever asks for a longer or a stronger exposure of a metal whose exposure must never be lengthened.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations, permutations

from stirfall.bench.ages import hours_between
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Estimate, Reason
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.records import Jar, Lot
from stirfall.bench.substances import Lid, OilHistory
from stirfall.bench.units import Amount, convert
from stirfall.planning.goals import Goal
from stirfall.planning.limits import jar_findings
from stirfall.planning.next_attempts import box_for
from stirfall.session.analysis import Analysis
from stirfall.session.film import film_of_jar
from stirfall.session.forecast_course import is_running, shelf_conditions
from stirfall.session.rivals_found import NEAREST, Pair, PairSide, RivalKey
from stirfall.session.surprises_facts import DEPTH

# Our proposals: ages within a tenth are one age; so far must depth and film (as ratios) and humidity lie apart.
_SAME_AGE = 1.1
_DEPTH_RATIO, _HUMID_APART = 1.5, 15.0
_FILM_APART = 1.25
_THIN_MM, _THICK_MM = 10.0, 25.0
_DRY, _HUMID, _HUMID_REACTIVE = 30.0, 65.0, 55.0
_KINDS: Mapping[RivalKey, str] = {
    "film": "depth",
    "water": "humidity",
    "oil": "oil",
    "settling": "lid",
    "learning": "weeks",
    "lots": "lots",
}
# What differs in the air and water that reach the metal; no pair for a metal that must not get more of it.
_BY_EXPOSURE = ("depth", "humidity", "oil", "lid")


def pair_for(analysis: Analysis, key: RivalKey, now: datetime | None) -> tuple[Pair | None, Reason | None]:
    """Return the pair of an explanation, or why there is none."""
    kind = _KINDS[key]
    if analysis.limits.blocked:
        return None, Reason("rivals.no_pair_blocked")
    if not analysis.limits.may_wait and kind in _BY_EXPOSURE:
        return None, Reason("rivals.no_pair_superoxide")
    if kind == "lots" and len(analysis.state.lots) < 2:
        return None, Reason("rivals.no_pair_one_lot")
    base = _usual(analysis)
    if base is None:
        return None, Reason("rivals.no_pair_unknown")
    sides = _from_the_shelf(analysis, kind, base, now) or _started_anew(analysis, kind, base, now)
    if sides is None:
        return None, Reason("rivals.no_pair_limits")
    first, second, ratio = sides
    rules = _reasons(f"rivals.rule_{name}" for name in _rules(analysis, kind, first, second))
    told = _reasons(f"rivals.told_{kind}_{each}" for each in (key, NEAREST[key]))
    return Pair(kind, NEAREST[key], first, second, rules, told, ratio, analysis.limits.may_wait), None


def _reasons(codes: Iterable[str]) -> tuple[Reason, ...]:
    return tuple(Reason(code) for code in codes)


def _rules(analysis: Analysis, kind: str, first: PairSide, second: PairSide) -> Iterator[str]:
    yield {"weeks": "weeks_apart", "lots": "two_lots_one_day"}.get(kind, "one_lot_one_day")
    if kind != "weeks":
        yield "coin"
    yield "all_else_equal"
    if kind in ("depth", "lid"):
        yield "covered"
    if analysis.state.settings.material.is_reactive and kind in ("lid", "humidity"):
        yield "reactive"
    if kind == "lots" and _ages_differ(analysis, first, second):
        yield "lots_ages"
    if first.jar_id is None and second.jar_id is None and analysis.limits.may_wait and kind != "weeks":
        yield "start_together"
    yield "once_is_little"


def _ages_differ(analysis: Analysis, first: PairSide, second: PairSide) -> bool:
    for factor in _age_factors(analysis, first.conditions):
        ages = first.conditions.number(factor.name), second.conditions.number(factor.name)
        if ages[0] and ages[1] and max(ages[0], ages[1]) > _SAME_AGE * min(ages[0], ages[1]):
            return True
    return False


def _usual(analysis: Analysis) -> Conditions | None:
    """Return the campaign's usual values inside its limits."""
    box = box_for(analysis.model, analysis.limits, Goal.FIRST_DESIGN)
    try:
        columns = box.resting_columns()
    except (InputError, ValueError):
        return None
    if not columns or not box.inside(columns).all():
        return None
    return box.conditions(columns, 0)


# -- from jars on the shelf ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Aged:
    jar: Jar
    hours: float


_Sides = tuple[PairSide, PairSide, float | None]


def _from_the_shelf(analysis: Analysis, kind: str, base: Conditions, now: datetime | None) -> _Sides | None:
    """Return the pair of jars on the shelf that fits best: the largest difference of those that are allowed."""
    differ = _DIFFER.get(kind)
    if now is None or differ is None or not analysis.limits.may_wait:
        return None
    state = analysis.state
    usable = [
        _Aged(jar, (now - jar.started_at).total_seconds() / 3600.0)
        for jar in state.shelf
        if jar.started_at < now and all(found.level != "block" for found in jar_findings(state, jar, now))
    ]
    found: list[tuple[float, _Sides]] = []
    for first, second in permutations(usable, 2):
        if (first.jar.lot_id == second.jar.lot_id) == (kind == "lots"):
            continue
        if max(first.hours, second.hours) > _SAME_AGE * max(min(first.hours, second.hours), 1e-6):
            continue
        apart = differ(first.jar, second.jar)
        if apart is None:
            continue
        one, other = (_side_of_jar(analysis, kind, base, each.jar, now=now) for each in (first, second))
        if one is None or other is None:
            continue
        ratio = _ratio(analysis, first.jar, second.jar, now)
        if kind in ("depth", "lid") and ratio is not None and ratio < _FILM_APART:
            continue
        found.append((apart, (one, other, ratio)))
    return max(found, key=lambda each: each[0])[1] if found else None


def _depth_apart(first: Jar, second: Jar) -> float | None:
    thin, thick = first.oil_depth_mm, second.oil_depth_mm
    if not thin or not thick or first.lid != second.lid:
        return None
    return thick / thin if thick / thin >= _DEPTH_RATIO else None


def _lid_apart(first: Jar, second: Jar) -> float | None:
    order = {Lid.INERT: 0.0, Lid.CLOSED: 0.0, Lid.LOOSE: 1.0, Lid.OPEN: 2.0}
    open_lid, closed = Lid.named(first.lid), Lid.named(second.lid)
    if open_lid is None or closed is None or order[closed] > 0 or not _alike_depth(first, second):
        return None
    return order[open_lid] or None


def _humidity_apart(first: Jar, second: Jar) -> float | None:
    humid, dry = first.room_rh_percent, second.room_rh_percent
    if humid is None or dry is None or not _alike_depth(first, second):
        return None
    return humid - dry if humid - dry >= _HUMID_APART else None


def _oil_apart(first: Jar, second: Jar) -> float | None:
    used = first.oil_history == OilHistory.REUSED and second.oil_history == OilHistory.NEW
    return 1.0 if used and first.lid == second.lid and _alike_depth(first, second) else None


def _lots_apart(first: Jar, second: Jar) -> float | None:
    return 1.0 if first.id < second.id and first.lid == second.lid and _alike_depth(first, second) else None


def _alike_depth(first: Jar, second: Jar) -> bool:
    one, other = first.oil_depth_mm, second.oil_depth_mm
    return one is not None and other is not None and max(one, other) <= 1.25 * min(one, other)


_DIFFER: Mapping[str, Callable[[Jar, Jar], float | None]] = {
    "depth": _depth_apart,
    "lid": _lid_apart,
    "humidity": _humidity_apart,
    "oil": _oil_apart,
    "lots": _lots_apart,
}


def _side_of_jar(analysis: Analysis, kind: str, base: Conditions, jar: Jar, *, now: datetime) -> PairSide | None:
    try:
        held = shelf_conditions(analysis.state, jar, now)
    except InputError:
        return None
    conditions = Conditions({**base, **{name: _rounded(value) for name, value in held.items()}})
    conditions = _without_film(analysis, conditions)
    if not analysis.limits.allows(conditions):
        return None
    words = _jar_words(kind, jar)
    return PairSide(conditions, jar.id, jar.lot_id, words, _estimate(analysis, conditions, jar.lot_id))


def _jar_words(kind: str, jar: Jar) -> tuple[Reason, ...]:
    """Return what a jar on the shelf is like in the one thing that differs."""
    if kind == "depth" and jar.oil_depth_mm is not None:
        return (Reason("rivals.jar_has_depth", {"depth": Amount(jar.oil_depth_mm, "mm")}),)
    if kind == "humidity" and jar.room_rh_percent is not None:
        return (Reason("rivals.jar_stood_at", {"humidity": Amount(jar.room_rh_percent, "%")}),)
    if kind == "lid":
        return (Reason("rivals.jar_has_lid", {"lid": jar.lid}),)
    return (Reason("rivals.jar_has_oil", {"history": jar.oil_history}),) if kind == "oil" else ()


def _rounded(value: float | str) -> float | str:
    return value if isinstance(value, str) else float(f"{value:.3g}")


def _ratio(analysis: Analysis, first: Jar, second: Jar, now: datetime) -> float | None:
    films = [film_of_jar(analysis.state, jar, now) for jar in (first, second)]
    if films[0] is None or films[1] is None or not films[1].index > 0:
        return None
    return films[0].index / films[1].index


def _without_film(analysis: Analysis, conditions: Conditions) -> Conditions:
    """Leave a film index out: it follows from the jar."""
    follows = analysis.follows
    return conditions if follows is None else conditions.with_value(follows, None)


def _estimate(analysis: Analysis, conditions: Conditions, lot: str | None) -> Estimate | None:
    try:
        return analysis.for_lot(lot).estimate(analysis.complete(conditions))
    except InputError:
        return None


# -- jars to be started ----------------------------------------------------------------------------------------


def _started_anew(analysis: Analysis, kind: str, base: Conditions, now: datetime | None) -> _Sides | None:
    """Return the pair of jars that are started now, from the newest lot that is still young enough."""
    base = _without_film(analysis, base)
    for lots in _lots_to_take(analysis, kind, base):
        made = [_new_side(analysis, kind, base, place, lot=lots[place], now=now) for place in (0, 1)]
        if made[0] is not None and made[1] is not None:
            return made[0], made[1], None
    return None


def _lots_to_take(analysis: Analysis, kind: str, base: Conditions) -> list[tuple[Lot | None, Lot | None]]:
    """Return which lots both sides may be from, the best choice first; None leaves the lot to the person."""
    lots = analysis.state.lots
    if kind == "lots":
        known = [lot for lot in lots if lot.made_at is not None]
        pairs = sorted(combinations(known if len(known) > 1 else lots, 2), key=_apart_h)
        return [(first, second) for first, second in pairs]
    if kind == "weeks" and _age_factors(analysis, base):
        return [(None, None)]  # no lot has one age twice
    return [*((lot, lot) for lot in reversed(lots)), (None, None)]


def _apart_h(pair: tuple[Lot, Lot]) -> float:
    first, second = (lot.made_at for lot in pair)
    return 0.0 if first is None or second is None else abs((first - second).total_seconds())


def _new_side(
    analysis: Analysis, kind: str, base: Conditions, place: int, *, lot: Lot | None, now: datetime | None
) -> PairSide | None:
    conditions = _with_depth(analysis, base, place) if kind == "depth" else base
    if conditions is None:
        return None
    if lot is not None and lot.made_at is not None and now is not None:
        conditions = _aged(analysis, conditions, hours_between(lot.made_at, now))
    if not analysis.limits.allows(conditions):
        return None
    name = None if lot is None else lot.id
    return PairSide(conditions, None, name, _words(analysis, kind)[place], _estimate(analysis, conditions, name))


def _age_factors(analysis: Analysis, base: Conditions) -> list[Factor]:
    ages = (f for f in analysis.state.visible_factors if f.role is Role.SAMPLE_AGE and is_running(f))
    return [factor for factor in ages if factor.name in base]


def _aged(analysis: Analysis, base: Conditions, lot_h: float) -> Conditions:
    """Return the conditions with the sample age that metal of a lot has when a jar started now is opened.

    It is the age of the lot now and the usual time under oil, or where that is no factor the usual sample age.
    """
    jar_h = _hours_under_oil(analysis, base)
    for factor in _age_factors(analysis, base):
        usual_h = convert(base.number(factor.name) or 0.0, factor.unit, "h")
        wanted_h = lot_h + (usual_h if jar_h is None else jar_h)
        base = base.with_value(factor.name, _rounded(convert(wanted_h, "h", factor.unit)))
    return base


def _hours_under_oil(analysis: Analysis, base: Conditions) -> float | None:
    for factor in analysis.state.visible_factors:
        value = base.number(factor.name)
        if factor.role is Role.OIL_EXPOSURE and is_running(factor) and value is not None:
            return convert(value, factor.unit, "h")
    return None


def _with_depth(analysis: Analysis, base: Conditions, place: int) -> Conditions | None:
    """Return the conditions with thin oil first and thick oil second, where the depth is a factor."""
    factor, depths = _depth_factor(analysis), _depths(analysis)
    if depths[1] < _DEPTH_RATIO * depths[0]:
        return None
    return base if factor is None else base.with_value(factor.name, depths[place])


def _depth_factor(analysis: Analysis) -> Factor | None:
    depths = (
        f for f in analysis.state.visible_factors if not f.is_choice and DEPTH.search(f.name) and f.unit == "mm"
    )
    return next(depths, None)


def _words(analysis: Analysis, kind: str) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    humid = _HUMID_REACTIVE if analysis.state.settings.material.is_reactive else _HUMID
    thin, thick = _depths(analysis)
    sides: dict[str, tuple[Reason, Reason]] = {
        "depth": (
            Reason("rivals.jar_depth", {"depth": Amount(thin, "mm")}),
            Reason("rivals.jar_depth", {"depth": Amount(thick, "mm")}),
        ),
        "lid": (Reason("rivals.jar_open"), Reason("rivals.jar_closed_dry")),
        "humidity": (
            Reason("rivals.jar_humid", {"humidity": Amount(humid, "%")}),
            Reason("rivals.jar_dry", {"humidity": Amount(_DRY, "%")}),
        ),
        "oil": (Reason("rivals.jar_old_oil"), Reason("rivals.jar_new_oil")),
        "weeks": (Reason("rivals.jar_now"), Reason("rivals.jar_weeks_later")),
        "lots": (Reason("rivals.jar_lot"), Reason("rivals.jar_lot")),
    }
    first, second = sides[kind]
    return (first,), (second,)


def _depths(analysis: Analysis) -> tuple[float, float]:
    """Return the thinnest and the thickest oil that jars had, else our own, within the range of a depth factor."""
    used = [jar.oil_depth_mm for jar in analysis.state.jars if jar.oil_depth_mm]
    wide = len(used) > 1 and max(used) >= _DEPTH_RATIO * min(used)
    thin, thick = (min(used), max(used)) if wide else (_THIN_MM, _THICK_MM)
    factor = _depth_factor(analysis)
    if factor is not None:
        low, high = analysis.limits.ranges[factor.name]
        thin, thick = min(max(thin, low), high), min(max(thick, low), high)
    return float(f"{thin:.2g}"), float(f"{thick:.2g}")
