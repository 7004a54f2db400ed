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
        "Melting point {melting} + 5 K lies above {top}, the most that this oil allows (flash point {flash} "
        "− 50 K, less where its bottle or its autoignition temperature says so), so no “{factor}” is safe. "
        "Check the values, or use an oil with a higher flash point."
    ),
    "limits.window_outside_range": (
        "The range of “{factor}”, {low} to {high}, misses the window from {floor} (melting point + 5 K) to "
        "{ceiling} (flash point − 50 K, less where the oil's bottle or its autoignition temperature says so). "
        "Change the range, or the oil."
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
    "limits.age_range_too_old": (
        "The range of “{factor}” begins at {low}, but for this class of metal nothing older than {most} is "
        "suggested. Lower the range."
    ),
    "limits.level_left_out": "“{additive}” is never suggested. {why}",
    "limits.dose_left_out": "No “{factor}” above zero is suggested. {why}",
    "limits.dose_too_small": "At most {cap} of it would be allowed, below the range of “{dose}”.",
    "limits.no_level_left": (
        "Every level of “{factor}” is forbidden for this metal, so nothing can be suggested. Add a level that "
        "means "
        "none, or an additive that is allowed."
    ),
    "limits.dose_range_above_cap": (
        "The range of “{factor}” begins at {low}, but {cap} is the most that is allowed. Lower the range."
    ),
    "limits.too_near_flash": (
        "“{factor}” {value} is less than 25 K below the flash point of the oil, {flash}. Do not heat above {top}."
    ),
    "limits.near_flash": (
        "“{factor}” {value} is less than 50 K below the flash point of the oil, {flash}. Stay at or below {top}."
    ),
    "limits.above_stated": (
        "“{factor}” {value} is above the highest temperature that the bottle of oil states, {top}. Do not heat "
        "above "
        "it."
    ),
    "limits.near_autoignition": (
        "“{factor}” {value} is less than 100 K below the autoignition temperature of the oil, {flash}; the "
        "heater is "
        "hotter than the oil. Do not heat above {top}."
    ),
    "limits.below_melting_margin": (
        "“{factor}” {value} is too close to the melting point: cold spots freeze beads. Use at least {floor}."
    ),
    "limits.far_above_melting": (
        "“{factor}” {value} is more than 60 K above the melting point. {top} or less is usually enough."
    ),
    "limits.live_over_set": (
        "Stop the heat now: {value} is more than {over} K above the set point, {set}. Keep the lid at hand."
    ),
    "limits.live_too_fast": (
        "Stop the heat now: {value} rises by {rate} K/min, more than {most}, near the set point of {set}."
    ),
    "limits.live_beyond_oil": (
        "Stop the heat now: {value} is above {top}, the most that this oil allows. Keep the lid at hand, stay "
        "clear."
    ),
    "limits.live_no_reading": "The thermometer gives no number. Stop the heat until it reads again.",
    "limits.peak_over_set": (
        "The highest temperature seen, {peak}, was more than {over} K above the set point, {set}. Find out why "
        "before the next attempt."
    ),
    "limits.peak_beyond_oil": (
        "The highest temperature seen, {peak}, was above {top}, the most that this oil allows. Discard overheated "
        "oil, and find out why before the next attempt."
    ),
    "limits.too_long_exposed": (
        "Do not open. {what}: {value} is longer than {most}, the most for a metal that forms superoxide. Its crust "
        "can explode when it is touched or cut. Leave it and get help from trained people."
    ),
    "limits.inspect_age": (
        "{what}: {value} is older than {most}. Look at the surface first, without opening: where it is hidden, "
        "furry, white or yellow, do not open and get help."
    ),
    "limits.longer_exposure": (
        "“{factor}” {value} is longer than the shortest recorded, {shortest}. This metal can grow a crust "
        "that explodes when touched: do not open a doubtful jar, ask for help."
    ),
    "limits.alarming_look": (
        "Do not open, touch or cut it: a surface noted as “{look}” can mean a crust that explodes. Leave it and "
        "get "
        "help from trained people."
    ),
    "limits.residue_jar": ("Jar {jar} holds residue that waits for disposal. It is no jar for an attempt."),
    "limits.additive_unknown": (
        "The class of “{additive}” is not known, and this metal is reactive: do not use it. Enter the class of the "
        "additive in the campaign settings."
    ),
    "limits.additive_class": (
        "“{additive}” ({kind}) is not on the list of additives that are allowed with this class of metal. Do not "
        "use it."
    ),
    "limits.additive_halogenated": (
        "“{additive}” is halogenated. It must never meet a reactive metal, or one of unknown class: it can explode."
    ),
    "limits.additive_water": (
        "“{additive}” holds water. It must never meet a reactive metal, or one of unknown class."
    ),
    "limits.dose_of_nothing": (
        "A “{factor}” is given, but the additive is none. Say which additive it was, or make the dose zero."
    ),
    "limits.dose_above_cap": "{what}: a dose of {value} is above the most that is allowed, {cap}.",
    "limits.hydrogen_above_cap": (
        "“{additive}” could release {value} of hydrogen at 20 °C, more than {cap}. Use a smaller dose."
    ),
    "limits.hydrogen_unknown": ("How much hydrogen “{additive}” can release is not known. Enter: {missing}."),
    "limits.freeboard": (
        "{value} of hot oil is more than {share} % of the vessel ({volume}): oil swells and spills. Use {top} at "
        "most."
    ),
    "limits.batch": (
        "A charge of {value} is more than {times} times the largest that came out clean, {proven}. It heats up and "
        "cools down differently, and there is more to burn."
    ),
    "limits.humid": (
        "The room humidity, {value} %, is above {most} %. Do not start with this metal on a humid day."
    ),
    "limits.many_runs": (
        "{count} hot runs were made today already, and {most} a day are enough: tired hands make mistakes. "
        "Stop, or "
        "take a long break."
    ),
    "limits.no_break": "{worked} at work without a break. Take one of at least {gap} before the next hot run.",
    "limits.lift_hot": (
        "The metal is at {value}. Lift it out of the oil only at {top} or below; until then leave it under oil."
    ),
    "limits.lift_unknown": (
        "The melting point is not known, so it cannot be said at which temperature the metal may be lifted out. "
        "Enter it in the campaign settings."
    ),
    "limits.residue_open": (
        "Residue waits for disposal since more than {most} days: {jars}, the oldest {oldest}. Give it to a "
        "licensed "
        "waste route."
    ),
    "limits.outside_range": "“{factor}” {value} lies outside the range of this campaign.",
    "limits.far_outside": "“{factor}” {value} lies far outside the range of this campaign. Is it typed as meant?",
    "limits.outside_tried": "“{factor}” {value} is untested: no graded attempt went there.",
    "limits.far_untried": (
        "“{factor}” {value} is untested and far from what was tried, {low} to {high}. Go there in smaller "
        "steps, or "
        "say why."
    ),
    "limits.holds_flash_unknown": (
        "The flash point of the oil is not known: no attempt may start, nothing that heats is suggested."
    ),
    "limits.holds_flash": "Oil with flash point {flash}: above {warn} only with a reason, never above {block}.",
    "limits.holds_stated": "The bottle of oil states {top} at most: never above it.",
    "limits.holds_autoignition": "Oil with autoignition temperature {autoignition}: never above {top}.",
    "limits.holds_autoignition_unknown": (
        "The autoignition temperature of the oil is not known, so it limits nothing here."
    ),
    "limits.holds_melting": "Below {low} or above {high} only with a reason: cold spots below, more hazard above.",
    "limits.holds_melting_unknown": "The melting point is not known, so it limits nothing here.",
    "limits.holds_live": (
        "More than {over} K above the set point, or faster than {rate} K/min near it: stop the heat at once."
    ),
    "limits.holds_lift": "Lift the metal out of the oil only at {top} or below.",
    "limits.holds_lift_unknown": (
        "The melting point is not known: lift the metal out only when it is solid and cold."
    ),
    "limits.holds_superoxide": (
        "No longer age or exposure is ever suggested, and nothing older than {most} may be opened: do not open, "
        "get "
        "help."
    ),
    "limits.holds_age": "Older than {most} only with a reason, and only after a look at the surface.",
    "limits.holds_look": (
        "Surface hidden, furry, white or yellow: do not open, touch or cut it. Get help from trained people."
    ),
    "limits.holds_no_halogen": "No halogenated and no water-based additive, ever.",
    "limits.holds_residue_jar": "Residue is never charged again: a residue jar is no jar for an attempt.",
    "limits.holds_humidity": "Above {most} % room humidity only with a reason.",
    "limits.holds_class": "An additive whose class is not known may not be used with this metal.",
    "limits.holds_not": "“{additive}” may not be used. {why}",
    "limits.holds_dose": "Additives: never more than {cap}.",
    "limits.holds_own_dose": "“{additive}”: never more than {cap}.",
    "limits.holds_hydrogen": (
        "An additive may release {cap} of hydrogen at 20 °C at most. Never into a closed vessel, never near a "
        "flame."
    ),
    "limits.holds_hydrogen_of": "“{additive}”: never more than {most} of it in one attempt, for its hydrogen.",
    "limits.holds_hydrogen_unknown": (
        "How much hydrogen “{additive}” can release is not known; its molar mass and reactive hydrogen atoms are "
        "missing."
    ),
    "limits.holds_freeboard": "Hot oil above {share} % of the vessel only with a reason.",
    "limits.holds_freeboard_of": "Hot oil above {top} ({share} % of the vessel) only with a reason.",
    "limits.holds_batch": "A charge above {times} times the largest that came out clean only with a reason.",
    "limits.holds_untried": (
        "From {count} graded attempts on: more than half of a tried span beyond it only with a reason."
    ),
    "limits.holds_checklist": "No attempt starts before every line of the start checklist of the day is ticked.",
    "limits.holds_breaks": "At most {runs} hot runs a day, and a break of {gap} after {without}.",
    "limits.holds_residue": "Residue that waits for more than {most} days is spoken of every day.",
    "limits.refused": (
        "{why} Nothing was recorded. What happened all the same can be recorded as aborted, with what happened."
    ),
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
    "plan.soonest_raise": (
        "A clean result here would bring the time to a clean batch from about {now} to about {then}; what differs "
        "most from earlier attempts is {factor} {value}."
    ),
    "plan.soonest_compare": (
        "It tells most about which conditions give a clean batch soonest: nothing like this was tried at {factor} "
        "{value}."
    ),
    "plan.most_raise": (
        "A clean result here would raise what can be expected from about {now} to about {then}; what differs most "
        "from earlier attempts is {factor} {value}."
    ),
    "plan.most_compare": (
        "It tells most about which conditions give the most clean metal a week: nothing like this was tried at "
        "{factor} {value}."
    ),
    "plan.wait_unknown": (
        "Only the film index stands for the age here, so how long jars must wait cannot be told, and no hours or "
        "grams are promised. Show the sample age or the oil exposure as a factor."
    ),
    "plan.charge_unknown": (
        "No jar on the shelf and no attempt says how much metal was charged, so grams cannot be told. Weigh the "
        "charge of one."
    ),
    "plan.recovery_unknown": (
        "No clean attempt has both charge and product weighed, so grams cannot be told. Weigh both once. The order "
        "of the suggestions takes it that all conditions bring back the same share."
    ),
    "goal.held": "As well as you hold the conditions: {chance}.",
    "goal.hours": "First clean batch after {value} on average, {lower} to {upper}, {basis}.",
    "goal.grams": "{value} of clean metal a week on average, {lower} to {upper}, {basis}.",
    "time_curve.head": (
        "Expected time to the first clean batch by {factor}: {jars} started now and opened together, {attempt} at "
        "the bench each, begun again until one is clean; what takes longer than {horizon} counts as that. {n}."
    ),
    "time_curve.row": "{age}: {hours}, {lower} to {upper}; in time {chance}",
    "time_curve.row_untried": "{age}: {hours}, {lower} to {upper}; in time {chance}; outside what was tried",
    "time_curve.best": "The least is at {factor} {age}: {hours}, {lower} to {upper}.",
    "time_curve.none_allowed": "The limits allow no {factor} of these.",
    "time_curve.no_ages": (
        "This campaign shows no age and no oil exposure in a unit of time, so no time can be told along one."
    ),
    "time_curve.never_wait": (
        "This metal is never left to age: it may have grown a peroxide or superoxide, and longer exposure makes "
        "that worse. So no time is weighed against its age."
    ),
    "time_curve.no_age": "{factor} is no age or oil exposure in a unit of time, so no time can be told along it.",
    "plan.lot_unknown": "There is no lot {lot}. Known lots: {known}.",
    "plan.again": (
        "These conditions were tried before; one more attempt there tells how far their outcome can be relied on."
    ),
    "plan.count_not_positive": "Ask for at least one suggestion, not {count}.",
    "plan.no_factors": ("This campaign has no visible factor, so there is nothing to recommend. Show or add one."),
    "plan.nothing_to_try": "No conditions are left to try within the limits. Widen a range, or look at the limits.",
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
    "plan.best_soonest": "The soonest clean batch to be expected within the limits, retries and ageing counted.",
    "plan.best_soonest_untested": (
        "The soonest clean batch that can be expected within the limits, but {factor} {value} is untested: try it "
        "before you rely on it."
    ),
    "plan.best_most": "The most clean grams a week that can be expected within the limits.",
    "plan.best_most_untested": (
        "The most clean grams a week that can be expected within the limits, but {factor} {value} is untested: try "
        "it before you rely on it."
    ),
}
