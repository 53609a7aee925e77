"""One field card as plain values, ready to draw: numbered steps, lettered causes, cautions, numbers to call with."""

from dataclasses import dataclass
from typing import Literal

from diagnose.cards.marks import MarkedCaution
from diagnose.cards.points import PointsSheet

Aim = Literal["step", "cause", "call", "again"]


@dataclass(frozen=True, slots=True)
class NamedCause:
    """What a branch ends in: the leading cause, how likely, and its runner-up. `letter` '' when it has no box."""

    letter: str
    likely: float
    runner: str
    runner_letter: str
    runner_likely: float


@dataclass(frozen=True, slots=True)
class PrintedBranch:
    """One branch of a step. `chance` of this answer at this step, None where nothing is known of it.

    `aim` says where it leads: to step `mark`, to the cause `named`, to the help-desk with number `mark`, or back to
    this step once the gate is safe. `stop`: the answer orders stop-work. `cautions` are marks.
    """

    says: str
    chance: float | None
    aim: Aim
    mark: str
    named: NamedCause | None = None
    stop: bool = False
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One check. `opening`: what must be opened first; `stop`: a stop-work order must be confirmed by it;
    `grave`: the check itself can hurt, so its cautions stand beside it in full.
    """

    number: int
    asks: str
    minutes: float
    opening: str
    tools: tuple[str, ...]
    stand: str
    stop: bool
    grave: bool
    cautions: tuple[MarkedCaution, ...]
    lines: tuple[PrintedBranch, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """One cause that branches name: how to be sure, what to do, how to prove it."""

    letter: str
    says: str
    test: str
    remedy: str
    access: str
    licensed: bool
    minutes: float
    proof: str
    proof_minutes: float
    cautions: tuple[MarkedCaution, ...]


@dataclass(frozen=True, slots=True)
class StopOrder:
    """A stop-work order in full."""

    says: str
    tell: str
    tag: str


@dataclass(frozen=True, slots=True)
class Reach:
    """How far the card leads, over the same simulated visits as the live tool. Shares of `cases`, minutes of checks.

    `card` and `live` name the true cause first (every true cause leads); `first_two` counts the card's runner-up;
    `asks` ends with a call.
    """

    cases: int
    seed: int
    card: float
    first_two: float
    asks: float
    live: float
    card_minutes: float
    live_minutes: float


@dataclass(frozen=True, slots=True)
class Card:
    """Everything that is printed. `minutes` of checks are expected before the card ends; `names` is its own
    figure of how often it names the true cause first, if the knowledge is right.
    """

    complaint: str
    kinds: str
    role: str
    digest: str
    dated: str
    orders: tuple[StopOrder, ...]
    cautions: tuple[MarkedCaution, ...]
    steps: tuple[Step, ...]
    boxes: tuple[Box, ...]
    minutes: float
    names: float
    reach: Reach | None = None
    points: PointsSheet | None = None  # the second side
