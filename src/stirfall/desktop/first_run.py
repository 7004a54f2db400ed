"""What the window shows while no campaign is open: four ways to begin, and what was open last."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from stirfall.bench.records import INVENTED_NOTICE
from stirfall.desktop.header import ElidedLabel
from stirfall.desktop.icons import icon
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, Theme, set_button_role, set_text_role

if TYPE_CHECKING:
    from stirfall.session.samples import SampleInfo

_WIDEST = 940
_LETTERS = 110  # room for a button and the words beside it
_CHOICES = {
    "new": (
        "New campaign",
        "For a metal of your own. Name it, its melting point and the oil; the rest comes filled in.",
    ),
    "open": ("Open…", "A session file (.stirfall). You can also drop one on this window."),
    "tour": ("Show me round", "Under three minutes, in the real window with invented data. It changes nothing."),
    "sample": ("Open a sample", f"{INVENTED_NOTICE}. You choose where its file goes."),
}


class FirstRun(QScrollArea):
    """Four large choices with the samples and the recent files.

    Signals:
        new_wanted(), open_wanted(), tour_wanted(), sample_wanted(str key), recent_wanted(str path).
    """

    new_wanted = Signal()
    open_wanted = Signal()
    tour_wanted = Signal()
    sample_wanted = Signal(str)
    recent_wanted = Signal(str)

    def __init__(self, theme: Theme, samples: Sequence[SampleInfo], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("first_run")
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._buttons: dict[str, QPushButton] = {}
        self._samples = QButtonGroup(self)
        self._keys: dict[int, str] = {}
        self._choices: list[tuple[QWidget, QVBoxLayout]] = []
        self._is_narrow = False
        self._recent = QVBoxLayout()
        self._recent_heading = QLabel("Opened lately")
        page = QWidget()
        page.setMaximumWidth(_WIDEST)
        self._grid = QGridLayout(page)
        self._grid.setContentsMargins(4 * SPACING, 4 * SPACING, 4 * SPACING, 4 * SPACING)
        self._grid.setHorizontalSpacing(4 * SPACING)
        self._grid.setVerticalSpacing(2 * SPACING)
        self._add_welcome()
        self._add_choice("new", self.new_wanted.emit)
        self._add_choice("open", self.open_wanted.emit)
        self._add_choice("tour", self.tour_wanted.emit)
        self._add_choice("sample", self._emit_sample).addLayout(self._sample_list(samples))
        self._add_recent()
        self._arrange()
        self.setWidget(_centred(page))
        self.set_theme(theme)

    def button(self, name: str) -> QPushButton:
        """Return the button ``"new"``, ``"open"``, ``"tour"`` or ``"sample"``."""
        return self._buttons[name]

    def choose_sample(self, key: str) -> None:
        """Mark a sample as the one to open."""
        for number, known in self._keys.items():
            if known == key:
                self._samples.button(number).setChecked(True)

    def show_recent(self, paths: Sequence[str]) -> None:
        """List the files opened lately, newest first; missing files are left out."""
        while (item := self._recent.takeAt(0)) is not None:
            if (widget := item.widget()) is not None:
                widget.setParent(None)
                widget.deleteLater()
        present = [path for path in paths if Path(path).exists()]
        for path in present:
            self._recent.addWidget(self._recent_line(path))
        self._recent_heading.setVisible(bool(present))

    def set_theme(self, theme: Theme) -> None:
        """Draw the icons in the theme's colours."""
        for name, button in self._buttons.items():
            button.setIcon(icon(name, theme.accent))

    def _add_welcome(self) -> None:
        heading = QLabel("Find the conditions under which the solids fall out of the metal")
        heading.setWordWrap(True)
        set_text_role(heading, "heading")
        words = QLabel(
            "Record each melt-and-stir attempt with the conditions that were really reached. Stirfall shows how "
            "likely a clean separation is, how sure that is, and which attempt would teach you most."
        )
        words.setWordWrap(True)
        box = QVBoxLayout()
        box.setSpacing(SPACING)
        box.addWidget(heading)
        box.addWidget(words)
        self._grid.addLayout(box, 0, 0, 1, 2)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Use the new room."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Larger text needs more room."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._fit()

    def _fit(self) -> None:
        """Where it is narrow, what belongs to a choice stands below its button, else beside it."""
        is_narrow = self.width() < _LETTERS * self.fontMetrics().averageCharWidth()
        if is_narrow != self._is_narrow:
            self._is_narrow = is_narrow
            self._arrange()

    def _arrange(self) -> None:
        top = Qt.AlignmentFlag.AlignTop
        left = top | Qt.AlignmentFlag.AlignLeft
        for place, (head, box) in enumerate(self._choices):
            self._grid.removeWidget(head)
            self._grid.removeItem(box)
            if self._is_narrow:
                self._grid.addWidget(head, 2 * place + 1, 0, 1, 2, left)
                self._grid.addLayout(box, 2 * place + 2, 0, 1, 2)
            else:
                self._grid.addWidget(head, place + 1, 0, top)
                self._grid.addLayout(box, place + 1, 1)
        for row in range(self._grid.rowCount()):
            self._grid.setRowStretch(row, 0)
        self._grid.setRowStretch(2 * len(self._choices) + 1, 1)
        self._grid.setColumnStretch(1, 1)
        self._grid.setVerticalSpacing(SPACING if self._is_narrow else 2 * SPACING)

    def _add_choice(self, name: str, act: object) -> QVBoxLayout:
        text, explanation = _CHOICES[name]
        button = QPushButton(text)
        button.setObjectName(f"first_run_{name}")
        set_button_role(button, "choice")
        button.setIconSize(QSize(3 * SPACING, 3 * SPACING))
        button.setMinimumHeight(7 * SPACING)
        button.setSizePolicy(QSizePolicy.Policy.Minimum, QSizePolicy.Policy.Fixed)
        name_control(button, text.rstrip("…"), explanation)
        button.clicked.connect(act)
        self._buttons[name] = button
        words = QLabel(explanation)
        words.setWordWrap(True)
        words.setMinimumHeight(button.minimumHeight())
        words.setAlignment(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
        box = QVBoxLayout()
        box.setSpacing(SPACING)
        box.addWidget(words)
        self._choices.append((button, box))
        return box

    def _sample_list(self, samples: Sequence[SampleInfo]) -> QVBoxLayout:
        listing = QVBoxLayout()
        listing.setSpacing(SPACING // 2)
        for number, sample in enumerate(samples):
            radio = QRadioButton(_short(sample.title))
            radio.setObjectName(f"sample_{sample.key}")
            radio.setChecked(number == 0)
            name_control(radio, sample.title, sample.summary)
            self._samples.addButton(radio, number)
            self._keys[number] = sample.key
            summary = QLabel(first_sentence(sample.summary))
            summary.setWordWrap(True)
            summary.setIndent(3 * SPACING)
            set_text_role(summary, "muted")
            listing.addWidget(radio)
            listing.addWidget(summary)
        return listing

    def _add_recent(self) -> None:
        set_text_role(self._recent_heading, "heading")
        self._recent.setSpacing(0)
        self._choices.append((self._recent_heading, self._recent))
        self._recent_heading.setVisible(False)

    def _recent_line(self, path: str) -> QWidget:
        place = Path(path)
        link = QPushButton(place.stem)
        link.setObjectName("recent_link")
        set_button_role(link, "link")
        name_control(link, f"Open {place.stem}", str(place))
        link.clicked.connect(lambda: self.recent_wanted.emit(path))
        folder = ElidedLabel()
        folder.setText(str(place.parent))
        set_text_role(folder, "muted")
        line = QWidget()
        row = QHBoxLayout(line)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(2 * SPACING)
        row.addWidget(link)
        row.addWidget(folder, 1)
        return line

    def _emit_sample(self) -> None:
        key = self._keys.get(self._samples.checkedId())
        if key is not None:
            self.sample_wanted.emit(key)


def first_sentence(text: str) -> str:
    """Return a text up to the end of its first sentence."""
    head, stop, _ = text.partition(". ")
    return head + "." if stop else text


def _short(title: str) -> str:
    """Return the title of a sample without the words that the page has said already."""
    head, colon, rest = title.partition(": ")
    return rest[:1].upper() + rest[1:] if colon and head == "Invented sample" else title


def _centred(page: QWidget) -> QWidget:
    holder = QWidget()
    row = QHBoxLayout(holder)
    row.setContentsMargins(0, 0, 0, 0)
    row.addStretch(1)
    row.addWidget(page, 8)
    row.addStretch(1)
    return holder
