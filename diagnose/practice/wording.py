"""Moves, endings and advice in words, the same for every front end."""

from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.debrief import Debrief
from diagnose.practice.moves import Finish, Hint, Look, Move, Prove, Repair
from diagnose.practice.slips import SAYS

PRACTISE = {
    **{kind: f"avoid: {says}" for kind, says in SAYS.items()},
    "say_beliefs": "say before every check what you expect and which causes you hold likely",
    "cautions": "take the precautions before you begin, also where nothing happens without them",
    "calibration": "put numbers on your suspects and compare them with the posterior after each check",
    "harder": "go one lesson up; this one holds nothing new for you",
}
ENDED = {
    "unsafe": "The exercise was stopped: somebody could have been hurt.",
    "solved": "Solved, proved and back in service.",
    "left_out": "Left out of service.",
    "": "Not finished.",
    "specialist": "Handed to the specialist.",
}


def move_says(kb: KnowledgeBase, move: Move) -> str:
    """A move in a few words."""
    match move:
        case Look():
            return kb.checks[move.check].ask
        case Repair():
            return "REPAIR " + " AND ".join(kb.causes[c].says for c in move.causes)
        case Prove():
            return "proof of the repair"
        case Hint():
            return "a hint"
        case Finish():
            return "end"
        case _:
            return "a line of the return to service"


def parting(seen: Debrief) -> int | None:
    """The first step, from 0, at which the trainee did something else than the tool; hints are no steps."""
    own = [line.move for line in seen.own if not isinstance(line.move, Hint)]
    best = [line.move for line in seen.best]
    for number, (mine, tools) in enumerate(zip(own, best, strict=False)):
        same = mine.check == tools.check if isinstance(mine, Look) and isinstance(tools, Look) else False
        same |= isinstance(mine, Repair) and isinstance(tools, Repair) and mine.causes == tools.causes
        if not same and not isinstance(mine, Prove):
            return number
    return None
