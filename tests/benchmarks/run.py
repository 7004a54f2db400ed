"""Speed figures as ratios measured in one run, so that they mean the same on any machine.

The unit is the bare import of PySide6.QtWidgets, pyqtgraph, pandas and scipy.stats in a new process. Run it with
``python tests/benchmarks/run.py``; ``--quick`` takes fewer repeats, ``--no-sampler`` and ``--no-large`` leave out
what takes minutes. Exit code 1 when a budget is not kept. Three budgets are in seconds, as people wait in seconds;
their figures are printed as ratios too.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.session.analysis import analyse
from stirfall.session.commands import RecordAttempt
from stirfall.session.document import Document

HERE = Path(__file__).resolve().parent
BARE = (
    "import PySide6.QtWidgets, pyqtgraph, pandas, scipy.stats\nprint('ready', flush=True)\nimport os\nos._exit(0)"
)


@dataclass(frozen=True)
class Figure:
    """One figure: what it is, its ratio, and the most or the least that it may be (None: no such budget)."""

    name: str
    ratio: float
    budget: float | None
    detail: str
    least: float | None = None

    @property
    def is_kept(self) -> bool:
        """Whether the budget is kept."""
        return (self.budget is None or self.ratio <= self.budget) and (
            self.least is None or self.ratio >= self.least
        )

    def __str__(self) -> str:
        budget = "" if self.budget is None else f"  budget {self.budget:.3g}"
        budget += "" if self.least is None else f"  at least {self.least:.3g}"
        verdict = ("  kept" if self.is_kept else "  BROKEN") if budget else ""
        return f"{self.ratio:7.3f}  {self.name} ({self.detail}){budget}{verdict}"


def seconds_until_ready(*arguments: str) -> float:
    """Start a new Python process and return the time until it prints that it is ready."""
    environment = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    started = time.perf_counter()
    with subprocess.Popen(
        [sys.executable, *arguments], stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        for line in process.stdout:
            if line.strip() == "ready":
                return time.perf_counter() - started
    raise RuntimeError(f"the process ended before it was ready: {arguments[0]}")


def start_figure(session: Path, folder: Path, repeats: int) -> tuple[Figure, float]:
    """Return the cold start to a usable form against the bare imports, and the bare imports in seconds.

    The two are measured in turn, so that a busy machine slows both; the first of each only warms the disk cache.
    """
    form_script = str(HERE / "open_form.py")
    bare, form = [], []
    for _ in range(repeats + 1):
        bare.append(seconds_until_ready("-c", BARE))
        form.append(seconds_until_ready(form_script, str(session), str(folder)))
    unit, usable = statistics.median(bare[1:]), statistics.median(form[1:])
    detail = f"{usable:.2f} s against {unit:.2f} s"
    return Figure("cold start to a usable form / bare imports", usable / unit, 1.3, detail), unit


def made_attempts(count: int, *, seed: int = 7) -> list[Attempt]:
    """Return invented attempts over the standard factors, with an optimum in age."""
    rng = np.random.default_rng(seed)
    attempts = []
    for number in range(1, count + 1):
        values: dict[str, float | str] = {}
        for factor in standard_factors():
            if factor.is_choice:
                values[factor.name] = factor.levels[int(rng.integers(len(factor.levels)))]
            else:
                values[factor.name] = factor.snap(factor.from_unit_interval(rng.uniform(-1.0, 1.0)))
        film = np.log(float(values["sample age"]) / 20.0)
        parted = rng.random() < 1.0 / (1.0 + np.exp(-1.0 - 1.2 * film))
        pooled = rng.random() < 1.0 / (1.0 + np.exp(-1.2 + 1.3 * film))
        attempts.append(
            Attempt(
                id=f"a{number:05d}",
                number=number,
                conditions=Conditions(values),
                parted=Parted.YES if parted else Parted.NO,
                pooled=(Pooled.ONE_POOL if pooled else Pooled.BEADS) if parted else None,
            )
        )
    return attempts


def campaign_settings() -> CampaignSettings:
    """Return settings under which suggestions are allowed."""
    return CampaignSettings(
        title="Benchmark", material=MaterialClass.BASE_METAL, melting_point_c=70.0, oil_flash_c=235.0, invented=True
    )


def refresh_seconds(folder: Path, attempts: int, repeats: int) -> float:
    """Return the time from recording an attempt to new odds, their curve and three suggestions.

    As in a window that is in use, the first refresh of the process is not counted: it loads libraries.
    """
    made = made_attempts(attempts + repeats + 1)
    path = folder / f"refresh-{attempts}.stirfall"
    times = []
    with Document.create(path, campaign_settings(), standard_factors(), attempts=made[:attempts]) as document:
        for attempt in made[attempts:]:
            started = time.perf_counter()
            document.execute(RecordAttempt(attempt))
            answer(document.state, attempt.conditions)
            times.append(time.perf_counter() - started)
    return statistics.median(times[1:])


def answer(state: CampaignState, conditions: Conditions) -> None:
    """Compute what the odds pane shows after an attempt."""
    analysis = analyse(state)
    analysis.estimate(conditions)
    analysis.gate_estimates(conditions)
    analysis.curve("sample age", conditions)
    if len(analysis.suggest(count=3, goal="reliable")) != 3:
        raise RuntimeError("three suggestions were expected")


def refresh_figures(folder: Path, unit: float, repeats: int) -> list[Figure]:
    """Return the refresh for 60 and for 5,000 attempts, in units of the bare imports."""
    few = refresh_seconds(folder, 60, repeats)
    many = refresh_seconds(folder, 5000, max(2, repeats // 2))
    return [
        Figure("record to refreshed odds, 60 attempts / bare imports", few / unit, 0.11, f"{few:.3f} s"),
        Figure("record to refreshed odds, 5,000 attempts / bare imports", many / unit, None, f"{many:.3f} s"),
    ]


def in_lots(attempts: list[Attempt], lots: int) -> list[Attempt]:
    """Return the attempts dealt to as many lots."""
    return [replace(attempt, lot_id=f"L{place % lots + 1}") for place, attempt in enumerate(attempts)]


def refined_figures(folder: Path, unit: float, repeats: int, *, large: bool) -> list[Figure]:
    """Return the full refined refresh for 60 and, where ``large``, for 100,000 attempts; budgets 0.5 s and 5 s."""
    from refresh import refined_seconds

    settings = campaign_settings()
    made = in_lots(made_attempts(60 + repeats + 1), 8)
    first, whole = refined_seconds(folder / "few.stirfall", settings, made, later=repeats + 1, suggestions=False)
    words = f"{whole:.3f} s, first answer after {first:.3f} s"
    figures = [Figure("full refined refresh, 60 attempts / bare imports", whole / unit, 0.5 / unit, words)]
    if large:
        made = in_lots(made_attempts(100_003), 40)
        first, whole = refined_seconds(folder / "many.stirfall", settings, made, later=3, suggestions=True)
        words = f"{whole:.2f} s, first answer with suggestions after {first:.2f} s"
        figures.append(
            Figure("full refined refresh, 100,000 attempts / bare imports", whole / unit, 5.0 / unit, words)
        )
    return figures


def suggestion_figures(unit: float, repeats: int) -> list[Figure]:
    """Return three suggestions after the refined fit of 60 attempts with 6 factors, for the slowest goal."""
    from planned_orders import suggestion_seconds

    taken = suggestion_seconds(repeats)
    name = "three suggestions after the fit, 60 attempts and 6 factors / bare imports"
    return [Figure(name, taken / unit, 0.3 / unit, f"{taken:.3f} s")]


def forecast_figures(repeats: int) -> list[Figure]:
    """Return the forecast of 200 jars against a plain loop of estimates: how many times as long that takes."""
    from forecasts import JARS, forecast_ratio

    ratio, words = forecast_ratio(campaign_settings(), in_lots(made_attempts(60), 8), repeats)
    return [Figure(f"loop of estimates / forecast of {JARS} jars", ratio, None, words, 2.0)]


def likelihood_figures(repeats: int) -> list[Figure]:
    """Return maximum likelihood and Firth against general libraries: how many times as long these take."""
    from firth import firth_ratio
    from likelihood import likelihood_ratio

    ratio, words = likelihood_ratio(repeats)
    firth, firth_words = firth_ratio(repeats)
    return [
        Figure("fastest exact solver of scikit-learn / maximum likelihood, 1,000,000 x 8", ratio, None, words, 2.5),
        Figure("general optimiser / Firth with intervals, endometrial", firth, None, firth_words, 20.0),
    ]


def sampler_figures() -> list[Figure]:
    """Return how much longer an ensemble sampler takes for the same Monte-Carlo error."""
    import posterior
    from refresh import lots_against_sampler

    figures = [
        Figure(f"ensemble sampler / posterior at equal error, {name}", found["ratio"], None, in_words(found), 50.0)
        for name, found in posterior.run().items()
    ]
    found = lots_against_sampler()
    name = f"ensemble sampler / posterior at equal error, with {found['lots']} lots"
    return [*figures, Figure(name, found["ratio"], None, in_words(found), 50.0)]


def in_words(found: dict[str, float]) -> str:
    """Return the two times of a comparison."""
    return f"{found['sampler_ms'] / 1e3:.2f} s against {found['ours_ms']:.1f} ms"


def main() -> int:
    """Measure, print, and return 1 when a budget is not kept."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="fewer repeats")
    parser.add_argument("--no-sampler", action="store_true", help="leave out the comparison with a sampler")
    parser.add_argument("--no-large", action="store_true", help="leave out 100,000 attempts and 1,000,000 rows")
    options = parser.parse_args()
    repeats = 3 if options.quick else 9
    sys.path.insert(0, str(HERE))
    with tempfile.TemporaryDirectory(prefix="stirfall-bench-") as place:
        folder = Path(place)
        session = folder / "start.stirfall"
        Document.create(session, campaign_settings(), standard_factors(), attempts=made_attempts(60)).close()
        start, unit = start_figure(session, folder, repeats)
        figures = [start, *refresh_figures(folder, unit, repeats)]
        figures += refined_figures(folder, unit, repeats, large=not options.no_large)
    figures += suggestion_figures(unit, repeats)
    figures += forecast_figures(repeats)
    figures += [] if options.no_large else likelihood_figures(repeats)
    figures += [] if options.no_sampler else sampler_figures()
    print(f"unit: bare imports {unit:.2f} s, median of {repeats}")
    for figure in figures:
        print(figure)
    return 0 if all(figure.is_kept for figure in figures) else 1


if __name__ == "__main__":
    sys.exit(main())
