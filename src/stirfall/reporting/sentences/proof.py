"""Sentences for proofs: what cannot be planned, what does not belong to one, how one stands and how it ended."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "proof.failures_number": "{value} is no number of failures. Give 0, 1, 2 or another whole number.",
    "proof.too_many": (
        "To show {claim} % with {confidence} % confidence takes more than {most} attempts. Claim less, or be "
        "content with less confidence."
    ),
    "proof.too_few": (
        "{attempts} attempts with {failures} failures allowed do not show that. It takes {needed} attempts."
    ),
    "proof.too_few_to_show": (
        "Within {attempts} attempts this plan cannot show its claim, even if all were clean. It takes at least "
        "{fewest}."
    ),
    "proof.no_end": "This plan cannot end after {made} attempts with {failures} failures.",
    "proof.off_unknown": (
        "It does not count for the proof: “{factor}” is not known, and the recipe names it. Enter it."
    ),
    "proof.off_choice": (
        "It does not count for the proof: “{factor}” is {value}, and the recipe says {recipe}. Record it "
        "without the mark."
    ),
    "proof.off_recipe": (
        "It does not count for the proof: “{factor}” {value} is {by} away from the recipe ({recipe}), and {most} "
        "is the most. Record it without the mark."
    ),
    "proof.off_exactly": (
        "It does not count for the proof: “{factor}” {value} is {by} away from the recipe ({recipe}), which is to "
        "be met exactly. Record it without the mark."
    ),
    "proof.struck": "Attempt {number} was struck out and does not count. {reason}",
    "proof.after_the_end": "Attempt {number} came after the end and does not count.",
    "proof.not_graded": "Attempt {number} is not graded. Grade it first: what came after it waits.",
    "proof.waits": "Attempt {number} does not count yet: an earlier one waits for its grade.",
    "proof.moved_off": (
        "Attempt {number} was corrected and no longer lies at the recipe (“{factor}”). It does not count."
    ),
    "proof.moved_off_failed": (
        "Attempt {number} was corrected and no longer lies at the recipe (“{factor}”). It failed, so it "
        "still counts."
    ),
    "proof.corrected": "Attempt {number} was corrected after it was recorded.",
    "proof.aborted": "Attempt {number} was aborted, which counts as a failure.",
}
