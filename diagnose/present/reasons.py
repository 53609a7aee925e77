"""Why this step, what is likely so far, and how the leader came to lead."""

from dataclasses import dataclass

from diagnose.core.explain import Weight
from diagnose.core.facts import fact_name
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Firing
from diagnose.present.figures import minutes, percent, rounded, weight
from diagnose.session.parse import options_of
from diagnose.session.state import Session
from diagnose.session.summary import summarise, why_this_check
from diagnose.session.wording import likely_says, state_says, why_says
from diagnose.words import say

LEADERS = 5
AFTER_AN_ANSWER = 2  # causes named for each possible answer
SMALLEST_SHOWN = 0.05  # of a weight; anything less would read 0.0


@dataclass(frozen=True, slots=True)
class Likely:
    """A cause with how likely it is, 0 to 1 and in words."""

    says: str
    probability: float
    words: str


@dataclass(frozen=True, slots=True)
class Why:
    """Why the next step is what it is. `gain` is what a check saves, '' where no gain decided; then its answers."""

    title: str
    says: str
    gain: str = ""
    prospects: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Weighed:
    """One step of the evidence: its weight, what was seen, and the rule that settled it, or ''."""

    weight: str
    says: str


@dataclass(frozen=True, slots=True)
class Workings:
    """How the leader came to lead: weights that add up to the last one, then calculations and rules."""

    against: str
    weights: tuple[Weighed, ...]
    total: Weighed
    computed: tuple[str, ...]
    rules: tuple[str, ...]


def likely_of(kb: KnowledgeBase, conclusion: Conclusion, most: int = LEADERS) -> tuple[Likely, ...]:
    """The leading causes."""
    return tuple(Likely(kb.causes[c].says, p, likely_says(p)) for c, p in conclusion.belief.ranked()[:most])


def why_of(reasoner: Reasoner, conclusion: Conclusion) -> Why:
    """What the proposed check saves and what each answer would leave; or why to stop here."""
    kb, following = reasoner.kb, conclusion.next
    title = say("present.why_check") if following.check else say("present.why_stop")
    gain = following.gain
    if gain is None:
        return Why(title, why_says(following.why))
    finding = kb.findings[gain.option.finding]
    told = say(
        "present.gain",
        minutes=minutes(gain.minutes),
        saved=rounded(gain.saves),
        finding=finding.says,
    )
    return Why(title, why_says(following.why), told, _prospects(reasoner, conclusion, finding.id))


def _prospects(reasoner: Reasoner, conclusion: Conclusion, finding: str) -> tuple[str, ...]:
    kb = reasoner.kb
    return tuple(
        say(
            "present.prospect",
            answer=state_says(kb, finding, p.state),
            percent=percent(p.probability),
            causes=", ".join(f"{kb.causes[c].says} {percent(chance)}" for c, chance in p.leaders[:AFTER_AN_ANSWER]),
        )
        for p in why_this_check(reasoner, conclusion)
    )


def workings_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Workings:
    """Weights of the leader against its runner-up in the order asked; they sum to the total."""
    kb, leader = reasoner.kb, summarise(reasoner, session, conclusion).ranked[0]
    rows = [Weighed(weight(leader.start.decibans, 1), say("present.start_weight"))]
    rows += [Weighed(weight(w.decibans, 1), _step(kb, w)) for w in leader.steps if abs(w.decibans) >= SMALLEST_SHOWN]
    total = leader.start.decibans + sum(w.decibans for w in leader.steps)
    return Workings(
        against=say("present.against", leader=leader.cause.says, rival=kb.causes[leader.rival].says),
        weights=tuple(rows),
        total=Weighed(weight(total, 1), say("present.in_all")),
        computed=computed_of(conclusion),
        rules=tuple(_rule(kb, firing) for firing in conclusion.after.firings),
    )


def _step(kb: KnowledgeBase, step: Weight) -> str:
    says = seen_says(kb, step.finding, step.state)
    return say("present.settled", says=says, rule=kb.rules[step.settled_by].says) if step.settled_by else says


def seen_says(kb: KnowledgeBase, finding: str, state: str) -> str:
    """'what is on the window: hanging drops'; without a finding, that the repair of a cause did not help."""
    if not finding:
        return say("present.went_on", cause=kb.causes[state].says)
    return say("present.seen", finding=kb.findings[finding].says, state=state_says(kb, finding, state))


def computed_of(conclusion: Conclusion) -> tuple[str, ...]:
    """What calculations made of the answers."""
    return tuple(outcome.says for outcome in conclusion.known.outcomes.values())


def _rule(kb: KnowledgeBase, firing: Firing) -> str:
    """A rule with the facts that made it fire, as far as people were told them."""
    rule = kb.rules[firing.rule]
    source = kb.sources[rule.source].cite
    because = "; ".join(filter(None, (_fact(kb, *fact) for fact in firing.premises)))
    if not because:
        return say("present.rule", says=rule.says, source=source)
    return say("present.rule_because", says=rule.says, because=because, source=source)


def _fact(kb: KnowledgeBase, name: str, value: str) -> str:
    """A fact in words; '' for one that only other rules know."""
    if name == "complaint":
        return say("present.seen", finding=say("present.complaint"), state=kb.complaints[value].says)
    for finding in kb.findings.values():
        state = next((s for s, values in finding.states.items() if value in values), "")
        if finding.fact == name and state:
            return seen_says(kb, finding.id, state)
    check = next((c for c in kb.checks.values() if fact_name(c) == name), None)
    said = options_of(check).get(value, "") if check else ""
    return say("present.seen", finding=check.ask, state=said) if check and said else ""
