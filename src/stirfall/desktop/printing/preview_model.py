"""What a printing dialog shows and does: the job, its pages as pictures, saving as PDF and printing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from stirfall.bench.estimates import Reason
from stirfall.desktop.notifier import Notice
from stirfall.desktop.printing.jobs import PrintJob, picture, print_on, write_pdf
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

    from stirfall.desktop.workspace import Workspace

_SLOT, _PRINTERS_SLOT = "print preview", "printers"


@dataclass(frozen=True)
class PreviewState:
    """A print job and what is seen of it: ``page`` counts from 0, ``image`` is None until it is drawn.

    ``problem`` says why there is no job. ``printers`` is None until it is known whether any is set up.
    """

    job: PrintJob | None = None
    page: int = 0
    image: QImage | None = None
    problem: Reason | None = None
    printers: bool | None = None

    @property
    def count(self) -> int:
        """The number of pages."""
        return 0 if self.job is None else len(self.job.pages)


class PreviewModel(QObject):
    """Keeps a job and draws the page that is looked at, off the window's thread.

    Signals:
        changed(PreviewState)
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = PreviewState()
        self._dots_per_mm = 0.0

    def find_printers(self, names: Callable[[], object]) -> None:
        """Ask, off the window's thread, whether a printer is set up."""
        self.workspace.submit(
            lambda _token: bool(names()), self._know_printers, lambda _error: None, slot=_PRINTERS_SLOT
        )

    def set_job(self, job: PrintJob | None, problem: Reason | None = None) -> None:
        """Show another job, on the page looked at where it still exists."""
        count = 0 if job is None else len(job.pages)
        page = min(self.state.page, max(count - 1, 0))
        self._take(
            replace(self.state, job=job, problem=problem, page=page, image=self.state.image if job else None)
        )
        self._draw()

    def turn(self, steps: int) -> None:
        """Look at a page before or after this one."""
        page = min(max(self.state.page + steps, 0), max(self.state.count - 1, 0))
        if page != self.state.page:
            self._take(replace(self.state, page=page))
            self._draw()

    def set_resolution(self, dots_per_mm: float) -> None:
        """Draw the page so fine that it is sharp at the size at which it is shown."""
        if dots_per_mm > 0 and abs(dots_per_mm - self._dots_per_mm) > 0.01 * self._dots_per_mm:
            self._dots_per_mm = dots_per_mm
            self._draw()

    def save(self, path: str) -> None:
        """Write the job as PDF, off the window's thread."""
        job, workspace = self.state.job, self.workspace
        if job is not None:
            # The dialog may be closed before the file is written, so the word of it belongs to the workspace.
            said = Notice("info", f"Saved {Path(path).name}")
            workspace.submit(lambda _token: write_pdf(job, Path(path)), lambda _placed: workspace.notify(said))

    def print_on(self, printer: QPrinter) -> None:
        """Send the job to a printer."""
        if self.state.job is not None and not print_on(self.state.job, printer):
            self.workspace.notifier.warn(sentence("printing.printer_refused", {"name": printer.printerName()}))

    def leave(self) -> None:
        """Drop what is still being drawn: the dialog closes."""
        for slot in (_SLOT, _PRINTERS_SLOT):
            self.workspace.submit(lambda _token: None, lambda _nothing: None, slot=slot)

    def _draw(self) -> None:
        job, page, dots = self.state.job, self.state.page, self._dots_per_mm
        if job is None or not job.pages or dots <= 0:
            return
        self.workspace.submit(lambda _token: picture(job, page, dots), self._take_image, slot=_SLOT)

    def _take_image(self, image: QImage) -> None:
        self._take(replace(self.state, image=image))

    def _know_printers(self, any_there: bool) -> None:
        self._take(replace(self.state, printers=any_there))

    def _take(self, state: PreviewState) -> None:
        self.state = state
        self.changed.emit(state)
