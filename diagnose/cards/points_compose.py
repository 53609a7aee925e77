"""The points sheet in words: columns, looks and deciding tests, with the letters and marks of the front side."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations, count, islice

import numpy as np

from diagnose.cards.compose import brief, letter_of
from diagnose.cards.grow import Grower
from diagnose.cards.margin import CASES, added_up, close_pairs, with_margin
from diagnose.cards.marks import MarkedCaution
from diagnose.cards.points import DecidingTest, PointsAnswer, PointsColumn, PointsLook, PointsSheet
from diagnose.cards.telling import parting, telling
from diagnose.cards.weigh import COLUMNS, Weighed, looks, points, scale_of, weigh
from diagnose.core.network import Floats
from diagnose.model.knowledge import Check
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.session.parse import options_of
from diagnose.session.wording import minutes
from diagnose.words import say

FEWEST_PAIRS, PAIRS = 4, 12  # deciding tests: looks leave room for so many; at most
SPEAKS = float(np.log(1.5))  # how much likelier an answer is with one of two causes, to speak for it

Fits = Callable[[PointsSheet], bool]


@dataclass(slots=True)
class Marked:
    """Cautions with their marks: those of the card's front, and further ones counted on from there."""

    front: tuple[MarkedCaution, ...] = ()
    further: dict[str, MarkedCaution] = field(default_factory=dict)

    def of(self, grower: Grower, names: Iterable[str]) -> tuple[MarkedCaution, ...]:
        said = (grower.kb.cautions[name].says for name in dict.fromkeys(names))
        return tuple(self._marked(says) for says in said)

    def _marked(self, says: str) -> MarkedCaution:
        known = {c.says: c for c in self.front} | self.further
        if says not in known:
            self.further[says] = known[says] = MarkedCaution(f"!{len(known) + 1}", says, False)
        return known[says]


class PointsComposer:
    """Composes the sheet of the grower's complaint. `letters` of causes and `front` marks are those of the front.

    The front prints all `cautions`, so that the second side has room for the looks; no deciding test needs others.
    """

    def __init__(self, grower: Grower, columns: int = COLUMNS) -> None:
        self.grower, self.letters, self.front = grower, dict[str, str](), tuple[MarkedCaution, ...]()
        self.weighed = weigh(grower, looks(grower), columns)
        self.chosen = telling(self.weighed, list(self.weighed.chances))

    @property
    def cautions(self) -> tuple[str, ...]:
        """The cautions of every look and column."""
        kb = self.grower.kb
        checks = [kb.checks[kb.findings[f].check] for f in self.chosen]
        names = [c for check in checks for c in cautions_for(kb, check)]
        names += [c for name in self.weighed.causes for c in remedy_cautions(kb, kb.causes[name])]
        return tuple(dict.fromkeys(names))

    def beside(self, letters: Mapping[str, str], front: tuple[MarkedCaution, ...]) -> "PointsComposer":
        """The same, for the second side of this front."""
        self.letters, self.front = dict(letters), front
        return self

    def sheet(self, fits: Fits = lambda _: True, cases: int = CASES) -> PointsSheet:
        """As many looks as fit beside a few deciding tests, and then as many of those as fit."""
        chosen = self.chosen
        while len(chosen) > 1 and not fits(self._trial(chosen)):
            chosen = chosen[:-1]
        draft = self._draft(chosen)
        done = added_up(self.grower, self.weighed, draft, cases)
        sheet = with_margin(draft, done)
        pairs, kept = close_pairs(sheet, done), 0
        while kept < PAIRS and fits(more := self._tested(sheet, pairs, kept + 1)):
            if len(more.deciding) <= kept:
                break
            kept += 1
        return self._tested(sheet, pairs, kept)

    def _trial(self, chosen: Sequence[str]) -> PointsSheet:
        """A draft with deciding tests of the likeliest causes, for the room that they take."""
        draft = self._draft(chosen)
        letters = [c.letter for c in draft.columns if c.cause]
        return self._tested(draft, map(frozenset, combinations(letters, 2)), FEWEST_PAIRS)

    def _draft(self, chosen: Sequence[str]) -> PointsSheet:
        """The columns and looks, without a margin."""
        marked, weighed, scale = Marked(self.front), self.weighed, scale_of(self.weighed, chosen)
        columns = tuple(_columns(self.grower, weighed, self.letters, marked))
        seen = (_look(self.grower, f, weighed.scores(f) * scale, marked) for f in chosen)
        found = tuple(look for look in seen if look.answers)
        start = points(weighed.start(), scale)
        return PointsSheet(columns, start, found, 0, 0.0, 0.0, 0, cautions=tuple(marked.further.values()))

    def _tested(self, sheet: PointsSheet, pairs: Iterable[frozenset[str]], most: int) -> PointsSheet:
        """The sheet with so many deciding tests at most, and with their cautions."""
        marked = Marked((*self.front, *sheet.cautions))
        tests = tuple(islice(_tests(self.grower, self.weighed, sheet, pairs, self._left(sheet), marked), most))
        return replace(sheet, deciding=tests, cautions=(*sheet.cautions, *marked.further.values()))

    def _left(self, sheet: PointsSheet) -> list[str]:
        """Findings for deciding tests: not looked at on the sheet, and without a further caution."""
        kb, printed = self.grower.kb, {look.check for look in sheet.looks}
        checks = {f: kb.checks[kb.findings[f].check] for f in self.weighed.chances}
        told = set(self.cautions)
        return [f for f, c in checks.items() if c.id not in printed and told.issuperset(cautions_for(kb, c))]


