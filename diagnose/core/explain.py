"""Why this check, and how a cause came to lead: as data, never as text with colours."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.core.course import Heard, Mended, Step
from diagnose.core.posterior import Belief, Chances, absorb
from diagnose.core.repair import Action, best_order, worth_trying
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Observation


@dataclass(frozen=True, slots=True)
class Prospect:
    """One possible answer: how likely it is and which causes would lead after it."""

    state: str
    probability: float
    leaders: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Weight:
    """Weight of evidence of one step for a cause against its rival, in decibans.

    Finding '' is the start, or with the cause as `state` a repair of it after which the trouble went on.
    """

    finding: str
    state: str
    decibans: float
    settled_by: str = ""


def prospects(
    belief: Belief, finding: str, chances: Sequence[float], slip: float, before: Sequence[Heard] = (), most: int = 3
) -> list[Prospect]:
    """What each answer to the finding's check would leave, in the finding's order of states."""
    table = belief.network.tables[finding]
    found = []
    for state, chance in zip(table.states, chances, strict=True):
        after = absorb(belief, Observation(finding, state), slip, before)
        found.append(Prospect(state, chance, tuple(after.ranked()[:most])))
    return found


def weights(path: Sequence[Chances], told: Sequence[Step], cause: str, rival: str) -> list[Weight]:
    """Sequential weights of evidence, in the order asked; they sum to the total log-odds of cause against rival.

    Good (1950): W = 10 log10 of the change in odds. Sequential, because with several causes at once the
    findings are not independent given one cause.
    """
    levels = [10.0 * math.log10(_odds(b, cause, rival)) for b in path]
    steps = [Weight("", "", levels[0])]
    for seen, before, after in zip(told, levels, levels[1:], strict=False):
        named = ("", seen.cause) if isinstance(seen, Mended) else (seen.finding, seen.state)
        settled = "" if isinstance(seen, Mended) else seen.settled_by
        steps.append(Weight(*named, after - before, settled))
    return steps


def _odds(belief: Chances, cause: str, rival: str) -> float:
    return max(belief.probability(cause), 1e-300) / max(belief.probability(rival), 1e-300)


def repair_order(kb: KnowledgeBase, belief: Belief, opened: frozenset[str], least: float = 0.01) -> list[str]:
    """Causes in the order their remedies are worth trying: probability over minutes, shared access counted once.

    A remedy that only hides a fault never ranks above one that mends it. What is worth less than going straight
    to the specialist is left out, as `expected_cost` does.
    """
    actions = [
        _action(kb, cause, p) for cause, p in belief.ranked() if p >= least and cause != kb.settings.outside_cause
    ]
    opening = {g.id: 0.0 if g.id in opened else g.minutes for g in kb.access.values()} | {"": 0.0}
    mending_first = sorted(best_order(actions, opening), key=lambda a: kb.causes[str(a.name)].remedy.hides_fault)
    return [str(a.name) for a in worth_trying(mending_first, kb.settings.specialist_minutes)]


def _action(kb: KnowledgeBase, cause_id: str, probability: float) -> Action:
    cause = kb.causes[cause_id]
    return Action(cause_id, probability, cause.remedy.minutes + cause.proof_minutes, cause.remedy.access)
