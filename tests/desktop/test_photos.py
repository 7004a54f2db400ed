"""Photos: scaled and cleaned when they come in, safe in the draft, looked at large, kept as examples."""

from __future__ import annotations

import struct
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDropEvent, QGuiApplication, QImage, QImageReader
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from stirfall.bench.errors import InputError, StirfallError
from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.extras import NoteAndPhotos
from stirfall.desktop.bench_form.page import BenchPage
from stirfall.desktop.bench_form.photos import FormPhotos
from stirfall.desktop.notifier import Notice
from stirfall.desktop.photos.anchor_strip import AnchorStrip, LargeExample
from stirfall.desktop.photos.anchors import AnchorsDialog
from stirfall.desktop.photos.attempt_photos import AttemptPhotos
from stirfall.desktop.photos.scaling import LONGEST, encoded, image_of, photo_of_image, read_photo, thumbnail
from stirfall.desktop.photos.strip import PhotoStrip, Shot
from stirfall.desktop.photos.tray import PhotoTray, free_name
from stirfall.desktop.photos.viewer import PhotoViewer
from stirfall.reporting.sentences import error_sentence
from stirfall.session.commands import RecordAttempt, SetAnchor
from stirfall.session.document import Document

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace


@pytest.fixture
def document(document_of_two: Document) -> Document:
    return document_of_two


def picture(width: int = 40, height: int = 30, colour: str = "red") -> QImage:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor(colour))
    return image


def as_bytes(image: QImage, kind: str) -> bytes:
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    assert image.save(buffer, kind)
    return bytes(data.data())


def with_exif(jpeg: bytes, orientation: int) -> bytes:
    """Put an EXIF segment with an orientation and a place into a JPEG (CIPA DC-008, Exif 2.3; TIFF 6.0)."""
    gps_at = 8 + 2 + 2 * 12 + 4
    entries = struct.pack("<HHIHxx", 0x0112, 3, 1, orientation) + struct.pack("<HHII", 0x8825, 4, 1, gps_at)
    latitude = struct.pack("<HHI4s", 0x0001, 2, 2, b"N\0\0\0")
    tiff = b"II*\0" + struct.pack("<IH", 8, 2) + entries + struct.pack("<I", 0)
    tiff += struct.pack("<H", 1) + latitude + struct.pack("<I", 0) + b"SECRETPLACE"
    segment = b"Exif\0\0" + tiff
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + jpeg[2:]


# -- coming in -------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(4000, 3000), (900, 3200), (1601, 1601)])
def test_a_large_photo_is_scaled_to_the_longest_side_and_keeps_its_shape(size: tuple[int, int]) -> None:
    image = image_of(photo_of_image(picture(*size), "x").data)
    assert max(image.width(), image.height()) == LONGEST
    assert image.width() / image.height() == pytest.approx(size[0] / size[1], rel=0.01)


def test_a_small_photo_is_not_blown_up() -> None:
    assert image_of(photo_of_image(picture(), "x").data).size() == picture().size()


@pytest.mark.parametrize("kind", ["png", "jpeg", "webp", "bmp", "tiff"])
def test_each_readable_format_becomes_a_jpeg(tmp_path: Path, kind: str, qapp: object) -> None:
    path = tmp_path / f"pool.{kind}"
    path.write_bytes(as_bytes(picture(), kind))
    photo = read_photo(path)
    assert photo.data[:3] == b"\xff\xd8\xff"  # ITU-T T.81, annex B
    assert (photo.name, photo.media_type, photo.original) == (path.name, "image/jpeg", b"")
    assert read_photo(path, keep_original=True).original == path.read_bytes()


def test_the_camera_s_turn_is_done_and_its_place_is_not_kept(tmp_path: Path) -> None:
    image = picture(40, 20, "red")
    for x in range(20):  # the left half is blue; turned by a quarter it is the upper one
        for y in range(20):
            image.setPixelColor(x, y, QColor("blue"))
    data = with_exif(as_bytes(image, "jpeg"), orientation=6)  # 6: turn by 90 degrees to the right, Exif 2.3
    path = tmp_path / "turned.jpg"
    path.write_bytes(data)
    assert b"SECRETPLACE" in data
    photo = read_photo(path)
    assert b"Exif" not in photo.data
    assert b"SECRETPLACE" not in photo.data
    kept = image_of(photo.data)
    assert (kept.width(), kept.height()) == (20, 40)
    assert kept.pixelColor(10, 5).blue() > 200
    assert kept.pixelColor(10, 35).red() > 200


def test_text_in_a_png_is_not_kept() -> None:
    image = picture()
    image.setText("Comment", "SECRETPLACE")
    assert b"SECRETPLACE" not in encoded(image)


