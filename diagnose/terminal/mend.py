"""The dialogue after a conclusion: repair, proof, return to service, the end of a call."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.checklist import Item, open_items, touched_protection
from diagnose.session.dispatch import Dispatch, dispatch
from diagnose.session.events import AnotherFault, Close, Event, Proved, Repaired, Ticked
from diagnose.session.law import doers, endings, may_follow, refusal
from diagnose.session.parse import number_of
from diagnose.session.state import Session
from diagnose.session.summary import summarise
from diagnose.session.wording import DONE_BY, ENDINGS
from diagnose.terminal.ask import Asker
from diagnose.terminal.screen import Screen

Send = Callable[[Event], bool]
RESULTS = {"p": "pass", "pass": "pass", "f": "fail", "fail": "fail", "n": "na", "na": "na", "n/a": "na"}
TICK_HELP = "Type pass, fail or na, then what you saw or read: 'pass 12.1 V at start'. Enter leaves it open."


class Mender:
    """Asks what was done about a conclusion and sends it as events. Every question may be left with Enter."""

    def __init__(self, reasoner: Reasoner, screen: Screen, asker: Asker, send: Send) -> None:
        self.kb, self._reasoner = reasoner.kb, reasoner
        self._screen, self._asker, self._send = screen, asker, send

    def repaired(self, session: Session, conclusion: Conclusion) -> bool:
        """Which remedy was carried out. True when one was."""
        causes = self._candidates(session, conclusion)
        self._screen.line("Which remedy was carried out? Enter: none.", "bold")
        self._screen.numbered(self.kb.causes[c].says for c in causes)
        number = number_of(self._asker.line(), len(causes))
        if not number:
            self._screen.line("No repair noted.")
            return False
        cause = self.kb.causes[causes[number - 1]]
        if cause.remedy.hides_fault:
            self._screen.line("This only hides the fault. Note when the real repair is due.", "bold")
        repair = Repaired(cause.id, by=self._doer(session, cause.id))
        if refusal(self.kb, session, repair):
            return self._send(repair)
        self._screen.line("What was done, in a few words? Enter: as listed.")
        return self._send(replace(repair, note=self._asker.line()))

    def _candidates(self, session: Session, conclusion: Conclusion) -> Sequence[str]:
        summary = summarise(self._reasoner, session, conclusion)
        outside = self.kb.settings.outside_cause
        shown = dict.fromkeys((*summary.order, *(r.cause.id for r in summary.ranked)))
        return [c for c in shown if c != outside]

    def _doer(self, session: Session, cause: str) -> str:
        """Who carried it out; asked where it cannot have been whoever has the visit, but can have been another."""
        may = doers(self.kb, session, cause)
        asked = may and "" not in may and self._asker.agreed(f"{DONE_BY[may[0]]}?")
        return may[0] if asked else ""

    def proof(self, session: Session) -> bool:
        """Ask for the proof that is owed. False when it stays owed."""
        repair = session.pending
        if repair is None:
            return False
        cause = self.kb.causes[repair.cause]
        self._screen.heading("Proof of the repair")
        self._screen.line(cause.proof)
        self._screen.line(f"Passed? yes, no, or Enter for not yet. (about {cause.proof_minutes:g} min)", "bold")
        typed = self._asker.line(["yes", "no"]).casefold()
        if typed not in ("y", "yes", "n", "no"):
            self._screen.line("The proof is still owed; the visit cannot end in service without it.")
            return False
        self._screen.line("What did you see or read?")
        passed = typed.startswith("y")
        sent = self._send(Proved(passed, self._asker.line()))
        if sent and not passed:
            self._screen.line("Noted. What this repair touched is asked anew; the rest still counts.")
        return sent

    def after_passed(self, session: Session) -> bool:
        """A repair was proved good: is anything still wrong? True when the search goes on."""
        if may_follow(self.kb, session)["another_fault"]:
            return False
        if self._asker.agreed("Proved. Is anything still wrong at this gate?"):
            return self._send(AnotherFault())
        return False

    def finish(self, session: Callable[[], Session]) -> bool:
        """Return to service, or the end of a call. True when the visit is closed."""
        if session().setup.role == "help_desk":
            return self._finish_call(session())
        while items := open_items(self.kb, session()):
            if not self._tick(items[0], len(items)):
                break
        return self._close(session())

    def _tick(self, item: Item, left: int) -> bool:
        """One line of the checklist; False when it is left open."""
        self._screen.heading(f"Return to service, {left} to go" + (" - PROTECTIVE" if item.protective else ""))
        self._screen.line(item.says)
        self._screen.line(f"({item.why})", "dim")
        self._screen.line(TICK_HELP)
        word, _, reading = self._asker.line(["pass", "fail", "na"]).partition(" ")
        result = RESULTS.get(word.casefold())
        if result is None:
            if word:
                self._screen.line("That is none of pass, fail, na; left open.")
            return False
        return self._send(Ticked(item.id, result, reading.strip())) and result != "fail"

    def _close(self, session: Session) -> bool:
        if why := endings(self.kb, session)["in_service"]:
            self._screen.line(f"Not back in service: {why}", "bold")
        else:
            self._screen.line("Everything is proved. Back in service? yes, no, or Enter: decide later.", "bold")
            typed = self._asker.line(["yes", "no"]).casefold()
            if typed in ("y", "yes"):
                return self._send(Close("in_service"))
            if typed not in ("n", "no"):
                return False
        self._screen.line("Leave it OUT of service? Type the reason for the record and the tag; Enter: decide later.")
        reason = self._asker.line()
        return bool(reason) and self._send(Close("left_out", reason))

    def _finish_call(self, session: Session) -> bool:
        if not endings(self.kb, session)["solved_on_phone"] and self._asker.agreed("Solved on the phone?"):
            return self._send(Close("solved_on_phone", self._who_proves(session)))
        self._screen.line("Send somebody? Type the reason; Enter: decide later.")
        reason = self._asker.line()
        return bool(reason) and self._send(Close("dispatched", reason))

    def _who_proves(self, session: Session) -> str:
        """What a caller must not do: the protective function is proved by somebody on site."""
        if not touched_protection(self.kb, session):
            return ""
        self._screen.line("Who proves the protective function on site with a test piece, and when? For the record.")
        return self._asker.line()


def draw_dispatch(screen: Screen, reasoner: Reasoner, session: Session, conclusion: Conclusion) -> None:
    """The dispatch sheet."""
    kb, sheet = reasoner.kb, dispatch(reasoner, session, conclusion)
    screen.heading("Dispatch sheet")
    if session.site:
        screen.pair("Site", session.site)
    screen.pair("Complaint", kb.complaints[session.complaint].says)
    if session.words:
        screen.pair("In the caller's own words", session.words)
    if session.reason:
        screen.pair("Why somebody goes", session.reason)
    for order in sheet.stop_work:
        screen.alarm([kb.cautions[order].says, f"Tag: {kb.cautions[order].tag}"])
    _draw_sheet(screen, kb, sheet)


def _draw_sheet(screen: Screen, kb: KnowledgeBase, sheet: Dispatch) -> None:
    screen.line("Likely causes:")
    _bullets(screen, [f"{kb.causes[c].says} ({p:.0%})" for c, p in sheet.causes])
    screen.line("Bring:")
    _bullets(screen, [f"{b.says} ({'part' if b.part else 'tool'}, wanted {b.wanted:.0%})" for b in sheet.bring])
    screen.line("First checks on arrival:")
    screen.steps(kb.checks[c].ask for c in sheet.first_checks)
    screen.line("Access and people:")
    people = ["a licensed electrician"] if sheet.electrician else []
    _bullets(screen, [*(kb.access[g].says for g in sheet.access), *people])
    screen.line("Safety:")
    _bullets(screen, [kb.cautions[c].says for c in sheet.cautions])


def _bullets(screen: Screen, items: Iterable[str]) -> None:
    for text in items:
        screen.hanging(" - ", text)


def draw_ending(screen: Screen, kb: KnowledgeBase, session: Session) -> None:
    """How the visit ended; the tag where the gate stays out of service."""
    screen.line()
    screen.line(ENDINGS[session.outcome], "bold")
    if session.reason:
        screen.pair("Reason", session.reason)
    if session.outcome == "left_out":
        screen.pair("Tag", f"OUT OF SERVICE - {session.reason} (date, name, phone). Do not switch to automatic.")
        for item in open_items(kb, session):
            screen.hanging(" - ", f"Still open: {item.says}")
