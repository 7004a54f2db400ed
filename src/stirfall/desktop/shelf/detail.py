"""What stands below the board: the chosen jar in words, its curve, what the limits say about it, and the acts."""

from __future__ import annotations

from PySide6.QtCore import QMetaMethod
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.flow import FlowLayout
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, button, text_label, unbroken
from stirfall.desktop.shelf.board import curve_in_words, in_words
from stirfall.desktop.shelf.curve import CurvePicture, has_curve
from stirfall.desktop.shelf.residue_note import read_note
from stirfall.desktop.shelf.state import JarRow, ShelfState, look_text
from stirfall.desktop.theme import Theme, set_primary, set_surface_role, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_TINY, _LOW, _HIGH = 16.0, 33.0, 50.0  # lines of text on a page
_LOW_CURVE, _USUAL_CURVE, _HIGH_CURVE = 4.0, 5.5, 8.0
AGEING, TO_START, RESIDUES = "ageing", "to start", "residue"


class JarDetail(QFrame):
    """The jar that is chosen in one of the three lists, or two jars to compare.

    Attributes: has_run (whether the guided run can be asked for), is_tiny (whether the page has a few lines only),
    has_jar (whether one is chosen), and the acts as buttons.
    """

    def __init__(self) -> None:
        super().__init__()
        set_surface_role(self, "raised")
        self.text = text_label()
        self.text.setObjectName("shelf_jar_text")
        self.warning = text_label()
        self.warning.setObjectName("shelf_jar_warning")
        self.curve = CurvePicture()
        self._make_acts()
        self._lay_out()
        self._view, self.has_jar, self.has_run = AGEING, False, False
        self._is_compact = self.is_tiny = False

    def _make_acts(self) -> None:
        self.run = button("Run step by step", "shelf_run")
        self.use = button("Use on the bench", "shelf_use")
        self.inspect = button("Inspect", "shelf_inspect")
        self.inspect.setToolTip("Note how the surface looks through the glass")
        self.more = button("More", "shelf_more")
        self.more.setCheckable(True)
        self.correct = button("Correct", "shelf_correct_jar")
        self.correct.setToolTip("Correct what is known of the jar")
        self.compare = button("Compare", "shelf_compare")
        self.compare.setToolTip("Compare what sets the film of two jars")
        self.compare.setCheckable(True)
        self.label = button("Print label", "shelf_print_label")
        self.take_off = button("Take off", "shelf_take_off")
        self.take_off.setToolTip("Take the jar off the shelf for good")
        self.start = button("Start it now", "shelf_start_planned")
        self.drop = button("Drop it", "shelf_drop_planned")
        self.drop.setToolTip("Take the jar off the plan; it stays on record")
        self.hand_over = button("Handed over", "shelf_hand_over")
        self.hand_over.setToolTip("Note that it went to the licensed waste route, and to whom")
        for act in (self.use, self.start, self.hand_over):
            set_primary(act)

    def _lay_out(self) -> None:
        self._row = _acts(self.run, self.use, self.start, self.hand_over, self.inspect, self.more)
        self._second = _acts(self.correct, self.compare, self.label, self.drop, self.take_off)
        self.more.toggled.connect(lambda _is_on: self._show_acts())
        top = QHBoxLayout()
        top.setSpacing(2 * GAP)
        top.addWidget(self.text, 3)
        top.addWidget(self.curve, 2)
        below = QVBoxLayout(self)
        below.setContentsMargins(GAP, GAP, GAP, GAP)
        below.setSpacing(HALF_GAP)
        below.addLayout(top)
        below.addWidget(self.warning)
        below.addWidget(self._row)
        below.addWidget(self._second)

    def apply_theme(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        self.curve.set_theme(theme)

    def show_view(self, view: str) -> None:
        """Offer the acts of one of the three lists."""
        self._view = view
        self._show_acts()

    def fit(self, lines: float) -> bool:
        """Say less, and draw the curve lower, on a page with few lines; return whether what is said changes."""
        is_compact, is_tiny = lines < _LOW, lines < _TINY
        is_other = (is_compact, is_tiny) != (self._is_compact, self.is_tiny)
        self._is_compact, self.is_tiny = is_compact, is_tiny
        self.curve.set_lines(_LOW_CURVE if is_compact else _HIGH_CURVE if lines > _HIGH else _USUAL_CURVE)
        return is_other

    def _show_acts(self) -> None:
        on_shelf, to_start, residue = (self._view == each for each in (AGEING, TO_START, RESIDUES))
        self.run.setVisible(on_shelf and self.has_run)
        for act in (self.use, self.compare):
            act.setVisible(on_shelf)
        for act in (self.start, self.drop):
            act.setVisible(to_start)
        self.hand_over.setVisible(residue)
        self.inspect.setVisible(not to_start)
        self.take_off.setVisible(not to_start)
        self._second.setVisible(self.more.isChecked() and self.has_jar)
        self._row.setVisible(self.has_jar)

    def show_state(self, state: ShelfState) -> None:
        """Show the jar in hand."""
        row, plan = state.selected_row, state.selected_plan
        if self._view == TO_START:
            row = None
        can_change = state.can_change
        self.has_jar = row is not None or plan is not None or state.pair is not None
        self.inspect.setEnabled(row is not None and can_change)
        self.correct.setEnabled((row is not None or plan is not None) and can_change)
        self.take_off.setEnabled(row is not None and can_change)
        self.label.setEnabled(row is not None or plan is not None)
        for act in (self.start, self.drop):
            act.setEnabled(plan is not None and can_change)
        self.hand_over.setEnabled(row is not None and row.jar.is_residue and can_change)
        for act in (self.use, self.run):
            act.setEnabled(row is not None and not row.is_blocked and not row.jar.is_residue)
        is_crude = row is not None and not row.jar.is_residue
        self.compare.setEnabled(state.pair is not None or (is_crude and state.ageing > 1))
        self.compare.setChecked(state.first is not None)
        if self.compare.isChecked() or state.pair is not None:
            self.more.setChecked(True)
        self._show_acts()
        said = row.urgent if row is not None else ()
        self.warning.setVisible(bool(said))
        self.warning.setText("\n".join(said))
        set_text_role(self.warning, "error" if row is not None and row.is_blocked else "caution")
        self.text.setText(unbroken(self._said(state, row)))
        # Where the page has a few lines only, the rows of the board say it, and warnings stand here.
        is_on_board = row is not None and self._view == AGEING and state.first is None
        self.text.setVisible(not (self.is_tiny and is_on_board))
        self._show_curve(state, row)

    def _said(self, state: ShelfState, row: JarRow | None) -> str:
        if self._view == TO_START:
            plan = state.selected_plan
            return sentence("shelf.choose_planned") if plan is None else plan.plan_text
        if self._view == RESIDUES and row is None:
            return sentence("residue.choose")
        return _text(state, row, is_compact=self._is_compact)

    def _show_curve(self, state: ShelfState, row: JarRow | None) -> None:
        has_room = not self.is_tiny and state.pair is None
        is_drawn = has_room and row is not None and not row.is_blocked and has_curve(row.forecast)
        forecast = row.forecast if row is not None and is_drawn else None
        self.curve.show_forecast(
            forecast, state.now, is_stale=state.is_stale, words=curve_in_words(forecast) if forecast else ""
        )


def _acts(*acts: QPushButton) -> QWidget:
    holder = QWidget()
    row = FlowLayout(holder)
    for act in acts:
        row.addWidget(act)
    return holder


def has_run_page(workspace: Workspace) -> bool:
    """Whether anybody answers when the guided run is asked for."""
    return workspace.isSignalConnected(QMetaMethod.fromSignal(workspace.run_requested))


def _text(state: ShelfState, row: JarRow | None, *, is_compact: bool) -> str:
    if state.pair is not None:
        return sentence("shelf.two_chosen", {"first": state.pair[0], "second": state.pair[1]})
    if row is None:
        return sentence("shelf.choose")
    if state.first is not None:
        return sentence("shelf.choose_second", {"jar": state.first})
    seen = f" Surface: {look_text(row, state.now)}." if row.jar.look else ""
    if row.jar.is_residue:
        return f"{_residue_text(row)}{seen}"
    is_known = row.film is not None and row.film.film is not None
    film = f" {row.film_why}" if is_known or not row.is_blocked else ""
    foretold = in_words(row, state.now)
    if is_compact and foretold:
        return f"Jar {row.jar.id}, lot {row.jar.lot_id}, {row.age} old.{seen} {foretold}"
    kept = f"Jar {row.jar.id}, lot {row.jar.lot_id}, {row.age} old, kept under {row.kept}.{seen}{film}"
    return f"{kept}\n{foretold}" if foretold else kept


def _residue_text(row: JarRow) -> str:
    note = read_note(row.jar.note)
    source = f", from {note.attempts_text}" if note.attempts else ""
    place = f" It stands {note.place}." if note.place else ""
    rest = f" {note.rest}" if note.rest else ""
    return (
        f"Jar {row.jar.id} of lot {row.jar.lot_id} holds residue{source}, under {row.kept}; it has waited for "
        f"{row.age}.{place}{rest}"
    )
