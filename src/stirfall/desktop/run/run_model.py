"""The guided run without its widgets: intents in, one RunView out, every event written at once."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from stirfall.desktop.bench_form.view_model import BenchFormModel
from stirfall.desktop.workspace import Workspace
from stirfall.session.run_view import RunView

TICK_MS = 200


class RunModel(QObject):
    """Holds the run that is open; ``view`` is what to show, None without one.

    Signals:
        changed(RunView | None): what to show; emitted only when it differs.
        said(str): a sentence about what was just done, or why it was not, for the status line of the page.
        opened(): a run began or was taken up again: the run page shall come to the front.
        closed(): the run is over: the page gives the window back.
    """

    changed = Signal(object)
    said = Signal(str)
    opened = Signal()
    closed = Signal()

    def __init__(self, workspace: Workspace, form: BenchFormModel, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.form = form
        self.view: RunView | None = None

    def begin(self, jar: str = "") -> bool:
        """Begin a run of what the bench form holds, with ``jar`` picked first where one is named."""
        raise NotImplementedError

    def next(self) -> bool:
        """Go on to the next step, unless something blocks it (then that is said)."""
        raise NotImplementedError

    def back(self) -> bool:
        """Go back to the step before, whose timer runs on as it was."""
        raise NotImplementedError

    def mark(self, word: str | None = None) -> bool:
        """Mark what was seen: ``word`` is one of ``MARKS``, None takes the one that comes next."""
        raise NotImplementedError

    def read_temperature(self, text: str) -> bool:
        """Note a thermometer reading as typed; a bare number is in °C."""
        raise NotImplementedError

    def grade(self, grade: int) -> bool:
        """Grade the result, 1 nothing parted to 4 clean pool; in the closing list: choose the answer of a line."""
        raise NotImplementedError

    def tick(self, key: str, text: str = "") -> bool:
        """Tick a line of the closing list, with the answer chosen where it has options."""
        raise NotImplementedError

    def answer(self, key: str, text: str) -> bool:
        """Answer a question after a break."""
        raise NotImplementedError

    def add_note(self, text: str) -> bool:
        """Write words into the run."""
        raise NotImplementedError

    def give_up(self, reason: str, *, record: bool = True) -> bool:
        """Break the run off: an aborted attempt is recorded if wanted, then the closing list is worked through."""
        raise NotImplementedError

    def lift_without_thermometer(self) -> bool:
        """Say that there is no thermometer and that the cautious choice of ``view.may_lift_without`` holds."""
        raise NotImplementedError

    def record(self) -> bool:
        """Record the attempt with the numbers of the form; the step "weigh" does so by itself when it is left."""
        raise NotImplementedError

    def act(self, key: str) -> bool:
        """Do an act by its key: NEXT, MARK, BACK, G1 to G4, DONE (a foot switch, a scanned card)."""
        raise NotImplementedError

    def leave(self) -> None:
        """Write that the program is closed in good order; called before the document closes."""
        raise NotImplementedError
