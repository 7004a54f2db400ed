"""What one attempt keeps beyond conditions and grades: shown in one panel, and corrected with a reason."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from stirfall.bench.factors import Conditions
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, Jar, Lot, Masses
from stirfall.bench.run_facts import AcceptedWarning, RunFacts, WeighingSheet
from stirfall.desktop.labelled import focusable_widgets
from stirfall.desktop.ledger.corrections import Entered, correctables, history_lines, read_correction
from stirfall.desktop.ledger.facts import FactSection, fact_sections
from stirfall.desktop.ledger.kinds import Kind
from stirfall.desktop.ledger.page import LedgerPage
from stirfall.session.commands import AddJar, AddLot, RecordAttempt

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

LEFT = Qt.MouseButton.LeftButton
FACTS = RunFacts(
    look="grey",
    room_rh_percent=41.0,
    peak_c=158.0,
    ticked=("one", "two"),
    accepted=(AcceptedWarning("limits.near_flash", "temperature", "Too near the flash point.", "checked twice"),),
)
SHEET = WeighingSheet(
    tares=(("product_g", 20.11),), step_g=0.01, oil_removed="wiped", purity_percent=98.0, purity_u_percent=1.0
)
MASSES = Masses(charge_g=10.0, product_g=8.0, residue_g=1.9)


@pytest.fixture
def recorded(document: Document) -> Attempt:
    """An attempt with everything that can be kept, from a jar and a lot that say enough."""
    document.execute(AddLot(Lot("L8", metal_percent=85.0, metal_u_percent=1.0, assays=3)))
    jar = Jar("J8", "L8", document.now() - timedelta(days=2), oil_depth_mm=18.0, lid="loose")
    document.execute(AddJar(replace(jar, inner_diameter_mm=42.0, metal_area_cm2=20.0)))
    attempt = Attempt(
        "",
        0,
        Conditions({"temperature": 151.0}),
        started_at=document.now(),
        jar_id="J8",
        parted=Parted.YES,
        pooled=Pooled.ONE_POOL,
        masses=MASSES,
        facts=FACTS,
        sheet=SHEET,
    )
    document.execute(RecordAttempt(attempt))
    return document.state.attempts[-1]


@pytest.fixture
def page(qtbot: QtBot, workspace: Workspace, document: Document, recorded: Attempt) -> Iterator[LedgerPage]:
    workspace.open_document(document)
    made = LedgerPage(workspace)
    qtbot.addWidget(made)
    made.resize(640, 700)
    made.show()
    qtbot.waitExposed(made)
    made.model.select(recorded.id)
    yield made
    workspace.close_document()


def words(sections: tuple[FactSection, ...]) -> dict[str, str]:
    return {line.label: line.text for section in sections for line in section.lines}


def test_everything_that_was_seen_is_listed_and_what_was_not_in_one_line(
    document: Document, recorded: Attempt
) -> None:
    told = words(fact_sections(recorded, document.state, "."))
    assert told["Surface before melting"] == "grey"
    assert told["Room humidity"] == "41\u2009%"
    assert told["Highest temperature"] == "158\u2009°C"
    assert told["Start checklist"] == "2 lines ticked that day"
    assert told["Not noted"] == "oil with the metal, lifted out at, who, tool"
    assert "to" in told["Film index"]
    assert "ranking" in told["Film index"]


def test_a_warning_that_was_gone_past_stands_in_its_own_words_with_the_reason(
    document: Document, recorded: Attempt
) -> None:
    sections = {section.title: section for section in fact_sections(recorded, document.state, ".")}
    (line,) = sections["Limits gone past"].lines
    assert line.label == "⚠ Too near the flash point."
    assert line.text == "Why: checked twice"
    assert line.is_warning


# Yield 8/10 and closure (8 + 1.9)/10 follow from their definitions; recovery 8 x 0.98 / (10 x 0.85).
def test_the_weighing_sheet_shows_net_tare_and_balance_and_each_share_with_its_uncertainty(
    document: Document, recorded: Attempt
) -> None:
    told = words(fact_sections(recorded, document.state, "."))
    assert told["Product"] == "8\u2009g net: 28.11\u2009g on the balance, tare 20.11\u2009g"
    assert told["Charge"] == "10\u2009g"
    assert told["Oil removed"] == "wiped"
    assert told["Gross yield"].startswith("80.0")
    assert told["Closure"].startswith("99.0")
    assert told["Metal recovery"].startswith(f"{100 * 8 * 0.98 / (10 * 0.85):.0f}"[:2])
    assert all(
        "± " in told[name] and "k = 1" in told[name] for name in ("Gross yield", "Closure", "Metal recovery")
    )


def test_an_attempt_without_facts_says_so_in_one_line(document: Document) -> None:
    sections = fact_sections(document.state.attempts[0], document.state, ".")
    assert [section.title for section in sections] == ["What was seen"]
    assert [line.label for line in sections[0].lines] == ["Not noted"]


def test_the_panel_opens_in_place_with_everything_and_closes_with_escape(page: LedgerPage) -> None:
    QTest.mouseClick(page.more, LEFT)
    panel = page.facts_panel
    assert panel.isVisible()
    assert page.detail.isHidden()
    shown = "\n".join(label.text() for label in panel.labels)
    assert "Too near the flash point." in shown
    assert "checked twice" in shown
    assert "Gross yield" in shown
    assert [w.objectName() for w in focusable_widgets(panel) if not w.accessibleName()] == []
    QTest.keyClick(panel, Qt.Key.Key_Escape)
    assert panel.isHidden()
    assert page.detail.isVisible()


def state_after(document: Document, recorded: Attempt, key: str, text: str) -> Attempt:
    read = read_correction(Entered(key, text, reason="read again"), recorded, document.state, ".")
    assert read.problem is None
    assert read.changes is not None
    return replace(recorded, **read.changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("key", "text", "name", "value"),
    [
        ("facts.look", "bright", "facts.look", "bright"),
        ("facts.look", "", "facts.look", ""),
        ("facts.room_rh_percent", "55 %", "facts.room_rh_percent", 55.0),
        ("facts.peak_c", "320 F", "facts.peak_c", 160.0),
        ("facts.peak_c", "", "facts.peak_c", None),
        ("sheet.step_g", "1 mg", "sheet.step_g", 0.001),
        ("sheet.oil_removed", "drained", "sheet.oil_removed", "drained"),
        ("tare.product_g", "20,2", "sheet.tares", (("product_g", 20.2),)),
        ("tare.product_g", "", "sheet.tares", ()),
        ("tare.charge_g", "5", "sheet.tares", (("charge_g", 5.0), ("product_g", 20.11))),
    ],
)
def test_each_fact_and_each_line_of_the_sheet_is_corrected_without_touching_the_others(
    document: Document, recorded: Attempt, key: str, text: str, name: str, value: object
) -> None:
    after = state_after(document, recorded, key, text)
    part, _, field = name.partition(".")
    assert getattr(getattr(after, part), field) == (pytest.approx(value) if isinstance(value, float) else value)
    untouched = replace(getattr(after, part), **{field: getattr(getattr(recorded, part), field)})
    assert untouched == getattr(recorded, part)
    assert (after.masses, after.conditions) == (recorded.masses, recorded.conditions)


def test_an_impossible_fact_is_refused(document: Document, recorded: Attempt) -> None:
    entered = Entered("facts.room_rh_percent", "140", reason="typed")
    read = read_correction(entered, recorded, document.state, ".")
    assert read.changes is None
    assert read.problem is not None
    assert read.problem.code == "facts.impossible"


def test_every_correctable_has_a_label_of_its_own_and_says_what_stands_there(
    document: Document, recorded: Attempt
) -> None:
    items = correctables(recorded, document.state, ".")
    assert len({item.label for item in items}) == len(items)
    now = {item.key: item.now for item in items}
    assert now["facts.look"] == "grey"
    assert now["facts.oil_ml"] == "not noted"
    assert now["tare.product_g"] == "20.11\u2009g"
    assert "tare.beads_g" not in now
    assert {item.kind for item in items if item.key in ("facts.look", "sheet.oil_removed")} == {Kind.CHOICE}


def test_a_correction_in_the_window_is_kept_with_its_reason_and_reads_well_in_the_history(
    page: LedgerPage, document: Document, recorded: Attempt
) -> None:
    QTest.mouseClick(page.correct, LEFT)
    panel = page.correct_panel
    keys = [item.key for item in page.model.correctables()]
    for key, text, reason in (
        ("facts.peak_c", "160", "read the log"),
        ("tare.product_g", "20.2", "weighed the cup again"),
    ):
        page.open_correct()
        panel.what.setCurrentIndex(keys.index(key))
        panel.value.setText(text)
        panel.reason.setText(reason)
        QTest.mouseClick(panel.accept, LEFT)
    lines = history_lines(document.corrections(recorded.id), document.state, ".")
    told = [(line.what, line.old, line.new, line.why) for line in lines]
    assert ("highest temperature", "158\u2009°C", "160\u2009°C", "read the log") in told
    assert ("tares", "product 20.11\u2009g", "product 20.2\u2009g", "weighed the cup again") in told
