"""Sentences of the shelf: splitting a lot, planned jars, the board of jars, and the register of residue."""

from __future__ import annotations

SENTENCES = {
    "shelf.split_count_missing": "Say how many jars: 1 to 24.",
    "shelf.split_too_many": "At most {most} jars in one step. Split the rest in a second step.",
    "shelf.split_too_little": "This is too little for {count} jars.",
    "shelf.split_first_depth": "Give the first depth too; the jars then have one depth or the other.",
    "shelf.split_superoxide": (
        "This metal can form a superoxide, which may explode. It must not lie any longer than it has to, so its "
        "jars start now or not at all; a later start or a longer age is never planned for it."
    ),
    "shelf.split_every_missing": "Say how long after one jar the next one starts, such as 6 h or 2 days.",
    "shelf.split_every_impossible": "This must be above zero, and no longer than ten years.",
    "shelf.split_ages_missing": "Give the ages that you want on that evening, such as 2, 8, 24, 96 h.",
    "shelf.split_ages_unreadable": (
        "“{text}” is no age. Write ages with a unit of time, such as 2, 8, 24 h or 8 h, 3 days."
    ),
    "shelf.split_age_impossible": "An age of {age} cannot be planned. It must be above zero, and below ten years.",
    "shelf.split_more_ages": (
        "{ages} ages need at least {ages} jars; there are {count}. Make more jars, or leave ages out."
    ),
    "shelf.split_past": (
        "For an age of {age} on that evening the jar had to start {start}, which is past. The first evening that "
        "allows all these ages is {earliest}. Choose a later evening, or leave this age out."
    ),
    "shelf.split_seed": "The seed is a whole number, such as 4711.",
    "residue.about": (
        "What is left of an attempt may hold live metal. It is listed here until it was handed to a licensed waste "
        "route; local rules come first."
    ),
    "residue.not_kept": "Keep it under oil, capped, labelled and small. Tick both when that is so.",
    "residue.place_missing": "Say where it stands, so that others find it.",
    "residue.attempt_unknown": "There is no attempt {text}. Give the number of a recorded one, or leave it empty.",
    "residue.lot_unknown": "Register a lot first, so that it is known which metal this is.",
    "residue.jar_gone": "Jar {jar} was handed over. Choose another one, or a new jar.",
    "residue.added_reason": "residue of {source} was added",
    "residue.registered": "Jar {jar} is in the register of residue.",
    "residue.handed_reason": "handed over to the waste route",
    "residue.handed": "Jar {jar} was handed over and has left the register; it stays on record.",
    "residue.about_hand_over": (
        "Residue goes to a licensed waste route only, under local rules. This notes the date, the time and to whom."
    ),
    "residue.none": (
        "No residue is registered. What is left of an attempt may hold live metal; register it here with the place "
        "where it stands."
    ),
    "residue.choose": "Choose a jar to note its look, or that it was handed over.",
    "shelf.choose_planned": "Choose a jar to start it, to change its plan or to drop it.",
    "shelf.none_planned": "Nothing is planned. Split a lot for one evening, and the jars to start are listed here.",
    "shelf.none_of_lot": "No jar of lot {lot} is ageing now.",
}
