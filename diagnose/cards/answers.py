"""What a check may be answered with on paper, and which state of its finding each answer means."""

from collections.abc import Mapping, Sequence

import numpy as np

from diagnose.core.facts import fact_name, gather
from diagnose.core.rules import fixpoint
from diagnose.core.stage import SAFE
from diagnose.kb.domain import answers_of
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Setup, Value
from diagnose.session.parse import options_of

UNSCORED = ""  # the state of an answer that no finding scores
TRIALS, SMALLEST = 60, 1e-3  # numbers tried between the limits of a reading, and the one nearest to nought
ON_CARD = "card"  # who gave the answers that a card's number stands for


def possible(
    kb: KnowledgeBase, setup: Setup, complaint: str, given: Sequence[Answer], check: Check
) -> Mapping[str, tuple[Value, ...]]:
    """State of the check's finding -> the answers that mean it, in the order of the states; '' where none is scored.

    A reading is one number for each state, well inside its band; a reading that is only written down for a later
    one is a single number that stands for whatever was read. States that no answer leads to are left out.
    """
    if safe := safe_words(kb, check):
        return {UNSCORED: safe[-1:]}
    words = tuple(w for w in options_of(check) if w in answers_of(check))
    if check.finding is None:
        return {UNSCORED: words or (stand_in(check),)}
    if check.finding.fact == fact_name(check) and words:
        return {s: tuple(v) for s, v in check.finding.states.items()}
    tried = words or trial_numbers(check)
    means = {value: _state(kb, setup, complaint, given, check, value) for value in tried}
    found = {s: tuple(v for v in tried if means[v] == s) for s in check.finding.states}
    return {s: v if words else (v[len(v) // 2],) for s, v in found.items() if v}


def safe_words(kb: KnowledgeBase, check: Check) -> tuple[str, ...]:
    """The answers that say the gate is safe, which lead on alike; none unless that is what the check asks."""
    return tuple(w for w in SAFE if w in answers_of(check)) if check.id == kb.settings.made_safe_check else ()


def stand_in(check: Check) -> float:
    """The middle of what is usual, for a number that the card cannot know."""
    low, high = check.plausible or check.hard or (0.0, 1.0)
    return (low + high) / 2.0


def trial_numbers(check: Check) -> tuple[Value, ...]:
    """Numbers over the usual range and, at ever larger steps from nought, over the possible one; ascending."""
    low, high = check.hard or check.plausible or (0.0, 1.0)
    far = np.geomspace(SMALLEST, max(abs(low), abs(high), 1.0), TRIALS)
    tried = {low, high, 0.0, *np.linspace(*(check.plausible or (low, high)), TRIALS), *far, *-far}
    return tuple(sorted(float(x) for x in tried if low <= x <= high))


def _state(
    kb: KnowledgeBase, setup: Setup, complaint: str, given: Sequence[Answer], check: Check, value: Value
) -> str | None:
    """The state that this answer would establish, by calculation and rules."""
    finding = kb.findings[check.id]
    known = gather(kb, setup, complaint, (*given, Answer(check.id, value)))
    values = {**dict(fixpoint(kb, known.facts)[0]), **known.values}
    return next((s for s, means in finding.states.items() if values.get(finding.fact) in means), None)
