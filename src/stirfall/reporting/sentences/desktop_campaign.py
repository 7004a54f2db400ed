"""Sentences of the campaign settings, about its materials and its model, and of the forms of the shelf."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "campaign.gates_counted": "More attempts are only counted as clean or not, so one question is fitted for now.",
    "campaign.partly.failed": (
        "Partly is a no to the first question. Of {graded}, {partly}; their pool is not asked about."
    ),
    "campaign.partly.success": (
        "Partly is a yes to the first question. Of {graded}, {partly}; {pool}. The record keeps the word partly."
    ),
    "campaign.partly.ordinal": (
        "Partly stands between no and yes and tells more about what acts; the chance stays that of a yes. "
        "Of {graded}, {partly}."
    ),
    "campaign.partly_clean": (
        "With one question, partly with one pool counts as clean. Of {graded}, {partly}, {one_pool} with one pool. "
        "The record keeps the word partly."
    ),
    "campaign.partly_not_clean": "With one question, partly is never clean. Of {graded}, {partly}.",
    "campaign.share.lot": (
        "Attempts of one lot may be more alike than their conditions say; they show how much. "
        "{named} of {told} attempts name their lot: {groups}."
    ),
    "campaign.share.jar": (
        "Attempts from one jar may be more alike than their conditions say; they show how much. "
        "{named} of {told} attempts name their jar: {groups}."
    ),
    "campaign.share.bench": (
        "Attempts of one bench may be more alike than their conditions say; they show how much. "
        "{named} of {told} attempts tell their bench: {groups}."
    ),
    "campaign.share.factor": (
        "Levels of “{name}” differ by chance around one mean, so it has no effect of its own. "
        "{named} of {told} attempts name theirs: {groups}."
    ),
    "campaign.share.none": (
        "Every attempt counts as independent. Where lots differ, the intervals are then too narrow."
    ),
    "campaign.share_too_few": "With fewer than two, nothing can differ yet.",
    "campaign.share_hidden": "“{name}” is hidden, so attempts share nothing until it is shown again.",
    "campaign.humps": ("A square lets the chance rise and fall along a factor. It then stands in every form."),
    "campaign.products": "A product lets one factor change the effect of another; it takes many attempts to see.",
    "campaign.left_out_now": "Left out for now, as hidden or shared: {names}.",
    "campaign.form_all": "Each form weighs as much as it foretells attempts that it has not seen.",
    "campaign.form_gone": "What was tried cannot speak for this form, so all forms are weighed.",
    "campaign.form_pinned": "Only this form is used, whatever the others foretell.",
    "campaign.flash_anew": (
        "This is another bottle, so flash point, autoignition and stated maximum are asked anew. Read them from "
        "this bottle's label or its safety data sheet; the name as it was brings the old ones back."
    ),
    "campaign.class_too_mild": (
        "The table lists {metal} as {hazard}. As “{chosen}” it would get cautions and limits that are wrong for "
        "it, so that is refused. Choose {hazard}, or another metal."
    ),
    "campaign.class_too_mild_by_name": (
        "The name speaks of {metal}, which the table lists as {hazard}. As “{chosen}” it would get cautions and "
        "limits that are wrong for it, so that is refused. Choose {hazard}; where the metal is another, name it so."
    ),
    "campaign.class_other": (
        "The table lists {metal} as {hazard}. With “other” the strictest cautions are shown, but choose its class."
    ),
    "campaign.melting_differs": "The table has {listed} °C for this metal.",
    "campaign.window": "Operating window {low} to {high} °C: melting point + {margin} K, up to {top}.",
    "campaign.window_empty": (
        "No operating window: melting point + {margin} K is {low} °C, above {top}, {high} °C. This oil cannot "
        "serve for this metal."
    ),
    "campaign.window_no_melting": (
        "At most {high} °C: {top}. The melting point is unknown, so there is no lower end."
    ),
    "campaign.window_no_flash": (
        "No operating window yet: without the flash point of this bottle no attempt may start and nothing is "
        "suggested."
    ),
    "campaign.window_top.flash": "the flash point less {margin} K",
    "campaign.window_top.stated": "the maximum that the bottle states",
    "campaign.window_top.autoignition": "the autoignition temperature less {margin} K",
    "campaign.not_above_zero": "This must be above zero. Leave it empty when it is unknown.",
    "campaign.not_below_zero": "This cannot be less than zero. Leave it empty when it is unknown.",
    "campaign.above_hundred": "A relative humidity is at most 100 %.",
    "campaign.at_missing": "Say at which temperature this was measured.",
    "campaign.value_missing": "Give the value that belongs to this temperature, or empty the temperature.",
    "campaign.viscosities_at_one": "Two temperatures that differ are needed, such as 40 °C and 100 °C.",
    "campaign.viscosity_rises": "Oil gets thinner as it gets hotter. Check both values and their temperatures.",
    "campaign.limit_looser": "Your own limit may only be stricter than the shipped one, {shipped}.",
    "campaign.additive_nameless": "Name the additive as the factor's level names it, or remove this row.",
    "campaign.additive_twice": "“{name}” stands here twice. Each additive may stand once.",
    "campaign.hydrogens_whole": "Hydrogens per molecule are a whole number, such as 1 for one OH group.",
    "campaign.limit_shipped": "Shipped: {shipped}.",
    "campaign.limit_none": "No shipped limit for a base metal.",
    "campaign.additive_forbidden": (
        "Not with this metal: {kind}, with “{material}”. It is never suggested, and no attempt with it may start."
    ),
    "campaign.additive_unknown": (
        "Choose its class: with a reactive metal, no attempt may start with an additive whose class is unknown."
    ),
    "campaign.materials_intro": (
        "From these the melt panel works out what sinks, what floats and how fast. All may stay empty: unknown is "
        "shown as unknown."
    ),
    "campaign.additives_intro": (
        "One row for each additive of the factor, by the same name. Class, dose and hydrogen are checked before an "
        "attempt may start."
    ),
    "campaign.limits_intro": "An own limit may only be stricter than the shipped one. Empty keeps the shipped one.",
    "campaign.film_factor": (
        "Oxygen and water per area of metal, worked out from each jar; it then stands beside the ages"
    ),
    "shelf.film_waits": "The film index is being worked out.",
    "shelf.film_is": "Film index {index} mmol/m², to rank jars with.",
    "shelf.film_warns": (
        "Film index {index} mmol/m²: for this metal it measures the hazard only, and less is safer."
    ),
    "shelf.film_unknown": "Film index unknown.",
    "shelf.choose": "Choose a jar: the odds at the right then answer for its ages.",
    "shelf.two_chosen": "Jars {first} and {second} are chosen. Compare what sets their films.",
    "shelf.choose_second": "Now choose the jar to compare jar {jar} with, or press again to leave it.",
    "shelf.zero": "This must be above zero. Leave it empty when it is unknown.",
    "shelf.above_most": "This is at most {most}.",
    "shelf.not_a_count": "This is a whole number from 1 on. Leave it empty when it is unknown.",
    "shelf.after_jar": "Jar {jar} was started before this. Check the date and the time.",
    "shelf.metal_missing": "Give the metal that was found, or empty its uncertainty and the number of assays.",
    "shelf.about_assay": (
        "The metal in the crude as assayed: the mean, its standard uncertainty u (k = 1), and how many assays. "
        "Recovery is worked out from it."
    ),
    "shelf.inspect_first": (
        "Look through the glass from the side. Leave the lid on, and do not move or shake a jar that is in doubt."
    ),
    "shelf.alarm": (
        "A surface that is {look} can explode when it is touched, cut or opened. Do not open it. Leave it closed "
        "and get help from someone who is trained and licensed for it. It is then no jar for an attempt."
    ),
}
