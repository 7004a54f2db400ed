"""What the model assumes: outcome, partly parted, what attempts share, shapes, and the priors tucked away."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, QTimer
from PySide6.QtWidgets import QCheckBox, QGridLayout, QPushButton, QScrollArea, QWidget

from stirfall.desktop.campaign.form_grid import FormGrid
from stirfall.desktop.campaign.form_model import FormModel, FormState
from stirfall.desktop.campaign.form_state import CampaignForm
from stirfall.desktop.campaign.model_facts import ModelFacts
from stirfall.desktop.campaign.product_list import ProductList
from stirfall.desktop.labelled import name_control
from stirfall.desktop.theme import SPACING, set_button_role
from stirfall.session.model_settings import sharing_words

_GATES = (
    (2, "Two questions: did it part, did it pool"),
    (1, "One question: clean or not"),
)
_PARTLY = (
    ("failed", "failed: not parted"),
    ("success", "success: parted"),
    ("ordinal", "between the two (ordinal form)"),
)
_SHARED = {"lot": "their lot", "jar": "their jar", "bench": "their bench", "none": "nothing"}
_ALL_FORMS = "All forms, weighed"
_PRIORS = (
    ("level", "Interval &level, %", "such as 95"),
    ("intercept_sd", "Prior sd, &base rate", ""),
    ("effect_sd", "Prior sd, &effects", ""),
    ("lot_sd", "Prior scale, lo&ts’ spread", ""),
)
_MOST_COLUMNS, _ROOM = 3, 72 * SPACING
_OPEN, _CLOSED = "▾", "▸"


class ModelFields(FormGrid):
    """The statistics of a FormModel, each choice with one sentence that says what it changes."""

    def __init__(self, model: FormModel, facts: ModelFacts, parent: QWidget | None = None) -> None:
        super().__init__(model, parent)
        self._facts = facts
        form = model.state.form
        self.gates = self.add_chooser("gates", "Out&come asks", _GATES)
        self.partly = self.add_chooser("partly", "&Partly parted counts as", _PARTLY)
        self.shared = self.add_chooser("lot_effect", "&Attempts share", shared_choices(facts, form))
        self.add_line("bench_name", "Na&me of this bench", "as others shall read it in pooled sessions")
        self.form = self.add_chooser("form", "&Form of the model", form_choices(facts, form))
        self.humps = self._add_humps(form)
        self.products = self._add_products()
        self.priors = _Priors(model)
        self.more = self._add_more()
        self._grid.setRowStretch(self._grid.rowCount(), 1)
        model.changed.connect(self.show_state)
        self.show_state(model.state)

    def target(self, name: str) -> QWidget | None:
        """Return what takes the keyboard for a field, and bring it into view where it is tucked away."""
        inside = self.priors.target(name)
        if inside is not None:
            self.more.setChecked(True)
        return inside or super().target(name)

    def show_state(self, state: FormState) -> None:
        """Show a state."""
        super().show_state(state)
        for name, box in self.humps.items():
            with QSignalBlocker(box):
                box.setChecked(name in state.form.humps)
        self.products.show_pairs(state.form.products)

    def _add_humps(self, form: CampaignForm) -> dict[str, QCheckBox]:
        inner = QGridLayout()
        inner.setHorizontalSpacing(2 * SPACING)
        inner.setVerticalSpacing(SPACING // 2)
        boxes: dict[str, QCheckBox] = {}
        shown = [name for name in self._facts.numbers if name not in self._facts.hidden or name in form.humps]
        for name in shown:
            box = QCheckBox(_titled(name, self._facts).replace("&", "&&"))
            box.setObjectName(f"hump_{name}")
            name_control(box, f"Square of {name}")
            box.toggled.connect(self._take_humps)
            boxes[name] = box
        widest = max((box.sizeHint().width() for box in boxes.values()), default=1) + 2 * SPACING
        columns = min(max(_ROOM // widest, 1), _MOST_COLUMNS)
        for position, box in enumerate(boxes.values()):
            inner.addWidget(box, position // columns, position % columns)
        first = next(iter(boxes.values()), None)
        if first is not None:
            self.add_row("S&quares of", first, inner)
            self.add_message("humps", first)
            name_control(first, f"Square of {shown[0]}")
        return boxes

    def _take_humps(self) -> None:
        chosen = {name for name, box in self.humps.items() if box.isChecked()}
        before = [name for name in self._model.state.form.humps if name in chosen]
        self._model.set_field("humps", (*before, *(name for name in self.humps if name in chosen - {*before})))

    def _add_products(self) -> ProductList:
        facts = self._facts
        names = [name for name in (*facts.numbers, *facts.choices) if name not in facts.hidden]
        products = ProductList(tuple(names))
        products.changed.connect(lambda pairs: self._model.set_field("products", pairs))
        self.add_row("Prod&ucts of", products)
        self.add_message("products", products)
        return products

    def _add_more(self) -> QPushButton:
        more = QPushButton()
        more.setObjectName("campaign_more")
        more.setCheckable(True)
        more.setAutoDefault(False)
        set_button_role(more, "link")
        more.toggled.connect(self._unfold)
        row = self._grid.rowCount()
        self._grid.addWidget(more, row, 0, 1, -1, Qt.AlignmentFlag.AlignLeft)
        self._grid.addWidget(self.priors, row + 1, 0, 1, -1)
        self.more = more
        self._unfold(is_open=False)
        return more

    def _unfold(self, is_open: bool) -> None:
        self.priors.setVisible(is_open)
        self.more.setText(f"{_OPEN if is_open else _CLOSED} Inte&rval and priors")
        name_control(self.more, "Interval and priors", "shown" if is_open else "not shown")
        if is_open:
            QTimer.singleShot(0, self, self._scroll_to_priors)

    def _scroll_to_priors(self) -> None:
        parent = self.parentWidget()
        while parent is not None and not isinstance(parent, QScrollArea):
            parent = parent.parentWidget()
        if parent is not None:
            parent.ensureWidgetVisible(self.priors)


class _Priors(FormGrid):
    """The level of the intervals and the scales of the priors, two side by side."""

    def __init__(self, model: FormModel) -> None:
        super().__init__(model)
        for line in _PRIORS:
            self.add_line(*line, half=True)
        model.changed.connect(self.show_state)
        self.show_state(model.state)


def shared_choices(facts: ModelFacts, form: CampaignForm) -> tuple[tuple[str, str], ...]:
    """Return what attempts may share, with its words: lot, jar, bench, each choice that is in use, nothing."""
    words = sharing_words(facts.choices)
    names = [
        name
        for name in facts.choices
        if name not in words and (name not in facts.hidden or name == form.lot_effect)
    ]
    levels = [(name, f"the level of “{_titled(name, facts)}”") for name in names]
    own = [(word, _SHARED[word]) for word in words if word != "none"]
    return (*own, *levels, ("none", _SHARED["none"]))


def form_choices(facts: ModelFacts, form: CampaignForm) -> tuple[tuple[str, str], ...]:
    """Return the forms that can be pinned, the one that is pinned among them, after "all, weighed"."""
    known = dict(facts.forms)
    if form.form:
        known.setdefault(form.form, form.form)
    return (("", _ALL_FORMS), *known.items())


def _titled(name: str, facts: ModelFacts) -> str:
    return f"{name} (hidden)" if name in facts.hidden else name
