"""The shelf without its widgets: live ages, forecasts and films from the background, and jars in hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from stirfall.bench.cancel import CancelToken
from stirfall.bench.errors import StirfallError
from stirfall.bench.factors import Conditions
from stirfall.desktop.forecasting import forecasts
from stirfall.desktop.notifier import Notice
from stirfall.desktop.shelf.board import OPEN_FIRST, SORTABLE, ordered
from stirfall.desktop.shelf.forms_model import FormsModel
from stirfall.desktop.shelf.planned import planned_rows
from stirfall.desktop.shelf.residue_note import handed_over
from stirfall.desktop.shelf.state import JarFilm, JarRow, ShelfState, class_warning, jar_rows, residue_rows
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.planning.limits_exposure import residue_findings
from stirfall.reporting.sentences import sentence
from stirfall.session.commands import ChangeJar, Changes, EmptyJar, StartJar

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from stirfall.bench.campaign import CampaignState
    from stirfall.session.analysis import Analysis
    from stirfall.session.forecast import JarForecast

CLOCK_INTERVAL_MS = 60_000
_FORECASTS, _FILMS = "shelf forecasts", "shelf films"


class ShelfModel(QObject):
    """Holds what the shelf shows.

    Signals:
        changed(ShelfState or None): what to show; None without a session.
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.forms = FormsModel(workspace, self)
        self.state: ShelfState | None = None
        self._selected: str | None = None
        self._pair: tuple[str, str] | None = None
        self._first: str | None = None
        self._forecasts: Mapping[str, JarForecast] = {}
        self._lot = ""
        self._order, self._is_reversed = OPEN_FIRST, False
        self._films: dict[str, JarFilm] = {}
        self._timer = QTimer(self)
        self._timer.setInterval(CLOCK_INTERVAL_MS)
        self._timer.timeout.connect(self.tick)
        self._timer.start()
        self.forms.jar_started.connect(self.select)
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._foretell)
        workspace.in_hand_changed.connect(self._on_in_hand_changed)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _on_document_opened(self) -> None:
        self._selected, self._pair, self._first = None, None, None
        self._forecasts, self._films = {}, {}
        self._lot, self._order, self._is_reversed = "", OPEN_FIRST, False
        self.state = None
        if self.workspace.document is None:
            self.changed.emit(None)
            return
        self.refresh()
        self._work_out_films()
        if self.workspace.analysis is not None:
            self._foretell(self.workspace.analysis)

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.shelf or changes.settings or changes.factors or changes.attempts:
            self.refresh()
        if changes.shelf or changes.settings:
            self._work_out_films()
            self._drop_blocked()

    def tick(self) -> None:
        """The clock moved: ages, films and forecasts are worked out again."""
        self.refresh()
        self._work_out_films()
        if self.workspace.analysis is not None and not self.workspace.is_stale:
            self._foretell(self.workspace.analysis)

    def refresh(self, *_unused: object) -> None:
        """Work out again what the shelf shows."""
        document = self.workspace.document
        if document is None:
            return
        campaign, decimal, now = document.state, self.workspace.decimal, document.now()
        rows = jar_rows(campaign, now, decimal, films=self._films, forecasts=self._forecasts)
        ageing = len(rows)
        if campaign.lot(self._lot) is None:
            self._lot = ""
        rows = tuple(row for row in rows if self._lot in ("", row.jar.lot_id))
        rows = ordered(rows, self._order, self._forecasts, is_reversed=self._is_reversed)
        residues, planned = residue_rows(campaign, now, decimal), planned_rows(campaign, now, decimal)
        self._forget_gone({row.jar.id for row in (*rows, *residues)} | {row.jar.id for row in planned})
        new = ShelfState(
            rows=rows,
            lots=campaign.lots,
            selected=self._selected,
            warning=class_warning(campaign.settings.material),
            is_stale=self.workspace.is_stale,
            chances_rest_on=next((each.now for each in self._forecasts.values() if each.now is not None), None),
            can_change=not document.read_only,
            now=now,
            decimal=decimal,
            residues=residues,
            reminder=residue_findings(campaign, now),
            pair=self._pair,
            first=self._first,
            planned=planned,
            ageing=ageing,
            lots_ageing=frozenset(jar.lot_id for jar in campaign.shelf),
            lot=self._lot,
            order=self._order,
            is_reversed=self._is_reversed,
        )
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _forget_gone(self, known: set[str]) -> None:
        """Let go of chosen jars that are not shown any more."""
        if self._selected not in known:
            self._selected = None
        if self._pair is not None and not known.issuperset(self._pair):
            self._pair = None
        if self._first not in known:
            self._first = None

    def show_lot(self, lot_id: str) -> None:
        """Show the jars of one lot, "" for those of all; a lot that is unknown shows all."""
        self._lot = lot_id
        self.refresh()

    def sort_by(self, order: str) -> None:
        """Let the jars stand by a column, once more to turn it round; "" for what to open first."""
        self._is_reversed = order in SORTABLE and order == self._order and not self._is_reversed
        self._order = order if order in SORTABLE else OPEN_FIRST
        self.refresh()

    # -- from the background -----------------------------------------------------------------------

    def _foretell(self, analysis: Analysis) -> None:
        document = self.workspace.document
        if self.state is None or document is None:
            return
        campaign, now = document.state, document.now()
        self.workspace.submit(
            lambda token: forecasts(analysis, campaign, now, token), self._take_forecasts, slot=_FORECASTS
        )

    def _take_forecasts(self, foretold: Mapping[str, JarForecast]) -> None:
        self._forecasts = foretold
        self.refresh()

    def _work_out_films(self) -> None:
        document = self.workspace.document
        if document is None:
            return
        campaign, now = document.state, document.now()
        self.workspace.submit(lambda token: _films(campaign, now, token), self._take_films, slot=_FILMS)

    def _take_films(self, films: dict[str, JarFilm]) -> None:
        self._films = films
        self.refresh()

    # -- jars in hand ------------------------------------------------------------------------------

    def choose(self, jar_ids: Sequence[str]) -> None:
        """Take what is chosen in the tables: one jar in hand, or two to compare."""
        if self._first is not None and len(jar_ids) == 1 and jar_ids[0] != self._first:
            first, self._first = self._first, None
            self.select(jar_ids[0])
            self.workspace.request_film(first, jar_ids[0])
            return
        if len(jar_ids) == 1:
            self.select(jar_ids[0])
            return
        self._first = None
        self._pair = (jar_ids[0], jar_ids[1]) if len(jar_ids) == 2 else None
        self._selected = None
        self.refresh()

    def select(self, jar_id: str | None) -> None:
        """Take a jar in hand: the odds pane then answers for its ages. A lot that hides it gives way."""
        if jar_id == self._selected and self._pair is None:
            return
        document = self.workspace.document
        jar = document.state.jar(jar_id) if document is not None else None
        if jar is not None and self._lot not in ("", jar.lot_id):
            self._lot = ""
        self._selected, self._pair = jar_id, None
        self.refresh()
        self.push_in_hand()

    def push_in_hand(self) -> None:
        """Show the other views the conditions of the selected jar, unless it must stay closed."""
        row = self.state.selected_row if self.state else None
        if row is not None and not row.is_blocked and not row.jar.is_residue:
            self.workspace.set_in_hand(_in_hand(row), origin=self)

    def _drop_blocked(self) -> None:
        """Let go of a jar that must not be opened any more."""
        row = self.state.selected_row if self.state else None
        held = self.workspace.in_hand
        if row is not None and row.is_blocked and held.source == "jar" and held.jar_id == row.jar.id:
            self.workspace.set_in_hand(InHand(Conditions(), "form"), origin=self)

    def _on_in_hand_changed(self, in_hand: InHand, origin: object) -> None:
        if origin is not self and in_hand.source != "jar" and self._selected is not None:
            self._selected = None
            self.refresh()

    def use_on_bench(self) -> bool:
        """Put the selected jar into the bench form; one that must stay closed is refused with its reason."""
        row = self.state.selected_row if self.state else None
        if row is None or row.jar.is_residue:
            return False
        if row.is_blocked:
            self.workspace.notify(Notice("warn", " ".join(row.said)))
            return False
        self.workspace.request_form(FormRequest(Conditions(), row.jar.id, f"jar {row.jar.id} from the shelf"))
        return True

    def compare(self) -> None:
        """Compare the film of the two chosen jars, or wait for the second one."""
        if self.state is None:
            return
        if self.state.pair is not None:
            self.workspace.request_film(*self.state.pair)
        elif self._selected is not None:
            self._first = None if self._first else self._selected
            self.refresh()

    @property
    def _chosen_id(self) -> str | None:
        """The jar that is chosen, whatever it holds."""
        state = self.state
        row = (state.selected_row or state.selected_plan) if state else None
        return row.jar.id if row is not None else None

    def take_off(self) -> bool:
        """Take the chosen jar off the shelf for good, or drop what was planned; it can be undone."""
        document, jar_id = self.workspace.document, self._chosen_id
        if document is None or jar_id is None:
            return False
        jar = document.state.jar(jar_id)
        if self.workspace.execute(EmptyJar(jar_id, document.now()), origin=self) is None:
            return False
        was_planned = jar is not None and jar.planned
        told = f"Jar {jar_id} is not planned any more." if was_planned else f"Jar {jar_id} is off the shelf."
        self.workspace.notify(Notice("info", told, "Undo", self.workspace.undo))
        return True

    def start_planned(self) -> bool:
        """Start the chosen planned jar now, and say what that changes."""
        document, row = self.workspace.document, self.state.selected_plan if self.state else None
        if document is None or row is None:
            return False
        if self.workspace.execute(StartJar(row.jar.id, document.now()), origin=self) is None:
            return False
        told = f"Jar {row.jar.id} has started, {row.apart or 'as planned'}."
        self.workspace.notify(Notice("info", told, "Undo", self.workspace.undo))
        self.push_in_hand()  # it is chosen on the board now, and the odds answer for it
        return True

    def hand_over(self, to: str) -> bool:
        """Note that the chosen jar of residue went to the waste route, and to whom; it then leaves the register."""
        document, row = self.workspace.document, self.state.selected_row if self.state else None
        if document is None or row is None or not row.jar.is_residue:
            return False
        jar = handed_over(row.jar, document.now(), to)
        if self.workspace.execute(ChangeJar(jar, sentence("residue.handed_reason")), origin=self) is None:
            return False
        told = sentence("residue.handed", {"jar": jar.id})
        self.workspace.notify(Notice("info", told, "Undo", self.workspace.undo))
        return True

    def request_run(self) -> None:
        """Ask for the guided run with the chosen jar; one that must stay closed is refused with its reason."""
        row = self.state.selected_row if self.state else None
        if row is None or row.jar.is_residue:
            return
        if row.is_blocked:
            self.workspace.notify(Notice("warn", " ".join(row.said)))
            return
        self.workspace.request_run(row.jar.id)


def _in_hand(row: JarRow) -> InHand:
    return InHand(row.conditions, "jar", f"Jar {row.jar.id}", lot_id=row.jar.lot_id, jar_id=row.jar.id)


def _films(campaign: CampaignState, now: datetime, token: CancelToken) -> dict[str, JarFilm]:
    """Return the film index of each jar that ages now, or what to enter before it has one."""
    from stirfall.session.film import film_gaps, film_of_jar

    films: dict[str, JarFilm] = {}
    for jar in campaign.shelf:
        token.raise_if_cancelled()
        try:
            film = film_of_jar(campaign, jar, now)
        except StirfallError:
            continue
        films[jar.id] = JarFilm(film, () if film is not None else film_gaps(campaign, jar))
    return films
