"""The tables of the open text form: their columns, and how a record becomes a row and a row a record."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar, cast

from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import AgeOverride, Attempt, CampaignSettings, Jar, Lot, Masses, Origin
from stirfall.bench.run_facts import NO_FACTS, NO_SHEET, RunFacts, WeighingSheet
from stirfall.bench.substances import Substances
from stirfall.storage.compact import compact, expand
from stirfall.storage.package_cells import (
    FLAG,
    ID,
    INTEGER,
    LIST,
    MAYBE_ID,
    MAYBE_INTEGER,
    MAYBE_NUMBER,
    MAYBE_TEXT,
    MAYBE_TIME,
    NUMBER,
    OBJECT,
    TEXT,
    TIME,
    CellKind,
    one_of,
    one_of_levels,
    or_unknown,
    read_number,
    read_text,
    write_number,
    write_text,
)

Row = Mapping[str, object]
T = TypeVar("T")
CONDITION = "condition: "
REQUIRED = object()
"""Marks a column that every package has; any other default is that of packages older than the column."""
_MASSES = ("charge_g", "product_g", "beads_g", "residue_g", "additive_g")


@dataclass(frozen=True)
class Column:
    """One column: heading, kind of cell, meaning, what packages older than it meant, and the unit of its numbers.

    Where no unit is given the ending of the name tells it, such as ``_g``.
    """

    name: str
    kind: CellKind
    meaning: str
    default: object = REQUIRED
    unit: str | None = None


@dataclass(frozen=True)
class Table(Generic[T]):
    """One CSV file: its columns, key, links to other tables, and the two ways between record and row."""

    name: str
    columns: tuple[Column, ...]
    to_row: Callable[[T], Row]
    from_row: Callable[[Row], T]
    key: str | None = None
    links: tuple[tuple[str, str], ...] = ()

    @cached_property
    def json_columns(self) -> tuple[str, ...]:
        """The columns whose cells bring lists or objects, whose content must be checked."""
        return tuple(column.name for column in self.columns if column.kind in (LIST, OBJECT))

    @property
    def file_name(self) -> str:
        """The file that holds the table."""
        return f"{self.name}.csv"


def columns(
    *described: Column | tuple[str, CellKind, str] | tuple[str, CellKind, str, object],
) -> tuple[Column, ...]:
    """Return the columns that are described: heading, kind, meaning, and what packages older than it meant."""
    return tuple(each if isinstance(each, Column) else Column(*each) for each in described)


# ------------------------------------------------------------------------------------------------------- settings


def _settings_row(settings: CampaignSettings) -> Row:
    return vars(settings) | {
        "humps": list(settings.humps),
        "products": [list(pair) for pair in settings.products],
        "substances": compact(settings.substances),
        "plan": compact(settings.plan),
    }


def _settings(row: Row) -> CampaignSettings:
    pairs = cast(list[list[str]], row["products"])
    humps = cast(list[str], row["humps"])
    values = dict(row) | {
        "humps": tuple(humps),
        "products": tuple((first, second) for first, second in pairs),
        "substances": expand(Substances, cast("dict[str, object]", row["substances"])),
        "plan": expand(PlanSettings, cast("dict[str, object]", row["plan"])),
    }
    return CampaignSettings(**values)  # type: ignore[arg-type]


SETTINGS = Table(
    "settings",
    columns(
        ("title", TEXT, "Name of the campaign."),
        ("material", one_of(MaterialClass), "Hazard class of the metal."),
        ("metal", TEXT, "What the metal is, in words."),
        ("melting_point_c", MAYBE_NUMBER, "Melting point in degrees Celsius."),
        ("oil", TEXT, "What the oil is, in words."),
        ("oil_flash_c", MAYBE_NUMBER, "Flash point of this very oil in degrees Celsius."),
        ("invented", FLAG, "Whether the whole campaign is invented, for learning the tool."),
        ("gates", INTEGER, "1: clean or not. 2: parted, then pooled."),
        ("level", NUMBER, "Level of the intervals, between 0.5 and 1."),
        ("intercept_prior_sd", NUMBER, "Standard deviation of the normal prior of the intercept."),
        ("effect_prior_sd", NUMBER, "Standard deviation of the normal prior of each effect."),
        ("humps", LIST, "Factors with a squared term, a JSON array."),
        ("products", LIST, "Pairs of factors with a product term, a JSON array of arrays."),
        ("partly", TEXT, "What partly parted is to the model: failed, success or ordinal.", "failed"),
        ("lot_effect", TEXT, "What attempts share: lot, jar, bench, none, or a choice factor.", "lot"),
        ("lot_sd_prior", NUMBER, "Scale of the half-normal prior of the lots' standard deviation.", 1.0),
        ("form", TEXT, "The form of the model that is pinned; empty: all forms, weighed.", ""),
        ("substances", OBJECT, "What is known of metal, solids, oil, additives, vessel and limits, JSON.", {}),
        ("plan", OBJECT, "How the person works, and how well factors are held, JSON.", {}),
        ("bench_name", TEXT, "What this bench is called where benches are pooled.", ""),
    ),
    _settings_row,
    _settings,
)


# -------------------------------------------------------------------------------------------------------- factors


def _factor_row(factor: Factor) -> Row:
    default = factor.default
    shown = None
    if default is not None:
        # A level may be the empty word; one apostrophe tells it from "no default".
        shown = (write_text(default) or "'") if isinstance(default, str) else write_number(default)
    return vars(factor) | {"levels": list(factor.levels), "default": shown}


def _factor(row: Row) -> Factor:
    values = dict(row)
    levels = tuple(cast(list[str], values["levels"]))
    shown = cast("str | None", values["default"])
    default: Value | None = None
    if shown is not None:
        default = read_text(shown) if levels else read_number(shown)
    return Factor(**(values | {"levels": levels, "default": default}))  # type: ignore[arg-type]


_BARE_DEFAULT = CellKind("default", "string", lambda value: str(value or ""), lambda cell: cell or None)

FACTORS = Table(
    "factors",
    columns(
        ("name", ID, "Name of the factor; the attempts hold it in the column 'condition: name'."),
        ("unit", TEXT, "Unit of the numbers."),
        ("low", MAYBE_NUMBER, "Lowest value of the campaign's range."),
        ("high", MAYBE_NUMBER, "Highest value of the campaign's range."),
        ("scale", one_of(Scale), "Scale on which the number is thought to act."),
        ("step", MAYBE_NUMBER, "Step of the form."),
        ("levels", LIST, "Levels of a choice, a JSON array; empty for a number."),
        ("role", one_of(Role), "What the factor means to limits and clock."),
        ("default", _BARE_DEFAULT, "What a new form shows."),
        ("hidden", FLAG, "Whether forms and models leave the factor out."),
    ),
    _factor_row,
    _factor,
    key="name",
)


# ---------------------------------------------------------------------------------------------------- lots and jars

LOTS = Table(
    "lots",
    columns(
        ("id", ID, "Short name of the lot of crude."),
        ("made_at", MAYBE_TIME, "When the lot was made, UTC."),
        ("solids_percent", MAYBE_NUMBER, "Fine solids by mass, per cent."),
        ("note", TEXT, "Free note."),
        ("metal_percent", MAYBE_NUMBER, "Metal in the crude by assay, per cent by mass.", None),
        ("metal_u_percent", MAYBE_NUMBER, "Standard uncertainty of the metal, per cent by mass.", None),
        ("assays", MAYBE_INTEGER, "Number of assays behind it.", None),
    ),
    vars,
    lambda row: Lot(**row),  # type: ignore[arg-type]
    key="id",
)

JARS = Table(
    "jars",
    columns(
        ("id", ID, "Short name of the jar."),
        ("lot_id", ID, "The lot in the jar."),
        ("started_at", TIME, "When the charge went under oil, UTC."),
        ("oil", TEXT, "What the oil is, in words."),
        ("oil_depth_mm", MAYBE_NUMBER, "Depth of oil over the metal, millimetres."),
        ("lid", TEXT, "State of the lid."),
        ("charge_g", MAYBE_NUMBER, "Mass of the charge, grams."),
        ("note", TEXT, "Free note."),
        ("emptied_at", MAYBE_TIME, "When the jar was emptied, UTC; empty while it stands on the shelf."),
        ("inner_diameter_mm", MAYBE_NUMBER, "Inner diameter of the jar, millimetres.", None),
        ("headspace_mm", MAYBE_NUMBER, "Height of the gas over the oil, millimetres.", None),
        ("piece_count", MAYBE_INTEGER, "Number of pieces of metal.", None),
        ("piece_mm", MAYBE_NUMBER, "Typical size of a piece, millimetres.", None),
        ("metal_area_cm2", MAYBE_NUMBER, "Area of all the metal, square centimetres.", None),
        ("material", TEXT, "What the jar is made of: glass, plastic, metal; empty: unknown.", ""),
        ("oil_history", TEXT, "New, reused, dried or degassed oil; empty: unknown.", ""),
        ("storage_c", MAYBE_NUMBER, "Temperature where the jar stands, degrees Celsius.", None),
        ("room_rh_percent", MAYBE_NUMBER, "Relative humidity of the room, per cent.", None),
        ("contents", TEXT, "crude, or residue that waits for disposal.", "crude"),
        ("look", TEXT, "How the surface looked when it was inspected; empty: not noted.", ""),
        ("looked_at", MAYBE_TIME, "When it was inspected, UTC.", None),
        ("planned", FLAG, "Whether the jar is not started yet; started_at then says when it shall be.", False),
    ),
    vars,
    lambda row: Jar(**row),  # type: ignore[arg-type]
    key="id",
    links=(("lot_id", "lots"),),
)


# ------------------------------------------------------------------------------------------------------- attempts


def condition_kinds(state: CampaignState) -> dict[str, CellKind]:
    """Return the kind of each condition column: one per factor and per name that an attempt uses.

    Raises InputError ``package.mixed_condition`` when numbers and words stand under one name.
    """
    kinds = {factor.name: condition_kind(factor) for factor in state.factors}
    for attempt in state.attempts:
        for name, value in attempt.conditions.items():
            is_text = isinstance(value, str)
            kind = kinds.setdefault(name, MAYBE_TEXT if is_text else MAYBE_NUMBER)
            if (kind.type == "string") is not is_text:
                raise InputError("package.mixed_condition", name=name, number=attempt.number)
            if kind.words and kind.write(value) not in kind.words:
                kinds[name] = MAYBE_TEXT
    return kinds


def condition_kind(factor: Factor) -> CellKind:
    """Return the kind of the column in which attempts hold the values of a factor."""
    return one_of_levels(factor.levels) if factor.is_choice else MAYBE_NUMBER


def _attempt_row(attempt: Attempt) -> Row:
    overrides = [{"factor": o.factor, "computed": o.computed, "reason": o.reason} for o in attempt.overrides]
    conditions = {CONDITION + name: value for name, value in attempt.conditions.items()}
    return (
        vars(attempt)
        | vars(attempt.masses)
        | conditions
        | {
            "overrides": overrides,
            "facts": compact(attempt.facts),
            "sheet": compact(attempt.sheet),
            "origin": {} if attempt.origin is None else dict(vars(attempt.origin)),
        }
    )


def _attempt(row: Row) -> Attempt:
    values = {name: value for name, value in row.items() if not name.startswith(CONDITION) and name not in _MASSES}
    conditions = [
        (name.removeprefix(CONDITION), cast(Value, value))
        for name, value in row.items()
        if name.startswith(CONDITION) and value is not None
    ]
    overrides = cast(list[dict[str, object]], values["overrides"])
    return Attempt(
        **values  # type: ignore[arg-type]
        | {
            "conditions": Conditions(conditions),
            "masses": Masses(*(cast("float | None", row[name]) for name in _MASSES)),
            "overrides": tuple(AgeOverride(**override) for override in overrides),  # type: ignore[arg-type]
            # Shared where they say nothing: there may be very many attempts.
            "facts": expand(RunFacts, cast("dict[str, object]", row["facts"])) if row["facts"] else NO_FACTS,
            "sheet": expand(WeighingSheet, cast("dict[str, object]", row["sheet"])) if row["sheet"] else NO_SHEET,
            "origin": Origin(**cast("dict[str, Any]", row["origin"])) if row["origin"] else None,
        }
    )


def attempts_table(kinds: Mapping[str, CellKind], units: Mapping[str, str]) -> Table[Attempt]:
    """Return the table of attempts with one wide column per condition."""
    conditions = [
        Column(
            CONDITION + name,
            kind,
            f"The value really reached, {units.get(name) or 'no unit'}; empty: unknown.",
            unit=units.get(name, ""),
        )
        for name, kind in kinds.items()
    ]
    masses = [(name, MAYBE_NUMBER, "Mass in grams; empty: not weighed.") for name in _MASSES]
    described = columns(
        ("id", ID, "Identity of the attempt; never changes."),
        ("number", INTEGER, "What people call the attempt."),
        ("started_at", MAYBE_TIME, "When stirring began, UTC."),
        ("recorded_at", MAYBE_TIME, "When it was written down, UTC."),
        ("lot_id", MAYBE_ID, "The lot."),
        ("jar_id", MAYBE_ID, "The jar."),
        *conditions,
        ("parted", or_unknown(one_of(Parted)), "Gate 1: did the solids leave the metal?"),
        ("pooled", or_unknown(one_of(Pooled)), "Gate 2: did the metal become one pool?"),
        ("successes", MAYBE_INTEGER, "Clean results, where counted instead of graded."),
        ("trials", INTEGER, "Trials behind the count."),
        ("aborted", FLAG, "Whether the attempt was broken off."),
        ("abort_reason", TEXT, "Why it was broken off."),
        *masses,
        ("note", TEXT, "Free note."),
        ("overrides", LIST, "Ages typed by hand, a JSON array of objects: factor, computed, reason."),
        ("struck_reason", MAYBE_TEXT, "Why the attempt no longer counts; empty while it counts."),
        ("invented", FLAG, "Whether the attempt is invented, for learning the tool."),
        (
            "facts",
            OBJECT,
            "What was seen: look, humidity, temperatures, cautions ticked, warnings accepted, JSON.",
            {},
        ),
        ("sheet", OBJECT, "How it was weighed: tares, balance step, oil removal, bead size, purity, JSON.", {}),
        ("run_id", MAYBE_ID, "The guided run that it came from; empty: none.", None),
        ("proof_id", MAYBE_ID, "The proof that it belongs to; empty: none.", None),
        ("origin", OBJECT, "Where a pooled attempt was made: bench, session, fingerprint, attempt_id, number.", {}),
    )
    links = (("lot_id", "lots"), ("jar_id", "jars"))
    return Table("attempts", described, _attempt_row, _attempt, key="id", links=links)


# --------------------------------------------------------------------------------- corrections, checklist ticks

CORRECTIONS = Table(
    "corrections",
    columns(
        ("at", TIME, "When the change was made, UTC."),
        ("kind", TEXT, "Kind of record."),
        ("record_id", TEXT, "Which record."),
        ("field", TEXT, "Which field."),
        ("old", TEXT, "The value before, JSON."),
        ("new", TEXT, "The value after, JSON."),
        ("reason", TEXT, "Why it was changed."),
        ("command", TEXT, "The act that changed it."),
    ),
    vars,
    lambda row: Correction(**row),  # type: ignore[arg-type]
)


def _tick_row(tick: ChecklistTick) -> Row:
    return vars(tick) | {"keys": list(tick.keys)}


def _tick(row: Row) -> ChecklistTick:
    return ChecklistTick(**(dict(row) | {"keys": tuple(cast(Iterable[str], row["keys"]))}))  # type: ignore[arg-type]


TICKS = Table(
    "checklist",
    columns(
        ("day", TEXT, "Local day of the start checklist."),
        ("ticked_at", TIME, "When it was ticked, UTC."),
        ("material", TEXT, "Hazard class of the metal on that day."),
        ("keys", LIST, "Lines that were ticked, a JSON array."),
    ),
    _tick_row,
    _tick,
)
