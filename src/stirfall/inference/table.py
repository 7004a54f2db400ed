"""From recorded attempts to arrays: which attempts the model uses, and which it leaves out and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import (
    LOT_EFFECT_BENCH,
    LOT_EFFECT_JAR,
    LOT_EFFECT_LOT,
    LOT_EFFECT_NONE,
    Attempt,
    CampaignSettings,
    bench_of,
)
from stirfall.inference.design import Design, Filler

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class AttemptCounts:
    """How many attempts are used and how many are left out, each counted once, by the first reason that holds.

    ``missing``: a value of a used factor is unknown. ``only_counted``: a plain count among graded gates.
    ``gate_1_only``: used attempts of which only the parting is known (part of ``used``). ``dropped_factors``:
    factors left out of the model because fewer than half of the graded attempts have a value.
    """

    used: int = 0
    aborted: int = 0
    struck: int = 0
    missing: int = 0
    not_graded: int = 0
    only_counted: int = 0
    gate_1_only: int = 0
    dropped_factors: tuple[str, ...] = ()

    @property
    def left_out(self) -> int:
        """All attempts that the model does not use."""
        return self.aborted + self.struck + self.missing + self.not_graded + self.only_counted


@dataclass(frozen=True)
class AttemptTable:
    """The attempts that are used, one row each.

    ``columns`` as ``Design.columns`` makes them. ``clean_k`` of ``clean_n`` trials were clean (0 of 0: not known).
    ``parted`` and ``pooled`` are 1, 0 or NaN (not graded, not observed). ``gates`` is 2 or 1. ``grade`` is that of
    gate 1 where the ordinal form is wanted: 0 no, 1 partly, 2 yes, -1 not graded; else None. ``group`` is the
    place of each row's lot (or jar, or whatever the settings name) in ``group_names``, -1 where it is unknown;
    ``grouping`` says what the groups are: "lot", "jar", "bench", the name of a factor, or "none".
    """

    columns: dict[str, FloatArray]
    clean_k: FloatArray
    clean_n: FloatArray
    parted: FloatArray
    pooled: FloatArray
    ids: tuple[str, ...]
    counts: AttemptCounts
    gates: int = 1
    grade: NDArray[np.int8] | None = None
    group: NDArray[np.intp] | None = None
    group_names: tuple[str, ...] = ()
    grouping: str = LOT_EFFECT_NONE

    @property
    def rows(self) -> int:
        """The number of rows."""
        return len(self.ids)


def build_table(
    state: CampaignState,
    settings: CampaignSettings | None = None,
    *,
    gates: int | None = None,
    filler: Filler | None = None,
    without: Sequence[str] = (),
) -> tuple[Design, AttemptTable]:
    """Return design and table of a campaign; ``settings`` may stand in for its own, ``gates`` decrees 1 or 2.

    ``filler`` and ``without`` are as in ``table_of``.
    """
    chosen = settings or state.settings
    return table_of(state.visible_factors, state.attempts, chosen, gates=gates, filler=filler, without=without)


def table_of(
    factors: Sequence[Factor],
    attempts: Sequence[Attempt],
    settings: CampaignSettings,
    *,
    gates: int | None = None,
    filler: Filler | None = None,
    without: Sequence[str] = (),
) -> tuple[Design, AttemptTable]:
    """Return the design and the table of graded attempts.

    Struck-out, aborted and ungraded attempts are left out. A factor that fewer than half of the graded ones have
    a usable value for is dropped; then attempts that lack a value are left out. Everything left out is counted.
    Where the settings want two gates and nothing is decreed, that side is taken which leaves out fewer attempts:
    two gates unless more attempts are only counted than have their gates graded.

    ``filler`` goes into the design, for conditions in question; an attempt's own unknown value is never filled with
    it. ``without`` names factors to be dropped whatever their values.
    """
    tally = dict.fromkeys(("struck", "aborted", "not_graded", "only_counted"), 0)
    gates = gates or gates_in_use(attempts, settings)
    graded: list[Attempt] = []
    for attempt in attempts:
        reason = _left_out(attempt, gates, as_success=settings.partly == "success")
        if reason is None:
            graded.append(attempt)
        else:
            tally[reason] += 1
    whole = _design([factor for factor in factors if factor.name != _grouping_factor(factors, settings)], settings)
    columns = whole.columns([attempt.conditions for attempt in graded])
    dropped = tuple(
        name
        for name, column in columns.items()
        if name in without or 2 * int(np.isfinite(column).sum()) < len(column)
    )
    design = replace(whole.without(dropped), filler=filler)
    keep = np.ones(len(graded), dtype=bool)
    for factor in design.factors:
        keep &= np.isfinite(columns[factor.name])
    rows = [attempt for attempt, kept in zip(graded, keep, strict=True) if kept]
    counts = AttemptCounts(
        used=len(rows),
        missing=len(graded) - len(rows),
        gate_1_only=sum(math.isnan(_pooled(row)) for row in rows if row.parted is Parted.YES) if gates == 2 else 0,
        dropped_factors=dropped,
        **tally,
    )
    kept = {factor.name: columns[factor.name][keep] for factor in design.factors}
    table = _fill(kept, rows, counts, gates, partly=settings.partly)
    return design, _with_groups(table, rows, factors, settings)


def _grouping_factor(factors: Sequence[Factor], settings: CampaignSettings) -> str | None:
    """Return the choice factor whose levels are the groups: it is then no fixed effect.

    "lot", "jar" and "none" always mean the record's own lot and jar, also where a factor has such a name; "bench"
    means a factor of that name where there is one, for older sessions have such factors.
    """
    if settings.lot_effect in (LOT_EFFECT_LOT, LOT_EFFECT_JAR, LOT_EFFECT_NONE):
        return None
    names = [factor.name for factor in factors if factor.is_choice and factor.name == settings.lot_effect]
    return names[0] if names else None


def _with_groups(
    table: AttemptTable, rows: Sequence[Attempt], factors: Sequence[Factor], settings: CampaignSettings
) -> AttemptTable:
    factor = _grouping_factor(factors, settings)
    if factor is not None:
        labels: list[object] = [row.conditions.get(factor) for row in rows]
    elif settings.lot_effect == LOT_EFFECT_LOT:
        labels = [row.lot_id for row in rows]
    elif settings.lot_effect == LOT_EFFECT_JAR:
        labels = [row.jar_id for row in rows]
    elif settings.lot_effect == LOT_EFFECT_BENCH:
        labels = [bench_of(row, settings) for row in rows]
    else:
        return table
    names = tuple(dict.fromkeys(str(label) for label in labels if label is not None))
    places = {name: place for place, name in enumerate(names)}
    group = np.array([-1 if label is None else places[str(label)] for label in labels], dtype=np.intp)
    return replace(table, group=group, group_names=names, grouping=factor or settings.lot_effect)


def _design(factors: Sequence[Factor], settings: CampaignSettings) -> Design:
    """Return the design of all factors, with those humps and products of the settings that can be built."""
    numbers = {factor.name for factor in factors if not factor.is_choice}
    names = {factor.name for factor in factors}
    return Design(
        tuple(factors),
        tuple(name for name in settings.humps if name in numbers),
        tuple(pair for pair in settings.products if set(pair) <= names and pair[0] != pair[1]),
    )


def gates_in_use(attempts: Sequence[Attempt], settings: CampaignSettings) -> int:
    """Return how many gates are fitted where nothing is decreed: those that leave out fewer attempts."""
    counting = [attempt for attempt in attempts if not attempt.aborted and not attempt.is_struck]
    graded = sum(attempt.parted is not None for attempt in counting)
    only_counted = sum(attempt.successes is not None for attempt in counting)
    return 2 if settings.gates == 2 and graded >= only_counted else 1


def _left_out(attempt: Attempt, gates: int, *, as_success: bool) -> str | None:
    if attempt.is_struck:
        return "struck"
    if attempt.aborted:
        return "aborted"
    if gates == 2:
        if attempt.parted is not None:
            return None
        return "not_graded" if attempt.clean_count is None else "only_counted"
    return "not_graded" if _clean(attempt, as_success=as_success) is None else None


def _fill(
    columns: dict[str, FloatArray], rows: Sequence[Attempt], counts: AttemptCounts, gates: int, *, partly: str
) -> AttemptTable:
    as_success = partly == "success"
    clean = np.array([_clean(row, as_success=as_success) or (0, 0) for row in rows], dtype=float).reshape(-1, 2)
    return AttemptTable(
        columns,
        clean[:, 0].copy(),
        clean[:, 1].copy(),
        np.array([_parted(row, as_success=as_success) for row in rows], dtype=float),
        np.array([_pooled(row) for row in rows], dtype=float),
        tuple(row.id for row in rows),
        counts,
        gates,
        np.array([_GRADES[row.parted] for row in rows], dtype=np.int8) if partly == "ordinal" else None,
    )


_GRADES = {None: -1, Parted.NO: 0, Parted.PARTLY: 1, Parted.YES: 2}


def clean_count_of(attempt: Attempt, settings: CampaignSettings) -> tuple[int, int] | None:
    """Return the clean successes and trials of an attempt under the rule of the settings for partly parted ones.

    None where it tells nothing, was aborted or was struck out.
    """
    return _clean(attempt, as_success=settings.partly == "success")


def _clean(attempt: Attempt, *, as_success: bool) -> tuple[int, int] | None:
    """Return the clean count; where partly counts as parted, what the metal did then decides."""
    if not as_success or attempt.parted is not Parted.PARTLY or attempt.clean_count is None:
        return attempt.clean_count
    pooled = _pooled(attempt)
    return None if math.isnan(pooled) else (int(pooled), 1)


def _parted(attempt: Attempt, *, as_success: bool) -> float:
    if attempt.parted is None:
        return math.nan
    return float(attempt.parted is Parted.YES or (as_success and attempt.parted is Parted.PARTLY))


def _pooled(attempt: Attempt) -> float:
    if attempt.pooled is None or attempt.pooled is Pooled.NOT_OBSERVED:
        return math.nan
    return float(attempt.pooled is Pooled.ONE_POOL)
