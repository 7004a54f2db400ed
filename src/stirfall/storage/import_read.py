"""A table read under a plan: values in the campaign's units, results from words, and every cell that is refused."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, tzinfo
from typing import TypeVar

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import Conditions, Factor, Scale, Value
from stirfall.bench.records import Attempt, Masses
from stirfall.bench.run_facts import NO_FACTS, RunFacts
from stirfall.storage.import_cells import ERROR_CELL, FORMULA_CELL, is_missing, kind_of_cell
from stirfall.storage.import_dates import MomentReader, has_zone
from stirfall.storage.import_factors import FactorTable
from stirfall.storage.import_numbers import read_number, read_quantity
from stirfall.storage.import_origin import origin_note
from stirfall.storage.import_places import Places
from stirfall.storage.import_plan import MASSES, ColumnPlan, ImportPlan, Meaning
from stirfall.storage.import_results import Results, graded
from stirfall.storage.import_source import SourceTable
from stirfall.storage.import_twins import find_twins
from stirfall.storage.import_words import is_note
from stirfall.storage.imported import Imported, RefusedCell
from stirfall.storage.log_times import SystemZone

T = TypeVar("T")
_EMPTY = Masses()
_MOST_TEXT = 4_000


def read_with(
    plan: ImportPlan,
    table: SourceTable,
    state: CampaignState | None = None,
    *,
    zone: tzinfo | None = None,
) -> Imported:
    """Return what the rows of a table become; a row with a refused cell is left out as a whole.

    ``zone`` is that of the dates and times where a cell names none, by default that of this computer. Nothing is
    raised for what a table says: it is refused cell by cell, or ``unclear``.
    """
    return _Reading(plan, table, state, zone or SystemZone()).imported()


@dataclass
class _Reading:
    """Reads column by column, then puts the rows together."""

    plan: ImportPlan
    table: SourceTable
    state: CampaignState | None
    zone: tzinfo
    refused: list[RefusedCell] = field(default_factory=list)
    news: list[Reason] = field(default_factory=list)
    unclear: list[Reason] = field(default_factory=list)

    def imported(self) -> Imported:
        table, plan = self.table, self.plan
        self.unclear += plan.unclear()
        for row, text in table.longer:
            self.refused.append(RefusedCell(row, "", text, InputError("import.beyond_headings")))
        factors = FactorTable(self.state, plan.widens)
        conditions = self._conditions(factors)
        moments = self._moments()
        results = Results(plan, self).read()
        places = Places(self.state, self)
        lots, jars = places.read(plan)
        masses = {MASSES[each.meaning]: self._masses(each) for each in plan.having(*MASSES)}
        facts = self._facts()
        numbers = self._numbers()
        notes = self._notes(places.jar_notes)
        bad_rows = {each.row for each in self.refused}
        made: list[Attempt] = []
        rows: list[int] = []
        for at, row in enumerate(table.row_numbers):
            if row in bad_rows:
                continue
            try:
                attempt = Attempt(
                    id="",
                    number=numbers[at] if self._keeps_numbers else 0,
                    conditions=Conditions(conditions[at]),
                    started_at=moments[at],
                    lot_id=lots[at],
                    jar_id=jars[at],
                    masses=Masses(**{name: values[at] for name, values in masses.items()}) if masses else _EMPTY,
                    note=f"{notes[at]} {self._origin(row, numbers[at])}".lstrip(),
                    facts=facts[at],
                    **graded(results[at]),
                )
            except InputError as error:
                self.refused.append(RefusedCell(row, "", "", error))
                continue
            made.append(attempt)
            rows.append(row)
        return self._whole(made, rows, factors, places)

    def _whole(self, made: list[Attempt], rows: list[int], factors: FactorTable, places: Places) -> Imported:
        settled = factors.settled(made)
        self.unclear += settled.unclear
        self.news += settled.news
        twins = find_twins(made, rows, self.state)
        if twins and not self.plan.takes_twins:
            away = {each.row for each in twins}
            kept = [(attempt, row) for attempt, row in zip(made, rows, strict=True) if row not in away]
            made, rows = [attempt for attempt, _ in kept], [row for _, row in kept]
        lots = places.new_lots({each.lot_id for each in made})
        if lots:
            names = ", ".join(lot.id for lot in lots[:8])
            self.news.append(Reason("import.new_lots", {"count": len(lots), "names": names}))
        self.unclear += places.unclear
        return Imported(
            name=f"{self.table.name}, {self.table.sheet}" if self.table.sheet else self.table.name,
            attempts=tuple(made),
            rows=tuple(rows),
            lots=lots,
            factors=settled.factors,
            news=tuple(self.news),
            refused=tuple(sorted(self.refused, key=lambda each: each.row)),
            twins=twins,
            unclear=tuple(self.unclear),
            rows_read=len(self.table.rows),
            outside=settled.outside,
        )

    # -- columns -----------------------------------------------------------------------------------

    def each(self, column: ColumnPlan, read: Callable[[str], T]) -> list[T | None]:
        """Return what every cell of a column says, None where it is blank or refused."""
        if column.is_open:  # what is asked about a column is settled before its cells are judged
            return [None] * len(self.table.rows)
        values: list[T | None] = []
        known: dict[str, T] = {}
        place = column.place
        for cells, row in zip(self.table.rows, self.table.row_numbers, strict=True):
            cell = cells[place]
            value: T | None = None
            if not is_missing(cell) or kind_of_cell(cell):
                if type(cell) is str and cell in known:
                    value = known[cell]
                else:
                    try:
                        refuse_formula(cell)
                        value = read(cell)
                        if type(cell) is str and len(known) < _MOST_TEXT:
                            known[cell] = value
                    except StirfallError as error:
                        self.refused.append(RefusedCell(row, column.heading, cell, error))
            values.append(value)
        return values

    def refuse(self, at: int, column: ColumnPlan, error: StirfallError) -> None:
        """Refuse the cell of a column in the row at a place."""
        row = self.table.row_numbers[at]
        self.refused.append(RefusedCell(row, column.heading, self.table.rows[at][column.place], error))

    def texts(self, column: ColumnPlan) -> list[str | None]:
        """Return the cells of a column as text."""
        return self.each(column, lambda cell: str(" ".join(cell.split())) or None)

    def _conditions(self, factors: FactorTable) -> list[list[tuple[str, Value]]]:
        rows: list[list[tuple[str, Value]]] = [[] for _ in self.table.rows]
        for column in self.plan.having(Meaning.FACTOR):
            if not column.factor or column.is_open:
                continue
            factor = factors.wanted(column)
            read = factors.level_reader(factor) if factor.is_choice else self._number_reader(column, factor)
            name = factor.name
            for row, value in zip(rows, self.each(column, read), strict=True):
                if value is not None:
                    row.append((name, value))
        return rows

    @staticmethod
    def _number_reader(column: ColumnPlan, factor: Factor) -> Callable[[str], Value]:
        is_log = factor.scale is Scale.LOG

        def read(cell: str) -> Value:
            value = read_quantity(cell, column.decimal, column.unit, factor.unit)
            if is_log and value <= 0:
                raise InputError("value.log_needs_positive", name=factor.name, value=value)
            return value

        return read

    def _moments(self) -> list[datetime | None]:
        stamps = self.plan.having(Meaning.MOMENT)
        if any(not has_zone(cell) for each in (*stamps, *self.plan.having(Meaning.DATE)) for cell in each.examples):
            here = Reason("import.zone_here") if isinstance(self.zone, SystemZone) else str(self.zone)
            self.news.append(Reason("import.zone", {"zone": here}))
        if stamps:
            return self.each(stamps[0], MomentReader(stamps[0].dates, self.zone).stamp)
        days = self.plan.having(Meaning.DATE)
        if not days:
            if self.plan.having(Meaning.TIME):
                self.news.append(Reason("import.time_without_date"))
            return [None] * len(self.table.rows)
        reader = MomentReader(days[0].dates, self.zone)
        clocks = self.plan.having(Meaning.TIME)
        if not clocks:
            self.news.append(Reason("import.noon"))
            return self.each(days[0], lambda cell: reader.day(cell, ""))
        found: list[datetime | None] = []
        for at, day in enumerate(self.each(days[0], str)):
            clock = self.table.rows[at][clocks[0].place]
            moment = None
            if day is not None:
                try:
                    moment = reader.day(day, clock)
                except InputError as error:
                    self.refuse(at, clocks[0] if error.code == "import.no_clock" else days[0], error)
            found.append(moment)
        return found

    def _masses(self, column: ColumnPlan) -> list[float | None]:
        def read(cell: str) -> float:
            value = read_quantity(cell, column.decimal, column.unit, "g")
            if value < 0:
                raise InputError("mass.negative", name=str(column.meaning), value=value)
            return value

        return self.each(column, read)

    def _facts(self) -> list[RunFacts]:
        values: dict[str, list[object]] = {}
        for column in self.plan.having(Meaning.OPERATOR, Meaning.TOOL, Meaning.HUMIDITY, Meaning.PEAK):
            if column.meaning in (Meaning.OPERATOR, Meaning.TOOL):
                values[str(column.meaning)] = [each or "" for each in self.texts(column)]
            else:
                name, unit = ("room_rh_percent", "%") if column.meaning is Meaning.HUMIDITY else ("peak_c", "C")
                values[name] = list(self.each(column, _fact_reader(column, name, unit)))
        if not values:
            return [NO_FACTS] * len(self.table.rows)
        names = list(values)
        made: dict[tuple[object, ...], RunFacts] = {}
        found = []
        for row in zip(*values.values(), strict=True):
            if row not in made:
                made[row] = RunFacts(**dict(zip(names, row, strict=True)))
            found.append(made[row])
        return found

    # -- numbers, notes and where it comes from ----------------------------------------------------

    def _numbers(self) -> list[int]:
        columns = self.plan.having(Meaning.NUMBER)
        if not columns:
            self._keeps_numbers = False
            return [0] * len(self.table.rows)
        numbers = [each or 0 for each in self.each(columns[0], lambda cell: _number(cell, columns[0].decimal))]
        is_free = self.state is None or not self.state.attempts
        self._keeps_numbers = is_free and 0 not in numbers and len(set(numbers)) == len(numbers)
        if not self._keeps_numbers:
            self.news.append(Reason("import.numbers_go_on"))
        return numbers

    def _origin(self, row: int, number: int) -> str:
        return origin_note(self.table.name, self.table.sheet, row, number, self.table.sha256)

    def _notes(self, jar_notes: Sequence[str]) -> list[str]:
        parts: list[list[str]] = [[note] if note else [] for note in jar_notes] or [[] for _ in self.table.rows]
        for column in self.plan.having(Meaning.NOTE, Meaning.RECOVERY):
            label = "" if is_note(column.heading) else f"{column.heading}: "
            texts = self.texts(column)
            if column.meaning is Meaning.RECOVERY:
                self.news.append(Reason("import.recovery_in_note", {"column": column.heading}))
            for row, text in zip(parts, texts, strict=True):
                if text:
                    row.append(f"{label}{text}")
        return ["; ".join(row) for row in parts]


def refuse_formula(cell: str) -> None:
    """Raise InputError for a formula, and for an error that a formula gave: neither is a value."""
    kind = kind_of_cell(cell)
    if kind == FORMULA_CELL:
        stored = str(cell)
        raise InputError("import.formula_with_value" if stored else "import.formula", stored=stored)
    if kind == ERROR_CELL:
        raise InputError("import.error_cell", text=str(cell))
    if not kind and cell.startswith("=") and len(cell) > 1:
        raise InputError("import.formula")


def _fact_reader(column: ColumnPlan, name: str, unit: str) -> Callable[[str], float]:
    def read(cell: str) -> float:
        value = read_quantity(cell, column.decimal, column.unit, unit)
        replace(NO_FACTS, **{name: value})  # type: ignore[arg-type]  # it checks the number
        return value

    return read


def _number(cell: str, decimal: str) -> int:
    value = read_number(cell, decimal)
    if value < 1 or value != int(value) or value > 10**9:
        raise InputError("import.no_attempt_number", text=cell)
    return int(value)
