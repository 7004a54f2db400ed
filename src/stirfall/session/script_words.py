"""The words of scripts: what ``Campaign`` takes by name, and how it becomes what a session keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from enum import StrEnum
from typing import SupportsFloat, TypedDict, TypeVar

from stirfall.bench.ages import as_utc, read_stamp
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PlanSettings
from stirfall.bench.records import Attempt, Masses, find_factor
from stirfall.bench.run_facts import WeighingSheet
from stirfall.bench.substances import Substances
from stirfall.bench.typed import read_conditions, read_grade

Given = Mapping[str, str | SupportsFloat | None]
_Grade = TypeVar("_Grade", bound=StrEnum)


class OtherSettings(TypedDict, total=False):
    """Further settings that ``Campaign.new`` takes; they mean what they mean in ``CampaignSettings``."""

    title: str
    metal: str
    oil: str
    gates: int
    level: float
    intercept_prior_sd: float
    effect_prior_sd: float
    humps: tuple[str, ...]
    products: tuple[tuple[str, str], ...]
    partly: str
    lot_effect: str
    lot_sd_prior: float
    form: str
    substances: Substances
    plan: PlanSettings


class BatchValues(TypedDict, total=False):
    """A batch of another size by name, in g, mL, mm and s; what is left out is as usual, or unknown."""

    charge_g: float
    from_g: float
    vessel_ml: float
    vessel_mm: float
    stirrer_mm: float
    jar_mm: float
    oil_ml: float
    heat_up_s: float


class SheetValues(TypedDict, total=False):
    """How an attempt was weighed, as in ``WeighingSheet``; ``tares`` by the name of the mass, such as product_g."""

    tares: Mapping[str, float]
    step_g: float
    oil_removed: str
    bead_mm: float
    purity_percent: float
    purity_u_percent: float


class FactValues(TypedDict, total=False):
    """What was seen at the bench, as in ``RunFacts``; None takes a value back."""

    look: str
    room_rh_percent: float | None
    oil_ml: float | None
    peak_c: float | None
    lifted_at_c: float | None
    operator: str
    tool: str


class AttemptChanges(FactValues, total=False):
    """What ``Campaign.correct`` can change; ``conditions`` names only the values that change, None removes one."""

    conditions: Given
    parted: str | None
    pooled: str | None
    clean: bool | int | None
    trials: int
    lot: str
    jar: str
    at: datetime | str
    note: str
    masses: Mapping[str, float] | Masses
    sheet: SheetValues | WeighingSheet
    aborted: bool | str


def moment(at: datetime | str | None) -> datetime | None:
    """Return a moment in UTC from what a script gave, None where it gave none; raises InputError ``time.*``."""
    if at is None:
        return None
    return read_stamp(at) if isinstance(at, str) else as_utc(at)


def weighed(masses: Mapping[str, float] | Masses | None) -> Masses:
    """Return masses from what a script gave; raises InputError ``script.mass_unknown``."""
    if isinstance(masses, Masses):
        return masses
    known = tuple(vars(Masses()))
    for name in masses or {}:
        if name not in known:
            raise InputError("script.mass_unknown", name=name, known=", ".join(known))
    return Masses(**dict(masses or {}))


def weighing_sheet(sheet: SheetValues | WeighingSheet | None) -> WeighingSheet:
    """Return a weighing sheet from what a script gave; raises InputError ``script.sheet_unknown``."""
    if isinstance(sheet, WeighingSheet):
        return sheet
    given: SheetValues = sheet or {}
    tares = given.get("tares", {})
    for names, known in ((given, vars(WeighingSheet())), (tares, vars(Masses()))):
        for name in names:
            if name not in known:
                raise InputError("script.sheet_unknown", name=name, known=", ".join(known))
    return WeighingSheet(
        tares=tuple(tares.items()),
        step_g=given.get("step_g"),
        oil_removed=given.get("oil_removed", ""),
        bead_mm=given.get("bead_mm"),
        purity_percent=given.get("purity_percent"),
        purity_u_percent=given.get("purity_u_percent"),
    )


def grade(given: str | None, kind: type[_Grade]) -> _Grade | None:
    """Return a grade from the word that a script gave, None where it gave none."""
    return None if given is None else read_grade(given, kind)


def whole_count(given: SupportsFloat, name: str) -> int:
    """Return a count of any number type as a plain one; raises InputError ``script.not_a_count``."""
    try:
        number = float(given)
    except (TypeError, ValueError):
        raise InputError("script.not_a_count", name=name, value=given) from None
    if not number.is_integer():
        raise InputError("script.not_a_count", name=name, value=number)
    return int(number)


def changed_fields(factors: tuple[Factor, ...], attempt: Attempt, changes: AttemptChanges) -> dict[str, object]:
    """Turn the words of ``correct`` into fields of ``Attempt``."""
    fields: dict[str, object] = {}
    if "conditions" in changes:
        given = changes["conditions"]
        named = {find_factor(factors, name).name for name in given}
        kept = {name: value for name, value in attempt.conditions.items() if name not in named}
        fields["conditions"] = Conditions({**kept, **read_conditions(factors, given)})
    if "parted" in changes:
        fields["parted"] = grade(changes["parted"], Parted)
    if "pooled" in changes:
        fields["pooled"] = grade(changes["pooled"], Pooled)
    if "clean" in changes:
        fields["successes"] = None if changes["clean"] is None else whole_count(changes["clean"], "clean")
    if "trials" in changes:
        fields["trials"] = whole_count(changes["trials"], "trials")
    if "masses" in changes:
        fields["masses"] = weighed(changes["masses"])
    if "sheet" in changes:
        fields["sheet"] = weighing_sheet(changes["sheet"])
    seen = {name: value for name, value in changes.items() if name in FactValues.__annotations__}
    if seen:
        fields["facts"] = replace(attempt.facts, **seen)  # type: ignore[arg-type]  # checked by the record itself
    if "at" in changes:
        fields["started_at"] = moment(changes["at"])
    if "aborted" in changes:
        reason = changes["aborted"]
        fields |= {"aborted": bool(reason), "abort_reason": reason if isinstance(reason, str) else ""}
    plain = {"lot": "lot_id", "jar": "jar_id", "note": "note"}
    fields |= {plain[name]: value for name, value in changes.items() if name in plain}
    return fields
