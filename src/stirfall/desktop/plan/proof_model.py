"""The view-model of "Proof": plans one, starts it, says how it stands, and gives it up."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from stirfall.bench.records import find_factor
from stirfall.desktop.notifier import Notice
from stirfall.desktop.odds.phrases import joined
from stirfall.desktop.plan.proof_asking import Asked, Chances, work_out_chances, work_out_standings
from stirfall.desktop.plan.proof_state import IN_HAND, OVER, PLANNING, RECOMMENDED, RUNNING, ProofState
from stirfall.desktop.plan.tonight_rows import chance_of
from stirfall.desktop.workspace import FormRequest, InHand, Workspace
from stirfall.reporting.sentences import error_sentence, sentence
from stirfall.session.commands import Changes, EndProof, StartProof

if TYPE_CHECKING:
    from stirfall.bench.campaign import CampaignState
    from stirfall.bench.factors import Conditions
    from stirfall.planning.proof_outlook import Outlook
    from stirfall.session.analysis import Analysis
    from stirfall.session.proving import ProofStanding

_STANDING_SLOT, _CHANCE_SLOT = "proof standing", "proof chances"
_CLAIMS, _CONFIDENCES = (50, 99), (50, 99)


class ProofModel(QObject):
    """Holds what the section shows; works out chances only while somebody looks.

    Signals:
        changed(ProofState).
    """

    changed = Signal(object)

    def __init__(self, workspace: Workspace, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.workspace = workspace
        self.state = ProofState()
        self._is_shown = False
        self._forget()
        workspace.document_opened.connect(self._on_document_opened)
        workspace.document_changed.connect(self._on_document_changed)
        workspace.analysis_started.connect(self.refresh)
        workspace.analysis_finished.connect(self._ask)
        workspace.refinement_failed.connect(self._ask)
        workspace.in_hand_changed.connect(self._on_in_hand)
        workspace.theme_changed.connect(self.refresh)
        self._on_document_opened()

    def _forget(self) -> None:
        self._asked, self._source, self._chosen = Asked(), RECOMMENDED, ""
        self._typed: dict[str, str] = {}
        self._standings: tuple[ProofStanding, ...] = ()
        self._chances = Chances()
        self._answered: tuple[Analysis, str, Asked] | None = None
        self._is_asking = self._confirming = self._giving_up = self._plans_anew = False
        self._reason = ""
        self._problem = ""

    def _on_document_opened(self) -> None:
        self._forget()
        self._ask_standings()
        self.refresh()

    def _on_document_changed(self, changes: Changes) -> None:
        if changes.proofs:
            self._confirming = self._giving_up = self._plans_anew = False
            self._reason = ""
        self._ask_standings()
        self.refresh()

    def _on_in_hand(self, _in_hand: InHand, _origin: object) -> None:
        if self._source == IN_HAND and self._is_shown:
            self.choose_source(IN_HAND)

    def set_shown(self, shown: bool) -> None:
        """Begin to work, or rest while another page is in front."""
        self._is_shown = shown
        if shown:
            self._on_in_hand(self.workspace.in_hand, None)
            self._ask()
            self.refresh()

    # -- in the background -------------------------------------------------------------------------

    def _ask_standings(self) -> None:
        document = self.workspace.document
        if document is None or not document.state.proofs:
            self._standings = ()
            self._ask()
            return
        job = partial(work_out_standings, document.state, tuple(document.corrections()))
        self.workspace.submit(job, self._take_standings, self._failed, slot=_STANDING_SLOT)

    def _take_standings(self, standings: tuple[ProofStanding, ...]) -> None:
        self._standings = standings
        self._ask()
        self.refresh()

    def _ask(self, *_unused: object) -> None:
        """Ask for chances, of the refined answer, unless just this was asked."""
        document, analysis = self.workspace.document, self.workspace.analysis
        if document is None or analysis is None or not self._is_shown:
            return
        if self.workspace.is_stale or self.workspace.is_refining:
            return
        running = self.running
        about = "" if running is None else f"{running.proof.id} {running.made} {running.failures}"
        # Which analysis it was, not what it holds: arrays cannot be compared like that.
        known = self._answered
        if known is not None and known[0] is analysis and known[1:] == (about, self._asked):
            return
        self._answered = (analysis, about, self._asked)
        self._is_asking = True
        self.refresh()
        job = partial(work_out_chances, analysis, running, self._asked)
        self.workspace.submit(job, self._take_chances, self._failed, slot=_CHANCE_SLOT)

    def _take_chances(self, chances: Chances) -> None:
        self._chances, self._is_asking, self._problem = chances, False, ""
        self.refresh()

    def _failed(self, error: Exception) -> None:
        self._is_asking = False
        self._problem = sentence("proof_page.failed")
        self.workspace.notifier.fail(error)
        self.refresh()

    # -- what there is -----------------------------------------------------------------------------

    @property
    def newest(self) -> ProofStanding | None:
        """The newest proof, however it stands."""
        return self._standings[-1] if self._standings else None

    @property
    def running(self) -> ProofStanding | None:
        """The proof that takes attempts now."""
        newest = self.newest
        return newest if newest is not None and newest.verdict == "open" else None

    def refresh(self, *_unused: object) -> None:
        """Show what is known now."""
        new = self._built()
        if new != self.state:
            self.state = new
            self.changed.emit(new)

    def _built(self) -> ProofState:
        document = self.workspace.document
        if document is None:
            return ProofState()
        is_stale = self.workspace.is_stale or self.workspace.is_refining or self._is_asking
        base = ProofState(can_change=not document.read_only, is_stale=is_stale, message=self._problem)
        newest = self.newest
        if newest is None or (self._plans_anew and self.running is None):
            return self._planning(base, document.state)
        return self._standing(base, newest)

    def _planning(self, base: ProofState, state: CampaignState) -> ProofState:
        from stirfall.desktop.plan.proof_building import choice_of, earlier_line, key_of, recipe_lines
        from stirfall.reporting.proof_words import risk_lines

        decimal, choices = self.workspace.decimal, self._chances.choices
        problem = self._chances.problem
        found = () if choices is None else choices.outlooks
        chosen = self._chosen_outlook(found)
        message = base.message
        if problem is not None:
            message = error_sentence(problem, decimal=decimal)
        elif choices is None and not message:
            message = sentence("proof_page.empty")
        return replace(
            base,
            stage=PLANNING,
            message=message,
            source=self._source,
            sources=((RECOMMENDED, "Recommended recipe"), (IN_HAND, "Conditions in hand")),
            recipe=()
            if choices is None
            else recipe_lines(choices.recipe, choices.tolerances, self._typed, state, self.workspace.shown),
            filled=""
            if choices is None or not choices.filled
            else sentence("proof_page.filled", {"names": joined(list(choices.filled))}),
            claim=self._asked.claim,
            confidence=self._asked.confidence,
            choices=tuple(choice_of(each, decimal) for each in found),
            chosen="" if chosen is None else key_of(chosen),
            risks=() if chosen is None else risk_lines(chosen.plan, decimal=decimal),
            asks=self._confirming and chosen is not None,
            earlier=tuple(earlier_line(each, decimal) for each in reversed(self._standings)),
        )

    def _chosen_outlook(self, found: tuple[Outlook, ...]) -> Outlook | None:
        from stirfall.desktop.plan.proof_building import key_of

        return next((each for each in found if key_of(each) == self._chosen), found[0] if found else None)

    def _standing(self, base: ProofState, newest: ProofStanding) -> ProofState:
        from stirfall.desktop.plan import proof_building as build
        from stirfall.reporting.proof_words import (
            chance_lines,
            interval_line,
            remark_lines,
            rule_line,
            verdict_line,
        )

        decimal, theme, state = self.workspace.decimal, self.workspace.theme, self.workspace.document
        assert state is not None, "a proof stands in a document"
        running = self.running
        outlook = self._chances.from_here if running is not None else None
        words = () if outlook is None else chance_lines(outlook, decimal=decimal)
        proof = newest.proof
        return replace(
            base,
            stage=RUNNING if running is not None else OVER,
            recipe=build.recipe_lines(proof.recipe, proof.tolerances, {}, state.state, self.workspace.shown),
            title=build.title_of(newest),
            large=build.large_words(newest),
            verdict=verdict_line(newest, decimal=decimal),
            rule=rule_line(newest.plan, decimal=decimal),
            chance=None if outlook is None else chance_of(outlook.chance),
            chance_words=words,
            interval=interval_line(newest.interval, decimal=decimal),
            remarks=remark_lines(newest, decimal=decimal),
            lines=tuple(build.line_of(each, theme, decimal) for each in newest.marked),
            marks=build.marks_of(newest),
            steps=build.steps_of(newest),
            gives_up=self._giving_up and running is not None,
            reason=self._reason,
            earlier=tuple(build.earlier_line(each, decimal) for each in reversed(self._standings[:-1])),
        )

    # -- planning ----------------------------------------------------------------------------------

    def _want(self, asked: Asked) -> None:
        self._confirming = False
        self._asked = asked
        self._ask()
        self.refresh()

    def choose_source(self, source: str) -> None:
        """Prove the recommended recipe, or the conditions that the odds answer for."""
        in_hand: Conditions | None = self.workspace.in_hand.conditions
        recipe = in_hand if source == IN_HAND and in_hand else None
        if recipe != self._asked.recipe:
            self._typed = {}
        self._source = source
        self._want(replace(self._asked, recipe=recipe))

    def set_claim(self, per_cent: int) -> None:
        """Show a reliability of so many per cent."""
        self._want(replace(self._asked, claim=min(max(per_cent, _CLAIMS[0]), _CLAIMS[1])))

    def set_confidence(self, per_cent: int) -> None:
        """Show it with a confidence of so many per cent."""
        self._want(replace(self._asked, confidence=min(max(per_cent, _CONFIDENCES[0]), _CONFIDENCES[1])))

    def choose_plan(self, key: str) -> None:
        """Take one of the plans."""
        self._chosen, self._confirming = key, False
        self.refresh()

    def type_width(self, name: str, text: str) -> None:
        """Let attempts lie so far from the recipe."""
        self._typed[name] = text
        self._confirming = False
        self.refresh()

    def ask_to_start(self) -> None:
        """Ask once more, with what follows from it, before the rule is locked."""
        self._confirming = self.state.can_start
        self.refresh()

    def leave_it(self) -> None:
        """Neither start nor give up."""
        self._confirming = self._giving_up = False
        self.refresh()

    def start(self) -> bool:
        """Start the chosen plan at the recipe; its rule is then locked."""
        from stirfall.desktop.plan.proof_building import read_width
        from stirfall.planning.proof import proof_of

        choices, document = self._chances.choices, self.workspace.document
        if choices is None or document is None or not self.state.can_start:
            return False
        outlook = self._chosen_outlook(choices.outlooks)
        assert outlook is not None, "what can be started is chosen"
        widths = dict(choices.tolerances)
        for name, text in self._typed.items():
            if name in choices.recipe:
                width, _ = read_width(text, find_factor(document.state.factors, name).unit, self.workspace.shown)
                assert width is not None, "what can be started was read"
                widths[name] = width
        command = StartProof(proof_of(outlook.plan, choices.recipe, widths))
        self._confirming = False
        if self.workspace.execute(command, origin=self) is None:
            self.refresh()
            return False
        self._typed = {}
        self.workspace.notify(Notice("info", sentence("proof_page.begun"), "Undo", self.workspace.undo))
        return True

    def plan_another(self) -> None:
        """Plan the next proof; the one that is over stands among the earlier ones."""
        self._plans_anew = True
        self._ask()
        self.refresh()

    # -- while it runs -----------------------------------------------------------------------------

    def fill_in(self) -> bool:
        """Put the recipe into the bench form, marked for the proof."""
        running = self.running
        if running is None or not self.state.can_change:
            return False
        recipe, proof_id = running.proof.recipe, running.proof.id
        request = FormRequest(recipe, note_origin=sentence("proof_page.origin"), planned=True, proof_id=proof_id)
        self.workspace.request_form(request)
        return True

    def look_at(self, place: int) -> None:
        """Take a marked attempt in hand: the odds pane then answers for it."""
        document = self.workspace.document
        if document is not None and 0 <= place < len(self.state.lines):
            attempt = document.attempt(self.state.lines[place].attempt_id)
            self.workspace.set_in_hand(InHand.of_attempt(attempt), origin=self)

    def ask_to_give_up(self) -> None:
        """Ask why before the proof is given up."""
        self._giving_up = self.running is not None and self.state.can_change
        self.refresh()

    def type_reason(self, text: str) -> None:
        """Say why it is given up."""
        self._reason = text
        self.refresh()

    def give_up(self) -> bool:
        """Give the running proof up, with the reason that was typed."""
        running = self.running
        if running is None:
            return False
        if self.workspace.execute(EndProof(running.proof.id, self._reason), origin=self) is None:
            return False
        self.workspace.notify(Notice("info", sentence("proof_page.ended"), "Undo", self.workspace.undo))
        return True
