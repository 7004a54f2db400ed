"""A session goes out as a package and comes back: what goes with it, what stays, and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from stirfall.bench.cancel import Cancelled, CancelToken
from stirfall.bench.comparisons import Comparison, Group
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.issued import IssuedRecipe
from stirfall.bench.outcomes import Outcome, Parted, Pooled
from stirfall.bench.plans import EveningPlan, PlannedAttempt
from stirfall.bench.records import Attempt, CampaignSettings, Lot
from stirfall.bench.running import TemperatureLog
from stirfall.session.clock import FixedClock
from stirfall.session.commands import (
    AddLot,
    AttachLog,
    AttachPhoto,
    ChangeFactors,
    IssueRecipe,
    KeepEvening,
    NoteComparison,
    SetAnchor,
)
from stirfall.session.document import Document
from stirfall.session.packages import chosen_photos, content_of, export_package, import_package, session_of
from stirfall.storage.edits import StoredAnchor, StoredPhoto
from stirfall.storage.package import LeftOut, PackageContent
from stirfall.storage.package_zip import read_package_zip

AT = datetime(2026, 11, 24, 18, 30, tzinfo=UTC)
FACTORS = (
    Factor("temperature", "C", 100, 200),
    Factor("action", levels=("fold", "press")),
    Factor("odd", "", 1, 2),
)


@pytest.fixture
def document(tmp_path: Path) -> Iterator[Document]:
    """Return a session of three attempts, two photos, an example and a log; a lot and a photo were undone."""
    attempts = [
        Attempt(
            f"a{number}", number, Conditions({"temperature": 150.0}), AT, AT, parted=Parted.YES, pooled=Pooled.BEADS
        )
        for number in (1, 2, 7)
    ]
    settings = CampaignSettings(title="Small", bench_name="north")
    with Document.create(
        tmp_path / "first.stirfall", settings, FACTORS, attempts=attempts, clock=FixedClock(AT)
    ) as made:
        made.execute(AddLot(Lot("gone")))
        made.undo()
        made.execute(AttachPhoto("a2", "gone.jpg", "image/jpeg", b"gone"))
        made.undo()
        made.execute(AttachPhoto("a1", "one.jpg", "image/jpeg", b"\xff\xd8one", b"\xff\xd8large"))
        made.execute(AttachPhoto("a7", "seven.png", "image/png", b"\x89PNG"))
        made.execute(SetAnchor(Outcome.CLEAN, "clean.jpg", "image/jpeg", b"\xff\xd8clean"))
        made.execute(AttachLog("a2", "log.csv", ((AT, 20.0), (AT + timedelta(seconds=1.5), 21.25))))
        made.save_draft({"note": "half"})
        yield made


def test_everything_goes_out_and_comes_back(document: Document, tmp_path: Path) -> None:
    written = export_package(document, tmp_path / "p.zip", originals=True)
    assert written.left_out == LeftOut(undone=2, drafts=1)
    with import_package(tmp_path / "p.zip", tmp_path / "back.stirfall", clock=FixedClock(AT)) as back:
        assert back.state == document.state
        assert back.corrections() == document.corrections()
        assert back.fingerprint == document.fingerprint
        assert back.bulky() == document.bulky()
        assert [photo.data for photo in back.photos("a1")] == [b"\xff\xd8one"]
        assert back.original(back.photos("a1")[0].id) == b"\xff\xd8large"
        assert back.photos("a2") == ()
        assert back.logs("a2") == document.logs("a2")
        assert back.anchors()[Outcome.CLEAN].data == b"\xff\xd8clean"
        assert back.draft is None
        assert back.undo_name is None
        assert content_of(back).facts.left_out == LeftOut()


def test_a_package_says_which_session_it_came_from(document: Document) -> None:
    facts = content_of(document, licenses=("CC0-1.0",)).facts
    assert (facts.created_at, facts.source) == (AT, "north, Small, first.stirfall")
    assert facts.program.startswith("Stirfall ")
    assert facts.licenses == ("CC0-1.0",)


def test_what_was_noted_about_a_factor_that_is_gone_goes_with_it(document: Document, tmp_path: Path) -> None:
    odd = Conditions({"odd": 1.5, "action": "fold"})
    document.execute(
        NoteComparison(Comparison("", AT, Group("factor:action", "fold"), Group("factor:action", "press")))
    )
    document.execute(IssueRecipe(IssuedRecipe("", 0, AT, "Recipe", odd, "{}", document.fingerprint, "0.1.0")))
    document.execute(KeepEvening(EveningPlan("", AT, AT, 3.0, 1, (PlannedAttempt(odd, None, None, "next"),))))
    document.execute(ChangeFactors(FACTORS[:1]))
    export_package(document, tmp_path / "p.zip")
    with import_package(tmp_path / "p.zip", tmp_path / "back.stirfall") as back:
        assert back.state == document.state
        assert len(back.state.comparisons) == len(back.state.recipes) == len(back.state.evenings) == 1


@pytest.mark.parametrize(
    ("words", "names"),
    [("1", ["one.jpg"]), ("7, 1", ["one.jpg", "seven.png"]), ("1-2", ["one.jpg"]), (" 2 ", [])],
)
def test_photos_are_chosen_by_the_numbers_of_attempts(
    document: Document, tmp_path: Path, words: str, names: list[str]
) -> None:
    chosen = chosen_photos(document, words)
    written = export_package(document, tmp_path / "p.zip", photos=chosen)
    assert written.left_out.photos == 2 - len(names)
    found = [record for _, record in read_package_zip(tmp_path / "p.zip").bulky if isinstance(record, StoredPhoto)]
    assert [photo.name for photo in found] == names
    assert chosen_photos(document, "ALL") == "all"
    assert chosen_photos(document, "none") == "none"


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ("x", "unreadable"),
        ("", "unreadable"),
        ("5-3", "unreadable"),
        ("1-99999999", "unreadable"),
        ("3", "unknown"),
    ],
)
def test_words_that_choose_nothing_are_refused(document: Document, words: str, code: str) -> None:
    with pytest.raises(InputError) as caught:
        chosen_photos(document, words)
    assert caught.value.code == f"package.photos_{code}"


LOG = TemperatureLog("t", "a1", "log", AT, ((AT, 20.0),))


@pytest.mark.parametrize(
    ("record", "code"),
    [
        (StoredPhoto("a9", "x", "image/png", AT, b"x"), "attempt.unknown"),
        (StoredPhoto("a1", "x", "image/png", AT, b""), "photo.empty"),
        (StoredPhoto("a1", "x", "text/html", AT, b"<script>"), "photo.not_a_picture"),
        (StoredPhoto("a1", "x", "image/png", AT, b"x" * (20 * 1024 * 1024 + 1)), "photo.too_large"),
        (StoredAnchor("not graded", "x", "image/png", AT, b"x"), "regrade.not_a_class"),
        (replace(LOG, points=()), "log.empty"),
        (replace(LOG, points=((AT, float("nan")),)), "log.not_a_number"),
        (replace(LOG, points=((AT, 1.0), (AT - timedelta(days=1), 1.0))), "log.not_in_order"),
    ],
)
def test_what_a_session_would_not_take_is_not_taken_from_a_package(
    document: Document, tmp_path: Path, record: StoredPhoto | StoredAnchor | TemperatureLog, code: str
) -> None:
    content = PackageContent(document.state, (), "", (("t", record),))
    with pytest.raises(InputError) as caught:
        session_of(content, tmp_path / "back.stirfall")
    assert caught.value.code == code
    assert sorted(path.name for path in tmp_path.iterdir() if "lock" not in path.name) == ["first.stirfall"]


def test_a_cancelled_export_or_import_leaves_nothing(document: Document, tmp_path: Path) -> None:
    export_package(document, tmp_path / "p.zip")
    before = (tmp_path / "p.zip").read_bytes()
    token = CancelToken()
    token.cancel()
    with pytest.raises(Cancelled):
        export_package(document, tmp_path / "p.zip", originals=True, token=token)
    with pytest.raises(Cancelled):
        export_package(document, tmp_path / "p", token=token)
    with pytest.raises(Cancelled):
        import_package(tmp_path / "p.zip", tmp_path / "back.stirfall", token=token)
    assert (tmp_path / "p.zip").read_bytes() == before
    names = sorted(path.name for path in tmp_path.iterdir() if "lock" not in path.name)
    assert names == ["first.stirfall", "p.zip"]
