"""Labels on paper: an independent reader reads the codes, nothing overflows, the id is large, hazards are whole."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from printed import placed_on
from PySide6.QtGui import QImage
from PySide6.QtPrintSupport import QPrinter

from stirfall.bench.campaign import CampaignState
from stirfall.bench.errors import FileTroubleError
from stirfall.bench.factors import standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings, Jar, Lot
from stirfall.bench.scan_codes import ScanCode, read_code
from stirfall.bench.short_ids import new_short_id
from stirfall.desktop.printing.canvas import Placed, Type, elided, height_of, largest_that
from stirfall.desktop.printing.jobs import PrintJob, pdf_of, picture, print_on, write_pdf
from stirfall.desktop.printing.label_drawing import CAP_MM
from stirfall.desktop.printing.label_pages import label_job, place_of
from stirfall.reporting.label_sheet import LEAST_MM, LabelSheet, one_by_one, sheet_by_grid, sheet_by_size
from stirfall.reporting.labels import Label, make_label

NOW = datetime(2026, 11, 24, 9, 30, tzinfo=UTC)
LONG_WORD = "Supercalifragilistic" * 4
SHEETS = {
    "3x8": sheet_by_grid("A4", 3, 8),
    "2x4": sheet_by_grid("A4", 2, 4),
    "letter": sheet_by_size("US Letter", (101.6, 50.8), (4.8, 0.0)),
    "single": one_by_one(),
    "least": one_by_one(LEAST_MM),
}
IDS = (new_short_id(()), "WMWM", "J1", "my own very long jar name 27/b", "Ä-7 äöü")


def labels(material: MaterialClass = MaterialClass.SUPEROXIDE_FORMER) -> list[Label]:
    """Return one label of every kind that is hard to set."""
    jars = (
        Jar(IDS[0], "L1", NOW, "white mineral oil", 20.0, "loose", 46.26),
        Jar(IDS[1], LONG_WORD, NOW, LONG_WORD, 20.0, LONG_WORD, 46.26),
        Jar(IDS[2], "L1", NOW, contents="residue", charge_g=3.2, lid="under inert gas"),
        Jar(IDS[3], "L1", NOW, look="furry", looked_at=NOW),
        Jar(IDS[4], "L1", NOW, planned=True),
    )
    settings = CampaignSettings(
        title="Invented", material=material, metal="invented alloy of some length", oil=LONG_WORD, invented=True
    )
    state = CampaignState(settings, standard_factors(), (Lot("L1", NOW - timedelta(days=3)),), jars)
    return [make_label(state, jar, zone=UTC) for jar in jars]


def read_all(image: QImage) -> set[str]:
    """Return the text of every code in a picture, read by zxing-cpp, which is not ours."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    pixels = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
    return {found.text for found in zxingcpp.read_barcodes(np.ascontiguousarray(pixels[:, : grey.width()]))}


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_an_independent_reader_reads_every_code(qapp: object, sheet: LabelSheet) -> None:
    job = label_job(labels(), sheet)
    found = set().union(*(read_all(picture(job, page, 6.0)) for page in range(len(job.pages))))  # about 150 dpi
    assert {read_code(text) for text in found} == {ScanCode("jar", jar_id) for jar_id in IDS}


def test_a_stained_code_is_still_read(qapp: object) -> None:
    job = label_job(labels()[:1], one_by_one())
    image = picture(job, 0, 12.0)
    for x in range(80, 110):  # a drop of oil of 2.5 mm over the code
        for y in range(110, 140):
            image.setPixelColor(x, y, "black")
    assert read_all(image) == {labels()[0].code}


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
@pytest.mark.parametrize("material", list(MaterialClass))
def test_nothing_overflows_and_nothing_overlaps(qapp: object, sheet: LabelSheet, material: MaterialClass) -> None:
    made = labels(material)
    job = label_job(made, sheet, start_at=min(2, sheet.per_page))
    left, top, right, bottom = sheet.printable()
    for placed, places in zip(placed_on(job), sheet.pages(len(made), min(2, sheet.per_page)), strict=True):
        for position in places:
            area = place_of(sheet, position)
            inside = [item for item in placed if area.contains(item.rect.center())]
            assert {label.name for label in made} & {item.text for item in inside}
            for item in inside:
                slack = 0.35 * Type(item.size).line_mm  # white space above and below the letters
                assert area.left() <= item.rect.left() + 0.01
                assert item.rect.right() <= area.right() + 0.01
                assert area.top() - slack <= item.rect.top()
                assert item.rect.bottom() <= area.bottom() + slack
                assert max(left, area.left()) <= item.rect.left() + 0.01
                assert item.rect.right() <= right + 0.01
                assert item.rect.bottom() <= bottom + slack
                assert item.rect.top() >= top - slack
            for first, second in combinations(inside, 2):
                common = first.rect.intersected(second.rect)
                slack = 0.35 * max(Type(first.size).line_mm, Type(second.size).line_mm)
                assert common.width() < 0.1 or common.height() < slack, (first, second)