def test_what_is_see_through_becomes_white() -> None:
    image = QImage(10, 10, QImage.Format.Format_ARGB32)
    image.fill(0)
    assert image_of(encoded(image)).pixelColor(5, 5).lightness() > 250


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"no picture", "bench.photo_not_a_picture"),
        (b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00", "photo.newer_format"),
        (b"\x00\x00\x00\x18ftypavif\x00\x00\x00\x00", "photo.newer_format"),
        (b"", "bench.photo_not_a_picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>", "bench.photo_not_a_picture"),
    ],
)
def test_a_bad_file_is_told_with_what_can_be_read(tmp_path: Path, content: bytes, code: str) -> None:
    path = tmp_path / "pool.jpg"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_photo(path)
    assert caught.value.code == code
    assert "pool.jpg" in error_sentence(caught.value)
    assert "JPEG" in error_sentence(caught.value)


def test_a_cut_off_file_and_a_missing_one_are_told(tmp_path: Path) -> None:
    path = tmp_path / "cut.png"
    path.write_bytes(as_bytes(picture(400, 400), "png")[:60])
    with pytest.raises(StirfallError, match=r"photo\.damaged|bench\.photo_not_a_picture"):
        read_photo(path)
    with pytest.raises(StirfallError, match=r"bench\.photo_unreadable"):
        read_photo(tmp_path / "gone.png")
    assert thumbnail(b"rubbish", 10).isNull()


# -- waiting ---------------------------------------------------------------------------------------


def test_a_tray_reads_what_is_not_ready_when_it_is_taken() -> None:
    tray = PhotoTray()
    photo = photo_of_image(picture(), "pasted 1.jpg")
    tray.expect("k", lambda: photo)
    assert tray.ready("k") is None
    assert tray.take("k") == photo
    tray.drop("k")
    with pytest.raises(StirfallError, match=r"bench\.photo_unreadable"):
        tray.take("k")


def test_a_photo_of_the_draft_is_written_once_and_goes_with_the_draft(
    document: Document, workspace: Workspace
) -> None:
    workspace.open_document(document)
    photos = FormPhotos(workspace)
    photos.read_image(picture(), "pasted 1.jpg")
    photos.read_image(picture(50, 50), "pasted 2.jpg")
    document.save_draft({"note": "x"})
    photos.keep_with_draft(("pasted 1.jpg", "pasted 2.jpg"))
    assert set(document.draft_photos()) == {"pasted 1.jpg", "pasted 2.jpg"}
    photos.keep_with_draft(("pasted 2.jpg",))
    assert set(document.draft_photos()) == {"pasted 2.jpg"}
    document.clear_draft()
    assert document.draft_photos() == {}
    photos.draft_is_gone()
    photos.keep_with_draft(("pasted 2.jpg",))  # undo brought the form back
    assert set(document.draft_photos()) == {"pasted 2.jpg"}


def test_a_pasted_picture_never_takes_the_name_of_another() -> None:
    assert free_name(()) == "pasted 1.jpg"
    assert free_name(("pasted 1.jpg", "pasted 3.jpg", "a.png")) == "pasted 2.jpg"


def test_photos_of_the_form_outlive_the_window_and_even_their_files(
    qtbot: QtBot, workspace: Workspace, document: Document, tmp_path: Path
) -> None:
    path = tmp_path / "pool.png"
    path.write_bytes(as_bytes(picture(), "png"))
    workspace.open_document(document)
    page = BenchPage(workspace)
    qtbot.addWidget(page)
    page.model.add_photo_file(str(path))
    page.model.add_pasted_photo(picture(50, 40, "green"))
    page.model.flush_draft()
    path.unlink()
    again = BenchPage(workspace)  # as after a crash: only the draft in the file is left
    qtbot.addWidget(again)
    assert again.model.state is not None
    shots = again.model.photos.shots(again.model.state.form.photos)
    assert [shot.name for shot in shots] == ["pool.png", "pasted 1.jpg"]
    assert image_of(shots[1].data).size() == picture(50, 40).size()
    assert again.model.photos.attach(document.state.attempts[0].id, again.model.state.form.photos, origin=None) == 2
    assert len(document.photos(document.state.attempts[0].id)) == 2


