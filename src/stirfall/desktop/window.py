"""The main window: head, steps of the job, pages at the left, odds, melt or film at the right, messages below."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QScrollArea, QStackedWidget, QStyle, QVBoxLayout, QWidget

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.alarms.strip import AlarmStrip
from stirfall.desktop.focus_ring import FocusRing
from stirfall.desktop.header import Header
from stirfall.desktop.message_strip import MessageStrip
from stirfall.desktop.package_flows import is_package
from stirfall.desktop.physics.right_side import PanelMaker, RightSide
from stirfall.desktop.step_bar import StepBar
from stirfall.desktop.theme import SPACING
from stirfall.desktop.two_sides import TwoSides
from stirfall.desktop.workspace import PAGES
from stirfall.storage.import_cells import TABLE_SUFFIXES

if TYPE_CHECKING:
    from stirfall.desktop.first_run import FirstRun
    from stirfall.desktop.run.page import RunPage
    from stirfall.desktop.theme import Theme
    from stirfall.desktop.workspace import Workspace

BUSY_SHOWS_AFTER_MS = 500
LOW = 800
"""Below this height, in pixels, the head goes beside the menus."""
_AROUND_A_TITLE = 26  # pixels around the title of a menu, both sides
SMALLEST = QSize(760, 600)
_FRAME = QSize(8, 40)  # what a window manager puts around a window; its size is not told before the window is there
_SUFFIX = ".stirfall"
_ODDS_LETTERS, _ODDS_LINES = 66, 34  # what the odds pane needs, in the measure of its text
_WORK_LINES = 40  # what the bench form needs to be of use without much scrolling


@dataclass(frozen=True)
class WindowParts:
    """The widgets that the window arranges: a page per step, the odds, and the first-run page.

    ``panels`` makes what else can stand at the right side, by name, when it is first shown. ``run`` is the guided
    run, which takes the place of the pages while it is on.
    """

    pages: dict[str, QWidget]
    odds: QWidget
    first_run: FirstRun
    panels: dict[str, PanelMaker] = field(default_factory=dict)
    run: RunPage | None = None


class MainWindow(QMainWindow):
    """Arranges the parts and shows what the workspace says; it decides nothing about the campaign.

    Signals:
        file_dropped(str): a session file or a Data Package was dropped on the window.
        page_shown(str): the name of the page that is in front now.
        closing(): the window is about to go.
    """

    file_dropped = Signal(str)
    page_shown = Signal(str)
    closing = Signal()

    def __init__(self, workspace: Workspace, parts: WindowParts, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("main_window")
        self.workspace = workspace
        self.parts = parts
        self.header = Header()
        self.step_bar = StepBar(workspace.theme)
        self.strip = MessageStrip()
        self.alarm_strip = AlarmStrip()
        self.pages = QStackedWidget()
        self.front = QStackedWidget()
        self.work_area = QWidget()
        self._busy = QTimer(self)
        self._busy.setSingleShot(True)
        self._busy.setInterval(BUSY_SHOWS_AFTER_MS)
        self._busy.timeout.connect(self._show_busy)
        self._odds_frame: FittingScroll | None = None
        self._arrange()
        self._fit_odds()
        self.ring = FocusRing(self)
        self._connect()
        self.setAcceptDrops(True)
        self.setMinimumSize(SMALLEST)
        self.show_page("bench")
        self._show_document()

    # -- layout ------------------------------------------------------------------------------------

    def _arrange(self) -> None:
        """Lay everything out from the outside to the inside, in the order of Tab.

        A part that moves to another parent is polished anew with all that is in it, so each part moves once.
        """
        whole = QWidget()
        self.setCentralWidget(whole)
        body = QVBoxLayout(whole)
        body.setContentsMargins(0, 0, 0, 0)
        body.setSpacing(0)
        body.addWidget(self.header)
        body.addWidget(self.alarm_strip)
        if self.parts.run is not None:
            body.addWidget(self.parts.run.strip)
        body.addWidget(self.front, 1)
        self.front.addWidget(self.parts.first_run)
        self.front.addWidget(self.work_area)
        self._arrange_work()
        if self.parts.run is not None:
            self.front.addWidget(self.parts.run)
        body.addWidget(self.strip)
        self._body = body

    def _arrange_work(self) -> None:
        self._above = QVBoxLayout(self.work_area)
        self._above.setContentsMargins(0, 0, 0, 0)
        self._above.setSpacing(SPACING // 2)
        left, self._work_frame, self._odds_frame = QWidget(), FittingScroll(), FittingScroll()
        self.side = RightSide(self._odds_frame, self.parts.panels)
        self.header.add_at_the_end(self.side.switch)
        self.splitter = TwoSides(left, self.side)
        self._above.addWidget(self.splitter, 1)
        self._left = QVBoxLayout(left)
        self._left.setContentsMargins(SPACING, 0, 0, 0)
        self._left.setSpacing(SPACING // 2)
        self._left.addWidget(self.step_bar)
        self._left.addWidget(self._work_frame, 1)
        self._work_frame.hold(self.pages)
        for name in PAGES:
            self.pages.addWidget(self.parts.pages[name])
        self._odds_frame.hold(self.parts.odds)

    def changeEvent(self, event: QEvent) -> None:
        """Give the odds the room that the size of the text asks for."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit_odds()
            self._place_head()

    def _fit_odds(self) -> None:
        """With large text on a small screen the odds scroll instead of being cut."""
        metrics = self.fontMetrics()
        wide, high = _ODDS_LETTERS * metrics.averageCharWidth(), _ODDS_LINES * metrics.height()
        if self._odds_frame is None:
            return
        self._odds_frame.set_least(QSize(wide, high))
        self._work_frame.set_least(self.parts.pages[self.page].minimumSizeHint())
        work = QSize(self.pages.minimumSizeHint().width() + SPACING, _WORK_LINES * metrics.height())
        self.splitter.set_needs(work, QSize(wide, high))

    def _place_head(self) -> None:
        """On a low screen what can be pressed in the head stands beside the menus, so that the pages have its row.

        The title then stands in the frame of the window, and that the data are invented in the line at the foot.
        """
        bar = self.menuBar()
        titles = [each.text().replace("&", "") for each in bar.actions()]
        menus = sum(self.fontMetrics().horizontalAdvance(each) + _AROUND_A_TITLE for each in titles)
        beside = bar.width() - menus - 2 * SPACING
        may_go = bool(titles) and self.height() < LOW and not bar.isNativeMenuBar() and not self.is_read_only
        goes = may_go and self.header.controls_fit(beside)
        if (beside if goes else None) == self.header.small_width:
            return
        was_hidden, was_small = self.header.isHidden(), self.header.is_small
        self.header.set_small(beside if goes else None)
        if goes and not was_small:
            self._body.removeWidget(self.header)
            bar.setCornerWidget(self.header)
        elif was_small and not goes:
            bar.setCornerWidget(None)  # type: ignore[arg-type]  # Qt's way to say that no widget stands there
            self._body.insertWidget(0, self.header)
        elif goes:  # a menu bar looks at the room that its corner wants only when it is resized
            QApplication.sendEvent(bar, QResizeEvent(bar.size(), bar.size()))
        self.header.setHidden(was_hidden)
        self._show_idle()

    @property
    def is_read_only(self) -> bool:
        """Whether the head must say at length why nothing can be changed."""
        return self.workspace.document is not None and self.workspace.document.read_only

    def _show_arrangement(self) -> None:
        """The steps stand over the page; where page and side take turns, over both, marked by what is in front."""
        takes_turns = self.splitter.arrangement == "one"
        layout = self._above if takes_turns else self._left
        if layout.indexOf(self.step_bar) < 0:
            layout.insertWidget(0, self.step_bar)
        self._above.setContentsMargins(SPACING * takes_turns, 0, SPACING * takes_turns, 0)
        self._left.setContentsMargins(
            SPACING * (not takes_turns), 0, SPACING * (self.splitter.arrangement == "stacked"), 0
        )
        self.step_bar.show_current("" if takes_turns and self.splitter.front == "side" else self.page)
        self.side.switch.show_current("" if takes_turns and self.splitter.front == "work" else self.side.current)

    def _connect(self) -> None:
        workspace = self.workspace
        workspace.document_opened.connect(self._show_document)
        workspace.document_changed.connect(self._show_head)
        workspace.page_requested.connect(self.show_page)
        workspace.side_requested.connect(self.show_side)
        self.side.switch.chosen.connect(self.show_side)
        self.splitter.arranged.connect(self._show_arrangement)
        workspace.notified.connect(self.strip.show_notice)
        workspace.theme_changed.connect(self._wear)
        workspace.analysis_started.connect(self._busy.start)
        workspace.analysis_finished.connect(self._show_idle)
        workspace.analysis_failed.connect(self._show_idle)
        self.step_bar.chosen.connect(workspace.show_page)
        if self.parts.run is not None:
            self.parts.run.front_wanted.connect(self.show_run)
            self.parts.run.pages_wanted.connect(self.leave_run)
            self.parts.run.over.connect(self.leave_run)

    # -- pages -------------------------------------------------------------------------------------

    @property
    def page(self) -> str:
        """The name of the page in front."""
        return PAGES[self.pages.currentIndex()]

    @property
    def topic(self) -> str:
        """What the guide is asked about: the side that has the keyboard, else the page in front or its section."""
        focus = QApplication.focusWidget()
        if focus is not None and self.side.isAncestorOf(focus):
            return self.side.current
        return str(getattr(self.parts.pages[self.page], "section", self.page))

    @property
    def is_running(self) -> bool:
        """Whether something other than the pages of the job fills the window, as a guided run does."""
        return self.front.currentWidget() not in (self.parts.first_run, self.work_area)

    def show_run(self) -> None:
        """Put the guided run in the place of the pages; its own head says where one is."""
        run = self.parts.run
        if run is not None and run.is_on:
            self.front.setCurrentWidget(run)
            self.header.setVisible(False)
            run.strip.setVisible(False)
            self._show_idle()

    def leave_run(self) -> None:
        """Show the pages again; a run that goes on keeps a strip above them."""
        run = self.parts.run
        if run is not None and self.workspace.document is not None:
            self.front.setCurrentWidget(self.work_area)
            self.header.setVisible(True)
            run.strip.setVisible(run.is_on)
            self._show_idle()

    def show_page(self, name: str) -> None:
        """Bring a page to the front."""
        self.leave_run()
        self.pages.setCurrentIndex(PAGES.index(name))
        self.splitter.bring("work")
        self._fit_odds()
        self._show_arrangement()
        self.page_shown.emit(name)

    def show_side(self, name: str) -> None:
        """Bring a side to the front."""
        self.side.show_side(name)
        self.splitter.bring("side")
        self._show_arrangement()

    def splitter_state(self) -> tuple[int, ...]:
        """Return the widths at both sides of the splitter."""
        return self.splitter.shares()

    def restore(self, geometry: QByteArray, sizes: tuple[int, ...]) -> None:
        """Take the size, place and splitter of the last time, where they are known."""
        if geometry.isEmpty() or not self.restoreGeometry(geometry):
            self.resize(QSize(1440, 900).boundedTo(self.screen().availableSize() - _FRAME))
        self.splitter.take_share(sizes)

    def showEvent(self, event: QShowEvent) -> None:
        """Share the width where a document is open before the window is shown."""
        super().showEvent(event)
        self.splitter.share_room()

    # -- rendering ---------------------------------------------------------------------------------

    def _show_document(self) -> None:
        document = self.workspace.document
        is_open = document is not None
        self.front.setCurrentIndex(1 if is_open else 0)
        self.header.setVisible(is_open)
        self._show_idle()
        self.splitter.share_room()
        if document is not None:
            self.show_page("bench" if document.state.jars or document.state.attempts else "shelf")
            if not document.read_only:
                self.show_run()
        self._show_head()

    def _show_head(self) -> None:
        document = self.workspace.document
        self.header.show_document(document, self.workspace.decimal)
        self.strip.status.setText(self._status())
        self.strip.status.setToolTip(str(document.path) if document is not None else "")
        name = "Stirfall"
        if document is not None:
            name = f"{document.state.settings.title} – {document.path.name} – Stirfall"
        self.setWindowTitle(name)
        self._place_head()

    def _status(self, busy: bool = False) -> str:
        document = self.workspace.document
        if document is None:
            return ""
        attempts = len(document.state.attempts)
        count = "1 attempt" if attempts == 1 else f"{attempts} attempts"
        saved = "reading only" if document.read_only else "saved"
        # The head of the window, which says so otherwise, gives way to a run and to a low screen.
        is_silent = self.is_running or self.header.is_small
        invented = f"{INVENTED_NOTICE} · " if is_silent and document.state.settings.invented else ""
        return invented + (f"computing the odds… · {count}" if busy else f"{count} · {saved}")

    def _show_busy(self) -> None:
        self.strip.status.setText(self._status(busy=True))

    def _show_idle(self) -> None:
        self._busy.stop()
        self.strip.status.setText(self._status())

    def _wear(self, theme: Theme) -> None:
        self.step_bar.set_theme(theme)
        self.parts.first_run.set_theme(theme)

    # -- events ------------------------------------------------------------------------------------

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place the head for the size of the window."""
        super().resizeEvent(event)
        self._place_head()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Leave without a question: everything is saved already."""
        self.closing.emit()
        super().closeEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Accept one session file, one Data Package or one table."""
        if _dropped_session(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the session file, the package or the table that was dropped."""
        path = _dropped_session(event)
        if path is not None:
            event.acceptProposedAction()
            self.file_dropped.emit(path)


