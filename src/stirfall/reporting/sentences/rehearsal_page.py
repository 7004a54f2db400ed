"""Sentences of the section "Rehearsal" of the plan."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "rehearsal_page.no_session": (
        "Open a session or make a new one; whole campaigns from it on are played here, to tell how many attempts "
        "and weeks to expect."
    ),
    "rehearsal_page.teaches": (
        "A rehearsal plays your campaign to its end many times on the computer: each time with another truth that "
        "fits your attempts, and under each order below. What appears here is how many more attempts and weeks to "
        "expect, as a spread, and what your way of choosing attempts is worth. Press “Rehearse”; you can go on "
        "working meanwhile."
    ),
    "rehearsal_page.waits": "The rehearsal can begin as soon as the odds are worked out.",
    "rehearsal_page.failed": "The rehearsal could not be played. What was recorded is not touched.",
    "rehearsal_page.no_orders": "Tick at least one order.",
    "rehearsal_page.starting": "Starting to play {of} campaigns…",
    "rehearsal_page.running": "{done} of {of} campaigns are played.",
    "rehearsal_page.running_left": "{done} of {of} campaigns are played, {left} left.",
    "rehearsal_page.stopping": "Stopping. {done} of {of} campaigns are kept.",
    "rehearsal_page.kept": "{done} of {of} campaigns are played and kept. “Go on” plays the rest.",
    "rehearsal_page.whole": "All {of} campaigns are played.",
    "rehearsal_page.finished": "The rehearsal is over: {of} campaigns are played.",
    "rehearsal_page.stale_changed": "The attempts have changed since this was rehearsed.",
    "rehearsal_page.stale_asked": "These results are of what was asked before.",
    "rehearsal_page.asked": "Wanted: a recipe of {target}, within {most}. {campaigns} for each order, seed {seed}.",
    "rehearsal_page.asked_partly": (
        "Wanted: a recipe of {target}, within {most}. {played} of {campaigns} for each order so far, seed {seed}."
    ),
    "rehearsal_page.begun": "Weeks count from {when}.",
    "rehearsal_page.already": "The recipe of today is good enough already in {share}.",
    "rehearsal_page.reachable": "Within your limits {target} can be reached at all in {share}.",
    "rehearsal_page.half_beyond": "More than {most}",
    "rehearsal_page.half_now": "No more attempts",
    "rehearsal_page.half_now_weeks": "Now",
    "rehearsal_page.middle": "Half of {campaigns} are done by then; {level} interval {lower} to {upper}.",
    "rehearsal_page.middle_now": (
        "In half of {campaigns} the recipe of today is good enough; {level} interval of the middle one {lower} to "
        "{upper}."
    ),
    "rehearsal_page.middle_beyond": (
        "Fewer than half of {campaigns} are done by then; {level} interval of the middle one {lower} to {upper}."
    ),
    "rehearsal_page.spread": "Eight in ten lie between {first} and {last}.",
    "rehearsal_page.reached": "Done within {most}: {share}.",
    "rehearsal_page.missed": "Not done: {count}, counted as more than {most}.",
    "rehearsal_page.saves": "Saves about {saved} ({lower} to {upper}) against {other}.",
    "rehearsal_page.costs": "Costs about {saved} more ({lower} to {upper}) than {other}.",
    "rehearsal_page.no_difference": (
        "No clear difference from {other}: {middle} on average, between {first} and {last} attempts."
    ),
    "rehearsal_page.fewer": "{number} fewer",
    "rehearsal_page.more": "{number} more",
    "rehearsal_page.saved_weeks": "Weeks: {weeks} on average, standard error {error}.",
    "rehearsal_page.quicker": "Quicker in {quicker}, the same in {same}, slower in {slower} of {campaigns}.",
    "rehearsal_page.is_measure": "The other orders are set against this one.",
    "rehearsal_page.no_measure": "Tick “space filling” too, to see what each order saves.",
    "rehearsal_page.how_to_read": (
        "A line climbs, from 0 to 100 %, as campaigns get done; the farther left it climbs, the better. The band "
        "behind it is the {level} interval that chance leaves to so many campaigns."
    ),
    "rehearsal_page.guess_teaches": (
        "Your guess: the best probability, and for each factor that matters where it is at its best and how far "
        "from there the probability has fallen to 61 % of its best. An empty place is anywhere within the limits, "
        "another one in each campaign; the usual width is a quarter of the range, and the other choices keep half."
    ),
    "rehearsal_page.guess_width": "Write a width above {least}, or leave it empty.",
    "rehearsal_page.guess_share": "Write a share above 0 and up to 100 %, or leave it empty.",
    "rehearsal_page.guess_place": "This lies outside the range of the factor.",
    "rehearsal_page.guess_unready": "A number of the guess cannot be read; mend it first.",
    "rehearsal_page.order_learn": "Each attempt is the one that teaches most about what matters.",
    "rehearsal_page.order_reliable": "Each attempt is the one that leads soonest to a reliable recipe.",
    "rehearsal_page.order_soonest": "Each attempt is chosen for the soonest clean batch.",
    "rehearsal_page.order_most": "Each attempt is chosen for the most clean grams per week.",
    "rehearsal_page.order_space": "Each attempt lies as far as possible from all that was tried.",
    "rehearsal_page.order_random": "Each attempt lies anywhere within the limits.",
    "rehearsal_page.order_one": "One factor is moved in four stops, the others stay as in the best attempt so far.",
    "rehearsal_page.order_repeat": "The best conditions that were tried are repeated.",
}
