"""Facts and rule consequences -> observations, each piece of evidence counted once.

A finding is scored from its own answer or calculation. What a rule settled or derived is scored only when
nothing below that rule is scored already; otherwise the rule merely saves the question.
"""

from collections.abc import Iterable, Mapping

from diagnose.core.facts import Known
from diagnose.core.rules import Consequences, conclusions_of, fact_names
from diagnose.model.knowledge import Finding, KnowledgeBase
from diagnose.model.visit import Answer, Fact, Observation, Value


def observe(
    kb: KnowledgeBase, known: Known, after: Consequences, answers: Iterable[Answer]
) -> tuple[Observation, ...]:
    """Observed findings in the order the answers came; an answer outweighs what a rule settled for the same check."""
    given = {a.check: a for a in answers if a.says_something}
    scored = {f.fact for f in kb.findings.values() if _state(f, known.values) is not None}
    fresh = _independent(kb, after, scored | {"complaint"})
    found = [o for f in kb.findings.values() if (o := _observation(f, known.values, fresh, after, given))]
    position = {check: i for i, check in enumerate(given)}
    return tuple(sorted(found, key=lambda o: (position.get(kb.findings[o.finding].check, len(position)), o.finding)))


def _independent(kb: KnowledgeBase, after: Consequences, scored: set[str]) -> Mapping[str, str]:
    """Facts that rules concluded without resting, at any depth, on a fact that is scored already."""
    names, rest_on = fact_names(kb), set(scored)
    for _ in after.firings:
        for firing in after.firings:
            if any(name in rest_on for name, _ in firing.premises):
                rest_on.update(name for name, _ in conclusions_of(kb.rules[firing.rule], names))
    concluded: list[Fact] = [f for firing in after.firings for f in conclusions_of(kb.rules[firing.rule], names)]
    return {name: value for name, value in sorted(concluded) if name not in rest_on}


def _state(finding: Finding, values: Mapping[str, Value]) -> str | None:
    value = values.get(finding.fact)
    return next((state for state, means in finding.states.items() if value in means), None)


def _observation(
    finding: Finding,
    values: Mapping[str, Value],
    fresh: Mapping[str, str],
    after: Consequences,
    given: Mapping[str, Answer],
) -> Observation | None:
    if state := _state(finding, values):
        answer = given.get(finding.check)
        return Observation(finding.id, state, answer.sure if answer else True)
    if state := _state(finding, fresh):
        return Observation(finding.id, state, settled_by=after.settled.get(finding.check, ("", ""))[1])
    return None