class FittingScroll(QScrollArea):
    """Gives its widget the whole room, and scrolls only below the least size that it was told."""

    def __init__(self) -> None:
        super().__init__()
        self._least = QSize()
        self._inner: QWidget | None = None
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def hold(self, widget: QWidget) -> None:
        """Take the widget that is to be shown."""
        self._inner = widget
        self.setWidget(widget)
        self._fit()

    def set_least(self, size: QSize) -> None:
        """Scroll when there is less room than ``size``."""
        self._least = size
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the widget to the new room."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        # Not ``widgetResizable``: that would make room for all wrapped text and scroll where the widget can adapt.
        whole = self.maximumViewportSize()
        bar = self.style().pixelMetric(QStyle.PixelMetric.PM_ScrollBarExtent)
        too_low, too_narrow = whole.height() < self._least.height(), whole.width() < self._least.width()
        room = QSize(whole.width() - bar * too_low, whole.height() - bar * too_narrow)
        if self._inner is not None:
            self._inner.resize(room.expandedTo(self._least))


def _dropped_session(event: QDropEvent) -> str | None:
    paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
    suffixes = (_SUFFIX, *TABLE_SUFFIXES)
    sessions = [path for path in paths if path.lower().endswith(suffixes) or is_package(Path(path))]
    return sessions[0] if len(sessions) == 1 else None
