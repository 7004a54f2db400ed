"""The part of the campaign settings about the model: what each choice says, and what one saved command changes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QPushButton, QScrollArea

from stirfall.bench.campaign import CampaignState
from stirfall.bench.factors import Conditions, Factor
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, CampaignSettings
from stirfall.desktop.campaign.form_state import CampaignForm
from stirfall.desktop.campaign.model_facts import ModelFacts, facts_of
from stirfall.desktop.campaign.model_fields import shared_choices
from stirfall.desktop.campaign.product_list import ProductList
from stirfall.desktop.campaign.settings_dialog import CampaignSettingsDialog
from stirfall.desktop.theme import SPACING, TEXT_SCALES, THEMES, apply_theme
from stirfall.session.commands import ChangeFactors, ChangeSettings, CorrectAttempt

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

    from stirfall.desktop.workspace import Workspace
    from stirfall.session.document import Document

AGE = Factor("sample age", "h", 1.0, 100.0, "log")
BENCH = Factor("bench", levels=("window", "door"))


def tried(
    number: int, parted: Parted | None = Parted.NO, bench: str | None = "window", **fields: object
) -> Attempt:
    values: dict[str, object] = {"sample age": 10.0, "bench": bench}
    conditions = Conditions({name: value for name, value in values.items() if value is not None})
    return Attempt(f"a{number}", number, conditions, parted=parted, **fields)


ATTEMPTS = (
    tried(1, Parted.YES, pooled=Pooled.ONE_POOL, lot_id="L1"),
    tried(2, Parted.PARTLY, pooled=Pooled.ONE_POOL, lot_id="L1", bench=None),
    tried(3, Parted.PARTLY, pooled=Pooled.NOT_OBSERVED, lot_id="L2"),
    tried(4, Parted.PARTLY, pooled=Pooled.BEADS, bench="door"),
    tried(5, Parted.PARTLY, struck_reason="wrong jar"),
    tried(6, Parted.PARTLY, aborted=True),
    tried(7, None),
    tried(8, None, successes=1, lot_id="L2"),
)


def facts(*attempts: Attempt, factors: tuple[Factor, ...] = (AGE, BENCH), **settings: object) -> ModelFacts:
    return facts_of(CampaignState(CampaignSettings(**settings), factors, attempts=attempts))


def note(about: ModelFacts, name: str, **form: object) -> str:
    return about.notes(CampaignForm(**form))[name]


def test_attempts_that_do_not_count_are_not_counted() -> None:
    about = facts(*ATTEMPTS)
    assert (about.told, about.graded, about.partly, about.pool_told, about.one_pool) == (5, 4, 3, 2, 1)
    assert about.two_gates


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"partly": "failed"}, "a no to the first question. Of 4 graded attempts, 3 are partly parted;"),
        ({"partly": "success"}, "3 are partly parted; 2 of them tell the pool and join the second question."),
        ({"partly": "ordinal"}, "between no and yes"),
        ({"partly": "success", "gates": 1}, "partly with one pool counts as clean. Of 4 graded attempts, 3"),
        ({"partly": "failed", "gates": 1}, "partly is never clean"),
        ({"partly": "ordinal", "gates": 1}, "partly is never clean"),
    ],
)
def test_each_way_to_count_partly_says_what_it_changes(form: dict[str, object], words: str) -> None:
    assert words in note(facts(*ATTEMPTS), "partly", **form)


def test_one_attempt_is_one_in_words_and_none_is_said_plainly() -> None:
    assert "Of 1 graded attempt, 1 is partly parted; 1 of them tells the pool and joins" in note(
        facts(ATTEMPTS[1]), "partly", partly="success"
    )
    assert "0 graded attempts" in note(facts(), "partly", partly="failed")
    assert "none of them tells the pool" in note(facts(ATTEMPTS[2]), "partly", partly="success")


def test_where_counts_outnumber_grades_one_question_is_fitted_and_the_sentence_says_so() -> None:
    about = facts(*(tried(n, None, successes=1) for n in range(1, 5)), ATTEMPTS[1])
    assert not about.two_gates
    assert "one question is fitted" in note(about, "gates")
    assert note(about, "gates", gates=1) == ""
    assert "With one question" in note(about, "partly", partly="success")


@pytest.mark.parametrize(
    ("shared", "words"),
    [
        ("lot", "4 of 5 attempts name their lot: 2 lots."),
        ("jar", "0 of 5 attempts name their jar: 0 jars. With fewer than two"),
        ("bench", "4 of 5 attempts name theirs: 2 levels."),
        ("none", "counts as independent"),
    ],
)
def test_each_thing_to_share_says_what_it_changes(shared: str, words: str) -> None:
    assert words in note(facts(*ATTEMPTS), "lot_effect", lot_effect=shared)


def test_a_hidden_choice_is_offered_only_while_it_is_chosen_and_says_that_it_does_nothing() -> None:
    about = facts(factors=(AGE, replace(BENCH, hidden=True)))
    assert [name for name, _ in shared_choices(about, CampaignForm())] == ["lot", "jar", "none"]
    chosen = CampaignForm(lot_effect="bench", humps=("sample age",), products=(("sample age", "bench"),))
    assert dict(shared_choices(about, chosen))["bench"] == "the level of “bench (hidden)”"
    assert "hidden, so attempts share nothing" in about.notes(chosen)["lot_effect"]
    assert "Left out for now" in about.notes(chosen)["products"]
    assert "Left out" not in about.notes(chosen)["humps"]


def test_products_with_what_attempts_share_are_said_to_be_left_out() -> None:
    pair = (("sample age", "bench"),)
    assert "shared: bench." in note(facts(), "products", products=pair, lot_effect="bench")
    assert "Left out" not in note(facts(), "products", products=pair, lot_effect="lot")


def test_what_no_model_can_have_leaves_the_form() -> None:
    odd = CampaignForm(
        humps=("bench", "sample age", "gone"),
        products=(("sample age", "gone"), ("bench", "bench"), ("bench", "sample age")),
    )
    usable = facts().usable(odd)
    assert (usable.humps, usable.products) == (("sample age",), (("bench", "sample age"),))


# -- the dialog ----------------------------------------------------------------------------------------------


@pytest.fixture
def dialog(workspace: Workspace, document: Document, qtbot: QtBot) -> Iterator[CampaignSettingsDialog]:
    workspace.open_document(document)
    made = CampaignSettingsDialog(workspace, document.state.settings)
    made.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    qtbot.addWidget(made)
    made.show()
    qtbot.mouseClick(made.part_button("model"), Qt.MouseButton.LeftButton)
    return made  # type: ignore[return-value]


def choose(qtbot: QtBot, chooser: QComboBox, value: object) -> None:
    """Choose an entry with the keys alone."""
    chooser.setFocus()
    qtbot.keyClick(chooser, Qt.Key.Key_Home)
    for _ in range(chooser.findData(value)):
        qtbot.keyClick(chooser, Qt.Key.Key_Down)
    assert chooser.currentData() == value


def save(dialog: CampaignSettingsDialog, qtbot: QtBot) -> None:
    button = dialog.findChild(QPushButton, "dialog_verb")
    assert button is not None
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def test_choices_made_with_keys_and_clicks_are_one_command_with_a_way_back(
    dialog: CampaignSettingsDialog, document: Document, workspace: Workspace, qtbot: QtBot
) -> None:
    before = document.state.settings
    model = dialog.assumptions
    choose(qtbot, model.partly, "ordinal")
    choose(qtbot, model.shared, "stirring action")
    age = model.humps["sample age"]
    qtbot.mouseClick(age, Qt.MouseButton.LeftButton, pos=QPoint(SPACING, age.height() // 2))
    qtbot.mouseClick(model.products.add, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(model.more, Qt.MouseButton.LeftButton)
    spread = model.priors.line("lot_sd")
    spread.selectAll()
    qtbot.keyClicks(spread, "0.5")
    with qtbot.waitSignal(workspace.notified) as told:
        save(dialog, qtbot)
    assert document.state.settings == replace(
        before,
        partly="ordinal",
        lot_effect="stirring action",
        humps=("sample age",),
        products=(("sample age", "temperature"),),
        lot_sd_prior=0.5,
    )
    assert told.args[0].act == "Undo"
    told.args[0].on_act()
    assert document.state.settings == before


def test_the_sentence_under_a_choice_follows_it_and_reaches_screen_readers(
    dialog: CampaignSettingsDialog, qtbot: QtBot
) -> None:
    model = dialog.assumptions
    assert "a no to the first question. Of 24 graded attempts, 0 are" in model.message("partly").text()
    choose(qtbot, model.partly, "success")
    assert "a yes to the first question" in model.message("partly").text()
    assert model.partly.accessibleDescription() == model.message("partly").text()
    choose(qtbot, model.gates, 1)
    assert "With one question" in model.message("partly").text()
    assert "24 of 24 attempts name their lot: 1 lot. With fewer than two" in model.message("lot_effect").text()


def test_a_product_is_added_once_and_removed_with_delete(dialog: CampaignSettingsDialog, qtbot: QtBot) -> None:
    products: ProductList = dialog.assumptions.products
    assert not products.list.isVisible()
    qtbot.mouseClick(products.add, Qt.MouseButton.LeftButton)
    assert products.pairs == (("sample age", "temperature"),)
    assert not products.add.isEnabled()
    choose_text(qtbot, products.first, "temperature")
    assert not products.add.isEnabled()
    choose_text(qtbot, products.second, "sample age")
    assert not products.add.isEnabled(), "the same pair the other way round"
    choose_text(qtbot, products.second, "stirring action")
    qtbot.mouseClick(products.add, Qt.MouseButton.LeftButton)
    assert dialog.model.state.form.products == (("sample age", "temperature"), ("temperature", "stirring action"))
    products.list.setFocus()
    qtbot.keyClick(products.list, Qt.Key.Key_Up)
    qtbot.keyClick(products.list, Qt.Key.Key_Delete)
    assert dialog.model.state.form.products == (("temperature", "stirring action"),)
    qtbot.mouseClick(products.remove, Qt.MouseButton.LeftButton)
    assert dialog.model.state.form.products == ()
    assert not products.list.isVisible()


def choose_text(qtbot: QtBot, chooser: QComboBox, text: str) -> None:
    chooser.setFocus()
    qtbot.keyClick(chooser, Qt.Key.Key_Home)
    for _ in range(chooser.findText(text)):
        qtbot.keyClick(chooser, Qt.Key.Key_Down)
    assert chooser.currentText() == text


def test_scrolling_past_a_choice_does_not_change_it(dialog: CampaignSettingsDialog, qtbot: QtBot) -> None:
    partly = dialog.assumptions.partly
    dialog.assumptions.gates.setFocus()
    middle = QPointF(partly.rect().center())
    wheel = QWheelEvent(
        middle,
        partly.mapToGlobal(middle),
        QPoint(0, 0),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(partly, wheel)
    assert partly.currentData() == "failed"
    partly.setFocus()
    QApplication.sendEvent(partly, wheel)
    assert partly.currentData() == "success"


def test_the_parts_are_changed_with_the_arrow_keys(dialog: CampaignSettingsDialog, qtbot: QtBot) -> None:
    dialog.part_button("model").setFocus()
    qtbot.keyClick(dialog.part_button("model"), Qt.Key.Key_Left)
    assert dialog.part == "limits"
    assert dialog.limits.isVisible()
    assert not dialog.assumptions.isVisible()


def test_a_pinned_form_is_shown_and_all_can_be_weighed_again(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, form="one gate, straight")))
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part="model")
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    forms = dialog.assumptions.form
    assert forms.currentData() == "one gate, straight"
    assert forms.currentText() == "One gate, straight"
    assert "Only this form" in dialog.assumptions.message("form").text()
    words = [forms.itemText(at) for at in range(forms.count())]
    assert words[:2] == ["All forms, weighed", "Two gates, straight"]
    assert "Two gates, hump in sample age at gate 1" in words
    choose(qtbot, forms, "")
    save(dialog, qtbot)
    assert document.state.settings.form == ""


def test_a_pinned_form_that_nothing_speaks_for_is_said_to_be_weighed_with_all() -> None:
    about = replace(facts(), forms=(("two gates, straight", "Two gates, straight"),))
    assert "so all forms are weighed" in note(about, "form", form="one gate, hump in sample age")
    assert "Only this form" in note(about, "form", form="two gates, straight")


def test_a_hidden_factor_that_the_model_names_stays_named_until_it_is_taken_out(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    document.execute(ChangeSettings(replace(document.state.settings, humps=("temperature",))))
    hidden = tuple(replace(each, hidden=each.name == "temperature") for each in document.state.factors)
    document.execute(ChangeFactors(hidden))
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part="model")
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    box = dialog.assumptions.humps["temperature"]
    assert box.text() == "temperature (hidden)"
    assert "Left out for now, as hidden or shared: temperature." in dialog.assumptions.message("humps").text()
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Space)
    save(dialog, qtbot)
    assert document.state.settings.humps == ()


def test_partly_graded_attempts_of_the_open_campaign_are_counted(
    workspace: Workspace, document: Document, qtbot: QtBot
) -> None:
    first = document.state.attempts[0]
    document.execute(
        CorrectAttempt(first.id, {"parted": Parted.PARTLY, "pooled": Pooled.BEADS}, "seen on the photo")
    )
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part="model")
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    assert "Of 24 graded attempts, 1 is partly parted" in dialog.assumptions.message("partly").text()


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("part", ["metal", "materials", "limits", "model"])
def test_nothing_is_cut_on_the_smallest_screen(
    theme: str, part: str, workspace: Workspace, document: Document, qapp: QApplication, qtbot: QtBot
) -> None:
    apply_theme(qapp, THEMES[theme])
    pair = (("sample age", "temperature"), ("temperature", "stirring action"))
    document.execute(ChangeSettings(replace(document.state.settings, partly="success", products=pair)))
    workspace.open_document(document)
    dialog = CampaignSettingsDialog(workspace, document.state.settings, part=part)
    qtbot.addWidget(dialog)
    dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
    dialog.show()
    QApplication.processEvents()
    assert dialog.width() <= 1280
    assert dialog.height() <= 720 - 48
    shown = [label for label in dialog.findChildren(QLabel) if label.isVisibleTo(dialog) and label.text()]
    assert len(shown) > 8
    for label in shown:
        needed = label.heightForWidth(label.width()) if label.wordWrap() else label.minimumSizeHint().height()
        assert label.height() + 1 >= needed, label.text()
        assert label.wordWrap() or label.width() + 1 >= label.minimumSizeHint().width(), label.text()


def test_the_model_fits_its_dialog_with_the_largest_text(
    workspace: Workspace, document: Document, qapp: QApplication, qtbot: QtBot
) -> None:
    apply_theme(qapp, THEMES["light"], TEXT_SCALES[-1])
    try:
        workspace.open_document(document)
        dialog = CampaignSettingsDialog(workspace, document.state.settings, part="model")
        qtbot.addWidget(dialog)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose, False)
        dialog.show()
        area = dialog.findChild(QScrollArea)
        assert area is not None
        # Nothing scrolls sideways, so what is wider than the view would be cut.
        assert dialog.assumptions.minimumSizeHint().width() <= area.viewport().width()
    finally:
        apply_theme(qapp, THEMES["light"])
