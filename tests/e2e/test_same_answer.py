"""The same session gives the same answer to the last bit, whatever process asks and however many threads it has."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
ASK = """
import sys
from pathlib import Path
from stirfall.session.analysis import analyse, refine
from stirfall.storage.package import read_package

state = read_package(Path(sys.argv[1])).state
first = analyse(state)
for analysis in (first, refine(first)):
    place = analysis.complete(state.attempts[-1].conditions)
    print(repr(analysis.estimate(place)), repr(analysis.gate_estimates(place)))
    for goal in ("learn", "reliable"):
        print(repr(analysis.suggest(3, goal)))
    print(repr(analysis.best()))
    print(analysis.curve("sample age", place, points=9).lower.tobytes().hex())
print(repr(analysis.for_lot("L2").estimate(place)), repr(analysis.forms), repr(analysis.lots), repr(analysis.loo))
print(repr(analysis.health().warnings), repr(analysis.recovery.expected_grams(place)))
"""


def answer(**environment: str) -> str:
    sample = ROOT / "sample_sessions" / "tin-bismuth-dross"
    return subprocess.run(
        [sys.executable, "-c", ASK, str(sample)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), **environment},
        capture_output=True,
        text=True,
        check=True,
    ).stdout


def test_another_process_gives_the_same_answer_to_the_last_bit() -> None:
    first = answer(PYTHONHASHSEED="1", OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1")
    second = answer(PYTHONHASHSEED="2", OPENBLAS_NUM_THREADS="5", OMP_NUM_THREADS="5")
    assert len(first) > 1000
    assert first == second
