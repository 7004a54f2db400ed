"""The batch size calculator: a recipe's amounts and settings for another size, each with how it was got.

The rules are those of ``physics.scaling``; here they get the campaign's own numbers, the limits' word and
sentences. What is not known is asked for and never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Masses
from stirfall.bench.units import THIN_SPACE, Amount, convert, format_number, human_time, unit_kind, unit_label
from stirfall.physics.scaling import OIL_EXPANSION_PER_K, PIECES, POOL, Batch, Scaled, scale, sizes_between
from stirfall.planning.findings import Finding, to_celsius
from stirfall.planning.limits_additive import batch_factor, charge_of, grams_per, mg_g_per
from stirfall.planning.situation import Situation
from stirfall.reporting.recipe_batch import USUAL_BATCH, BatchLine, BatchOrder, BatchSize, BatchWarning
from stirfall.reporting.sentences import sentence
from stirfall.session.analysis import Analysis
from stirfall.session.film_inputs import metal_area_cm2, metal_density_kg_m3
from stirfall.storage.limit_table import limit_table

FAR = 3.0
"""Beyond this factor a size is reached in steps (rule of thumb of 2 to 3; common practice, no source)."""

_STIR = re.compile(r"stir|swirl|knead|fold|rock|shak", re.IGNORECASE)
_SETTLE = re.compile(r"settl", re.IGNORECASE)
_JUDGED = frozenset({"batch", "hydrogen", "dose_cap"})
_SAME = 1e-9


def batch_size(
    analysis: Analysis, conditions: Conditions, order: BatchOrder = USUAL_BATCH, *, decimal: str = "."
) -> BatchSize:
    """Return the batch that is wanted, scaled from a proven one at complete conditions.

    Scaled is from the size that the order names, else from the recipe's own charge where that is proven, else from
    the middle one of those that came out clean. Warns beyond the largest proven size and beyond a factor of two and
    of three; what the operating limits refuse is refused.
    """
    return _Calculator(analysis, conditions, order, decimal).made()


def charge_conditions(analysis: Analysis, conditions: Conditions, order: BatchOrder) -> Conditions:
    """Return the conditions with the charge of the order, where the campaign has a condition for it."""
    factor = batch_factor(analysis.state)
    per = grams_per(factor.unit) if factor is not None else None
    if factor is None or not per or order.charge_g is None or factor.hidden:
        return conditions
    return conditions.with_value(factor.name, order.charge_g / per)


def clean_charges_g(state: CampaignState) -> tuple[float, ...]:
    """Return the charges in g that came out clean, the smallest first: as weighed, of the conditions or the jar."""
    jars = {jar.id: jar for jar in state.jars}
    found = []
    for attempt in state.attempts:
        count = attempt.clean_count
        if count is not None and count[0]:
            jar = jars.get(attempt.jar_id or "")
            found.append(charge_of(state, Situation(attempt.conditions, jar, masses=attempt.masses)))
    return tuple(sorted(charge for charge in found if charge))


@dataclass(frozen=True)
class _Calculator:
    analysis: Analysis
    conditions: Conditions
    order: BatchOrder
    decimal: str

    def made(self) -> BatchSize:
        charges = clean_charges_g(self.analysis.state)
        largest = charges[-1] if charges else None
        start = self._start(charges)
        charge = self.order.charge_g or start
        if start is None or charge is None:
            ask = self._say("ask_from")
            return BatchSize(charge, start, largest, (), tuple(self._untold(charge)), (ask,))
        old, aged, new = self._batches(start, charge)
        found = [self._never_longer(each) for each in scale(old, new, aged=aged) if self._matters(each)]
        lines = tuple(self._line(each) for each in found)
        asked = dict.fromkeys(need for each in found for need in each.needs)
        return BatchSize(
            charge,
            start,
            largest,
            lines,
            tuple(self._warnings(old, new, found, charges)),
            tuple(self._say(f"ask_{need}") for need in asked),
            self._scaled(found, charge / start),
        )

    # -- what is known ---------------------------------------------------------------------------------

    def _start(self, charges: Sequence[float]) -> float | None:
        """Return the size to scale from; the middle one of the clean batches is a proven size like any of them."""
        if self.order.from_g is not None:
            return self.order.from_g
        factor = batch_factor(self.analysis.state)
        per = grams_per(factor.unit) if factor is not None else None
        own = self.conditions.number(factor.name) if factor is not None else None
        if per and own and charges and own * per <= charges[-1] * (1 + _SAME):
            return own * per
        return charges[(len(charges) - 1) // 2] if charges else None

    def _batches(self, start: float, charge: float) -> tuple[Batch, Batch | None, Batch]:
        settings, order = self.analysis.state.settings, self.order
        vessel = settings.substances.vessel
        jar = self._jar(start)
        old = Batch(
            charge_g=start,
            metal_kg_m3=metal_density_kg_m3(settings),
            dose_mg_g=self._dose(start),
            vessel_mm=vessel.diameter_mm,
            vessel_ml=vessel.volume_ml,
            stirrer_mm=vessel.stirrer_mm,
            turns_per_min=self._number(_is_turns),
            oil_ml=order.oil_ml or self._oil_ml(),
            hot_c=self._hot_c(),
            settle_s=self._settle_s(),
            heat_up_s=order.heat_up_s,
        )
        aged = None
        if jar is not None:
            aged = replace(
                old,
                charge_g=jar.charge_g or start,
                jar_mm=jar.inner_diameter_mm,
                jar_oil_mm=jar.oil_depth_mm,
                metal_area_cm2=metal_area_cm2(settings, jar),
                surface=POOL if _is_molten_in(jar, settings) else PIECES,
            )
        new = replace(
            old,
            charge_g=charge,
            vessel_mm=order.vessel_mm or vessel.diameter_mm,
            vessel_ml=order.vessel_ml or (None if order.vessel_mm else vessel.volume_ml),
            stirrer_mm=order.stirrer_mm or vessel.stirrer_mm,
            jar_mm=order.jar_mm,
        )
        return old, aged, new

    def _clean(self) -> Iterator[Attempt]:
        for attempt in self.analysis.state.attempts:
            count = attempt.clean_count
            if count is not None and count[0]:
                yield attempt

    def _jar(self, start: float) -> Jar | None:
        """Return the jar of a clean attempt whose charge comes nearest, of those that say their diameter."""
        clean = {attempt.jar_id for attempt in self._clean()}
        known = [
            jar for jar in self.analysis.state.jars if jar.id in clean and jar.inner_diameter_mm and jar.charge_g
        ]
        return min(known, key=lambda jar: abs((jar.charge_g or 0.0) - start)) if known else None

    def _oil_ml(self) -> float | None:
        told = [attempt.facts.oil_ml for attempt in self._clean() if attempt.facts.oil_ml]
        return median(told) if told else None

    def _number(self, wanted: object) -> float | None:
        factor = self._factor(wanted)
        return None if factor is None else self.conditions.number(factor.name)

    def _factor(self, wanted: object) -> Factor | None:
        assert callable(wanted)
        return next((factor for factor in self.analysis.state.visible_factors if wanted(factor)), None)

    def _hot_c(self) -> float | None:
        factor = self._factor(lambda each: each.role is Role.TEMPERATURE)
        value = None if factor is None else self.conditions.number(factor.name)
        return None if factor is None or value is None else to_celsius(value, factor.unit)

    def _settle_s(self) -> float | None:
        factor = self._factor(_is_settling)
        value = None if factor is None else self.conditions.number(factor.name)
        return None if factor is None or value is None else convert(value, factor.unit, "s")

    def _dose(self, start: float) -> float | None:
        told = []
        for factor in self.analysis.state.visible_factors:
            value = self.conditions.number(factor.name)
            if factor.role is not Role.DOSE or value is None:
                continue
            share, per = mg_g_per(factor.unit), grams_per(factor.unit)
            if share is not None:
                told.append(value * share)
            elif per is not None:
                told.append(value * per / start * 1000.0)
        return sum(told) if told else None

    # -- what is said ----------------------------------------------------------------------------------

    def _matters(self, each: Scaled) -> bool:
        """Whether the campaign has anything to do with this quantity at all."""
        factors = self.analysis.state.visible_factors
        if each.key in ("metal_area", "jar", "jar_oil", "film"):
            return any(factor.role in (Role.SAMPLE_AGE, Role.OIL_EXPOSURE, Role.FILM_INDEX) for factor in factors)
        if each.key == "additive":
            return any(factor.role is Role.DOSE for factor in factors)
        if each.key == "turns":
            return any(_is_turns(factor) for factor in factors)
        return each.key != "settle" or any(_is_settling(factor) for factor in factors)

    def _never_longer(self, each: Scaled) -> Scaled:
        """Return the quantity; where no exposure may grow, no time at the heat grows with the size."""
        if self.analysis.limits.may_wait or each.key != "settle" or each.before is None or each.after is None:
            return each
        return each if each.after <= each.before else replace(each, after=each.before, rule="never_longer")

    def _line(self, each: Scaled) -> BatchLine:
        rule = each.rule
        if each.key == "jar" and not self.analysis.limits.may_wait:
            rule = "jar_at_most"
        swells = {"percent": 100.0 * OIL_EXPANSION_PER_K}
        how = sentence(f"batch.how_{rule}", swells, decimal=self.decimal)
        name = sentence(f"batch.name_{each.key}")
        return BatchLine(
            each.key,
            name,
            each.unit,
            each.before,
            each.after,
            self._shown(each.before, each.unit),
            self._shown(each.after, each.unit) if each.after is not None else "not known",
            how,
            each.is_estimate,
        )

    def _shown(self, value: float | None, unit: str) -> str:
        if value is None:
            return "not known"
        if unit == "s":
            return human_time(float(f"{value:.2g}"), "s", decimal=self.decimal)
        if unit == "times" and value == 1.0:
            return "as it was"
        number = format_number(value, digits=3 if value < 100 else len(f"{value:.0f}"), decimal=self.decimal)
        words = {"1/min": f"per{THIN_SPACE}min", "times": "times"}
        return f"{number}{THIN_SPACE}{words.get(unit, unit)}"

    def _say(self, key: str, **params: object) -> str:
        return sentence(f"batch.{key}", params, decimal=self.decimal)

    def _untold(self, charge: float | None) -> Iterator[BatchWarning]:
        if charge is not None:
            yield BatchWarning("warn", "batch.nothing_proven", self._say("nothing_proven"))

    def _scaled(self, found: list[Scaled], size: float) -> tuple[tuple[str, float], ...]:
        """Return the conditions that move with the size, by what factor."""
        by_key = {each.key: each for each in found}
        moved = []
        for wanted, key in ((_is_turns, "turns"), (_is_settling, "settle")):
            factor, each = self._factor(wanted), by_key.get(key)
            if factor is not None and each is not None and each.before and each.after:
                moved.append((factor.name, each.after / each.before))
        by_batch = [each for each in self.analysis.state.visible_factors if each.role is Role.DOSE]
        moved += [(factor.name, size) for factor in by_batch if mg_g_per(factor.unit) is None]
        return tuple((name, ratio) for name, ratio in moved if abs(ratio - 1.0) > _SAME)

    # -- warnings --------------------------------------------------------------------------------------

    def _warnings(
        self, old: Batch, new: Batch, found: list[Scaled], charges: Sequence[float]
    ) -> Iterator[BatchWarning]:
        by_key = {each.key: each for each in found}
        for each in self._judged(new, by_key):
            yield BatchWarning(each.level, each.code, sentence(each.code, each.params, decimal=self.decimal))
        yield from self._against_proven(old, new, charges)
        yield from self._fill(new, by_key)
        yield from self._film(by_key)
        oil = by_key.get("oil")
        if oil is not None and oil.before and oil.after and oil.after > oil.before * (1 + _SAME):
            yield self._warn("note", "fire_load")

    def _warn(self, level: str, key: str, **params: object) -> BatchWarning:
        assert level in ("block", "warn", "note")
        return BatchWarning(level, f"batch.{key}", self._say(key, **params))  # type: ignore[arg-type]

    def _judged(self, new: Batch, by_key: Mapping[str, Scaled]) -> Iterator[Finding]:
        additive = by_key.get("additive")
        situation = Situation(
            charge_conditions(self.analysis, self.conditions, BatchOrder(new.charge_g)),
            masses=Masses(charge_g=new.charge_g, additive_g=additive.after if additive is not None else None),
            planned=True,
        )
        for each in self.analysis.limits.judge(situation):
            if each.rule in _JUDGED:
                yield each

    def _against_proven(self, old: Batch, new: Batch, charges: Sequence[float]) -> Iterator[BatchWarning]:
        if not charges:
            yield self._warn("warn", "nothing_proven")
        smallest, largest = (charges[0], charges[-1]) if charges else (old.charge_g, old.charge_g)
        if charges and new.charge_g > largest * (1 + _SAME):
            yield self._warn("warn", "beyond_proven", size=Amount(new.charge_g, "g"), proven=Amount(largest, "g"))
        times, most = new.charge_g / largest, limit_table()["batch"].number("most")
        if times > FAR * (1 + _SAME):
            sizes = sizes_between(largest, new.charge_g, most=most)
            by = ", ".join(self._shown(float(f"{size:.2g}"), "g") for size in sizes)
            yield self._warn("warn", "far", times=self._times(times), sizes=by)
        elif times > most * (1 + _SAME):
            yield self._warn("warn", "large_step", times=self._times(times))
        elif new.charge_g * most < smallest * (1 - _SAME):
            yield self._warn("note", "small", times=self._times(smallest / new.charge_g))
        if abs(new.charge_g - old.charge_g) > _SAME * old.charge_g:
            yield self._warn("note", "not_the_same", proven=Amount(old.charge_g, "g"))

    def _times(self, value: float) -> str:
        return format_number(value, digits=3, decimal=self.decimal)

    def _fill(self, new: Batch, by_key: Mapping[str, Scaled]) -> Iterator[BatchWarning]:
        fill, oil, top = by_key.get("fill"), by_key.get("oil"), limit_table()["freeboard"].number("most")
        if fill is not None and fill.after is not None and fill.after > top:
            yield self._warn("warn", "too_full", share=f"{fill.after:.0f}", top=f"{top:.0f}")
        elif oil is not None and oil.after is not None and new.vessel_ml is not None:
            alone = 100.0 * oil.after / new.vessel_ml
            if alone > top:
                yield self._warn("warn", "too_full_of_oil", share=f"{alone:.0f}", top=f"{top:.0f}")

    def _film(self, by_key: Mapping[str, Scaled]) -> Iterator[BatchWarning]:
        film = by_key.get("film")
        if film is None or film.after is None or film.rule != "film_in_jar":
            return
        shown = self._times(film.after)
        if not self.analysis.limits.may_wait:
            if film.after > 1.0 + 1e-6:
                yield self._warn("block", "more_film", times=shown)
        elif film.after > 1.1 or film.after < 1 / 1.1:
            yield self._warn("warn", "other_film", times=shown)


def _is_molten_in(jar: Jar, settings: CampaignSettings) -> bool:
    """Whether the metal lies in the jar as a pool: it is kept above its melting point."""
    melting = settings.melting_point_c
    return melting is not None and jar.storage_c is not None and jar.storage_c > melting


def _is_turns(factor: Factor) -> bool:
    return not factor.is_choice and unit_label(factor.unit) == "1/min" and bool(_STIR.search(factor.name))


def _is_settling(factor: Factor) -> bool:
    return not factor.is_choice and unit_kind(factor.unit) == "time" and bool(_SETTLE.search(factor.name))
