"""Pictures and numbers that leave the program."""

from __future__ import annotations

import csv
import io
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtGui import QColor, QGuiApplication, QImage
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from stirfall.bench.factors import Conditions
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.export import SIZE, picture_image, save_csv, save_png, save_svg, table_of
from stirfall.desktop.odds.pane import OddsPane
from stirfall.desktop.odds.state import OddsState
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.theme import DARK, LIGHT
from stirfall.desktop.workspace import InHand, Workspace
from stirfall.session.document import Document

IN_HAND = InHand(Conditions({"sample age": 24.0, "temperature": 150.0, "stirring action": "swirl"}), "form")


@pytest.fixture
def model(workspace: Workspace, document: Document) -> OddsViewModel:
    made = OddsViewModel(workspace)
    workspace.open_document(document)
    workspace.set_in_hand(IN_HAND)
    return made


@pytest.fixture(params=["curve", "map", "outcomes"])
def state(request: pytest.FixtureRequest, model: OddsViewModel) -> OddsState:
    model.choose_view(request.param)
    return model.state


def test_the_picture_has_a_fixed_size_and_the_light_theme(state: OddsState) -> None:
    image = picture_image(state)
    assert image.width() == 2 * SIZE.width()
    assert image.height() > 2 * SIZE.height()
    assert image.pixelColor(4, 4) == QColor(LIGHT.raised)
    assert image.dotsPerMeterX() == round(192 / 0.0254)


def test_the_picture_does_not_depend_on_the_theme_of_the_window(model: OddsViewModel, workspace: Workspace) -> None:
    before = picture_image(model.state)
    workspace.set_theme(DARK)
    assert picture_image(model.state) == before


def test_the_curve_is_really_in_the_picture(model: OddsViewModel) -> None:
    image = picture_image(model.state, scale=1)
    accents = sum(
        image.pixelColor(x, y) == QColor(LIGHT.accent)
        for x in range(150, image.width() - 60, 7)
        for y in range(60, SIZE.height())
    )
    assert accents > 40


def test_png_on_disk_is_that_picture(state: OddsState, tmp_path: Path) -> None:
    save_png(state, tmp_path / "odds.png")
    assert QImage(str(tmp_path / "odds.png")).size() == picture_image(state).size()


def test_svg_is_valid_carries_title_and_notice_and_draws(state: OddsState, tmp_path: Path) -> None:
    path = tmp_path / "odds.svg"
    save_svg(state, path)
    root = ET.fromstring(path.read_text(encoding="utf-8"))
    space = "{http://www.w3.org/2000/svg}"
    assert root.find(f"{space}title").text.startswith("Probability of ")
    assert INVENTED_NOTICE in root.find(f"{space}desc").text
    texts = [element.text for element in root.iter(f"{space}text")]
    assert "sample age" in " ".join(filter(None, texts))
    assert QSvgRenderer(str(path)).isValid()


def test_marks_in_svg_are_outlines_not_pixels(model: OddsViewModel, tmp_path: Path) -> None:
    save_svg(model.state, tmp_path / "odds.svg")
    assert "<image" not in (tmp_path / "odds.svg").read_text(encoding="utf-8")


def test_csv_follows_rfc_4180_and_holds_the_numbers_of_the_curve(model: OddsViewModel, tmp_path: Path) -> None:
    path = tmp_path / "odds.csv"
    save_csv(model.state, path)
    raw = path.read_bytes()
    assert raw.endswith(b"\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    rows = list(csv.reader(io.StringIO(raw.decode("utf-8"), newline="")))
    curve = model.state.curve
    assert curve is not None
    assert rows[0] == ["sample age [h]", "probability", "lower", "upper", "parted", "pooled, if parted", "tried"]
    assert b'"pooled, if parted"' in raw  # a field with a comma stands in quotes
    assert len(rows) == 1 + len(curve.x)
    assert [float(row[1]) for row in rows[1:]] == pytest.approx(list(curve.mean), abs=1e-4)
    assert {row[-1] for row in rows[1:]} == {"yes", "no"}


def test_csv_keeps_the_decimal_point_whatever_the_person_uses(model: OddsViewModel, workspace: Workspace) -> None:
    workspace.set_decimal(",")
    table = table_of(model.state)
    assert table is not None
    assert all("," not in cell for row in table.exact for cell in row)
    assert any("," in row[0] for row in table.shown)


def test_csv_of_the_map_has_a_row_for_each_place(model: OddsViewModel, tmp_path: Path) -> None:
    model.choose_view("map")
    save_csv(model.state, tmp_path / "map.csv")
    text = (tmp_path / "map.csv").read_bytes().decode("utf-8")
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == ["sample age [h]", "temperature [C]", "probability"]
    assert len(rows) == 1 + 41 * 41


def test_no_table_ever_shows_0_or_100_per_cent(state: OddsState) -> None:
    table = table_of(state)
    assert table is not None
    cells = {cell for row in table.shown for cell in row[1:]}
    assert not {cell for cell in cells if cell.startswith(("0\u2009%", "100\u2009%"))}


def test_a_failed_write_leaves_the_older_file_and_says_why(
    workspace: Workspace, document: Document, qtbot: QtBot, tmp_path: Path
) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    workspace.open_document(document)
    with qtbot.waitSignal(workspace.notified) as caught:
        pane.menu_button.save_picture(tmp_path / "no such folder" / "odds.png")
    notice = caught.args[0]
    assert isinstance(notice, Notice)
    assert notice.kind == "error"
    assert "could not be written" in notice.text


def test_the_save_dialog_writes_the_chosen_file(
    workspace: Workspace, document: Document, qtbot: QtBot, tmp_path: Path
) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    pane.resize(700, 700)
    workspace.open_document(document)
    pane.show()
    pane.menu_button.actions_by_name["csv"].trigger()
    dialog = pane.findChild(QFileDialog)
    assert dialog is not None
    assert Path(dialog.directory().absolutePath()) == tmp_path
    dialog.selectFile(str(tmp_path / "numbers.csv"))
    with qtbot.waitSignal(workspace.notified) as caught:
        dialog.accept()
    assert caught.args[0].text == "Saved numbers.csv."
    assert (tmp_path / "numbers.csv").read_bytes().startswith(b"sample age [h],probability")


def test_the_picture_goes_to_the_clipboard(workspace: Workspace, document: Document, qtbot: QtBot) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    workspace.open_document(document)
    with qtbot.waitSignal(workspace.notified):
        pane.menu_button.actions_by_name["copy"].trigger()
    assert QGuiApplication.clipboard().image().width() == 2 * SIZE.width()


def test_nothing_is_exported_before_there_is_a_picture(workspace: Workspace, qtbot: QtBot) -> None:
    pane = OddsPane(workspace)
    qtbot.addWidget(pane)
    assert table_of(pane.view_model.state) is None
    assert not any(action.isEnabled() for action in pane.menu_button.actions_by_name.values())


def test_a_level_with_a_comma_or_quote_is_quoted(model: OddsViewModel, tmp_path: Path) -> None:
    model.choose_axis("stirring action")
    curve = model.state.curve
    assert curve is not None
    factor = replace(curve.factor, levels=("swirl, slow", 'the "fold"', "press", "scrape"), default=None)
    save_csv(replace(model.state, curve=replace(curve, factor=factor)), tmp_path / "levels.csv")
    text = (tmp_path / "levels.csv").read_text(encoding="utf-8")
    assert '"swirl, slow"' in text
    assert '"the ""fold"""' in text
