"""From recorded attempts to arrays: which attempts the model uses, and which it leaves out and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.inference.design import Design

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
    ``parted`` and ``pooled`` are 1, 0 or NaN (not graded, not observed). ``gates`` is 2 or 1.
    """

    columns: dict[str, FloatArray]
    clean_k: FloatArray
    clean_n: FloatArray
    parted: FloatArray
    pooled: FloatArray
    ids: tuple[str, ...]
    counts: AttemptCounts
    gates: int = 1

    @property
    def rows(self) -> int:
        """The number of rows."""
        return len(self.ids)


def build_table(
    state: CampaignState, settings: CampaignSettings | None = None, *, gates: int | None = None
) -> tuple[Design, AttemptTable]:
    """Return design and table of a campaign; ``settings`` may stand in for its own, ``gates`` decrees 1 or 2."""
    return table_of(state.visible_factors, state.attempts, settings or state.settings, gates=gates)


def table_of(
    factors: Sequence[Factor],
    attempts: Sequence[Attempt],
    settings: CampaignSettings,
    *,
    gates: int | None = None,
) -> tuple[Design, AttemptTable]:
    """Return the design and the table of graded attempts.

    Struck-out, aborted and ungraded attempts are left out. A factor that fewer than half of the graded ones have
    a usable value for is dropped; then attempts that lack a value are left out. Everything left out is counted.
    Where the settings want two gates and nothing is decreed, that side is taken which leaves out fewer attempts:
    two gates unless more attempts are only counted than have their gates graded.
    """
    tally = dict.fromkeys(("struck", "aborted", "not_graded", "only_counted"), 0)
    gates = gates or _gates_in_use(attempts, settings)
    graded: list[Attempt] = []
    for attempt in attempts:
        reason = _left_out(attempt, gates)
        if reason is None:
            graded.append(attempt)
        else:
            tally[reason] += 1
    whole = _design(factors, settings)
    columns = whole.columns([attempt.conditions for attempt in graded])
    dropped = tuple(name for name, column in columns.items() if 2 * int(np.isfinite(column).sum()) < len(column))
    design = whole.without(dropped)
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
    return design, _fill(
        {factor.name: columns[factor.name][keep] for factor in design.factors}, rows, counts, gates
    )


def _design(factors: Sequence[Factor], settings: CampaignSettings) -> Design:
    """Return the design of all factors, with those humps and products of the settings that can be built."""
    numbers = {factor.name for factor in factors if not factor.is_choice}
    names = {factor.name for factor in factors}
    return Design(
        tuple(factors),
        tuple(name for name in settings.humps if name in numbers),
        tuple(pair for pair in settings.products if set(pair) <= names and pair[0] != pair[1]),
    )


def _gates_in_use(attempts: Sequence[Attempt], settings: CampaignSettings) -> int:
    counting = [attempt for attempt in attempts if not attempt.aborted and not attempt.is_struck]
    graded = sum(attempt.parted is not None for attempt in counting)
    only_counted = sum(attempt.successes is not None for attempt in counting)
    return 2 if settings.gates == 2 and graded >= only_counted else 1


def _left_out(attempt: Attempt, gates: int) -> str | None:
    if attempt.is_struck:
        return "struck"
    if attempt.aborted:
        return "aborted"
    if gates == 2:
        if attempt.parted is not None:
            return None
        return "not_graded" if attempt.clean_count is None else "only_counted"
    return "not_graded" if attempt.clean_count is None else None


def _fill(
    columns: dict[str, FloatArray], rows: Sequence[Attempt], counts: AttemptCounts, gates: int
) -> AttemptTable:
    clean = np.array([row.clean_count or (0, 0) for row in rows], dtype=float).reshape(-1, 2)
    return AttemptTable(
        columns,
        clean[:, 0].copy(),
        clean[:, 1].copy(),
        np.array([_parted(row) for row in rows], dtype=float),
        np.array([_pooled(row) for row in rows], dtype=float),
        tuple(row.id for row in rows),
        counts,
        gates,
    )


def _parted(attempt: Attempt) -> float:
    return math.nan if attempt.parted is None else float(attempt.parted is Parted.YES)


def _pooled(attempt: Attempt) -> float:
    if attempt.pooled is None or attempt.pooled is Pooled.NOT_OBSERVED:
        return math.nan
    return float(attempt.pooled is Pooled.ONE_POOL)
