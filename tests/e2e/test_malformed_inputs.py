"""Twenty thousand files that something went wrong with end in messages, or in what they still say; never in a mistake.

8,000 text tables, 4,000 temperature logs, 2,000 workbooks and 6,000 packages, the same ones in every run, in four parts.
``STIRFALL_FUZZ_FROM`` begins with another seed, to look further than the suite does.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from malformed_files import malformed_log, malformed_table, malformed_workbook

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import StirfallError
from stirfall.bench.estimates import Reason
from stirfall.bench.factors import standard_factors
from stirfall.bench.records import CampaignSettings
from stirfall.reporting.sentences import all_sentences, sentence
from stirfall.session.commands import ImportAttempts
from stirfall.session.document import Document
from stirfall.storage.import_guess import guess
from stirfall.storage.import_read import read_with
from stirfall.storage.import_source import ReadingChoices, Source, sources
from stirfall.storage.temperature_log import read_points, scan_log

PARTS = 4
TABLES, LOGS, WORKBOOKS = 8_000, 4_000, 2_000
FIRST = int(os.environ.get("STIRFALL_FUZZ_FROM", "0"))
START = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)
SESSION = CampaignState(CampaignSettings(), standard_factors())
EVERY = 40


def _seeds(count: int, part: int) -> Iterable[int]:
    return range(FIRST + part, FIRST + count, PARTS)


def _says(reasons: Iterable[Reason]) -> None:
    for reason in reasons:
        assert sentence(reason.code, reason.params) and reason.code in all_sentences(), reason.code


def _ends_well(kind: str, seed: int, act: Callable[[], str], ends: Counter[str]) -> None:
    """Run one input; an error that is no message is told with the seed that made it."""
    try:
        ends[act()] += 1
    except StirfallError as error:
        assert error.code in all_sentences(), f"{kind} {seed}: {error.code} has no sentence"
        assert sentence(error.code, error.params)
        ends[error.code] += 1
    except Exception as error:
        raise AssertionError(f"{kind} {seed}: {type(error).__name__}") from error


def _read_all(source: Source) -> str:
    """Read every sheet in every way that a person could without changing a column."""
    ends = "read"
    for sheet in source.sheets[:2]:
        table = source.table(sheet.name, ReadingChoices())
        _says(table.remarks)
        for state in (SESSION, None):
            plan = guess(table, state)
            imported = read_with(plan, table, state, zone=UTC)
            for column in plan.columns:
                _says(column.remarks)
            _says((*imported.news, *imported.unclear))
            for cell in imported.refused:
                assert cell.why.code in all_sentences(), cell.why.code
            assert len(imported.attempts) + imported.refused_rows + len(imported.twins) >= imported.rows_read
            ends = "attempts" if imported.attempts else ends
    return ends


def _table(path: Path, data: bytes) -> str:
    path.write_bytes(data)
    return _read_all(sources(path))


def _log(path: Path, data: bytes) -> str:
    path.write_bytes(data)
    log = scan_log(path)
    reading = read_points(log, zone=UTC, start=START)
    answers = {question.key: question.options[0].key for question in reading.questions}
    if answers:
        for question in reading.questions:
            _says((question.why, *(option.words for option in question.options)))
        reading = read_points(log, zone=UTC, start=START, answers=answers)
    _says(reading.notes)
    assert all(abs(at - START) < timedelta(days=3_000_000) for at, _ in reading.points)
    return "points" if reading.points else "asked"


def _files_below(*folders: Path) -> set[Path]:
    return {path for folder in folders for path in folder.rglob("*")}


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_malformed_inputs_end_in_messages(part: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    around, inside = tmp_path / "around", tmp_path / "around" / "deep" / "inside"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    kinds = (("table", TABLES, malformed_table, _table), ("log", LOGS, malformed_log, _log))
    for kind, count, make, act in (*kinds, ("workbook", WORKBOOKS, malformed_workbook, _table)):
        ends: Counter[str] = Counter()
        path = inside / "input"
        for seed in _seeds(count, part):
            data = make(seed)
            _ends_well(kind, seed, lambda data=data, act=act: act(path, data), ends)
        path.unlink(missing_ok=True)
        assert sum(ends.values()) == len(range(part, count, PARTS))
        assert len(ends) > 5, ends  # the damage is of many kinds
        assert max(ends["attempts"], ends["points"]) > count // 100, ends  # and not all of it is fatal
    assert _files_below(around) == {around / "deep", inside}
