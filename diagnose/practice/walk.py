"""The first lesson: links of a sound gate looked at, broken once and seen; then gates worked for the trainee."""

from diagnose.core.reason import Reasoner
from diagnose.core.strip import State
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import WalkStep, WorkedGate
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.lessons import practice_setup
from diagnose.practice.moves import CheckMove, Move, ProofMove, RepairMove

DEVICE = "laser"  # what the invented gate has
SEED = 1


def standing_at(kb: KnowledgeBase, step: WalkStep, broken: bool) -> dict[str, State]:
    """How the links stand once the walk has come to this one: all before it are good, and it is, or is broken."""
    order = [other.link for other in kb.walk.values()]
    here = order.index(step.link)
    states: dict[str, State] = {link: "unknown" for link in kb.links if kb.links[link].short}
    states |= dict.fromkeys(order[:here], "good")
    return states | {step.link: "broken" if broken else "good"}


def gate_for(reasoner: Reasoner, example: WorkedGate) -> Gate:
    """The gate of an example. Raises DiagnoseError."""
    shows = {c: v if isinstance(v, str) else float(v) for c, v in example.shows.items()}
    setup = practice_setup((DEVICE,))
    return made_gate(reasoner, setup, (example.cause,), example.complaint, SEED, shows=shows)


def moves_of(example: WorkedGate) -> tuple[tuple[Move, str], ...]:
    """What is done for the trainee, each with why."""
    steps = list(example.steps.items())[: example.given or None]
    done: list[tuple[Move, str]] = [(CheckMove(check, prepared=True), why) for check, why in steps]
    if not example.given:
        done += [(RepairMove((example.cause,), prepared=True), example.repaired), (ProofMove(), "")]
    return tuple(done)
