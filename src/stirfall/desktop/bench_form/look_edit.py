"""How the surface looks before melting: asked first, with large words where the look means danger."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from stirfall.bench.records import Jar
from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.bench_form.jar_edit import local_text
from stirfall.desktop.bench_form.limits_text import SIGNS
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.bench_form.state import FormState
from stirfall.desktop.labelled import labelled
from stirfall.desktop.theme import set_surface_role
from stirfall.reporting.sentences import sentence

_QUESTION = "Surface before melting"


class LookRow(QWidget):
    """The question about the surface.

    Signals:
        chosen(object): the look, or None.
    """

    chosen = Signal(object)

    def __init__(self, label_width: int) -> None:
        super().__init__()
        self.segments = Segments(_QUESTION, tuple(look.value for look in SurfaceLook), columns=6)
        self.segments.setObjectName("look")
        self.jar_look = text_label(role="muted")
        self.jar_look.setObjectName("jar_look")
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(GAP)
        grid.setVerticalSpacing(HALF_GAP)
        grid.setColumnStretch(1, 1)
        self._label = labelled(_QUESTION, self.segments, target=self.segments)
        self._label.setWordWrap(True)
        self.set_label_width(label_width)
        grid.addWidget(self._label, 0, 0)
        grid.addWidget(self.segments, 0, 1)
        grid.addWidget(self.jar_look, 1, 1)
        self.segments.chosen.connect(self.chosen)

    def set_label_width(self, width: int) -> None:
        """Align the label with those of the rows below."""
        self._label.setFixedWidth(width)

    def show_state(self, state: FormState) -> None:
        """Show the answer, and what was noted on the jar."""
        self.segments.set_value(state.look.look or None)
        noted = jar_look_text(state.jar, state.now)
        self.jar_look.setText(noted)
        self.jar_look.setVisible(bool(noted))
        self.segments.setAccessibleDescription(noted)


class LookAlarm(QFrame):
    """What an alarming look means, in large words; there is no close button.

    Signals:
        note_wanted(): please note the look on the jar.
    """

    note_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("look_alarm")
        set_surface_role(self, "caution")
        self.words = text_label(SIGNS["block"] + " " + sentence("look.alarm"), "large")
        self.words.setObjectName("look_alarm_words")
        self.more = text_label()
        self.more.setObjectName("look_alarm_more")
        self.note = button("Note it on the jar", "note_look")
        self.note.clicked.connect(self.note_wanted)
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP + HALF_GAP, HALF_GAP, GAP, GAP)
        column.setSpacing(HALF_GAP)
        column.addWidget(self.words)
        foot = QHBoxLayout()
        foot.setSpacing(GAP)
        foot.addWidget(self.more, 1)
        foot.addWidget(self.note, 0, Qt.AlignmentFlag.AlignBottom)
        column.addLayout(foot)
        self.hide()

    def show_state(self, state: FormState | None) -> None:
        """Show the words where the look is alarming on this class of metal."""
        look = state.look if state is not None else None
        self.setVisible(look is not None and look.is_alarming)
        if look is None or not look.is_alarming:
            return
        seen = look.look if look.look and SurfaceLook(look.look).is_alarming else look.jar_look
        code = "look.alarm_seen" if seen == look.look else "look.alarm_noted"
        self.more.setText(sentence(code, {"look": seen, "jar": look.jar.id if look.jar else ""}))
        self.note.setVisible(look.can_note)
        if look.jar is not None:
            self.note.setText(f"Note it on jar {look.jar.id}")
            self.note.setAccessibleName(self.note.text())


def jar_look_text(jar: Jar | None, now: datetime) -> str:
    """Return what was noted about the surface in a jar, "" where nothing was."""
    if jar is None or not jar.look:
        return ""
    when = f", {local_text(jar.looked_at, now)}" if jar.looked_at is not None else ""
    return f"Noted on jar {jar.id}: {jar.look}{when}"
