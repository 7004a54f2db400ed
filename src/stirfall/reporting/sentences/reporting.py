"""Sentences for the codes of the reporting floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "cautions.unreadable": (
        "The table of cautions {path} is missing or broken. Do not work without it: install the program again."
    ),
    "labels.none": "There is no jar to print a label for: {wanted}.",
    "labels.no_attempt": "There is no attempt {number} in this session.",
    "labels.paper": "“{text}” is no paper that labels can stand on. Use one of: {known}.",
    "labels.grid": "“{text}” is no grid of labels. Write columns by rows, such as 3x8.",
    "labels.grid_and_size": "Say the size of a label or a grid that fills the page, not both.",
    "labels.size": "“{text}” is no size of a label. Write width by height in mm, such as 70x37.",
    "labels.too_small": "A label of {size} is too small for the code and the words. The least is {least}.",
    "labels.too_large": "Labels of {size} do not fit on {page}. Choose fewer, or smaller ones.",
    "labels.start": "There is no position {start} on this sheet. Its positions run from 1 to {most}.",
    "recipe.drop": "The drop of a tolerance must lie between 0 and 1, not at {value}; 0.1 means 10 points.",
    "recipe.longer_exposure": (
        "“{factor}” is longer than was ever recorded. For this metal no longer exposure is ever advised, so no "
        "steps are given."
    ),
    "recipe.lowered": "An oil exposure cannot be longer than the sample age, so it was lowered to it: {names}.",
    "recipe.filled": "Not given, so the usual values of the campaign were taken: {names}.",
    "recipe.few_attempts": "Only {count} attempts stand behind this. Treat it as a first guess.",
    "recipe.wide": "The interval is wide, {interval}. More attempts near these conditions would narrow it.",
    "recipe.unsound": "The computation did not settle, so the interval is doubtful. Record more attempts first.",
    "recipe.partly.success": (
        "Partly parted counts as success in this campaign ({attempts} of those used parted partly): with one pool "
        "after it, the model takes it as clean. The counts keep the words of the record."
    ),
    "recipe.partly.ordinal": (
        "Partly parted counts as between no and yes in this campaign ({attempts} of those used parted partly); the "
        "chance is that of a yes."
    ),
    "recipe.melting_known": "Melting point {value}. Stay at least 5 K above it while stirring.",
    "recipe.melting_unknown": "The melting point is not entered, so nothing checks that the metal is hot enough.",
    "recipe.flash_known": "Flash point of the oil {value}. Stay at least 50 K below it.",
    "recipe.flash_unknown": "The flash point of the oil is not entered. Heat nothing until it is known.",
    "recipe.temperature_window": "“{factor}” must stay within {span}.",
    "recipe.campaign_ranges": "Ranges of this campaign, which say nothing about what lies outside: {ranges}.",
    "recipe.film_follows": (
        "The {factor} of an attempt is that of its jar, or as typed; elsewhere it follows from the ages as in the "
        "usual jar of the campaign. It is right to a factor of three, and stands in the forms that name it only."
    ),
    "odds.film_follows": "The {factor} follows from the ages, as in the usual jar.",
    "recipe.local_rules": (
        "These margins are a proposal of this program. Local rules, the label of the bottle and licensed practice "
        "come first. A chance is an estimate from past attempts; an interval of {level} is no promise."
    ),
    "effect.doubling": "Each doubling of {factor}",
    "effect.tenfold": "Each tenfold rise of {factor}",
    "effect.ratio": "Each rise of {factor} by a factor of {ratio}",
    "effect.amount": "Each rise of {factor} by {amount}",
    "effect.level": "For {factor}, “{level}” instead of the average of those tried",
    "effect.level_pair": "For {factor}, “{level}” instead of “{other}”",
    "effect.multiplies": "{step} multiplies the odds of {gate} by {factor}",
    "effect.gate_parted": "parting",
    "effect.gate_pooled": "pooling after parting",
    "effect.gate_clean": "a clean separation",
    "effect.heading_parted": "What moves the odds of parting, the surest first:",
    "effect.heading_pooled": "What moves the odds of pooling after parting, the surest first:",
    "effect.heading_clean": "What moves the odds of a clean separation, the surest first:",
    "effect.certainty_sure": "{probability} sure that {better}.",
    "effect.certainty_likely": "probably {better} ({probability}).",
    "effect.certainty_unsure": "not known yet which way is better ({probability} that {better}).",
    "effect.longer": "longer is better",
    "effect.shorter": "shorter is better",
    "effect.hotter": "hotter is better",
    "effect.cooler": "cooler is better",
    "effect.more": "more is better",
    "effect.less": "less is better",
    "effect.higher": "higher is better",
    "effect.lower": "lower is better",
    "effect.better_than": "“{level}” is better than “{other}”",
    "effect.above_average": "“{level}” is better than the average",
    "effect.below_average": "“{level}” is worse than the average",
    "effect.no_waiting": "For this metal no longer exposure is ever advised, whatever this number says.",
    "effect.hump": (
        "A best value inside the range is {probability} probable; it would lie near {peak} ({low} to {high})."
    ),
    "effect.hump_unlikely": "A best value inside the range is {probability} probable.",
    "effect.or_less": "{value} or less",
    "effect.or_more": "{value} or more",
    "effect.averaged": "Where the model has a hump ({factors}), the number is the average effect over the range.",
    "effect.beside": "Here {factor} works together with {others}: this is its effect with {others} in the middle.",
    "effect.never_varied": "“{factor}” never varied where attempts tell about {gate}, so its effect is not known.",
    "effect.no_attempts": "No attempt tells about {gate} yet, so the effect of “{factor}” is not known.",
    "effect.level_untried": "“{level}” ({factor}) was never tried, so its effect is not known.",
    "effect.levels_untried": "Never tried, so not known, for {factor}: {levels}.",
    "outcomes.heading": "How such an attempt may come out:",
    "outcomes.not_parted": "too little film: nothing parted, or only part",
    "outcomes.not_parted_at_all": "too little film: nothing parted",
    "outcomes.beads": "too much film: parted, but beads",
    "outcomes.clean": "clean separation",
    "recovery.none": "No clean attempt has both its charge and its product weighed, so no recovery is known.",
    "recovery.of_metal": (
        "Recovery of a new clean attempt: {mean} of the metal charged, {span}; {attempts} weighed."
    ),
    "recovery.of_charge": "Recovery of a new clean attempt: {mean} of the charge, {span}; {attempts} weighed.",
    "recovery.on_average": "On average over clean attempts: {mean}, {span}.",
    "recovery.grams": (
        "To be expected per attempt: {mean} of clean metal, {lower} to {upper}, from a charge of {charge}; about "
        "{if_clean} when it comes out clean."
    ),
    "recovery.no_charge": "No charge was weighed yet, so no grams can be told.",
    "recovery.over_one": (
        "In {attempts} the product weighed as much as the metal charged, or more. It cannot be metal alone: oil or "
        "solids were weighed with it. They count as 99.5 %; get the oil off and weigh again."
    ),
    "recovery.held": "{attempts} counted at the ends, 0.5 or 99.5 %, where weighing tells no more.",
    "recovery.unweighed": "{attempts} came out clean, but charge or product was not weighed.",
    "recovery.without_solids": (
        "Told per charge with its solids, because the solids content is not known for {attempts}."
    ),
}
