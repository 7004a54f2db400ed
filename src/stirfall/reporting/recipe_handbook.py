"""What a stranger needs beside the conditions: purpose, apparatus, what was tested, failed, and is not known."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from stirfall.bench.ages import as_utc
from stirfall.bench.factors import Factor
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.bench.units import format_quantity
from stirfall.reporting.batch_size import clean_charges_g
from stirfall.reporting.recipe_evidence import off_range, used_attempts
from stirfall.reporting.recipe_parts import Handbook, RecipeValue, shown_span, shown_value
from stirfall.reporting.sentences import sentence
from stirfall.reporting.shares import counted
from stirfall.session.analysis import Analysis

_MOST_FAILURES = 10
_MOST_NUMBERS = 40


def make_handbook(
    analysis: Analysis,
    values: Sequence[RecipeValue],
    *,
    session_name: str,
    fingerprint: str,
    proofs: int = 0,
    decimal: str = ".",
) -> Handbook:
    """Return the words around a recipe with these values; what is not recorded is said to be unknown."""
    writer = _Writer(analysis, values, decimal)
    return Handbook(
        purpose=tuple(writer.purpose()),
        apparatus=tuple(writer.apparatus()),
        tested=tuple(writer.tested()),
        failures=tuple(writer.failures()),
        unknown=tuple(writer.unknown(proofs)),
        references=tuple(writer.references(session_name, fingerprint)),
    )


def number_list(numbers: Iterable[int]) -> str:
    """Write numbers as runs: "1 to 5, 8, 10 to 12"; beyond forty runs the rest is counted."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1][1:] = [number]
        else:
            runs.append([number])
    told = [f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs[:_MOST_NUMBERS]]
    more = f" and {len(runs) - _MOST_NUMBERS} more runs of numbers" if len(runs) > _MOST_NUMBERS else ""
    return ", ".join(told) + more


