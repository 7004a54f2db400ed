"""What must not be overlooked: dangers with the act they ask for, what the limits say, cautions of the step."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QAccessibleEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from stirfall.bench.materials import Caution
from stirfall.desktop.run.big_button import BigButton
from stirfall.desktop.run.look import GAP, SIGN, SMALL, WIDE_GAP, RunLabel, pixels
from stirfall.desktop.run.shapes import Shape, ShapeSign
from stirfall.desktop.theme import Theme

_LOW_SIGN = 32


class SignPanel(QFrame):
    """A shape, its word and sentences; it comes and stays as long as its cause does, and never flashes."""

    def __init__(self, kind: str, shape: Shape, word: str, name: str) -> None:
        super().__init__()
        self.setObjectName(name)
        self.setProperty("runFrame", kind)
        self._word, self._told = word, ""
        role = "danger" if shape is Shape.DANGER else "caution"
        self._size = 48 if shape is Shape.DANGER else 36
        self.sign = ShapeSign(shape, role, self._size)
        self.said = RunLabel(SIGN, bold=shape is Shape.DANGER, name=f"{name}_text")
        row = QHBoxLayout(self)
        row.setContentsMargins(WIDE_GAP, GAP, WIDE_GAP, GAP)
        row.setSpacing(WIDE_GAP)
        row.addWidget(self.sign, 0, Qt.AlignmentFlag.AlignVCenter)
        row.addWidget(self.said, 1)
        self.row = row
        self.hide()

    def set_low(self, is_low: bool) -> None:
        """Write smaller where there is little height, but never below the least size of a sign."""
        self.said.rebase(SMALL if is_low and pixels(SMALL) >= SIGN else SIGN)
        self.sign.rebase(_LOW_SIGN if is_low else self._size)
        self.row.setSpacing(GAP if is_low else WIDE_GAP)

    def wanted_height(self, width: int) -> int:
        """Return the height that the sentences need at a width, 0 while there are none."""
        layout = self.layout()
        return 0 if self.isHidden() or layout is None else layout.heightForWidth(width)

    def show_sentences(self, sentences: Sequence[str]) -> None:
        """Show these sentences, and hide without any; what is new is told to a screen reader at once."""
        text = f"{self._word}: " + "\n".join(sentences) if sentences else ""
        if text == self._told and self.isHidden() != bool(text):
            return
        self._told = text
        self.said.say(text)
        self.setVisible(bool(text))
        self.setAccessibleName(text or self._word)
        if text and self.isVisible():
            QAccessible.updateAccessibility(QAccessibleEvent(self, QAccessible.Event.Alert))


class DangerPanel(SignPanel):
    """Dangers with the act that each asks for; what was marked by hand can be told to be over."""

    def __init__(self) -> None:
        super().__init__("danger", Shape.DANGER, "Danger", "run_danger")
        self.over = BigButton("It is over", "run_danger_over", key="O", base=SMALL)
        self.over.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.row.addWidget(self.over, 0, Qt.AlignmentFlag.AlignVCenter)


class CautionStrip(QFrame):
    """The cautions of the step. There is no way to close it."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("run_cautions")
        self.setProperty("runFrame", "caution")
        self.sign = ShapeSign(Shape.CAUTION, "caution", 30)
        self.said = RunLabel(SMALL, name="run_caution_text")
        row = QHBoxLayout(self)
        row.setContentsMargins(GAP, GAP // 2, GAP, GAP // 2)
        row.setSpacing(GAP)
        row.addWidget(self.sign, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.said, 1)

    def show_cautions(self, items: Sequence[Caution], *, whole: bool, most: int | None = None) -> None:
        """Show the cautions: ``whole``, or the first sentence of each, of the first ``most``, in little room."""
        texts = [item.text if whole else first_sentence(item.text) for item in items[:most]]
        self.said.say(" ".join(texts))
        self.setVisible(bool(texts))
        self.setAccessibleName(f"Cautions: {' '.join(item.text for item in items)}")

    def height_of(self, items: Sequence[Caution], width: int) -> int:
        """Return the height that the whole text of the cautions needs at a width of the strip."""
        inner = max(width - self.sign.width() - 3 * GAP, 50)
        text = " ".join(item.text for item in items)
        flags = int(Qt.TextFlag.TextWordWrap)
        room = self.said.fontMetrics().boundingRect(0, 0, inner, 10_000, flags, text)
        return room.height() + GAP


def first_sentence(text: str) -> str:
    """Return the first sentence of a text."""
    head, dot, _rest = text.partition(". ")
    return head + dot.strip()


class Lines(QWidget):
    """A column of labels that grows and shrinks with what there is to say."""

    def __init__(self, base: int, name: str, *, bold: bool = False) -> None:
        super().__init__()
        self._base, self._bold, self._name = base, bold, name
        self.labels: list[RunLabel] = []
        self._theme: Theme | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(GAP)

    def dress(self, theme: Theme) -> None:
        """Remember the theme for labels to come."""
        self._theme = theme

    def show_texts(self, texts: Sequence[str]) -> None:
        """Show one line per text; lines that stay the same are left alone."""
        while len(self.labels) < len(texts):
            label = RunLabel(self._base, bold=self._bold, name=f"{self._name}_{len(self.labels) + 1}")
            if self._theme is not None:
                label.dress(self._theme)
            self._column.addWidget(label)
            self.labels.append(label)
        for place, label in enumerate(self.labels):
            label.say(texts[place] if place < len(texts) else "")
        self.setVisible(bool(texts))
