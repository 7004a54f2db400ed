"""The parts of a recipe as a small frozen document tree; texts are finished, numbers stay numbers."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from stirfall.bench.estimates import Estimate
from stirfall.bench.factors import Value
from stirfall.bench.materials import Cautions
from stirfall.bench.substances import Substances
from stirfall.bench.units import (
    THIN_SPACE,
    format_number,
    human_time,
    liked_unit,
    liked_value,
    parse_number,
    unit_kind,
    unit_label,
)
from stirfall.reporting.recipe_batch import BatchSize
from stirfall.reporting.shares import counted

# A range of times keeps the unit of its lower end up to this number: "85 to 290 s", but "2 h to 9 days".
_MOST_OF_ONE_UNIT = 300

NO_PROOF = "No proof was made of this recipe."

RemarkLevel = Literal["block", "warn", "note"]


@dataclass(frozen=True)
class Remark:
    """One sentence with its weight: ``block`` means do not, ``warn`` asks for thought, ``note`` informs."""

    level: RemarkLevel
    code: str
    text: str


@dataclass(frozen=True)
class RecipeValue:
    """One condition: its value, the range or levels that hold, and what stands behind the range.

    A range with an upper end only is a ceiling; without either end there is no range.
    """

    name: str
    unit: str
    value: Value
    low: float | None
    high: float | None
    levels: tuple[str, ...]
    note: str
    filled: bool
    tried: bool

    @property
    def notes(self) -> tuple[str, ...]:
        """All that must stand beside the value: what ends its range, and whether it was given and tried."""
        words = (self.note, "" if self.tried else "untested", "not given, usual value" if self.filled else "")
        return tuple(word for word in words if word and not (word == "untested" and "untested" in self.note))

    def shown(self, *, decimal: str = ".") -> str:
        """Write the value with its unit, a time in the unit that a person would say."""
        return shown_value(self.value, self.unit, decimal=decimal)

    def shown_range(self, *, decimal: str = ".") -> str:
        """Write the range or the levels that hold; empty where none can be given."""
        if self.levels:
            return ", ".join(self.levels)
        if self.high is None:
            return ""
        if self.low is None:
            return f"at most {shown_value(self.high, self.unit, decimal=decimal)}"
        return shown_span(self.low, self.high, self.unit, decimal=decimal)


@dataclass(frozen=True)
class Step:
    """One step at the bench: a short heading and plain sentences.

    ``names`` are the conditions that it sets, ``amounts`` what goes in (label and amount), ``timer_s`` how long it
    lasts. ``see`` is what should be seen, ``otherwise`` what to do when it is not. ``bench`` says it in few words,
    for a sheet that shows conditions and amounts beside it.
    """

    heading: str
    text: str
    names: tuple[str, ...] = ()
    amounts: tuple[tuple[str, str], ...] = ()
    timer_s: float | None = None
    see: str = ""
    otherwise: str = ""
    bench: str = ""

    @property
    def key(self) -> str:
        """The step's word, for programs."""
        return self.heading.casefold()

    @property
    def amounts_text(self) -> str:
        """What goes in, as one sentence; empty where nothing does."""
        told = "; ".join(f"{label} {amount}" for label, amount in self.amounts)
        return f"For this batch: {told}." if told else ""


@dataclass(frozen=True)
class EvidenceAttempt:
    """One attempt behind a recipe: its number, outcome, whether it counts, and a digest of its record."""

    id: str
    number: int
    outcome: str
    counts: bool
    digest: str


@dataclass(frozen=True)
class Handbook:
    """What a stranger needs beside conditions and steps, as finished lines; each part may be empty but ``unknown``.

    ``purpose`` what it is for, ``apparatus`` what it is done with, ``tested`` over which ranges it was tried,
    ``failures`` which attempts failed, ``unknown`` what is not known, ``references`` where all of it is kept.
    """

    purpose: tuple[str, ...]
    apparatus: tuple[str, ...]
    tested: tuple[str, ...]
    failures: tuple[str, ...]
    unknown: tuple[str, ...]
    references: tuple[str, ...]


@dataclass(frozen=True)
class Evidence:
    """What the recipe rests on: counted outcomes, what was left out, method, priors and health of the answer.

    ``clean`` of ``trials`` were clean; an attempt may hold several trials. ``inside`` is the same over the attempts
    that lie inside every range of the recipe.
    """

    used: int
    clean: int
    trials: int
    outcomes: tuple[tuple[str, int], ...]
    left_out: tuple[tuple[str, int], ...]
    inside: tuple[int, int]
    sentences: tuple[str, ...]
    priors: tuple[float, float]
    draws: int
    effective_sample_size: float
    pareto_k: float
    sound: bool
    attempts: tuple[EvidenceAttempt, ...] = field(default=(), repr=False)

    def lines(self, ranges: str) -> tuple[str, ...]:
        """Write what was counted, and then the method; ``ranges`` says which ranges: "every range above"."""
        outcomes = ", ".join(f"{count} {word}" for word, count in self.outcomes) or "none yet"
        if self.trials != self.used:
            outcomes += f"; {self.clean} clean of {counted(self.trials, 'trial')}"
        left_out = ", ".join(f"{count} {word}" for word, count in self.left_out) or "none"
        clean, trials = self.inside
        inside = f"Inside {ranges}: {clean} clean of {trials}." if trials else f"No attempt lies inside {ranges}."
        return f"{counted(self.used)} used: {outcomes}.", f"Left out: {left_out}.", inside, *self.sentences


