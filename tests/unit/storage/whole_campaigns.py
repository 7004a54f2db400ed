"""Hypothesis strategies over whole campaigns: all kinds of records, with what people type and clocks say."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

from hypothesis import strategies as st

from stirfall.bench.campaign import CampaignState, ChecklistTick, Correction
from stirfall.bench.comparisons import Comparison, Group, Measure
from stirfall.bench.factors import Conditions, Factor, Role, Scale, Value
from stirfall.bench.issued import ChangeMark, IssuedRecipe, MarkKind
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.plans import PURPOSES, EveningPlan, PlannedAttempt, PlanSettings
from stirfall.bench.proofs import Proof, ProofRule
from stirfall.bench.records import (
    CRUDE,
    JAR_MATERIALS,
    PARTLY_CHOICES,
    AgeOverride,
    Attempt,
    CampaignSettings,
    Jar,
    Lot,
    Masses,
    Origin,
)
from stirfall.bench.run_facts import OIL_REMOVALS, AcceptedWarning, RunFacts, WeighingSheet
from stirfall.bench.running import (
    MARKS,
    Acknowledgement,
    EventKind,
    PlannedStep,
    Regrade,
    Run,
    RunEvent,
    Step,
    TemperatureLog,
)
from stirfall.bench.substances import OilHistory, SurfaceLook
from stirfall.session.planned_evidence import CLASSES
from stirfall.storage.bulky import Pair
from stirfall.storage.edits import StoredAnchor, StoredPhoto
from stirfall.storage.package_content import LeftOut, PackageContent, PackageFacts

ODD = (
    "", " ", "=1+1", "+2", "-3", "@SUM(A1)", "\tx", "\rx", "\nx", "'", "'=1", "'\\", '"', '""', "a,b", "a;b",
    "a\r\nb", "\ufeff", "\0", "x\0y", "\uff1d1", " =1", "null", "nan", "[]", "{}", "\u2028", "\U0001f525",
    "\u202emirror", "\x7f", "é" * 40, "1e5", "true", "\\u0000", "\x1a", "e\u0301",
)  # fmt: skip
EVEN = (
    "note", "fold", "second lot", "Ga & In", "0,5 mm", "swirl; then press", "ten\nlines", "“quoted”", "5 °C",
)  # fmt: skip
TEXT = st.sampled_from(ODD + EVEN) | st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
WORDS = TEXT.filter(lambda text: text.strip() == text and text != "")
NUMBERS = st.sampled_from((0.0, -0.0, 5e-324, 1.7976931348623157e308, -1e-300, 0.1, 1 / 3, 1e22, 123456789.125)) | (
    st.floats(allow_nan=False, allow_infinity=False)
)
AMOUNTS = st.sampled_from((0.0, 5e-324, 1e300, 0.1, 12.5)) | st.floats(0, 1e12)
SHARES = st.floats(0.0, 100.0)
WARM = st.floats(-270.0, 4000.0)
_START = datetime(1990, 1, 1)  # noqa: DTZ001 - the zone comes with the strategy
_ZONES = st.sampled_from([UTC, timezone(timedelta(hours=-5, minutes=-30))])
TIMES = st.datetimes(_START, datetime(2100, 1, 1), timezones=_ZONES)  # noqa: DTZ001
LEVELS = ("none", "=HYPERLINK(1)", "'quoted", "a,b", "")
FACTORS = (
    Factor("sample age", "h", 0.5, 240.0, Scale.LOG, default=24.0),
    Factor("=2+3", "C", -10.5, 200.0, step=0.25, role=Role.TEMPERATURE),
    Factor('dose, "mg"', "mg/g", 0.0, 1e6, hidden=True),
    Factor("action", levels=LEVELS, default=""),
    Factor("id", "", 1e-9, 1e9, Scale.LOG),
)
JSON = st.dictionaries(TEXT, NUMBERS | TEXT | st.none(), max_size=2)


def maybe(strategy: st.SearchStrategy) -> st.SearchStrategy:
    """Return what the strategy gives, or nothing."""
    return st.none() | strategy


def ids(prefix: str, most: int = 2) -> st.SearchStrategy[list[str]]:
    """Return lists of different ids, some of them odd."""
    odd = st.sampled_from(("=A1", "-1", "@x", "'q", 'a,"b"', "ü", "two words", "x" * 300))
    plain = st.integers(1, 99).map(lambda number: f"{prefix}{number}")
    return st.lists(plain | odd.map(lambda text: f"{text}{prefix}"), unique_by=str.casefold, max_size=most)


def values(factor: Factor) -> st.SearchStrategy[Value]:
    """Return values that the factor can have."""
    if factor.is_choice:
        return st.sampled_from(factor.levels)
    return st.floats(1e-9, 1e12) if factor.scale is Scale.LOG else NUMBERS


@st.composite
def conditions(draw: st.DrawFn, factors: tuple[Factor, ...]) -> Conditions:
    """Draw conditions, some of them unknown."""
    pairs = [(factor.name, draw(maybe(values(factor)))) for factor in factors]
    return Conditions([(name, value) for name, value in pairs if value is not None])


@st.composite
def lots(draw: st.DrawFn) -> tuple[Lot, ...]:
    """Draw lots."""
    amounts = [maybe(SHARES), TEXT, maybe(SHARES), maybe(SHARES), maybe(st.integers(0, 99))]
    return tuple(Lot(name, draw(maybe(TIMES)), *(draw(each) for each in amounts)) for name in draw(ids("L")))


@st.composite
def jars(draw: st.DrawFn, lots: tuple[Lot, ...]) -> tuple[Jar, ...]:
    """Draw jars of the lots; none where there are none."""
    found = []
    for name in draw(ids("J")) if lots else []:
        started_at = draw(TIMES)
        found.append(
            Jar(
                name,
                draw(st.sampled_from(lots)).id,
                started_at,
                draw(TEXT),
                draw(maybe(AMOUNTS)),
                draw(TEXT),
                draw(maybe(AMOUNTS)),
                draw(TEXT),
                draw(maybe(st.just(started_at + timedelta(hours=1, microseconds=3)))),
                piece_count=draw(maybe(st.integers(1, 10**6))),
                material=draw(st.sampled_from(("", *JAR_MATERIALS))),
                oil_history=draw(st.sampled_from(("", *OilHistory))),
                storage_c=draw(maybe(WARM)),
                room_rh_percent=draw(maybe(SHARES)),
                contents=CRUDE,
                look=draw(st.sampled_from(("", *SurfaceLook))),
                looked_at=draw(maybe(TIMES)),
            )
        )
    return tuple(found)


FACTS = st.builds(
    RunFacts,
    look=st.sampled_from(("", *SurfaceLook)),
    room_rh_percent=maybe(SHARES),
    oil_ml=maybe(AMOUNTS),
    peak_c=maybe(NUMBERS),
    ticked=st.lists(TEXT, max_size=2).map(tuple),
    accepted=st.lists(st.builds(AcceptedWarning, TEXT, TEXT, TEXT, TEXT), max_size=1).map(tuple),
    operator=TEXT,
    tool=TEXT,
)
SHEETS = st.builds(
    WeighingSheet,
    tares=st.lists(st.tuples(st.sampled_from(("product_g", "beads_g")), AMOUNTS), max_size=1).map(tuple),
    step_g=maybe(st.floats(1e-6, 10.0)),
    oil_removed=st.sampled_from(("", *OIL_REMOVALS)),
    purity_percent=maybe(SHARES),
)
MASSES = st.builds(Masses, *[maybe(AMOUNTS)] * 5)
ORIGINS = st.builds(Origin, TEXT, TEXT, TEXT, TEXT, st.integers(0, 10**9))


@st.composite
def attempts(draw: st.DrawFn, number: int, lots: tuple[Lot, ...], jars: tuple[Jar, ...]) -> Attempt:
    """Draw one attempt."""
    graded = draw(st.booleans())
    parted = draw(st.sampled_from(Parted)) if graded else None
    pooled = draw(maybe(st.sampled_from(Pooled))) if graded and parted is not Parted.NO else None
    trials = draw(st.integers(1, 10**6))
    jar = draw(maybe(st.sampled_from(jars))) if jars else None
    lot_id = jar.lot_id if jar else (draw(maybe(st.sampled_from(lots))) or Lot("")).id or None if lots else None
    return Attempt(
        id=f"{draw(st.sampled_from(('a', '=a', '-')))}{number}",
        number=number * draw(st.sampled_from((1, 1000))) + number,
        conditions=draw(conditions(FACTORS)),
        started_at=draw(maybe(TIMES)),
        recorded_at=draw(maybe(TIMES)),
        lot_id=lot_id,
        jar_id=jar.id if jar else None,
        parted=parted,
        pooled=pooled,
        successes=None if graded else draw(maybe(st.integers(0, trials))),
        trials=trials,
        aborted=draw(st.booleans()),
        abort_reason=draw(TEXT),
        masses=draw(MASSES),
        note=draw(TEXT),
        overrides=tuple(draw(st.lists(st.builds(AgeOverride, TEXT, maybe(NUMBERS), TEXT), max_size=1))),
        struck_reason=draw(maybe(TEXT)),
        invented=draw(st.booleans()),
        facts=draw(FACTS),
        sheet=draw(SHEETS),
        origin=draw(maybe(ORIGINS)),
    )


@st.composite
def runs(draw: st.DrawFn, attempts: tuple[Attempt, ...]) -> tuple[Run, ...]:
    """Draw runs, each recorded as the attempt in the same place."""
    found = []
    for number, attempt in enumerate(attempts[: draw(st.integers(0, len(attempts)))]):
        run_id = f"'r{number}"
        steps = draw(
            st.lists(st.builds(PlannedStep, st.sampled_from(Step), maybe(AMOUNTS), maybe(WARM), TEXT), max_size=2)
        )
        kinds = [kind for kind in EventKind if kind is not EventKind.STEP]
        events = [
            RunEvent(f"{run_id} e{place}", run_id, draw(st.sampled_from(kinds)), draw(TIMES), draw(TEXT),
                     draw(st.sampled_from(MARKS)), draw(maybe(NUMBERS)), draw(TEXT), draw(maybe(AMOUNTS)),
                     draw(TEXT))
            for place in range(draw(st.integers(0, 2)))
        ]  # fmt: skip
        found.append(
            Run(run_id, draw(TIMES), draw(conditions(FACTORS)), tuple(steps), attempt.jar_id, attempt.lot_id,
                attempt.id, draw(TIMES), draw(TEXT), tuple(events))
        )  # fmt: skip
    return tuple(found)


@st.composite
def proofs(draw: st.DrawFn) -> tuple[Proof, ...]:
    """Draw proofs, of both rules; at most one is still open."""
    found = []
    for number in range(draw(st.integers(0, 2))):
        rule = draw(st.sampled_from(ProofRule))
        in_turn = rule is ProofRule.SEQUENTIAL
        recipe = Conditions({"=2+3": draw(WARM), "action": draw(st.sampled_from(LEVELS))})
        found.append(
            Proof(f"p{number}", draw(TIMES), recipe, rule, draw(st.floats(0.1, 0.8)), draw(st.floats(0.5, 0.99)),
                  draw(st.integers(20, 300)), draw(st.integers(0, 3)),
                  draw(st.floats(0.85, 0.99)) if in_turn else None,
                  draw(st.floats(0.01, 0.4)) if in_turn else None, draw(st.sampled_from(({}, {"=2+3": 2.5}))),
                  draw(TEXT), draw(TIMES), draw(WORDS))
        )  # fmt: skip
    return tuple(found)


@st.composite
def evenings(draw: st.DrawFn, jars: tuple[Jar, ...], lots: tuple[Lot, ...]) -> tuple[EveningPlan, ...]:
    """Draw plans of evenings."""
    found = []
    for number in range(draw(st.integers(0, 1))):
        lines = [
            PlannedAttempt(
                draw(conditions(FACTORS)),
                draw(st.sampled_from([None, *(jar.id for jar in jars)])),
                draw(st.sampled_from([None, *(lot.id for lot in lots)])),
                draw(st.sampled_from(PURPOSES)),
                draw(TEXT),
                draw(st.floats(0, 24)),
            )
            for _ in range(draw(st.integers(1, 2)))
        ]
        hours, seed = draw(st.floats(0.5, 12)), draw(st.integers(0, 2**63 - 1))
        found.append(
            EveningPlan(f"v{number}", draw(TIMES), draw(TIMES), hours, seed, tuple(lines), draw(maybe(TIMES)))
        )
    return tuple(found)


def _period(at: datetime) -> Group:
    since = at.astimezone(UTC).replace(microsecond=at.microsecond // 1000 * 1000)  # as files keep it
    return Group("period", since=since, until=since + timedelta(days=1))


GROUPS = (
    st.builds(Group, st.sampled_from(("lot", "jar", "day", "operator", "tool")), TEXT)
    | st.builds(Group, st.just("factor:action"), st.sampled_from(LEVELS))
    | st.builds(Group, st.just("factor:=2+3"), st.just(""), st.floats(-5, 5), maybe(st.floats(6, 9)))
    | TIMES.map(_period)
    | st.lists(st.sampled_from("abcd"), min_size=1, unique=True).map(
        lambda chosen: Group("chosen", attempts=tuple(sorted(chosen)))
    )
)


@st.composite
def findings(draw: st.DrawFn, state: CampaignState) -> CampaignState:
    """Add comparisons, issued recipes and marks."""
    pairs = draw(st.lists(st.lists(GROUPS, min_size=2, max_size=2, unique=True), max_size=1))
    return replace(
        state,
        comparisons=tuple(
            Comparison(f"=c{number}", draw(TIMES), first, second, draw(st.sampled_from(Measure)))
            for number, (first, second) in enumerate(pairs)
        ),
        recipes=tuple(
            IssuedRecipe(f"i{number}", number + 1, draw(TIMES), draw(TEXT), draw(conditions(FACTORS)),
                         json.dumps(draw(JSON)), draw(TEXT), draw(TEXT), draw(TEXT))
            for number in range(draw(st.integers(0, 1)))
        ),
        marks=tuple(
            ChangeMark(f"m{number}", draw(TIMES), draw(st.sampled_from(MarkKind)), draw(WORDS))
            for number in range(draw(st.integers(0, 1)))
        ),
    )  # fmt: skip


SETTINGS = st.builds(
    CampaignSettings,
    title=TEXT,
    material=st.sampled_from(MaterialClass),
    metal=TEXT,
    melting_point_c=maybe(WARM),
    oil=TEXT,
    oil_flash_c=maybe(WARM),
    invented=st.booleans(),
    gates=st.sampled_from((1, 2)),
    level=st.floats(0.5, 0.999),
    intercept_prior_sd=st.floats(1e-3, 1e3),
    effect_prior_sd=st.floats(1e-3, 1e3),
    humps=st.sampled_from(((), ("=2+3",))),
    products=st.sampled_from(((), (("=2+3", "id"),))),
    partly=st.sampled_from(PARTLY_CHOICES),
    lot_effect=st.sampled_from(("lot", "jar", "none", "action")),
    lot_sd_prior=st.floats(1e-3, 1e3),
    plan=st.builds(
        PlanSettings,
        attempt_h=st.floats(0.1, 10),
        bench_days=st.sampled_from(((1,), (2, 4, 6))),
        control=st.sampled_from(((), (("=2+3", 0.5),))),
    ),
    bench_name=TEXT,
)
ACTS = st.lists(TIMES, max_size=2)
CORRECTIONS = st.lists(st.builds(Correction, TIMES, *[TEXT] * 7), max_size=2).map(tuple)


@st.composite
def campaigns(draw: st.DrawFn) -> CampaignState:
    """Draw a campaign that a session file can hold as it is, but for microseconds and zones."""
    found_lots = draw(lots())
    found_jars = draw(jars(found_lots))
    tried = tuple(draw(attempts(number, found_lots, found_jars)) for number in range(1, draw(st.integers(1, 4))))
    held = draw(runs(tried))
    by_attempt = {run.attempt_id: run.id for run in held}
    found_proofs = draw(proofs())
    proof_ids = [None, *(proof.id for proof in found_proofs)]
    tried = tuple(
        replace(each, run_id=by_attempt.get(each.id), proof_id=draw(st.sampled_from(proof_ids))) for each in tried
    )
    words = st.sampled_from([outcome.value for outcome in CLASSES])
    graded = [st.builds(Regrade, st.just(f"g{each.id}"), st.just(each.id), TIMES, words) for each in tried[:1]]
    state = CampaignState(
        draw(SETTINGS),
        FACTORS,
        found_lots,
        found_jars,
        tried,
        tuple(draw(st.lists(st.builds(ChecklistTick, TEXT, TIMES, TEXT, st.tuples(TEXT)), max_size=1))),
        held,
        tuple(draw(each) for each in graded if draw(st.booleans())),
        tuple(Acknowledgement(f"k{number}", draw(TEXT), at) for number, at in enumerate(draw(ACTS))),
        found_proofs,
        draw(evenings(found_jars, found_lots)),
    )
    return draw(findings(state))


@st.composite
def bulky(draw: st.DrawFn, state: CampaignState) -> tuple[Pair, ...]:
    """Draw photos, examples and temperature logs, in the order in which a session file gives them back."""
    pictures = st.sampled_from((b"\xff\xd8", b"\x89PNG\r\n", b"\0" * 70_000, b"PK\x03\x04"))
    kinds = st.sampled_from(("image/jpeg", "image/png", "image/x-odd"))
    found: list[Pair] = []
    for number, attempt in enumerate(state.attempts):
        original = draw(st.just(b"") | pictures)
        photo = StoredPhoto(attempt.id, draw(TEXT), draw(kinds), draw(TIMES), draw(pictures), original)
        found += [(f"=f{number}", photo)] * draw(st.integers(0, 1))
    for number, outcome in enumerate(draw(st.lists(st.sampled_from(CLASSES), max_size=2))):
        found.append(
            (f"n{number}", StoredAnchor(outcome.value, draw(TEXT), draw(kinds), draw(TIMES), draw(pictures)))
        )
    for number, attempt in enumerate(state.attempts[:1] * draw(st.integers(0, 2))):
        start = draw(TIMES)
        steps = sorted(draw(st.lists(st.integers(0, 10**9), min_size=1, max_size=4)))
        points = tuple((start + timedelta(milliseconds=step), draw(NUMBERS)) for step in steps)
        log_id = f"-t{number}"
        found.append((log_id, TemperatureLog(log_id, attempt.id, draw(TEXT), draw(TIMES), points)))
    return tuple(found)


FACTS_OF_PACKAGES = st.builds(
    PackageFacts,
    st.none() | TIMES.map(lambda at: at.replace(microsecond=0)),
    WORDS,
    TEXT,
    st.lists(WORDS, max_size=1).map(tuple),
    st.builds(LeftOut, *[st.integers(0, 9)] * 4),
)


@st.composite
def contents(draw: st.DrawFn) -> PackageContent:
    """Draw everything that a package can hold."""
    state = draw(campaigns())
    return PackageContent(state, draw(CORRECTIONS), draw(TEXT), draw(bulky(state)), draw(FACTS_OF_PACKAGES))
