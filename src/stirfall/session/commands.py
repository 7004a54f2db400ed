"""Commands: every way in which a session can change, as frozen values.

``Document.execute`` is the one door; it turns a command into one transaction and one named undo entry.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from stirfall.bench.comparisons import Comparison
from stirfall.bench.factors import Factor
from stirfall.bench.issued import ChangeMark, IssuedRecipe
from stirfall.bench.outcomes import Outcome
from stirfall.bench.plans import EveningPlan
from stirfall.bench.proofs import Proof
from stirfall.bench.records import Attempt, CampaignSettings, Jar, Lot
from stirfall.bench.running import Run, RunEvent


@dataclass(frozen=True)
class AddLot:
    """Register a lot of crude."""

    lot: Lot


@dataclass(frozen=True)
class AddJar:
    """Put a jar on the shelf."""

    jar: Jar


@dataclass(frozen=True)
class SplitLot:
    """Put several jars of one lot on the shelf in one step, some of them perhaps planned for later."""

    lot_id: str
    jars: tuple[Jar, ...]


@dataclass(frozen=True)
class StartJar:
    """Start a planned jar: its age runs from ``at``."""

    jar_id: str
    at: datetime


@dataclass(frozen=True)
class EmptyJar:
    """Take a jar off the shelf for good."""

    jar_id: str
    at: datetime


@dataclass(frozen=True)
class InspectJar:
    """Note how the surface of a jar's metal looks; ``reason`` is needed to take back an alarming look."""

    jar_id: str
    look: str
    at: datetime
    reason: str = ""


@dataclass(frozen=True)
class ChangeJar:
    """Correct what is known of a jar (the jar with the same id); old values, time and reason stay in the file."""

    jar: Jar
    reason: str


@dataclass(frozen=True)
class ChangeLot:
    """Correct what is known of a lot (the lot with the same id); old values, time and reason stay in the file."""

    lot: Lot
    reason: str


@dataclass(frozen=True)
class RecordAttempt:
    """Record one attempt.

    ``attempt.id`` may be empty and ``attempt.number`` 0: the document then gives both, and the recording time.
    ``empties_jar`` takes the jar off the shelf in the same step. A saved draft is cleared. ``attempt.run_id`` names
    the guided run that it came from, which then knows the attempt.
    """

    attempt: Attempt
    empties_jar: bool = False


@dataclass(frozen=True)
class CorrectAttempt:
    """Change fields of a recorded attempt; the old values, the time and the reason stay in the file.

    ``changes`` maps field names of ``Attempt`` (``conditions`` as a whole Conditions value) to new values.
    """

    attempt_id: str
    changes: Mapping[str, object]
    reason: str


@dataclass(frozen=True)
class StrikeAttempt:
    """Strike out an attempt, with a reason; it no longer counts and is never deleted."""

    attempt_id: str
    reason: str


@dataclass(frozen=True)
class RestoreAttempt:
    """Let a struck-out attempt count again."""

    attempt_id: str


@dataclass(frozen=True)
class ChangeSettings:
    """Replace the campaign settings."""

    settings: CampaignSettings


@dataclass(frozen=True)
class ChangeFactors:
    """Replace the list of factors (added, hidden, reordered, new ranges); recorded attempts stay as they are.

    A factor that recorded attempts use cannot be dropped or change its unit or kind, only be hidden.
    """

    factors: tuple[Factor, ...]


@dataclass(frozen=True)
class TickChecklist:
    """Keep that the start checklist of a local day was ticked."""

    day: str
    keys: tuple[str, ...]


@dataclass(frozen=True)
class AttachPhoto:
    """Keep a photo with an attempt, inside the session file.

    ``data`` is the copy that is shown, scaled down where it was large; ``original`` the file as it was, or nothing.
    """

    attempt_id: str
    name: str
    media_type: str
    data: bytes = field(repr=False)
    original: bytes = field(repr=False, default=b"")


@dataclass(frozen=True)
class AttachLog:
    """Keep what a temperature logger wrote during an attempt: pairs of moment and °C, in rising time."""

    attempt_id: str
    name: str
    points: tuple[tuple[datetime, float], ...] = field(repr=False)


