"""How the attempts of a table went: words, gates and counts as grades."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

from stirfall.bench.errors import InputError
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.storage.import_cells import is_missing
from stirfall.storage.import_guess import OF_TRIALS
from stirfall.storage.import_numbers import read_number
from stirfall.storage.import_plan import ColumnPlan, ImportPlan, Meaning, Result
from stirfall.storage.import_words import plain_word

if TYPE_CHECKING:
    from stirfall.storage.import_read import _Reading

_MOST_TRIALS = 10**6
_GATES = {
    Result.CLEAN: (Parted.YES, Pooled.ONE_POOL),
    Result.BEADS: (Parted.YES, Pooled.BEADS),
    Result.PIECES: (Parted.YES, Pooled.FEW_PIECES),
    Result.PARTED: (Parted.YES, None),
    Result.PARTLY: (Parted.PARTLY, None),
    Result.NOTHING: (Parted.NO, None),
}


@dataclass(frozen=True)
class Graded:
    """The grade of one row."""

    parted: Parted | None = None
    pooled: Pooled | None = None
    successes: int | None = None
    trials: int = 1
    aborted: bool = False


NOT_GRADED, ABORTED = Graded(), Graded(aborted=True)


class GradeFields(TypedDict):
    """The fields of an attempt that tell how it went."""

    parted: Parted | None
    pooled: Pooled | None
    successes: int | None
    trials: int
    aborted: bool


def graded(result: Graded) -> GradeFields:
    """Return the fields of an attempt with this grade."""
    return {
        "parted": result.parted,
        "pooled": result.pooled,
        "successes": result.successes,
        "trials": result.trials,
        "aborted": result.aborted,
    }


def _of(result: Result) -> Graded:
    if result in _GATES:
        parted, pooled = _GATES[result]
        return Graded(parted, pooled)
    if result in (Result.COUNTS_CLEAN, Result.COUNTS_NOT):
        return Graded(successes=int(result is Result.COUNTS_CLEAN))
    return ABORTED if result is Result.ABORTED else NOT_GRADED


class Results:
    """Reads the result of every row."""

    def __init__(self, plan: ImportPlan, reading: _Reading) -> None:
        self._plan, self._reading = plan, reading
        self._words = {(each.place, plain_word(each.word)): each.result for each in plan.words}

    def read(self) -> list[Graded]:
        """Return a grade for every row; what cannot be used is refused in the reading."""
        counts, trials = self._plan.having(Meaning.CLEAN), self._plan.having(Meaning.TRIALS)
        gates = self._plan.having(Meaning.PARTED)
        if gates:
            return self._by_gates(gates[0], self._plan.having(Meaning.POOLED))
        words = self._plan.having(Meaning.OUTCOME)
        if words:
            return [NOT_GRADED if each is None else each for each in self._graded(words[0])]
        if counts:
            return self._by_counts(counts[0], trials)
        return [NOT_GRADED] * len(self._reading.table.rows)

    def _result(self, column: ColumnPlan, cell: str) -> Result:
        key = plain_word(cell)
        found = self._words.get((column.place, key))
        if found is None:
            if is_missing(cell):
                return Result.NONE
            raise InputError("import.word_unknown", word=cell)
        return found

    def _graded(self, column: ColumnPlan) -> list[Graded | None]:
        def read(cell: str) -> Graded:
            counted = OF_TRIALS.match(plain_word(cell))
            if counted and (column.place, plain_word(cell)) not in self._words:
                return _counted(int(counted[1]), int(counted[2]))
            return _of(self._result(column, cell))

        return self._each(column, read)

    def _each(self, column: ColumnPlan, read: object) -> list[Graded | None]:
        """Return what every cell says; a minus that stands for no counts as a word, not as a blank."""
        assert callable(read)
        minus = {place for place, word in self._words if is_missing(word)}
        values = self._reading.each(column, read)
        if column.place not in minus:
            return values
        for at, row in enumerate(self._reading.table.rows):
            cell = row[column.place]
            if values[at] is None and is_missing(cell) and (column.place, plain_word(cell)) in self._words:
                values[at] = read(cell)
        return values

    def _by_gates(self, first: ColumnPlan, second: tuple[ColumnPlan, ...]) -> list[Graded]:
        parted = self._each(first, lambda cell: _of(self._result(first, cell)))
        if not second:
            return [NOT_GRADED if each is None else each for each in parted]
        pools = self._each(second[0], lambda cell: _of(self._result(second[0], cell)))
        found = []
        for at, (one, two) in enumerate(zip(parted, pools, strict=True)):
            pooled = None if two is None else two.pooled
            if one is None or one.parted is None:
                if pooled is not None and not (one is not None and one.aborted):
                    self._reading.refuse(at, second[0], InputError("table.pool_before_parting"))
                found.append(one or NOT_GRADED)
            elif one.parted is Parted.NO:
                if pooled is not None:
                    self._reading.refuse(at, second[0], InputError("table.pool_before_parting"))
                found.append(one)
            else:
                found.append(Graded(one.parted, pooled))
        return found

    def _by_counts(self, first: ColumnPlan, second: tuple[ColumnPlan, ...]) -> list[Graded]:
        hits = self._reading.each(first, lambda cell: _count(cell, first.decimal))
        if not second:
            return [NOT_GRADED if k is None else self._of_one(at, k, first) for at, k in enumerate(hits)]
        trials = self._reading.each(second[0], lambda cell: _count(cell, second[0].decimal))
        found = []
        for at, (k, n) in enumerate(zip(hits, trials, strict=True)):
            try:
                found.append(NOT_GRADED if k is None and n is None else _counted(k, n))
            except InputError as error:
                self._reading.refuse(at, second[0] if error.code == "table.no_trials" else first, error)
                found.append(NOT_GRADED)
        return found

    def _of_one(self, at: int, k: int, column: ColumnPlan) -> Graded:
        if k > 1:
            self._reading.refuse(at, column, InputError("import.count_without_trials", count=k))
            return NOT_GRADED
        return Graded(successes=k)


def _counted(k: int | None, n: int | None) -> Graded:
    if n is None or not 1 <= n <= _MOST_TRIALS:
        raise InputError("table.no_trials")
    if k is not None and k > n:
        raise InputError("table.more_than_trials", trials=n)
    return Graded(successes=k, trials=n)


def _count(cell: str, decimal: str) -> int:
    value = read_number(cell, decimal)
    if value < 0 or value != int(value):
        raise InputError("table.not_a_count")
    return int(value)
