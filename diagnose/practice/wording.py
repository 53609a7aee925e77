"""Moves, endings, slips and advice in words, the same for every front end."""

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.debrief import Debrief
from diagnose.practice.moves import CheckMove, FinishMove, HintMove, Move, ProofMove, RepairMove, SuspectMove
from diagnose.practice.slips import DETECTORS
from diagnose.words import say


def slip_says(kind: str) -> str:
    """What a slip is called; a kind that an older program knew, as it is kept."""
    return say(f"practice.slip_{kind}") if kind in DETECTORS else kind.replace("_", " ")


def practise_says(advice: str) -> str:
    """What to practise next: a slip to avoid, or something to do."""
    if advice in DETECTORS:
        return say("practice.avoid", slip=slip_says(advice))
    return say(f"practice.advice_{advice}")


def ended_says(ended: str) -> str:
    """How an exercise ended, or that it has not."""
    return say(f"practice.ended_{ended or 'open'}")


def move_says(kb: KnowledgeBase, move: Move) -> str:
    """A move in a few words."""
    match move:
        case CheckMove():
            return kb.checks[move.check].ask
        case RepairMove():
            both = f" {say('present.and')} ".join(kb.causes[c].says for c in move.causes)
            return say("practice.move_repair", causes=both)
        case ProofMove():
            return say("present.proof_of_repair")
        case HintMove():
            return say("practice.move_hint")
        case SuspectMove():
            return say("practice.move_suspect", words=move.words)
        case FinishMove():
            return say("practice.move_close")
        case _:
            return say("practice.move_tick")


def parting(seen: Debrief) -> int | None:
    """The first step, from 0, at which the trainee did something else than the program; words are no steps."""
    own = [line.move for line in seen.own if not isinstance(line.move, HintMove | SuspectMove)]
    best = [line.move for line in seen.best]
    for number, (mine, tools) in enumerate(zip(own, best, strict=False)):
        same = mine.check == tools.check if isinstance(mine, CheckMove) and isinstance(tools, CheckMove) else False
        same |= isinstance(mine, RepairMove) and isinstance(tools, RepairMove) and mine.causes == tools.causes
        if not same and not isinstance(mine, ProofMove):
            return number
    return None
