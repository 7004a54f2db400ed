"""A session of 100,000 attempts opens soon, and a command on it does not walk through them all on disk."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions, standard_factors
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings, Lot, Masses
from stirfall.session import commands as c
from stirfall.session.document import Document

COUNT = 100_000


@pytest.mark.slow
def test_a_hundred_thousand_attempts_open_soon_and_take_one_more_at_once(tmp_path: Path) -> None:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    usual = {factor.name: factor.middle for factor in standard_factors()}
    attempts = [
        Attempt(
            f"{number:08d}",
            number,
            Conditions({**usual, "temperature": 100.0 + number % 60}),
            start + timedelta(minutes=number),
            start + timedelta(minutes=number),
            "L1",
            parted=Parted.YES,
            pooled=Pooled.BEADS,
            masses=Masses(charge_g=10.0),
        )
        for number in range(1, COUNT + 1)
    ]
    path = tmp_path / "large.stirfall"
    Document.create(path, CampaignSettings(), lots=[Lot("L1")], attempts=attempts).close()
    began = time.perf_counter()
    document = Document.open(path)
    opened_s = time.perf_counter() - began
    with document:
        assert document.state.attempts == tuple(attempts)
        pages_before = path.stat().st_size
        began = time.perf_counter()
        changes = document.execute(c.RecordAttempt(Attempt("", 0, Conditions(usual), lot_id="L1")))
        document.execute(c.CorrectAttempt("00000005", {"note": "x"}, "y"))
        document.undo()
        three_commands_s = time.perf_counter() - began
        assert document.attempt(str(changes.new_attempt_id)).number == COUNT + 1
        assert len(document.state.attempts) == COUNT + 1
        assert path.stat().st_size - pages_before < 100_000
    print(f"open {opened_s:.2f} s, three commands {three_commands_s * 1000:.0f} ms")
    # Bounds with room for a busy machine; usual figures are about 1.5 s and 60 ms.
    assert opened_s < 10
    assert three_commands_s < opened_s / 2
