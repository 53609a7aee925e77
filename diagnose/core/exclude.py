"""How far the answers rule causes out.

A rule excludes a cause outright where it rests on what somebody at the gate is sure of, and on the profile. Where it
rests on an answer that is not sure or that a caller gave, the cause stays with the chance that this answer is wrong.
"""

from collections.abc import Iterable, Mapping

from diagnose.core.facts import Known, fact_name
from diagnose.core.findings import slip_of
from diagnose.core.rules import Consequences, conclusions_of, fact_names
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Firing


def excluded(kb: KnowledgeBase, known: Known, after: Consequences, answers: Iterable[Answer]) -> Mapping[str, float]:
    """Cause -> what is left of its odds: 0 where it is excluded outright, else the chance that the grounds are wrong.

    Grounds are as good as the worst of them; of several the best count.
    """
    wrong = _of_derived(kb, after, _of_facts(kb, known, answers))
    found: dict[str, float] = {}
    for firing in after.firings:
        chance = _of_grounds(firing, wrong)
        found |= {cause: min(chance, found.get(cause, 1.0)) for cause in kb.rules[firing.rule].then.exclude}
    return found


def _of_derived(kb: KnowledgeBase, after: Consequences, told: Mapping[str, float]) -> Mapping[str, float]:
    """With the facts that rules conclude, each as good as the best of its grounds."""
    names = fact_names(kb)
    concluded = [(f, {n for n, _ in conclusions_of(kb.rules[f.rule], names)} - told.keys()) for f in after.firings]
    wrong = {name: 1.0 for _, facts in concluded for name in facts} | dict(told)
    changed = True
    while changed:
        before = dict(wrong)
        for firing, facts in concluded:
            wrong |= {name: min(wrong[name], _of_grounds(firing, wrong)) for name in facts}
        changed = wrong != before
    return wrong


def _of_grounds(firing: Firing, wrong: Mapping[str, float]) -> float:
    return max((wrong.get(name, 0.0) for name, _ in firing.premises), default=0.0)


def _of_facts(kb: KnowledgeBase, known: Known, answers: Iterable[Answer]) -> dict[str, float]:
    """Fact -> the chance that it is wrong, where somebody said it who may well be; and what is calculated from it."""
    found: dict[str, float] = {}
    for answer in (a for a in answers if a.says_something and a.check in kb.checks):
        doubtful = answer.from_caller or answer.heard or not answer.sure
        found[fact_name(kb.checks[answer.check])] = slip_of(kb.settings, answer) if doubtful else 0.0
    for calculation in (kb.calculations[c] for c in known.outcomes):
        found[calculation.id] = max((found.get(f, 0.0) for f in calculation.inputs.values()), default=0.0)
    return found
