"""A half-filled form outlives the program, and ends with the recording of its attempt."""

from __future__ import annotations

from pathlib import Path

import pytest

from stirfall.bench.factors import Conditions
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.session import commands as c
from stirfall.session.document import Document

FORM = {"jar": "J1", "values": {"age": "3 d"}, "parted": None, "step": 2, "masses": [1.5, None]}


def test_a_draft_is_there_again_after_reopening(document: Document, path: Path) -> None:
    assert document.draft is None
    document.save_draft(FORM)
    document.save_draft({**FORM, "step": 3})
    assert document.undo_name is None
    document.close()
    with Document.open(path) as again:
        assert again.draft == {**FORM, "step": 3}
        again.clear_draft()
        assert again.draft is None
        again.clear_draft()
    with Document.open(path) as again:
        assert again.draft is None


def test_recording_ends_the_draft_in_its_own_transaction_and_other_commands_do_not(
    document: Document, path: Path
) -> None:
    document.save_draft(FORM)
    document.execute(c.AddLot(Lot("L2")))
    assert document.draft == FORM
    document.execute(c.RecordAttempt(Attempt("", 0, Conditions())))
    assert document.draft is None
    document.close()
    with Document.open(path) as again:
        assert again.draft is None


def test_a_kept_draft_cannot_be_changed_from_outside(document: Document) -> None:
    form: dict[str, object] = {"note": "a"}
    document.save_draft(form)
    form["note"] = "b"
    assert document.draft == {"note": "a"}


def test_a_form_that_json_cannot_hold_is_a_bug_and_the_last_draft_stays(document: Document, tmp_path: Path) -> None:
    document.save_draft(FORM)
    with pytest.raises(TypeError):
        document.save_draft({"path": tmp_path})
    assert document.draft == FORM


def test_a_copy_carries_everything_and_replaces_the_old_copy_at_once(document: Document, tmp_path: Path) -> None:
    document.save_draft(FORM)
    target = tmp_path / "copy.stirfall"
    Document.create(target, CampaignSettings(title="old copy")).close()
    document.save_copy(target)
    with Document.open(target) as copy:
        assert copy.state == document.state
        assert copy.draft == FORM
        assert copy.fingerprint == document.fingerprint
