"""Sentences for the codes of the session floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "settings.limit_looser": (
        "The campaign's own limit for {name}, {own}, is not stricter than the limit of the program, {shipped}. Own "
        "limits may only be stricter."
    ),
    "settings.additive_kind": "“{kind}” is no class of additives. Use one of: {known}.",
    "settings.additive_repeated": "The additive “{name}” is named twice. A name stands for one additive only.",
    "settings.additive_unnamed": "An additive has no name. Give it the name that the level of the choice has.",
    "session.read_only": "{path} is open for reading only, so nothing was changed.",
    "session.closed": "{path} was closed before, so nothing was changed. Open it again.",
    "history.no_undo": "There is nothing to undo.",
    "history.no_redo": "There is nothing to redo.",
    "lot.unnamed": "A lot needs a name, such as L1.",
    "lot.exists": "There is a lot {id} already. Give the new one another name.",
    "lot.unknown": "There is no lot {id}. Known lots: {known}.",
    "jar.unnamed": "A jar needs a name, such as J1.",
    "jar.exists": "There is a jar {id} already. Give the new one another name.",
    "jar.unknown": "There is no jar {id}. Known jars: {known}.",
    "jar.already_emptied": "The jar {id} was emptied at {at}. Choose another jar.",
    "jar.already_started": "The jar {id} was started at {at} already.",
    "jar.not_started": "The jar {id} is only planned. Start it on the shelf first.",
    "jar.no_later_start": (
        "The jar {id} cannot start later than now: a longer exposure of a superoxide former is never planned."
    ),
    "jar.residue_planned": "The jar {id} holds residue, which stands there already: it cannot be for later.",
    "split.no_jars": "Say into how many jars the lot {lot} shall be split.",
    "run.another_open": "Another run is open. Finish it or give it up first.",
    "run.no_steps": "The run has no steps. Begin it from the bench form.",
    "run.unknown": "There is no run {id} in this session.",
    "run.attempt_differs": "The run {id} and its attempt do not name each other. Mend the file.",
    "record.repeated": "Two records are called “{id}”, or one has no name at all. Each needs one of its own.",
    "run.over": "That run is over. Begin a new one.",
    "run.recorded_already": "That run was recorded as an attempt already. Correct the attempt instead.",
    "run.step_unknown": "The run has no step “{step}”. Its steps: {known}.",
    "log.empty": "The log “{name}” holds no temperature. Choose another file or column.",
    "log.not_a_number": "The log “{name}” holds a temperature that is no number. Leave such lines out.",
    "log.not_in_order": "The times in the log “{name}” run backwards. Check how its times were read.",
    "regrade.not_graded": "Attempt {number} has no grade that a second one could be compared with.",
    "regrade.not_a_class": "“{value}” is no class of an outcome. Use one of: {known}.",
    "alarm.no_key": "The alarm has no name, so that it cannot be quieted.",
    "jar.lot_in_use": "Attempts of jar {id} belong to lot {lot}, so the jar must stay there. Start a new jar.",
    "jar.look_taken_back": (
        "This jar was seen with an alarming surface. Say who judged it safe and why before you note a milder look."
    ),
    "amount.above_hundred": "The {name} cannot be {value} %, for nothing is above 100 %. Check the number.",
    "amount.impossible": "The {name} cannot be {value}. Check the number.",
    "condition.unknown_factor": "There is no factor “{name}” in this session. Known factors: {known}.",
    "condition.not_a_level": "“{name}” is a choice, and {value} is none of its levels: {known}.",
    "condition.level_unknown": "“{value}” is no level of “{name}”. Choose one of: {known}.",
    "condition.not_a_number": "“{name}” needs a number, not “{value}”.",
    "attempt.lot_differs": "Jar {jar} belongs to lot {jar_lot}, not to lot {lot}. Check the jar or the lot.",
    "attempt.struck_from_start": "Record the attempt first; it can be struck out afterwards.",
    "attempt.number_taken": "The attempt {number} ({id}) is in this session already.",
    "attempt.no_jar_to_empty": "Say which jar the attempt emptied.",
    "correction.no_reason": "Say why it is corrected. The old value stays in the file.",
    "correction.field_unknown": "“{field}” cannot be corrected. What can: {known}.",
    "correction.wrong_kind": "“{value}” cannot stand for “{field}”. Check the value.",
    "strike.no_reason": "Say why the attempt is struck out. It stays in the file and no longer counts.",
    "strike.already": "Attempt {number} is struck out already.",
    "strike.not_struck": "Attempt {number} counts already; it was not struck out.",
    "settings.class_too_mild": (
        "The table lists {metal} as {hazard}. As {chosen} it would get cautions and limits that are wrong for it. "
        "Choose {hazard}, or another metal."
    ),
    "settings.temperature": "{value} °C is no possible temperature. Check the number.",
    "factor.repeated": "Two factors are called “{name}”. Give one of them another name.",
    "factor.in_model": "The model names “{name}”, so it must stay. Change the model first.",
    "factor.in_model_number": "The model squares “{name}”, so it must stay a number. Change the model first.",
    "factor.in_model_choice": (
        "Attempts share the level of “{name}” in the model, so it must stay a choice. Change the model first."
    ),
    "settings.lot_effect_unknown": "Attempts cannot share “{name}”. Choose one of: {known}.",
    "settings.lot_effect_of_number": (
        "“{name}” is a number, so attempts cannot share it. Choose lot, jar, bench, none, or a factor "
        "that is a choice."
    ),
    "settings.form_unknown": (
        "“{form}” is no form of the model. Take its key as stirfall odds --json gives it, or weigh all forms."
    ),
    "settings.prior_not_finite": "A prior standard deviation must be a finite number.",
    "factor.in_use": (
        "Recorded attempts or a proof have a value for “{name}”, so it cannot be dropped. It can be hidden."
    ),
    "factor.unit_in_use": (
        "Recorded attempts have “{name}” in {unit}, so its unit cannot become {wanted}. Hide it and add another."
    ),
    "factor.kind_in_use": (
        "Recorded attempts have a value for “{name}”, so a number cannot become a choice or the other way round."
    ),
    "factor.level_in_use": "Recorded attempts have “{level}” for “{name}”, so this level must stay.",
    "photo.empty": "{name} holds no bytes. Choose another picture.",
    "photo.too_large": "{name} has {megabytes} MB; a photo may have {most} MB. Make it smaller first.",
    "photo.not_a_picture": "{name} is not a picture ({media_type}). Choose a picture.",
    "checklist.no_day": "The checklist needs its day.",
    "sample.unknown": "There is no sample “{key}”. Samples: {known}.",
    "setting.unknown": "There is no setting “{name}”. Known settings: {known}.",
    "setting.wrong_kind": "“{value}” cannot be the setting “{name}”.",
    "setting.broken": (
        "The settings file could not be used ({detail}), so the program starts with its own settings. "
        "The old file is kept as {aside}."
    ),
    "setting.unreadable": "The settings in {path} cannot be read ({detail}). The program uses its own settings.",
    "conditions.missing": "No value is known for: {names}. Give a value for each of them.",
    "surface.same_factor": "A map needs two different factors, not “{name}” twice.",
    "outcomes.one_gate": (
        "Outcomes can be told apart only where attempts are graded by two questions: did the solids part, and did "
        "the metal pool. Grade attempts that way to see this picture."
    ),
    "compare.group_backwards": "A group cannot run from {low} to {high}. The first must be the smaller.",
    "compare.group_period": "A span of time must end after it begins. Give a later end.",
    "compare.group_unknown": "“{what}” is nothing that attempts can be grouped by. Choose one of the list.",
    "compare.same_group": "The two groups are the same. Choose another second group.",
    "mark.no_text": "A mark needs words that say what was changed.",
    "mark.unknown": "That mark is not there any more.",
    "recipe.not_json": "Recipe {number} holds no readable document, so it was not kept.",
    "charge.not_positive": "A charge of {charge} g cannot be. Give a mass above zero.",
}
