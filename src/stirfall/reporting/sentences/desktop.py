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
    "bench.missing.abort_reason": "Say in a few words why it was aborted.",
    "bench.missing.confirm": "A value lies outside the limits. Check it, then confirm here.",
    "bench.photo_not_a_picture": "“{name}” is no picture that can be kept. Use a JPEG, PNG or WebP file.",
    "bench.photo_too_large": "“{name}” is larger than {limit_mb} MB. Make it smaller first.",
    "bench.photo_unreadable": "“{name}” cannot be read. Check that the file is still there.",
    "odds.closed": "No session is open. Open one, or a sample: then the odds of a clean separation appear here.",
    "odds.waiting": "Reading the attempts …",
    "odds.failed": "The odds could not be computed. {reason}",
    "odds.title_form": "Form on the bench",
    "odds.title_attempt": "Attempt",
    "odds.title_jar": "Jar",
    "odds.title_recipe": "Recipe",
    "odds.title_suggestion": "Suggestion",
    "odds.moved": "Moved from {label}",
    "odds.no_attempts": "No attempt yet: this is only where the tool starts from. Record the first one.",
    "odds.few_attempts": "Only {attempts} so far: this is still mostly where the tool starts from.",
    "odds.too_little_film": "Too little film: wait longer.",
    "odds.too_much_film": "Too much film: it beads. Wait less.",
    "odds.near_best": "Near the best age.",
    "odds.unsure": "The attempts cannot say yet whether longer or shorter is better.",
    "odds.no_waiting_advice": "For this metal no longer exposure is ever advised.",
    "odds.more_cautions": "(and {count} more, see details)",
    "odds.filled": "Assumed here: {values}.",
    "odds.filled_short": "Assumed here: {values} and {count} more (see details).",
    "odds.no_factors": "No factor has enough recorded values yet. Record conditions with the attempts.",
    "odds.left_out": "Left out: {parts}.",
    "odds.left_out_short": "Left out: {attempts} (see details).",
    "odds.about_interval": (
        "The interval holds the middle {level} % of what {attempts} and a cautious starting assumption allow."
    ),
    "odds.direction_detail": (
        "Doubling “{factor}” helps with a probability of {longer} (about {longer_gain} points); halving it, "
        "with {shorter} (about {shorter_gain} points). The film is a working idea, not a measurement."
    ),
    "odds.dropped_factor": (
        "“{factor}” is left out of the odds: fewer than half of the graded attempts have its value."
    ),
    "odds.not_sound": "The computation is less exact than usual here; take the interval as rough.",
    "odds.not_tried_here": "Not tried here: {factors}.",
    "odds.jar_now": "Jar {jar}, now.",
    "odds.jar_later": "Jar {jar}, in {wait}.",
    "odds.wait": "In {wait}.",
    "odds.next_waiting": "Looking for the next attempts …",
    "odds.next_none": "No other conditions fit the limits. Widen a range of the campaign to get a suggestion.",
    "odds.next_first": "First attempts are spread over the ranges until there is something to judge from.",
    "odds.hint_curve": "A click or ← → moves the mark. Ctrl + ← → walks over the attempts, Enter takes one.",
    "odds.hint_map": (
        "A click or the arrow keys move the mark. Ctrl + ← → walks over the attempts, Enter takes one."
    ),
    "odds.suggested": "Suggestion {number}",
    "odds.from_odds": "From the odds pane: {label}",
    "odds.file_saved": "Saved {name}.",
    "odds.copied": "The picture is on the clipboard.",
    "odds.table_copied": "The table is on the clipboard.",
    "odds.file_failed": "“{name}” could not be written: {reason}. Choose another folder or name.",
    "desktop.already_open": "{name} is open in this window already.",
    "desktop.copy_saved": "A complete copy was saved as {name}. You go on working in the first file.",
    "desktop.settings_changed": "The campaign settings were changed.",
    "desktop.factors_changed": "The factors were changed. Recorded attempts are as they were.",
    "desktop.no_fonts": (
        "No fonts were found, so no text can be drawn. Install a font package, such as DejaVu with fontconfig, "
        "and start again."
    ),
    "desktop.no_display": (
        "There is no display here to open a window on. Start the program on a desktop, or use the command line: "
        "stirfall --help."
    ),
    "desktop.picture_failed": "The picture could not be written to {path}. Check that the folder may be written.",
    "desktop.analysis_slow": "The odds were not ready after {seconds} s, so the picture was not made.",
    "shelf.superoxide": (
        "This metal grows a crust under oil that can explode when it is touched or cut. Never age it on purpose, "
        "never open a doubtful jar; ask trained people."
    ),
    "shelf.superoxide_jar": (
        "Jar {jar} is {age} old. Do not open it when the surface is white, yellow or furry, or hidden by a crust."
    ),
    "shelf.old_jar": "Jar {jar} is {age} old. Look at it through the glass first; never open a crust.",
    "shelf.id_missing": "Give it a short name, as it stands on the label.",
    "shelf.id_taken": "“{id}” is in use already. Choose another name.",
    "shelf.lot_missing": "Choose the lot that the metal comes from.",
    "shelf.future": "This lies in the future. Check the date and the time.",
    "shelf.before_lot": "This lies before lot {lot} was made. Check the date and the time.",
    "shelf.negative": "This cannot be less than zero.",
    "ledger.nothing_changed": "This is what stands there now.",
    "ledger.reason_missing": "Say why; the old value stays on record with your reason.",
    "recipe_page.no_attempt": "There is no attempt {number}. Choose one that stands in the ledger.",
}
