"""A visit as one frozen value."""

from dataclasses import dataclass, field
from typing import Literal

from diagnose.model.visit import Answer, Attempt, Setup

Proof = Literal["pending", "passed", "failed"]
Result = Literal["pass", "fail", "na"]
Outcome = Literal["", "in_service", "left_out", "solved_on_phone", "dispatched"]


@dataclass(frozen=True, slots=True)
class Repair:
    """A remedy that was carried out, and what its proof said. `reading` is the number or look that decided.

    `by` names who did it, where that was not whoever has the visit.
    """

    cause: str
    note: str = ""
    proof: Proof = "pending"
    reading: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One line of the return-to-service checklist, done."""

    item: str
    result: Result
    reading: str = ""


@dataclass(frozen=True, slots=True)
class Session:
    """A visit so far; what follows from the answers is recomputed.

    `answers` are those since the last repair that did not end the trouble; `carried` are older ones that still
    hold; what a repair made obsolete is kept in `attempts`, with the repair, but no longer counts as present.
    `aside`: answers about devices that are not named any more; they count again once these are.
    `concluded` once the user asked for it; `insist` while the user wants one more check than pays.
    `previous` is the session before the last step of mending, and `mark` how many answers it left: Back needs both.
    """

    setup: Setup
    complaint: str
    words: str = ""
    site: str = ""
    digest: str = ""
    id: str = ""
    answers: tuple[Answer, ...] = ()
    concluded: bool = False
    insist: bool = False
    carried: tuple[Answer, ...] = ()
    aside: tuple[Answer, ...] = ()
    attempts: tuple[Attempt, ...] = ()
    repairs: tuple[Repair, ...] = ()
    ticks: tuple[Tick, ...] = ()
    outcome: Outcome = ""
    reason: str = ""
    previous: "Session | None" = field(default=None, repr=False, compare=False)
    mark: int = 0

    @property
    def given(self) -> tuple[Answer, ...]:
        """Every answer that holds now, oldest first."""
        return (*self.carried, *self.answers)

    def answer(self, check: str) -> Answer | None:
        """The answer to a check that holds now."""
        return next((a for a in self.given if a.check == check), None)

    @property
    def pending(self) -> Repair | None:
        """The repair whose proof is still owed."""
        return self.repairs[-1] if self.repairs and self.repairs[-1].proof == "pending" else None

    @property
    def mended(self) -> Repair | None:
        """The repair that was proved good last, unless another fault has been looked for since."""
        good = self.repairs and self.repairs[-1].proof == "passed" and len(self.repairs) > len(self.attempts)
        return self.repairs[-1] if good else None
