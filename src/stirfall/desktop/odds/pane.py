"""The odds pane: the answer for the conditions in hand, its picture, and the next attempts."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLabel, QStackedWidget, QVBoxLayout, QWidget

from stirfall.desktop.odds.controls import PictureControls
from stirfall.desktop.odds.curve_plot import CurvePlot
from stirfall.desktop.odds.effects_view import EffectsView
from stirfall.desktop.odds.elided import ElidedLabel
from stirfall.desktop.odds.headline_view import HeadlineView
from stirfall.desktop.odds.map_plot import MapPlot
from stirfall.desktop.odds.next_detail_view import NextDetailView
from stirfall.desktop.odds.next_list import NextList
from stirfall.desktop.odds.outcome_plot import OutcomePlot
from stirfall.desktop.odds.picture_menu import PictureMenu
from stirfall.desktop.odds.picture_plot import PicturePlot
from stirfall.desktop.odds.scrolled import wrapped_label
from stirfall.desktop.odds.state import PICTURES, GoalChoice, OddsState, View
from stirfall.desktop.odds.time_plot import TimePlot
from stirfall.desktop.odds.trust_view import TrustView
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.theme import SPACING, Theme, set_text_role
from stirfall.desktop.workspace import Workspace
from stirfall.reporting.sentences import sentence

_ROOMY_HEIGHT, _BRIEF_HEIGHT, _LINE_PX = 900, 720, 17.0
_LOWEST = 560
_CONTENT, _MESSAGE = 0, 1


class OddsPane(QWidget):
    """Shows an OddsState and passes wishes on; it decides nothing."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("odds_pane")
        self.setAccessibleName("Odds of a clean separation")
        self._workspace = workspace
        self.view_model = OddsViewModel(workspace, self)
        self.headline = HeadlineView()
        self.curve = CurvePlot(workspace.theme)
        self.map = MapPlot(workspace.theme)
        self.outcomes = OutcomePlot(workspace.theme)
        self.time = TimePlot(workspace.theme)
        self.no_time = wrapped_label("odds_no_time")
        self.no_time.setMargin(2 * SPACING)
        self.no_time.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.effects = EffectsView(workspace)
        self.trust = TrustView(workspace)
        self.next_list = NextList()
        self.detail = NextDetailView()
        self.readout = ElidedLabel()
        self.readout.setObjectName("odds_readout")
        set_text_role(self.readout, "muted")
        self.menu_button = PictureMenu(workspace, self.view_model)
        self.controls = PictureControls(self.menu_button)
        self._arrange()
        self._connect()
        self.render(self.view_model.state)

    # -- building --------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        self.plots = QStackedWidget()
        self._views: dict[View, QWidget] = {
            "curve": self.curve,
            "map": self.map,
            "outcomes": self.outcomes,
            "time": self.time,
            "effects": self.effects,
            "trust": self.trust,
        }
        for view in self._views.values():
            self.plots.addWidget(view)
        self.plots.addWidget(self.detail)
        self.plots.addWidget(self.no_time)
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(2 * SPACING, SPACING, 2 * SPACING, SPACING)
        column.setSpacing(SPACING)
        column.addWidget(self.headline)
        column.addWidget(self.controls)
        column.addWidget(self.plots, 1)
        column.addWidget(self.readout)
        column.addWidget(self.next_list)
        self.message = QLabel()
        self.message.setObjectName("odds_message")
        self.message.setWordWrap(True)
        self.message.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.message.setMargin(4 * SPACING)
        self.pages = QStackedWidget()
        self.pages.addWidget(content)
        self.pages.addWidget(self.message)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.pages)

    def _connect(self) -> None:
        model = self.view_model
        model.changed.connect(self.render)
        self._workspace.theme_changed.connect(self.apply_theme)
        self.headline.taken.connect(model.take_in_hand)
        self.headline.details_toggled.connect(model.toggle_details)
        self.headline.lot_chosen.connect(model.choose_lot)
        controls = self.controls
        controls.view_chosen.connect(model.choose_view)
        controls.axis_chosen.connect(model.choose_axis)
        controls.across_chosen.connect(lambda name: model.choose_map_axes(name, model.state.map_axes[1]))
        controls.upward_chosen.connect(lambda name: model.choose_map_axes(model.state.map_axes[0], name))
        controls.gates_toggled.connect(model.toggle_gates)
        for plot in self._plots:
            plot.moved.connect(model.move_to)
            plot.stepped.connect(model.step)
            plot.attempt_chosen.connect(model.choose_attempt)
            plot.pointed.connect(model.point_at)
        self.next_list.goal_chosen.connect(self._choose_goal)
        self.next_list.looked_at.connect(model.look_at_suggestion)
        self.next_list.taken.connect(model.take_suggestion)
        self.next_list.asked_why.connect(model.explain)
        self.detail.closed.connect(self._close_detail)
        self.detail.taken.connect(model.take_explained)

    @property
    def _plots(self) -> tuple[PicturePlot, ...]:
        return (self.curve, self.map, self.outcomes, self.time)

    def _close_detail(self) -> None:
        """Bring the picture back; the keyboard goes to the button that opened the detail."""
        self.next_list.focus_why(self.view_model.state.why)
        self.view_model.explain("")

    def _choose_goal(self, goal: GoalChoice) -> None:
        self.view_model.choose_goal(goal)

    # -- showing ---------------------------------------------------------------------------------------

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.pages.setCurrentIndex(_CONTENT if state.phase == "ready" else _MESSAGE)
        self.message.setText(state.message)
        self.controls.render(state)
        self.menu_button.render(state)
        if state.phase != "ready":
            return
        self.headline.render(state)
        self._render_density(state)
        self._render_plots(state)
        hints = {"map": "odds.hint_map", "curve": "odds.hint_curve", "outcomes": "odds.hint_curve"}
        hints |= {"time": "odds.hint_time"} if not state.no_time else {}
        hint = "" if state.why else hints.get(state.view, "")
        self.readout.setText(state.pointed or (sentence(hint) if hint else ""))
        self.next_list.render(state)

    def _shown(self, state: OddsState) -> QWidget:
        """Return what stands in the place of the picture."""
        if state.why:
            return self.detail
        return self.no_time if state.view == "time" and state.no_time else self._views[state.view]

    def _render_plots(self, state: OddsState) -> None:
        late = state.picture_is_late or state.is_stale
        estimate = state.headline.estimate
        shown = self._shown(state)
        self.plots.setCurrentWidget(shown)
        if state.why:
            self.detail.render(state)
        elif state.view == "curve":
            self.curve.place(state.at)
            self.curve.show_picture(state.curve, show_gates=state.show_gates, late=late, decimal=state.decimal)
            self.curve.show_mark(state.at, estimate, late=state.is_stale)
            _describe(self.curve, f"Curve along {state.axis}", state.curve.sentence if state.curve else "")
        elif state.view == "outcomes":
            self.outcomes.place(state.at)
            self.outcomes.show_picture(state.outcomes, late=late, decimal=state.decimal)
            self.outcomes.show_mark(state.at, estimate, late=state.is_stale)
            said = f"{state.outcomes.sentence} {self.outcomes.said}" if state.outcomes else ""
            _describe(self.outcomes, f"Outcomes along {state.axis}", said)
        elif state.view == "time":
            self.no_time.setText(state.no_time)
            self.time.place(state.at)
            self.time.show_picture(state.time, late=late, decimal=state.decimal)
            self.time.show_mark(state.at, estimate, late=state.is_stale)
            said = state.time.sentence if state.time else state.no_time
            _describe(self.time, f"Time to a clean batch along {state.time_axis}", said)
        elif state.view == "map":
            self.map.show_picture(state.surface, late=late, decimal=state.decimal)
            self.map.show_mark(state.map_at, estimate, late=state.is_stale)
            name = "Map over " + " and ".join(state.map_axes)
            _describe(self.map, name, state.surface.sentence if state.surface else "")
        if isinstance(shown, PicturePlot):
            shown.show_note(state.pointed)

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        for plot in self._plots:
            plot.apply_theme(theme)
        self.next_list.render(self.view_model.state)

    def minimumSizeHint(self) -> QSize:
        """Allow the low form of the pane whatever is shown now."""
        wanted = super().minimumSizeHint()
        return QSize(wanted.width(), min(wanted.height(), _LOWEST))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give the picture the room: fewer lines around it where the pane is low."""
        super().resizeEvent(event)
        self._render_density(self.view_model.state)

    def _render_density(self, state: OddsState) -> None:
        """Take lines away around the picture where the pane is low; details and lists replace next attempts."""
        height = self.height() / max(self.fontMetrics().lineSpacing() / _LINE_PX, 1.0)
        is_brief = height < _BRIEF_HEIGHT
        self.next_list.set_density("brief" if is_brief else "roomy" if height >= _ROOMY_HEIGHT else "normal")
        is_read = (
            state.view not in PICTURES and not state.why
        )  # effects and trust are lists themselves, and need the height
        self.next_list.setVisible(height >= _ROOMY_HEIGHT or not (is_read or (is_brief and state.show_details)))
        self.headline.set_compact(is_brief)
        self.readout.setVisible(not is_brief and state.view in PICTURES)
        for plot in self._plots:
            plot.set_compact(is_brief)


def _describe(plot: PicturePlot, name: str, text: str) -> None:
    plot.setAccessibleName(name)
    plot.setAccessibleDescription(text)
