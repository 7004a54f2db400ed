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
    "proof.lot_unknown": "“{lot}” is no lot of this session. Known: {known}; new stands for one not seen yet.",
    "proof.one_rule": "A proof has one rule. Name one number of failures, or the rule in sequence.",
    "proof.rule_unknown": "“{value}” is no rule of a proof. Use one of: {known}.",
    "proof.none_runs": "No proof is running, so there is none to mark an attempt for, or to give up.",
    "proof.tolerance_unreadable": (
        "“{text}” is no tolerance. Write NAME=NUMBER, in the unit of the factor, such as temperature=3."
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
    "proof.off_ceiling": (
        "It does not count for the proof: “{factor}” {value} is longer than the recipe allows, {recipe} at most. "
        "Of this metal no exposure may be longer. Record it without the mark."
    ),
    "proof.off_exactly": (
        "It does not count for the proof: “{factor}” {value} is {by} away from the recipe ({recipe}), which is to "
        "be met exactly. Record it without the mark."
    ),
    "proof.struck": "Attempt {number} was struck out and does not count. {reason}",
    "proof.after_the_end": "Attempt {number} came after the end and does not count.",
    "proof.not_graded": "Attempt {number} is not graded. Grade it first: what came after it waits.",
    "proof.waits": "Attempt {number} does not count yet: an earlier one waits for its grade.",
    "proof.unmarked": (
        "{attempts} at this recipe without a mark meanwhile, of which {failed} failed; not counted, and what is "
        "left out can make a recipe look better than it is."
    ),
    "proof.taken_back": "{attempts} marked for it, whatever the outcome, taken back by undo; not counted here.",
    "proof.many_after": (
        "{count} attempts, {first} to {last}, came after the end and do not count; of them failed: {failed}."
    ),
    "proof.many_wait": (
        "{count} attempts, {first} to {last}, do not count yet: an earlier one waits for its grade."
    ),
    "proof.moved_off": (
        "Attempt {number} was corrected and no longer lies at the recipe (“{factor}”). It does not count."
    ),
    "proof.moved_off_failed": (
        "Attempt {number} was corrected and no longer lies at the recipe (“{factor}”). It failed, so it "
        "still counts."
    ),
    "proof.corrected": "Attempt {number} was corrected after it was recorded.",
    "proof.aborted": "Attempt {number} was aborted, which counts as a failure.",
    "proof.rule_clean": "{attempts}, all of them clean, show {claim} % with {confidence} % confidence.",
    "proof.rule_count": (
        "{attempts}, of which {failures} may fail, show {claim} % with {confidence} % confidence."
    ),
    "proof.rule_sequence": (
        "In sequence, at least {fewest} and at most {attempts}: each is held against two lines, until one is "
        "crossed. The lower one shows {claim} % with {confidence} % confidence."
    ),
    "proof.false_pass": "If the reliability only just missed {claim} %, the chance to pass would be {risk}.",
    "proof.missing": (
        "At a reliability of {good} % the chance to miss is {risk}, and it takes about {at_good} attempts; at the "
        "claim it takes about {at_claim}."
    ),
    "proof.missing_more": "That risk is above the {asked} that was asked for. Allow more attempts.",
    "proof.line_moved": "The lower line was moved down a little, so that the confidence holds exactly.",
    "proof.chance_now": (
        "Started now it would succeed with a chance of {chance} ({spread}, as the reliability is not known; "
        "{basis}). It would take about {attempts}."
    ),
    "proof.chance_from_here": (
        "From here it succeeds with a chance of {chance} ({spread}, as the reliability is not known; "
        "{basis}). About {attempts} to go."
    ),
    "proof.improve_first": (
        "It is more likely to fail than to succeed. Improve the recipe first, or claim less; a failed proof stays "
        "in the record."
    ),
    "proof.likely_fails": "It is more likely to fail than to succeed.",
    "proof.open_count": (
        "Open: {n} of {attempts} attempts made, {clean} clean. {left} to go, of which {spare} may fail."
    ),
    "proof.open_sequence": (
        "Open: {made} made, {clean} clean, at most {attempts}. If all are clean, {ahead} show it."
    ),
    "proof.open_hopeless": (
        "Open: {made} made, {clean} clean, at most {attempts}. Within them it can no longer be shown."
    ),
    "proof.shown": (
        "Shown: {clean} of {made} at this recipe were clean. The reliability is at least {claim} % with "
        "{confidence} % confidence (lower bound {lower} %, n = {n})."
    ),
    "proof.not_shown_count": (
        "Not shown: {failures} of {made} at this recipe failed (allowed: {allowed}). With {confidence} % "
        "confidence the reliability is {span} % (n = {n})."
    ),
    "proof.not_shown_line": (
        "Not shown: {failures} of {made} at this recipe failed, which crosses the upper line. With {confidence} % "
        "confidence the reliability is {span} % (n = {n})."
    ),
    "proof.not_shown_cut": (
        "Not shown: {failures} of {made} at this recipe failed, and no line was crossed within the most attempts. "
        "With {confidence} % confidence the reliability is {span} % (n = {n})."
    ),
    "proof.given_up": "Given up after {made}, of which {failures} failed: {reason}",
    "proof.given_up_unused": "Given up before its first attempt: {reason}",
    "proof.interval": "From both sides: {span} %, {level} interval that respects the rule of the proof, n = {n}.",
    "proof.interval_open": (
        "So far {span} % ({level} interval, n = {n}). The interval of a proof without an end is not its result."
    ),
}
