"""The dialogue after a conclusion: repair, proof, return to service, the end of a call."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.present.ending import Asked, Ending, WayToEnd, ways_to_end
from diagnose.present.mending import Candidate, Line, candidates_of, lines_of, owed_of
from diagnose.present.sheet import Sheet
from diagnose.session.events import AnotherFault, Close, Event, Proved, Repaired, Ticked
from diagnose.session.law import endings, may_follow, refusal
from diagnose.session.parse import number_of, spoken_for
from diagnose.session.state import Session
from diagnose.terminal.ask import Asker
from diagnose.terminal.commands import word
from diagnose.terminal.draw import bullets
from diagnose.terminal.screen import Screen
from diagnose.words import say

Send = Callable[[Event], bool]
RESULTS = ("pass", "fail", "na")


class Mender:
    """Asks what was done about a conclusion and sends it as events. Every question may be left with Enter."""

    def __init__(self, reasoner: Reasoner, screen: Screen, asker: Asker, send: Send) -> None:
        self.kb, self._reasoner = reasoner.kb, reasoner
        self._screen, self._asker, self._send = screen, asker, send

    def repaired(self, session: Session, conclusion: Conclusion) -> bool:
        """Which remedy was carried out. True when one was."""
        candidates = candidates_of(self._reasoner, session, conclusion)
        self._screen.line(f"{say('present.which_remedy')} {say('terminal.enter_none')}", "bold")
        self._screen.numbered(c.says for c in candidates)
        number = number_of(self._asker.said(), len(candidates))
        if not number:
            self._screen.line(say("terminal.no_repair"))
            return False
        return self._note(session, candidates[number - 1])

    def _note(self, session: Session, chosen: Candidate) -> bool:
        if chosen.warning:
            self._screen.line(chosen.warning, "bold")
        repair = Repaired(chosen.cause, by=self._doer(chosen))
        if refusal(self.kb, session, repair):
            return self._send(repair)
        if repair.by:
            self._screen.line(say("terminal.asked_at_end", says=say("present.who_mended")))
            repair = replace(repair, name=self._asker.said())
        self._screen.line(f"{say('present.what_was_done')} {say('terminal.enter_as_listed')}")
        return self._send(replace(repair, note=self._asker.said()))

    def _doer(self, chosen: Candidate) -> str:
        """Who carried it out; asked where it cannot have been whoever has the visit, but can have been another."""
        said = (doer.by for doer in chosen.doers if self._asker.agreed(say("terminal.is_it_so", says=doer.says)))
        return next(said, "")

    def proof(self, session: Session) -> str:
        """Ask for the proof that is owed. 'yes' or 'no' once noted; else the command and what followed it, or ''."""
        owed = owed_of(self.kb, session)
        assert owed
        self._screen.heading(say("present.proof_of_repair"))
        self._screen.line(owed.proof)
        self._screen.line(say("terminal.proof_passed", minutes=owed.minutes), "bold")
        self._screen.line(say("terminal.and_end_it", close=word("close"), note=word("note"), picture=word("picture")))
        decided = self._asker.decided(others=("close", "note", "picture"))
        if decided not in ("yes", "no"):
            return decided
        self._screen.line(say("present.what_was_seen"))
        passed = decided == "yes"
        sent = self._send(Proved(passed, self._asker.said()))
        if sent and not passed:
            self._screen.line(say("terminal.proof_failed"))
        return decided if sent else ""

    def after_passed(self, session: Session) -> bool:
        """A repair was proved good: is anything still wrong? True when the search goes on."""
        if may_follow(self.kb, session)["another_fault"]:
            return False
        if self._asker.agreed(say("present.anything_wrong")):
            return self._send(AnotherFault())
        return False

    def close(self, session: Callable[[], Session]) -> bool:
        """How the visit ends, chosen from all the ways it may. True when it has ended."""
        while True:
            ways = [way for way in ways_to_end(self.kb, session()) if way.offered]
            self._screen.line(f"{say('present.how_it_ends')} {say('terminal.decide_later')}", "bold")
            self._screen.numbered(way.says for way in ways)
            number = number_of(self._asker.said(say("terminal.number_please", most=len(ways))), len(ways))
            if not number:
                return False
            if self._ended(session, ways[number - 1]):
                return True

    def _ended(self, session: Callable[[], Session], way: WayToEnd) -> bool:
        """Prove what is to be proved for it, ask what is asked, and end; False where it cannot end so yet."""
        if way.prove:
            while left := self._lines(session()):
                if not self._tick(left[0], len(left)):
                    break
        if why := endings(self.kb, session())[way.outcome]:
            self._screen.line(say("terminal.not_in_service", why=why), "bold")
            return False
        said = {asked.name: self._asked(asked) for asked in way.asked}
        return self._send(Close(way.outcome, **said))

    def _asked(self, asked: Asked) -> str:
        """What is said to one question of an end; a choice by its number."""
        self._screen.line(asked.says if asked.needed else say("terminal.asked_at_end", says=asked.says))
        if not asked.options:
            return self._asker.said()
        self._screen.numbered(asked.options.values())
        number = number_of(self._asker.said(), len(asked.options))
        return [*asked.options][number - 1] if number else ""

    def _lines(self, session: Session) -> Sequence[Line]:
        return [line for line in lines_of(self.kb, session) if line.open]

    def _tick(self, line: Line, left: int) -> bool:
        """One line of the checklist; False when it is left open."""
        mark = f" - {say('present.protective')}" if line.protective else ""
        self._screen.heading(f"{say('present.return_to_service')}, {say('present.lines_to_go', n=left)}{mark}")
        self._screen.line(line.says)
        self._screen.line(f"({line.why})", "dim")
        self._screen.line(say("terminal.tick_help"))
        typed, _, reading = self._asker.said(known=[say(f"terminal.tick_{r}") for r in RESULTS]).partition(" ")
        result = next((r for r in RESULTS if typed.casefold() in spoken_for(f"terminal.words_{r}")), "")
        if not result:
            if typed:
                self._screen.line(say("terminal.no_tick"))
            return False
        return self._send(Ticked(line.item, result, reading.strip())) and result != "fail"


def draw_sheet(screen: Screen, sheet: Sheet) -> None:
    """The sheet for whoever is sent."""
    screen.heading(say("present.sheet"))
    about = sheet.about
    facts = {"site": about.site, "complaint": about.complaint, "own_words": about.words}
    for label, text in {**facts, "why_somebody_goes": sheet.reason}.items():
        if text:
            screen.pair(say(f"present.{label}"), text)
    for says, tag in sheet.orders:
        screen.alarm([says, f"{say('present.tag')}: {tag}"])
    lists = {"answers": sheet.answers, "likely_causes": sheet.causes}
    lists |= {"photos": sheet.photos} if sheet.photos else {}
    lists |= {"strips": tuple(strip.says for strip in sheet.strips)} if sheet.strips else {}
    lists |= {"bring": sheet.bring}
    told = {"caller_may": sheet.own, "meanwhile": sheet.meanwhile}
    lists |= {label: says for label, says in told.items() if says}
    lists |= {"access_and_people": sheet.access, "safety": sheet.cautions}
    for label, items in lists.items():
        screen.line(f"{say(f'present.{label}')}:")
        bullets(screen, items or [say("present.nothing_special")])
    screen.line(f"{say('present.first_checks')}:")
    screen.steps(sheet.first_checks)


def draw_ending(screen: Screen, ending: Ending) -> None:
    """How the visit ended; the tag where the gate stays out of service."""
    screen.line()
    screen.line(ending.says, "bold")
    for label, text in ending.facts:
        screen.pair(label, text)
    if ending.tag:
        screen.pair(say("present.tag"), ending.tag)
    for says in ending.still_open:
        screen.hanging(" - ", f"{say('present.still_open')}: {says}")