@dataclass(frozen=True)
class CurveMark:
    """One attempt on the curve: its place on the axis and whether it was clean."""

    x: float
    clean: bool


@dataclass(frozen=True)
class RecipeCurve:
    """Probability along one factor, everything else as in the recipe; the data of the picture."""

    factor: str
    unit: str
    log: bool
    x: tuple[float, ...]
    mean: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    tried: tuple[float, float] | None
    at: float
    marks: tuple[CurveMark, ...]

    def at_place(self, x: float) -> tuple[float, float, float]:
        """Return mean, lower and upper bound at a place of the axis, between the points by a straight line.

        The ends of that line are whole per mille, as in the JSON form, so that a recipe read from it says the same.
        """
        right = min(max(bisect_left(self.x, x), 1), len(self.x) - 1)
        left = right - 1
        start, end = (float(f"{self.x[place]:.6g}") for place in (left, right))
        share = min(max((x - start) / (end - start), 0.0), 1.0)
        mean, lower, upper = (
            _mille(values[left]) + share * (_mille(values[right]) - _mille(values[left]))
            for values in (self.mean, self.lower, self.upper)
        )
        return mean, lower, upper


def _mille(share: float) -> float:
    return round(1000.0 * share) / 1000.0


@dataclass(frozen=True)
class RecipeProof:
    """One proof of the recipe: its rule, how it stands or ended, and what may be said of it, in ``lines``.

    ``interval_percent`` and the one-sided ``lower_percent`` are whole, rounded away from what would promise more;
    they are the result of the proof only where ``is_result``.
    """

    title: str
    started_at: datetime
    verdict: str
    rule: str
    claim: float
    confidence: float
    made: int
    failures: int
    lower_percent: int | None
    interval_percent: tuple[int, int] | None
    is_result: bool
    lines: tuple[str, ...]

    @property
    def told(self) -> tuple[str, ...]:
        """All of it as finished lines, the rule first."""
        title = f"“{self.title}”, " if self.title else ""
        return (f"Proof {title}started {self.started_at:%Y-%m-%d}: {self.rule}", *self.lines)


@dataclass(frozen=True)
class Recipe:
    """Conditions, tolerances, evidence, limits and cautions of one clean separation, as of one moment.

    Where ``blocked`` there are no steps, ranges and curve: what the operating limits forbid gets no instructions.
    ``batch`` is the size that the steps are written for, ``number`` that of an issued recipe, ``source`` the JSON
    text that it was read from.
    """

    title: str
    session_name: str
    fingerprint: str
    program_version: str
    created_at: datetime
    invented: bool
    blocked: bool
    metal: str
    melting_point_c: float | None
    oil: str
    oil_flash_c: float | None
    materials: tuple[str, ...]
    substances: Substances
    probability: Estimate
    gates: tuple[tuple[str, Estimate], ...]
    drop: float
    values: tuple[RecipeValue, ...]
    steps: tuple[Step, ...]
    evidence: Evidence
    remarks: tuple[Remark, ...]
    limits: tuple[str, ...]
    cautions: Cautions
    curve: RecipeCurve | None = field(default=None, repr=False)
    proofs: tuple[RecipeProof, ...] = ()
    batch: BatchSize | None = None
    handbook: Handbook | None = None
    number: int | None = None
    source: str = field(default="", repr=False, compare=False)

    @property
    def proof_lines(self) -> tuple[str, ...]:
        """What proofs say of the recipe, one after the other, or that there is none."""
        return tuple(line for proof in self.proofs for line in proof.told) or (NO_PROOF,)


def shown_value(value: Value, unit: str, *, decimal: str = ".") -> str:
    """Write a value with its unit; a time in the unit that a person would say."""
    if isinstance(value, str):
        return value
    if unit_kind(unit) == "time":
        return human_time(value, unit, decimal=decimal)
    label = _label(liked_unit(unit, decimal))
    number = format_number(liked_value(value, unit, decimal), decimal=decimal)
    return f"{number}{THIN_SPACE}{label}" if label else number


def _label(unit: str) -> str:
    """Return the unit as a sentence says it: "90 per min" where a form has room for 1/min only."""
    shown = unit_label(unit)
    return f"per{THIN_SPACE}min" if shown == "1/min" else shown


def shown_span(low: float, high: float, unit: str, *, decimal: str = ".") -> str:
    """Write a range with one unit where that reads well, "5 to 30 h", and with two otherwise, "2 h to 9 days"."""
    first, last = shown_value(low, unit, decimal=decimal), shown_value(high, unit, decimal=decimal)
    if first == last:
        return first
    if unit_kind(unit) != "time":
        label = _label(liked_unit(unit, decimal))
        least, most = (format_number(liked_value(value, unit, decimal), decimal=decimal) for value in (low, high))
        ends = f"{least} to {most}"
        return f"{ends}{THIN_SPACE}{label}" if label else ends
    number, _, word = first.rpartition(THIN_SPACE)
    if low > 0:
        top = parse_number(number.replace(decimal, ".")) * high / low
        if top <= _MOST_OF_ONE_UNIT:
            return f"{number} to {format_number(top, decimal=decimal)}{THIN_SPACE}{word}"
    return f"{first} to {last}"
