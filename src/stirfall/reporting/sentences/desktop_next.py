"""Sentences of the window about goals, suggestions and the time to a clean batch."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "goal.learn": "the outcome tells most, whichever way it comes out",
    "goal.reliable": "raises the chance of the best conditions soonest",
    "goal.soonest": "the shortest time to a clean batch, waiting and retries counted",
    "goal.most": "the most clean grams a week, waiting and bench hours counted",
    "next.held": "As well as you hold it ({errors}): {chance}.",
    "next.held_exactly": "Every condition counts as held exactly; how well you hold them is set in the plan.",
    "next.untried": "Not tried here.",
    "next.outside": "Not tried here: {factors}. Outside what was tried the chance is a guess.",
    "next.no_jar": "No jar on the shelf fits.",
    "next.about_why": "What it would settle, what each outcome does to the plan, and what it is near to",
    "next.about_recipe": "The conditions that are recommended now for this goal",
    "next.recipe_title": "Recommended now: {goal}",
    "next.from_recipe": "recommended recipe, {goal}",
    "next.suggestion_title": "Suggestion {number}",
    "odds.hint_time": "A click or ← → moves the mark. Diamonds are the jars on the shelf at their present age.",
    "time.words": "{jars} at a time, {attempt} at the bench each, counted up to {horizon}.",
    "time.best": "Soonest at {age}: {time}, {attempts}.",
    "time.sentence": "Expected time to a clean batch along {factor}, jars started now, from {basis}.",
}
