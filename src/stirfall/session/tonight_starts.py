"""Which jars to start, so that several ages come due on one bench evening."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from stirfall.bench.ages import as_utc, hours_between
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, Role
from stirfall.bench.records import Jar
from stirfall.bench.units import Amount, convert
from stirfall.planning.box import Columns, Numbers
from stirfall.planning.candidates import take
from stirfall.planning.evening import Timetable, timetable
from stirfall.planning.evening_worth import classes_of, joined_classes
from stirfall.planning.gains import Array
from stirfall.planning.goals import Goal
from stirfall.planning.start_jars import (
    AT_HAND,
    Batch,
    StartOption,
    choose_ages,
    soonest_good,
    sparse_ages,
    spread_of_ages,
)
from stirfall.session.forecast_evenings import clock_words
from stirfall.session.tonight_calendar import bench_evenings
from stirfall.session.tonight_parts import JarToStart
from stirfall.session.tonight_proof_starts import needs_of_proof, proof_starts
from stirfall.session.tonight_template import (
    Make,
    exposure_of,
    make_of,
    new_ids,
    option,
    start_times,
    thinner_note,
)

if TYPE_CHECKING:
    from stirfall.session.tonight_choice import Choice
    from stirfall.session.tonight_jars import Hands, InHand
    from stirfall.session.tonight_openings import Asked, Openings

_LONGEST_DAYS = 14
_MOST_EVENINGS = 8


@dataclass(frozen=True)
class Starts:
    """The jars to start, the evening they come due on, and what there is to say."""

    starts: tuple[JarToStart, ...] = ()
    due_at: datetime | None = None
    notes: tuple[Reason, ...] = ()


@dataclass(frozen=True, eq=False)
class _Trial:
    """One way to have a jar for an evening: the jar as it would be then, and candidates for its attempt."""

    option: StartOption
    jar: Jar
    hand: InHand
    columns: Columns
    is_new: bool

    @property
    def size(self) -> int:
        return len(next(iter(self.columns.values())))


@dataclass(frozen=True, eq=False)
class _Evening:
    due: datetime
    places: int
    trials: tuple[_Trial, ...]


class StartPlanner:
    """Finds the jars to start: for each coming evening the best ages, then the soonest evening that is good."""

    def __init__(self, hands: Hands, choice: Choice, asked: Asked, make: Make, exposure: Factor) -> None:
        self._hands, self._choice, self._asked = hands, choice, asked
        self._make, self._exposure = make, exposure
        self._films: dict[tuple[object, ...], Numbers] = {}
        plan = asked.state.settings.plan
        self._bench = bench_evenings(plan, asked.now, _LONGEST_DAYS, asked.tz)
        self._places = self._places_on(self._bench[-1], plan.evening_h)

    def plan(self, opened: Openings, closed: Mapping[str, Reason]) -> Starts:
        """Return the starts, given what is opened this evening and which jars stay closed."""
        now, evening = self._asked.now, self._asked.evening
        waiting = self._waiting(opened, closed)
        ahead = [at for at in self._bench if at > max(evening.ends_at, now)][:_MOST_EVENINGS]
        for_proof = self._for_proof(ahead, opened)
        if for_proof is not None:
            return for_proof
        evenings = [self._evening(due, self._places, waiting) for due in ahead if self._places]
        left = self._places_on(evening.begins_at, evening.hours) - len(opened.openings)
        if left > 0 and evening.begins_at > now:
            evenings.insert(0, self._evening(evening.begins_at, left, ()))
        evenings = [each for each in evenings if any(trial.is_new for trial in each.trials)]
        if not evenings:
            return Starts(notes=(Reason("tonight.no_age", {"lot": self._make.lot.id}),))
        batches = self._batches(evenings, opened)
        best = soonest_good([batch.worth for batch in batches])
        if best is None:
            return Starts(notes=(Reason("tonight.nothing_to_learn"),))
        return self._told(evenings[best], batches[best], opened)

    def _for_proof(self, ahead: Sequence[datetime], opened: Openings) -> Starts | None:
        """Return the jars that a running proof needs, None where it needs none or no start keeps to its recipe."""
        needs = needs_of_proof(self._asked, opened, self._exposure)
        if needs is None or not self._places:
            return None
        hours = self._asked.state.settings.plan.evening_h
        found = proof_starts(
            self._hands, self._asked, self._make, needs, [(at, self._times(at, hours)) for at in ahead]
        )
        return None if found is None else Starts(found[0], found[1], self._notes(found[0]))

    def _times(self, begins_at: datetime, hours: float) -> Timetable:
        return timetable(self._asked.state, begins_at, hours, self._asked.state.settings.plan.attempt_h)

    def _places_on(self, begins_at: datetime, hours: float) -> int:
        return len(self._times(begins_at, hours).starts_h)

    def _waiting(self, opened: Openings, closed: Mapping[str, Reason]) -> list[Jar]:
        """Return the jars that stand or are planned for evenings to come."""
        gone = {each.jar_id for each in opened.openings}
        gone |= {name for name, why in closed.items() if why.code != "tonight.below_range"}
        planned = (replace(jar, planned=False) for jar in self._asked.state.planned_jars)
        return [*(jar for jar in self._asked.state.shelf if jar.id not in gone), *planned]

    # -- what could be opened then -----------------------------------------------------------------

    def _evening(self, due: datetime, places: int, waiting: Sequence[Jar]) -> _Evening:
        """Return the ways to have a jar for an evening: those that stand or are planned, and new ones."""
        earliest = self._make.lot.made_at or self._asked.now
        times = start_times(self._asked, due, self._bench, earliest)
        hour = self._asked.state.settings.plan.evening_hour
        options = [option(self._asked, at, due, self._bench, hour) for at in times]
        found = []
        there = [jar for jar in waiting if as_utc(jar.started_at) < due]
        at_hand = [StartOption(hours_between(jar.started_at, due), AT_HAND) for jar in there]
        found += [self._trial(at_hand[place], there[place], due, is_new=False) for place in sparse_ages(at_hand)]
        for place in sparse_ages(options):
            for depth, lid in self._make.ways:
                jar = self._make.started("", times[place], depth, lid, planned=times[place] > self._asked.now)
                found.append(self._trial(options[place], jar, due, is_new=True))
        return _Evening(due, places, tuple(trial for trial in found if trial is not None))

    def _trial(self, way: StartOption, jar: Jar, due: datetime, *, is_new: bool) -> _Trial | None:
        self._asked.token.raise_if_cancelled()
        try:
            hand = self._hands.of(jar, due)
        except InputError:  # a start before the lot was made
            return None
        if self._hands.why_not(jar, due, hand) is not None:
            return None
        films = self._films if is_new else {}  # a jar that stands may be of another make
        columns = self._choice.few_candidates(hand, films)
        return _Trial(way, jar, hand, columns, is_new) if len(next(iter(columns.values()))) else None

    # -- what it is worth --------------------------------------------------------------------------

    def _batches(self, evenings: Sequence[_Evening], opened: Openings) -> list[Batch]:
        if self._choice.is_first:
            return [self._spread(each) for each in evenings]
        weights = self._choice.weights_after(opened.chosen)
        classes = [self._choice.classes([(t.hand, t.columns) for t in each.trials]) for each in evenings]
        if self._asked.goal is not Goal.LEARN:
            # One question about all of them settles the scale, so that evenings can be compared.
            self._choice.worth.of(joined_classes(classes), weights)
        return [self._by_worth(each, joined, weights) for each, joined in zip(evenings, classes, strict=True)]

    def _by_worth(self, evening: _Evening, joined: tuple[Array, ...], start: Array) -> Batch:
        owner = np.repeat(np.arange(len(evening.trials)), [trial.size for trial in evening.trials])

        firsts = np.flatnonzero(np.diff(owner, prepend=-1))
        known: dict[int, tuple[Array, Numbers]] = {}

        def score(chosen: Sequence[int]) -> Numbers:
            """Ask once for each number of jars chosen before: they are chosen one by one."""
            self._asked.token.raise_if_cancelled()
            weights = start
            if chosen:
                weights, worth = known[len(chosen) - 1]
                own = np.flatnonzero(owner == chosen[-1])
                weights = self._choice.worth.after(joined, int(own[np.argmax(worth[own])]), weights)
            worth = self._choice.worth.of(joined, weights)
            known[len(chosen)] = weights, worth
            return np.maximum.reduceat(worth, firsts)

        return choose_ages(evening.places, [trial.option for trial in evening.trials], score)

    def _spread(self, evening: _Evening) -> Batch:
        options = [trial.option for trial in evening.trials]
        known = self._tried_ages_h()
        usual = self._usual_h()

        def score(chosen: Sequence[int]) -> Numbers:
            return spread_of_ages(options, [*known, *(options[at].age_h for at in chosen)], usual)

        return choose_ages(evening.places, options, score)

    def _tried_ages_h(self) -> list[float]:
        if self._exposure.role is not Role.OIL_EXPOSURE:
            return []
        values = [each.conditions.number(self._exposure.name) for each in self._asked.state.attempts]
        return [convert(value, self._exposure.unit, "h") for value in values if value is not None and value > 0]

    def _usual_h(self) -> float:
        middle = self._exposure.middle
        if self._exposure.role is not Role.OIL_EXPOSURE or isinstance(middle, str) or middle <= 0:
            return 24.0
        return convert(middle, self._exposure.unit, "h")

    # -- what is told ------------------------------------------------------------------------------

    def _told(self, evening: _Evening, batch: Batch, opened: Openings) -> Starts:
        trials = [trial for place in batch.chosen if (trial := evening.trials[place]).is_new]
        if not trials:
            return Starts(notes=(self._enough(evening),))
        weights = None if self._choice.is_first else self._choice.weights_after(opened.chosen)
        ids = new_ids(self._asked.state, len(trials))
        made = []
        for trial, name in zip(trials, ids, strict=True):
            jar = self._make.started(
                name, trial.jar.started_at, trial.jar.oil_depth_mm, trial.jar.lid, planned=trial.jar.planned
            )
            made.append(self._jar_to_start(evening.due, trial, jar, weights))
        ordered = tuple(sorted(made, key=lambda each: (each.start_at, each.jar.id)))
        return Starts(ordered, evening.due, self._notes(ordered))

    def _enough(self, evening: _Evening) -> Reason:
        return Reason("tonight.enough_jars", {"when": clock_words(evening.due, self._asked.now, self._asked.tz)})

    def _jar_to_start(self, due: datetime, trial: _Trial, jar: Jar, weights: Array | None) -> JarToStart:
        params = {"age": Amount(trial.option.age_h, "h"), "when": clock_words(due, self._asked.now, self._asked.tz)}
        if weights is None:
            reason = Reason("tonight.start_spread", params)
            return JarToStart(jar, due, trial.option.age_h, reason)
        worth = self._choice.worth.of(classes_of(self._choice.draws(trial.hand), trial.columns), weights)
        best = take(trial.columns, int(np.argmax(worth)))
        estimate = trial.hand.answer.model.estimate(best)
        code = "tonight.start_learn" if self._asked.goal is Goal.LEARN else "tonight.start_gain"
        return JarToStart(jar, due, trial.option.age_h, Reason(code, params), estimate)

    def _notes(self, starts: Sequence[JarToStart]) -> tuple[Reason, ...]:
        charges = [each.charge_g for each in starts if each.charge_g is not None]
        total = Amount(sum(charges), "g")
        code = "tonight.crude_needed" if len(charges) == len(starts) else "tonight.crude_unknown"
        crude = Reason(code, {"lot": self._make.lot.id, "total": total})
        thinner = thinner_note(self._asked.state, starts[0], self._asked.now)
        return (crude,) if thinner is None else (crude, thinner)


def plan_starts(
    hands: Hands, choice: Choice, asked: Asked, closed: Mapping[str, Reason], opened: Openings
) -> Starts:
    """Return which jars to start now and on the next days, or why none: for a superoxide former never any."""
    if not hands.limits.may_wait:
        return Starts(notes=(Reason("tonight.no_starts"),))
    exposure = exposure_of(hands)
    if exposure is None:
        return Starts(notes=(Reason("tonight.starts_tell_nothing"),))
    make = make_of(hands, asked.state)
    if make is None:
        return Starts(notes=(Reason("tonight.no_lot"),))
    return StartPlanner(hands, choice, asked, make, exposure).plan(opened, closed)
