"""The row above the picture: which view, along which factors, and what can be done with it."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QSignalBlocker, QSize, Signal
from PySide6.QtGui import QResizeEvent, QStandardItemModel
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QToolButton,
    QWidget,
)

from stirfall.desktop.bench_form.look import guard_from_wheel
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.odds.state import ALONG, PICTURES, OddsState, View
from stirfall.desktop.theme import SPACING, set_button_role

VIEWS: tuple[tuple[View, str, str], ...] = (
    ("curve", "Curve", "Probability along one factor"),
    ("map", "Map", "Probability over two factors"),
    ("outcomes", "Outcomes", "What comes out along one factor: not parted, beads, clean"),
    ("time", "Time", "Time to a clean batch against the age of the jars"),
    ("effects", "Effects", "What each factor does to the odds"),
    ("trust", "Trust", "How far the odds can be trusted, and what to look at"),
)
_FULL, _SHORT, _TIGHT = 0, 1, 2
_LEAST_WIDTH = 320
_SPACINGS = (SPACING, SPACING // 2, SPACING)
_PICTURE, _MORE = "Picture", "⋯"
_WORDS: tuple[dict[str, str], ...] = (
    {"axis": "A&long", "across": "A&cross", "upward": "U&p", "gates": "Both &gates", "letters": "M" * 7},
    {"axis": "", "across": "↔", "upward": "↕", "gates": "&Gates", "letters": "M" * 3},
)
"""The words of each length; ``letters`` is how much of a factor's name shows at least."""


