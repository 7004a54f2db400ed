"""Splitting a lot without its widgets: fills in the form, reads it, foretells film indices, makes the jars."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.errors import StirfallError
from stirfall.desktop.notifier import Notice
from stirfall.desktop.shelf.split_form import new_split_form, read_split
from stirfall.desktop.shelf.state import JarFilm

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.cancel import CancelToken
    from stirfall.desktop.shelf.split_form import ReadSplit, SplitForm
    from stirfall.desktop.workspace import Workspace

_SLOT = "shelf split films"
_A_DAY = timedelta(days=1)


class SplitModel(QObject):
    """What the form of a split asks for.

    Signals:
        films_foretold(dict): film index by the id of a jar that would be made.
        labels_wanted(tuple): labels of these jars, by their ids, shall be printed.
    """

    films_foretold = Signal(object)
    labels_wanted = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace

    @property
    def may_plan(self) -> bool:
        """Whether a later start may be planned for the campaign's metal."""
        document = self.workspace.document
        return document is not None and document.state.settings.material.may_lengthen_age

    def new(self, lot_id: str = "") -> SplitForm:
        """Return the form for the next split."""
        assert self.workspace.document is not None
        document = self.workspace.document
        return new_split_form(document.state, document.now(), lot_id, self.workspace.decimal)

    def read(self, form: SplitForm) -> ReadSplit:
        """Return what a form means at this moment."""
        assert self.workspace.document is not None
        return read_split(form, self.workspace.document.state, self.workspace.document.now())

    def foretell(self, read: ReadSplit) -> None:
        """Work out the film index of each jar on that evening, else after a day; of some metals never."""
        document = self.workspace.document
        if document is None or not self.may_plan:
            return
        state = document.state
        self.workspace.submit(lambda token: _films(state, read, token), self.films_foretold.emit, slot=_SLOT)

    def split(self, form: SplitForm) -> tuple[str, ...]:
        """Make the jars in one step that one undo takes back; return their ids, none where it was refused."""
        command = self.read(form).command
        if command is None or self.workspace.execute(command, origin=self) is None:
            return ()
        ids = tuple(jar.id for jar in command.jars)
        planned = sum(jar.planned for jar in command.jars)
        text = f"Lot {command.lot_id} is split: {made_text(len(ids) - planned, planned)}."
        self.workspace.notify(Notice("info", text, "Print labels", lambda: self._want_labels(ids)))
        return ids

    def _want_labels(self, ids: tuple[str, ...]) -> None:
        document = self.workspace.document
        there = tuple(one for one in ids if document is not None and document.state.jar(one) is not None)
        if there:
            self.labels_wanted.emit(there)


def made_text(started: int, planned: int) -> str:
    """Say how many jars were started and how many are planned: "6 jars started, 3 planned"."""
    jars = "1 jar" if started == 1 else f"{started} jars"
    if not planned:
        return f"{jars} started"
    if not started:
        return f"{planned} {'jar' if planned == 1 else 'jars'} planned"
    return f"{jars} started, {planned} planned"


def _films(state: CampaignState, read: ReadSplit, token: CancelToken) -> dict[str, JarFilm]:
    from stirfall.session.film import film_of_jar

    films: dict[str, JarFilm] = {}
    for each in read.jars:
        token.raise_if_cancelled()
        at = each.at if each.age_h is not None else each.jar.started_at + _A_DAY
        try:
            films[each.jar.id] = JarFilm(film_of_jar(state, each.jar, at))
        except StirfallError:
            continue
    return films
