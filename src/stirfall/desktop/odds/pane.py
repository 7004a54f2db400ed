"""The odds pane: the answer for the conditions in hand, its picture, and the next attempts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, QSize, Qt
from PySide6.QtGui import QAction, QFontMetrics, QGuiApplication, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSizePolicy,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.curve_plot import CurvePlot
from stirfall.desktop.odds.headline_view import HeadlineView
from stirfall.desktop.odds.map_plot import MapPlot
from stirfall.desktop.odds.next_list import NextList
from stirfall.desktop.odds.picture_plot import PicturePlot
from stirfall.desktop.odds.state import GoalChoice, OddsState
from stirfall.desktop.odds.table_dialog import TableDialog
from stirfall.desktop.odds.view_model import OddsViewModel
from stirfall.desktop.save_dialog import ask_where
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
        self.next_list = NextList()
        self.readout = ElidedLabel()
        self.readout.setObjectName("odds_readout")
        set_text_role(self.readout, "muted")
        self._make_controls()
        self._make_menu()
        self._arrange()
        self._connect()
        self.render(self.view_model.state)

    # -- building --------------------------------------------------------------------------------------

    def _make_controls(self) -> None:
        self.view_buttons = {"curve": QPushButton("Curve"), "map": QPushButton("Map")}
        self._view_group = QButtonGroup(self)
        for view, button in self.view_buttons.items():
            button.setObjectName(f"odds_view_{view}")
            button.setCheckable(True)
            self._view_group.addButton(button)
        name_control(self.view_buttons["curve"], "Show the curve", "Probability along one factor")
        name_control(self.view_buttons["map"], "Show the map", "Probability over two factors")
        self.axis = _combo("odds_axis")
        self.axis_label = labelled("A&long", self.axis, description="The factor along the axis")
        self.across = _combo("odds_across")
        self.across_label = labelled(
            "A&cross", self.across, description="The factor along the lower axis of the map"
        )
        self.upward = _combo("odds_upward")
        self.upward_label = labelled("U&p", self.upward, description="The factor along the left axis of the map")
        for widget in (self.across_label, self.across, self.upward_label, self.upward):
            widget.hide()  # before the first layout, which would otherwise ask for the width of both views
        self.gates = QCheckBox("Both &gates")
        self.gates.setObjectName("odds_gates_shown")
        name_control(self.gates, "Both gates", "Thin lines for parted, and for pooled if parted")

    def _make_menu(self) -> None:
        self.menu_button = QToolButton()
        self.menu_button.setObjectName("odds_picture_menu")
        self.menu_button.setText("Picture")
        self.menu_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        name_control(self.menu_button, "Picture", "Show as table, copy or save the picture")
        menu = QMenu(self.menu_button)
        self.actions_by_name: dict[str, QAction] = {}
        for name, text, act in (
            ("table", "Show as &table", self.show_table),
            ("copy", "&Copy picture", self.copy_picture),
            ("png", "Save as &PNG", lambda: self._ask_where("png")),
            ("svg", "Save as &SVG", lambda: self._ask_where("svg")),
            ("csv", "Save numbers as CS&V", lambda: self._ask_where("csv")),
        ):
            action = menu.addAction(text)
            action.setObjectName(f"odds_{name}")
            action.triggered.connect(act)
            self.actions_by_name[name] = action
        self.menu_button.setMenu(menu)

    def _arrange(self) -> None:
        controls = QHBoxLayout()
        controls.setSpacing(SPACING)
        switch = QHBoxLayout()
        switch.setSpacing(0)
        for button in self.view_buttons.values():
            switch.addWidget(button)
        controls.addLayout(switch)
        for label, combo in (
            (self.axis_label, self.axis),
            (self.across_label, self.across),
            (self.upward_label, self.upward),
        ):
            controls.addWidget(label)
            controls.addWidget(combo, 1)
        controls.addWidget(self.gates)
        controls.addStretch(0)
        controls.addWidget(self.menu_button)
        self.plots = QStackedWidget()
        self.plots.addWidget(self.curve)
        self.plots.addWidget(self.map)
        content = QWidget()
        column = QVBoxLayout(content)
        column.setContentsMargins(2 * SPACING, SPACING, 2 * SPACING, SPACING)
        column.setSpacing(SPACING)
        column.addWidget(self.headline)
        column.addLayout(controls)
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
        self.view_buttons["curve"].clicked.connect(lambda: model.choose_view("curve"))
        self.view_buttons["map"].clicked.connect(lambda: model.choose_view("map"))
        self.axis.textActivated.connect(model.choose_axis)
        self.across.textActivated.connect(lambda name: model.choose_map_axes(name, model.state.map_axes[1]))
        self.upward.textActivated.connect(lambda name: model.choose_map_axes(model.state.map_axes[0], name))
        self.gates.clicked.connect(model.toggle_gates)
        for plot in (self.curve, self.map):
            plot.moved.connect(model.move_to)
            plot.stepped.connect(model.step)
            plot.attempt_chosen.connect(model.choose_attempt)
            plot.pointed.connect(model.point_at)
        self.next_list.goal_chosen.connect(self._choose_goal)
        self.next_list.looked_at.connect(model.look_at_suggestion)
        self.next_list.taken.connect(model.take_suggestion)

    def _choose_goal(self, goal: GoalChoice) -> None:
        self.view_model.choose_goal(goal)

    # -- showing ---------------------------------------------------------------------------------------

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        self.pages.setCurrentIndex(_CONTENT if state.phase == "ready" else _MESSAGE)
        self.message.setText(state.message)
        self._render_controls(state)
        if state.phase != "ready":
            return
        self.headline.render(state.headline, show_details=state.show_details, is_stale=state.is_stale)
        self._render_density(state)
        self._render_plots(state)
        hint = "" if state.pointed else sentence("odds.hint_map" if state.view == "map" else "odds.hint_curve")
        self.readout.setText(state.pointed or hint)
        plot: PicturePlot = self.map if state.view == "map" else self.curve
        plot.show_note(state.pointed)
        self.next_list.render(state)

    def _render_controls(self, state: OddsState) -> None:
        on_map = state.view == "map"
        for view, button in self.view_buttons.items():
            with QSignalBlocker(button):
                button.setChecked(view == state.view)
        self.view_buttons["map"].setEnabled(bool(state.map_choices))
        _fill(self.axis, state.axis_choices, state.axis)
        _fill(self.across, state.map_choices, state.map_axes[0])
        _fill(self.upward, state.map_choices, state.map_axes[1])
        for widget in (self.axis_label, self.axis, self.gates):
            widget.setVisible(not on_map)
        for widget in (self.across_label, self.across, self.upward_label, self.upward):
            widget.setVisible(on_map)
        with QSignalBlocker(self.gates):
            self.gates.setChecked(state.show_gates)
        self.gates.setEnabled(state.can_show_gates)
        has_picture = (state.surface if on_map else state.curve) is not None
        for action in self.actions_by_name.values():
            action.setEnabled(has_picture)

    def _render_plots(self, state: OddsState) -> None:
        late = state.picture_is_late or state.is_stale
        estimate = state.headline.estimate
        if state.view == "curve":
            self.plots.setCurrentWidget(self.curve)
            self.curve.place(state.at)
            self.curve.show_picture(state.curve, show_gates=state.show_gates, late=late, decimal=state.decimal)
            self.curve.show_mark(state.at, estimate, late=state.is_stale)
            _describe(self.curve, f"Curve along {state.axis}", state.curve.sentence if state.curve else "")
        else:
            self.plots.setCurrentWidget(self.map)
            self.map.show_picture(state.surface, late=late, decimal=state.decimal)
            self.map.show_mark(state.map_at, estimate, late=state.is_stale)
            name = "Map over " + " and ".join(state.map_axes)
            _describe(self.map, name, state.surface.sentence if state.surface else "")

    def apply_theme(self, theme: Theme) -> None:
        """Recolour everything that exists."""
        self.curve.apply_theme(theme)
        self.map.apply_theme(theme)
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
        """Take lines away around the picture where the pane is low; details then stand in for the next attempts."""
        height = self.height() / max(self.fontMetrics().lineSpacing() / _LINE_PX, 1.0)
        is_brief = height < _BRIEF_HEIGHT
        self.next_list.set_density("brief" if is_brief else "roomy" if height >= _ROOMY_HEIGHT else "normal")
        self.next_list.setVisible(not (is_brief and state.show_details))
        self.headline.set_compact(is_brief)
        self.readout.setVisible(not is_brief)
        self.curve.set_compact(is_brief)
        self.map.set_compact(is_brief)

    # -- the picture as table, copy and file -----------------------------------------------------------

    def show_table(self) -> None:
        """Open the numbers of the picture as a table."""
        from stirfall.desktop.odds.export import table_of

        state = self.view_model.state
        table = table_of(state)
        picture = state.surface if state.view == "map" else state.curve
        if table is None or picture is None:
            return
        dialog = TableDialog(table, f"{picture.sentence} {picture.caption}", self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def copy_picture(self) -> None:
        """Put the picture on the clipboard."""
        from stirfall.desktop.odds.export import picture_image

        QGuiApplication.clipboard().setImage(picture_image(self.view_model.state))
        self._workspace.notify(Notice("info", sentence("odds.copied")))

    def _ask_where(self, kind: str) -> None:
        name = f"odds-{self.view_model.state.view}.{kind}"
        dialog = ask_where(
            self,
            "Save picture",
            document=self._workspace.document,
            name=name,
            file_filter=f"{kind.upper()} (*.{kind})",
            done=lambda path: self.save_picture(Path(path)),
        )
        dialog.setObjectName("odds_save_dialog")

    def save_picture(self, path: Path) -> None:
        """Write the picture in view to ``path`` as its suffix says: .png, .svg or .csv."""
        from stirfall.desktop.odds.export import save_csv, save_png, save_svg

        writers: dict[str, Callable[[OddsState, Path], None]] = {
            ".png": save_png,
            ".svg": save_svg,
            ".csv": save_csv,
        }
        try:
            writers[path.suffix.lower()](self.view_model.state, path)
        except OSError as error:
            reason = error.strerror or str(error)
            self._workspace.notify(
                Notice("error", sentence("odds.file_failed", {"name": path.name, "reason": reason}))
            )
            return
        self._workspace.notify(Notice("info", sentence("odds.file_saved", {"name": path.name})))


class ElidedLabel(QLabel):
    """One line that ends in an ellipsis where it does not fit; the whole text is its tooltip."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)

    def setText(self, text: str) -> None:
        """Show a text."""
        super().setText(text)
        self.setToolTip(text)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw what fits."""
        del event
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        shown = QFontMetrics(self.font()).elidedText(self.text(), Qt.TextElideMode.ElideRight, self.width())
        painter.drawText(self.rect(), int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter), shown)
        painter.end()


def _combo(name: str) -> QComboBox:
    combo = QComboBox()
    combo.setObjectName(name)
    combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    combo.setMinimumContentsLength(7)
    return combo


def _fill(combo: QComboBox, choices: tuple[str, ...], chosen: str) -> None:
    with QSignalBlocker(combo):
        if tuple(combo.itemText(index) for index in range(combo.count())) != choices:
            combo.clear()
            combo.addItems(list(choices))
        combo.setCurrentIndex(combo.findText(chosen))


def _describe(plot: PicturePlot, name: str, text: str) -> None:
    plot.setAccessibleName(name)
    plot.setAccessibleDescription(text)