class PictureControls(QWidget):
    """Shows which view is in front and along what; it takes shorter words where there is little room.

    Signals:
        view_chosen(str), axis_chosen(str), across_chosen(str), upward_chosen(str), gates_toggled(bool).
    """

    view_chosen = Signal(str)
    axis_chosen = Signal(str)
    across_chosen = Signal(str)
    upward_chosen = Signal(str)
    gates_toggled = Signal(bool)
    _is_built = False

    def __init__(self, menu_button: QToolButton, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._menu_button = menu_button
        self._view: View = "curve"
        self._worded: tuple[int, View] | None = None
        self._make_views()
        self._make_axes()
        self._arrange()
        self._connect()
        self._is_built = True
        self._fit()

    # -- building --------------------------------------------------------------------------------------

    def _make_views(self) -> None:
        self.view_buttons: dict[View, QPushButton] = {}
        group = QButtonGroup(self)
        self.views = QComboBox()
        self.views.setObjectName("odds_views")
        guard_from_wheel(self.views)
        name_control(self.views, "View", "Which view of the odds is shown")
        for view, text, about in VIEWS:
            button = QPushButton(text)
            button.setObjectName(f"odds_view_{view}")
            button.setCheckable(True)
            set_button_role(button, "segment")
            name_control(button, f"Show {text}", about)
            group.addButton(button)
            self.view_buttons[view] = button
            self.views.addItem(text, view)

    def _make_axes(self) -> None:
        self.axis = _combo("odds_axis")
        self.axis_label = labelled("A&long", self.axis, description="The factor along the axis")
        self.across = _combo("odds_across")
        self.across_label = labelled(
            "A&cross", self.across, description="The factor along the lower axis of the map"
        )
        self.upward = _combo("odds_upward")
        self.upward_label = labelled("U&p", self.upward, description="The factor along the left axis of the map")
        self.gates = QCheckBox()
        self.gates.setObjectName("odds_gates_shown")
        name_control(self.gates, "Both gates", "Thin lines for parted, and for pooled if parted")

    def _arrange(self) -> None:
        self._row = row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(SPACING)
        row.setSizeConstraint(QHBoxLayout.SizeConstraint.SetNoConstraint)  # the words give way instead
        switch = QHBoxLayout()
        switch.setSpacing(0)
        for button in self.view_buttons.values():
            switch.addWidget(button)
        row.addLayout(switch)
        row.addWidget(self.views)
        for label, combo in (
            (self.axis_label, self.axis),
            (self.across_label, self.across),
            (self.upward_label, self.upward),
        ):
            row.addWidget(label)
            row.addWidget(combo, 1)
        row.addWidget(self.gates)
        row.addStretch(0)
        row.addWidget(self._menu_button)

    def _connect(self) -> None:
        for view, button in self.view_buttons.items():
            button.clicked.connect(lambda _checked=False, view=view: self.view_chosen.emit(view))
        self.views.activated.connect(lambda index: self.view_chosen.emit(self.views.itemData(index)))
        self.axis.textActivated.connect(self.axis_chosen)
        self.across.textActivated.connect(self.across_chosen)
        self.upward.textActivated.connect(self.upward_chosen)
        self.gates.clicked.connect(self.gates_toggled)

    # -- showing ---------------------------------------------------------------------------------------

    def render(self, state: OddsState) -> None:  # type: ignore[override]
        """Show a state."""
        missing: dict[View, str] = {} if state.map_choices else {"map": "The map needs two factors with numbers."}
        if state.no_outcomes:
            missing["outcomes"] = state.no_outcomes
        model = self.views.model()
        for place, (view, _text, about) in enumerate(VIEWS):
            button = self.view_buttons[view]
            with QSignalBlocker(button):
                button.setChecked(view == state.view)
            button.setEnabled(view not in missing)
            button.setToolTip(missing.get(view, about))
            button.setAccessibleDescription(missing.get(view, about))
            if isinstance(model, QStandardItemModel):
                model.item(place).setEnabled(view not in missing)
        with QSignalBlocker(self.views):
            self.views.setCurrentIndex(self.views.findData(state.view))
        _fill(self.axis, state.along_choices, state.along)
        _fill(self.across, state.map_choices, state.map_axes[0])
        _fill(self.upward, state.map_choices, state.map_axes[1])
        with QSignalBlocker(self.gates):
            self.gates.setChecked(state.show_gates)
        self.gates.setEnabled(state.can_show_gates)
        if state.view != self._view:
            self._view = state.view
            self._fit()

    def _fit(self) -> None:
        """Take the longest words for which there is room."""
        fitting = [wording for wording in (_FULL, _SHORT) if self._needed(wording) <= self.width()]
        wanted = (fitting[0] if fitting else _TIGHT, self._view)
        if wanted != self._worded:
            self._worded = wanted
            self._word(wanted[0])

    def _needed(self, wording: int) -> int:
        """Return the width that the row needs in these words."""
        words = _WORDS[wording]
        parts = [sum(button.minimumSizeHint().width() for button in self.view_buttons.values())]
        if self._view in ALONG:
            parts += [_width(self.axis_label, words["axis"]), _combo_width(self.axis, words["letters"])]
        if self._view == "map":
            for label, name, combo in (
                (self.across_label, "across", self.across),
                (self.upward_label, "upward", self.upward),
            ):
                parts += [_width(label, words[name]), _combo_width(combo, words["letters"])]
        if self._view == "curve":
            parts.append(_width(self.gates, words["gates"]))
        if self._view in PICTURES:
            parts.append(self._menu_button.sizeHint().width())
        parts = [part for part in parts if part]
        return sum(parts) + _SPACINGS[wording] * (len(parts) - 1)

    def _word(self, wording: int) -> None:
        is_along, on_map = self._view in ALONG, self._view == "map"
        words = _WORDS[min(wording, _SHORT)]
        self._row.setSpacing(_SPACINGS[wording])
        for button in self.view_buttons.values():
            button.setVisible(wording < _TIGHT)
        self.views.setVisible(wording == _TIGHT)
        self.axis_label.setVisible(is_along and bool(words["axis"]))
        self.axis.setVisible(is_along)
        for label, name in ((self.across_label, "across"), (self.upward_label, "upward")):
            label.setText(words[name])
            label.setVisible(on_map)
        self.across.setVisible(on_map)
        self.upward.setVisible(on_map)
        self.gates.setText(words["gates"])
        self.gates.setVisible(self._view == "curve")
        self._menu_button.setVisible(self._view in PICTURES)
        self._menu_button.setText(_MORE if on_map and wording == _SHORT else _PICTURE)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the words to the new width."""
        super().resizeEvent(event)
        self._fit()

    def event(self, event: QEvent) -> bool:
        """Fit the words where a part asks for another size, as with another font or style."""
        if self._is_built and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
        return super().event(event)

    def minimumSizeHint(self) -> QSize:
        """Ask for little: the words give way."""
        return QSize(_LEAST_WIDTH, super().minimumSizeHint().height())


def _width(widget: QLabel | QCheckBox, text: str) -> int:
    """Return the width of a label or a box if it had this text, 0 for no text."""
    if not text:
        return 0
    metrics = widget.fontMetrics()
    now, then = (metrics.horizontalAdvance(words.replace("&", "")) for words in (widget.text(), text))
    return widget.sizeHint().width() - now + then


def _combo_width(combo: QComboBox, letters: str) -> int:
    """Return the least width of a selector if it showed so many letters."""
    width = combo.fontMetrics().horizontalAdvance("X")
    return combo.sizeHint().width() + width * (len(letters) - combo.minimumContentsLength())


def _combo(name: str) -> QComboBox:
    combo = QComboBox()
    combo.setObjectName(name)
    guard_from_wheel(combo)
    combo.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    combo.setMinimumContentsLength(len(_WORDS[_SHORT]["letters"]))
    return combo


def _fill(combo: QComboBox, choices: tuple[str, ...], chosen: str) -> None:
    with QSignalBlocker(combo):
        if tuple(combo.itemText(index) for index in range(combo.count())) != choices:
            combo.clear()
            combo.addItems(list(choices))
        combo.setCurrentIndex(combo.findText(chosen))
