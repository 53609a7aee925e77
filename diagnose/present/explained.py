"""A cause of the knowledge laid open: the ways it takes along the chain, and where each of its numbers comes from."""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.core.origins import ShownFinding, WayTaken, shown_findings, ways_taken
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Value
from diagnose.present.figures import percent
from diagnose.session.wording import state_says
from diagnose.words import say

LEAST = 0.005  # a state in fewer cases is not told


@dataclass(frozen=True, slots=True)
class ShownLine:
    """One finding in words, its states with their share, and where they come from."""

    says: str
    states: str
    by: str


@dataclass(frozen=True, slots=True)
class ExplainedCause:
    """`ways` the ways in words, commonest first; `findings` what is told of each finding."""

    says: str
    ways: tuple[str, ...]
    findings: tuple[ShownLine, ...]


def explained(kb: KnowledgeBase, cause: str, values: Mapping[str, Value] | None = None) -> ExplainedCause:
    """`values` are facts of the profile, as far as effects depend on them."""
    return ExplainedCause(
        kb.causes[cause].says,
        tuple(_way(kb, way) for way in ways_taken(kb, cause, values)),
        tuple(_line(kb, shown) for shown in shown_findings(kb, cause, values)),
    )


def _way(kb: KnowledgeBase, way: WayTaken) -> str:
    effects = "; ".join(kb.effects[e].says for e in way.effects) or say("present.shows_nothing")
    return say("present.way_at_rest" if way.rests else "present.way", share=percent(way.share), effects=effects)


def _line(kb: KnowledgeBase, shown: ShownFinding) -> ShownLine:
    told = [(state, p) for state, p in shown.states.items() if p >= LEAST]
    states = ", ".join(f"{state_says(kb, shown.finding, state)} {percent(p)}" for state, p in told)
    by = "; ".join(_origin(kb, effect, share) for effect, share in shown.by)
    return ShownLine(kb.findings[shown.finding].says, states, by)


def _origin(kb: KnowledgeBase, effect: str, share: float) -> str:
    if not effect:
        return say("present.of_its_own")
    return say("present.by_effect", effect=kb.effects[effect].says, share=percent(share))
