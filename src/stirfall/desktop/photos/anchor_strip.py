"""The examples of the classes beside the questions that grade: small, and large under the pointer or the keys."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QPoint, QSize, Qt
from PySide6.QtGui import QIcon, QImage, QPixmap
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from stirfall.bench.outcomes import Outcome
from stirfall.desktop.bench_form.look import GAP, HALF_GAP, TARGET, text_label
from stirfall.desktop.photos.class_words import CLASS_WORDS
from stirfall.desktop.photos.scaling import thumbnail
from stirfall.desktop.theme import set_surface_role
from stirfall.session.regrading import CLASSES

if TYPE_CHECKING:
    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.workspace import Workspace
    from stirfall.session.commands import Changes

_LARGE = 420
_SLOT = "anchor strip"


class LargeExample(QFrame):
    """One example large, above all windows; it never takes the keyboard."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, Qt.WindowType.ToolTip)
        self.setAttribute(Qt.WidgetAttribute.WA_ShowWithoutActivating)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        set_surface_role(self, "raised")
        self.title = text_label("", "heading", wrap=False)
        self.picture = QLabel()
        column = QVBoxLayout(self)
        column.setContentsMargins(GAP, GAP, GAP, GAP)
        column.addWidget(self.title)
        column.addWidget(self.picture)

    def show_above(self, anchor: QWidget, image: QImage, title: str) -> None:
        """Show an example above a widget, within the screen."""
        self.title.setText(title)
        self.picture.setPixmap(QPixmap.fromImage(image))
        self.adjustSize()
        place = anchor.mapToGlobal(QPoint(0, -self.height() - HALF_GAP))
        screen = anchor.screen().availableGeometry()
        left = min(max(place.x(), screen.left()), max(screen.left(), screen.right() - self.width()))
        self.move(left, max(place.y(), screen.top()))
        self.show()


class AnchorStrip(QWidget):
    """Four small examples in the order of the keys 1 to 4; hidden while no class has one."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self._workspace = workspace
        self._images: Mapping[Outcome, QImage] = {}
        self._large: LargeExample | None = None
        self.thumbs: dict[Outcome, QToolButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(GAP)
        row.addWidget(text_label("Examples", "muted", wrap=False))
        for outcome in CLASSES:
            thumb = QToolButton()
            thumb.setObjectName(f"example {outcome.value}")
            thumb.setIconSize(QSize(TARGET, TARGET - 2 * GAP))
            thumb.setFixedHeight(TARGET)
            thumb.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            thumb.setAccessibleName(f"Example of {outcome.value}")
            thumb.setAccessibleDescription(CLASS_WORDS[outcome])
            thumb.installEventFilter(self)
            thumb.clicked.connect(lambda _checked=False, which=outcome: self._show_large(which))
            self.thumbs[outcome] = thumb
            row.addWidget(thumb)
        row.addStretch(1)
        workspace.document_opened.connect(self.refresh)
        workspace.document_changed.connect(self._on_changes)
        workspace.theme_changed.connect(self._name)
        self.refresh()

    def _on_changes(self, changes: Changes) -> None:
        if changes.anchors:
            self.refresh()

    def refresh(self) -> None:
        """Fetch the examples; they are drawn off the window's thread."""
        document = self._workspace.document
        photos = {} if document is None else {outcome: each.data for outcome, each in document.anchors().items()}
        self._hide_large()
        self.setVisible(bool(photos))
        self._name()

        def draw(token: CancelToken) -> Mapping[Outcome, QImage]:
            del token
            return {outcome: thumbnail(data, _LARGE) for outcome, data in photos.items()}

        self._workspace.submit(draw, self._take, slot=_SLOT)

    def _take(self, images: Mapping[Outcome, QImage]) -> None:
        self._images = {outcome: image for outcome, image in images.items() if not image.isNull()}
        for outcome, thumb in self.thumbs.items():
            image = self._images.get(outcome)
            thumb.setVisible(image is not None)
            thumb.setIcon(QIcon() if image is None else QIcon(QPixmap.fromImage(image)))

    def _name(self, *_theme: object) -> None:
        for outcome, thumb in self.thumbs.items():
            thumb.setText(self._workspace.theme.mark(outcome).glyph)

    # -- large -------------------------------------------------------------------------------------

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Show an example large while it has the pointer or the keyboard."""
        if event.type() in (QEvent.Type.Enter, QEvent.Type.FocusIn):
            outcome = next((each for each, thumb in self.thumbs.items() if thumb is watched), None)
            if outcome is not None:
                self._show_large(outcome)
        elif event.type() in (QEvent.Type.Leave, QEvent.Type.FocusOut, QEvent.Type.Hide):
            self._hide_large()
        return False

    def _show_large(self, outcome: Outcome) -> None:
        image = self._images.get(outcome)
        if image is None:
            return
        if self._large is None:
            self._large = LargeExample(self)
        mark = self._workspace.theme.mark(outcome)
        self._large.show_above(self.thumbs[outcome], image, f"{mark.glyph} {mark.word}")

    def _hide_large(self) -> None:
        if self._large is not None:
            self._large.hide()
