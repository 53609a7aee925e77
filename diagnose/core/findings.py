"""Facts and rule consequences -> observations, each piece of evidence counted once.

A finding is scored from its own answer or calculation. What a rule settled or derived is scored only when
nothing below that rule is scored already; otherwise the rule merely saves the question.
"""

from collections.abc import Iterable, Mapping

from diagnose.core.facts import Known
from diagnose.core.rules import Consequences, conclusions_of, fact_names
from diagnose.model.knowledge import Finding, KnowledgeBase
from diagnose.model.settings import Settings
from diagnose.model.visit import Answer, Observation, Value


def observe(
    kb: KnowledgeBase, known: Known, after: Consequences, answers: Iterable[Answer]
) -> tuple[Observation, ...]:
    """Observed findings in the order the answers came; an answer outweighs what a rule settled for the same check."""
    given = {a.check: a for a in answers if a.says_something}
    fresh = _first_hand(kb, known.values, after)
    found = [o for f in kb.findings.values() if (o := _observation(f, known.values, fresh, after, given))]
    position = {check: i for i, check in enumerate(given)}
    return tuple(sorted(found, key=lambda o: (position.get(kb.findings[o.finding].check, len(position)), o.finding)))


def slip_of(settings: Settings, seen: Observation | Answer) -> float:
    """The chance that this observation or answer is wrong."""
    sure = settings.caller_slip if seen.from_caller else settings.slip
    sure = max(sure, settings.heard_slip) if seen.heard else sure
    return sure if seen.sure else max(sure, settings.unsure_slip)


def _first_hand(kb: KnowledgeBase, values: Mapping[str, Value], after: Consequences) -> Mapping[str, str]:
    """Facts that rules concluded without resting, at any depth, on a fact that is scored."""
    names = fact_names(kb)
    concluded = [(f, conclusions_of(kb.rules[f.rule], names)) for f in after.firings]
    everything = {**{name: value for _, facts in concluded for name, value in facts}, **values}
    scored = {f.fact for f in kb.findings.values() if _state(f, everything)} | {"complaint"}
    second_hand = set[str]()
    for _ in concluded:
        before = len(second_hand)
        for firing, facts in concluded:
            if any(name in scored or name in second_hand for name, _ in firing.premises):
                second_hand.update(name for name, _ in facts)
        if len(second_hand) == before:
            break
    return {name: value for _, facts in concluded for name, value in sorted(facts) if name not in second_hand}


def _state(finding: Finding, values: Mapping[str, Value]) -> str | None:
    if (value := values.get(finding.fact)) is None:
        return None
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
        if answer is None:
            return Observation(finding.id, state)
        return Observation(finding.id, state, answer.sure, from_caller=answer.from_caller, heard=answer.heard)
    if state := _state(finding, fresh):
        return Observation(finding.id, state, settled_by=after.settled.get(finding.check, ("", ""))[1])
    return None
