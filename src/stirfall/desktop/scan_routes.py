"""Where a scan leads: a jar to the bench form, an attempt to the ledger, a lot to the shelf, an act to the run."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from stirfall.bench.factors import Conditions
from stirfall.desktop.notifier import Notice, NoticeKind
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.planning.limits_exposure import jar_findings
from stirfall.reporting.sentences import sentence

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from stirfall.bench.records import Jar
    from stirfall.bench.scan_codes import ScanCode
    from stirfall.planning.findings import Finding
    from stirfall.session.document import Document


class ScanRoutes(QObject):
    """Does what a scanned code means in the open session, and says in words what came of it."""

    def __init__(self, workspace: Workspace, pages: Mapping[str, QWidget], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._workspace = workspace
        self._pages = pages

    def follow(self, code: ScanCode) -> None:
        """Go where the code leads."""
        document = self._workspace.document
        if document is None:
            self._say("warn", "scan.no_session")
            return
        routes: dict[str, Callable[[Document, str], None]] = {
            "jar": self._to_jar,
            "attempt": self._to_attempt,
            "lot": self._to_lot,
            "act": self._to_act,
        }
        routes[code.kind](document, code.value)

    def misread(self) -> None:
        """Say that a scan was read wrongly."""
        self._say("warn", "scan.misread")

    def _say(self, kind: NoticeKind, code: str, **params: object) -> None:
        self._workspace.notify(Notice(kind, sentence(code, params, decimal=self._workspace.decimal)))

    def _words(self, finding: Finding) -> str:
        return sentence(finding.code, finding.params, decimal=self._workspace.decimal)

    # -- jars --------------------------------------------------------------------------------------

    def _to_jar(self, document: Document, jar_id: str) -> None:
        state = document.state
        jar = state.jar(jar_id)
        if jar is None:
            self._say("warn", "scan.jar_unknown", jar=jar_id)
        elif state.open_run is not None:
            self._compare(jar, state.open_run.jar_id)
        elif not self._refuse(document, jar):
            self._workspace.request_form(FormRequest(Conditions(), jar.id, f"the scanned label of jar {jar.id}"))
            self._say("info", "scan.jar", jar=jar.id, lot=jar.lot_id)

    def _compare(self, jar: Jar, jar_of_run: str | None) -> None:
        """A run is open: say whether this is its jar; the run itself stays as it is."""
        self._workspace.jar_scanned.emit(jar.id)
        if jar_of_run is None:
            self._say("warn", "scan.run_without_jar", jar=jar.id)
        elif jar.id == jar_of_run:
            self._say("info", "scan.same_jar", jar=jar.id)
        else:
            self._say("warn", "scan.other_jar", jar=jar.id, of_run=jar_of_run)

    def _refuse(self, document: Document, jar: Jar) -> bool:
        """Say why a jar is not for an attempt now; returns whether it is not."""
        if jar.emptied_at is not None:
            self._say("warn", "scan.jar_gone", jar=jar.id, day=jar.emptied_at.astimezone().date().isoformat())
        elif jar.is_residue:
            self._say("warn", "scan.jar_residue", jar=jar.id)
        elif jar.planned:
            start = f"{jar.started_at.astimezone():%Y-%m-%d %H:%M}"
            self._say("warn", "scan.jar_planned", jar=jar.id, start=start)
        else:
            findings = jar_findings(document.state, jar, document.now())
            blocks = [each for each in findings if each.level == "block"]
            if blocks:
                self._say("warn", "scan.jar_blocked", jar=jar.id, why=" ".join(map(self._words, blocks)))
            return bool(blocks)
        return True

    # -- the others --------------------------------------------------------------------------------

    def _to_attempt(self, document: Document, number: str) -> None:
        found = [each for each in document.state.attempts if each.number == int(number)]
        if not found:
            self._say("warn", "scan.attempt_unknown", number=number)
            return
        self._workspace.set_in_hand(InHand.of_attempt(found[-1]), origin=self)
        self._workspace.show_page("attempts")
        self._say("info", "scan.attempt", number=number)

    def _to_lot(self, document: Document, lot_id: str) -> None:
        if document.state.lot(lot_id) is None:
            self._say("warn", "scan.lot_unknown", lot=lot_id)
            return
        self._workspace.show_page("shelf")
        show_lot = getattr(getattr(self._pages.get("shelf"), "model", None), "show_lot", None)
        if show_lot is not None:
            show_lot(lot_id)
        self._say("info", "scan.lot", lot=lot_id)

    def _to_act(self, document: Document, key: str) -> None:
        if document.state.open_run is None:
            self._say("warn", "scan.no_run")
            return
        self._workspace.request_act(key)
