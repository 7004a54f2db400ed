"""What a table of attempts is taken to mean: one plan, guessed first and then changed by the person."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from stirfall.bench.estimates import Reason

ASK = "?"
"""In place of a decimal sign, an order of dates or a unit that the table does not tell: it is asked."""

SURE, LIKELY, GUESS = "sure", "likely", "a guess"
"""How much the heading and the cells say for what a column is taken to be."""


class Meaning(StrEnum):
    """What a column of a table can be."""

    LEAVE = "leave out"
    NUMBER = "attempt number"
    DATE = "date"
    TIME = "time of day"
    MOMENT = "date and time"
    LOT = "lot"
    JAR = "jar"
    OPERATOR = "operator"
    TOOL = "tool"
    NOTE = "note"
    FACTOR = "factor"
    OUTCOME = "outcome"
    PARTED = "gate 1"
    POOLED = "gate 2"
    CLEAN = "clean ones"
    TRIALS = "trials"
    CHARGE = "charge mass"
    PRODUCT = "product mass"
    BEADS = "bead mass"
    RESIDUE = "residue mass"
    ADDITIVE = "additive mass"
    RECOVERY = "recovery"
    HUMIDITY = "room humidity"
    PEAK = "highest temperature"


MASSES: Mapping[Meaning, str] = {
    Meaning.CHARGE: "charge_g",
    Meaning.PRODUCT: "product_g",
    Meaning.BEADS: "beads_g",
    Meaning.RESIDUE: "residue_g",
    Meaning.ADDITIVE: "additive_g",
}
"""The masses with their names in ``Masses``."""

MANY = frozenset((Meaning.LEAVE, Meaning.NOTE, Meaning.FACTOR))
"""What several columns may be at once; two columns of another meaning contradict each other."""

WORDED = (Meaning.OUTCOME, Meaning.PARTED, Meaning.POOLED)
"""The meanings whose cells are words that the plan maps to a result."""


class Result(StrEnum):
    """What a word of an outcome column can stand for."""

    CLEAN = "clean separation"
    BEADS = "parted but beads"
    PIECES = "parted, few pieces"
    PARTED = "parted, pool not noted"
    PARTLY = "partly parted"
    NOTHING = "nothing parted"
    COUNTS_CLEAN = "clean, gates not graded"
    COUNTS_NOT = "not clean, gates not graded"
    ABORTED = "aborted"
    NONE = "no result"


@dataclass(frozen=True)
class ColumnPlan:
    """One column: what it is, and how its cells are read.

    ``factor`` names the factor where it is one; ``unit`` is that of its bare numbers; ``is_choice`` and ``is_log``
    say what a new factor is. ``decimal`` is "." or "," where a cell could be read in two ways, "" where none can,
    ``ASK`` where it is not known; ``dates`` is one of the orders of ``log_times`` likewise. ``confidence`` and
    ``remarks`` say what the guess rests on; ``examples`` are its first filled cells, ``filled`` counts them all.
    """

    place: int
    heading: str
    meaning: Meaning = Meaning.LEAVE
    factor: str = ""
    unit: str = ""
    is_choice: bool = False
    is_log: bool = False
    decimal: str = ""
    dates: str = ""
    confidence: str = GUESS
    remarks: tuple[Reason, ...] = ()
    examples: tuple[str, ...] = ()
    filled: int = 0

    @property
    def is_used(self) -> bool:
        """Whether the column goes into the session."""
        return self.meaning is not Meaning.LEAVE

    @property
    def is_open(self) -> bool:
        """Whether something about the column is asked that its cells cannot be read without."""
        return ASK in (self.unit, self.decimal, self.dates)


@dataclass(frozen=True)
class WordPlan:
    """One word of an outcome column, how often it stands there, and what it means; None where that is not known."""

    place: int
    word: str
    count: int
    result: Result | None

    @property
    def key(self) -> tuple[int, str]:
        """The column and the word; letter case does not make another word."""
        return self.place, self.word.casefold()


@dataclass(frozen=True)
class ImportPlan:
    """Everything that decides what a table becomes; frozen, changed by ``with_*``.

    ``widens`` lets ranges of numbers grow to hold what the table holds; ``takes_twins`` takes in rows that the
    session seems to have already; ``without_result`` says that the table tells no outcome and that this is right.
    """

    columns: tuple[ColumnPlan, ...]
    words: tuple[WordPlan, ...] = ()
    widens: bool = False
    takes_twins: bool = False
    without_result: bool = False
    remarks: tuple[Reason, ...] = ()

    def column(self, place: int) -> ColumnPlan:
        """Return the plan of the column at a place."""
        return next(each for each in self.columns if each.place == place)

    def having(self, *meanings: Meaning) -> tuple[ColumnPlan, ...]:
        """Return the columns with one of these meanings."""
        return tuple(each for each in self.columns if each.meaning in meanings)

    def with_column(self, column: ColumnPlan) -> ImportPlan:
        """Return the plan with another plan of one column."""
        columns = tuple(column if each.place == column.place else each for each in self.columns)
        return replace(self, columns=columns)

    def with_word(self, place: int, word: str, result: Result | None) -> ImportPlan:
        """Return the plan with another meaning of one word."""
        key = (place, word.casefold())
        return replace(
            self, words=tuple(replace(each, result=result) if each.key == key else each for each in self.words)
        )

    @property
    def result_columns(self) -> tuple[ColumnPlan, ...]:
        """The columns that tell how the attempts went."""
        return self.having(*WORDED, Meaning.CLEAN)

    def unclear(self) -> tuple[Reason, ...]:
        """Return what has to be settled before anything may be written."""
        found: list[Reason] = []
        for column in self.columns:
            if not column.is_used:
                continue
            for told, code in (
                (column.decimal, "import.ask_decimal"),
                (column.dates, "import.ask_dates"),
                (column.unit, "import.ask_unit"),
            ):
                if told == ASK:
                    found.append(Reason(code, {"column": column.heading}))
        found += self._contradictions()
        unknown = [each.word for each in self.words if each.result is None and self._is_worded(each.place)]
        if unknown:
            params = {"count": len(unknown), "words": ", ".join(f"“{word}”" for word in unknown[:6])}
            found.append(Reason("import.ask_words", params))
        if not self.having(Meaning.FACTOR):
            found.append(Reason("import.no_factor"))
        if not self.result_columns and not self.without_result:
            found.append(Reason("import.no_result"))
        return tuple(found)

    def _is_worded(self, place: int) -> bool:
        return any(each.place == place for each in self.having(*WORDED))

    def _contradictions(self) -> list[Reason]:
        found = []
        for meaning in Meaning:
            columns = self.having(meaning)
            if len(columns) > 1 and meaning not in MANY:
                headings = ", ".join(f"“{each.heading}”" for each in columns)
                found.append(Reason("import.meaning_twice", {"meaning": str(meaning), "columns": headings}))
        names = [each.factor.casefold() for each in self.having(Meaning.FACTOR)]
        twice = [name for name in dict.fromkeys(names) if name and names.count(name) > 1]
        found += [Reason("import.factor_twice", {"factor": name}) for name in twice]
        if not all(names):
            found.append(Reason("import.factor_unnamed"))
        if self.having(Meaning.OUTCOME) and self.having(Meaning.PARTED, Meaning.POOLED, Meaning.CLEAN):
            found.append(Reason("import.result_twice"))
        if self.having(Meaning.TRIALS) and not self.having(Meaning.CLEAN):
            found.append(Reason("import.trials_without_clean"))
        if self.having(Meaning.POOLED) and not self.having(Meaning.PARTED):
            found.append(Reason("import.pool_without_parting"))
        if self.having(Meaning.MOMENT) and self.having(Meaning.DATE, Meaning.TIME):
            found.append(Reason("import.moment_twice"))
        return found
