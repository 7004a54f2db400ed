"""The page "What sets the film": two jars, their inputs side by side, and their film indices over time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSignalBlocker
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import TARGET, button, heading
from stirfall.desktop.campaign.calm_combo import CalmCombo
from stirfall.desktop.labelled import labelled
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.physics.fact_lines import FactColumn, FactLine
from stirfall.desktop.physics.film_plot import FilmPlot
from stirfall.desktop.physics.film_state import FilmState, JarEntry
from stirfall.desktop.physics.film_table import FilmTable
from stirfall.desktop.physics.film_view_model import FilmViewModel
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.desktop.workspace import Workspace

_PLOT_PX, _PLOT_LINES = 200, 12  # at least, in pixels and in lines of text


class FilmPage(ScrolledView):
    """Shows a FilmState and passes wishes on; it decides nothing."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("film_page", "What sets the film", parent)
        self._workspace = workspace
        self.view_model = FilmViewModel(workspace, self)
        self.caution_text = wrapped_label("film_caution")
        self.caution = QFrame()
        set_surface_role(self.caution, "caution")
        inside = QVBoxLayout(self.caution)
        inside.setContentsMargins(SPACING, SPACING, SPACING, SPACING)
        inside.addWidget(self.caution_text)
        self.first, self.second = _combo("film_first"), _combo("film_second")
        self.swap = button("Swap", "film_swap")
        self.headline = wrapped_label("film_headline")
        self.gaps = FactColumn("film_gaps")
        self.table = FilmTable()
        self.same = wrapped_label("film_same", "muted")
        self.plot = FilmPlot(workspace.theme)
        self.no_plot = wrapped_label("film_no_plot", "muted")
        self.notes = wrapped_label("film_notes", "muted")
        self._arrange()
        self._connect()

    def _arrange(self) -> None:
        self.column.setContentsMargins(2 * SPACING, SPACING, 2 * SPACING, SPACING)
        title = heading(sentence("film_page.title"))
        self.column.addWidget(title)
        self.column.addWidget(self.caution)
        row = QHBoxLayout()
        row.setSpacing(SPACING)
        for text, combo in (("●", self.first), ("■", self.second)):
            mark = labelled(text, combo)
            row.addWidget(mark)
            row.addWidget(combo, 1)
        self.first.setAccessibleName("First jar")
        self.second.setAccessibleName("Second jar")
        row.addWidget(self.swap)
        self.column.addLayout(row)
        for widget in (self.headline, self.gaps, self.table, self.same, self.plot, self.no_plot, self.notes):
            self.column.addWidget(widget, int(widget is self.plot))
        self.plot.setMinimumHeight(_PLOT_PX)
        self.column.addStretch(0)

    def _connect(self) -> None:
        model = self.view_model
        self.first.activated.connect(lambda index: model.choose(self.first.itemData(index), ""))
        self.second.activated.connect(lambda index: model.choose("", self.second.itemData(index)))
        self.swap.clicked.connect(model.swap)
        self._workspace.theme_changed.connect(self.plot.apply_theme)
        self.follow(model, self._workspace)

    def render(self, state: FilmState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.plot.setMinimumHeight(max(_PLOT_PX, _PLOT_LINES * self.fontMetrics().height()))
        self.show_message(state.message if not state.caution else "")
        self.caution_text.setText(state.caution)
        self.caution.setVisible(bool(state.caution))
        _fill(self.first, state.jars, state.first)
        _fill(self.second, state.jars, state.second)
        self.swap.setEnabled(bool(state.second))
        content, theme = state.content, self._workspace.theme
        self.headline.setText(state.message or content.headline)
        set_text_role(self.headline, "muted" if state.is_stale else "")
        lines = tuple(FactLine(f"gap_{place}", "unknown", gap) for place, gap in enumerate(content.gaps))
        self.gaps.show_lines(lines, theme=theme, is_stale=state.is_stale)
        self.table.show_content(content, theme=theme, is_stale=state.is_stale)
        self.table.setVisible(bool(content.rows))
        self.same.setText(content.same)
        self.same.setVisible(bool(content.same))
        self.plot.show_curves(content.curves, late=state.is_stale, decimal=state.decimal)
        self.plot.setVisible(bool(content.curves))
        self.no_plot.setText(content.no_curve)
        self.no_plot.setVisible(bool(content.no_curve))
        self.notes.setText(" ".join(content.notes))
        self.notes.setVisible(bool(content.notes))
        self.describe(
            " ".join([state.caution, content.headline, *content.gaps, self.table.accessibleDescription()]).strip()
        )


def _combo(name: str) -> CalmCombo:
    combo = CalmCombo()
    combo.setObjectName(name)
    combo.setMinimumContentsLength(8)
    combo.setMinimumHeight(TARGET)
    combo.setMaxVisibleItems(14)
    return combo


def _fill(combo: CalmCombo, entries: tuple[JarEntry, ...], chosen: str) -> None:
    with QSignalBlocker(combo):
        shown = tuple((combo.itemData(index), combo.itemText(index)) for index in range(combo.count()))
        if shown != tuple((entry.id, entry.text) for entry in entries):
            combo.clear()
            for entry in entries:
                combo.addItem(entry.text, entry.id)
        combo.view().setMinimumWidth(combo.view().sizeHintForColumn(0) + 4 * SPACING)
        combo.setCurrentIndex(combo.findData(chosen))
