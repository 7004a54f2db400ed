"""A blank record for an evening without a screen: the fields of the bench form in their order; a pure document."""

from __future__ import annotations

from dataclasses import dataclass

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, Role
from stirfall.bench.materials import Cautions, MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import INVENTED_NOTICE, CampaignSettings
from stirfall.bench.run_facts import OIL_REMOVALS
from stirfall.bench.running import MARKS, OTHER_MARK, SMOKE
from stirfall.bench.substances import SurfaceLook
from stirfall.bench.units import format_number, format_quantity, liked_unit, liked_value, unit_label
from stirfall.reporting.cautions import load_cautions, shortened

# The cautions that stand at the head, of those that the class has; all of them stand on the last page.
_AT_THE_HEAD = (
    "never_age_on_purpose",
    "look_first",
    "fire_wrong_agents",
    "watch_hot_oil",
    "lift_cool_only",
    "lift_solid_only",
)
_BY_ITSELF = {
    Role.SAMPLE_AGE: "from lot and start",
    Role.OIL_EXPOSURE: "from jar and start",
    Role.FILM_INDEX: "from the jar",
}
_SHORT = 150
PARTED_QUESTION, POOLED_QUESTION = "Did the solids leave the metal?", "Did the metal become one pool?"
SEEN = (
    ("Room humidity", "%"),
    ("Oil with the metal", "mL"),
    ("Highest temperature", "C"),
    ("Lifted out at", "C"),
)
MASSES = ("Charge", "Product", "Beads", "Residue", "Additive")
SHEET = (("Balance step", "g"), ("Bead size", "mm"), ("Metal in product", "%"), ("Its uncertainty (u)", "%"))


@dataclass(frozen=True)
class Blank:
    """One thing to write or tick: label with unit, the usual value as a grey hint, range, options."""

    label: str
    hint: str = ""
    span: str = ""
    options: tuple[str, ...] = ()


@dataclass(frozen=True)
class PaperSheet:
    """The record of one attempt, blank; the fields stand in the order of the bench form.

    ``hazards`` are the cautions for the head, ``look_note`` what an alarming look means, "" for a base metal.
    ``marks`` are the words beside which a time is written.
    """

    title: str
    facts: tuple[str, ...]
    mark: str
    cautions: Cautions
    hazards: tuple[str, ...]
    jar: tuple[Blank, ...]
    look: Blank
    look_note: str
    conditions: tuple[Blank, ...]
    marks: tuple[str, ...]
    seen: tuple[Blank, ...]
    masses: tuple[str, ...]
    weighing: tuple[Blank, ...]
    questions: tuple[Blank, ...]

    @property
    def checklist(self) -> tuple[str, ...]:
        """The lines that must be true before the first attempt of a day."""
        return tuple(item.text for item in self.cautions.checklist)


def make_paper_sheet(state: CampaignState, *, decimal: str = ".") -> PaperSheet:
    """Return the blank record of a campaign, with its factors and their usual values as hints."""
    settings = state.settings
    cautions = load_cautions(settings.material)
    by_key = {item.key: item.text for item in cautions.items}
    is_base = settings.material is MaterialClass.BASE_METAL
    return PaperSheet(
        title=settings.title,
        facts=_facts(settings, decimal),
        mark=INVENTED_NOTICE if settings.invented else "",
        cautions=cautions,
        hazards=tuple(shortened(by_key[key], _SHORT) for key in _AT_THE_HEAD if key in by_key),
        jar=(Blank("Jar"), Blank("Lot"), Blank("Date"), Blank("Start, hh:mm"), Blank("Who"), Blank("Tool")),
        look=Blank("Surface before melting", options=tuple(look.value for look in SurfaceLook)),
        look_note="" if is_base else "Hidden, furry, white or yellow: do not open, touch or cut. Get help.",
        conditions=tuple(_condition(settings.material, factor, decimal) for factor in state.visible_factors),
        marks=tuple(_mark(word) for word in MARKS),
        seen=_blanks(SEEN, decimal),
        masses=MASSES,
        weighing=(*_blanks(SHEET, decimal), Blank("Oil removed", options=OIL_REMOVALS)),
        questions=(
            Blank(PARTED_QUESTION, options=tuple(answer.value for answer in Parted)),
            Blank(POOLED_QUESTION, options=tuple(answer.value for answer in Pooled)),
        ),
    )


def _facts(settings: CampaignSettings, decimal: str) -> tuple[str, ...]:
    def temperature(value: float | None) -> str:
        return "unknown" if value is None else format_quantity(value, "C", digits=4, decimal=decimal)

    return (
        f"Metal: {settings.metal.strip() or 'not named'}, {settings.material.value}",
        f"melting point {temperature(settings.melting_point_c)}",
        f"oil: {settings.oil.strip() or 'not named'}",
        f"flash point {temperature(settings.oil_flash_c)}",
    )


def _mark(word: str) -> str:
    if word == SMOKE:
        return "smoke: stop the heat at once"
    return "other" if word == OTHER_MARK else word


def _blanks(names: tuple[tuple[str, str], ...], decimal: str) -> tuple[Blank, ...]:
    return tuple(Blank(_label(name, liked_unit(unit, decimal))) for name, unit in names)


def _condition(material: MaterialClass, factor: Factor, decimal: str) -> Blank:
    """Return the blank of a factor; an exposure that must not grow has no range that invites to reach it."""
    blank = _blank(factor, decimal)
    is_pinned = factor.role is not None and factor.role.is_exposure and not material.may_lengthen_age
    return Blank(blank.label, blank.hint, options=blank.options) if is_pinned else blank


def _blank(factor: Factor, decimal: str) -> Blank:
    name = factor.name[:1].upper() + factor.name[1:]
    if factor.is_choice:
        hint = f"usually {factor.default}" if factor.default is not None else ""
        return Blank(_label(name, factor.unit), hint, options=factor.levels)
    low, high = (_number(value, factor.unit, decimal) for value in factor.bounds)
    hint = _BY_ITSELF.get(factor.role, "") if factor.role is not None else ""
    if not hint and isinstance(factor.default, float):
        hint = f"usually {_number(factor.default, factor.unit, decimal)}"
    return Blank(_label(name, liked_unit(factor.unit, decimal)), hint, f"{low} to {high}")


def _number(value: float, unit: str, decimal: str) -> str:
    return format_number(liked_value(value, unit, decimal), digits=4, decimal=decimal)


def _label(name: str, unit: str) -> str:
    shown = unit_label(unit)
    return f"{name}, {shown}" if shown else name
