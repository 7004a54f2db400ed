"""The steps of a recipe at the bench, in order, from the factors that the campaign has.

Only the physical step is told: melting under oil, stirring, lifting, weighing. Nothing here makes or destroys a
reactive metal, and for superoxide formers no step tells anyone to wait.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.bench.units import THIN_SPACE, convert, format_quantity, unit_kind, unit_label
from stirfall.planning.limits_temperature import lift_top_c
from stirfall.reporting.recipe_parts import RecipeValue, Step
from stirfall.reporting.recipe_seen import at_bench, seen_at
from stirfall.storage.limit_table import limit_table

_STIR = re.compile(r"stir|swirl|knead|fold|rock|shak", re.IGNORECASE)
_SETTLE = re.compile(r"settl", re.IGNORECASE)
_COOL = re.compile(r"cool", re.IGNORECASE)
_SURROUNDINGS = re.compile(r"humidity|room|ambient", re.IGNORECASE)
_PER_MINUTE = f"{THIN_SPACE}per{THIN_SPACE}min"
_TIMED = ("hold", "stir", "settle", "cool")
_STEP_OF_ROLE = {
    Role.SAMPLE_AGE: "take",
    Role.OIL_EXPOSURE: "take",
    Role.FILM_INDEX: "take",
    Role.TEMPERATURE: "warm",
    Role.HOT_TIME: "hold",
    Role.DOSE: "add",
}
_NO_ADDITIVE = ("none", "no", "no additive", "without")
_GERUNDS = {"swirl": "swirling", "fold": "folding", "press": "pressing", "scrape": "scraping", "rock": "rocking"}


@dataclass(frozen=True)
class StepWriter:
    """Writes the steps for one set of values; every factor is told exactly once."""

    settings: CampaignSettings
    factors: Sequence[Factor]
    values: Mapping[str, RecipeValue]
    decimal: str = "."

    def steps(self) -> tuple[Step, ...]:
        """Return the steps in the order of the bench."""
        written = [
            Step("Check", "Read all cautions and tick the start checklist. Heat nothing before that."),
            self._jar(),
            self._prepare(),
            self._warm(),
            self._hold(),
            self._add(),
            self._stir(),
            self._settle(),
            self._cool(),
            Step(
                "Weigh",
                "Lift the metal and let the oil drain; say how the oil was removed. Weigh product, beads and "
                "residue. A sum above 102 % of the charge means oil on the beads.",
            ),
            self._record(),
        ]
        return tuple(self._complete(step) for step in written if step is not None)

    def _complete(self, step: Step) -> Step:
        """Return the step with its conditions, its timer, and what should be seen."""
        given = [(factor, value) for factor, value in self._given() if self._step_of(factor) == step.key]
        timed = step.key in _TIMED and [
            (factor, value.value)
            for factor, value in given
            if unit_kind(factor.unit) == "time" and not isinstance(value.value, str)
        ]
        timer = convert(float(timed[0][1]), timed[0][0].unit, "s") if timed else None
        see, otherwise = seen_at(step.key, self.settings)
        return replace(
            step,
            names=tuple(value.name for _, value in given),
            timer_s=timer,
            see=see,
            otherwise=otherwise,
            bench=at_bench(step, self.settings),
        )

    def _step_of(self, factor: Factor) -> str:
        """Return the step that tells a factor."""
        if factor.role in _STEP_OF_ROLE:
            return _STEP_OF_ROLE[factor.role]
        return self._place(factor) or "add"

    def _jar(self) -> Step | None:
        if not self.settings.material.may_lengthen_age:
            text = (
                "Take the freshest charge, and look at it first. Do not wait: for this metal a longer age or "
                "exposure is never advised."
            )
            told = [f"Its {value.name} is at most {self._amount(value)}." for value in self._aged()]
            return Step("Take", " ".join([text, *told]))
        told = [f"{value.name} {self._with_range(value)}" for value in self._aged()]
        if not told:
            return Step("Take", "Take the charge, and look at its surface first.")
        return Step("Take", f"Take a charge with {_listed(told)}, and look at its surface first.")

    def _aged(self) -> list[RecipeValue]:
        roles = (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.FILM_INDEX)
        return [value for factor, value in self._given() if factor.role in roles]

    def _prepare(self) -> Step | None:
        ready: list[str] = []
        room: list[str] = []
        for factor, value in self._given():
            if self._place(factor) == "prepare":
                target = room if _SURROUNDINGS.search(factor.name) else ready
                target.append(f"{value.name} {self._with_range(value)}")
        sentences = [f"Set up {_listed(ready)}."] if ready else []
        if room:
            sentences.append(f"Work at {_listed(room)}; if the room is outside that, expect other odds.")
        return Step("Prepare", " ".join(sentences)) if sentences else None

    def _warm(self) -> Step | None:
        told = [self._with_range(value) for factor, value in self._given() if factor.role is Role.TEMPERATURE]
        if not told:
            return None
        return Step(
            "Warm",
            f"Warm it under oil to {_listed(told)}. Watch the thermometer. Stop the heat if it smokes.",
        )

    def _hold(self) -> Step | None:
        told = [self._with_range(value) for factor, value in self._given() if factor.role is Role.HOT_TIME]
        if not told:
            return None
        if not self.settings.material.may_lengthen_age:
            told = [
                f"at most {self._amount(value)}" for factor, value in self._given() if factor.role is Role.HOT_TIME
            ]
        return Step("Hold", f"Hold it hot for {_listed(told)} before stirring.")

    def _add(self) -> Step | None:
        choices = [v for f, v in self._given() if f.is_choice and "additive" in f.name.casefold()]
        doses = [(f, v) for f, v in self._given() if f.role is Role.DOSE]
        names = [str(value.value) for value in choices if str(value.value).casefold() not in _NO_ADDITIVE]
        if choices and not names:
            return Step("Add", "Add no additive.")
        told = []
        for factor, value in doses:
            if value.value == 0:
                continue
            name = names[0] if names else _of_dose(factor)
            per_gram = " of charge" if factor.unit.endswith("/g") else ""
            told.append(f"{name}, {self._with_range(value, per_gram)}")
        if not told and not names:
            return Step("Add", "Add no additive.") if doses else None
        return Step("Add", f"Add {_listed(told or names)}. Dry and warm it first; add it in small portions.")

    def _stir(self) -> Step:
        action, speed, time, rest = "", "", "", []
        for factor, value in self._given():
            if self._place(factor) != "stir":
                continue
            if factor.is_choice:
                action = f" by {_GERUNDS.get(str(value.value), str(value.value))}"
            elif unit_kind(factor.unit) == "time":
                time = f" for {self._with_range(value)}"
            elif unit_label(factor.unit) == "1/min":
                told = self._with_range(value).replace(_PER_MINUTE, " turns a minute", 1)
                speed = f" at {told.replace(_PER_MINUTE, '')}"
            else:
                rest.append(f"{value.name} {self._with_range(value)}")
        extra = f" Keep {_listed(rest)}." if rest else ""
        return Step("Stir", f"Stir{action}{speed}{time}. Keep the metal covered with oil.{extra}")

    def _settle(self) -> Step:
        told = [self._with_range(value) for factor, value in self._given() if self._place(factor) == "settle"]
        wait = f"Let it settle for {_listed(told)}." if told else "Let it settle."
        return Step("Settle", f"{wait} Note whether the powder floats or falls.")

    def _cool(self) -> Step:
        told = [f"{v.name} {self._with_range(v)}" for f, v in self._given() if self._place(f) == "cool"]
        how = f" ({_listed(told)})" if told else ""
        return Step("Cool", f"Switch the heat off and let it cool under oil{how} {self._cold_enough()}.")

    def _cold_enough(self) -> str:
        settings = self.settings
        cold = limit_table()["lift_out"].number("reactive")
        top = lift_top_c(settings)
        if settings.material is not MaterialClass.BASE_METAL or top is None:
            shown = format_quantity(cold if top is None else top, "C", digits=4, decimal=self.decimal)
            return f"until it is solid and no warmer than {shown}"
        if top < cold:
            return "until it is solid"
        return f"until it is solid, below {format_quantity(top, 'C', digits=4, decimal=self.decimal)}"

    def _record(self) -> Step:
        question = (
            "Did the solids leave the metal, and did the metal become one pool?"
            if self.settings.gates == 2
            else "Was it a clean separation?"
        )
        return Step("Record", f"Answer at once: {question} Record it also when it failed or was broken off.")

    def _given(self) -> Iterator[tuple[Factor, RecipeValue]]:
        for factor in self.factors:
            if factor.name in self.values:
                yield factor, self.values[factor.name]

    def _place(self, factor: Factor) -> str:
        """Return the step that a factor without a telling role belongs to."""
        if factor.role is not Role.GENERAL or (factor.is_choice and "additive" in factor.name.casefold()):
            return ""
        if _SETTLE.search(factor.name):
            return "settle"
        if _COOL.search(factor.name):
            return "cool"
        return "stir" if _STIR.search(factor.name) else "prepare"

    def _amount(self, value: RecipeValue) -> str:
        return value.shown(decimal=self.decimal)

    def _with_range(self, value: RecipeValue, after: str = "") -> str:
        span = value.shown_range(decimal=self.decimal)
        shown = self._amount(value) + after
        if value.levels:
            return f"{shown} (holds for {span})" if len(value.levels) > 1 else shown
        return f"{shown} ({span})" if span and span != self._amount(value) else shown


def write_steps(
    settings: CampaignSettings, factors: Sequence[Factor], values: Sequence[RecipeValue], *, decimal: str = "."
) -> tuple[Step, ...]:
    """Return the steps for the values of a recipe."""
    return StepWriter(settings, factors, {value.name: value for value in values}, decimal).steps()


def additive_name(factors: Sequence[Factor], values: Sequence[RecipeValue]) -> str:
    """Return what the dose is of: the additive chosen, else what the dose is called."""
    by_name = {value.name: value for value in values}
    for factor in factors:
        chosen = by_name.get(factor.name)
        if chosen is not None and factor.is_choice and "additive" in factor.name.casefold():
            return str(chosen.value)
    dosed = next((factor for factor in factors if factor.role is Role.DOSE), None)
    return _of_dose(dosed) if dosed is not None else "additive"


def _of_dose(factor: Factor) -> str:
    return re.sub(r"\s*\bdose\b", "", factor.name).strip() or "additive"


def forbids(conditions: Conditions, ceilings: Mapping[str, float], pinned: Mapping[str, float]) -> tuple[str, ...]:
    """Return the exposures that are longer than was ever recorded, for a metal whose exposure must not grow.

    Where nothing was recorded the lowest allowed value is the ceiling.
    """
    longest = {**pinned, **ceilings}
    return tuple(
        name for name, top in longest.items() if (number := conditions.number(name)) is not None and number > top
    )


def _listed(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