@dataclass(frozen=True)
class SetAnchor:
    """Keep a photo as the example of one class of outcome; an older one of the same class is replaced."""

    outcome: Outcome
    name: str
    media_type: str
    data: bytes = field(repr=False)


@dataclass(frozen=True)
class GradeAgain:
    """Grade an attempt a second time, blind; the first grade stays as it is."""

    attempt_id: str
    outcome: Outcome


@dataclass(frozen=True)
class BeginRun:
    """Begin a guided run; ``run.id`` may be empty. Another run that is open is refused (``run.another_open``)."""

    run: Run


@dataclass(frozen=True)
class AddRunEvent:
    """Write one event of a run, at this very moment; ``id``, ``at``, ``ticks_s`` and ``boot`` are filled in."""

    event: RunEvent


@dataclass(frozen=True)
class EndRun:
    """End a run: its closing list was worked through, or it was given up, with the reason."""

    run_id: str
    reason: str = ""


@dataclass(frozen=True)
class Acknowledge:
    """Quiet an alarm for good; ``what`` names it for undo."""

    key: str
    what: str


@dataclass(frozen=True)
class StartProof:
    """Start a proof: its rule is settled now and never changes; ``proof.id`` may be empty."""

    proof: Proof


@dataclass(frozen=True)
class EndProof:
    """Give a running proof up, with the reason; its attempts stay marked."""

    proof_id: str
    reason: str


@dataclass(frozen=True)
class KeepEvening:
    """Keep the plan of an evening, so that its order stays as it was drawn; ``plan.id`` may be empty."""

    plan: EveningPlan


@dataclass(frozen=True)
class DropEvening:
    """Put the plan of an evening aside."""

    plan_id: str


@dataclass(frozen=True)
class NoteComparison:
    """Keep that a comparison was asked for; ``comparison.id`` may be empty.

    The same question asked again writes nothing. It is no step to undo: what was looked at stays looked at.
    """

    comparison: Comparison


@dataclass(frozen=True)
class IssueRecipe:
    """Keep a recipe as it is issued; its id may be empty, its number and its moment are given."""

    recipe: IssuedRecipe


@dataclass(frozen=True)
class MarkChange:
    """Mark that something at the bench is different from a moment on; ``mark.id`` may be empty."""

    mark: ChangeMark


@dataclass(frozen=True)
class DropMark:
    """Take a mark of a change away."""

    mark_id: str


@dataclass(frozen=True)
class ImportAttempts:
    """Bring in the attempts of a table, with the lots that they name and the list of factors that they need.

    ``factors`` None leaves the factors as they are; ``source`` names the table for undo. Ids and numbers are given
    as for ``RecordAttempt``; where each attempt comes from stands at the end of its note.
    """

    attempts: tuple[Attempt, ...] = field(repr=False)
    source: str
    lots: tuple[Lot, ...] = ()
    factors: tuple[Factor, ...] | None = None


Command = (
    AddLot
    | AddJar
    | SplitLot
    | StartJar
    | EmptyJar
    | InspectJar
    | ChangeJar
    | ChangeLot
    | RecordAttempt
    | CorrectAttempt
    | StrikeAttempt
    | RestoreAttempt
    | ChangeSettings
    | ChangeFactors
    | TickChecklist
    | AttachPhoto
    | AttachLog
    | SetAnchor
    | GradeAgain
    | BeginRun
    | AddRunEvent
    | EndRun
    | Acknowledge
    | StartProof
    | EndProof
    | KeepEvening
    | DropEvening
    | NoteComparison
    | IssueRecipe
    | MarkChange
    | DropMark
    | ImportAttempts
)


@dataclass(frozen=True)
class Changes:
    """What one command touched; views that show it are stale. ``name`` is the undo name, ``""`` when none."""

    name: str
    settings: bool = False
    factors: bool = False
    shelf: bool = False
    attempts: tuple[str, ...] = ()
    checklist: bool = False
    runs: bool = False
    regrades: bool = False
    anchors: bool = False
    acknowledged: bool = False
    proofs: bool = False
    evenings: bool = False
    comparisons: bool = False
    recipes: bool = False
    marks: bool = False
    new_attempt_id: str | None = None
