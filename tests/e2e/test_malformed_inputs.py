"""Twenty thousand spoilt files end in messages, or in what they still say; never in a mistake or in another file.

8,000 text tables, 4,000 temperature logs, 2,000 workbooks and 6,000 packages, the same ones in every run, in four
parts. ``STIRFALL_FUZZ_FROM`` begins with another seed, to look further than the suite does.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
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
from stirfall.storage.import_guess import guess
from stirfall.storage.import_read import read_with
from stirfall.storage.import_source import Source, sources
from stirfall.storage.package_zip import read_package_zip
from stirfall.storage.temperature_log import read_points, scan_log

# The packages are made beside the tests of packages.
sys.path.insert(0, str(Path(__file__).parents[1] / "unit" / "storage"))

from malformed_packages import malformed_package

PARTS = 4
FIRST = int(os.environ.get("STIRFALL_FUZZ_FROM", "0"))
START = datetime(2026, 3, 14, 10, 0, tzinfo=UTC)
SESSION = CampaignState(CampaignSettings(), standard_factors())


def _seeds(count: int, part: int) -> Iterable[int]:
    return range(FIRST + part, FIRST + count, PARTS)


def _says(reasons: Iterable[Reason]) -> None:
    for reason in reasons:
        assert reason.code in all_sentences(), reason.code
        assert sentence(reason.code, reason.params)


def _end_of(name: str, path: Path, data: bytes, read: Callable[[Path, bytes], str]) -> str:
    """Return how reading ends: what was read, or the code of the message; a mistake is told with its seed."""
    try:
        return read(path, data)
    except StirfallError as error:
        trouble = error
    except Exception as error:
        raise AssertionError(f"{name}: {type(error).__name__}") from error
    _says([Reason(trouble.code, trouble.params)])
    return trouble.code


def _read_all(source: Source, into: Sequence[CampaignState | None]) -> str:
    """Read a table as it would be read before the person changes anything, into a session or into a new one."""
    ends = "read"
    table = source.table()
    _says(table.remarks)
    for state in into:
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
    return _read_all(sources(path), (SESSION,) if len(data) % 2 else (None,))


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


def _package(path: Path, data: bytes) -> str:
    path.write_bytes(data)
    content = read_package_zip(path)
    assert len(list(content.bulky)) >= 0  # photos and logs are read when they are asked for
    return "whole" if content.state.attempts else "empty"


def _files_below(folder: Path) -> set[Path]:
    return set(folder.rglob("*"))


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_malformed_inputs_end_in_messages(part: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inside = tmp_path / "deep" / "inside"
    inside.mkdir(parents=True)
    monkeypatch.chdir(inside)
    for kind, (count, make, read) in KINDS.items():
        ends: Counter[str] = Counter()
        path = inside / "input"
        for seed in _seeds(count, part):
            ends[_end_of(f"{kind} {seed}", path, make(seed), read)] += 1
        path.unlink(missing_ok=True)
        assert sum(ends.values()) == count // PARTS
        assert len(ends) > 5, ends  # the damage is of many kinds
        good = sum(ends[end] for end in ("attempts", "points", "whole"))
        assert good > count // PARTS // 20, ends  # and not all of it is fatal
    assert _files_below(tmp_path) == {tmp_path / "deep", inside}


KINDS: Mapping[str, tuple[int, Callable[[int], bytes], Callable[[Path, bytes], str]]] = {
    "table": (8_000, malformed_table, _table),
    "log": (4_000, malformed_log, _log),
    "workbook": (2_000, malformed_workbook, _table),
    "package": (6_000, malformed_package, _package),
}
assert sum(count for count, _, _ in KINDS.values()) == 20_000
