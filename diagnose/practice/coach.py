"""After each move: what was said beforehand against what the evidence allowed, what the result weighs, which slip.

Suspects are stated before each check and answered by a counter-example where the evidence speaks against them;
hints grow stronger and dearer; a check that could tell nothing new is named.
"""

from dataclasses import dataclass

from diagnose.core.explain import weights
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.simulate import entropy
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.blocks import blocks, part_says
from diagnose.practice.exercise import Exercise, best_move
from diagnose.practice.moves import Beliefs, CheckMove, Move, RepairMove
from diagnose.practice.scores import against_posterior, against_truth
from diagnose.practice.slips import Scene, Slip, odds_db, slips
from diagnose.session.session import conclude
from diagnose.session.wording import percent, state_says
from diagnose.words import say

HINT_COSTS = (2.0, 5.0, 10.0)  # points, by strength
CONTRADICTED_BELOW = 0.05
HELD = 0.3


@dataclass(frozen=True, slots=True)
class Counter:
    """An answer that speaks against a stated suspect: finding, state and decibans against its best rival."""

    cause: str
    finding: str
    state: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Feedback:
    """What the coach makes of one move.

    `found`: the state that was seen. `surprise`: Brier distance of the stated expectation from the chances, None
    when nothing was expected. `brier`: distance of the stated beliefs from the exact posterior before the move.
    `truth`: their Brier score against the hidden truth, for the debrief only. `weight`: decibans that the result
    gave the cause that led before, against its best rival.
    """

    minutes: float
    bits: float
    found: str
    expected: bool | None
    surprise: float | None
    brier: float | None
    truth: float | None
    leader: str
    rival: str
    weight: float
    counter: Counter | None
    slips: tuple[Slip, ...]


def feedback(reasoner: Reasoner, before: Exercise, after: Exercise) -> Feedback:
    """The coach's view of the last move of `after`."""
    move, kb = after.done[-1].move, reasoner.kb
    start, end = conclude(reasoner, before.session), conclude(reasoner, after.session)
    said = move.beliefs if isinstance(move, CheckMove | RepairMove) else ()
    (leader, _), (rival, _) = start.belief.ranked()[:2]
    seen = _seen(kb, move, end)
    counted = isinstance(move, CheckMove) and len(end.observations) > len(start.observations)
    return Feedback(
        minutes=after.done[-1].minutes,
        bits=entropy(start.belief) - entropy(end.belief) if counted else 0.0,
        found=seen,
        expected=(move.expects == seen) if isinstance(move, CheckMove) and move.expects and seen else None,
        surprise=_surprise(start, move),
        brier=against_posterior(said, start.belief),
        truth=against_truth(said, before.gate.truth),
        leader=leader,
        rival=rival,
        weight=odds_db(end.belief, leader, rival) - odds_db(start.belief, leader, rival) if counted else 0.0,
        counter=counter_example(start, said),
        slips=slips(Scene(kb, before, after, start, move)),
    )


def _seen(kb: KnowledgeBase, move: Move, end: Conclusion) -> str:
    finding = kb.checks[move.check].finding if isinstance(move, CheckMove) else None
    return next((o.state for o in end.observations if finding and o.finding == finding.id), "")


def _surprise(start: Conclusion, move: Move) -> float | None:
    """Brier distance of 'this state, surely' from the chances of the states (multi-category form, halved)."""
    gain = next((g for g in start.gains if isinstance(move, CheckMove) and g.option.check == move.check), None)
    if gain is None or not isinstance(move, CheckMove) or not move.expects:
        return None
    states = start.belief.network.tables[gain.option.finding].states
    return sum((c - float(s == move.expects)) ** 2 for s, c in zip(states, gain.chances, strict=True)) / 2.0


def counter_example(conclusion: Conclusion, said: Beliefs) -> Counter | None:
    """The answer that speaks most against a suspect the trainee still holds, though the evidence has cleared it."""
    belief = conclusion.belief
    held = [c for c, p in said if p >= HELD and c in belief.network.causes]
    for cause in sorted(held, key=belief.probability):
        if belief.probability(cause) >= CONTRADICTED_BELOW:
            return None
        rival = next(c for c, _ in belief.ranked() if c != cause)
        _, *steps = weights(conclusion.path, conclusion.told, cause, rival)
        worst = min((w for w in steps if w.finding), key=lambda w: w.decibans, default=None)
        if worst and worst.decibans < -1.0:
            return Counter(cause, worst.finding, worst.state, worst.decibans)
    return None


def hint(reasoner: Reasoner, exercise: Exercise, most: int = 3) -> tuple[int, str]:
    """(strength, text) of the next hint; `most` fades the strongest ones out as a trainee gets better.

    1 which part of the installation, 2 which two causes to tell apart, 3 which move and why.
    """
    kb, conclusion = reasoner.kb, conclude(reasoner, exercise.session)
    strength = min(exercise.hints + 1, most)
    if strength < 1:
        return 0, say("practice.no_hints")
    if conclusion.stop_work:
        return strength, say("practice.hint_stop_work")
    if strength == 1:
        likely = max(blocks(kb, conclusion.belief), key=lambda b: b.fault)
        return 1, say("practice.hint_part", part=part_says(kb, likely.id), percent=percent(likely.fault))
    if strength == 2:
        (first, _), (second, _) = conclusion.belief.ranked()[:2]
        return 2, say("practice.hint_pair", first=kb.causes[first].says, second=kb.causes[second].says)
    return 3, _told(kb, conclusion, best_move(reasoner, exercise))


def _told(kb: KnowledgeBase, conclusion: Conclusion, move: Move | None) -> str:
    if isinstance(move, CheckMove):
        gain = conclusion.next.gain
        asked = kb.checks[move.check].ask
        if gain is None:
            return say("practice.hint_check", check=asked)
        return say("practice.hint_check_saves", check=asked, saved=f"{gain.saves:.0f}")
    if isinstance(move, RepairMove):
        return say("practice.hint_mend", cause=kb.causes[move.causes[0]].says)
    return say("practice.hint_prove") if move else say("practice.hint_specialist")


def says_counter(kb: KnowledgeBase, found: Counter) -> str:
    """The counter-example in words."""
    shown = say(
        "present.seen", finding=kb.findings[found.finding].says, state=state_says(kb, found.finding, found.state)
    )
    return say("practice.counter", cause=kb.causes[found.cause].says, seen=shown, weight=f"{found.decibans:+.0f}")
