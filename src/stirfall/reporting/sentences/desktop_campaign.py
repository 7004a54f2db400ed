"""Sentences of the campaign settings about the model: what each choice changes, and which attempts it touches."""

from __future__ import annotations

SENTENCES: dict[str, str] = {
    "campaign.gates_counted": "More attempts are only counted as clean or not, so one question is fitted for now.",
    "campaign.partly.failed": (
        "Partly is a no to the first question. Of {graded}, {partly}; their pool is not asked about."
    ),
    "campaign.partly.success": (
        "Partly is a yes to the first question. Of {graded}, {partly}; {pool}. The record keeps the word partly."
    ),
    "campaign.partly.ordinal": (
        "Partly stands between no and yes and tells more about what acts; the chance stays that of a yes. "
        "Of {graded}, {partly}."
    ),
    "campaign.partly_clean": (
        "With one question, partly with one pool counts as clean. Of {graded}, {partly}, {one_pool} with one pool. "
        "The record keeps the word partly."
    ),
    "campaign.partly_not_clean": "With one question, partly is never clean. Of {graded}, {partly}.",
    "campaign.share.lot": (
        "Attempts of one lot may be more alike than their conditions say; they show how much. "
        "{named} of {told} attempts name their lot: {groups}."
    ),
    "campaign.share.jar": (
        "Attempts from one jar may be more alike than their conditions say; they show how much. "
        "{named} of {told} attempts name their jar: {groups}."
    ),
    "campaign.share.factor": (
        "Levels of “{name}” differ by chance around one mean, so it has no effect of its own. "
        "{named} of {told} attempts name theirs: {groups}."
    ),
    "campaign.share.none": (
        "Every attempt counts as independent. Where lots differ, the intervals are then too narrow."
    ),
    "campaign.share_too_few": "With fewer than two, nothing can differ yet.",
    "campaign.share_hidden": "“{name}” is hidden, so attempts share nothing until it is shown again.",
    "campaign.humps": ("A square lets the chance rise and fall along a factor. It then stands in every form."),
    "campaign.products": "A product lets one factor change the effect of another; it takes many attempts to see.",
    "campaign.left_out_now": "Left out for now, as hidden or shared: {names}.",
    "campaign.form_all": "Each form weighs as much as it foretells attempts that it has not seen.",
    "campaign.form_gone": "What was tried cannot speak for this form, so all forms are weighed.",
    "campaign.form_pinned": "Only this form is used, whatever the others foretell.",
}