def _columns(grower: Grower, weighed: Weighed, letters: Mapping[str, str], marked: Marked) -> Iterator[PointsColumn]:
    kb = grower.kb
    free = (letter for i in count() if (letter := letter_of(i)) not in letters.values())
    for name in weighed.causes:
        cause = kb.causes[name]
        cautions = marked.of(grower, () if name in letters else remedy_cautions(kb, cause))
        licensed = cause.remedy.who == "electrician"
        if name in letters:
            yield PointsColumn(letters[name], name, cause.says)
        else:
            yield PointsColumn(next(free), name, cause.says, brief(cause.remedy.steps[:1]), cautions, licensed)
    if len(weighed.prior) > len(weighed.causes):
        yield PointsColumn(next(free), "", say("card.something_else"))


def _look(grower: Grower, finding: str, scores: Floats, marked: Marked) -> PointsLook:
    """A look with its answers; those that count alike stand together, those that bring nothing are left out."""
    kb = grower.kb
    states, check = kb.findings[finding].states, kb.checks[kb.findings[finding].check]
    alike: dict[tuple[int, ...], list[str]] = {}
    for column, values in zip(scores.T, states.values(), strict=True):
        alike.setdefault(points(column, 1.0), []).extend(values)
    answers = tuple(PointsAnswer(tuple(v), _says(grower, check, v), p) for p, v in alike.items() if any(p))
    access = kb.access.get(check.access)
    opening = [say("card.opening", opening=access.says, minutes=minutes(access.minutes))] if access else []
    needs = (*opening, *(kb.tools[t] for t in check.tools))
    cautions = marked.of(grower, cautions_for(kb, check))
    asks = kb.findings[finding].says
    return PointsLook(check.id, f"{asks[:1].upper()}{asks[1:]}", check.minutes, needs, cautions, answers)


def _says(grower: Grower, check: Check, values: Sequence[str]) -> str:
    options = options_of(check, grower.setup.role == "help_desk")
    return " / ".join(dict.fromkeys(options.get(v, v) for v in values))


def _tests(
    grower: Grower,
    weighed: Weighed,
    sheet: PointsSheet,
    pairs: Iterable[frozenset[str]],
    left: Sequence[str],
    marked: Marked,
) -> Iterator[DecidingTest]:
    """For each pair the look that parts it best among those that are left."""
    for pair in pairs:
        places = [i for i, c in enumerate(sheet.columns) if c.letter in pair]
        if finding := parting(weighed, left, places):
            letters = [sheet.columns[i].letter for i in places]
            logs = np.log(weighed.chances[finding][places])
            yield _test(grower, finding, letters, logs[0] - logs[1], marked)


def _test(grower: Grower, finding: str, letters: Sequence[str], ratio: Floats, marked: Marked) -> DecidingTest:
    """`ratio` (states,): by how much each answer speaks for the first letter against the second."""
    look = replace(_look(grower, finding, np.zeros((1, len(ratio))), marked), answers=())
    check, states = grower.kb.checks[look.check], grower.kb.findings[finding].states
    sides = []
    for letter, speaks in zip(letters, (ratio >= SPEAKS, ratio <= -SPEAKS), strict=True):
        values = tuple(v for words, yes in zip(states.values(), speaks, strict=True) if yes for v in words)
        if values:
            sides.append((letter, values, _says(grower, check, values)))
    return DecidingTest(frozenset(letters), look, tuple(sides))
