"""Sentences for the codes of the inference floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "design.factor_repeats": "The factor “{name}” stands twice in the model. Give each factor its own name.",
    "design.factor_unknown": "The model asks for “{name}”, but has no such factor. Check squares and products.",
    "design.hump_of_choice": "“{name}” is a choice, so it cannot have a squared term. Take it out of the squares.",
    "design.product_of_itself": "“{name}” times itself is its square. List it under the squares instead.",
    "rows.shape": "The table ({rows}) and the counts ({counts}) do not fit together. Give one count per row.",
    "rows.not_finite": "A value of the table is missing or not finite. Leave that row out or fill it in.",
    "rows.count_outside": "A count of successes is below zero or above its trials. Check the counts.",
    "prior.not_positive": "A prior standard deviation must be a number above zero.",
    "odds.value_missing": "No odds without a usable value of {factors}. Fill it in first.",
    "ml.no_rows": "There is no graded attempt yet, so there is nothing to fit. Record attempts first.",
    "ml.one_outcome": (
        "{clean} of {trials} trials were clean, so all came out alike and maximum likelihood has no answer. "
        "Use the posterior, or record attempts that come out the other way."
    ),
    "ml.collinear": (
        "Some factors always moved together, so maximum likelihood cannot tell them apart. "
        "Vary them separately, hide one of them, or use the posterior."
    ),
    "ml.complete_separation": (
        "The factors part clean from not clean without exception, so maximum likelihood has no finite answer. "
        "Use the posterior."
    ),
    "ml.quasi_separation": (
        "For part of the conditions all outcomes were alike, so maximum likelihood has no finite answer. "
        "Use the posterior."
    ),
    "separation.clean": "came out clean",
    "separation.not_clean": "failed to come out clean",
    "separation.parted": "parted",
    "separation.not_parted": "failed to part",
    "separation.pooled": "became one pool",
    "separation.not_pooled": "failed to become one pool",
    "separation.who": "attempt",
    "separation.who_parted": "parted attempt",
    "separation.all_alike": (
        "All {who}s so far ({count}) {outcome}, so nothing can be said yet about what makes the difference."
    ),
    "separation.one_attempt": (
        "The only {who} so far {outcome}, so nothing can be said yet about what makes the difference."
    ),
    "separation.by_number": (
        "Every {who} with {factor} at {high} or above {above}; every one at {low} or below {below}."
    ),
    "separation.by_number_edge": (
        "Every {who} with {factor} above {high} {above}, and every one below {below}; at {high} both were seen."
    ),
    "separation.by_number_above": (
        "Every {who} with {factor} above {high} {above} ({count} of them); at {high} both were seen."
    ),
    "separation.by_number_below": (
        "Every {who} with {factor} below {low} {below} ({count} of them); at {low} both were seen."
    ),
    "separation.by_range": (
        "Every {who} with {factor} from {low} to {high} {inside}; every one outside {outside}."
    ),
    "separation.by_level": "Every {who} with {factor} “{level}” {outcome} ({count} of them).",
    "separation.by_level_once": "The only {who} with {factor} “{level}” {outcome}.",
    "separation.by_combination": (
        "From {factors} alone, the {who}s that {success} can be told from the others without exception, "
        "but for those on the border."
    ),
    "separation.by_exposure": (
        "The outcomes are told apart without exception by {factors}, "
        "and exposure is not free to choose for this metal."
    ),
    "separation.means_alike": "An attempt under clearly different conditions, within the limits, tells most.",
    "separation.means_between": (
        "Where the border lies, and how sharp it is, cannot be told from that. "
        "An attempt between {low} and {high} tells most."
    ),
    "separation.means_close": (
        "How sharp the border is cannot be told from that. Another attempt close to {high} tells most."
    ),
    "separation.means_more_above": (
        "How strong this is cannot be told from that. Another attempt with {factor} above {high} tells most."
    ),
    "separation.means_more_below": (
        "How strong this is cannot be told from that. Another attempt with {factor} below {low} tells most."
    ),
    "separation.means_edges": (
        "How sharp the borders are cannot be told from that. An attempt close to {low} or {high} tells most."
    ),
    "separation.means_level": (
        "How strong this is cannot be told from that. Another attempt with {factor} “{level}” tells most."
    ),
    "separation.means_combination": (
        "How sharp the border is cannot be told from that. "
        "An attempt with conditions between the two kinds tells most."
    ),
    "separation.means_which": (
        "They could be told apart by {also} just as well, so which of these matters is open. "
        "An attempt that differs from an earlier one in {factor} alone tells most."
    ),
    "separation.means_chance": (
        "With so few attempts this may well be chance. "
        "An attempt that differs from an earlier one in {factor} alone tells most."
    ),
    "separation.means_chance_also": (
        "With so few attempts this may well be chance; they could be told apart by {also} just as well. "
        "An attempt that differs from an earlier one in {factor} alone tells most."
    ),
    "separation.means_few": (
        "With so few attempts beside so many factors this may well be chance. Further attempts tell more."
    ),
    "separation.means_limits": (
        "How sharp this is cannot be told from that. "
        "Take the next attempt from the list, which keeps within the operating limits."
    ),
    "firth.no_rows": "There is no graded attempt yet, so there is nothing to fit. Record attempts first.",
    "firth.collinear": (
        "{names} always moved together or never moved, so penalised likelihood cannot tell them apart. "
        "Vary them separately, hide one of them, or use the posterior."
    ),
    "firth.no_convergence": "Penalised likelihood found no answer. Use the posterior.",
    "firth.level_outside": "The level of an interval must lie between 0 and 1.",
    "ml.no_convergence": "Maximum likelihood found no answer in {steps} steps. Use the posterior.",
    "lot_ml.nodes_outside": "The number of nodes must lie between 1 and {most}.",
    "lot_ml.no_lots": (
        "No attempt says which lot it belongs to, so lots cannot be compared. Give each attempt its lot; for a "
        "table, make the session with stirfall new --from TABLE --group COLUMN."
    ),
    "lot_ml.one_lot": "All attempts belong to one lot, so lots cannot be compared yet. Use more than one lot.",
    "lot_ml.lots_of_one": (
        "No lot has more than one attempt, so differences between lots cannot be told from chance. "
        "Make more than one attempt per lot."
    ),
    "lot_ml.no_spread": "The lots differ no more than chance alone would make them, so their spread is put at 0.",
    "lot_ml.endless_spread": (
        "Lots and conditions together leave no outcome to chance, so the spread of the lots has no usable "
        "maximum-likelihood estimate. Use the posterior."
    ),
    "lot_ml.no_convergence": "Maximum likelihood with lots found no answer. Use the posterior.",
    "lot_ml.more_nodes": "With twice the nodes the log likelihood changes by {gap}. Use more nodes.",
    "form.straight_two": "Two gates, straight",
    "form.straight_one": "One gate, straight",
    "form.hump_two": "Two gates, hump in {factor} at gate {gate}",
    "form.film_two": "Two gates, {factor} in place of age",
    "form.film_one": "One gate, {factor} in place of age",
    "form.hump_one": "One gate, hump in {factor}",
    "direction.unsure": "The attempts do not say yet whether a longer or a shorter exposure would help.",
    "direction.sure_too_little_film": "Too little film: a longer exposure helps ({probability} sure).",
    "direction.sure_too_much_film": "Too much film: a shorter exposure helps ({probability} sure).",
    "direction.sure_near_best": (
        "The exposure is near its best: neither longer nor shorter helps ({probability} sure)."
    ),
    "direction.likely_too_little_film": (
        "Probably too little film: a longer exposure should help ({probability})."
    ),
    "direction.likely_too_much_film": "Probably too much film: a shorter exposure should help ({probability}).",
    "direction.likely_near_best": (
        "The exposure is probably near its best: neither longer nor shorter should help ({probability})."
    ),
    "direction.leaning_too_little_film": (
        "Perhaps too little film: the attempts lean to a longer exposure ({probability}) without being sure."
    ),
    "direction.leaning_too_much_film": (
        "Perhaps too much film: the attempts lean to a shorter exposure ({probability}) without being sure."
    ),
    "direction.leaning_near_best": (
        "The exposure is perhaps near its best: the attempts lean to staying there ({probability}) without being "
        "sure."
    ),
}
