"""Sentences for the codes of the desktop floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "desktop.bug": (
        "Something in the program went wrong ({kind}: {detail}). What was recorded is safe in the file. "
        "Go on working, or close and open the file again."
    ),
    "desktop.title_missing": "The campaign needs a title.",
    "desktop.material_missing": "Choose the class of your metal; the cautions and the limits follow from it.",
    "desktop.melting_unknown": "Unknown: the lower end of the temperature is then not checked.",
    "desktop.flash_unknown": (
        "Unknown: nothing is suggested while a temperature is among the factors. The flash point stands in the "
        "safety data sheet of this oil."
    ),
    "desktop.temperature_impossible": "{value} °C cannot be right. Check the number and its unit.",
    "desktop.new_campaign_note": (
        "The usual factors come filled in. Every one of them, and everything above, can be changed at any time."
    ),
    "desktop.place_taken": "There is a file “{name}” already. Choose another name; no file is ever written over.",
    "desktop.levels_missing": "“{name}” is a choice and needs at least two levels, separated by commas.",
    "desktop.factor_twice": "There are two factors called “{name}”. Each name may stand once.",
    "desktop.level_dropped": "Recorded attempts may use the level {levels} of “{name}”, so it must stay.",
    "desktop.factors_note": (
        "Change a cell by typing or with F2. Values may carry a unit, such as 3 d for a factor in h. "
        "Recorded attempts are never changed; a factor they use can be hidden but not removed."
    ),
    "bench.read_only": "This session is open for reading only, so nothing can be recorded.",
    "bench.jar_unknown": "There is no jar “{text}” in this session. On the shelf: {known}.",
    "bench.jar_gone": "Jar {jar} was taken off the shelf. Choose another jar, or no jar.",
    "bench.missing.checklist": "Tick the start checklist of today first.",
    "bench.missing.unreadable": "Mend “{name}”: its value cannot be read.",
    "bench.missing.age_reason": "Say why “{name}” is not the clock's, or use the clock.",
    "bench.missing.gate_1": "Still to answer: did the solids leave the metal?",
    "bench.missing.gate_2": "Still to answer: did the metal become one pool?",
    "bench.missing.abort_reason": "Say in a few words why it was broken off.",
    "bench.missing.confirm": "A value lies outside the limits. Check it, then confirm here.",
    "bench.photo_not_a_picture": "“{name}” is no picture that can be kept. Use a JPEG, PNG or WebP file.",
    "bench.photo_too_large": "“{name}” is larger than {limit_mb} MB. Make it smaller first.",
    "bench.photo_unreadable": "“{name}” cannot be read. Check that the file is still there.",
}
