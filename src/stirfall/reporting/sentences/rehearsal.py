"""Sentences for the codes of rehearsals."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "rehearsal.no_campaigns": "At least one campaign must be rehearsed.",
    "rehearsal.campaigns": "Rehearse between 1 and {most} campaigns, not {value}.",
    "rehearsal.most": "Rehearse between 1 and {most} further attempts, not {value}.",
    "rehearsal.target": "The target is a probability between 0 and 1, not {value}. Write 0.9 for 90 %.",
    "rehearsal.jobs": "The number of processes is 1 or more, or −1 for all cores, not {value}.",
    "rehearsal.no_orders": "Name at least one order of attempts to rehearse.",
    "rehearsal.order_unknown": "There is no order “{order}”. Known: {known}.",
    "rehearsal.lot_unknown": "There is no lot “{lot}”. Known: {known}.",
    "rehearsal.no_dask": (
        "A cluster needs the library dask.distributed, which is not installed here. Install the extra “cluster” "
        "of Stirfall, or rehearse without a cluster."
    ),
    "rehearsal.cluster_unreachable": (
        "No scheduler answers at {address}. Check the address and that the cluster runs, or rehearse without it."
    ),
    "rehearsal.guess_best": "The best probability of a guess lies between 0 and 1, not {value}.",
    "rehearsal.guess_factor": "The guess names “{factor}”, which is no factor that may be planned. Known: {known}.",
    "rehearsal.guess_place": "The guess puts the best of “{factor}” at {value}, outside its range.",
    "rehearsal.guess_width": (
        "The width {value} of the guess for “{factor}” is too small. On a log scale it is a ratio above 1, "
        "elsewhere a number above 0."
    ),
    "rehearsal.guess_unreadable": (
        "“{text}” is no part of a guess. Write best=0.9, or a factor with the place of its best and, if you "
        "know it, the width: age=24:3."
    ),
    "rehearsal.record_other": (
        "{path} holds another rehearsal: since then the session, its plan, the target or the seed has changed. "
        "Name another file, or remove this one."
    ),
    "rehearsal.record_not": "{path} is no record of a rehearsal. Name another file; this one was left as it is.",
    "rehearsal.record_trouble": "The record {path} cannot be used: {reason}.",
    "rehearsal.from_posterior": "Each campaign has its own truth, drawn from what {count} graded attempts say.",
    "rehearsal.from_prior": (
        "No attempt is graded yet, so each campaign has a truth drawn from the broad first assumption. Treat the "
        "numbers as a range of what can happen."
    ),
    "rehearsal.from_guess": "All campaigns follow your guess: {best} % where everything is at its best.",
    "rehearsal.calendar": "Attempts are made on {days} bench days a week, {each} an evening.",
    "rehearsal.jars": (
        "{at_once} jars are started at a time, so that they come due on a bench evening; usable jars on the shelf "
        "now: {shelf}."
    ),
    "rehearsal.never_waits": (
        "This metal is never aged on purpose: every attempt is taken as made with fresh metal, no jar waits, and "
        "the weeks count bench evenings only."
    ),
    "rehearsal.film_waits_untold": (
        "The campaign has a film index but no age, so how long jars wait is not known: the weeks count bench "
        "evenings only."
    ),
    "rehearsal.one_lot": "All new jars are taken to be of lot {lot}, and the recipe is judged in it.",
    "rehearsal.new_lot": "All new jars are taken to be of one new lot, and the recipe is judged in it.",
    "rehearsal.new_group": (
        "Attempts share a “{what}” in this campaign: all rehearsed ones are taken to be of one new one, and the "
        "recipe is judged in it."
    ),
    "rehearsal.plainly": (
        "Done is when the recipe's true probability, averaged over how well you hold the conditions, is at least "
        "{target} %. Rehearsed attempts are never aborted, and meet their conditions exactly."
    ),
}
