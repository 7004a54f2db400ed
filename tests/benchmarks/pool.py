"""A pooled session of 100,000 attempts: timings and memory of everything a person does with it.

The data are invented: eight benches that differ by a random intercept, forty lots and four hundred jars each. Run
it with ``python tests/benchmarks/pool.py``; ``--attempts 20000`` takes fewer, ``--keep FOLDER`` keeps files. The
coefficients of the plain model are held against statsmodels on the same rows, to a hundredth of a standard error.
Exit code 1 when a budget (in seconds) is not kept or the coefficients differ.
"""

from __future__ import annotations

import argparse
import resource
import sys
import tempfile
import time
import uuid
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor, Role, Scale
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.session.analysis import Analysis, analyse, refine
from stirfall.session.benches import holds_elsewhere
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document
from stirfall.session.pooling import PoolSource, pool

BENCHES, LOTS, JARS = 8, 40, 400
BENCH_SD = 0.6
BEGAN = datetime(2020, 1, 6, 18, 0, tzinfo=UTC)
MADE = datetime(2026, 6, 1, 12, 0, tzinfo=UTC)
FACTORS = (
    Factor("sample age", "h", 1.0, 240.0, Scale.LOG, role=Role.SAMPLE_AGE),
    Factor("temperature", "C", 140.0, 170.0, role=Role.TEMPERATURE),
    Factor("stirring speed", "1/min", 20.0, 180.0),
    Factor("stirring time", "s", 15.0, 600.0, Scale.LOG),
    Factor("action", levels=("swirl", "fold", "press")),
)
# On the internal scale, intercept first; per gate.
TRUTH = {
    "parted": np.array([0.6, 1.1, 0.4, 0.3, 0.5, 0.4, -0.3]),
    "pooled": np.array([0.8, -0.5, 0.7, -0.3, 0.4, 0.2, 0.2]),
}
SETTINGS = CampaignSettings(
    title="Invented bench",
    material=MaterialClass.BASE_METAL,
    metal="dross",
    melting_point_c=138.0,
    oil="white oil",
    oil_flash_c=225.0,
    invented=True,
)
BUDGETS = {"open": 10.0, "first answer": 10.0, "refined answer": 90.0, "one recording": 0.2}


def bench_sources(attempts: int, *, seed: int = 1) -> tuple[PoolSource, ...]:
    """Return the sessions of all benches with so many attempts together; every other bench counts ages in days."""
    rng = np.random.default_rng(seed)
    each = attempts // BENCHES
    effects = bench_effects(seed)
    return tuple(
        _source(place, each, {name: effect[place] for name, effect in effects.items()}, rng)
        for place in range(BENCHES)
    )


def bench_effects(seed: int = 1) -> dict[str, np.ndarray]:
    """Return what each bench does to the log odds of each gate, in the order of the benches."""
    rng = np.random.default_rng([seed, 7])
    return {name: BENCH_SD * rng.normal(size=BENCHES) for name in TRUTH}


def _source(place: int, count: int, effects: dict[str, float], rng: np.random.Generator) -> PoolSource:
    name = f"Bench {place + 1}"
    u = rng.uniform(-1.0, 1.0, (count, 4))
    action = rng.integers(0, 3, count)
    columns = np.column_stack([np.ones(count), u, action == 1, action == 2])
    parted = rng.random(count) < _expit(columns @ TRUTH["parted"] + effects["parted"])
    pooled = rng.random(count) < _expit(columns @ TRUTH["pooled"] + effects["pooled"])
    in_days = place % 2 == 1
    factors = FACTORS if not in_days else (replace(FACTORS[0], unit="d", low=1.0 / 24, high=10.0), *FACTORS[1:])
    lots = tuple(Lot(f"L{at + 1}", BEGAN) for at in range(LOTS))
    jars = tuple(Jar(f"J{at + 1}", f"L{at % LOTS + 1}", BEGAN, emptied_at=MADE) for at in range(JARS))
    values = [[factor.from_unit_interval(float(x)) for x in u[:, at]] for at, factor in enumerate(FACTORS[:4])]
    attempts = tuple(
        Attempt(
            uuid.uuid5(uuid.NAMESPACE_OID, f"{place}/{at}").hex,
            at + 1,
            Conditions(
                {
                    "sample age": values[0][at] / (24.0 if in_days else 1.0),
                    "temperature": values[1][at],
                    "stirring speed": values[2][at],
                    "stirring time": values[3][at],
                    "action": FACTORS[4].levels[action[at]],
                }
            ),
            started_at=BEGAN + timedelta(minutes=30 * at + place),
            recorded_at=BEGAN + timedelta(minutes=30 * at + place + 20),
            lot_id=f"L{at % LOTS + 1}",
            jar_id=f"J{at % LOTS + 1 + LOTS * (at % (JARS // LOTS))}",
            parted=Parted.YES if parted[at] else Parted.NO,
            pooled=(Pooled.ONE_POOL if pooled[at] else Pooled.BEADS) if parted[at] else Pooled.NOT_OBSERVED,
            invented=True,
        )
        for at in range(count)
    )
    state = CampaignState(replace(SETTINGS, bench_name=name), factors, lots, jars, attempts)
    return PoolSource(f"{name}.stirfall", state)


