"""Sentences for the codes of scanning and of the foot switch."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "scan.misread": "The code was read wrongly. Scan again.",
    "scan.no_session": "Open a session first; then a scan finds its jar, attempt or lot.",
    "scan.jar_unknown": "The scanned jar {jar} is not in this session. Check that the right session is open.",
    "scan.jar": "Jar {jar} of lot {lot} is in the form.",
    "scan.same_jar": "Jar {jar}: this is the jar of the run.",
    "scan.other_jar": "This is another jar: {jar}. The run is with jar {of_run}.",
    "scan.run_without_jar": "The run names no jar. You scanned jar {jar}.",
    "scan.jar_gone": "Jar {jar} was taken off the shelf on {day}. Nothing was filled in.",
    "scan.jar_residue": "Jar {jar} holds residue that waits for disposal. It is not for an attempt.",
    "scan.jar_planned": "Jar {jar} is planned for {start} and not started yet. Start it on the shelf first.",
    "scan.jar_blocked": "Jar {jar} must not be used. {why}",
    "scan.attempt": "Attempt {number} is in hand.",
    "scan.attempt_unknown": "There is no attempt {number} in this session.",
    "scan.lot": "These are the jars of lot {lot}.",
    "scan.lot_unknown": "The scanned lot {lot} is not in this session. Check that the right session is open.",
    "scan.no_run": "No guided run is open. This card steers a run.",
    "foot.press": "Press the foot switch now.",
    "foot.none": "No foot switch.",
    "foot.learned": "The foot switch sends {key}.",
    "foot.refused": "{key} means something else already. Set the switch to send another key, such as Page Down.",
}
