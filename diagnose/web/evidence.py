"""How the leading cause came to lead, as plain values: weights that add up, rules and calculations."""

from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from diagnose.session.wording import state_says

SMALLEST_SHOWN = 0.05  # decibans; anything less would read 0.0


@dataclass(frozen=True, slots=True)
class Weighed:
    says: str
    decibans: float
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Fired:
    """A rule, the facts that made it fire, and where it is from."""

    says: str
    because: str
    source: str


@dataclass(frozen=True, slots=True)
class Evidence:
    leader: str
    rival: str
    weights: tuple[Weighed, ...]
    total: float
    computed: tuple[str, ...]
    rules: tuple[Fired, ...]


def evidence_of(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> Evidence:
    """Weights of the leader against its runner-up in the order asked; they sum to `total`."""
    kb, leader = reasoner.kb, summarise(reasoner, session, conclusion).ranked[0]
    by_finding = {w.finding: w for w in leader.evidence if abs(w.decibans) >= SMALLEST_SHOWN}
    weights = [Weighed("how common they are, and the complaint", leader.start.decibans)]
    for seen in (o for o in conclusion.observations if o.finding in by_finding):
        says = f"{kb.findings[seen.finding].says}: {state_says(kb, seen.finding, seen.state)}"
        rule = kb.rules[seen.settled_by].says if seen.settled_by else ""
        weights.append(Weighed(says, by_finding[seen.finding].decibans, rule))
    fired = tuple(
        Fired(
            kb.rules[f.rule].says,
            ", ".join(f"{name} = {value}" for name, value in f.premises),
            kb.sources[kb.rules[f.rule].source].cite,
        )
        for f in conclusion.after.firings
    )
    total = leader.start.decibans + sum(w.decibans for w in leader.evidence)
    computed = tuple(o.says for o in conclusion.known.outcomes.values())
    return Evidence(leader.cause.says, kb.causes[leader.rival].says, tuple(weights), total, computed, fired)
