"""Commands for what is kept beside an attempt: photos, examples of the classes, second grades, temperature logs."""

from __future__ import annotations

import math
import uuid
from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from stirfall.bench.errors import InputError
from stirfall.bench.outcomes import Outcome
from stirfall.bench.running import Regrade, TemperatureLog
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.storage.edits import Edit, StoredAnchor, StoredPhoto

CLASSES = (Outcome.NOTHING_PARTED, Outcome.PARTLY_PARTED, Outcome.PARTED_BEADS, Outcome.CLEAN)
"""The classes of an outcome, in the order of their keys 1 to 4."""


def plan_evidence(
    command: c.AttachPhoto | c.AttachLog | c.SetAnchor | c.GradeAgain, around: Surroundings
) -> Planned:
    """Return what such a command would write; raises InputError when it may not."""
    match command:
        case c.AttachPhoto():
            return _attach(command, around)
        case c.AttachLog():
            return _attach_log(command, around)
        case c.SetAnchor():
            return _set_anchor(command, around)
        case c.GradeAgain():
            return _grade_again(command, around)


def _attach(command: c.AttachPhoto, around: Surroundings) -> Planned:
    attempt = around.attempt(command.attempt_id)
    check_picture(command.name, command.media_type, command.data)
    if command.original:
        check_picture(command.name, command.media_type, command.original)
    photo = StoredPhoto(
        attempt.id,
        command.name,
        command.media_type,
        check.kept_moment(around.now),
        bytes(command.data),
        bytes(command.original),
    )
    return Planned(f"Attach photo to attempt {attempt.number}", (Edit(uuid.uuid4().hex, None, photo),))


def check_picture(name: str, media_type: str, data: bytes) -> None:
    """Raise InputError ``photo.*`` for what is empty, too large or no picture."""
    if not data:
        raise InputError("photo.empty", name=name)
    if len(data) > check.MAX_PHOTO_BYTES:
        megabytes = len(data) / 1024**2
        raise InputError("photo.too_large", name=name, megabytes=megabytes, most=check.MAX_PHOTO_BYTES // 1024**2)
    if not media_type.startswith("image/"):
        raise InputError("photo.not_a_picture", name=name, media_type=media_type)


def _attach_log(command: c.AttachLog, around: Surroundings) -> Planned:
    attempt = around.attempt(command.attempt_id)
    points = tuple((check.kept_moment(at), float(value)) for at, value in command.points)
    check_log(command.name, points)
    log = TemperatureLog(uuid.uuid4().hex, attempt.id, command.name, check.kept_moment(around.now), points)
    return Planned(f"Attach temperatures to attempt {attempt.number}", (Edit(log.id, None, log),))


def check_log(name: str, points: Sequence[tuple[datetime, float]]) -> None:
    """Raise InputError ``log.*`` for a log that is empty, not finite or not in order."""
    if not points:
        raise InputError("log.empty", name=name)
    if any(not math.isfinite(value) for _, value in points):
        raise InputError("log.not_a_number", name=name)
    if any(later < earlier for (earlier, _), (later, _) in pairwise(points)):
        raise InputError("log.not_in_order", name=name)


def _set_anchor(command: c.SetAnchor, around: Surroundings) -> Planned:
    outcome = _class_of(command.outcome)
    check_picture(command.name, command.media_type, command.data)
    now = check.kept_moment(around.now)
    anchor = StoredAnchor(outcome.value, command.name, command.media_type, now, bytes(command.data))
    return Planned(f"Set the example of {outcome.value}", (Edit(uuid.uuid4().hex, None, anchor),))


def _grade_again(command: c.GradeAgain, around: Surroundings) -> Planned:
    attempt = around.attempt(command.attempt_id)
    outcome = _class_of(command.outcome)
    if attempt.outcome not in CLASSES:
        raise InputError("regrade.not_graded", number=attempt.number)
    regrade = Regrade(uuid.uuid4().hex, attempt.id, check.kept_moment(around.now), outcome.value)
    return Planned(f"Grade attempt {attempt.number} again", (Edit(regrade.id, None, regrade),))


def _class_of(outcome: Outcome) -> Outcome:
    if outcome not in CLASSES:
        raise InputError("regrade.not_a_class", value=str(outcome), known=", ".join(each.value for each in CLASSES))
    return Outcome(outcome)
