"""From the rival explanations to the state of their section; pure."""

from __future__ import annotations

from collections.abc import Sequence

from stirfall.bench.campaign import CampaignState
from stirfall.desktop.evidence.rivals_state import VERDICTS, RivalDetail, RivalLine, RivalsState, SideLines
from stirfall.reporting import rivals_words as words
from stirfall.reporting.sentences import sentence
from stirfall.session.rivals_found import Pair, Rival


def build_state(rivals: Sequence[Rival], state: CampaignState, chosen: str, *, decimal: str) -> RivalsState:
    """Return what the section shows; the first explanation stands open where none is chosen."""
    open_one = next((rival for rival in rivals if rival.key == chosen), rivals[0] if rivals else None)
    return RivalsState(
        hypothesis=sentence("rivals.hypothesis"),
        lines=tuple(_line(rival, decimal) for rival in rivals),
        chosen="" if open_one is None else open_one.key,
        detail=RivalDetail() if open_one is None else _detail(open_one, state, decimal),
        can_fill=open_one is not None and open_one.pair is not None,
    )


def _line(rival: Rival, decimal: str) -> RivalLine:
    glyph, word = VERDICTS[rival.verdict]
    says_number = rival.factor is not None and rival.entangled is None
    number = words.factor_words(rival.factor, decimal=decimal) if rival.factor is not None and says_number else ""
    return RivalLine(rival.key, words.title(rival), glyph, word, number)


def _detail(rival: Rival, state: CampaignState, decimal: str) -> RivalDetail:
    pair = rival.pair
    return RivalDetail(
        title=words.title(rival),
        foretells=words.foretells_line(rival),
        verdict=words.verdict_line(rival, decimal=decimal),
        evidence=tuple(words.evidence_line(each, decimal=decimal) for each in rival.evidence),
        doubts=tuple(words.doubt_lines(rival, decimal=decimal)),
        pair_title="" if pair is None else words.pair_title(rival),
        sides=() if pair is None else _sides(pair, state, decimal),
        rules=() if pair is None else tuple(words.rule_lines(pair)),
        told=() if pair is None else tuple(words.told_lines(pair, decimal=decimal)),
        no_pair="" if rival.no_pair is None else sentence(rival.no_pair.code, rival.no_pair.params),
    )


def _sides(pair: Pair, state: CampaignState, decimal: str) -> tuple[SideLines, ...]:
    return tuple(
        SideLines(
            sentence(place),
            words.values_of_side(side, state, decimal=decimal),
            words.jar_line(side, decimal=decimal),
        )
        for place, side in (("rivals.first", pair.first), ("rivals.second", pair.second))
    )
