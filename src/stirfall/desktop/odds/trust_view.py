"""The Trust view: how far the odds can be trusted, and what to look at first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from stirfall.desktop.bench_form.look import heading, rule
from stirfall.desktop.odds.calibration_plot import CalibrationPlot
from stirfall.desktop.odds.scrolled import ScrolledView, wrapped_label
from stirfall.desktop.odds.trust_checks import CheckWidget, PullWidget
from stirfall.desktop.odds.trust_forms import FormsWidget
from stirfall.desktop.odds.trust_state import TrustContent, TrustState
from stirfall.desktop.odds.trust_view_model import TrustViewModel
from stirfall.desktop.theme import SPACING, set_surface_role, set_text_role

if TYPE_CHECKING:
    from stirfall.desktop.theme import Theme
    from stirfall.desktop.workspace import Workspace


class TrustView(ScrolledView):
    """Shows a TrustState and passes wishes on; it decides nothing."""

    def __init__(self, workspace: Workspace, parent: QWidget | None = None) -> None:
        super().__init__("odds_trust", "Trust", parent)
        self._workspace = workspace
        self.view_model = TrustViewModel(workspace, self)
        self.notice = wrapped_label("odds_trust_notice", "muted")
        self.first_look = wrapped_label("odds_trust_first_look")
        self.warning = QFrame()
        self.warning.setObjectName("odds_trust_warning")
        set_surface_role(self.warning, "caution")
        inside = QVBoxLayout(self.warning)
        inside.setContentsMargins(SPACING, SPACING, SPACING, SPACING)
        inside.addWidget(self.first_look)
        self.forms = FormsWidget()
        self.calibration, self.calibration_caption = CalibrationPlot(), wrapped_label("odds_trust_caption", "muted")
        self.checks: list[CheckWidget] = []
        self.pulls: list[PullWidget] = []
        self.pulls_note = wrapped_label("odds_trust_pulls_note", "muted")
        self._arrange()
        self._connect()
        self.follow(self.view_model, workspace)

    def _arrange(self) -> None:
        self._check_column, self._pull_column = QVBoxLayout(), QVBoxLayout()
        self._check_column.setSpacing(0)
        self._pull_column.setSpacing(SPACING // 2)
        self.column.addWidget(self.notice)
        self.column.addWidget(self.warning)
        self._add_heading("Forms of the model")
        self.column.addWidget(self.forms)
        self.column.addWidget(rule())
        self._add_heading("Checks")
        self.column.addLayout(self._check_column)
        self.column.addWidget(self.calibration)
        self.column.addWidget(self.calibration_caption)
        self.column.addWidget(rule())
        self._add_heading("Attempts that pull the fit")
        self.column.addWidget(self.pulls_note)
        self.column.addLayout(self._pull_column)
        self.column.addStretch(1)

    def _add_heading(self, text: str) -> None:
        self.column.addWidget(heading(text))

    def _connect(self) -> None:
        model = self.view_model
        self.forms.pinned.connect(model.pin_form)
        self.forms.details_toggled.connect(model.toggle_form_details)

    def render(self, state: TrustState) -> None:  # type: ignore[override]
        """Show a state; showing it twice changes nothing."""
        content, stale, theme = state.content, state.is_stale, self._workspace.theme
        self.show_message(content.message)
        if content.message:
            return
        self.notice.setText(state.notice)
        self.notice.setVisible(bool(state.notice))
        self.first_look.setText(content.first_look)
        set_text_role(self.first_look, "muted" if stale else "")
        self.warning.setVisible(bool(content.first_look))
        self.forms.render(content.forms, theme=theme, is_stale=stale, show_details=state.show_form_details)
        self._render_checks(state, theme)
        self._render_pulls(content, is_stale=stale)
        self.describe(content.first_look or content.forms.note)

    def _render_checks(self, state: TrustState, theme: Theme) -> None:
        content, stale = state.content, state.is_stale
        while len(self.checks) < len(content.checks):
            check = CheckWidget(len(self.checks))
            check.toggled.connect(self.view_model.toggle_check)
            self.checks.append(check)
            self._check_column.addWidget(check)
        for index, widget in enumerate(self.checks):
            there = index < len(content.checks)
            if there:
                line = content.checks[index]
                widget.render(line, theme=theme, is_stale=stale, is_open=line.key in state.opened)
            widget.setVisible(there)
        picture = content.calibration
        self.calibration.show_picture(picture, theme=theme, is_stale=stale)
        self.calibration.setVisible(bool(picture.points))
        self.calibration_caption.setText(picture.caption)
        self.calibration_caption.setVisible(bool(picture.points))

    def _render_pulls(self, content: TrustContent, *, is_stale: bool) -> None:
        while len(self.pulls) < len(content.pulls):
            pull = PullWidget(len(self.pulls))
            pull.chosen.connect(self.view_model.show_attempt)
            self.pulls.append(pull)
            self._pull_column.addWidget(pull)
        for index, widget in enumerate(self.pulls):
            there = index < len(content.pulls)
            if there:
                widget.render(content.pulls[index], is_stale=is_stale)
            widget.setVisible(there)
        self.pulls_note.setText(content.pulls_note)
        self.pulls_note.setVisible(bool(content.pulls_note))