def _expit(eta: np.ndarray) -> np.ndarray:
    return 1.0 / (1.0 + np.exp(-eta))


# --------------------------------------------------------------------------------------------------- measuring


@dataclass
class Stopwatch:
    """Prints what each step took, and keeps whether the budgets were kept."""

    kept: bool = True

    def __call__(self, name: str, started: float) -> float:
        """Print one step that began at ``started``."""
        took = time.perf_counter() - started
        budget = BUDGETS.get(name)
        verdict = "" if budget is None else f"  budget {budget:g} s {'kept' if took <= budget else 'BROKEN'}"
        self.kept &= budget is None or took <= budget
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
        print(f"{took:8.2f} s  {memory:6.0f} MiB at most so far  {name}{verdict}", flush=True)
        return took


def coefficient_gaps(analysis: Analysis) -> dict[str, float]:
    """Return per gate the largest distance of our posterior means from maximum likelihood, in standard errors.

    The maximum is that of statsmodels on the same rows; with so many rows priors of sd 2 move it by less than a
    hundredth of a standard error.
    """
    import statsmodels.api as sm

    gaps = {}
    for gate, rows in analysis.rows.items():
        fit = sm.GLM(np.column_stack([rows.k, rows.n - rows.k]), rows.X, family=sm.families.Binomial()).fit()
        posterior = next(each.posterior for each in analysis.base.gates if each.name == gate)
        gaps[gate] = float(np.abs((posterior.mode - fit.params) / fit.bse).max())
    return gaps


def main() -> int:
    """Measure, print, and return 1 when a budget is not kept or coefficients differ."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--attempts", type=int, default=100_000)
    parser.add_argument("--keep", type=Path)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = chosen.keep or Path(temporary)
        folder.mkdir(exist_ok=True)
        return 0 if measure(folder, chosen.attempts) else 1


def measure(folder: Path, attempts: int) -> bool:
    """Print the figures of a pooled session made in ``folder``; return whether all is kept."""
    watch, path = Stopwatch(), folder / "pooled.stirfall"
    started = time.perf_counter()
    sources = bench_sources(attempts)
    watch("making the benches (not part of the job)", started)
    started = time.perf_counter()
    pooled = pool(sources, made_at=MADE)
    watch("pooling", started)
    started = time.perf_counter()
    path.unlink(missing_ok=True)
    pooled.write(path).close()
    watch("writing", started)
    del pooled, sources
    started = time.perf_counter()
    document = Document.open(path)
    watch("open", started)
    print(f"          {len(document.state.attempts)} attempts, {path.stat().st_size / 2**20:.0f} MiB on disk")
    started = time.perf_counter()
    first = analyse(document.state)
    watch("first answer", started)
    started = time.perf_counter()
    refined = refine(first)
    watch("refined answer", started)
    started = time.perf_counter()
    found = holds_elsewhere(refined)
    watch("does it hold for others", started)
    print(f"          {found.verdict.code}, sd {[round(each.sd, 2) for each in found.spreads]}, truth {BENCH_SD}")
    for _ in range(2):  # the second does not pay for what is made once
        started = time.perf_counter()
        document.execute(RecordAttempt(Attempt("", 0, document.state.attempts[7].conditions, parted=Parted.NO)))
        watch("one recording", started)
    started = time.perf_counter()
    document.undo()
    watch("undo", started)
    started = time.perf_counter()
    document.close()
    watch("close", started)
    gaps = coefficient_gaps(first)
    print(f"          coefficients against statsmodels, in standard errors: {gaps}")
    return watch.kept and max(gaps.values()) < 0.01


if __name__ == "__main__":
    sys.exit(main())