@pytest.mark.parametrize("material", list(MaterialClass))
def test_hazard_words_and_times_are_never_cut_and_can_be_read(qapp: object, material: MaterialClass) -> None:
    for sheet in SHEETS.values():
        for label in labels(material):
            placed = drawn(label, sheet)
            hazard = next(item for item in placed if item.text == label.hazard)
            indent = hazard.rect.left() - min(item.rect.left() for item in placed)
            width = sheet.label_mm[0] - 4.0 - indent
            kind = Type(hazard.size, bold=True, leading=0.93)
            assert elided(label.hazard, kind, width, hazard.rect.height() + 0.1) == label.hazard
            assert hazard.size >= (5.0 if sheet is SHEETS["least"] or label.name == IDS[3] else 5.6)
            said = " ".join(item.text for item in placed)
            assert all(line in said for line in label.times)
            assert label.mark in said


def drawn(label: Label, sheet: LabelSheet) -> list[Placed]:
    middle = sheet.per_page // 2 + 1
    return placed_on(label_job([label], sheet, start_at=min(middle, sheet.per_page)))[0]


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_the_id_is_the_largest_text_and_nine_millimetres_high(qapp: object, sheet: LabelSheet) -> None:
    for label in labels():
        placed = drawn(label, sheet)
        own = next(item for item in placed if item.text == label.name)
        assert own.size == max(item.size for item in placed)
        assert own.size > 1.3 * max(item.size for item in placed if item is not own)
        if label.name in (IDS[0], IDS[2]):
            assert Type(own.size, bold=True).cap_mm >= CAP_MM - 0.15


# 72 points to the inch of 25.4 mm: 70 mm are 198.4 points, 37 mm are 104.9; A4 is 595.3 by 841.9 points.
@pytest.mark.parametrize(
    ("sheet", "box"), [(one_by_one(), rb"198[^ ]* 10[45]"), (SHEETS["3x8"], rb"595[^ ]* 84[12]")]
)
def test_pages_have_their_true_size_and_hold_vectors_only(qapp: object, sheet: LabelSheet, box: bytes) -> None:
    data, _ = pdf_of(label_job(labels(), sheet))
    assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+" + box, data)
    assert b"/Image" not in re.sub(rb"/Image[BCI]\b", b"", data)


def test_the_first_label_stands_at_the_first_free_position(qapp: object) -> None:
    sheet = SHEETS["3x8"]
    _, pages = pdf_of(label_job(labels()[:2], sheet, start_at=24))
    assert len(pages) == 2
    assert all(place_of(sheet, 23).contains(item.rect.center()) for item in pages[0])
    assert all(place_of(sheet, 0).contains(item.rect.center()) for item in pages[1])


def test_a_printer_gets_the_same_pages_in_their_true_size(qapp: object, tmp_path: Path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    assert print_on(label_job(labels(), one_by_one()), printer)
    data = (tmp_path / "printed.pdf").read_bytes()
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", data)) == len(IDS)
    assert re.search(rb"/MediaBox\s*\[\s*0\s+0\s+198[^ ]* 10[45]", data)


@pytest.mark.parametrize("draw", [pdf_of, lambda job: picture(job, 0, 1.0)], ids=["PDF", "picture"])
def test_a_page_that_cannot_be_drawn_does_not_end_the_program(qapp: object, draw: Callable[..., object]) -> None:
    def broken(_canvas: object) -> None:
        raise ValueError("a bug")

    with pytest.raises(ValueError, match="a bug"):
        draw(PrintJob("Broken", (70.0, 37.0), (broken,)))


def test_a_file_that_cannot_be_written_is_said(qapp: object, tmp_path: Path) -> None:
    with pytest.raises(FileTroubleError) as caught:
        write_pdf(label_job(labels()[:1], one_by_one()), tmp_path / "no such folder" / "x.pdf")
    assert caught.value.code == "printing.not_written"


def test_long_words_are_broken_and_long_texts_cut(qapp: object) -> None:
    kind = Type(8.0)
    assert height_of(LONG_WORD, kind, 30.0) >= 2 * kind.line_mm
    cut = elided("one two three four five six", kind, 20.0, kind.line_mm)
    assert cut.endswith("\u2026")
    assert height_of(cut, kind, 20.0) <= kind.line_mm + 0.01
    assert elided("short", kind, 20.0, kind.line_mm) == "short"
    assert largest_that(lambda size: size <= 7.31, 5.0, 12.0) == pytest.approx(7.2)
    assert largest_that(lambda size: False, 5.0, 12.0) is None
    assert largest_that(lambda size: True, 5.0, 12.0) == pytest.approx(12.0)


def test_a_line_end_in_a_name_stays_on_its_line(qapp: object) -> None:
    assert height_of("two\nlines", Type(8.0), 80.0) == pytest.approx(height_of("two lines", Type(8.0), 80.0))
