"""The field that learns which key the foot switch sends."""

from __future__ import annotations

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QWidget

from stirfall.desktop.foot_switch import MODIFIERS, combination_text, may_be_learned, shown_key
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_text_role
from stirfall.reporting.sentences import sentence


class LearnButton(QPushButton):
    """Pressed, it waits for one key and tells it; Escape, a second press or leaving it ends the waiting.

    Signals:
        key_pressed(QKeyEvent): a key came while it waited.
        waiting_changed(bool): it began or ceased to wait.
    """

    key_pressed = Signal(object)
    waiting_changed = Signal(bool)

    def __init__(self) -> None:
        super().__init__("L&earn")
        self.setCheckable(True)
        self.setAutoDefault(False)
        self.toggled.connect(self.waiting_changed)

    def event(self, event: QEvent) -> bool:
        """While waiting, take every key before menus and Tab do."""
        is_key = event.type() in (QEvent.Type.KeyPress, QEvent.Type.ShortcutOverride)
        if not self.isChecked() or not is_key or not isinstance(event, QKeyEvent):
            return super().event(event)
        event.accept()
        if event.type() == QEvent.Type.KeyPress and event.key() not in MODIFIERS and not event.isAutoRepeat():
            if event.key() != Qt.Key.Key_Escape:
                self.key_pressed.emit(event)
            else:
                self.setChecked(False)
        return True

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Whoever goes elsewhere does not press the switch now."""
        super().focusOutEvent(event)
        self.setChecked(False)


class FootSwitchField(QWidget):
    """Shows the key, learns another one, or none.

    Signals:
        learned(str): the key as the setting keeps it, "" for none.
    """

    learned = Signal(str)

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key = key
        self.said = QLabel()
        self.said.setObjectName("foot_switch_said")
        self.said.setWordWrap(True)
        self.learn = LearnButton()
        self.learn.setObjectName("foot_switch_learn")
        name_control(self.learn, "Learn the key of the foot switch", sentence("foot.press"))
        self.none = QPushButton("&None")
        self.none.setObjectName("foot_switch_none")
        self.none.setAutoDefault(False)
        name_control(self.none, "No foot switch")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(SPACING)
        grid.addWidget(self.said, 0, 0, 1, 3)
        grid.addWidget(self.learn, 1, 0)
        grid.addWidget(self.none, 1, 1)
        grid.setColumnStretch(2, 1)
        self.learn.key_pressed.connect(self._take)
        self.learn.waiting_changed.connect(self._show)
        self.none.clicked.connect(lambda: self._set(""))
        self._show()

    def _take(self, event: QKeyEvent) -> None:
        if may_be_learned(event):
            self._set(combination_text(event))
            return
        self._say("foot.refused", "error", key=shown_key(combination_text(event)))

    def _set(self, key: str) -> None:
        self._key = key
        self.learn.setChecked(False)
        self._show()
        self.learned.emit(key)

    def _show(self, _waiting: bool = False) -> None:
        if self.learn.isChecked():
            self._say("foot.press", "accent")
        elif self._key:
            self._say("foot.learned", "", key=shown_key(self._key))
        else:
            self._say("foot.none", "")

    def _say(self, code: str, role: str, **params: object) -> None:
        text = sentence(code, params)
        self.said.setText(text)
        set_text_role(self.said, role)
        self.learn.setAccessibleDescription(text)