def test_photos_that_a_crash_left_between_recording_and_attaching_go_to_the_attempt(
    qtbot: QtBot, workspace: Workspace, document: Document
) -> None:
    photo = photo_of_image(picture(), "x")
    document.save_draft({"note": "x"})
    document.keep_draft_photo("pasted 1.jpg", "pasted 1.jpg", photo.data)
    attempt = replace(document.state.attempts[-1], id="", number=0)
    recorded = document.execute(RecordAttempt(attempt)).new_attempt_id
    assert recorded is not None
    assert document.draft is None  # and here the program was killed
    photos = FormPhotos(workspace)
    workspace.open_document(document)
    qtbot.waitUntil(lambda: len(document.photos(recorded)) == 1)
    assert document.photos(recorded)[0].data == photo.data
    assert document.draft_photos() == {}
    photos.recover()
    assert len(document.photos(recorded)) == 1


def test_originals_are_kept_only_where_the_program_is_told_to(
    qtbot: QtBot, workspace: Workspace, document: Document, tmp_path: Path
) -> None:
    path = tmp_path / "pool.png"
    path.write_bytes(as_bytes(picture(), "png"))
    workspace.open_document(document)
    page = BenchPage(workspace)
    qtbot.addWidget(page)
    first, second = document.state.attempts[:2]
    page.model.photos.read_file(str(path))
    page.model.photos.attach(first.id, (str(path),), origin=None)
    workspace.keep_original_photos = True
    page.model.photos.read_file(str(path))
    page.model.photos.attach(second.id, (str(path),), origin=None)
    (without,), (with_it,) = document.photos(first.id), document.photos(second.id)
    assert (without.original_size, with_it.original_size) == (0, len(path.read_bytes()))
    assert document.original(with_it.id) == path.read_bytes()


# -- the strip -------------------------------------------------------------------------------------


@pytest.fixture
def strip(workspace: Workspace, put_on_screen: Callable[..., PhotoStrip]) -> PhotoStrip:
    return put_on_screen(PhotoStrip(workspace, may_remove=True), 600, 300)


def shots(count: int) -> tuple[Shot, ...]:
    return tuple(
        Shot(f"k{n}", f"pool {n}.jpg", photo_of_image(picture(60 + n, 40), "x").data) for n in range(count)
    )


def test_each_photo_is_a_named_button_that_opens_it(strip: PhotoStrip, qtbot: QtBot) -> None:
    strip.show_shots(shots(3))
    assert [thumb.accessibleName() for thumb in strip.thumbs] == [
        f"Photo {n + 1} of 3: pool {n}.jpg" for n in range(3)
    ]
    assert all(not thumb.icon().isNull() for thumb in strip.thumbs)
    assert all(thumb.height() >= 44 for thumb in strip.thumbs)
    with qtbot.waitSignal(strip.opened) as caught:
        QTest.keyClick(strip.thumbs[1], Qt.Key.Key_Space)
    assert caught.args == [1]
    strip.show_shots(())
    assert strip.thumbs == []


def test_files_and_pictures_can_be_dropped_and_pasted(strip: PhotoStrip, tmp_path: Path) -> None:
    files: list[str] = []
    images: list[QImage] = []
    said: list[Notice] = []
    strip.file_added.connect(files.append)
    strip.image_pasted.connect(images.append)
    strip.said.connect(said.append)
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / "a.jpg")), QUrl("https://example.org/b.jpg")])
    action, buttons, keys = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    strip.dropEvent(QDropEvent(QPointF(5, 5), action, data, buttons, keys))
    assert [Path(file).name for file in files] == ["a.jpg"]
    QGuiApplication.clipboard().setImage(picture())
    strip.paste.click()
    assert [image.size() for image in images] == [picture().size()]
    QGuiApplication.clipboard().setText("words")
    strip.paste.click()
    assert said[-1].kind == "warn"


def test_the_bench_form_shows_small_photos_and_removes_them(
    workspace: Workspace, document: Document, put_on_screen: Callable[..., BenchPage]
) -> None:
    workspace.open_document(document)
    page = put_on_screen(BenchPage(workspace), 640, 700)
    page.model.add_pasted_photo(picture())
    extras: NoteAndPhotos = page.extras
    assert [shot.name for shot in extras.strip.shots] == ["pasted 1.jpg"]
    assert not extras.strip.thumbs[0].icon().isNull()
    extras.removed.emit("pasted 1.jpg")
    assert extras.strip.shots == ()


# -- looking at them -------------------------------------------------------------------------------


