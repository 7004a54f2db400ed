"""The paper sheet and the card: the order of the form, one page for one attempt, codes that a reader reads."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import zxingcpp
from printed import placed_on
from PySide6.QtGui import QImage

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Factor, standard_factors
from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import INVENTED_NOTICE, CampaignSettings
from stirfall.bench.scan_codes import ACT_KEYS, ScanCode, read_code
from stirfall.desktop.bench_form.look import titled
from stirfall.desktop.bench_form.outcome_edit import PARTED_QUESTION, POOLED_QUESTION
from stirfall.desktop.bench_form.seen import SEEN
from stirfall.desktop.bench_form.weighing import MASS_LABELS, MASS_NAMES
from stirfall.desktop.bench_form.weighing import SHEET as FORM_SHEET
from stirfall.desktop.printing.blocks import Block, Frame, packed
from stirfall.desktop.printing.canvas import Placed, Type
from stirfall.desktop.printing.card_drawing import card_job
from stirfall.desktop.printing.jobs import picture
from stirfall.desktop.printing.paper_drawing import paper_job
from stirfall.reporting.act_card import act_card
from stirfall.reporting.cautions import load_cautions
from stirfall.reporting.paper_sheet import PaperSheet, make_paper_sheet

LONG = "A name of a factor that is rather longer than most people would ever type into such a field"


def sheet(
    material: MaterialClass = MaterialClass.ALKALI_METAL, factors: tuple[Factor, ...] | None = None
) -> PaperSheet:
    settings = CampaignSettings(
        title="Invented dross", material=material, metal="invented alloy", melting_point_c=97.0, invented=True
    )
    return make_paper_sheet(CampaignState(settings, standard_factors() if factors is None else factors))


THRICE = [(number, factor) for number in (1, 2, 3) for factor in standard_factors()]
MANY = tuple(replace(factor, name=f"{factor.name} {number}", role=None) for number, factor in THRICE)
CASES = {
    "usual": (sheet, "A4"),
    "letter": (lambda: sheet(MaterialClass.SUPEROXIDE_FORMER), "US Letter"),
    "many": (lambda: sheet(factors=MANY), "A4"),
    "long": (
        lambda: sheet(factors=(Factor(LONG, "h", 1.0, 9.0), Factor(f"{LONG} 2", levels=(LONG, "b" * 90, "c")))),
        "US Letter",
    ),
    "few": (lambda: sheet(MaterialClass.BASE_METAL, factors=()), "A4"),
}


@pytest.mark.parametrize(("make", "paper"), CASES.values(), ids=CASES)
def test_nothing_is_cut_and_nothing_overlaps(qapp: object, make: object, paper: str) -> None:
    job = paper_job(make(), paper=paper)
    for placed in placed_on(job):
        for item in placed:
            assert item.rect.left() >= 11.9, item
            assert item.rect.right() <= job.page_mm[0] - 11.9, item
            assert item.rect.top() >= 11.9, item
            assert item.rect.bottom() <= job.page_mm[1] - 8.0, item
        for first, second in combinations(placed, 2):
            common = first.rect.intersected(second.rect)
            slack = 0.3 * max(Type(first.size).line_mm, Type(second.size).line_mm)
            assert common.width() < 0.2 or common.height() < slack, (first, second)


@pytest.mark.parametrize("material", list(MaterialClass))
@pytest.mark.parametrize("paper", ["A4", "US Letter"])
def test_one_attempt_of_a_usual_campaign_fits_on_one_page(
    qapp: object, material: MaterialClass, paper: str
) -> None:
    job = paper_job(sheet(material), paper=paper, copies=2)
    pages = placed_on(job)
    assert ["Result" in texts(page) for page in pages][:3] == [True, True, False]
    assert pages[0] == pages[1]
    assert min(item.size for item in pages[0] if item.text in sheet(material).checklist) >= 6.4


def texts(page: list[Placed]) -> list[str]:
    return [item.text for item in page]


@pytest.mark.parametrize("material", list(MaterialClass))
def test_hazards_stand_at_the_head_and_all_cautions_behind(qapp: object, material: MaterialClass) -> None:
    cautions = load_cautions(material)
    pages = placed_on(paper_job(sheet(material)))
    head = texts(pages[0])
    assert head.index(cautions.headline) < head.index(cautions.checklist[0].text) < head.index("Jar")
    assert any(INVENTED_NOTICE in text for text in head)
    behind = "\n".join(text for page in pages[1:] for text in texts(page))
    for item in cautions.items:
        assert item.text in behind
        assert item.source in behind


def test_the_fields_stand_in_the_order_of_the_form(qapp: object) -> None:
    made = sheet()
    pages = placed_on(paper_job(made))
    shown = texts(pages[0])
    order = [
        "Jar",
        "Lot",
        "Surface before melting",
        "The jar is used up",
        *(blank.label for blank in made.conditions),
        "What was seen",
        *(blank.label for blank in made.seen),
        "Weighing, when all is cold",
        *made.masses,
        *(blank.label for blank in made.weighing),
        "Note",
        PARTED_QUESTION,
        POOLED_QUESTION,
        "Aborted",
    ]
    place = shown.index("Jar")
    for text in order:
        assert text in shown[place:], text
        place = shown.index(text, place)


def test_the_words_are_those_of_the_form() -> None:
    made = sheet()
    assert [blank.label for blank in made.seen] == [titled(quantity.titled(".")) for quantity in SEEN]
    assert list(made.masses) == [titled(MASS_LABELS[name]) for name in MASS_NAMES]
    assert [blank.label for blank in made.weighing[:-1]] == [titled(each.titled(".")) for each in FORM_SHEET]
    assert [blank.label for blank in made.questions] == [PARTED_QUESTION, POOLED_QUESTION]


def read_all(image: QImage) -> set[str]:
    """Return the text of every code in a picture, read by zxing-cpp, which is not ours."""
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    pixels = np.frombuffer(grey.constBits(), np.uint8).reshape(grey.height(), grey.bytesPerLine())
    return {found.text for found in zxingcpp.read_barcodes(np.ascontiguousarray(pixels[:, : grey.width()]))}


@pytest.mark.parametrize("paper", ["A4", "US Letter"])
def test_an_independent_reader_reads_every_act_of_the_card(qapp: object, paper: str) -> None:
    job = card_job(act_card(), paper=paper)
    found = {read_code(text) for text in read_all(picture(job, 0, 4.0))}
    assert found == {ScanCode("act", key) for key in ACT_KEYS}


def test_codes_of_the_card_are_far_apart_and_each_has_its_words(qapp: object) -> None:
    job = card_job(act_card())
    pages = placed_on(job)
    for act in act_card():
        assert any(item.text == act.words and item.size >= 14.0 for item in pages[0])
    assert [act.words[0] for act in act_card()[2:6]] == ["1", "2", "3", "4"]


def test_blocks_are_packed_in_order_and_a_heading_keeps_what_follows() -> None:
    def nothing(_canvas: object, _y: float) -> None:
        pass

    frame = Frame(0.0, 0.0, 100.0, 100.0)
    blocks = [Block(60.0, nothing), Block(30.0, nothing, keeps_next=True)]
    blocks += [Block(20.0, nothing), Block(150.0, nothing)]
    assert [len(page) for page in packed(blocks, frame)] == [1, 2, 1]
