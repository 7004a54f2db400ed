"""What the columns of a table probably are: from heading, unit and cells, against the factors of a campaign."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Factor, standard_factors
from stirfall.storage.import_cells import is_missing
from stirfall.storage.import_dates import date_order_of, kind_of_moment
from stirfall.storage.import_numbers import decimal_of, looks_like_number, unit_in_cells
from stirfall.storage.import_plan import (
    ASK,
    GUESS,
    LIKELY,
    MANY,
    MASSES,
    SURE,
    WORDED,
    ColumnPlan,
    ImportPlan,
    Meaning,
    Result,
    WordPlan,
)
from stirfall.storage.import_ranges import settle_unit, share_inside
from stirfall.storage.import_source import SourceTable
from stirfall.storage.import_units import can_convert, split_heading
from stirfall.storage.import_words import (
    CONCEPTS,
    HEADINGS,
    MASS_UNITS,
    Concept,
    is_graded_word,
    is_outcome_word,
    plain,
    plain_word,
    result_of_word,
)

MOST_LEVELS = 24
MOST_WORDS = 60
_EXAMPLES = 4
_LOOKED_AT = 2_000
_MOSTLY = 0.8
OF_TRIALS = re.compile(r"^(\d{1,6})\s*(?:/|of|out of)\s*(\d{1,6})$", re.IGNORECASE)
_ORDER = {SURE: 0, LIKELY: 1, GUESS: 2}


@dataclass(frozen=True)
class Look:
    """What a column looks like: its heading without the unit, the unit that is told, and its first filled cells."""

    place: int
    heading: str
    name: str
    unit: str
    cells: tuple[str, ...]
    filled: int

    @property
    def numbers(self) -> float:
        """The share of cells that are numbers."""
        return sum(map(looks_like_number, self.cells)) / max(1, len(self.cells))

    @property
    def is_number(self) -> bool:
        """Whether most cells are numbers."""
        return self.numbers >= _MOSTLY

    def moments(self, kind: str) -> float:
        """Return the share of cells that look like a kind of moment."""
        return sum(kind_of_moment(cell) == kind for cell in self.cells) / max(1, len(self.cells))


def look_at(table: SourceTable, place: int) -> Look:
    """Return what a column looks like."""
    told = [cell for row in table.rows if not is_missing(cell := row[place])]
    name, unit = split_heading(table.header[place])
    cells = tuple(told[:_LOOKED_AT])
    unit = unit or split_heading(table.units[place])[1] or unit_in_cells(cells)
    return Look(place, table.header[place], name, unit, cells, len(told))


def guess(table: SourceTable, state: CampaignState | None = None) -> ImportPlan:
    """Return what a table probably means; what it does not tell is left as a question (``ImportPlan.unclear``)."""
    factors = () if state is None else state.visible_factors
    looks = [look_at(table, place) for place in range(len(table.header))]
    columns = [_guess_column(look, factors, is_new=state is None) for look in looks]
    columns = _each_once(columns)
    columns = [_with_cells(column, look, factors) for column, look in zip(columns, looks, strict=True)]
    columns = _with_table_decimal(columns)
    plan = ImportPlan(tuple(columns))
    return with_words(plan, table)


def reguess(plan: ImportPlan, table: SourceTable, state: CampaignState | None, column: ColumnPlan) -> ImportPlan:
    """Return the plan with a column that the person took for something else: what follows from it is told anew."""
    factors = () if state is None else state.visible_factors
    look = look_at(table, column.place)
    told = _with_cells(replace(column, confidence=SURE, remarks=()), look, factors)
    return with_words(plan.with_column(told), table)


# -- one column --------------------------------------------------------------------------------------


def _guess_column(look: Look, factors: Sequence[Factor], *, is_new: bool) -> ColumnPlan:
    base = ColumnPlan(look.place, look.heading, examples=look.cells[:_EXAMPLES], filled=look.filled, unit=look.unit)
    if not look.filled:
        return replace(base, confidence=SURE, remarks=(Reason("import.column_blank"),))
    named = _named_factor(look, factors)
    if named is not None:
        return replace(base, meaning=Meaning.FACTOR, factor=named.name, is_choice=named.is_choice, confidence=SURE)
    meaning = _meaning_of(look)
    concept = _concept_of(look, factors)
    if meaning is None and concept is not None:
        factor, confidence = concept
        return replace(
            base, meaning=Meaning.FACTOR, factor=factor.name, is_choice=factor.is_choice, confidence=confidence
        )
    if meaning is not None:
        return replace(base, meaning=meaning, confidence=LIKELY)
    return _by_cells(base, look, is_new=is_new)


def _named_factor(look: Look, factors: Sequence[Factor]) -> Factor | None:
    names = {" ".join(text.split()).casefold() for text in (look.heading, look.name)}
    return next((each for each in factors if each.name.casefold() in names), None)


def _meaning_of(look: Look) -> Meaning | None:
    """Return what the heading says, where the cells do not speak against it."""
    meaning = HEADINGS.get(plain(look.name)) or HEADINGS.get(plain(look.heading))
    if meaning is None:
        return None
    if meaning in (Meaning.DATE, Meaning.TIME, Meaning.MOMENT):
        return _moment_meaning(look)
    if meaning in MASSES:
        fits = look.is_number and look.unit in (*MASS_UNITS, "")
        if meaning is Meaning.PRODUCT and look.unit == "%":
            return Meaning.RECOVERY
        if meaning is Meaning.PRODUCT and plain(look.name) == "yield" and not look.unit:
            return Meaning.NOTE  # a mass or a share: what it is, is not told
        return meaning if fits else None
    if meaning in (Meaning.RECOVERY, Meaning.HUMIDITY, Meaning.PEAK, Meaning.CLEAN, Meaning.TRIALS):
        return meaning if look.is_number else None
    if meaning is Meaning.NUMBER:
        return meaning if look.is_number and not look.unit else None
    if meaning in WORDED:
        words = {plain_word(cell) for cell in look.cells}
        counts = look.is_number and not words <= {"0", "1"}
        if counts and all(cell.isdigit() for cell in look.cells):
            return Meaning.CLEAN
        if counts:
            return Meaning.NOTE  # how well it went is no condition, whatever its numbers say
        return meaning if len(words) <= MOST_WORDS else None
    return meaning


def _moment_meaning(look: Look) -> Meaning | None:
    for kind, meaning in (("stamp", Meaning.MOMENT), ("date", Meaning.DATE), ("clock", Meaning.TIME)):
        if look.moments(kind) >= _MOSTLY:
            return meaning
    both = look.moments("stamp") + look.moments("date")
    return Meaning.MOMENT if both >= _MOSTLY else None


def _concept_of(look: Look, factors: Sequence[Factor]) -> tuple[Factor, str] | None:
    """Return the condition that the heading names, as the campaign has it, or as a new campaign would."""
    name = plain(look.name)
    fitting = [each for each in CONCEPTS if name in each.names and _fits(each, look)]
    found = [(factor, each) for each in fitting if (factor := _as_factor(each, factors)) is not None]
    if not found:
        return None
    if len(found) == 1:
        return found[0][0], LIKELY
    inside = [(share_inside(look.cells, look.unit, factor), factor) for factor, _ in found]
    best = max(inside, key=lambda pair: pair[0])
    return best[1], GUESS


def _fits(concept: Concept, look: Look) -> bool:
    if concept.is_choice:
        return look.numbers < _MOSTLY
    # "stir/min" may be a time in minutes, or turns in a minute.
    rate = (
        "1/min" in concept.units and look.unit in ("min", "s") and plain(look.name) in ("stir", "turns", "strokes")
    )
    return look.numbers > 1 - _MOSTLY and (not look.unit or look.unit in concept.units or rate)


def _as_factor(concept: Concept, factors: Sequence[Factor]) -> Factor | None:
    standard = next(each for each in standard_factors() if each.name == concept.factor)
    if not factors:
        return standard
    named = next((each for each in factors if each.name.casefold() == concept.factor), None)
    if named is None and concept.role is not standard_factors()[4].role:
        alike = [each for each in factors if each.role is concept.role]
        named = alike[0] if len(alike) == 1 else None
    return named if named is not None and named.is_choice == concept.is_choice else None


def _by_cells(base: ColumnPlan, look: Look, *, is_new: bool) -> ColumnPlan:
    """Return what the cells alone say of a column whose heading is not known."""
    moment = _moment_meaning(look)
    if moment is not None:
        return replace(base, meaning=moment)
    words = Counter(plain_word(cell) for cell in look.cells)
    if not look.is_number and len(words) <= MOST_WORDS and all(map(is_outcome_word, words)) and len(words) > 1:
        return replace(base, meaning=Meaning.OUTCOME)
    name = look.name or look.heading
    if look.is_number:
        return replace(base, meaning=Meaning.FACTOR, factor=name, remarks=(Reason("import.new_factor"),))
    is_choice = is_new and 1 < len(words) <= min(MOST_LEVELS, max(2, len(look.cells) // 3))
    if is_choice:
        remarks = (Reason("import.new_factor"),)
        return replace(base, meaning=Meaning.FACTOR, factor=name, is_choice=True, remarks=remarks)
    return replace(base, meaning=Meaning.NOTE, remarks=(Reason("import.kept_in_note"),))


# -- what follows from it ----------------------------------------------------------------------------


def _each_once(columns: Sequence[ColumnPlan]) -> list[ColumnPlan]:
    """Return the columns with the surest one of each meaning; the others are left out, and that is said."""
    best: dict[object, ColumnPlan] = {}
    for column in columns:
        key = _key(column)
        if key is not None and (key not in best or _ORDER[column.confidence] < _ORDER[best[key].confidence]):
            best[key] = column
    chosen = []
    has_gates = Meaning.PARTED in best
    for column in columns:
        key = _key(column)
        other = best[key] if key is not None and best[key] is not column else None
        if other is None and column.meaning in (Meaning.OUTCOME, Meaning.CLEAN) and has_gates:
            other = best[Meaning.PARTED]
        if column.meaning is Meaning.TRIALS and Meaning.CLEAN not in best:
            remark = Reason("import.trials_without_clean")
            chosen.append(replace(column, meaning=Meaning.LEAVE, confidence=GUESS, remarks=(remark,)))
        elif other is None:
            chosen.append(column)
        else:
            remark = Reason("import.another_column", {"column": other.heading})
            chosen.append(replace(column, meaning=Meaning.LEAVE, factor="", confidence=GUESS, remarks=(remark,)))
    return chosen


def _key(column: ColumnPlan) -> object:
    if column.meaning is Meaning.FACTOR:
        return column.factor.casefold()
    return None if column.meaning in MANY else column.meaning


def _with_cells(column: ColumnPlan, look: Look, factors: Sequence[Factor]) -> ColumnPlan:
    """Return the column with what its cells tell: unit, decimal sign, order of dates."""
    meaning = column.meaning
    if meaning in (Meaning.DATE, Meaning.MOMENT):
        order = date_order_of(look.cells)
        return replace(column, unit="", decimal="", dates=order or ASK, is_choice=False)
    if meaning is Meaning.FACTOR and not column.is_choice:
        known = factors or standard_factors()
        factor = next((each for each in known if each.name.casefold() == column.factor.casefold()), None)
        if factor is not None and factor.is_choice:
            return replace(column, is_choice=True, unit="", decimal="", dates="")
        column = replace(column, decimal=decimal_of(look.cells), dates="")
        return settle_unit(column, look.cells, look.unit, factor)
    numeric = {
        *MASSES,
        Meaning.RECOVERY,
        Meaning.HUMIDITY,
        Meaning.PEAK,
        Meaning.CLEAN,
        Meaning.TRIALS,
        Meaning.NUMBER,
    }
    if meaning in numeric:
        usual = "g" if meaning in MASSES else {Meaning.PEAK: "C"}.get(meaning, "%")
        counts = meaning in (Meaning.CLEAN, Meaning.TRIALS, Meaning.NUMBER)
        unit = "" if counts else (look.unit if look.unit and can_convert(look.unit, usual) else usual)
        remarks = column.remarks
        if not counts and not look.unit:
            remarks = (*remarks, Reason("import.unit_taken", {"unit": usual}))
        return replace(column, unit=unit, decimal=decimal_of(look.cells), dates="", remarks=remarks)
    return replace(column, unit="", decimal="", dates="", is_choice=meaning is Meaning.FACTOR)


def _with_table_decimal(columns: Sequence[ColumnPlan]) -> list[ColumnPlan]:
    """Return the columns with the decimal sign of the others where a column alone does not tell it."""
    told = {column.decimal for column in columns} - {"", ASK}
    if len(told) != 1:
        return list(columns)
    sign = told.pop()
    return [
        replace(column, decimal=sign, remarks=(*column.remarks, Reason("import.decimal_of_table", {"sign": sign})))
        if column.decimal == ASK
        else column
        for column in columns
    ]


def with_words(plan: ImportPlan, table: SourceTable) -> ImportPlan:
    """Return the plan with the words of its outcome columns; what was settled of a word before stays."""
    known = {each.key: each.result for each in plan.words if each.result is not None}
    words: list[WordPlan] = []
    for column in plan.having(*WORDED):
        counted: Counter[str] = Counter()
        shown: dict[str, str] = {}
        for cell in table.column(column.place):
            key = plain_word(cell)
            counted[key] += 1
            shown.setdefault(key, cell.strip())
        signs = {"+", "++", "+++", "1"} & counted.keys()
        graded = any(map(is_graded_word, counted))
        for key, count in counted.most_common():
            if is_missing(key) and not (key in ("-", "–") and signs):
                continue
            if OF_TRIALS.match(key):
                continue
            result: Result | None = known.get((column.place, shown[key].casefold()))
            result = result or result_of_word(key, column.meaning, is_graded=graded)
            words.append(WordPlan(column.place, shown[key], count, result))
    return replace(plan, words=tuple(words))
