"""A real process is killed at random moments while it records: what it acknowledged is in the file, always."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from stirfall.bench.outcomes import Pooled
from stirfall.bench.records import CampaignSettings
from stirfall.session.document import Document
from stirfall.storage.check import check_file

ROOT = Path(__file__).parents[2]
KILLS = 25

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")


def run_and_kill(path: Path, delay_s: float) -> list[tuple[str, int]]:
    """Start the recorder, kill it ``delay_s`` after its first acknowledgement, return all it acknowledged."""
    process = subprocess.Popen(
        [sys.executable, str(Path(__file__).with_name("record_in_a_loop.py")), str(path)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        assert process.stdout is not None
        lines = [process.stdout.readline()]
        timer = threading.Timer(delay_s, process.send_signal, [signal.SIGKILL])
        timer.start()
        lines += process.stdout.readlines()
        timer.join()
        assert process.wait(timeout=60) == -signal.SIGKILL
    # The last line may have been cut off by the kill; only a whole line is an acknowledgement.
    whole = [line.split() for line in lines if line.endswith("\n")]
    return [(word, int(number)) for word, number in whole]


@pytest.mark.slow
def test_no_acknowledged_attempt_is_lost_in_many_kills(tmp_path: Path) -> None:
    path = tmp_path / "trial.stirfall"
    Document.create(path, CampaignSettings()).close()
    chance = random.Random(20261124)
    recorded: set[int] = set()
    corrected: set[int] = set()
    unfinished = 0
    for turn in range(KILLS):
        acknowledged = run_and_kill(path, chance.uniform(0.0, 0.12))
        assert acknowledged, f"turn {turn}: the recorder said nothing"
        recorded |= {number for word, number in acknowledged if word == "recorded"}
        corrected |= {number for word, number in acknowledged if word == "corrected"}
        # Check first as the kill left it, without writing, then as a new start finds it.
        findings = check_file(path)
        assert [finding.code for finding in findings if finding.is_problem] == [], f"turn {turn}"
        unfinished += any(finding.code == "check.unfinished_write" for finding in findings)
        assert_all_there(path, recorded, corrected)
    print(
        f"{KILLS} kills, {len(recorded)} acknowledged attempts, {unfinished} writes cut off and undone, none lost"
    )


def assert_all_there(path: Path, recorded: set[int], corrected: set[int]) -> None:
    with Document.open(path) as document:
        assert not document.read_only
        kept = {attempt.number: attempt for attempt in document.state.attempts}
        assert recorded <= kept.keys()
        assert all(kept[number].pooled is Pooled.ONE_POOL for number in corrected)
        # At most the one attempt on its way per kill may be there without having been acknowledged.
        assert len(kept.keys() - recorded) <= KILLS
        assert sorted(kept) == list(range(1, len(kept) + 1))
        history = {row.record_id for row in document.corrections()}
        assert {kept[number].id for number in corrected} <= history
