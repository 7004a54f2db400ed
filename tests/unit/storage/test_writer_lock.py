"""One writer at a time; the right to write ends with its process, however that ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from stirfall.bench.errors import FileTroubleError
from stirfall.bench.records import CampaignSettings
from stirfall.session.document import Document
from stirfall.storage import lock
from stirfall.storage.lock import WriterLock, lock_path, writer_of

ROOT = Path(__file__).parents[3]


def test_the_second_writer_is_told_who_has_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    held = WriterLock(path)
    with pytest.raises(FileTroubleError) as caught:
        WriterLock(path)
    assert caught.value.code == "file.in_use"
    assert caught.value.params["pid"] == os.getpid()
    assert writer_of(path) == {key: caught.value.params[key] for key in ("host", "pid", "since")}
    held.release()
    held.release()
    assert writer_of(path) is None
    assert list(tmp_path.iterdir()) == []


def test_asking_who_writes_takes_no_lock_and_leaves_no_file(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    assert writer_of(path) is None
    assert list(tmp_path.iterdir()) == []
    lock_path(path).write_bytes(b"left behind by a power cut")
    assert writer_of(path) is None
    WriterLock(path).release()


def test_a_lock_file_with_unreadable_words_still_locks(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    held = WriterLock(path)
    lock_path(path).write_bytes(b"[]")
    with pytest.raises(FileTroubleError) as caught:
        WriterLock(path)
    assert caught.value.params["pid"] == "?"
    held.release()


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_a_killed_process_locks_nobody_out_and_leaves_its_half_filled_form(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    Document.create(path, CampaignSettings()).close()
    script = (
        "import sys\n"
        "from stirfall.session.document import Document\n"
        "document = Document.open(sys.argv[1])\n"
        "document.save_draft({'note': 'half typed'})\n"
        "print('open', flush=True)\n"
        "sys.stdin.read()\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", script, str(path)],
        env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        assert process.stdout is not None
        assert process.stdout.readline() == "open\n"
        with Document.open(path) as second:
            assert second.read_only_reason is not None
            assert second.read_only_reason.params["pid"] == process.pid
        process.send_signal(signal.SIGKILL)
        process.wait(timeout=60)
    assert lock_path(path).exists()
    with Document.open(path) as third:
        assert not third.read_only
        assert third.draft == {"note": "half typed"}
    assert not lock_path(path).exists()


def test_a_drive_that_cannot_lock_is_opened_read_only(tmp_path: Path) -> None:
    path = tmp_path / "a.stirfall"
    Document.create(path, CampaignSettings()).close()
    lock_path(path).mkdir()  # the lock file cannot be opened, as on a drive without locks
    with Document.open(path) as document:
        assert document.read_only_reason is not None
        assert document.read_only_reason.code == "file.lock_failed"


def test_a_lock_on_a_file_that_its_owner_has_just_removed_is_no_lock(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.stirfall"
    first = WriterLock(path)
    third: list[WriterLock] = []
    real_try_lock = lock._try_lock

    def try_lock_late(handle: int) -> bool:
        # Between opening and locking, the first writer leaves and a third one comes.
        monkeypatch.setattr(lock, "_try_lock", real_try_lock)
        first.release()
        third.append(WriterLock(path))
        return real_try_lock(handle)

    monkeypatch.setattr(lock, "_try_lock", try_lock_late)
    with pytest.raises(FileTroubleError) as caught:
        WriterLock(path)
    assert caught.value.code == "file.in_use"
    third[0].release()
    assert list(tmp_path.iterdir()) == []
