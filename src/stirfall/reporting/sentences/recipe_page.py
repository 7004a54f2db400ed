"""Sentences of the recipe: batch size, sheets, issued recipes and how two of them differ."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "batch.not_positive": "“{name}” must be more than zero, not {value}.",
    "batch.name_charge": "Charge",
    "batch.name_metal_area": "Area of the metal",
    "batch.name_jar": "Inner diameter of the jar",
    "batch.name_jar_oil": "Oil over the metal in the jar",
    "batch.name_film": "Film per area",
    "batch.name_additive": "Additive",
    "batch.name_turns": "Stirring speed",
    "batch.name_oil_depth": "Oil over the pool in the vessel",
    "batch.name_oil": "Hot oil in the vessel",
    "batch.name_fill": "Vessel filled when hot",
    "batch.name_settle": "Settling time",
    "batch.name_heat_up": "Time to heat up",
    "batch.how_given": "the size that is wanted",
    "batch.how_same_pieces": "pieces of the same size: the area grows with the mass",
    "batch.how_same_film": (
        "keeps the floor of the jar per area of metal, and so the film, at the same depth of oil and the same "
        "age; or use several jars of the proven kind"
    ),
    "batch.how_jar_at_most": (
        "at most: a wider jar would let more air to each area of the metal, and for this metal no more exposure is "
        "ever advised"
    ),
    "batch.how_kept": "kept",
    "batch.how_film_pool": "the metal covers the floor of its jar, so the film per area stays in any jar",
    "batch.how_film_in_jar": (
        "floor of the jar per area of metal against the proven jar, same depth of oil and age; right to a factor "
        "of three only"
    ),
    "batch.how_same_dose": "dose per gram times the charge",
    "batch.how_same_tip_speed": "keeps the speed at the edge of the stirring circle: N2 = N1 D1/D2",
    "batch.how_kept_oil_depth": "kept; the metal is taken as a pool that covers the floor",
    "batch.how_same_oil_depth": "keeps the depth of hot oil over the pool",
    "batch.name_oil_cold": "The same oil measured at room temperature",
    "batch.how_oil_cold": "oil swells by about {percent} % per K (an estimate)",
    "batch.how_fill": "hot oil and metal against the volume to the brim; at most 75 %",
    "batch.how_same_settling": (
        "grows with the depth of the pool: mass over the square of the vessel's diameter (Stokes' speed knows no "
        "depth)"
    ),
    "batch.how_never_longer": (
        "kept: a deeper pool would ask for more time, but for this metal no longer exposure is ever advised"
    ),
    "batch.how_heat_up": "an estimate: grows with length squared, so with the charge to the power 2/3",
    "batch.how_heat_up_ratio": (
        "an estimate: grows with length squared, so with the charge to the power 2/3; time the proven batch"
    ),
    "batch.ask_from": (
        "No clean attempt tells its charge. Weigh the charge of an attempt, or say from which batch to scale."
    ),
    "batch.ask_metal_area_cm2": "The area of the metal is not known: enter pieces, size or area with its jar.",
    "batch.ask_jar_mm": "The inner diameter of the proven jar is not known: enter it with the jar.",
    "batch.ask_jar_oil_mm": "The oil over the metal in the jar is not known: enter it with the jar.",
    "batch.ask_dose_mg_g": "The dose is not known per gram of charge.",
    "batch.ask_turns_per_min": "The stirring speed of the recipe is not known.",
    "batch.ask_stirrer_mm": "The stirring circle of the campaign's vessel is not known: enter it under Materials.",
    "batch.ask_new_stirrer_mm": "The stirring circle for this size is not known: enter it with the batch.",
    "batch.ask_oil_ml": (
        "How much hot oil the proven batch had is not known: note it with an attempt, or enter it with the batch."
    ),
    "batch.ask_vessel_mm": "The inner diameter of the campaign's vessel is not known: enter it under Materials.",
    "batch.ask_new_vessel_mm": (
        "The inner diameter of the vessel for this size is not known: enter it with the batch."
    ),
    "batch.ask_new_vessel_ml": (
        "The volume of the vessel for this size is not known, so nothing checks how full it gets: enter it."
    ),
    "batch.ask_metal_kg_m3": "The density of the metal is not known: enter it under Materials.",
    "batch.ask_hot_c": "The temperature of the recipe is not known, so nor is the volume of the hot oil.",
    "batch.ask_settle_s": "The settling time of the recipe is not known.",
    "batch.ask_heat_up_s": "How long the proven batch took to heat up is not known: time it, and enter it.",
    "batch.nothing_proven": "No batch with a known charge came out clean, so no size is proven.",
    "batch.beyond_proven": "{size} is more than the largest batch that came out clean, {proven}. It is not proven.",
    "batch.large_step": (
        "This is {times} times the largest proven batch. Steps of at most twice are the rule; try a size between "
        "first."
    ),
    "batch.far": (
        "This is {times} times the largest proven batch, beyond the factor of three that is taken as one step. Go"
        " by {sizes}, and prove each before the next."
    ),
    "batch.small": (
        "This is {times} times smaller than any batch that came out clean: it cools faster and weighing tells "
        "less of it."
    ),
    "batch.not_the_same": (
        "Chance and ranges rest on the batches that were made. The amounts here are scaled from one of {proven} by "
        "what is thought to matter; whether it does is not proven."
    ),
    "batch.too_full": (
        "Hot oil and metal would fill {share} % of the vessel, more than {top} %. Take a larger vessel or less."
    ),
    "batch.too_full_of_oil": (
        "Hot oil alone would fill {share} % of the vessel, more than {top} %. Take a larger vessel or less."
    ),
    "batch.fire_load": (
        "More hot oil is more to burn: check tray, lid, extinguisher and ventilation for this size first."
    ),
    "batch.more_film": (
        "In this jar each area of the metal would meet {times} times the air of the proven jar. For this metal no"
        " more exposure is ever advised, so no steps are given."
    ),
    "batch.other_film": (
        "In this jar the film per area would be about {times} times that of the proven jar at the same age."
    ),
    "handbook.purpose": (
        "Parts {solids} from {metal}: the metal is melted under {oil} and stirred, so that the solids leave it and "
        "the metal runs into one pool."
    ),
    "handbook.clean_two": (
        "A clean separation means that both questions were answered yes: the solids left the metal, and the metal "
        "became one pool."
    ),
    "handbook.clean_one": "A clean separation is what the person at the bench counted as clean.",
    "handbook.vessel": "Melt vessel: {known}.",
    "handbook.vessel_unknown": "Melt vessel: size not recorded.",
    "handbook.stirrer": "Stirrer: diameter of the stirring circle {circle}{tools}.",
    "handbook.heating": (
        "Electric heat without flame, with a thermometer in oil and metal, a lid to smother and a dry tray below."
    ),
    "handbook.balance": "Balance that shows steps of {step} or finer; timer that shows seconds.",
    "handbook.balance_unknown": "Balance (its step is not recorded); timer that shows seconds.",
    "handbook.jars": "Jars for ageing under oil, {count}{known}.",
    "handbook.no_attempts": "No attempt is behind this recipe yet.",
    "handbook.failed": "{failed} of {attempts} used were not clean.",
    "handbook.more_failed": "Also not clean, further outside the ranges: attempts {numbers}.",
    "handbook.aborted": "Attempt {number} was broken off ({why}); it does not count in the chance.",
    "handbook.more_aborted": "Also broken off: attempts {numbers}.",
    "handbook.never_varied": "“{factor}” was always {value}: nothing is known of other values.",
    "handbook.never_recorded": "“{factor}” was never recorded.",
    "handbook.untried": "Never tried as far as this recipe asks: {names}.",
    "handbook.lots": "Lots of crude behind the answer: {count}. Another lot may differ.",
    "handbook.operators": "People who stirred: {count}. Other hands may get other results.",
    "handbook.humidity": "Room humidity is known for {known} of {attempts} only; in another season it may differ.",
    "handbook.recovery": (
        "How much metal comes back: {weighed} clean attempts have charge and product weighed, {pure} of them a "
        "purity."
    ),
    "handbook.sizes": "Batches that came out clean held {span}; nothing is known of other sizes.",
    "handbook.sizes_unknown": "How large the clean batches were was not recorded.",
    "handbook.no_proof": (
        "No count fixed beforehand stands behind this recipe: its chance comes from the search itself."
    ),
    "handbook.why": (
        "Why age and oil act at all is not settled: a thin film that helps parting and hinders pooling is a "
        "hypothesis."
    ),
    "handbook.why_waiting": (
        "Why the conditions act is not settled. That an aged sample parted better is no reason to age one: for "
        "this metal the crust that grows is the hazard."
    ),
    "handbook.session": "Session “{name}”, fingerprint {fingerprint}.",
    "handbook.attempts": "Attempts {numbers} of it, made {dates}.",
    "handbook.lots_named": "Lots {lots}.",
    "handbook.program": (
        "Computed with Stirfall {version}; formulas in its guide, page “What the numbers mean”. Struck-out "
        "attempts stay in the session with the reason."
    ),
    "recipe.not_readable": "Issued recipe {number} cannot be read: it is no recipe of this program.",
    "recipe.blocked": (
        "The limits forbid this recipe, so it is not issued. The recipe says why: change what it names, or record"
        " what is missing."
    ),
    "recipe.no_number": "No recipe with the number {number} was issued here. Issued: {known}.",
    "recipes.same_conditions": "All conditions are the same.",
    "recipes.moved": "“{name}” went from {first} to {second}.",
    "recipes.ranges": "The ranges in which the recipe holds changed for {names}.",
    "recipes.same_chance": "The chance is the same in whole per cent: {first}, then {second}.",
    "recipes.chance_overlaps": (
        "The chance went from {first} to {second}. The intervals overlap, so neither is shown to be better."
    ),
    "recipes.chance_apart": (
        "The chance went from {first} to {second}. The intervals do not overlap; the attempts of the first are "
        "among those of the second, so this is no comparison of two groups."
    ),
    "recipes.same_evidence": "Both rest on the same attempts, unchanged.",
    "recipes.not_listed": ("There are too many attempts to follow one by one: {first} were used, then {second}."),
    "recipes.evidence_added": "Recorded since: {count} ({numbers}).",
    "recipes.evidence_struck": "Struck out since: {count} ({numbers}).",
    "recipes.evidence_unstruck": "No longer struck out: {count} ({numbers}).",
    "recipes.evidence_corrected": "Corrected since: {count} ({numbers}).",
    "recipes.evidence_missing": "No longer in the session: {count} ({numbers}).",
    "recipes.proof": "Proof: {first}; then {second}.",
    "recipes.limit_new": "New limit: {text}",
    "recipes.limit_gone": "No longer said: {text}",
    "recipes.same_limits": "The limits are the same.",
    "recipes.same_session": "The content of the session was the same both times.",
    "recipe.sheet": "There is no sheet “{sheet}”. Use one of: {known}.",
    "recipe.nothing_asked": (
        "Say what to do with the recipe: --out PATH to write it, --batch for another size, --issue to keep it, "
        "--json to print it; or look back with --issued, --show or --compare."
    ),
    "recipe.one_at_a_time": "Ask for one of --issued, --show and --compare at a time.",
    "recipe.number_unreadable": "“{text}” is no number of an issued recipe, nor “now”.",
    "recipe.list_not_written": (
        "The list of issued recipes is printed only, as text or with --json; --out is for a recipe."
    ),
    "recipe.comparison_no_sheet": "A comparison is written as .md or .json; it has no PDF.",
}
