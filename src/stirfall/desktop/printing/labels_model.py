"""The view-model of the labels dialog: which jars, which sheet, from which position; it makes the print job."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import InputError
from stirfall.bench.estimates import Reason
from stirfall.desktop.printing.jobs import PrintJob
from stirfall.desktop.printing.label_pages import label_job
from stirfall.desktop.printing.preview_model import PreviewModel
from stirfall.desktop.printing.sheet_choice import USUAL_SHEET, SheetForm, read_sheet
from stirfall.reporting.label_sheet import LabelSheet
from stirfall.reporting.labels import PLANNED, RESIDUE, SHELF, make_label

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.records import Jar
    from stirfall.desktop.workspace import Workspace

GROUP_TITLES = {SHELF: "on the shelf", PLANNED: "planned", RESIDUE: "residue"}


@dataclass(frozen=True)
class JarLine:
    """One jar that a label can be printed for."""

    jar: Jar
    group: str
    is_ticked: bool

    @property
    def text(self) -> str:
        """The jar with where it stands."""
        return f"{self.jar.id} \u00b7 {GROUP_TITLES[self.group]}, lot {self.jar.lot_id}"


@dataclass(frozen=True)
class LabelsState:
    """What the dialog shows; ``sheet`` is None, and ``problem`` says why, while the entries make no sheet."""

    jars: tuple[JarLine, ...] = ()
    form: SheetForm = USUAL_SHEET
    sheet: LabelSheet | None = None
    start_at: int = 1
    cut_lines: bool = False
    problem: Reason | None = None

    @property
    def ticked(self) -> tuple[Jar, ...]:
        """The jars that labels are printed for."""
        return tuple(line.jar for line in self.jars if line.is_ticked)

    def is_whole(self, group: str) -> bool:
        """Whether every jar of a group is ticked, and the group holds one."""
        lines = [line for line in self.jars if line.group == group]
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
        jars = _lines(self._campaign, jar_ids) if self._campaign is not None else ()
        self.state = LabelsState(jars=jars)
        self._update(self.state)

    # -- intents -----------------------------------------------------------------------------------

    def tick(self, jar_id: str, ticked: bool) -> None:
        """Print a label for this jar, or none."""
        self._tick({jar_id}, ticked)

    def tick_group(self, group: str, ticked: bool) -> None:
        """Print labels for all jars of a group, or none of them."""
        self._tick((line.jar.id for line in self.state.jars if line.group == group), ticked)

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

    def _tick(self, jar_ids: Iterable[str], ticked: bool) -> None:
        meant = set(jar_ids)
        lines = tuple(replace(line, is_ticked=ticked) if line.jar.id in meant else line for line in self.state.jars)
        self._update(replace(self.state, jars=lines))

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
        labels = [make_label(campaign, jar, decimal=self.workspace.decimal) for jar in state.ticked]
        title = f"Labels: {campaign.settings.title}"
        try:
            job = label_job(labels, state.sheet, start_at=state.start_at, cut_lines=state.cut_lines, title=title)
        except InputError as error:
            return None, Reason(error.code, dict(error.params))
        return job, None


def _lines(campaign: CampaignState, jar_ids: tuple[str, ...]) -> tuple[JarLine, ...]:
    """Return all jars that stand somewhere, those of ``jar_ids`` ticked, or all on the shelf."""
    groups = ((SHELF, campaign.shelf), (PLANNED, campaign.planned_jars), (RESIDUE, campaign.residues))
    wanted = set(jar_ids)
    every = [(group, jar) for group, jars in groups for jar in jars]
    return tuple(JarLine(jar, group, jar.id in wanted if wanted else group == SHELF) for group, jar in every)
