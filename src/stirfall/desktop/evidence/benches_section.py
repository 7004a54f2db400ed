"""The section "Other benches": does it hold for others, bench by bench, and for one not seen yet?"""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from stirfall.desktop.bench_form.look import button, heading
from stirfall.desktop.evidence.benches_model import BenchesModel
from stirfall.desktop.evidence.benches_plot import BenchesPlot
from stirfall.desktop.evidence.benches_state import BenchesState
from stirfall.desktop.evidence.benches_table import benches_table
from stirfall.desktop.labelled import name_control
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.plan.parts import row_of, show_text
from stirfall.desktop.theme import set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence


class BenchesSection(ScrolledView):
    """One column: the verdict, the chance of a new bench, the picture, the bench that is picked out, the spread.

    Signals:
        pool_wanted(): sessions of other benches shall be pooled.
    """

    pool_wanted = Signal()

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("evidence_benches", "Other benches", parent)
        self.workspace = workspace
        self.model = BenchesModel(workspace, self)
        self.verdict = wrapped_label("benches_verdict", "heading")
        self.how = wrapped_label("benches_how")
        self.answer = wrapped_label("benches_answer")
        self.plot = BenchesPlot(workspace.theme)
        self.key = wrapped_label("benches_key", "muted")
        self.picked = wrapped_label("benches_picked")
        self.table = button("Show as table", "benches_table")
        self.pool = button("Pool sessions…", "benches_pool")
        self.spread_title, self.spread = heading("How much benches differ"), wrapped_label("benches_spread")
        self.notes = wrapped_label("benches_notes", "muted")
        self.dialog: TableDialog | None = None
        self._lay_out()
        self._connect()
        self.follow(self.model, workspace)

    def _lay_out(self) -> None:
        name_control(self.table, "Show as table", "All numbers of the picture as a table that can be copied")
        name_control(self.pool, "Pool sessions…", "Join the sessions of several benches into one new session")
        parts: tuple[QWidget, ...] = (
            self.verdict,
            self.how,
            self.answer,
            self.plot,
            self.key,
            self.picked,
            row_of(self.table, self.pool),
            self.spread_title,
            self.spread,
            self.notes,
        )
        for part in parts:
            self.column.addWidget(part)
        self.column.addStretch(1)

    def _connect(self) -> None:
        self.plot.picked.connect(self.model.pick)
        self.plot.stepped.connect(self.model.step)
        self.table.clicked.connect(self.show_table)
        self.pool.clicked.connect(self.pool_wanted)

    def show_table(self) -> None:
        """Open the numbers as a table."""
        found = self.model.state.found
        if found is not None:
            table = benches_table(found, decimal=self.workspace.decimal)
            self.dialog = TableDialog(table, self.model.state.verdict, self.window())
            self.dialog.open()

    def render(self, state: BenchesState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        if self.workspace.document is None:
            self.show_message(sentence("benches_page.no_session"))
            return
        self.show_message("")
        has_lines = bool(state.lines)
        show_text(self.verdict, state.verdict or state.message)
        set_text_role(self.verdict, "heading" if state.verdict else "muted")
        show_text(self.how, state.message if state.verdict else "")
        show_text(self.answer, state.answer if has_lines else "")
        self.plot.setVisible(has_lines)
        self.plot.show_lines(state.lines, state.picked, self.workspace.theme, is_stale=state.is_stale)
        show_text(self.key, sentence("benches_page.key") if has_lines else "")
        show_text(self.picked, state.picked_text)
        self.table.setVisible(has_lines)
        self.spread_title.setVisible(bool(state.spreads))
        show_text(self.spread, "\n".join(state.spreads))
        show_text(self.notes, "\n".join(f"• {note}" for note in state.notes))
        self.describe(" ".join((state.verdict or state.message, state.answer)))
