"""The button that fills the form: as the last attempt, or with the campaign's usual values."""

from __future__ import annotations

from PySide6.QtWidgets import QMenu, QPushButton

from stirfall.desktop.bench_form.form import last_attempt
from stirfall.desktop.bench_form.look import TARGET
from stirfall.desktop.bench_form.usual import fill_usual, keep_usual
from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.labelled import name_control


class FillIn(QPushButton):
    """Three acts in a menu; Ctrl+L does the first without it."""

    def __init__(self, model: BenchFormModel) -> None:
        super().__init__("Fill in…")
        self._model = model
        self.setObjectName("fill_in")
        self.setMinimumHeight(TARGET)
        self.setAutoDefault(False)
        name_control(self, "Fill in the form", "As the last attempt (Ctrl+L), or with the campaign's usual values")
        menu = QMenu(self)
        self.as_last = menu.addAction("As the &last attempt\tCtrl+L")
        self.as_usual = menu.addAction("With the &usual values")
        menu.addSeparator()
        self.keep = menu.addAction("&Keep these values as the campaign's usual ones")
        self.as_last.triggered.connect(lambda: model.repeat_last(""))
        self.as_usual.triggered.connect(self._fill)
        self.keep.triggered.connect(self._keep)
        menu.aboutToShow.connect(self._enable)
        self.setMenu(menu)

    def _enable(self) -> None:
        document = self._model.workspace.document
        self.as_last.setEnabled(document is not None and last_attempt(document.state) is not None)
        self.as_usual.setEnabled(document is not None)
        self.keep.setEnabled(document is not None and not document.read_only)

    def _fill(self) -> None:
        state = self._model.state
        fill_usual(self._model.workspace, state.jar.id if state is not None and state.jar is not None else None)

    def _keep(self) -> None:
        if self._model.state is not None:
            keep_usual(self._model.workspace, self._model.state.conditions, self._model)
