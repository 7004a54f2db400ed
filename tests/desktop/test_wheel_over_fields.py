"""The wheel over a field of a form scrolls the form; it never changes what the field says."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QComboBox, QWidget

import stirfall.desktop
from stirfall.desktop.bench_form.look import guard_from_wheel
from stirfall.desktop.shelf.forms import moment

DESKTOP = Path(stirfall.desktop.__file__).parent
EDITORS_OF_TABLE_CELLS = {"campaign/factors_dialog.py"}
MAKES_A_FIELD = re.compile(r"= (?:\w+\(\), )*Q(?:ComboBox|SpinBox|DoubleSpinBox|DateEdit|TimeEdit|DateTimeEdit)\(")


def turn_wheel(widget: QWidget) -> bool:
    """Turn the wheel over a widget and return whether the widget kept it for itself."""
    wheel = QWheelEvent(
        QPointF(4, 4),
        QPointF(widget.mapToGlobal(QPoint(4, 4))),
        QPoint(),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(widget, wheel)
    return wheel.isAccepted()


def test_the_wheel_over_a_date_of_the_shelf_changes_nothing(themed: QApplication) -> None:
    edit = moment("when", lambda: None)
    edit.setDateTime(datetime(2026, 3, 4, 9, 30, tzinfo=UTC))
    before = edit.dateTime()
    assert not turn_wheel(edit)
    assert edit.dateTime() == before


def test_a_guarded_chooser_leaves_the_wheel_to_the_page(themed: QApplication) -> None:
    chooser = QComboBox()
    chooser.addItems(["one", "two"])
    guard_from_wheel(chooser)
    assert not turn_wheel(chooser)
    assert chooser.currentIndex() == 0


def test_every_file_that_makes_such_fields_guards_them() -> None:
    making = {
        path.relative_to(DESKTOP).as_posix(): path.read_text(encoding="utf-8")
        for path in DESKTOP.rglob("*.py")
        if MAKES_A_FIELD.search(path.read_text(encoding="utf-8"))
    }
    assert len(making) > 10
    unguarded = {name for name, text in making.items() if "guard_from_wheel(" not in text}
    assert unguarded == EDITORS_OF_TABLE_CELLS
