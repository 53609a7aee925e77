"""What comes after a conclusion: it is shown, its remedies unfold, repairs are noted, the visit is closed."""

from collections.abc import Callable
from typing import Protocol

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import VisitError
from diagnose.present.conclusion import Result, result_of
from diagnose.present.ending import ending_of
from diagnose.present.minutes import took_says
from diagnose.present.photos import at_hand_says
from diagnose.present.sheet import sheet_of
from diagnose.present.taken_back import taken_back
from diagnose.session.events import Event, Pictured, Reopen
from diagnose.session.law import back, may_follow, more
from diagnose.session.parse import number_of
from diagnose.session.photos import at_hand
from diagnose.session.session import conclude
from diagnose.session.state import Session
from diagnose.terminal import draw
from diagnose.terminal.ask import Asker, GoBack
from diagnose.terminal.beside import note_in, picture_in, take_over_in
from diagnose.terminal.commands import ENDED, EVERY, command_in, word, words
from diagnose.terminal.hearing import hear
from diagnose.terminal.mend import Mender, draw_ending, draw_sheet
from diagnose.terminal.result import draw_caller, draw_conclusion, draw_order, draw_suspect
from diagnose.terminal.screen import Screen
from diagnose.words import say


class Asking(Protocol):
    """The visit that the conclusion belongs to. `cautioned`: ids of the cautions told on it, in that order.

    `keep` puts a picture beside the visit; None where there is no visit file."""

    reasoner: Reasoner
    session: Session
    screen: Screen
    asker: Asker
    cautioned: dict[str, None]
    keep: Callable[[bytes], str] | None

    def send(self, event: Event) -> bool:
        """Whether the event was put on disk; the session has moved on then."""

    def command(self, command: str, rest: str, conclusion: Conclusion) -> bool:
        """Carry out a command that may be typed at any time; True when the session changed."""


