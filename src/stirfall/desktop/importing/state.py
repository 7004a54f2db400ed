"""What the dialog of a table shows, and the choices that it offers; frozen, without a window."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from stirfall.bench.campaign import CampaignState
from stirfall.planning.findings import Finding
from stirfall.reporting.import_words import reason_text
from stirfall.storage.import_plan import ASK, MASSES, ColumnPlan, ImportPlan, Meaning, Result
from stirfall.storage.import_source import ReadingChoices, Sheet, SourceTable
from stirfall.storage.imported import Imported

NEW_FACTOR = "new factor"
_FACTOR = "factor:"
_MOST_WORDS_SHOWN = 200

_GATE_1 = (Result.PARTED, Result.PARTLY, Result.NOTHING, Result.ABORTED, Result.NONE)
_GATE_2 = (Result.CLEAN, Result.PIECES, Result.BEADS, Result.NONE)
_GATE_1_WORDS = {Result.PARTED: "parted", Result.NOTHING: "not parted"}
_GATE_2_WORDS = {
    Result.CLEAN: "one pool",
    Result.BEADS: "beads",
    Result.PIECES: "few pieces",
    Result.NONE: "not observed",
}


@dataclass(frozen=True, eq=False)
class ImportState:
    """A table on its way in; two states are never compared cell by cell.

    ``busy`` says what is being done, "" nothing; ``trouble`` why the file cannot be used. ``part`` is the part that
    is shown, ``selected`` the column that is edited. ``leaves_out`` says that rows with refused cells stay out.
    """

    name: str = ""
    part: str = "columns"
    busy: str = ""
    trouble: str = ""
    sheets: tuple[Sheet, ...] = ()
    choices: ReadingChoices = field(default_factory=ReadingChoices)
    table: SourceTable | None = None
    campaign: CampaignState | None = None
    plan: ImportPlan | None = None
    imported: Imported | None = None
    beyond: Mapping[int, Finding] = field(default_factory=dict)
    selected: int = 0
    leaves_out: bool = False

    @property
    def column(self) -> ColumnPlan | None:
        """The column that is edited."""
        if self.plan is None or not self.plan.columns:
            return None
        return self.plan.columns[min(self.selected, len(self.plan.columns) - 1)]

    @property
    def unknown_words(self) -> int:
        """How many words of the outcome have no meaning yet."""
        return 0 if self.plan is None else sum(each.result is None for each in self.plan.words)

    @property
    def may_accept(self) -> bool:
        """Whether what is shown can be written now."""
        found = self.imported
        return not self.busy and found is not None and found.is_ready and (not found.refused or self.leaves_out)

    def in_the_way(self, decimal: str = ".") -> str:
        """Return what stands in the way of writing, in one sentence; "" for nothing."""
        found = self.imported
        if self.trouble:
            return self.trouble
        if found is None or self.busy:
            return ""
        if found.unclear:
            more = len(found.unclear) - 1
            rest = f" And {more} more." if more else ""
            return f"{reason_text(found.unclear[0], decimal=decimal)}{rest}"
        if found.refused and not self.leaves_out:
            return "Some cells are refused. Mend them in the table, or leave their rows out."
        if not found.attempts:
            return "Nothing is left to come in."
        return ""


def meaning_choices(state: ImportState) -> tuple[tuple[str, str], ...]:
    """Return what a column can be, as key and words: the conditions of the campaign first."""
    names = [] if state.campaign is None else [each.name for each in state.campaign.visible_factors]
    if state.plan is not None:
        taken = {each.factor for each in state.plan.having(Meaning.FACTOR) if each.factor}
        names += [name for name in taken if name.casefold() not in {known.casefold() for known in names}]
    factors = [(f"{_FACTOR}{name}", f"factor: {name}") for name in names]
    others = [(str(each), str(each)) for each in Meaning if each not in (Meaning.LEAVE, Meaning.FACTOR)]
    new = (NEW_FACTOR, "a new factor")
    return ((str(Meaning.LEAVE), str(Meaning.LEAVE)), *factors, new, *others)


def key_of(column: ColumnPlan) -> str:
    """Return the key of what a column is."""
    return f"{_FACTOR}{column.factor}" if column.meaning is Meaning.FACTOR else str(column.meaning)


def with_key(column: ColumnPlan, key: str) -> ColumnPlan:
    """Return the column as the choice with a key makes it."""
    if key == NEW_FACTOR:
        name = column.heading
        return replace(column, meaning=Meaning.FACTOR, factor=name)
    if key.startswith(_FACTOR):
        return replace(column, meaning=Meaning.FACTOR, factor=key.removeprefix(_FACTOR), is_choice=False)
    return replace(column, meaning=Meaning(key), factor="")


def is_new_factor(state: ImportState, column: ColumnPlan) -> bool:
    """Whether a column is a factor that the campaign has not."""
    known = () if state.campaign is None else state.campaign.factors
    return column.meaning is Meaning.FACTOR and column.factor.casefold() not in {
        each.name.casefold() for each in known
    }


def has_unit(column: ColumnPlan) -> bool:
    """Whether the numbers of a column have a unit that can be told."""
    numbers = {*MASSES, Meaning.HUMIDITY, Meaning.PEAK}
    return column.meaning in numbers or (column.meaning is Meaning.FACTOR and not column.is_choice)


def asks_decimal(column: ColumnPlan) -> bool:
    """Whether the decimal sign of a column matters."""
    return column.is_used and bool(column.decimal)


def result_choices(state: ImportState, place: int) -> tuple[tuple[str, str], ...]:
    """Return what a word of a column can mean, as key and words."""
    meaning = state.plan.column(place).meaning if state.plan is not None else Meaning.OUTCOME
    if meaning is Meaning.PARTED:
        return tuple((str(each), _GATE_1_WORDS.get(each, str(each))) for each in _GATE_1)
    if meaning is Meaning.POOLED:
        return tuple((str(each), _GATE_2_WORDS[each]) for each in _GATE_2)
    return tuple((str(each), str(each)) for each in Result)


def parts(state: ImportState) -> Sequence[tuple[str, str]]:
    """Return the parts of the dialog, with what is open in them."""
    asked = 0
    if state.plan is not None:
        used = [each for each in state.plan.columns if each.is_used]
        asked = sum(ASK in (each.decimal, each.dates, each.unit) for each in used)
    words = f" ({state.unknown_words} not known)" if state.unknown_words else ""
    attempts = f" ({len(state.imported.attempts)})" if state.imported is not None else ""
    return (
        ("columns", f"1 Columns{f' ({asked} to settle)' if asked else ''}"),
        ("words", f"2 Outcome words{words}"),
        ("preview", f"3 What comes in{attempts}"),
    )
