"""What a campaign keeps: settings, lots, jars and attempts, all frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from operator import index
from types import MappingProxyType

from stirfall.bench.ages import age_h
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor, Role
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Outcome, Parted, Pooled, derive_outcome
from stirfall.bench.plans import USUAL_PLAN, PlanSettings
from stirfall.bench.run_facts import NO_FACTS, NO_SHEET, RunFacts, WeighingSheet
from stirfall.bench.substances import NOTHING_KNOWN, OilHistory, Substances, SurfaceLook
from stirfall.bench.units import convert, unit_kind

PARTLY_CHOICES = ("failed", "success", "ordinal")
LOT_EFFECT_NONE, LOT_EFFECT_LOT, LOT_EFFECT_JAR, LOT_EFFECT_BENCH = "none", "lot", "jar", "bench"
THIS_BENCH = "this bench"
CRUDE, RESIDUE = "crude", "residue"
JAR_MATERIALS = ("glass", "plastic", "metal")
_JAR_WORDS: Mapping[str, tuple[str, ...]] = {
    "material": JAR_MATERIALS,
    "oil_history": tuple(OilHistory),
    "contents": (CRUDE, RESIDUE),
    "look": tuple(SurfaceLook),
}
INVENTED_NOTICE = "Invented data, for learning the tool"


def _make_plain(record: object, name: str, kind: type[int] | type[float]) -> None:
    """Turn a number of another library in the field of a frozen record into the plain one, which files can hold."""
    value = getattr(record, name)
    if value is not None and type(value) is not kind:
        object.__setattr__(record, name, float(value) if kind is float else index(value))


@dataclass(frozen=True)
class CampaignSettings:
    """What holds for the whole campaign. None means unknown, and unknown is never replaced by a guess.

    ``partly`` says what a partly parted attempt is to the model: "failed", "success", or "ordinal" (between the
    two). ``lot_effect`` says what attempts may share beyond their conditions: "lot", "jar", "bench", "none", or the
    name of a choice factor; ``lot_sd_prior`` is the scale of the half-normal prior of its sd. ``form`` pins the
    form of the model; "" weighs all forms. ``substances`` is what is known of metal, solids, oil, additives
    and vessel. ``plan`` is how the person works. ``bench_name`` is what this bench is called in pooled
    sessions.
    """

    title: str = "New campaign"
    material: MaterialClass = MaterialClass.OTHER
    metal: str = ""
    melting_point_c: float | None = None
    oil: str = ""
    oil_flash_c: float | None = None
    invented: bool = False
    gates: int = 2
    level: float = 0.95
    intercept_prior_sd: float = 2.5
    effect_prior_sd: float = 2.0
    humps: tuple[str, ...] = ()
    products: tuple[tuple[str, str], ...] = ()
    partly: str = "failed"
    lot_effect: str = "lot"
    lot_sd_prior: float = 1.0
    form: str = ""
    substances: Substances = NOTHING_KNOWN
    plan: PlanSettings = USUAL_PLAN
    bench_name: str = ""

    def __post_init__(self) -> None:
        """Make plain numbers of whatever a script gave, and check ranges; raises InputError ``settings.*``."""
        numbers = ("melting_point_c", "oil_flash_c", "level", "intercept_prior_sd", "effect_prior_sd")
        for name in (*numbers, "lot_sd_prior"):
            _make_plain(self, name, float)
        _make_plain(self, "gates", int)
        if self.gates not in (1, 2):
            raise InputError("settings.gates", value=self.gates)
        if not 0.5 <= self.level < 1:
            raise InputError("settings.level", value=self.level)
        if min(self.intercept_prior_sd, self.effect_prior_sd, self.lot_sd_prior) <= 0:
            raise InputError("settings.prior_not_positive")
        if self.partly not in PARTLY_CHOICES:
            raise InputError("settings.partly", value=self.partly, known=", ".join(PARTLY_CHOICES))


@dataclass(frozen=True)
class Lot:
    """One batch of crude metal; ``id`` is its short name on the bench, such as ``L1``.

    ``metal_percent`` is the metal in the crude by assay, with its standard uncertainty and the number of assays.
    """

    id: str
    made_at: datetime | None = None
    solids_percent: float | None = None
    note: str = ""
    metal_percent: float | None = None
    metal_u_percent: float | None = None
    assays: int | None = None


@dataclass(frozen=True)
class Jar:
    """A portion of a lot ageing under oil since ``started_at``; closed for good when ``emptied_at`` is set.

    What decides how much air and water reach the metal: ``oil_depth_mm`` over the metal, ``lid``, inner diameter,
    headspace over the oil, pieces and their size or the metal's whole area, what the jar is made of
    (``JAR_MATERIALS``), the oil's history, where it stands and in which humidity. ``contents`` is ``crude``, or
    ``residue`` for what is left of earlier attempts and waits for disposal. ``look`` is how the surface looked
    when it was last inspected, at ``looked_at``. A ``planned`` jar is not started yet: ``started_at`` says when it
    shall be.
    """

    id: str
    lot_id: str
    started_at: datetime
    oil: str = ""
    oil_depth_mm: float | None = None
    lid: str = ""
    charge_g: float | None = None
    note: str = ""
    emptied_at: datetime | None = None
    inner_diameter_mm: float | None = None
    headspace_mm: float | None = None
    piece_count: int | None = None
    piece_mm: float | None = None
    metal_area_cm2: float | None = None
    material: str = ""
    oil_history: str = ""
    storage_c: float | None = None
    room_rh_percent: float | None = None
    contents: str = CRUDE
    look: str = ""
    looked_at: datetime | None = None
    planned: bool = False

    def __post_init__(self) -> None:
        """Check the words; raises InputError ``jar.*``."""
        for name, known in _JAR_WORDS.items():
            value = getattr(self, name)
            if value and value not in known:
                raise InputError("jar.word", name=name, value=value, known=", ".join(known))

    @property
    def is_residue(self) -> bool:
        """Whether the jar holds residue that waits for disposal, not crude for an attempt."""
        return self.contents == RESIDUE

    @property
    def is_ageing(self) -> bool:
        """Whether the jar stands on the shelf with crude in it."""
        return self.emptied_at is None and not self.planned and not self.is_residue


@dataclass(frozen=True)
class Masses:
    """Weighings of one attempt in grams; None means not weighed."""

    charge_g: float | None = None
    product_g: float | None = None
    beads_g: float | None = None
    residue_g: float | None = None
    additive_g: float | None = None

    def __post_init__(self) -> None:
        """Make plain numbers, and refuse negative masses with InputError ``mass.negative``."""
        for name, value in tuple(vars(self).items()):
            _make_plain(self, name, float)
            if value is not None and not value >= 0:
                raise InputError("mass.negative", name=name, value=value)


@dataclass(frozen=True)
class Origin:
    """Where a pooled attempt was made: bench, title and fingerprint of its session, its id and number there."""

    bench: str
    session: str
    fingerprint: str
    attempt_id: str
    number: int


@dataclass(frozen=True)
class AgeOverride:
    """An age that the person typed in place of the computed one, with the reason."""

    factor: str
    computed: float | None
    reason: str


def _clean_count(parted: Parted | None, pooled: Pooled | None) -> tuple[int, int] | None:
    outcome = derive_outcome(parted=parted, pooled=pooled, successes=None, trials=1, aborted=False)
    return None if outcome is Outcome.NOT_GRADED else (int(outcome is Outcome.CLEAN), 1)


# Settled once: every refresh asks it of every attempt.
_CLEAN_COUNTS = {
    (parted, pooled): _clean_count(parted, pooled) for parted in (None, *Parted) for pooled in (None, *Pooled)
}


@dataclass(frozen=True)
class Attempt:
    """One melt-and-stir attempt at the conditions that were really reached.

    Either the gates are graded (``parted``, ``pooled``), or ``successes`` of ``trials`` are counted (a published
    table, or a simple clean or not). ``id`` never changes; ``number`` is what people call it. ``lot_id`` is kept
    beside ``jar_id`` so that an attempt may belong to a lot without a jar. A struck-out attempt keeps its record.
    ``run_id`` is the guided run that it came from, ``proof_id`` the proof that it belongs to. ``origin`` tells of a
    pooled attempt where it was made.
    """

    id: str
    number: int
    conditions: Conditions
    started_at: datetime | None = None
    recorded_at: datetime | None = None
    lot_id: str | None = None
    jar_id: str | None = None
    parted: Parted | None = None
    pooled: Pooled | None = None
    successes: int | None = None
    trials: int = 1
    aborted: bool = False
    abort_reason: str = ""
    masses: Masses = field(default_factory=Masses)
    note: str = ""
    overrides: tuple[AgeOverride, ...] = ()
    struck_reason: str | None = None
    invented: bool = False
    facts: RunFacts = NO_FACTS
    sheet: WeighingSheet = NO_SHEET
    run_id: str | None = None
    proof_id: str | None = None
    origin: Origin | None = None

    def __post_init__(self) -> None:
        """Check that counts and gates make sense; raises InputError ``attempt.*``."""
        _make_plain(self, "trials", int)
        _make_plain(self, "successes", int)
        if self.trials < 1:
            raise InputError("attempt.no_trials", trials=self.trials)
        if self.successes is not None and not 0 <= self.successes <= self.trials:
            raise InputError("attempt.count_outside", successes=self.successes, trials=self.trials)
        if self.parted is not None and self.successes is not None:
            raise InputError("attempt.gates_and_count")
        if self.parted is Parted.NO and self.pooled not in (None, Pooled.NOT_OBSERVED):
            raise InputError("attempt.pool_without_parting", pooled=self.pooled)
        if self.pooled is not None and self.parted is None:
            raise InputError("attempt.pool_without_gate_1")

    @property
    def outcome(self) -> Outcome:
        """The outcome that follows from the grades or the count."""
        return derive_outcome(
            parted=self.parted,
            pooled=self.pooled,
            successes=self.successes,
            trials=self.trials,
            aborted=self.aborted,
        )

    @property
    def is_struck(self) -> bool:
        """Whether the attempt was struck out and no longer counts."""
        return self.struck_reason is not None

    @property
    def clean_count(self) -> tuple[int, int] | None:
        """Clean successes and trials of this attempt, or None when it says nothing about a clean separation."""
        if self.aborted or self.struck_reason is not None:
            return None
        if self.successes is not None:
            return self.successes, self.trials
        return _CLEAN_COUNTS[self.parted, self.pooled]


def computed_ages(
    factors: tuple[Factor, ...], *, lot: Lot | None, jar: Jar | None, started_at: datetime
) -> Mapping[str, float]:
    """Return the values of the age and oil-exposure factors that the time stamps give, in each factor's unit.

    Sample age runs from the making of the lot, oil exposure from the start of the jar; where one of the stamps
    is missing, or the factor's unit is no time, the factor is left out. Raises InputError ``time.runs_backwards``.
    """
    starts = {
        Role.SAMPLE_AGE: lot.made_at if lot else None,
        Role.OIL_EXPOSURE: jar.started_at if jar else None,
    }
    ages: dict[str, float] = {}
    for factor in factors:
        start = starts.get(factor.role) if factor.role else None
        if start is not None and not factor.is_choice and unit_kind(factor.unit) == "time":
            ages[factor.name] = convert(age_h(start, started_at), "h", factor.unit)
    return MappingProxyType(ages)


def own_bench(settings: CampaignSettings) -> str:
    """Return what the bench of this session is called; a session that has no name for it says "this bench"."""
    return settings.bench_name.strip() or THIS_BENCH


def bench_of(attempt: Attempt, settings: CampaignSettings) -> str:
    """Return the bench where an attempt was made: that of its origin, or the session's own where it has none."""
    return own_bench(settings) if attempt.origin is None else attempt.origin.bench


def find_factor(factors: tuple[Factor, ...], name: str) -> Factor:
    """Return the factor called ``name`` (letter case and spaces do not matter); raises InputError."""
    wanted = " ".join(name.split()).casefold()
    for factor in factors:
        if factor.name.casefold() == wanted:
            return factor
    raise InputError("factor.unknown", name=name, known=", ".join(factor.name for factor in factors))
