"""One quiet line for other pages: which attempt of tonight's plan is next, with a button that fills in the form."""

from __future__ import annotations

from datetime import datetime

from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QWidget

from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.plan.kept import fill_in_next, line_in_turn
from stirfall.desktop.theme import set_surface_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence
from stirfall.session.forecast_evenings import local_day


class NextLine(QFrame):
    """Is there only while a plan of the evening is kept and something of it is left to do."""

    def __init__(self, workspace: Workspace, page: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName(f"{page}_tonight")
        self.setAccessibleName("The plan of the evening")
        self._workspace = workspace
        self._in_form: str | None = None
        set_surface_role(self, "note")
        self.text = wrapped_label(f"{page}_tonight_text")
        self.fill_in = button("Fill in the form", f"{page}_tonight_fill")
        row = QHBoxLayout(self)
        row.setContentsMargins(GAP + HALF_GAP, 0, 0, 0)
        row.setSpacing(GAP)
        row.addWidget(self.text, 1)
        row.addWidget(self.fill_in)
        self.fill_in.clicked.connect(self._fill_in)
        workspace.document_opened.connect(self.refresh)
        workspace.document_changed.connect(self.refresh)
        self.refresh()

    def show_for(self, jar_id: str | None) -> None:
        """Give way while the form holds what was planned for this jar, and says by itself where it comes from."""
        if jar_id != self._in_form:
            self._in_form = jar_id
            self.refresh()

    def refresh(self, *_unused: object) -> None:
        """Say what is next; the line is gone where nothing is."""
        found, document = line_in_turn(self._workspace), self._workspace.document
        is_due = found is not None and document is not None and _has_come(found[0].begins_at, document.now())
        if found is None or document is None or not is_due:
            self.setVisible(False)
            return
        plan, line = found
        jar, place = line.planned.jar_id or "–", line.place + 1
        self.text.setText(sentence("plan_page.next_is", {"jar": jar, "place": place, "count": len(plan.attempts)}))
        self.fill_in.setEnabled(not document.read_only)
        self.setVisible(line.planned.jar_id is None or line.planned.jar_id != self._in_form)

    def _fill_in(self) -> None:
        fill_in_next(self._workspace)

    def showEvent(self, event: QShowEvent) -> None:
        """The clock went on since it was looked at last."""
        super().showEvent(event)
        self.refresh()


def _has_come(begins_at: datetime, now: datetime) -> bool:
    """Whether the evening is today's, or one that began yesterday and goes on."""
    return local_day(begins_at) <= local_day(now)
