from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stirfall.bench.factors import Factor
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.session.clock import FixedClock
from stirfall.session.document import Document

# The import mode of the tests adds no folder to the path: evening_bench.py stands beside this file.
sys.path.insert(0, str(Path(__file__).parent))

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
FACTORS = (
    Factor("age", "h", 1.0, 100.0, "log"),
    Factor("temperature", "C", 80.0, 180.0),
    Factor("action", levels=("swirl", "fold")),
)


@pytest.fixture
def clock() -> FixedClock:
    return FixedClock(START)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "trial.stirfall"


@pytest.fixture
def document(path: Path, clock: FixedClock) -> Iterator[Document]:
    """A campaign with one lot, one jar, three factors and no attempts."""
    with Document.create(
        path,
        CampaignSettings(title="Trial"),
        FACTORS,
        lots=[Lot("L1", START)],
        jars=[Jar("J1", "L1", START)],
        clock=clock,
    ) as opened:
        yield opened


@pytest.fixture
def reopened(path: Path, clock: FixedClock) -> Iterator[Callable[[], Document]]:
    """Open the same file again, as a second reader."""
    opened: list[Document] = []

    def reopen() -> Document:
        opened.append(Document.open(path, clock=clock, read_only=True))
        return opened[-1]

    yield reopen
    for each in opened:
        each.close()