def test_the_viewer_goes_on_by_keys_and_zooms(workspace: Workspace, qtbot: QtBot) -> None:
    viewer = PhotoViewer(shots(3), 0, "Photos", None)
    qtbot.addWidget(viewer)
    viewer.resize(700, 600)
    viewer.show()
    qtbot.waitExposed(viewer)
    for key, at in ((Qt.Key.Key_Right, 1), (Qt.Key.Key_Right, 2), (Qt.Key.Key_Right, 2), (Qt.Key.Key_Left, 1)):
        QTest.keyClick(viewer, key)
        assert viewer.at == at
    assert viewer.picture.accessibleName() == "Photo 2 of 3: pool 1.jpg"
    fitted = viewer.picture.shown_scale()
    QTest.keyClick(viewer, Qt.Key.Key_Plus)
    assert viewer.picture.shown_scale() > fitted
    QTest.keyClick(viewer, Qt.Key.Key_0)
    assert viewer.picture.shown_scale() == 1.0
    QTest.keyClick(viewer, Qt.Key.Key_F)
    assert viewer.picture.zoom is None


def test_all_formats_that_are_named_can_be_read() -> None:
    known = {bytes(kind.data()).decode() for kind in QImageReader.supportedImageFormats()}
    assert {"jpeg", "png", "webp", "tiff", "bmp", "gif"} <= known


# -- a recorded attempt and the examples of the classes --------------------------------------------


def test_a_recorded_attempt_takes_more_photos_and_gives_an_example(
    workspace: Workspace, document: Document, put_on_screen: Callable[..., AttemptPhotos], tmp_path: Path
) -> None:
    path = tmp_path / "pool.png"
    path.write_bytes(as_bytes(picture(60, 40), "png"))
    workspace.open_document(document)
    attempt = document.state.attempts[0]
    panel = put_on_screen(AttemptPhotos(workspace), 600, 300)
    panel.show_attempt(attempt.id)
    assert panel.none.isVisible()
    panel.strip.file_added.emit(str(path))
    panel.strip.image_pasted.emit(picture())
    assert [photo.name for photo in document.photos(attempt.id)] == ["pool.png", "pasted 1.jpg"]
    assert len(panel.strip.thumbs) == 2
    assert not panel.none.isVisible()
    viewer = panel.look(1)
    viewer.example_chosen.emit(1, Outcome.CLEAN)
    assert document.anchors()[Outcome.CLEAN].data == document.photos(attempt.id)[1].data
    viewer.close()
    workspace.undo()
    workspace.undo()
    assert len(panel.strip.thumbs) == 1


def test_examples_are_set_from_a_file_the_clipboard_and_by_dropping(
    workspace: Workspace, document: Document, qtbot: QtBot, tmp_path: Path
) -> None:
    path = tmp_path / "beads.png"
    path.write_bytes(as_bytes(picture(60, 40), "png"))
    workspace.open_document(document)
    dialog = AnchorsDialog(workspace)
    qtbot.addWidget(dialog)
    dialog.cells[Outcome.PARTED_BEADS].file_chosen.emit(str(path))
    QGuiApplication.clipboard().setImage(picture())
    dialog.cells[Outcome.CLEAN].paste.click()
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    action, buttons, keys = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    dialog.cells[Outcome.NOTHING_PARTED].dropEvent(QDropEvent(QPointF(5, 5), action, data, buttons, keys))
    assert set(document.anchors()) == {Outcome.PARTED_BEADS, Outcome.CLEAN, Outcome.NOTHING_PARTED}
    assert dialog.cells[Outcome.CLEAN].picture.has_picture
    assert not dialog.cells[Outcome.PARTLY_PARTED].picture.has_picture
    path.write_text("no picture")
    dialog.cells[Outcome.CLEAN].file_chosen.emit(str(path))
    assert "beads.png" in dialog.problem.text()
    dialog.close()


def test_the_examples_stand_beside_the_questions_and_grow_under_the_keys(
    workspace: Workspace, document: Document, put_on_screen: Callable[..., QWidget]
) -> None:
    workspace.open_document(document)
    root, other, strip = QWidget(), QLineEdit(), AnchorStrip(workspace)
    column = QVBoxLayout(root)
    column.addWidget(other)
    column.addWidget(strip)
    put_on_screen(root, 640, 200)
    assert not strip.isVisible()
    workspace.execute(SetAnchor(Outcome.CLEAN, "a", "image/jpeg", photo_of_image(picture(), "a").data))
    assert strip.isVisible()
    thumb = strip.thumbs[Outcome.CLEAN]
    assert thumb.isVisible()
    assert not strip.thumbs[Outcome.PARTED_BEADS].isVisible()
    thumb.setFocus(Qt.FocusReason.TabFocusReason)
    large = strip.findChild(LargeExample)
    assert large is not None
    assert large.isVisible()
    assert QGuiApplication.focusWindow() is not large.windowHandle()
    other.setFocus(Qt.FocusReason.TabFocusReason)
    assert not large.isVisible()
    assert BenchPage(workspace).examples.parent() is not None
