"""The tour itself: walks the real window from step to step, on the open session or on a sample made for it."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, Qt, QTimer, Signal
from PySide6.QtWidgets import QScrollArea, QWidget

from stirfall.bench.errors import StirfallError
from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.tour.card import TourCard
from stirfall.desktop.tour.frame import TourFrame
from stirfall.desktop.tour.steps import STEPS, TOUR, TourStep
from stirfall.desktop.workspace import SIDES
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.desktop.window import MainWindow
    from stirfall.session.clock import Clock
    from stirfall.session.document import Document

SAMPLE = "tin-bismuth-dross"
_AROUND = 8  # pixels that are left above what is pointed at


class Tour(QObject):
    """Points at one control after the other; it writes nothing and can be left at any moment.

    Attributes:
        place: which step is shown, from 0; -1 while the tour is not on.

    Signals:
        left(): the tour is over.
    """

    left = Signal()

    def __init__(self, window: MainWindow, *, clock: Clock | None = None) -> None:
        super().__init__(window)
        self._window, self._workspace, self._clock = window, window.workspace, clock
        self.frame, self.card = TourFrame(window), TourCard(window)
        self.place = -1
        self._folder: Path | None = None
        self._sample: Document | None = None
        self._began: CampaignState | None = None
        self._front = ("", "")
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._settle)
        self.card.next_wanted.connect(self.go_on)
        self.card.back_wanted.connect(self.go_back)
        self.card.leave_wanted.connect(self.leave)
        window.front.currentChanged.connect(self._on_front)
        window.closing.connect(self._end)
        self._workspace.document_opened.connect(self._on_document_opened)
        self._workspace.document_changed.connect(self._on_front)
        self._workspace.analysis_finished.connect(self._on_answer)
        window.installEventFilter(self)

    @property
    def is_on(self) -> bool:
        """Whether a step is shown."""
        return self.place >= 0

    @property
    def may_begin(self) -> bool:
        """Whether it may be offered: never while a run is on."""
        return self._workspace.open_run is None and not self._is_running

    @property
    def _is_running(self) -> bool:
        return self._workspace.document is not None and self._window.is_running

    def start(self) -> bool:
        """Begin with the first step; without a session a sample is made in a temporary place."""
        if self.is_on or not self.may_begin:
            return False
        if self._workspace.document is None and not self._open_sample():
            return False
        self._front = (self._window.page, self._window.side.current)
        self._go_to(0)
        self.card.next.setFocus(Qt.FocusReason.OtherFocusReason)
        return True

    def _open_sample(self) -> bool:
        from stirfall.session.samples import open_sample

        self._folder = Path(tempfile.mkdtemp(prefix="stirfall-tour-"))
        try:
            document = open_sample(SAMPLE, self._folder / "tour.stirfall", clock=self._clock)
        except (StirfallError, OSError) as error:
            self._workspace.notifier.fail(error)
            self._drop_folder()
            return False
        self._sample, self._began = document, document.state
        self._workspace.open_document(document)
        return True

    # -- from step to step -------------------------------------------------------------------------------

    def go_on(self) -> None:
        """Show the next step; after the last one the tour is over."""
        if self.place + 1 < len(TOUR):
            self._go_to(self.place + 1)
        else:
            self.leave()

    def go_back(self) -> None:
        """Show the step before."""
        if self.place > 0:
            self._go_to(self.place - 1)

    def _go_to(self, place: int) -> None:
        self.place = place
        step = TOUR[place]
        if step.place in SIDES:
            self._workspace.show_side(step.place)
        else:
            self._workspace.show_page(step.place)
        self.card.show_step(step, place + 1, len(TOUR), self._notice())
        self.card.show()
        self._point()

    def _point(self) -> None:
        target = self._target(TOUR[self.place])
        _bring_into_view(target)
        self.frame.point_at(target)
        self._settle()
        self._soon.start(0)  # once more when the page has been laid out

    def _target(self, step: TourStep) -> QWidget:
        if STEPS in step.targets:
            return self._window.step_bar
        parts = self._window.parts
        page = parts.odds if step.place in SIDES else parts.pages[step.place]
        found = (page.findChild(QWidget, name) for name in step.targets)
        return next((each for each in found if each is not None and each.isVisibleTo(self._window)), page)

    def _notice(self) -> str:
        document = self._workspace.document
        if document is not None and document.state.settings.invented:
            return f"{INVENTED_NOTICE}. {sentence('tour.changes_nothing')}"
        return sentence("tour.changes_nothing")

    def _settle(self) -> None:
        if self.is_on:
            self.frame.place()
            self.card.settle((self.frame.around, *self._kept_free()))

    def _kept_free(self) -> Iterator[QRect]:
        """Yield where alarms and cautions stand: the card hides them only where it cannot do otherwise."""
        cautions = self._window.parts.pages["bench"].findChild(QWidget, "cautions")
        for part in (self._window.alarm_strip, cautions):
            if part is not None and part.isVisibleTo(self._window):
                yield QRect(part.mapTo(self._window, QPoint(0, 0)), part.size())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Stay in place when the window changes its size."""
        if self.is_on and event.type() == QEvent.Type.Resize:
            self._soon.start(0)
        return super().eventFilter(watched, event)

    # -- the end -----------------------------------------------------------------------------------------

    def leave(self) -> None:
        """End the tour: what stood in front comes back; a sample that was made for it is closed and removed.

        A sample in which something was recorded meanwhile stays open, and it is said how to keep it.
        """
        if not self.is_on:
            return
        document = self._workspace.document
        self._end()
        if document is not None and document is self._sample:
            if document.state is self._began:
                self._workspace.close_document()
            else:
                self._workspace.notifier.info(sentence("tour.sample_kept"))
        elif document is not None:
            page, side = self._front
            self._workspace.show_side(side)
            self._workspace.show_page(page)
        self.left.emit()

    def _end(self) -> None:
        self.place = -1
        self.frame.point_at(None)
        self.card.hide()

    def _on_answer(self, _analysis: object) -> None:
        """What is pointed at may have come with the odds."""
        if self.is_on:
            self._point()

    def _on_front(self, _change: object) -> None:
        """A run that begins ends the tour at once; nothing stands over it."""
        if self.is_on and not self.may_begin:
            self._end()
            self.left.emit()

    def _on_document_opened(self) -> None:
        """Another session, or none, ends the tour of this one; an untouched sample goes with it."""
        if self._sample is not None and self._workspace.document is self._sample:
            return
        if self.is_on:
            self._end()
            self.left.emit()
        if self._sample is not None and self._sample.state is self._began:
            self._drop_folder()
        self._sample = self._folder = None

    def _drop_folder(self) -> None:
        if self._folder is not None:
            shutil.rmtree(self._folder, ignore_errors=True)
            self._folder = None


def _bring_into_view(target: QWidget) -> None:
    """Scroll the areas around a widget so that it can be seen."""
    walker = target.parentWidget()
    while walker is not None:
        inner = walker.widget() if isinstance(walker, QScrollArea) else None
        if isinstance(walker, QScrollArea) and inner is not None and inner.isAncestorOf(target):
            walker.ensureWidgetVisible(target, 0, 0)
            top = target.mapTo(inner, QPoint(0, 0)).y()
            if target.height() > walker.viewport().height() - _AROUND:  # of a tall one the upper part
                walker.verticalScrollBar().setValue(top - _AROUND)
        walker = walker.parentWidget()
