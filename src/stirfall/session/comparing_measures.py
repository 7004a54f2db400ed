"""What an attempt says of a measure: so many of so many, or a number; and the two sides of a comparison; pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo

from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.estimates import Reason
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.records import Attempt
from stirfall.bench.running import FIRST_POWDER, EventKind, Moment, Run, Step
from stirfall.inference.proportions import wilson
from stirfall.inference.two_means import mean_span
from stirfall.physics.mass_balance import balance
from stirfall.session.comparing_groups import Reader, group_name
from stirfall.session.comparing_records import Dot, LeftOut, Side, is_share
from stirfall.session.run_timing import TrueTimes
from stirfall.session.weighing import metal_share

UNITS = {Measure.RECOVERY: "%", Measure.PARTING_TIME: "s", Measure.RUN_TIME: "min"}
_MINUTE = 60.0


def sides(
    state: CampaignState, comparison: Comparison, level: float, tz: tzinfo | None = None
) -> tuple[Side, Side, str]:
    """Return both groups with what they say, and what a recovery is told per ("metal", "charge", "" otherwise).

    An attempt that belongs to both groups is taken out of both and counted as shared. Raises ``compare.*``.
    """
    reader = Reader(state, tz)
    groups = (comparison.first, comparison.second)
    tests = [reader.test(group) for group in groups]
    found: tuple[list[Attempt], list[Attempt]] = ([], [])
    shared = 0
    for attempt in state.attempts:
        belongs = [test(attempt) for test in tests]
        if all(belongs):
            shared += not attempt.is_struck and not attempt.aborted
        elif any(belongs):
            found[belongs.index(True)].append(attempt)
    counting = [[each for each in side if not each.is_struck and not each.aborted] for side in found]
    measured = MeasureReader(state, comparison.measure, [each for side in counting for each in side])
    made = [
        replace(_side(group, attempts, measured, shared, level), name=group_name(state, group, tz))
        for group, attempts in zip(groups, found, strict=True)
    ]
    return made[0], made[1], measured.basis


class MeasureReader:
    """Reads one measure from attempts; how a recovery is told is settled over all of them at once."""

    def __init__(self, state: CampaignState, measure: Measure, attempts: Sequence[Attempt]) -> None:
        self.state, self.measure = state, measure
        self.basis = ""
        self._runs = {run.id: run for run in state.runs}
        self._recovered: dict[str, float] = {}
        if measure is Measure.RECOVERY:
            self._weigh([each for each in attempts if _is_clean(each, state.settings.partly)])

    def _weigh(self, clean: Sequence[Attempt]) -> None:
        """Work out recoveries per metal where every lot's share of it is known, else per charge.

        A product whose purity is not known counts as pure metal, as in the recovery of the campaign.
        """
        per_charge: dict[str, float] = {}
        per_metal: dict[str, float] = {}
        reader, lots = Reader(self.state), {lot.id: lot for lot in self.state.lots}
        for each in clean:
            gross = balance(each.masses).gross_yield
            if gross is None:
                continue
            per_charge[each.id] = gross
            share, purity = metal_share(lots.get(reader.lot(each))), each.sheet.purity_percent
            if share is not None and share.value > 0.0:
                per_metal[each.id] = gross * (1.0 if purity is None else purity / 100.0) / share.value
        told = bool(per_charge) and len(per_metal) == len(per_charge)
        self.basis = "metal" if told else "charge"
        self._recovered = per_metal if told else per_charge

    def dot(self, attempt: Attempt) -> Dot | None:
        """Return what an attempt says, None where it says nothing."""
        if is_share(self.measure):
            count = count_of(attempt, self.measure, self.state.settings.partly)
            if count is None:
                return None
            return Dot(attempt.id, attempt.number, count[0] / count[1], count[1])
        value = self._number(attempt)
        return None if value is None or not math.isfinite(value) else Dot(attempt.id, attempt.number, value)

    def _number(self, attempt: Attempt) -> float | None:
        if self.measure is Measure.RECOVERY:
            share = self._recovered.get(attempt.id)
            return None if share is None else 100.0 * share
        run = self._runs.get(attempt.run_id or "")
        if run is None:
            return None
        return parting_seconds(run) if self.measure is Measure.PARTING_TIME else run_minutes(run)


def count_of(attempt: Attempt, measure: Measure, partly: str) -> tuple[int, int] | None:
    """Return successes and trials of a counting attempt, None where it says nothing; as the model counts.

    ``partly`` is the campaign's rule. Pooled is asked of attempts that parted and whose pool was observed.
    """
    as_success = partly == "success"
    parted = attempt.parted is Parted.YES or (as_success and attempt.parted is Parted.PARTLY)
    seen = attempt.pooled not in (None, Pooled.NOT_OBSERVED)
    pooled = attempt.pooled is Pooled.ONE_POOL
    if measure is Measure.PARTED:
        return None if attempt.parted is None else (int(parted), 1)
    if measure is Measure.POOLED:
        return (int(pooled), 1) if parted and seen else None
    if as_success and attempt.parted is Parted.PARTLY:
        return (int(pooled), 1) if seen else None
    return attempt.clean_count


def parting_seconds(run: Run) -> float | None:
    """Return the seconds from the beginning of the stirring to the first powder that was marked after it."""
    times = TrueTimes(run)
    stirred = next((e for e in run.events if e.kind is EventKind.STEP and e.step == Step.STIR), None)
    if stirred is None:
        return None
    began = times.of(stirred)
    marks = [times.of(e) for e in run.events if e.kind is EventKind.MARK and e.word == FIRST_POWDER]
    return min((at - began for at in marks if at >= began), default=None)


def run_minutes(run: Run) -> float | None:
    """Return the minutes from the beginning of a run to its closing step, else to its end; None while open."""
    times = TrueTimes(run)
    closed = next((e for e in run.events if e.kind is EventKind.STEP and e.step == Step.CLOSE), None)
    if closed is not None:
        return times.of(closed) / _MINUTE
    return None if run.ended_at is None else times.at(Moment(run.ended_at)) / _MINUTE


def _is_clean(attempt: Attempt, partly: str) -> bool:
    """Whether it was clean, as the recovery of the campaign takes it."""
    if attempt.outcome is Outcome.CLEAN:
        return True
    return partly == "success" and attempt.outcome is Outcome.PARTLY_PARTED and attempt.pooled is Pooled.ONE_POOL


def _side(group: Group, attempts: Sequence[Attempt], measured: MeasureReader, shared: int, level: float) -> Side:
    struck = sum(each.is_struck for each in attempts)
    aborted = sum(each.aborted and not each.is_struck for each in attempts)
    counting = [each for each in attempts if not each.is_struck and not each.aborted]
    dots = tuple(dot for each in counting if (dot := measured.dot(each)) is not None)
    left = LeftOut(struck, aborted, len(counting) - len(dots), shared)
    side = Side(group, Reason("compare.group_gone"), dots, left)
    if not is_share(measured.measure):
        mean = mean_span(side.values, level)
        return replace(side, n=len(dots), mean=mean, sd=_sd(side.values))
    n = sum(dot.trials for dot in dots)
    k = round(sum(dot.value * dot.trials for dot in dots))
    return replace(side, k=k, n=n, share=wilson(k, n, level) if n else None)


def _sd(values: Sequence[float]) -> float | None:
    if len(values) < 2:
        return None
    mean = sum(values) / len(values)
    return math.sqrt(sum((value - mean) ** 2 for value in values) / (len(values) - 1))
