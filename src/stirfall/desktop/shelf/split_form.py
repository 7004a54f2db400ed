"""Splitting a lot into jars: what the entries mean, jar by jar, or what is wrong with which; pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from types import MappingProxyType

from stirfall.bench.ages import age_h
from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Jar
from stirfall.bench.short_ids import new_short_id
from stirfall.desktop.shelf.amounts import Reader, typed
from stirfall.desktop.shelf.jar_form import JarForm, last_started, new_jar_form, read_kept
from stirfall.desktop.shelf.split_starts import (
    DEFAULT_AGES,
    StartEntries,
    first_evening,
    read_starts,
    usual_seed,
)
from stirfall.planning.findings import Finding, most_severe_first
from stirfall.planning.limits_exposure import age_findings
from stirfall.planning.limits_work import batch_findings, humidity_findings, proven_charge_g
from stirfall.planning.situation import Situation
from stirfall.session.commands import SplitLot

MOST_JARS = 24
EACH, TOTAL = "the same in each jar", "a total, in equal parts"
DIVISIONS = (EACH, TOTAL)
_USUAL_COUNT = "6"
_NO_ROWS: Mapping[int, str] = MappingProxyType({})


@dataclass(frozen=True)
class SplitForm:
    """The entries for a split, raw. ``kept`` says how all jars are kept; its name, charge and start are not used.

    ``own_charge`` and ``own_depth`` are what was typed for single jars, by their place from 0 on.
    """

    lot_id: str = ""
    count: str = _USUAL_COUNT
    division: str = EACH
    mass: str = ""
    other_depth: str = ""
    kept: JarForm = field(default_factory=JarForm)
    starts: StartEntries = field(default_factory=StartEntries)
    own_charge: Mapping[int, str] = field(default_factory=lambda: _NO_ROWS)
    own_depth: Mapping[int, str] = field(default_factory=lambda: _NO_ROWS)


@dataclass(frozen=True)
class SplitJar:
    """One jar that a split would make: its age at ``at`` where that is planned, and what the limits say then."""

    jar: Jar
    at: datetime
    now: datetime
    age_h: float | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class ReadSplit:
    """What a split form means: its jars as far as they can be told, and what is wrong with which entry.

    ``seed`` is the number that the ages were dealt with, None where none were dealt. A problem in the grid has the
    name ``charge:3`` or ``depth:3``, with the place of the jar from 0 on.
    """

    lot_id: str
    jars: tuple[SplitJar, ...] = ()
    problems: Mapping[str, Reason] = field(default_factory=dict)
    seed: int | None = None

    @property
    def command(self) -> SplitLot | None:
        """The one command that makes the jars, None while something is wrong."""
        if self.problems or not self.jars:
            return None
        return SplitLot(self.lot_id, tuple(each.jar for each in self.jars))

    @property
    def planned(self) -> int:
        """How many of the jars are to be started later."""
        return sum(each.jar.planned for each in self.jars)

    @property
    def total_g(self) -> float | None:
        """The mass of all jars together, None where one is not weighed."""
        masses = [each.jar.charge_g for each in self.jars]
        known = [mass for mass in masses if mass is not None]
        return sum(known) if known and len(known) == len(masses) else None


def new_split_form(campaign: CampaignState, now: datetime, lot_id: str = "", decimal: str = ".") -> SplitForm:
    """Return a split form kept like the newest jar, with usual ages where ages may be planned."""
    kept, last = new_jar_form(campaign, decimal), last_started(campaign)
    if last is not None:
        kept = replace(kept, depth=typed(last.oil_depth_mm, decimal))
    lot = lot_id if campaign.lot(lot_id) else campaign.lots[-1].id if campaign.lots else ""
    may_plan = campaign.settings.material.may_lengthen_age
    starts = StartEntries(
        begin=now,
        ages=DEFAULT_AGES if may_plan else "",
        evening=first_evening(now, DEFAULT_AGES),
        seed=str(usual_seed(lot, len(campaign.jars))),
    )
    return SplitForm(lot, kept=kept, starts=starts)


def read_split(form: SplitForm, campaign: CampaignState, now: datetime) -> ReadSplit:
    """Return the jars that the form means, with what the limits say of each, or each problem beside its entry."""
    reader = Reader()
    if campaign.lot(form.lot_id) is None:
        reader.say("lot_id", "shelf.lot_missing")
    count = reader.count("count", form.count)
    if not form.count.strip():
        reader.say("count", "shelf.split_count_missing")
    elif count is not None and count > MOST_JARS:
        reader.say("count", "shelf.split_too_many", most=MOST_JARS)
        count = None
    if count is None:
        return ReadSplit(form.lot_id, problems=reader.problems)
    charges = _charges(form, count, reader)
    depths = _depths(form, reader)
    plan = read_starts(form.starts, campaign, now, reader, lot_id=form.lot_id, count=count)
    kept = read_kept(form.kept, reader)
    jars = []
    ids = new_ids(campaign, count)
    for at in range(count):
        depth = depths[plan.depths[at] % len(depths)] if depths else None
        depth = _own(form.own_depth, at, depth, reader, name="depth", unit="mm")
        jar = replace(kept, id=ids[at], lot_id=form.lot_id, charge_g=charges[at], oil_depth_mm=depth)
        start = plan.starts[at]
        jars.append(replace(jar, started_at=start, planned=start > now, note=_note(jar.note, plan.seed)))
    proven = proven_charge_g(campaign)
    made = tuple(_judged(jar, campaign, plan.evening, now, proven) for jar in jars)
    return ReadSplit(form.lot_id, made, reader.problems, plan.seed)


def new_ids(campaign: CampaignState, count: int) -> tuple[str, ...]:
    """Return short ids with a check character that no jar of the campaign has.

    The salt lets two campaigns on one bench begin at different ids, so that a label is seldom that of both.
    """
    taken = [jar.id for jar in campaign.jars]
    salt = f"{campaign.settings.title} {campaign.lots[0].made_at if campaign.lots else ''}"
    for _ in range(count):
        taken.append(new_short_id(taken, salt=salt))
    return tuple(taken[-count:])


def equal_parts(total: float, count: int) -> tuple[float, ...]:
    """Return a total in ``count`` equal parts, to the hundredth; what is left over goes to the first ones."""
    hundredths = round(total * 100.0)
    least, more = divmod(hundredths, count)
    return tuple((least + (at < more)) / 100.0 for at in range(count))


def _charges(form: SplitForm, count: int, reader: Reader) -> tuple[float | None, ...]:
    mass = reader.amount("mass", form.mass, "g", above_zero=True)
    parts: tuple[float | None, ...] = (mass,) * count
    if form.division == TOTAL and mass is not None:
        parts = equal_parts(mass, count)
        if parts[-1] <= 0:
            reader.say("mass", "shelf.split_too_little", count=count)
    own = form.own_charge
    return tuple(_own(own, at, part, reader, name="charge", unit="g") for at, part in enumerate(parts))


def _depths(form: SplitForm, reader: Reader) -> tuple[float | None, ...]:
    first = reader.amount("depth", form.kept.depth, "mm", above_zero=True)
    other = reader.amount("other_depth", form.other_depth, "mm", above_zero=True)
    if other is None:
        return (first,)
    if first is None and "depth" not in reader.problems:
        reader.say("depth", "shelf.split_first_depth")
    return (first, other)


def _own(
    typed_in: Mapping[int, str], at: int, usual: float | None, reader: Reader, *, name: str, unit: str
) -> float | None:
    """Return what was typed for one jar, else the usual amount; an emptied cell is unknown."""
    if at not in typed_in:
        return usual
    return reader.amount(f"{name}:{at}", typed_in[at], unit, above_zero=True)


def _note(note: str, seed: int | None) -> str:
    dealt = "" if seed is None else f"age dealt with seed {seed}"
    return "; ".join(part for part in (note, dealt) if part)


def _judged(
    jar: Jar, campaign: CampaignState, evening: datetime | None, now: datetime, proven_g: float | None
) -> SplitJar:
    at = evening or max(now, jar.started_at)
    try:
        aged = age_h(jar.started_at, at)
    except InputError:
        return SplitJar(jar, at, now)
    situation = Situation(jar=jar, lot=campaign.lot(jar.lot_id), at=at)
    found = [*age_findings(campaign, situation), *humidity_findings(campaign, situation)]
    found += batch_findings(campaign, situation, proven_g)
    return SplitJar(jar, at, now, aged if evening is not None else None, most_severe_first(found))
