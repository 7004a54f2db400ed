"""The lots and jars that a table names, against those of the session."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Lot
from stirfall.storage.import_plan import ImportPlan, Meaning

if TYPE_CHECKING:
    from stirfall.storage.import_read import _Reading

MOST_NEW_LOTS = 2_000
_LONGEST_NAME = 80


class Places:
    """Reads lots and jars; a jar that the session does not know stays in the note, for its start is not told."""

    def __init__(self, state: CampaignState | None, reading: _Reading) -> None:
        self._reading = reading
        self._known = {lot.id.strip().casefold(): lot.id for lot in (state.lots if state else ())}
        self._jars = {jar.id.strip().casefold(): jar for jar in (state.jars if state else ())}
        self._first: dict[str, str] = {}
        self.jar_notes: list[str] = []
        self.unclear: list[Reason] = []

    def read(self, plan: ImportPlan) -> tuple[list[str | None], list[str | None]]:
        """Return the lot and the jar of every row."""
        rows = len(self._reading.table.rows)
        lots: list[str | None] = [None] * rows
        jars: list[str | None] = [None] * rows
        for column in plan.having(Meaning.LOT):
            lots = self._reading.each(column, self._lot)
        for column in plan.having(Meaning.JAR):
            names = self._reading.texts(column)
            self.jar_notes = [""] * rows
            unknown = set()
            for at, name in enumerate(names):
                jar = self._jars.get(name.casefold()) if name else None
                if jar is None and name:
                    self.jar_notes[at] = f"jar {name}"
                    unknown.add(name)
                elif jar is not None and jar.planned:
                    self._reading.refuse(at, column, InputError("jar.not_started", id=jar.id))
                elif jar is not None and lots[at] not in (None, jar.lot_id):
                    params = {"jar": jar.id, "lot": lots[at], "jar_lot": jar.lot_id}
                    self._reading.refuse(at, column, InputError("attempt.lot_differs", **params))
                elif jar is not None:
                    jars[at], lots[at] = jar.id, jar.lot_id
            if unknown:
                few = ", ".join(sorted(unknown)[:6])
                self._reading.news.append(Reason("import.jars_in_note", {"count": len(unknown), "names": few}))
        return lots, jars

    def _lot(self, cell: str) -> str:
        name = str(" ".join(cell.split()))
        if len(name) > _LONGEST_NAME:
            raise InputError("import.name_too_long", most=_LONGEST_NAME)
        key = name.casefold()
        return self._known.get(key) or self._first.setdefault(key, name)

    def new_lots(self, used: Collection[str | None]) -> tuple[Lot, ...]:
        """Return the lots that the attempts name and the session has not."""
        lots = tuple(Lot(name) for name in self._first.values() if name in used)
        if len(lots) > MOST_NEW_LOTS:
            self.unclear.append(Reason("import.too_many_lots", {"count": len(lots), "most": MOST_NEW_LOTS}))
        return lots
