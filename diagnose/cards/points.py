"""A points sheet as plain values, and what a reader does with it: adds up, compares, looks once more.

Nothing here knows the knowledge: whoever reads the paper has no more than this.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.cards.marks import MarkedCaution
from diagnose.model.visit import Value

Points = tuple[int, ...]  # one for each column


@dataclass(frozen=True, slots=True)
class PointsColumn:
    """A cause, and what to do when it wins: `remedy` '' where the card's front has it under the same letter.

    `cause` '' for the column of all that is not printed.
    """

    letter: str
    cause: str
    says: str
    remedy: str = ""
    cautions: tuple[MarkedCaution, ...] = ()
    licensed: bool = False


@dataclass(frozen=True, slots=True)
class PointsAnswer:
    """Answers that count alike. `values` are the words of the check that `says` prints."""

    values: tuple[str, ...]
    says: str
    points: Points


@dataclass(frozen=True, slots=True)
class PointsLook:
    """One look: of what, what it takes, and what each answer brings. An answer that is not printed brings nothing."""

    check: str
    asks: str
    minutes: float
    needs: tuple[str, ...]
    cautions: tuple[MarkedCaution, ...]
    answers: tuple[PointsAnswer, ...]


@dataclass(frozen=True, slots=True)
class DecidingTest:
    """What to look at when these two lead too closely; `sides`: a letter with the answers that speak for it."""

    letters: frozenset[str]
    look: PointsLook
    sides: tuple[tuple[str, tuple[str, ...], str], ...]

    def speaks_for(self, value: Value) -> str:
        """The letter that an answer speaks for, '' for neither."""
        return next((letter for letter, values, _ in self.sides if value in values), "")


@dataclass(frozen=True, slots=True)
class PointsSheet:
    """`settles` and `right`: over simulated cases, the share in which a cause leads by the margin, and of those the
    share in which it is there."""

    columns: tuple[PointsColumn, ...]
    start: Points
    looks: tuple[PointsLook, ...]
    margin: int
    settles: float
    right: float
    cases: int
    deciding: tuple[DecidingTest, ...] = ()
    cautions: tuple[MarkedCaution, ...] = ()

    def totals(self, seen: Mapping[str, Value]) -> Points:
        """Each column added up; `seen` maps checks to answers. What was not looked at adds nothing."""
        found = (a.points for look in self.looks for a in look.answers if seen.get(look.check) in a.values)
        return tuple(map(sum, zip(self.start, *found, strict=True)))

    def winner(self, totals: Points) -> str:
        """The letter of the cause that leads every other column by the margin; '' for none."""
        return settled(self.columns, totals, self.margin)

    def decides(self, totals: Points) -> DecidingTest | None:
        """The test printed for the two causes that lead."""
        wanted = leaders(self.columns, totals)
        return next((test for test in self.deciding if test.letters == wanted), None)


def settled(columns: tuple[PointsColumn, ...], totals: Points, margin: int) -> str:
    """As `PointsSheet.winner`."""
    best, *others = sorted(zip(totals, columns, strict=True), key=lambda x: -x[0])
    leads = not others or best[0] - others[0][0] >= margin
    return best[1].letter if leads and best[1].cause else ""


def leaders(columns: tuple[PointsColumn, ...], totals: Points) -> frozenset[str]:
    """The letters of the two causes with the most points, the one further left before its equals."""
    ordered = sorted((-total, i) for i, (total, c) in enumerate(zip(totals, columns, strict=True)) if c.cause)
    return frozenset(columns[i].letter for _, i in ordered[:2])
