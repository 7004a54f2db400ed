"""What the recorded attempts mean for each choice about the model, counted once and said in one sentence each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from stirfall.bench.campaign import CampaignState
from stirfall.bench.outcomes import Parted, Pooled
from stirfall.bench.records import Attempt, bench_of
from stirfall.desktop.campaign.form_state import CampaignForm
from stirfall.inference.table import gates_in_use
from stirfall.reporting.sentences import sentence
from stirfall.session.model_settings import sharing_words


@dataclass(frozen=True)
class Sharing:
    """How many attempts name a lot (or jar, or level), and how many of these there are."""

    named: int = 0
    groups: int = 0


@dataclass(frozen=True)
class ModelFacts:
    """Counts over the attempts that tell an outcome, and the factors that a model may name.

    ``graded`` attempts answer the first question; ``partly`` of them say partly, ``pool_told`` of those also tell
    the pool, and ``one_pool`` of those made one. ``two_gates`` says whether two questions are fitted when the
    settings want two. ``sharing`` has one entry per thing that attempts can share; ``numbers`` and ``choices`` are
    names of factors, ``hidden`` of those that no form and no model shows; ``forms`` are the forms of the model that
    can be pinned, key and words.
    """

    told: int = 0
    graded: int = 0
    partly: int = 0
    pool_told: int = 0
    one_pool: int = 0
    two_gates: bool = True
    sharing: Mapping[str, Sharing] = field(default_factory=dict)
    numbers: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    hidden: frozenset[str] = frozenset()
    forms: tuple[tuple[str, str], ...] = ()

    def usable(self, form: CampaignForm) -> CampaignForm:
        """Return the form without squares and products that no model can have."""
        names = {*self.numbers, *self.choices}
        return replace(
            form,
            humps=tuple(name for name in form.humps if name in self.numbers),
            products=tuple(pair for pair in form.products if set(pair) <= names and pair[0] != pair[1]),
        )

    def notes(self, form: CampaignForm) -> Mapping[str, str]:
        """Return one sentence for each choice: what it changes, and how many attempts it touches."""
        return MappingProxyType(
            {
                "gates": "" if form.gates == 1 or self.two_gates else sentence("campaign.gates_counted"),
                "partly": self._partly(form),
                "lot_effect": self._sharing(form.lot_effect),
                "humps": self._humps(form),
                "products": self._products(form),
                "form": self._form(form.form),
            }
        )

    def _partly(self, form: CampaignForm) -> str:
        touched = {
            "partly": _are(self.partly, "partly parted"),
            "graded": f"{self.graded} graded attempt{'' if self.graded == 1 else 's'}",
            "pool": _pool_joins(self.pool_told),
            "one_pool": self.one_pool,
        }
        if form.gates == 2 and self.two_gates:
            return sentence(f"campaign.partly.{form.partly}", touched)
        is_success = form.partly == "success"
        return sentence("campaign.partly_clean" if is_success else "campaign.partly_not_clean", touched)

    def _form(self, pinned: str) -> str:
        if pinned and self.forms and pinned not in dict(self.forms):
            return sentence("campaign.form_gone")
        return sentence("campaign.form_pinned" if pinned else "campaign.form_all")

    def _sharing(self, wanted: str) -> str:
        if wanted == "none":
            return sentence("campaign.share.none")
        words = sharing_words(self.choices)
        if wanted in self.hidden and wanted not in words:
            return sentence("campaign.share_hidden", {"name": wanted})
        found = self.sharing.get(wanted, Sharing())
        known = wanted if wanted in words else "level"
        count = f"{found.groups} {known}{'' if found.groups == 1 else 'es' if known == 'bench' else 's'}"
        params = {"name": wanted, "named": found.named, "told": self.told, "groups": count}
        means = sentence(f"campaign.share.{wanted if wanted in words else 'factor'}", params)
        few = "" if found.groups > 1 else " " + sentence("campaign.share_too_few")
        return means + few

    def _humps(self, form: CampaignForm) -> str:
        away = [name for name in form.humps if name in self.hidden]
        return _with_left_out("campaign.humps", away)

    def _products(self, form: CampaignForm) -> str:
        away = {name for pair in form.products for name in pair if name in self.hidden or name == form.lot_effect}
        return _with_left_out("campaign.products", sorted(away - set(sharing_words(self.choices))))


def facts_of(state: CampaignState) -> ModelFacts:
    """Count what the attempts of a campaign say about each choice; struck-out and aborted ones do not count."""
    telling = [each for each in state.attempts if not each.is_struck and not each.aborted and _tells(each)]
    partly = [each for each in telling if each.parted is Parted.PARTLY]
    told = [each for each in partly if each.pooled not in (None, Pooled.NOT_OBSERVED)]
    choices = tuple(factor.name for factor in state.factors if factor.is_choice)
    labels: dict[str, list[object]] = {
        name: [each.conditions.get(name) for each in telling]
        for name in choices
        if name not in sharing_words(choices)
    }
    labels |= {"lot": [each.lot_id for each in telling], "jar": [each.jar_id for each in telling]}
    labels.setdefault("bench", [bench_of(each, state.settings) for each in telling])
    return ModelFacts(
        told=len(telling),
        graded=sum(each.parted is not None for each in telling),
        partly=len(partly),
        pool_told=len(told),
        one_pool=sum(each.pooled is Pooled.ONE_POOL for each in told),
        two_gates=gates_in_use(state.attempts, replace(state.settings, gates=2)) == 2,
        sharing={name: _count(values) for name, values in labels.items()},
        numbers=tuple(factor.name for factor in state.factors if not factor.is_choice),
        choices=choices,
        hidden=frozenset(factor.name for factor in state.factors if factor.hidden),
    )


def _tells(attempt: Attempt) -> bool:
    return attempt.parted is not None or attempt.successes is not None


def _count(labels: Sequence[object]) -> Sharing:
    known = [label for label in labels if label is not None]
    return Sharing(len(known), len(set(known)))


def _pool_joins(count: int) -> str:
    if count == 0:
        return "none of them tells the pool"
    ending = "s" if count == 1 else ""
    return f"{count} of them tell{ending} the pool and join{ending} the second question"


def _are(count: int, what: str) -> str:
    return f"{count} {'is' if count == 1 else 'are'} {what}"


def _with_left_out(code: str, away: Sequence[str]) -> str:
    text = sentence(code)
    if not away:
        return text
    left_out = sentence("campaign.left_out_now", {"names": ", ".join(away)})
    return f"{text} {left_out}"
