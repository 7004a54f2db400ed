"""The jar that new jars are like, the lot that they are filled from, and when a person can start one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Jar, Lot
from stirfall.bench.short_ids import new_short_id
from stirfall.bench.units import Amount
from stirfall.planning.start_jars import AT_ANY_HOUR, AT_ITS_HOUR, AT_THE_BENCH, StartOption
from stirfall.session.film_factor import film_factor_of
from stirfall.session.forecast_course import is_running
from stirfall.session.forecast_evenings import at_hour, local_day

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.session.tonight_jars import Hands
    from stirfall.session.tonight_openings import Asked
    from stirfall.session.tonight_parts import JarToStart

# Our proposals, no source: a jar is started while people are awake; oil over the metal is never thinner than this.
_FIRST_HOUR, _LAST_HOUR = 7, 22
LEAST_DEPTH_MM = 5.0
_WORTH_SAYING = 0.8  # of the time


@dataclass(frozen=True)
class Make:
    """How new jars are made: like ``jar``, from ``lot``, with one of these depths of oil and lids."""

    jar: Jar
    lot: Lot
    depths_mm: tuple[float | None, ...]
    lids: tuple[str, ...]

    @property
    def ways(self) -> tuple[tuple[float | None, str], ...]:
        """Depth and lid of the ways to make one: the usual ones, and each other depth or lid by itself."""
        depths = [(depth, self.lids[0]) for depth in self.depths_mm]
        return tuple(dict.fromkeys([*depths, *((self.depths_mm[0], lid) for lid in self.lids)]))

    def started(self, jar_id: str, at: datetime, depth_mm: float | None, lid: str, *, planned: bool) -> Jar:
        """Return one such jar."""
        return replace(self.jar, id=jar_id, started_at=as_utc(at), oil_depth_mm=depth_mm, lid=lid, planned=planned)


def make_of(hands: Hands, state: CampaignState) -> Make | None:
    """Return how new jars are made; None while the campaign has no lot.

    The lot is that of the newest jar, else the newest lot: new jars are of one lot, so that they differ in age
    alone. Jars are like the newest one of that lot, else the newest of any.
    """
    jars = sorted((jar for jar in state.jars if not jar.is_residue), key=lambda jar: (jar.started_at, jar.id))
    if not state.lots:
        return None
    lot = state.lot(jars[-1].lot_id) if jars else None
    lot = lot or state.lots[-1]
    own = [jar for jar in jars if jar.lot_id == lot.id]
    like = (own or jars or [Jar("", lot.id, datetime(1970, 1, 1, tzinfo=UTC))])[-1]
    blank = replace(like, id="", lot_id=lot.id, note="", look="", looked_at=None, emptied_at=None, planned=False)
    return Make(blank, lot, _depths(hands, state, blank), _lids(hands, blank))


def _depths(hands: Hands, state: CampaignState, jar: Jar) -> tuple[float | None, ...]:
    """Return the depths of oil to choose from: the usual one, and those that the campaign's range allows.

    Where depth is no factor but the film index is one, half the usual depth reaches the same film sooner; only for
    metals that may stand under thin oil, and never below ``LEAST_DEPTH_MM``.
    """
    factor = next((f for f in hands.whole.varied if f.name.casefold() == "oil depth" and not f.is_choice), None)
    if factor is not None and factor.unit == "mm":
        low, high = hands.limits.ranges[factor.name]
        low = max(low, min(LEAST_DEPTH_MM, high))
        usual = min(max(jar.oil_depth_mm if jar.oil_depth_mm is not None else (low + high) / 2.0, low), high)
        return tuple(dict.fromkeys((usual, low, high)))
    half = None if jar.oil_depth_mm is None else jar.oil_depth_mm / 2.0
    if half is None or half < LEAST_DEPTH_MM or film_factor_of(state) is None or not may_be_thin(state):
        return (jar.oil_depth_mm,)
    return (jar.oil_depth_mm, half)


def may_be_thin(state: CampaignState) -> bool:
    """Whether less oil may ever be proposed for the campaign's metal, the metal staying covered."""
    return state.settings.material in (MaterialClass.BASE_METAL, MaterialClass.ALKALI_METAL)


def thinner_note(state: CampaignState, start: JarToStart, now: datetime) -> Reason | None:
    """Return how much sooner a jar under half the oil would reach the same film; None where that is no choice."""
    from stirfall.session.film import film_of_jar, wait_for_index

    depth = start.oil_depth_mm
    if depth is None or depth / 2.0 < LEAST_DEPTH_MM or not may_be_thin(state):
        return None
    film = film_of_jar(state, replace(start.jar, planned=False), start.due_at)
    thin = replace(start.jar, planned=False, started_at=now, oil_depth_mm=depth / 2.0)
    sooner = None if film is None else wait_for_index(state, thin, film.index, now)
    if sooner is None or sooner > _WORTH_SAYING * start.age_h:
        return None
    amounts = {"depth": Amount(depth, "mm"), "thin": Amount(depth / 2.0, "mm"), "age": Amount(start.age_h, "h")}
    return Reason("tonight.thinner", {**amounts, "sooner": Amount(float(f"{sooner:.2g}"), "h")})


def _lids(hands: Hands, jar: Jar) -> tuple[str, ...]:
    factor = next((f for f in hands.whole.varied if f.is_choice and f.name.casefold() == "lid"), None)
    levels = () if factor is None else hands.limits.levels[factor.name]
    return tuple(dict.fromkeys((jar.lid, *levels))) if jar.lid in levels or not levels else tuple(levels)


def exposure_of(hands: Hands) -> Factor | None:
    """Return the factor that a jar's start moves: the time under oil, else the film index; None without one."""
    running = [f for f in hands.whole.varied if is_running(f) and f.role is Role.OIL_EXPOSURE]
    film = film_factor_of(hands.state)
    if running:
        return running[0]
    return film if film is not None and film.name not in hands.whole.unknown else None


def start_times(asked: Asked, due: datetime, evenings: Sequence[datetime], earliest: datetime) -> list[datetime]:
    """Return the moments before ``due`` at which a person could start a jar: now, and whole waking hours."""
    now = asked.now.replace(second=0, microsecond=0)
    found = {now, *evenings}
    day, last = local_day(now, asked.tz), local_day(due, asked.tz)
    while day <= last:
        found |= {at_hour(day, hour, asked.tz) for hour in range(_FIRST_HOUR, _LAST_HOUR + 1)}
        day += timedelta(days=1)
    return sorted(at for at in found if max(now, as_utc(earliest)) <= at < due)


def option(asked: Asked, at: datetime, due: datetime, evenings: Sequence[datetime], usual_hour: int) -> StartOption:
    """Return what starting at a moment gives, and how little it asks: nothing at the bench, or now."""
    is_now = at <= asked.now
    rank = (
        AT_THE_BENCH
        if is_now or at in evenings
        else AT_ITS_HOUR
        if _hour(at, asked.tz) == usual_hour
        else AT_ANY_HOUR
    )
    return StartOption(hours_between(at, due), rank)


def _hour(at: datetime, tz: tzinfo | None) -> int:
    return at.astimezone(tz).hour


def new_ids(state: CampaignState, count: int) -> tuple[str, ...]:
    """Return ids that no jar of the campaign has; the salt lets two campaigns on one bench begin differently."""
    taken = [jar.id for jar in state.jars]
    salt = f"{state.settings.title} {state.lots[0].made_at if state.lots else ''}"
    for _ in range(count):
        taken.append(new_short_id(taken, salt=salt))
    return tuple(taken[-count:]) if count else ()
