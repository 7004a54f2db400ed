"""The form that notes how the surface of a jar's metal looks, as seen through the glass."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Signal

from stirfall.bench.estimates import Reason
from stirfall.bench.records import Jar
from stirfall.bench.substances import SurfaceLook
from stirfall.desktop.bench_form.look import text_label
from stirfall.desktop.bench_form.segments import Segments
from stirfall.desktop.shelf.forms import InPlaceForm, line
from stirfall.reporting.sentences import sentence

LOOKS = tuple(look.value for look in SurfaceLook)


class InspectPanel(InPlaceForm):
    """Asks for one of six looks, and for a reason only where an alarming one is taken back.

    Signals:
        edited(): the look or the reason changed.
    """

    edited = Signal()

    def __init__(self) -> None:
        super().__init__("Inspect a jar", "Note the look", "inspect_jar")
        self.jar: Jar | None = None
        about = text_label(sentence("shelf.inspect_first"))
        self.grid.addWidget(about, 1, 0, 1, 4)
        self.look = Segments("The surface is", LOOKS, columns=6, may_be_empty=False)
        self.look.setObjectName("inspect_look")
        self.look.chosen.connect(lambda _look: self.edited.emit())
        self.reason = line("inspect_reason", self.edited.emit, "why the alarm does not hold any more")
        self.add("look", "The surface is", self.look, 2, span=3)
        self.add("reason", "Reason", self.reason, 3, span=3)
        self.meaning = text_label(role="error")
        self.meaning.setObjectName("inspect_meaning")
        self.grid.addWidget(self.meaning, 7, 0, 1, 4)
        self.finish(4)

    def open_for(self, jar: Jar) -> None:
        """Ask about a jar; nothing is chosen beforehand."""
        self.jar = jar
        self.rename(f"Inspect jar {jar.id}", "Note the look")
        with QSignalBlocker(self):
            self.look.set_value(None)
            self.reason.clear()
        self.edited.emit()
        self.look.setFocus()

    def show_asked(self, *, is_alarming: bool, takes_back: bool, decimal: str) -> None:
        """Show what follows from the look: the alarm, or the reason that is asked for."""
        self.set_row_visible("reason", takes_back)
        alarm = sentence("shelf.alarm", {"look": self.look.value or ""})
        self.meaning.setText(f"■ {alarm}" if is_alarming else "")
        self.meaning.setVisible(is_alarming)
        missing = takes_back and not self.reason.text().strip()
        problems = {"reason": Reason("jar.look_taken_back")} if missing else {}
        self.show_problems(problems, decimal)
        self.accept.setEnabled(self.look.value is not None and not missing)
