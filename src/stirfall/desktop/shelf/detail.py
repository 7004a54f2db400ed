"""What stands below the table of jars: the chosen jar in words, what the limits say about it, and the acts."""

from __future__ import annotations

from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label
from stirfall.desktop.shelf.state import JarRow, ShelfState, look_text
from stirfall.desktop.theme import set_primary, set_surface_role, set_text_role
from stirfall.reporting.sentences import sentence


class JarDetail(QFrame):
    """The jar in hand, or two jars to compare."""

    def __init__(self) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.text = text_label()
        self.text.setObjectName("shelf_jar_text")
        self.warning = text_label()
        self.warning.setObjectName("shelf_jar_warning")
        self.use = button("Use on the bench", "shelf_use")
        self.take_off = button("Take off", "shelf_take_off")
        self.take_off.setToolTip("Take the jar off the shelf for good")
        self.inspect = button("Inspect", "shelf_inspect")
        self.inspect.setToolTip("Note how the surface looks through the glass")
        self.correct = button("Correct", "shelf_correct_jar")
        self.correct.setToolTip("Correct what is known of the jar")
        self.compare = button("Compare", "shelf_compare")
        self.compare.setToolTip("Compare what sets the film of two jars")
        self.compare.setCheckable(True)
        set_primary(self.use)
        acts = QWidget()
        row = FlowLayout(acts)
        for act in (self.inspect, self.correct, self.compare, self.take_off, self.use):
            row.addWidget(act)
        below = QVBoxLayout(self)
        below.setContentsMargins(GAP, GAP, GAP, GAP)
        below.setSpacing(HALF_GAP)
        below.addWidget(self.text)
        below.addWidget(self.warning)
        below.addWidget(acts)

    def show_state(self, state: ShelfState) -> None:
        """Show the jar in hand."""
        row = state.selected_row
        can_change = row is not None and state.can_change
        self.inspect.setEnabled(can_change)
        self.correct.setEnabled(can_change)
        self.take_off.setEnabled(can_change)
        self.use.setEnabled(row is not None and not row.is_blocked and not row.jar.is_residue)
        is_crude = row is not None and not row.jar.is_residue
        self.compare.setEnabled(state.pair is not None or (is_crude and len(state.rows) > 1))
        self.compare.setChecked(state.first is not None)
        said = row.urgent if row is not None else ()
        self.warning.setVisible(bool(said))
        self.warning.setText("\n".join(said))
        is_blocked = row is not None and row.is_blocked
        set_text_role(self.warning, "error" if is_blocked else "caution")
        self.text.setText(_text(state, row))


def _text(state: ShelfState, row: JarRow | None) -> str:
    if state.pair is not None:
        return sentence("shelf.two_chosen", {"first": state.pair[0], "second": state.pair[1]})
    if row is None:
        return sentence("shelf.choose")
    if state.first is not None:
        return sentence("shelf.choose_second", {"jar": state.first})
    seen = f" Surface: {look_text(row, state.now)}." if row.jar.look else ""
    if row.jar.is_residue:
        waits = f"it has waited for {row.age}"
        return f"Jar {row.jar.id} of lot {row.jar.lot_id} holds residue under {row.kept}; {waits}.{seen}"
    is_known = row.film is not None and row.film.film is not None
    film = f" {row.film_why}" if is_known or not row.is_blocked else ""
    return f"Jar {row.jar.id}, lot {row.jar.lot_id}, {row.age} old, kept under {row.kept}.{seen}{film}"
