"""A visit as one frozen value."""

from dataclasses import dataclass, field
from typing import Literal

from diagnose.model.visit import Answer, Attempt, Setup, Value

Proof = Literal["pending", "passed", "failed"]
Result = Literal["pass", "fail", "na"]
Outcome = Literal[
    "", "in_service", "solved_on_phone", "proof_owed", "left_out", "dispatched", "nothing_wrong", "passed_on"
]
SERVING: tuple[Outcome, ...] = ("in_service", "solved_on_phone", "nothing_wrong")  # the gate is in use after these
Receiver = Literal["maker", "network", "electrician"]
NoteKind = Literal["remark", "correction"]
PhotoOf = Literal["visit", "answer", "remedy", "proof"]


@dataclass(frozen=True, slots=True)
class Repair:
    """A remedy that was carried out, and what its proof said. `reading` is the number or look that decided.

    `by` says who did it, where that was not whoever has the visit; `name` what that person is called.
    """

    cause: str
    note: str = ""
    proof: Proof = "pending"
    reading: str = ""
    by: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Note:
    """What somebody wants on the record in their own words. A correction mends what the record says otherwise."""

    text: str
    kind: NoteKind
    by: str = ""


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture beside the visit. `which` check or cause it belongs to; `value` the answer that it was taken for,
    `words` where that is all it says."""

    name: str
    of: PhotoOf
    which: str = ""
    value: Value = ""
    says: str = ""
    by: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """One line of the return-to-service checklist, done."""

    item: str
    result: Result
    reading: str = ""


@dataclass(frozen=True, slots=True)
class Ended:
    """How a visit ended, the last time or before it was opened again.

    `by`: who mended it, or who is to prove it, by name; `to`: to whom it was given; `due`: the day by which it has to
    be proved; `meanwhile`: what keeps people safe until then. `ticks`: what had been proved for it.
    """

    outcome: Outcome = ""
    reason: str = ""
    by: str = ""
    to: str = ""
    due: str = ""
    meanwhile: str = ""
    ticks: tuple[Tick, ...] = ()


@dataclass(frozen=True, slots=True)
class Session:
    """A visit so far; what follows from the answers is recomputed.

    `answers` are those since the last repair after which the trouble went on; `carried` are older ones that still
    hold; what a proved repair made obsolete is kept in `attempts`, with the repair, but no longer counts as present.
    `aside`: answers about devices that are not named any more; they count again once these are.
    `concluded` once the user asked for it; `insist` while the user wants one more check than pays.
    `photos` are all that were ever attached; photos.shown tells those that still belong to something.
    `by` names whoever has the visit; `end` is how it ended, `earlier` how it had ended each time before that.
    `numbered` are the checks in the order of their first answer in this stage: an answer keeps its number.
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
    by: str = ""
    end: Ended = Ended()
    earlier: tuple[Ended, ...] = ()
    notes: tuple[Note, ...] = ()
    photos: tuple[Photo, ...] = ()
    numbered: tuple[str, ...] = field(default=(), compare=False)
    previous: "Session | None" = field(default=None, repr=False, compare=False)
    mark: int = 0

    @property
    def outcome(self) -> Outcome:
        return self.end.outcome

    @property
    def reason(self) -> str:
        return self.end.reason

    @property
    def given(self) -> tuple[Answer, ...]:
        """Every answer that holds now, oldest first."""
        return (*self.lasting, *self.answers)

    @property
    def lasting(self) -> tuple[Answer, ...]:
        """Answers from before the last repair that hold and were not given anew since."""
        anew = {a.check for a in self.answers}
        return tuple(a for a in self.carried if a.check not in anew)

    @property
    def confirmed(self) -> frozenset[str]:
        """Checks whose answer was given twice."""
        return frozenset(a.check for a in self.given if a.confirmed)

    def answer(self, check: str) -> Answer | None:
        """The answer to a check that holds now."""
        return next((a for a in self.given if a.check == check), None)

    @property
    def order(self) -> tuple[str, ...]:
        """Checks by the number of their answer, from 1; one that was taken back keeps its place before later ones."""
        held = [a.check for a in self.given]
        order = list(dict.fromkeys((*self.numbered, *held)))
        while order and order[-1] not in held:
            order.pop()
        return tuple(order)

    def number(self, check: str) -> int:
        """The number of the answer to a check, or the one that it will have."""
        return [*self.order, check].index(check) + 1

    def answer_at(self, number: int) -> Answer | None:
        """The answer with a number; None where it was taken back, and at 0."""
        return self.answer(self.order[number - 1]) if 0 < number <= len(self.order) else None

    @property
    def pending(self) -> Repair | None:
        """The repair whose proof is still owed."""
        return self.repairs[-1] if self.repairs and self.repairs[-1].proof == "pending" else None

    @property
    def mended(self) -> Repair | None:
        """The repair that was proved good last, unless another fault has been looked for since."""
        good = self.repairs and self.repairs[-1].proof == "passed" and len(self.repairs) > len(self.attempts)
        return self.repairs[-1] if good else None
