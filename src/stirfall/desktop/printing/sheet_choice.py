"""Which sheet of labels is in the printer: the usual kinds, and entries for one's own; pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.units import parse_quantity
from stirfall.reporting.label_sheet import LabelSheet, one_by_one, paper_size, sheet_by_grid, sheet_by_size

OWN_GRID, OWN_SIZE, OWN_SINGLE = "own grid", "own size", "own single"
_MOST_COUNT = 60


@dataclass(frozen=True)
class SheetKind:
    """One kind of sheet in the list: its title, and how it is made (None: from the entries)."""

    key: str
    title: str
    make: Callable[[], LabelSheet] | None = None


KINDS: tuple[SheetKind, ...] = (
    SheetKind("a4 3x8", "A4, 3 × 8 labels of 70 × 37 mm", lambda: sheet_by_grid("A4", 3, 8)),
    SheetKind("a4 2x8", "A4, 2 × 8 labels of 105 × 37 mm", lambda: sheet_by_grid("A4", 2, 8)),
    SheetKind("a4 2x7", "A4, 2 × 7 labels of 105 × 42 mm", lambda: sheet_by_grid("A4", 2, 7)),
    SheetKind("a4 2x4", "A4, 2 × 4 labels of 105 × 74 mm", lambda: sheet_by_grid("A4", 2, 4)),
    SheetKind(
        "letter 2x5",
        "US Letter, 2 × 5 labels of 4 × 2 inches",
        lambda: sheet_by_size("US Letter", (101.6, 50.8), (4.8, 0.0)),
    ),
    SheetKind(
        "letter 2x7",
        "US Letter, 2 × 7 labels of 4 × 1⅓ inches",
        lambda: LabelSheet("US Letter", paper_size("US Letter"), 2, 7, (101.6, 33.87), (4.8, 0.0)),
    ),
    SheetKind("single", "One by one, 70 × 37 mm", one_by_one),
    SheetKind(OWN_GRID, "Own columns and rows"),
    SheetKind(OWN_SIZE, "Own size of label"),
    SheetKind(OWN_SINGLE, "One by one, own size"),
)

# The entries that each own kind asks for.
ASKED: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        OWN_GRID: ("paper", "columns", "rows", "gap_x", "gap_y"),
        OWN_SIZE: ("paper", "width", "height", "gap_x", "gap_y"),
        OWN_SINGLE: ("width", "height"),
    }
)
LABELS: Mapping[str, str] = MappingProxyType(
    {
        "columns": "Columns",
        "rows": "Rows",
        "width": "Label width, mm",
        "height": "Label height, mm",
        "gap_x": "Gap across, mm",
        "gap_y": "Gap down, mm",
    }
)
_FIRST = {"columns": "3", "rows": "8", "width": "70", "height": "37", "gap_x": "0", "gap_y": "0"}


@dataclass(frozen=True)
class SheetForm:
    """The kind that was chosen, the paper, and the entries for an own kind, raw."""

    kind: str = KINDS[0].key
    paper: str = "A4"
    texts: Mapping[str, str] = field(default_factory=lambda: dict(_FIRST))

    @property
    def asked(self) -> tuple[str, ...]:
        """The entries that this kind asks for."""
        return ASKED.get(self.kind, ())


USUAL_SHEET = SheetForm()


def read_sheet(form: SheetForm) -> tuple[LabelSheet | None, Reason | None]:
    """Return the sheet that the form means, or what is wrong with it."""
    kind = next(each for each in KINDS if each.key == form.kind)
    try:
        return (kind.make() if kind.make is not None else _own(form)), None
    except InputError as error:
        return None, Reason(error.code, dict(error.params))


def _own(form: SheetForm) -> LabelSheet:
    def length(name: str) -> float:
        return parse_quantity(form.texts.get(name, ""), "mm")

    if form.kind == OWN_SINGLE:
        return one_by_one((length("width"), length("height")))
    gap = (length("gap_x"), length("gap_y"))
    if form.kind == OWN_SIZE:
        return sheet_by_size(form.paper, (length("width"), length("height")), gap)
    return sheet_by_grid(form.paper, _count(form.texts["columns"]), _count(form.texts["rows"]), gap)


def _count(text: str) -> int:
    if not text.strip().isdecimal() or not 1 <= int(text) <= _MOST_COUNT:
        raise InputError("labels.grid", text=text.strip() or "?")
    return int(text)
