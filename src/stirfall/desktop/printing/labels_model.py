"""The view-model of the labels dialog: for what, on which sheet, from which position; it makes the print job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.bench.records import Attempt, Jar
from stirfall.desktop.printing.jobs import PrintJob
from stirfall.desktop.printing.label_pages import label_job
from stirfall.desktop.printing.preview_model import PreviewModel
from stirfall.desktop.printing.sheet_choice import USUAL_SHEET, SheetForm, read_sheet
from stirfall.reporting.label_sheet import LabelSheet
from stirfall.reporting.labels import PLANNED, RESIDUE, SHELF, Label, make_label, make_product_label

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.desktop.workspace import Workspace

PRODUCTS = "products"
GROUP_TITLES = {SHELF: "on the shelf", PLANNED: "planned", RESIDUE: "residue", PRODUCTS: "product"}
_LATEST = 100  # attempts whose products are offered


@dataclass(frozen=True)
class LabelLine:
    """One jar, or one attempt with its product, that a label can be printed for."""

    item: Jar | Attempt
    group: str
    is_ticked: bool

    @property
    def key(self) -> str:
        """A name for this line among all."""
        return f"{self.group} {self.item.id}"

    @property
    def text(self) -> str:
        """The thing with where it stands."""
        name = self.item.id if isinstance(self.item, Jar) else f"Attempt {self.item.number}"
        lot = f", lot {self.item.lot_id}" if self.item.lot_id else ""
        return f"{name} \u00b7 {GROUP_TITLES[self.group]}{lot}"


@dataclass(frozen=True)
class LabelsState:
    """What the dialog shows; ``sheet`` is None, and ``problem`` says why, while the entries make no sheet."""

    lines: tuple[LabelLine, ...] = ()
    form: SheetForm = USUAL_SHEET
    sheet: LabelSheet | None = None
    start_at: int = 1
    copies: int = 1
    cut_lines: bool = False
    problem: Reason | None = None

    @property
    def ticked(self) -> tuple[Jar | Attempt, ...]:
        """The jars and attempts that labels are printed for."""
        return tuple(line.item for line in self.lines if line.is_ticked)

    def is_whole(self, group: str) -> bool:
        """Whether every line of a group is ticked, and the group holds one."""
        lines = [line for line in self.lines if line.group == group]
        return bool(lines) and all(line.is_ticked for line in lines)


class LabelsModel(QObject):
    """Takes wishes, and gives the job to ``preview``.

    Signals:
        changed(LabelsState)
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, jar_ids: tuple[str, ...] = (), parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.preview = PreviewModel(workspace, self)
        document = workspace.document
        self._campaign = document.state if document is not None else None
        lines = _lines(self._campaign, jar_ids) if self._campaign is not None else ()
        self.state = LabelsState(lines=lines)
        self._update(self.state)

    # -- intents -----------------------------------------------------------------------------------

    def tick(self, key: str, ticked: bool) -> None:
        """Print a label for this line, or none."""
        self._tick({key}, ticked)

    def tick_group(self, group: str, ticked: bool) -> None:
        """Print labels for all of a group, or for none of them."""
        self._tick((line.key for line in self.state.lines if line.group == group), ticked)

    def print_copies(self, copies: int) -> None:
        """Print so many of each label."""
        self._update(replace(self.state, copies=copies))

    def choose_kind(self, key: str) -> None:
        """Take another kind of sheet; counting begins at its first position."""
        self._update(replace(self.state, form=replace(self.state.form, kind=key), start_at=1))

    def choose_paper(self, paper: str) -> None:
        """Take another paper for an own sheet."""
        self._update(replace(self.state, form=replace(self.state.form, paper=paper)))

    def type_entry(self, name: str, text: str) -> None:
        """Take what was typed for an own sheet."""
        form = self.state.form
        self._update(replace(self.state, form=replace(form, texts={**form.texts, name: text})))

    def start_from(self, position: int) -> None:
        """Begin at this position of the first sheet, counted from 1."""
        self._update(replace(self.state, start_at=position))

    def draw_cut_lines(self, wanted: bool) -> None:
        """Draw lines to cut along."""
        self._update(replace(self.state, cut_lines=wanted))

    # -- what follows ------------------------------------------------------------------------------

    def _tick(self, keys: Iterable[str], ticked: bool) -> None:
        meant = set(keys)
        lines = tuple(replace(line, is_ticked=ticked) if line.key in meant else line for line in self.state.lines)
        self._update(replace(self.state, lines=lines))

    def _update(self, state: LabelsState) -> None:
        sheet, problem = read_sheet(state.form)
        if sheet is not None:
            state = replace(state, start_at=min(max(state.start_at, 1), sheet.per_page))
        if not state.ticked:
            problem = problem or Reason("printing.no_label", {})
        self.state = replace(state, sheet=sheet, problem=problem)
        self.preview.set_job(*self._job())
        self.changed.emit(self.state)

    def _job(self) -> tuple[PrintJob | None, Reason | None]:
        state, campaign = self.state, self._campaign
        if campaign is None or state.sheet is None or state.problem is not None:
            return None, state.problem
        made = [_label(campaign, item, self.workspace.decimal) for item in state.ticked]
        labels = [label for label in made for _ in range(state.copies)]
        title = f"Labels: {campaign.settings.title}"
        try:
            job = label_job(labels, state.sheet, start_at=state.start_at, cut_lines=state.cut_lines, title=title)
        except InputError as error:
            return None, Reason(error.code, dict(error.params))
        return job, None


def _label(campaign: CampaignState, item: Jar | Attempt, decimal: str) -> Label:
    if isinstance(item, Jar):
        return make_label(campaign, item, decimal=decimal)
    return make_product_label(campaign, item, decimal=decimal)


def _lines(campaign: CampaignState, jar_ids: tuple[str, ...]) -> tuple[LabelLine, ...]:
    """Return all jars that stand somewhere, those of ``jar_ids`` ticked, or all on the shelf; then the products."""
    groups = ((SHELF, campaign.shelf), (PLANNED, campaign.planned_jars), (RESIDUE, campaign.residues))
    wanted = set(jar_ids)
    every = [(group, jar) for group, jars in groups for jar in jars]
    jars = [LabelLine(jar, group, jar.id in wanted if wanted else group == SHELF) for group, jar in every]
    newest = [attempt for attempt in reversed(campaign.attempts) if not attempt.is_struck][:_LATEST]
    return (*jars, *(LabelLine(attempt, PRODUCTS, False) for attempt in newest))
