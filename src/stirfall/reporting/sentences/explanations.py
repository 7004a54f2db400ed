"""Sentences for what a suggestion says for itself."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "explain.gate_clean": "a clean separation",
    "explain.gate_parted": "parting",
    "explain.gate_pooled": "pooling",
    "explain.settles_little": (
        "Settles little: whatever comes out, less than 1 % of the doubt about any one condition goes."
    ),
    "explain.settles_level": (
        "Tells how often it works as a whole, more than what any one condition does: about {share} % of that doubt "
        "goes."
    ),
    "explain.settles_whether": (
        "Tells whether {first} matters for {gate}: about {share} % of the doubt about it goes."
    ),
    "explain.settles_how_much": (
        "Tells how much {first} matters for {gate}: about {share} % of the doubt about it goes."
    ),
    "explain.settles_whether_two": (
        "Tells whether {first} or {second} matters for {gate}: about {share} % and {other} % of the doubt goes."
    ),
    "explain.settles_how_much_two": (
        "Tells how much {first} and {second} matter for {gate}: about {share} % and {other} % of the doubt goes."
    ),
    "explain.settles_two_gates": (
        "Tells what {first} does to {gate} and what {second} does to {second_gate}: about {share} % and {other} % "
        "of the doubt goes."
    ),
    "explain.if_clean": "clean",
    "explain.if_not_clean": "not clean",
    "explain.if_beads": "beads",
    "explain.if_nothing": "nothing parted",
    "explain.after_same": (
        "If {outcome} ({chance} %): the recipe stays, and so does its {now} % ({lower} to {upper} %)."
    ),
    "explain.after_stays": (
        "If {outcome} ({chance} %): the recipe stays; its {now} % becomes {then} % ({lower} to {upper} %)."
    ),
    "explain.after_moves": (
        "If {outcome} ({chance} %): the best {moves}, with {then} % there ({lower} to {upper} %); the present "
        "recipe would be at {present} %, now {now} %."
    ),
    "explain.move": "{factor} moves to {value}",
    "explain.move_and": "{moves}, {factor} to {value}",
    "explain.no_value": "none",
    "explain.near_none": "Nothing was tried yet, so there is no attempt to compare it with.",
    "explain.near_same": "The same conditions as attempt {number}, which came out as “{outcome}”.",
    "explain.near": "Nearest is attempt {number}, “{outcome}”. Against it, this has {gaps}.",
    "explain.gap_and": "{first}; {rest}",
    "explain.gap_other": "{first}; and one smaller difference",
    "explain.gap_others": "{first}; and {count} smaller differences",
    "explain.gap_more": "{factor} {difference} more ({here}, there {there})",
    "explain.gap_less": "{factor} {difference} less ({here}, there {there})",
    "explain.gap_choice": "{factor} {here}, there {there}",
    "explain.gap_unknown": "{factor} {here}, there not known",
}
