"""Sentences for the codes of the desktop floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "desktop.bug": (
        "Something in the program went wrong ({kind}: {detail}). What was recorded is safe in the file. "
        "Go on working, or close and open the file again."
    ),
    "desktop.not_refined": (
        "The odds shown are the first answer, from one form of the model and without lots: they could not be "
        "refined. {reason}"
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
    "desktop.place_unusable": "No file can go by this name. Type a shorter one, or choose the place.",
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
    "bench.photo_not_a_picture": (
        "“{name}” is no picture that can be kept. Use a JPEG, PNG, WebP, TIFF, BMP or GIF file."
    ),
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
    "odds.too_little_film": "→ Too little film: wait longer (that helps: {longer}).",
    "odds.too_much_film": "← Too much film: it beads. Wait less (longer helps: {longer}).",
    "odds.near_best": "● Near the best age (longer helps: {longer}).",
    "odds.unsure": "↔ Not clear yet which way is better (longer helps: {longer}).",
    "odds.unsure_at_all": "The attempts cannot say yet whether longer or shorter is better.",
    "odds.no_waiting_advice": "For this metal no longer exposure is ever advised.",
    "odds.more_cautions": "(and {count} more, see details)",
    "odds.filled": "Assumed here: {values}.",
    "odds.filled_short": "Assumed here: {values} and {count} more (see details).",
    "odds.stage_first": "First answer. Refining …",
    "odds.stage_not_refined": "First answer: one form, no lots. It could not be refined.",
    "odds.stage_no_attempts": "Forms and lots are weighed as soon as there are attempts.",
    "odds.stage_refined": "Refined: {count} forms weighed",
    "odds.stage_pinned": "Refined with the pinned form “{form}”.",
    "odds.stage_one_form": "Refined: one form",
    "odds.stage_allowed_for": ", {groups} allowed for",
    "odds.lot_said": "For {lot}.",
    "odds.only_one_lot": "Only {lot} was tried: others may differ.",
    "odds.lot_of_form": "Form's {kind}: {name}",
    "odds.lot_of_attempt": "Attempt's {kind}: {name}",
    "odds.lot_of_jar": "Jar's {kind}: {name}",
    "odds.lot_in_hand": "In hand, {kind}: {name}",
    "odds.lot_is_new": "new",
    "odds.lot_not_met": "{name} (new)",
    "odds.outcomes_said": (
        "Probability of each outcome along {factor}, from {basis}: clean is likeliest near {clean}, parted but "
        "beads near {beads}, not parted near {not_parted}."
    ),
    "odds.outcomes_of_two_gates": "The split between beads and not parted comes from the two-gate forms alone.",
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
    "effects_view.closed": (
        "No session is open. Open one, or a sample: then the effects of its factors appear here."
    ),
    "effects_view.waiting": "Working out the effects …",
    "effects_view.few": (
        "Here stands, for each factor, by how much it multiplies the odds, and how sure that is. It appears "
        "with {enough} graded attempts; {attempts} so far. Record more of them, and take large steps in the "
        "factors that you suspect: twice or three times as long tells more than a fifth longer."
    ),
    "effects_view.first_answer": "First answer, with one form and no lots; the refined one follows by itself.",
    "effects_view.intro": (
        "{attempts}. The point is the middle, the line holds {level} of what the attempts allow, all else "
        "equal. What is not sure of its direction is pale."
    ),
    "effects_view.gate.parted": "Gate 1: do the solids part?",
    "effects_view.gate.pooled": "Gate 2: one pool, where they parted?",
    "effects_view.gate.clean": "Clean or not",
    "effects_view.lots": "Lots",
    "effects_view.jars": "Jars",
    "effects_view.benches": "Benches",
    "effects_view.levels": "Levels of “{factor}”",
    "effects_view.a_lot": "a lot",
    "effects_view.a_jar": "a jar",
    "effects_view.a_bench": "a bench",
    "effects_view.a_level": "a level of “{factor}”",
    "effects_view.lots_at.parted": "{groups} at gate 1",
    "effects_view.lots_at.pooled": "{groups} at gate 2",
    "effects_view.lots_at.clean": "{groups}",
    "effects_view.lot": "{lot}: odds of {event} ×{middle} ({lower} to {upper}), {attempts}",
    "effects_view.spread": (
        "Typically {one} multiplies or divides the odds of {event} by {middle} ({lower} to {upper}); a new "
        "one may lie on either side."
    ),
    "effects_view.no_lots": "Name the {one} of each attempt and their differences appear here.",
    "effects_view.one_lot": (
        "All attempts that name their {one} name {name}. With a second {one}, their differences appear here."
    ),
    "effects_view.most_lots": "Shown are the {shown} of {lots} with the most attempts.",
    "effects_view.lots_off": (
        "The campaign settings say that attempts share nothing. Choose lots there to see how they differ."
    ),
    "effects_view.lots_later": "Their differences come with the refined answer, which follows by itself.",
    "effects_view.lots_unknown": "Their differences could not be told from these attempts.",
    "trust_view.closed": (
        "No session is open. Open one, or a sample: then this tells how far its odds can be trusted."
    ),
    "trust_view.waiting": "Checking the odds …",
    "trust_view.few": (
        "This tells how far the odds can be trusted: how well they foretold each attempt from all the others, "
        "which attempts pull them, and which form of the model fits. It appears with {enough} graded "
        "attempts; {attempts} so far. Record more of them to see it."
    ),
    "trust_view.first": (
        "These checks come with the refined answer. It is being worked out now and appears here by itself."
    ),
    "trust_view.read_only": "This session is open for reading only, so no form can be chosen.",
    "trust_view.pinned": "Only this form is used, because the campaign settings say so: {form}.",
    "trust_view.one_form": "There is one form only; no factor has been tried at enough values for a hump.",
    "trust_view.forms_alike": (
        "The scores do not differ beyond their noise: {attempts} cannot tell these forms apart. So all count, "
        "by their weights."
    ),
    "trust_view.forms_differ": (
        "{worse} of the {forms} forms foretold the attempts worse, beyond the noise of the scores. {attempts} "
        "cannot tell the other {alike} apart, so these count most."
    ),
    "trust_view.one_best": "{form} foretold the attempts best, beyond the noise of the scores.",
    "effects_view.averaged": (
        "The model has a hump in {factors}: there the number is the average effect over the range."
    ),
    "trust_view.best_form": "Foretold the attempts best.",
    "trust_view.level_form": "As good as the best.",
    "trust_view.behind_form": "Behind the best by {behind}, noise {noise}.",
    "trust_view.shaky_form": "This score is shaky: single attempts decide it.",
    "trust_view.form_details": (
        "Log score {score}, standard error {se}; largest Pareto k {k}; log marginal likelihood {marginal}."
    ),
    "trust_view.form_exact": (
        "Log score {score}, standard error {se}, by a formula of the first order; log marginal likelihood "
        "{marginal}."
    ),
    "trust_view.about_scores": (
        "The log score adds up, over the attempts, the log of the chance that all others gave to what came out. "
        "“Behind” is the difference from the best, its noise one standard error. Marginal likelihoods compare only "
        "forms with as many gates."
    ),
    "trust_view.more_warnings": "(and {count} more below)",
    "trust_view.pulls": (
        "The fit follows these attempts more than others. Look whether each was recorded and graded rightly; "
        "an odd attempt that is right stays."
    ),
    "trust_view.no_pulls": "No single attempt pulls the fit much.",
    "trust_view.pull.up": (
        "Attempt {number} raises the chance of {event} at its own conditions from {without} to {fitted}."
    ),
    "trust_view.pull.down": (
        "Attempt {number} lowers the chance of {event} at its own conditions from {without} to {fitted}."
    ),
    "trust_view.calibration_caption": (
        "Each point stands for as many results as its number says, given similar chances from all the others: "
        "the share that came out clean, with its {level} % interval. On the dashed line all is as said."
    ),
    "trust_view.detail_brier": (
        "Brier score {score}, always the mean rate {mean_rate} (0 is perfect): gain {gain}{noise}."
    ),
    "trust_view.detail_log": (
        "Log score per trial {score}, always the mean rate {mean_rate} (0 is perfect): gain {gain}{noise}."
    ),
    "trust_view.noise": ", standard error {se}",
    "trust_view.detail_auc": (
        "Area under the curve {value} ({lower} to {upper}), from {clean} clean and {other} not clean."
    ),
    "trust_view.detail_bin": "Said {said}: {clean} of {trials} came out clean, {share} ({bounds}).",
    "trust_view.detail_prior": (
        "{place}: {now} now, {half} with half the breadth of the starting assumption, {double} with double. "
        "It brings {share} of what is known there."
    ),
    "trust_view.place.given": "At the conditions in hand",
    "trust_view.place.best": "At the best conditions",
    "trust_view.place.last_attempt": "At the last attempt",
    "trust_view.place.defaults": "At the usual values",
    "trust_view.detail_correlation": "“{factor}” with {against}: correlation {value}, {attempts}.",
    "trust_view.against.date": "the calendar date",
    "trust_view.against.run_number": "the number of the attempt",
    "trust_view.against.place_in_day": "the place in its day",
    "trust_view.detail_never": "Never varied, so nothing is known about: {factors}.",
    "desktop.opening": "Opening {name}. It is large, so this takes a moment.",
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
