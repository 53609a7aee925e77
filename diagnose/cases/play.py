"""One field case through the real session: from the words, over the checks and repairs, until mended or given up.

The player is a person with no ideas of his own: he answers what is asked, does the remedy that stands first, and says
what its proof showed. A call goes on as the technician who is sent.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from diagnose.cases.model import FieldCase, check_of, values_of
from diagnose.cases.person import NOT_KNOWN, Person, PersonAnswer, Source
from diagnose.cases.sheet import on_site, setup_of
from diagnose.core.asking import open_groups, repair_minutes
from diagnose.core.permit import may_do
from diagnose.core.posterior import Belief, chance_of
from diagnose.core.reason import Conclusion, Reasoner
from diagnose.measure.streams import share
from diagnose.model.gear import plain
from diagnose.model.knowledge import Check
from diagnose.model.visit import Value
from diagnose.session import events as e
from diagnose.session.doubts import look_again
from diagnose.session.hearing import offers
from diagnose.session.law import barred_now
from diagnose.session.match import match_complaint
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from diagnose.words import say

MOST_QUESTIONS = 70  # in one part of a visit; judgement, and what the blind players were allowed
MOST_WRONG = 3  # remedies that mend nothing before the job is given away
BY_LIST = 3  # complaints offered for the words

Ended = Literal["mended", "outside", "handed_over", "given_up", "no_end"]
Pick = Callable[[Session, Conclusion], str]  # the check to ask next, '' to conclude


@dataclass(frozen=True, slots=True)
class AskedInCase:
    """One question. `bits`: how far its answer moved the belief; None where it moved nothing that is scored.

    `again`: it was answered before, at another stage; `for_nothing`: and its true answer has not changed since.
    `first` of a step: what is looked at in one go is one step.
    """

    check: str
    value: Value
    source: Source
    minutes: float
    bits: float
    again: bool
    for_nothing: bool
    forbidden: bool
    first: bool = True


@dataclass(frozen=True, slots=True)
class Stretch:
    """From the start, a hand-over or a repair to a conclusion. `ranked`: the causes, most probable first.

    `truth`: the chance the conclusion gives to the present true causes; `order`: the remedies in the order offered.
    """

    asked: tuple[AskedInCase, ...]
    ranked: tuple[tuple[str, float], ...]
    order: tuple[str, ...]
    truth: float
    conclusion: Conclusion
    on_site: bool


@dataclass(frozen=True, slots=True)
class RemedyDone:
    """A remedy that was done. `mended`: the fault it mended, None: none; `botched`: right, but it did not take."""

    cause: str
    mended: int | None
    botched: bool
    minutes: float


@dataclass(frozen=True, slots=True)
class Played:
    """How a case went. `heard`: place of the right complaint among those offered for the words, 0: not offered.

    `doubted`: checks whose answer was called into question. `facts_heard`: of the facts that stand in the complaint's
    words, those that were taken from them without a question. `lines`: how many heard answers were shown for that.
    """

    case: FieldCase
    parts: tuple[Stretch, ...]
    remedies: tuple[RemedyDone, ...]
    ended: Ended
    heard: int
    doubted: frozenset[str]
    facts_heard: frozenset[str]
    lines: int = 0

    @property
    def asked(self) -> tuple[AskedInCase, ...]:
        return tuple(a for part in self.parts for a in part.asked)

    @property
    def check_minutes(self) -> float:
        return sum(a.minutes for a in self.asked)

    @property
    def minutes(self) -> float:
        return self.check_minutes + sum(r.minutes for r in self.remedies)


@dataclass(frozen=True, slots=True)
class Spoil:
    """What goes wrong on purpose: a check that is answered wrongly, and the chance that a right repair is botched."""

    wrong: Mapping[str, Value] = field(default_factory=dict)
    botched: float = 0.0


class CasePlayer:
    """Plays one case with one way of asking."""

    def __init__(
        self, reasoner: Reasoner, case: FieldCase, seed: int, pick: Pick, spoil: Spoil | None = None
    ) -> None:
        reasoner = reasoner.at(case.named)
        self.kb, self._reasoner, self._pick = reasoner.kb, reasoner, pick
        self._case, self._spoil = case, spoil or Spoil()
        self.person = Person(reasoner.kb, case, seed)
        self._seed = seed
        self._heard, begin = self._first_words()
        self._session = step(self.kb, None, begin)
        self._lines = self._listen(begin.words)
        self._facts_heard = self._taken()
        self._asked: list[AskedInCase] = []
        self._parts: list[Stretch] = []
        self._remedies: list[RemedyDone] = []
        self._before: dict[str, Value] = {}
        self._doubted: set[str] = set()

    def _first_words(self) -> tuple[int, e.Begin]:
        """The complaint this person picks: the one he means where it is offered for his words, else from the list."""
        assert self._case.encoded
        meant, offered = self._case.encoded.complaints, match_complaint(self.kb, self._case.complaint, BY_LIST)
        fitting = [c for c in offered if c in meant]
        chosen = fitting[0] if fitting else meant[0]
        heard = offered.index(chosen) + 1 if fitting else 0
        return heard, e.Begin(setup_of(self._case), chosen, self._case.complaint)

    def _listen(self, words: str) -> int:
        """Takes what was heard in the first words, but for what this person knows to be otherwise. How many lines."""
        shown = offers(self.kb, self._session, words)
        for reply in (offered.reply for offered in shown):
            if self._stands(reply):
                self._do(reply)
        return len(shown)

    def _stands(self, reply: e.Reply) -> bool:
        assert self._case.encoded
        said = self._case.encoded.said.get(plain(reply.check))
        known = self.person.answer(self.kb.checks[reply.check], {})
        was_said = said is not None and reply.value in values_of(said)
        return known.source != "encoded" or reply.value == known.value or was_said

    def _taken(self) -> frozenset[str]:
        """The facts of the first words that the session holds before anything is asked."""
        assert self._case.encoded
        given = {plain(a.check): a.value for a in self._session.given}
        said = self._case.encoded.said
        return frozenset(c for c in map(check_of, said) if c in given and given[c] in values_of(said[c]))

    def play(self) -> Played:
        """To the end. Every turn of the loop asks until a conclusion, and then acts on it."""
        ended: Ended | None = None
        while ended is None:
            self._ask_until_concluded()
            ended = self._act()
        return Played(
            self._case, tuple(self._parts), tuple(self._remedies), ended, self._heard, frozenset(self._doubted),
            self._facts_heard, self._lines,
        )  # fmt: skip

    def _ask_until_concluded(self) -> None:
        conclusion = conclude(self._reasoner, self._session)
        self._asked = []
        while len(self._asked) < MOST_QUESTIONS and (check := self._pick(self._session, conclusion)):
            step = conclusion.next
            for name in (check, *(step.beside if check == step.check else ())):  # what is asked in one go
                if name != check and barred_now(self.kb, self._session, name):
                    continue
                conclusion = self._answered(self.kb.checks[name], conclusion, name == check)
        order = summarise(self._reasoner, self._session, conclusion).order
        self._parts.append(
            Stretch(tuple(self._asked), tuple(conclusion.belief.ranked()), order,
                 self._truth(conclusion.belief), conclusion, self.person.on_site)
        )  # fmt: skip
        self._do(e.Conclude())

    def _answered(self, check: Check, before: Conclusion, first: bool) -> Conclusion:
        """Ask one check, the `first` of a step or not: send the answer, and note what it cost and told."""
        true = self.person.answer(check, before.values)
        reply = PersonAnswer(self._spoil.wrong[check.id], true.source) if check.id in self._spoil.wrong else true
        shut = check.access and check.access not in open_groups(self.kb, self._session.given)
        minutes = check.minutes + self.kb.settings.asking_minutes
        minutes += self.kb.access[check.access].minutes if shut else 0.0
        forbidden = self._forbidden(check)
        self._do(e.Reply(check.id, reply.value))
        after = conclude(self._reasoner, self._session)
        known = self._before.get(check.id, NOT_KNOWN)
        self._asked.append(
            AskedInCase(check.id, reply.value, reply.source, minutes, moved(before.belief, after.belief),
                  check.id in self._before, check.id in self._before and known == true.value, forbidden, first)
        )  # fmt: skip
        self._before[check.id] = true.value
        if doubt := look_again(self.kb, after, self._session.confirmed):
            self._doubted.add(doubt.check)
        return after

    def _forbidden(self, check: Check) -> bool:
        """Whether this person must not be asked it: by his role, or because the case's hazard says so."""
        assert self._case.encoded
        named = plain(check.id) in self._case.encoded.must_not and not (self._case.by_phone and self.person.on_site)
        return named or not may_do(check, self._session.setup)

    def _truth(self, belief: Belief) -> float:
        """The chance that some cause is there whose remedy mends a fault that is still there."""
        faults = self._open_faults()
        return chance_of(belief, [c for c in belief.network.causes if any(self._case.mends(i, c) for i in faults)])

    def _open_faults(self) -> list[int]:
        return [i for i in range(len(self._case.faults)) if i not in self.person.mended]

    def _act(self) -> Ended | None:
        """What a conclusion leads to; None: the visit goes on."""
        part = self._parts[-1]
        leader = part.ranked[0][0]
        if leader == self.kb.settings.outside_cause:
            return self._sent() or "outside"
        if self._session.setup.role == "help_desk":
            return self._sent()
        if not part.order:
            return "handed_over"
        return self._repair(part.order[0])

    def _sent(self) -> Literal["outside"] | None:
        """A call that cannot go on is given to the technician who is sent; nobody is left to be sent afterwards."""
        if self._session.setup.role != "help_desk":
            return "outside"
        self._do(e.Close("dispatched", say("cases.mend_on_site")))
        self._do(e.TakeOver(on_site(self._session.setup)))
        self.person.on_site = True
        return None

    def _repair(self, cause: str) -> Ended | None:
        """Do a remedy, and what its proof says."""
        if self.kb.causes[cause].remedy.who == "electrician" and not self._session.setup.electrician:
            self._do(e.TakeOver(on_site(self._session.setup)))  # a licensed colleague comes
        minutes = repair_minutes(self.kb, self.kb.causes[cause], open_groups(self.kb, self._session.given))
        mends = next((i for i in self._open_faults() if self._case.mends(i, cause)), None)
        botched = mends is not None and self._botched(cause)
        mended = None if botched else mends
        self._remedies.append(RemedyDone(cause, mended, botched, minutes))
        self._do(e.Repaired(cause))
        self._do(e.Proved(mended is not None))
        if mended is not None:
            self.person.mended |= {mended}
            return self._after_mended()
        wrong = sum(r.mended is None and not r.botched for r in self._remedies)
        return "given_up" if wrong >= MOST_WRONG or len(self._remedies) > 2 * MOST_WRONG else None

    def _botched(self, cause: str) -> bool:
        """Each right remedy fails to take at most once."""
        once = any(r.botched and r.cause == cause for r in self._remedies)
        return not once and share(self._seed, self._case.id, cause, "botched") < self._spoil.botched

    def _after_mended(self) -> Ended | None:
        if self.person.all_well:
            return "mended"
        self._do(e.AnotherFault())
        return None

    def _do(self, event: e.Event) -> None:
        self._session = step(self.kb, self._session, event)


def moved(before: Belief, after: Belief) -> float:
    """How far an answer moved the belief, in bits: Kullback-Leibler divergence of the sets of causes."""
    if before is after:
        return 0.0
    p, q = after.by_cause.ravel(), before.by_cause.ravel()
    there = (p > 0.0) & (q > 0.0)
    return max(0.0, float(np.sum(p[there] * np.log2(p[there] / q[there]))) / 2.0)
