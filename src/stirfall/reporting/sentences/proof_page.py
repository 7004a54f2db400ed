"""Sentences of the section "Proof" of the plan."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "proof_page.no_session": "Open a session or make a new one; a proof of its recipe is planned here.",
    "proof_page.empty": "The plans for a proof appear here as soon as the odds are worked out.",
    "proof_page.failed": "The chances of the proof could not be worked out. What was recorded is not touched.",
    "proof_page.no_width": "Say how far an attempt may lie from the recipe: zero, or a number above it.",
    "proof_page.filled": "Not among the conditions in hand, so the usual value stands: {names}.",
    "proof_page.size_clean": "{attempts}, none may fail",
    "proof_page.size_count": "{attempts}, {failures} may fail",
    "proof_page.size_sequence": "{fewest} to {most} attempts, in sequence",
    "proof_page.expected": "About {attempts} to expect",
    "proof_page.so_far": "{made} of {attempts}, {failures}",
    "proof_page.so_far_at_most": "{made_words}, {failures}",
    "proof_page.title": "{title}, started {when}",
    "proof_page.started": "Started {when}",
    "proof_page.consequence": (
        "From now on the rule cannot be changed. Mark each attempt for the proof before its outcome is known. Each "
        "marked attempt counts, and one that is aborted counts as a failure."
    ),
    "proof_page.begun": "The proof has begun. Its rule is locked.",
    "proof_page.ended": "The proof is given up. Its attempts stay marked.",
    "proof_page.why": "Why is it given up? The reason is kept with it, and it is told that nothing was shown.",
    "proof_page.origin": "the proof",
    "proof_page.teaches": (
        "A proof fixes a recipe and a claim before its first attempt. Its attempts then show whether the recipe "
        "keeps the claim. No number is chosen after the fact, so the result can be believed."
    ),
}
