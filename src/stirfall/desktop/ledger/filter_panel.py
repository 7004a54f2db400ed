"""A filter built by choosing: what, how, and against what; its sentence is read back before it is added."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QComboBox, QLineEdit

from stirfall.bench.campaign import CampaignState
from stirfall.desktop.bench_form.look import TARGET, button, guard_from_wheel, text_label
from stirfall.desktop.labelled import labelled, name_control
from stirfall.desktop.ledger.filters import FilterEntry, ReadFilter, how_words, subject_words
from stirfall.desktop.ledger.panels import Panel
from stirfall.desktop.shown import Shown
from stirfall.desktop.theme import set_primary, set_text_role
from stirfall.reporting.sentences import sentence
from stirfall.session.ledger_filter import TESTS, WITHOUT_VALUE, How, Kind, Subject, subjects


class FilterPanel(Panel):
    """Three choices in a row and a button.

    Signals:
        edited(FilterEntry): something was chosen or typed.
        accepted(FilterEntry): please add it.
    """

    edited = Signal(object)
    accepted = Signal(object)

    def __init__(self) -> None:
        super().__init__("filter_panel")
        self.title.setText("Show only attempts that fit")
        self._subjects: tuple[Subject, ...] = ()
        self._decimal = "."
        self.what, self.how, self.choice = QComboBox(), QComboBox(), QComboBox()
        self.value = QLineEdit()
        for widget, name in (
            (self.what, "what"),
            (self.how, "how"),
            (self.choice, "choice"),
            (self.value, "value"),
        ):
            widget.setObjectName(f"filter_{name}")
            guard_from_wheel(widget)
            widget.setMinimumHeight(TARGET)
        self.said = text_label()
        self.said.setObjectName("filter_said")
        self.accept = button("Add filter", "filter_accept")
        set_primary(self.accept)
        self.cancel = button("Close", "filter_close")
        self._lay_out()
        self.what.currentIndexChanged.connect(self._show_subject)
        self.how.currentIndexChanged.connect(self._show_how)
        self.choice.currentIndexChanged.connect(self._tell)
        self.value.textChanged.connect(self._tell)
        self.value.returnPressed.connect(self._accept)
        self.accept.clicked.connect(self._accept)
        self.cancel.clicked.connect(self.left)

    def _lay_out(self) -> None:
        grid = self.add_grid()
        grid.setColumnStretch(3, 1)
        grid.addWidget(labelled("What", self.what), 0, 0)
        grid.addWidget(self.what, 0, 1)
        grid.addWidget(labelled("How", self.how), 0, 2)
        grid.addWidget(self.how, 0, 3)
        self._value_label = labelled("Against", self.value)
        name_control(self.choice, "Against")
        grid.addWidget(self._value_label, 1, 0)
        grid.addWidget(self.value, 1, 1, 1, 3)
        grid.addWidget(self.choice, 1, 1, 1, 3)
        self.add_foot(self.said, self.cancel, self.accept)

    @property
    def subject(self) -> Subject | None:
        """What the filter is about."""
        at = self.what.currentIndex()
        return self._subjects[at] if 0 <= at < len(self._subjects) else None

    @property
    def entered(self) -> FilterEntry:
        """The entries."""
        subject, how = self.subject, self.how.currentData()
        if subject is None or how is None:
            return FilterEntry()
        text = self.choice.currentText() if self._has_choices(subject, How(how)) else self.value.text()
        return FilterEntry(subject.key, How(how), text)

    @staticmethod
    def _has_choices(subject: Subject, how: How) -> bool:
        return subject.kind is Kind.CHOICE or (subject.kind is Kind.TIME and how is How.WITHIN)

    def open_for(self, state: CampaignState, decimal: str) -> None:
        """Open with what this campaign knows; what was chosen last stays chosen."""
        before = self.subject.key if self.subject else ""
        self._subjects = tuple(each for each in subjects(state) if each.kind is not Kind.CHOICE or each.levels)
        self._decimal = decimal
        with QSignalBlocker(self.what):
            self.what.clear()
            for each in self._subjects:
                self.what.addItem(subject_words(each), each.key)
            self.what.setCurrentIndex(max(0, self.what.findData(before)))
        self._show_subject()
        self.what.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_subject(self) -> None:
        subject = self.subject
        if subject is None:
            return
        with QSignalBlocker(self.how), QSignalBlocker(self.choice), QSignalBlocker(self.value):
            self.how.clear()
            for how in TESTS[subject.kind]:
                self.how.addItem(how_words(subject, how), how.value)
            self.choice.clear()
            self.choice.addItems(list(subject.levels))
            self.value.clear()
        self._show_how()

    def _show_how(self) -> None:
        subject, how = self.subject, self.how.currentData()
        if subject is None or how is None:
            return
        asks = How(how) not in WITHOUT_VALUE
        from_list = asks and self._has_choices(subject, How(how))
        self.choice.setVisible(from_list)
        self.value.setVisible(asks and not from_list)
        self._value_label.setVisible(asks)
        unit = Shown.of(self._decimal).label(subject.unit)
        self._value_label.setText(f"Against, {unit}" if unit and not from_list else "Against")
        is_day = subject.kind is Kind.TIME
        self.value.setPlaceholderText("year-month-day, as 2026-11-30" if is_day else "")
        self._tell()

    def _tell(self) -> None:
        self.edited.emit(self.entered)

    def _accept(self) -> None:
        if self.accept.isEnabled():
            self.accepted.emit(self.entered)

    def show_read(self, read: ReadFilter, decimal: str) -> None:
        """Show the filter in words, or what is missing."""
        self.accept.setEnabled(read.condition is not None)
        problem = sentence(read.problem.code, read.problem.params, decimal=decimal) if read.problem else ""
        is_gentle = read.problem is None or read.problem.code == "ledger_filter.no_value"
        set_text_role(self.said, "muted" if is_gentle else "error")
        self.said.setText(problem or f"Shows attempts: {read.words}")
        self.accept.setAccessibleDescription(problem or read.words)