@dataclass(frozen=True)
class _Writer:
    analysis: Analysis
    values: Sequence[RecipeValue]
    decimal: str

    @property
    def _settings(self) -> CampaignSettings:
        return self.analysis.state.settings

    def _say(self, key: str, **params: object) -> str:
        return sentence(f"handbook.{key}", params, decimal=self.decimal)

    def purpose(self) -> Iterator[str]:
        settings = self._settings
        yield self._say(
            "purpose",
            solids=settings.substances.solids.name or "the fine solids",
            metal=settings.metal or "the crude metal",
            oil=settings.oil or "oil",
        )
        yield self._say("clean_two" if settings.gates == 2 else "clean_one")

    # -- apparatus -----------------------------------------------------------------------------------------

    def apparatus(self) -> Iterator[str]:
        vessel = self._settings.substances.vessel
        told = [
            f"{words} {format_quantity(value, unit, digits=4, decimal=self.decimal)}"
            for words, value, unit in (
                ("volume", vessel.volume_ml, "mL"),
                ("inner diameter", vessel.diameter_mm, "mm"),
            )
            if value is not None
        ]
        yield self._say("vessel", known=", ".join(told)) if told else self._say("vessel_unknown")
        circle = vessel.stirrer_mm
        shown = "not known" if circle is None else format_quantity(circle, "mm", digits=4, decimal=self.decimal)
        tools = Counter(each.facts.tool for each in self._used if each.facts.tool)
        told_tools = ", ".join(f"{tool}, {counted(count)}" for tool, count in tools.most_common(4))
        named = f" ({told_tools})" if tools else ""
        yield self._say("stirrer", circle=shown, tools=named)
        yield self._say("heating")
        yield self._balance()
        yield from self._jars()

    def _balance(self) -> str:
        steps = {each.sheet.step_g for each in self._used if each.sheet.step_g}
        if not steps:
            return self._say("balance_unknown")
        return self._say("balance", step=format_quantity(max(steps), "g", decimal=self.decimal))

    def _jars(self) -> Iterator[str]:
        ids = {each.jar_id for each in self._used if each.jar_id}
        jars = [jar for jar in self.analysis.state.jars if jar.id in ids]
        if not jars:
            return
        parts = [
            self._span("inner diameter", [jar.inner_diameter_mm for jar in jars], "mm"),
            self._span("oil over the metal", [jar.oil_depth_mm for jar in jars], "mm"),
            self._words("lid", [jar.lid for jar in jars]),
            self._words("of", [jar.material for jar in jars]),
        ]
        told = "; ".join(part for part in parts if part)
        yield self._say("jars", count=counted(len(jars), "jar"), known=f": {told}" if told else "")

    def _span(self, words: str, numbers: Sequence[float | None], unit: str) -> str:
        known = [number for number in numbers if number is not None]
        return f"{words} {shown_span(min(known), max(known), unit, decimal=self.decimal)}" if known else ""

    @staticmethod
    def _words(words: str, texts: Sequence[str]) -> str:
        known = sorted({text for text in texts if text})
        return f"{words} {' or '.join(known)}" if known else ""

    # -- tested range and failures -------------------------------------------------------------------------

    def tested(self) -> Iterator[str]:
        attempts = self._used
        for factor in self.analysis.state.visible_factors:
            found = [each.conditions.get(factor.name) for each in attempts]
            known = [value for value in found if value is not None]
            if known:
                yield self._tested(factor, known, len(found) - len(known))

    def _tested(self, factor: Factor, known: Sequence[float | str], missing: int) -> str:
        if factor.is_choice:
            counts = Counter(str(value) for value in known).most_common()
            span = ", ".join(f"{level} ({counted(count)})" for level, count in counts)
        else:
            numbers = [value for value in known if not isinstance(value, str)]
            span = shown_span(min(numbers), max(numbers), factor.unit, decimal=self.decimal)
            kinds = len({float(f"{number:.6g}") for number in numbers})
            span += f", {counted(kinds, 'value')} in {counted(len(numbers))}"
        unknown = f"; not recorded in {missing}" if missing else ""
        return f"{factor.name}: {span}{unknown}."

    def failures(self) -> Iterator[str]:
        """Yield those inside every range first: they say most about the recipe."""
        used = self._used
        failed = [(off_range(self.values, each), each) for each in used if not _is_clean(each)]
        if not used:
            yield self._say("no_attempts")
            return
        yield self._say("failed", failed=len(failed), attempts=counted(len(used)))
        failed.sort(key=lambda pair: (len(pair[0]), pair[1].number))
        for off, attempt in failed[:_MOST_FAILURES]:
            yield self._failure(off, attempt)
        if len(failed) > _MOST_FAILURES:
            rest = number_list(attempt.number for _, attempt in failed[_MOST_FAILURES:])
            yield self._say("more_failed", numbers=rest)
        yield from self._aborted()

    def _failure(self, off: Sequence[RecipeValue], attempt: Attempt) -> str:
        reached = [
            f"{value.name} {shown_value(found, value.unit, decimal=self.decimal)}"
            if (found := attempt.conditions.get(value.name)) is not None
            else f"{value.name} not recorded"
            for value in off
        ]
        where = f"outside the ranges with {', '.join(reached)}" if reached else "inside every range of this recipe"
        count = attempt.clean_count
        trials = f", {count[0]} clean of {count[1]}" if count is not None and count[1] > 1 else ""
        return f"Attempt {attempt.number}: {attempt.outcome}{trials}, {where}."

    def _aborted(self) -> Iterator[str]:
        aborted = [each for each in self.analysis.state.attempts if each.aborted and not each.is_struck]
        for each in aborted[:_MOST_FAILURES]:
            yield self._say("aborted", number=each.number, why=each.abort_reason or "no reason given")
        if len(aborted) > _MOST_FAILURES:
            rest = number_list(each.number for each in aborted[_MOST_FAILURES:])
            yield self._say("more_aborted", numbers=rest)

    # -- what is not known ---------------------------------------------------------------------------------

    def unknown(self, proofs: int) -> Iterator[str]:
        used = self._used
        yield from self._never_varied(used)
        untried = [value.name for value in self.values if not value.tried]
        if untried:
            yield self._say("untried", names=", ".join(untried))
        yield from self._who_and_what(used)
        weighed = [each for each in used if _is_clean(each) and each.masses.charge_g and each.masses.product_g]
        pure = sum(each.sheet.purity_percent is not None for each in weighed)
        yield self._say("recovery", weighed=len(weighed), pure=pure)
        charges = clean_charges_g(self.analysis.state)
        if charges:
            span = shown_span(charges[0], charges[-1], "g", decimal=self.decimal)
            yield self._say("sizes", span=span)
        else:
            yield self._say("sizes_unknown")
        if not proofs:
            yield self._say("no_proof")
        yield self._say("why_waiting" if self._settings.material is MaterialClass.SUPEROXIDE_FORMER else "why")

    def _never_varied(self, used: Sequence[Attempt]) -> Iterator[str]:
        for factor in self.analysis.state.visible_factors:
            found = {each.conditions.get(factor.name) for each in used} - {None}
            if len(found) == 1:
                value = next(iter(found))
                assert value is not None
                shown = shown_value(value, factor.unit, decimal=self.decimal)
                yield self._say("never_varied", factor=factor.name, value=shown)
            elif used and not found:
                yield self._say("never_recorded", factor=factor.name)

    def _who_and_what(self, used: Sequence[Attempt]) -> Iterator[str]:
        for key, found in (
            ("lots", {each.lot_id for each in used if each.lot_id}),
            ("operators", {each.facts.operator for each in used if each.facts.operator}),
        ):
            yield self._say(key, count=str(len(found)) if found else "not recorded")
        humid = sum(each.facts.room_rh_percent is not None for each in used)
        recorded = any("humidity" in factor.name.casefold() for factor in self.analysis.state.visible_factors)
        if not recorded and humid < len(used):
            yield self._say("humidity", known=humid, attempts=counted(len(used)))

    # -- references ----------------------------------------------------------------------------------------

    def references(self, session_name: str, fingerprint: str) -> Iterator[str]:
        from stirfall import __version__

        used = self._used
        yield self._say("session", name=session_name, fingerprint=fingerprint)
        if used:
            yield self._say("attempts", numbers=number_list(each.number for each in used), dates=_dates(used))
        lots = sorted({each.lot_id for each in used if each.lot_id})
        if lots:
            yield self._say("lots_named", lots=", ".join(lots[:_MOST_NUMBERS]))
        yield self._say("program", version=__version__)

    @cached_property
    def _used(self) -> tuple[Attempt, ...]:
        return used_attempts(self.analysis)


def _is_clean(attempt: Attempt) -> bool:
    count = attempt.clean_count
    return count is not None and count[0] == count[1]


def _dates(attempts: Sequence[Attempt]) -> str:
    moments: list[datetime] = [each.started_at for each in attempts if each.started_at is not None]
    if not moments:
        return "at times not recorded"
    first, last = (as_utc(each).date().isoformat() for each in (min(moments), max(moments)))
    return f"on {first}" if first == last else f"from {first} to {last}"
