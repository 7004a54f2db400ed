"""Sentences for the codes of the planning floor."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "limits.flash_unknown": (
        "The flash point of this oil is not known, so no heating is suggested. Read it from the bottle or its "
        "safety sheet and enter it in the campaign settings."
    ),
    "limits.melting_unknown": (
        "The melting point is not known, so “{factor}” has no lower limit of its own. Enter it in the "
        "campaign settings."
    ),
    "limits.window_empty": (
        "Melting point {melting} °C + 5 K lies above oil flash point {flash} °C − 50 K, so no “{factor}” is "
        "safe. Check both values, or use an oil with a higher flash point."
    ),
    "limits.window_outside_range": (
        "The range of “{factor}”, {low} to {high}, misses the window from {floor} (melting point + 5 K) to "
        "{ceiling} (flash point − 50 K). Change the range, or the oil."
    ),
    "limits.temperature_unit": (
        "“{factor}” is a temperature, but not a number in °C, °F or K, so it cannot be held against the flash "
        "point. Nothing is suggested until it is."
    ),
    "limits.exposure_unordered": (
        "“{factor}” is an exposure given as a choice, so shorter and longer cannot be told apart. For this "
        "metal no longer exposure may be suggested. Record it as a number, or hide it."
    ),
    "limits.exposure_above_shortest": (
        "The range of “{factor}” begins at {low}, but {shortest} was recorded. For this metal no longer "
        "exposure may be suggested. Lower the range to {shortest} or less."
    ),
    "limits.exposure_pinned": (
        "For this metal a longer “{factor}” is never suggested: it stays at {value}. Use additive, stirring "
        "action and temperature instead."
    ),
    "limits.too_near_flash": (
        "“{factor}” {value} is less than 25 K below the flash point of the oil, {flash}. Do not heat above {top}."
    ),
    "limits.near_flash": (
        "“{factor}” {value} is less than 50 K below the flash point of the oil, {flash}. Stay at or below {top}."
    ),
    "limits.below_melting_margin": (
        "“{factor}” {value} is too close to the melting point: cold spots freeze beads. Use at least {floor}."
    ),
    "limits.far_above_melting": (
        "“{factor}” {value} is more than 60 K above the melting point. {top} or less is usually enough."
    ),
    "limits.longer_exposure": (
        "“{factor}” {value} is longer than the shortest recorded, {shortest}. This metal can grow a crust "
        "that explodes when touched: do not open a doubtful jar, ask for help."
    ),
    "limits.outside_range": "“{factor}” {value} lies outside the range of this campaign.",
    "limits.far_outside": "“{factor}” {value} lies far outside the range of this campaign. Is it typed as meant?",
    "limits.outside_tried": "“{factor}” {value} is untested: no graded attempt went there.",
    "plan.first": "The first attempt starts from the usual values of this campaign.",
    "plan.first_spread": (
        "With {n} graded attempts the chance cannot be judged yet, so the first ones are spread out: nothing "
        "like this was tried at {factor} {value}."
    ),
    "plan.learn_parting": (
        "Nothing like this was tried at {factor} {value}; it tells whether the solids leave the metal there."
    ),
    "plan.learn_pooling": (
        "Nothing like this was tried at {factor} {value}; it tells whether the metal pools there."
    ),
    "plan.learn_clean": (
        "Nothing like this was tried at {factor} {value}; it tells whether that separates cleanly."
    ),
    "plan.reliable_raise": (
        "A clean result here would raise the best known chance from {now} % to about {then} %; what differs "
        "most from earlier attempts is {factor} {value}."
    ),
    "plan.reliable_settle": (
        "It settles most which conditions are best: the chance is near the highest known, and nothing like "
        "this was tried at {factor} {value}."
    ),
    "plan.first_again": (
        "With {n} graded attempts the chance cannot be judged yet, and nothing new is left inside the limits: "
        "repeat these conditions."
    ),
    "plan.reliable_compare": (
        "It tells whether conditions like these could beat the best known, {now} %: nothing like this was "
        "tried at {factor} {value}."
    ),
    "plan.again": (
        "These conditions were tried before; one more attempt there tells how far their outcome can be relied on."
    ),
    "plan.count_not_positive": "Ask for at least one suggestion, not {count}.",
    "plan.no_factors": ("This campaign has no visible factor, so there is nothing to recommend. Show or add one."),
    "plan.film_out_of_reach": (
        "No conditions within the limits give a {factor} between {low} and {high}. Widen its range in the campaign "
        "settings, or that of the ages."
    ),
    "plan.goal_unknown": "“{goal}” is no goal. Use one of: {known}.",
    "plan.best_unknown": "No attempt was graded yet, so these are only the usual values of this campaign.",
    "plan.best": "The highest chance of a clean separation within the limits.",
    "plan.best_untested": (
        "The highest chance within the limits, but {factor} {value} is untested: try it before you rely on it."
    ),
}