class After:
    """The conclusion of a visit and what may follow it."""

    def __init__(self, visit: Asking) -> None:
        self._visit, self._screen = visit, visit.screen

    @property
    def _mender(self) -> Mender:
        """With the reasoner of the gate as it is named now."""
        visit = self._visit
        return Mender(visit.reasoner, visit.screen, visit.asker, visit.send)

    def show(self, conclusion: Conclusion) -> None:
        """The signal chain, on the phone what is for the caller, then the conclusion on one screen.

        Its cautions count as told.
        """
        result = self._result(conclusion)
        draw.draw_strips(self._screen, result.strips)
        if result.caller:
            draw_caller(self._screen, result.caller)
        draw_conclusion(self._screen, result)
        self._visit.cautioned |= dict.fromkeys(result.leader.test_cautions.ids)

    def _result(self, conclusion: Conclusion) -> Result:
        return result_of(self._visit.reasoner, self._visit.session, conclusion, self._visit.cautioned)

    def carry_out(self, command: str, rest: str, conclusion: Conclusion) -> bool:
        """What may follow a conclusion; True when the session changed."""
        visit = self._visit
        own: dict[str, Callable[[], bool]] = {
            "remedy": lambda: self._remedy(rest, conclusion),
            "repaired": lambda: self._mender.repaired(visit.session, conclusion),
            "close": lambda: self._mender.close(lambda: visit.session),
            "sheet": lambda: self._sheet(conclusion),
            "more": self._more,
            "help": self._help,
            "": self._unknown,
        }
        return own[command]() if command in own else visit.command(command, rest, conclusion)

    def _remedy(self, which: str, conclusion: Conclusion) -> bool:
        """One cause in full, by its number, with the cautions before its remedy."""
        result = self._result(conclusion)
        number = number_of(which or "1", len(result.suspects))
        if not number:
            self._screen.line(say("terminal.number_please", most=len(result.suspects)))
            return False
        suspect = result.suspects[number - 1]
        draw_suspect(self._screen, suspect)
        if suspect.remedy:
            self._visit.cautioned |= dict.fromkeys(suspect.remedy.cautions.ids)
        if number == 1:
            draw_order(self._screen, result)
        return False

    def _sheet(self, conclusion: Conclusion) -> bool:
        draw_sheet(self._screen, sheet_of(self._visit.reasoner, self._visit.session, conclusion))
        return False

    def _help(self) -> bool:
        draw.draw_commands(self._screen, EVERY)
        return False

    def _unknown(self) -> bool:
        self._screen.line(say("terminal.none_of_these"))
        return False

    def _more(self) -> bool:
        """Go on asking; after a proved repair only where something is still wrong."""
        visit = self._visit
        if not visit.session.concluded:
            self._screen.line(say("terminal.asking_already", conclude=word("conclude")))
            return False
        agreed = not visit.session.mended or visit.asker.agreed(say("present.still_wrong"))
        return agreed and visit.send(more(visit.session))

    def back(self) -> bool:
        """One step back, and what it took back."""
        before, visit = self._visit.session, self._visit
        sent = visit.send(back(before))
        if sent and (says := taken_back(visit.reasoner.kb, before, visit.session)):
            self._screen.line(says)
        return sent

    def beside(self, command: str, text: str, conclusion: Conclusion) -> None:
        """Something for the record or a picture; the visit stays where it is."""
        if command == "picture":
            self._picture(text, conclusion)
        else:
            self._note(command, text)

    def _note(self, command: str, text: str) -> None:
        event = note_in(command, text, self._visit.asker)
        if event and self._visit.send(event):
            self._screen.line(say("terminal.noted"))

    def _picture(self, typed: str, conclusion: Conclusion) -> None:
        """A picture of what is at hand: on disk first, and only then told of in the visit."""
        visit, leader = self._visit, conclusion.belief.ranked()[0][0]
        belongs = at_hand_says(visit.reasoner.kb, visit.session, leader)
        try:
            keep = self._keeper()
            picture = picture_in(typed, belongs, visit.asker)
            if picture and visit.send(event := Pictured(keep(picture), *at_hand(visit.session, leader))):
                self._screen.line(belongs)
                self._screen.line(say("terminal.pictured", name=event.name, kilobytes=f"{len(picture) / 1000:.0f}"))
        except VisitError as error:
            self._screen.line(say("terminal.not_possible", why=error))

    def _keeper(self) -> Callable[[bytes], str]:
        """What puts a picture beside the visit. Raises VisitError where none can be put there."""
        visit = self._visit
        if why := may_follow(visit.reasoner.kb, visit.session)["pictured"]:
            raise VisitError(why)
        if visit.keep is None:
            raise VisitError(say("terminal.no_picture_here"))
        return visit.keep

    def take_over(self) -> bool:
        """A technician goes on here."""
        event = take_over_in(self._visit.session, self._visit.asker)
        return event is not None and self._visit.send(event)

    def prove(self) -> bool:
        """The proof that is owed comes before anything else; left open, the visit stops here."""
        visit = self._visit
        try:
            command, _, rest = self._mender.proof(visit.session).partition(" ")
            match command:
                case "":
                    self._screen.line(say("terminal.proof_waits"))
                    return False
                case "close":
                    self._mender.close(lambda: visit.session)
                case "note" | "picture":
                    self.beside(command, rest, conclude(visit.reasoner, visit.session))
                case "no":
                    hear(visit, visit.session.repairs[-1].reading)  # what was seen instead is a finding too
                case _:
                    self._mender.after_passed(visit.session)
        except GoBack:
            self.back()
        return True

    def closed(self) -> bool:
        """How the visit ended, the sheet where somebody goes, and what may follow; True when it goes on."""
        session, reasoner = self._visit.session, self._visit.reasoner
        ending = ending_of(reasoner.kb, session)
        draw_ending(self._screen, ending)
        self._screen.line(took_says(reasoner.kb, session), "dim")
        if ending.sheet:
            draw_sheet(self._screen, sheet_of(reasoner, session, conclude(reasoner, session)))
        while True:
            self._screen.line()
            self._screen.line(say("terminal.at_ended", **{command: word(command) for command in ENDED}))
            command, rest = command_in(typed := self._visit.asker.line(words(ENDED)), ENDED)
            if not typed:
                return False
            try:
                if self._follow(command, rest):
                    return True
            except GoBack:
                self._screen.line(say("terminal.went_back"))

    def _follow(self, command: str, rest: str) -> bool:
        """What may follow the end; True when the session changed."""
        visit = self._visit
        match command:
            case "reopen":
                return visit.send(Reopen())
            case "help":
                draw.draw_commands(self._screen, ENDED)
                return False
            case "":
                return self._unknown()
            case _:
                return self.carry_out(command, rest, conclude(visit.reasoner, visit.session))
