"""Commands about what was found out: comparisons asked for, recipes issued, marks of changes."""

from __future__ import annotations

import json
import uuid
from dataclasses import replace

from stirfall.bench.campaign import CampaignState
from stirfall.bench.comparisons import BY_WORD, Comparison, Group, Measure
from stirfall.bench.errors import InputError
from stirfall.bench.factors import Conditions
from stirfall.bench.issued import ChangeMark, IssuedRecipe, MarkKind
from stirfall.bench.records import find_factor
from stirfall.session import commands as c
from stirfall.session import validation as check
from stirfall.session.content_runs import check_ids
from stirfall.session.planned_parts import Planned, Surroundings
from stirfall.storage.edits import Edit

_NO_STEP = "comparison"  # no record has this id: what is noted belongs to no step that could be undone


def plan_finding(
    command: c.NoteComparison | c.IssueRecipe | c.MarkChange | c.DropMark, around: Surroundings
) -> Planned:
    """Return what it would write; raises InputError ``compare.*``, ``recipe.*`` or ``mark.*``."""
    match command:
        case c.NoteComparison():
            return _note(command.comparison, around)
        case c.IssueRecipe():
            return _issue(command.recipe, around)
        case c.MarkChange():
            mark = checked_mark(replace(command.mark, id=command.mark.id or uuid.uuid4().hex))
            check_ids(each.id for each in (*around.state.marks, mark))
            return Planned(f"Mark a change: {mark.text}", (Edit(mark.id, None, mark),))
        case c.DropMark():
            found = next((each for each in around.state.marks if each.id == command.mark_id), None)
            if found is None:
                raise InputError("mark.unknown", id=command.mark_id)
            return Planned("Take a mark away", (Edit(found.id, found, None),))


def _note(given: Comparison, around: Surroundings) -> Planned:
    comparison = checked_comparison(
        replace(given, id=given.id or uuid.uuid4().hex, made_at=around.now), around.state
    )
    known = {each.question for each in around.state.comparisons}
    edits = () if comparison.question in known else (Edit(comparison.id, None, comparison),)
    return Planned("Compare", edits, belongs_to=_NO_STEP)


def checked_comparison(comparison: Comparison, state: CampaignState, *, is_history: bool = False) -> Comparison:
    """Return a comparison as a file keeps it; raises InputError ``compare.*`` or ``factor.unknown``.

    One that was asked for before (``is_history``) may name a factor that the campaign has no more.
    """
    groups = (comparison.first, comparison.second)
    first, second = (_checked_group(group, state, is_history=is_history) for group in groups)
    if first == second:
        raise InputError("compare.same_group")
    return replace(
        comparison,
        made_at=check.kept_moment(comparison.made_at),
        first=first,
        second=second,
        measure=Measure(comparison.measure),
    )


def _checked_group(group: Group, state: CampaignState, *, is_history: bool) -> Group:
    what, name = group.what, group.what.removeprefix("factor:")
    if what.startswith("factor:") and is_history:
        pass
    elif what.startswith("factor:"):
        what = f"factor:{find_factor(state.factors, name).name}"
    elif what not in (*BY_WORD, "period", "chosen"):
        raise InputError("compare.group_unknown", what=what)
    return replace(
        group,
        what=what,
        low=None if group.low is None else float(group.low),
        high=None if group.high is None else float(group.high),
        since=None if group.since is None else check.kept_moment(group.since),
        until=None if group.until is None else check.kept_moment(group.until),
        attempts=tuple(sorted(set(group.attempts))),
    )


def _issue(given: IssuedRecipe, around: Surroundings) -> Planned:
    number = max((each.number for each in around.state.recipes), default=0) + 1
    recipe = checked_issued(
        replace(given, id=given.id or uuid.uuid4().hex, number=number, issued_at=around.now), around.state
    )
    check_ids(each.id for each in (*around.state.recipes, recipe))
    return Planned(f"Issue recipe {number}", (Edit(recipe.id, None, recipe),))


def checked_issued(recipe: IssuedRecipe, state: CampaignState, *, is_history: bool = False) -> IssuedRecipe:
    """Return an issued recipe as a file keeps it; raises InputError ``recipe.not_json`` or ``factor.unknown``.

    One that was issued before (``is_history``) may name factors that the campaign has no more.
    """
    for name in () if is_history else recipe.conditions:
        find_factor(state.factors, name)
    try:
        readable = isinstance(json.loads(recipe.document, parse_constant=_refuse), dict)
    except (ValueError, RecursionError):
        readable = False
    if not readable:
        raise InputError("recipe.not_json", number=recipe.number)
    return replace(recipe, issued_at=check.kept_moment(recipe.issued_at), conditions=Conditions(recipe.conditions))


def _refuse(word: str) -> object:
    """Refuse NaN and the like, which JSON does not know and a session file does not take."""
    raise ValueError(word)


def checked_mark(mark: ChangeMark) -> ChangeMark:
    """Return a mark as a file keeps it."""
    return replace(mark, at=check.kept_moment(mark.at), kind=MarkKind(mark.kind), text=mark.text.strip())


def checked_findings(state: CampaignState) -> CampaignState:
    """Return the content with comparisons, issued recipes and marks as a file will keep them; raises InputError."""
    for records in (state.comparisons, state.recipes, state.marks):
        check_ids([each.id for each in records])
    return replace(
        state,
        comparisons=tuple(checked_comparison(each, state, is_history=True) for each in state.comparisons),
        recipes=tuple(checked_issued(each, state, is_history=True) for each in state.recipes),
        marks=tuple(checked_mark(each) for each in state.marks),
    )
