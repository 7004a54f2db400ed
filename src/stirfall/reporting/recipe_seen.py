"""What should be seen at each step of a recipe, and what to do when it is not.

Only looking, stopping and grading: nothing here tells anyone to wait longer, and nothing makes or destroys a metal.
The signs are common practice (no source), but for water under hot oil, smoke and crusts, which the cautions have
with their sources.
"""

from __future__ import annotations

from stirfall.bench.materials import MaterialClass
from stirfall.bench.records import CampaignSettings
from stirfall.reporting.recipe_parts import Step

_CRUST = (
    "Surface hidden, furry, white or yellow: do not open, touch or cut it; get help.",
    "Water under the oil or on the pieces: do not heat it.",
)
_HELD_ENOUGH = (
    "Hard lumps when the time is over: stop the heat, and record it as it is. Never hold it hot beyond that."
)
_SEEN: dict[str, tuple[str, str]] = {
    "check": (
        "Every line of the checklist is true.",
        "One line is not: do not begin.",
    ),
    "prepare": (
        "Tools, vessel and balance are dry; all is within reach.",
        "Anything wet: dry it first, away from the heat.",
    ),
    "warm": (
        "The oil stays clear and still; the metal softens and runs above its melting point.",
        "Spitting or crackling means water: stop the heat, step back, let it cool. Smoke: stop the heat at once.",
    ),
    "hold": (
        "All of the metal is molten and the temperature is steady.",
        "Hard lumps: the metal is too cold, do not stir yet. Rising above the range: stop the heat.",
    ),
    "add": (
        "It melts in and spreads quietly.",
        "Foam or gas: add no more. Much gas: stop the heat and keep flames away.",
    ),
    "stir": (
        "Powder leaves the metal and clouds the oil or gathers at its face; the metal turns bright.",
        (
            "No powder at the end of the time: stop, and grade it so. The metal breaks into small beads: stir "
            "slower and press the beads together."
        ),
    ),
    "settle": (
        "Powder and metal part, and the metal lies as one pool.",
        (
            "Beads that touch for a minute and stay apart are coated: standing on does not merge them. Press them "
            "together once, then go on and grade what is there."
        ),
    ),
    "cool": (
        "The metal sets under the oil as one piece.",
        "Still soft or warm: leave it covered with oil, do not lift it.",
    ),
    "weigh": (
        "Product, beads and residue add up to between 95 and 102 % of charge and additive.",
        "More: oil is on it still. Less: look on the tool, on the wall and in the residue.",
    ),
    "record": (
        "One clean, bright piece without grit on a fresh scrape.",
        "Anything else is a result too: record it as it is.",
    ),
}

_AT_BENCH = {
    "check": "Read the cautions, tick the checklist. Heat nothing before.",
    "prepare": "Set up, all of it dry.",
    "warm": "Warm under oil. Smoke: heat off.",
    "hold": "Hold hot before stirring.",
    "add": "Dry and warm it first. Small portions.",
    "stir": "Stir. Keep the metal covered with oil.",
    "settle": "Let it settle. Powder floats or falls?",
    "weigh": "Lift, let the oil drain. Weigh product, beads, residue.",
    "record": "Answer at once, failures too.",
}


def at_bench(step: Step, settings: CampaignSettings) -> str:
    """Return the step in few words; as it is where it says more than its conditions, such as when to lift."""
    if step.key == "take":
        if settings.material.may_lengthen_age:
            return "Look at the surface first."
        return "The freshest charge; look at it first. Do not wait."
    if step.text.startswith("Add no additive"):
        return step.text
    return _AT_BENCH.get(step.key, step.text)


def seen_at(key: str, settings: CampaignSettings) -> tuple[str, str]:
    """Return what should be seen at a step, and what to do otherwise; both empty for a step without a sign."""
    if key == "hold" and not settings.material.may_lengthen_age:
        return _SEEN[key][0], _HELD_ENOUGH
    if key != "take":
        return _SEEN.get(key, ("", ""))
    if settings.material is not MaterialClass.BASE_METAL:
        return "The metal is bright or thinly grey, and covered with oil all over.", " ".join(_CRUST)
    return "The pieces are dry under their oil and look as in earlier attempts.", _CRUST[1]
