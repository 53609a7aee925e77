"""After each move: what was said beforehand against what the evidence allowed, what the result proves, which slip.

Suspects are stated before each check and answered by a counter-example where the evidence speaks against them; hints
grow stronger and dearer; a check that could tell nothing new is named. Nothing here names a suspect that the trainee
has not named himself: the coach speaks of links, and of what is proved innocent.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.core.strip import Standing, standing_of
from diagnose.measure.simulate import entropy
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.blocks import block_of_check, block_of_family, part_says
from diagnose.practice.evidence import heaviest, seen_says
from diagnose.practice.exercise import Exercise, best_move
from diagnose.practice.moves import Beliefs, CheckMove, Move, RepairMove
from diagnose.practice.scores import against_posterior
from diagnose.practice.slips import Scene, Slip, slips
from diagnose.practice.split import Split, split_of
from diagnose.session.session import conclude
from diagnose.words import say

CONTRADICTED_BELOW = 0.05
HELD = 0.3
CLEARED = 0.5  # by so much less probable with a fault there: it speaks for the link; judgement


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

    `found`: the state that was seen, `normal`: it is a sound gate's. `surprise`: Brier distance of the stated
    expectation from the chances, None when nothing was expected. `brier`: distance of the stated beliefs from the
    exact posterior before the move.
    `proved`: links that the move proved good, `cleared`: those for which it speaks without proving it, `open_links`:
    those that are not proved; all as they are called.
    `split`: how well the look parted what was open, None where there was nothing to part.
    """

    minutes: float
    bits: float
    found: str
    normal: bool
    expected: bool | None
    surprise: float | None
    brier: float | None
    proved: tuple[str, ...]
    cleared: tuple[str, ...]
    open_links: tuple[str, ...]
    split: Split | None
    counter: Counter | None
    slips: tuple[Slip, ...]


def feedback(reasoner: Reasoner, before: Exercise, after: Exercise) -> Feedback:
    """The coach's view of the last move of `after`."""
    move, kb = after.done[-1].move, reasoner.kb
    start, end = conclude(reasoner, before.session), conclude(reasoner, after.session)
    said = move.beliefs if isinstance(move, CheckMove | RepairMove) else ()
    seen = _seen(kb, move, end)
    counted = isinstance(move, CheckMove) and len(end.observations) > len(start.observations)
    was, now = links_of(kb, before, start), links_of(kb, after, end)
    new = [link for link in now if counted and now[link].state == "good" and was[link].state != "good"]
    spoken = [link for link in now if counted and now[link].speaks <= CLEARED * was[link].speaks and link not in new]
    return Feedback(
        minutes=after.done[-1].minutes,
        bits=entropy(start.belief) - entropy(end.belief) if counted else 0.0,
        found=seen,
        normal=_normal(kb, move, seen),
        expected=(move.expects == seen) if isinstance(move, CheckMove) and move.expects and seen else None,
        surprise=_surprise(start, move),
        brier=against_posterior(said, start.belief),
        proved=_called(kb, new),
        cleared=_called(kb, [link for link in spoken if now[link].state != "good"]),
        open_links=_called(kb, [link for link in now if now[link].state != "good"]),
        split=split_of(start, move.check, kb.settings.opening) if isinstance(move, CheckMove) else None,
        counter=counter_example(start, said),
        slips=slips(Scene(kb, before, after, start, move)),
    )


def links_of(kb: KnowledgeBase, exercise: Exercise, conclusion: Conclusion) -> dict[str, Standing]:
    """How the links that are shown to people stand, in the order of the signal."""
    standing = standing_of(kb.settings, conclusion, exercise.session.complaint)
    return {link: standing[link] for link in kb.links if link in standing and kb.links[link].short}


def _called(kb: KnowledgeBase, links: Iterable[str]) -> tuple[str, ...]:
    return tuple(kb.links[link].short for link in links)


def _seen(kb: KnowledgeBase, move: Move, end: Conclusion) -> str:
    finding = kb.checks[move.check].finding if isinstance(move, CheckMove) else None
    return next((o.state for o in end.observations if finding and o.finding == finding.id), "")


def _normal(kb: KnowledgeBase, move: Move, seen: str) -> bool:
    finding = kb.checks[move.check].finding if isinstance(move, CheckMove) else None
    return bool(finding) and seen == next(iter(finding.states))  # type: ignore[union-attr]


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
        if worst := heaviest(conclusion, cause, -1):
            return Counter(cause, worst.finding, worst.state, worst.decibans)
    return None


def hint(reasoner: Reasoner, exercise: Exercise, most: int = 3) -> tuple[int, str]:
    """(strength, text) of the next hint; `most` fades the strongest ones out as a trainee gets better.

    1 what is still open and how to halve it, 2 at which link to look, 3 which move. At strength 0: why none.
    """
    kb, conclusion = reasoner.kb, conclude(reasoner, exercise.session)
    strength = min(exercise.hints + 1, most)
    if why := no_hint(exercise, most):
        return 0, why
    if conclusion.stop_work:
        return strength, say("practice.hint_stop_work")
    if strength == 1:
        return 1, _halve(kb, exercise, conclusion)
    move = best_move(reasoner, exercise)
    return strength, _at_link(kb, move) if strength == 2 else _told(kb, conclusion, move)


def no_hint(exercise: Exercise, most: int) -> str:
    """Why there is no hint now, '' where there is one: not in this lesson, or nothing suspected yet."""
    if most < 1:
        return say("practice.no_hints")
    return "" if exercise.wrote else say("practice.write_first")


def _halve(kb: KnowledgeBase, exercise: Exercise, conclusion: Conclusion) -> str:
    links = links_of(kb, exercise, conclusion)
    named = (
        ", ".join(kb.links[name].short for name, link in links.items() if (link.state == "good") is good)
        for good in (True, False)
    )
    good, still_open = (says or say("practice.no_link") for says in named)
    return say("practice.hint_halve", good=good, open=still_open)


def _at_link(kb: KnowledgeBase, move: Move | None) -> str:
    if isinstance(move, CheckMove):
        return say("practice.hint_link", link=part_says(kb, block_of_check(kb, kb.checks[move.check])))
    if isinstance(move, RepairMove):
        return say("practice.hint_begins", link=_link_of(kb, move))
    return _after_mending(move)


def _told(kb: KnowledgeBase, conclusion: Conclusion, move: Move | None) -> str:
    if isinstance(move, CheckMove):
        gain = conclusion.next.gain
        asked = kb.checks[move.check].ask
        if gain is None:
            return say("practice.hint_check", check=asked)
        return say("practice.hint_check_saves", check=asked, saved=f"{gain.saves:.0f}")
    if isinstance(move, RepairMove):
        return say("practice.hint_mend", link=_link_of(kb, move))
    return _after_mending(move)


def _link_of(kb: KnowledgeBase, move: RepairMove) -> str:
    return part_says(kb, block_of_family(kb, kb.causes[move.causes[0]].family))


def _after_mending(move: Move | None) -> str:
    return say("practice.hint_prove") if move else say("practice.hint_specialist")


def says_counter(kb: KnowledgeBase, found: Counter) -> str:
    """The counter-example in words."""
    shown = seen_says(kb, found.finding, found.state)
    return say("practice.counter", cause=kb.causes[found.cause].says, seen=shown)
