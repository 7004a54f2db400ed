"""While other pages are looked at: one line with the step and its live time, and the way back to the run."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout

from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.look import GAP, SMALL, RunLabel
from stirfall.desktop.run.shapes import Shape, ShapeSign
from stirfall.desktop.run.timer_part import StepTime, clock_face
from stirfall.desktop.run.words import step_name
from stirfall.desktop.theme import Theme, set_surface_role
from stirfall.session.run_shown import RunView


class RunStrip(QFrame):
    """Stands above the pages as long as a run is on and not in front.

    Signals:
        back_wanted(): the run shall come to the front again.
    """

    back_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_strip")
        set_surface_role(self, "raised")
        self.sign = ShapeSign(Shape.NOW, "accent", 24)
        self.late = ShapeSign(Shape.CAUTION, "caution", 28)
        self.danger = ShapeSign(Shape.DANGER, "danger", 32)
        self.text = RunLabel(SMALL, bold=True, name="run_strip_text")
        self.back = BigButton("Back to the run", "run_strip_back", kind="primary")
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * GAP, GAP // 2, 2 * GAP, GAP // 2)
        row.setSpacing(2 * GAP)
        for sign in (self.sign, self.late, self.danger):
            row.addWidget(sign)
        row.addWidget(self.text, 1)
        row.addWidget(self.back)
        self.back.clicked.connect(self.back_wanted)
        self.hide()

    def wear(self, theme: Theme) -> None:
        """Take the colours of a theme."""
        for part in (self.sign, self.late, self.danger, self.text, self.back):
            part.dress(theme)

    def show_view(self, view: RunView | None) -> None:
        """Show the step and its time; only what changed is drawn."""
        if view is None:
            return
        time = StepTime.of(view)
        is_danger = bool(view.dangers)
        for sign, shown in (
            (self.sign, not time.is_due and not is_danger),
            (self.late, time.is_due and not is_danger),
            (self.danger, is_danger),
        ):
            if sign.isHidden() == shown:
                sign.setVisible(shown)
        words = (
            "over the time by" if time.is_due else "still to go" if time.target_s is not None else "in this step"
        )
        danger = "Danger: look at the run. " if is_danger else ""
        self.text.say(f"{danger}The run goes on: {step_name(view.step)}, {clock_face(time.large)} {words}")
