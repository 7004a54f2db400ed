"""Sentences for the codes of the command line and of scripts."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "script.jar_unknown": "There is no jar “{jar}” in this session. Known jars: {known}.",
    "script.mass_unknown": "There is no weighing “{name}”. Use: {known}.",
    "script.sheet_unknown": "There is no line “{name}” on the weighing sheet. Use: {known}.",
    "script.not_a_count": "“{name}” must be a whole number, or True or False, not {value}.",
    "recipe.suffix": "A recipe is written as .md, .json or .pdf, not as “{suffix}”.",
    "recipe.not_written": "{path} cannot be written: {why}. Choose another place.",
    "at.unreadable": "“{text}” is not NAME=VALUE. Write for example: temperature=150 C.",
    "display.missing": (
        "There is no display here, so no window can open. Use odds, next and recipe, or run stirfall demo."
    ),
    "at.twice": "“{name}” is given twice. Give each condition once.",
    "odds.lot_effect_needs_ml": (
        "Only maximum likelihood takes --lot-effect: add --method ml. The posterior always has the lots in it, "
        "unless the campaign says none."
    ),
    "odds.nodes_need_lot_effect": "Nodes belong to the lots: give --nodes together with --method ml --lot-effect.",
    "odds.gates_not_graded": "No attempt has its two gates graded, so two gates cannot be told apart.",
    "odds.lot_needs_posterior": "Only the posterior answers for one lot. Leave --lot or --method out.",
    "odds.lot_unknown": "No used attempt belongs to “{name}”. Known: {known}. Leave --lot out for a new one.",
    "odds.no_lots": (
        "The attempts do not belong to two lots or more, so one lot cannot be told from another. Leave --lot out."
    ),
    "forms.not_distinguishable": (
        "The scores do not differ beyond their noise: {attempts} cannot tell these forms apart."
    ),
    "partly.success": "Partly parted counts as parted in this campaign.",
    "partly.ordinal": "Partly parted counts as between no and yes in this campaign.",
    "lots.new_one": "These answers are for a new {what}, whose own effect nobody knows yet. Known ones:",
    "lots.this_one": "These answers are for {what} {lot}. What is known of each:",
    "new.package_alone": "A package tells all that {option} would. Leave {option} out, and change it later.",
    "new.table_missing": "The columns belong to a table. Name it with --from TABLE.",
    "demo.folder": "The folder {path} cannot be made: {why}. Name another with --out.",
}
