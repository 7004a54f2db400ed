"""Sentences of the plan page: tonight, and how the person works."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "working.kept": "How you work was kept. The plan is worked out anew.",
    "working.empty": "Give a number here.",
    "working.whole": "{value} is no whole number. Give a number such as 3.",
    "working.attempt_h": "From heating to weighed.",
    "working.evening_h": "Time at the bench on a bench day.",
    "working.jars_at_once": "Opened in one round; one clean jar of them is enough.",
    "working.hour": "On the clock of this place, 0 to 23.",
    "working.horizon": "What is not done by then counts as taking so long.",
    "working.target": "The probability of a clean separation that you want to reach.",
    "working.control_usual": "Empty: the usual ± {value} for it.",
    "working.control_exact": "Empty: held exactly.",
    "working.control_zero": "Held exactly.",
    "working.control_is": "Nearly always within ± {value} of what you set.",
}
