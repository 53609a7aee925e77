"""The question loop: draws the session, reads a line, sends an event; every answer is saved before the next."""

from collections.abc import Callable

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, SessionError
from diagnose.model.knowledge import Check
from diagnose.session.events import AskOn, Back, Complain, Conclude, Event, Reply
from diagnose.session.parse import Parsed, options_of, parse_answer
from diagnose.session.session import Session, conclude, step
from diagnose.session.summary import cautions_for, shown_cautions
from diagnose.terminal import draw
from diagnose.terminal.how import draw_how
from diagnose.terminal.reader import Reader
from diagnose.terminal.result import draw_conclusion, draw_stop_work
from diagnose.terminal.screen import Screen

Save = Callable[[Event], None]
SHORT = {"h": "help", "w": "why", "l": "likely", "b": "back", "a": "answers", "c": "done", "conclude": "done",
         "q": "leave", "quit": "leave", "exit": "leave", "how": "likely", "undo": "back", "show": "answers"}  # fmt: skip


class Leave(Exception):
    """The person wants to save and leave."""


class Visit:
    """One visit in a terminal. `save` puts an event on disk before the session moves on."""

    def __init__(self, reasoner: Reasoner, session: Session, screen: Screen, reader: Reader, save: Save) -> None:
        self.reasoner, self.session = reasoner, session
        self.screen, self.reader, self._save = screen, reader, save
        self._stop_shown: tuple[str, ...] = ()
        self._told: frozenset[str] = frozenset()

    def run(self) -> Session:
        """Ask until a conclusion is accepted or the person leaves. Returns the session as it stands."""
        try:
            while self._one_step():
                pass
        except Leave:
            self.screen.line()
            self.screen.line("Saved. 'diagnose resume' goes on here.")
        return self.session

    def _one_step(self) -> bool:
        conclusion = conclude(self.reasoner, self.session)
        self._notices(conclusion)
        if self.session.concluded or not conclusion.next.check:
            return self._end(conclusion)
        check = self.reasoner.kb.checks[conclusion.next.check]
        told = shown_cautions(self.reasoner.kb, self.session)
        fresh = tuple(c for c in cautions_for(self.reasoner.kb, check) if c not in told)
        draw.draw_check(self.screen, self.reasoner.kb, self.session, check, fresh)
        self._ask(check, conclusion)
        return True

    def _notices(self, conclusion: Conclusion) -> None:
        """What rules say out loud: stop-work first, then cautions and contradictions, each once."""
        kb = self.reasoner.kb
        if conclusion.after.stop_work != self._stop_shown:
            draw_stop_work(self.screen, kb, conclusion)
            self._stop_shown = conclusion.after.stop_work
        fresh = [c for c in (*conclusion.after.cautions, *conclusion.after.contradictions) if c not in self._told]
        for notice in fresh:
            if notice in kb.cautions:
                self.screen.hanging("CAUTION  ", kb.cautions[notice].says, "bold yellow")
            elif doubt := kb.rules[notice].then.contradiction:
                again = " or ".join(f"'change {self._number(c)}'" for c in doubt.recheck if self.session.answer(c))
                self.screen.hanging("CHECK  ", f"{doubt.says} Look again: {again}.", "bold yellow")
        self._told = self._told.union(fresh)
        for name in conclusion.stale:
            if name not in self._told:
                self.screen.line(f"No longer counted, because its condition no longer holds: {kb.checks[name].ask}")
        self._told = self._told.union(conclusion.stale)

    def _number(self, check: str) -> int:
        return next(i for i, a in enumerate(self.session.answers, start=1) if a.check == check)

    def _ask(self, check: Check, conclusion: Conclusion) -> None:
        """Read lines until one is an answer or changes the session."""
        words = [*options_of(check), *draw.COMMANDS]
        while True:
            typed = self._read("> ", words, lambda text: self._readable(check, text), check.id)
            command, _, rest = typed.partition(" ")
            word = SHORT.get(command.casefold(), command.casefold())
            if word in draw.COMMANDS and word != "?" and (not rest or word == "change"):
                if self._command(word, rest, check, conclusion):
                    return
                continue
            try:
                parsed = parse_answer(check, typed)
            except AnswerError as error:
                self.screen.line(f"Not understood: {error}")
                continue
            if self._accepted(parsed) and self._send(Reply(check.id, parsed.value, parsed.sure)):
                return

    def _readable(self, check: Check, text: str) -> bool:
        word = text.split()[0].casefold()
        return word in draw.COMMANDS or word in SHORT or bool(parse_answer(check, text))

    def _accepted(self, parsed: Parsed) -> bool:
        if parsed.note:
            self.screen.line(f"({parsed.note})")
        if not parsed.doubt:
            return True
        return self._read(f"{parsed.doubt}. Keep it? (yes/no) ", ["yes", "no"]).casefold() in ("y", "yes")

    def _read(
        self, prompt: str, words: list[str], check: Callable[[str], object] | None = None, topic: str = ""
    ) -> str:
        """One line. Ctrl-C cancels the line once and leaves the second time; the end of input leaves."""
        for attempt in (1, 2):
            try:
                return self.reader.read(prompt, words, check, topic)
            except EOFError:
                break
            except KeyboardInterrupt:
                if attempt == 1:
                    self.screen.line("(line dropped; Ctrl-C again to save and leave)")
        raise Leave

    def _send(self, event: Event) -> bool:
        """Check the event, put it on disk, then move on. Says why when it is not allowed."""
        try:
            following = step(self.reasoner.kb, self.session, event)
        except SessionError as error:
            self.screen.line(f"Not possible: {error}")
            return False
        self._save(event)
        self.session = following
        return True

    def _command(self, word: str, rest: str, check: Check | None, conclusion: Conclusion) -> bool:
        """Carry out a command; True when the session changed."""
        match word:
            case "help" if check:
                draw.draw_help(self.screen, self.reasoner.kb, check)
            case "why":
                draw.draw_why(self.screen, self.reasoner, conclusion)
            case "likely":
                draw.draw_likely(self.screen, self.reasoner, conclusion)
                draw_how(self.screen, self.reasoner, self.session, conclusion)
            case "answers":
                draw.draw_answers(self.screen, self.reasoner.kb, self.session, conclusion)
            case "back":
                return self._send(Back())
            case "change":
                return self._change(rest, conclusion)
            case "done":
                return self._send(Conclude())
            case "leave":
                raise Leave
        return False

    def _change(self, which: str, conclusion: Conclusion) -> bool:
        if not which:
            draw.draw_answers(self.screen, self.reasoner.kb, self.session, conclusion)
            which = self._read("Which number? ", [])
        if which.strip() == "0":
            return self._change_complaint()
        if not (which.isdecimal() and 1 <= int(which[:4]) <= len(self.session.answers)):
            self.screen.line("There is no answer with that number; 'answers' shows them.")
            return False
        check = self.reasoner.kb.checks[self.session.answers[int(which) - 1].check]
        draw.draw_check(self.screen, self.reasoner.kb, self.session, check, ())
        before = self.session
        self._ask(check, conclusion)
        return self.session is not before

    def _change_complaint(self) -> bool:
        complaints = self.reasoner.kb.complaints
        self.screen.numbered(c.says for c in complaints.values())
        typed = self._read("Complaint number? ", list(complaints))
        if typed.isdecimal() and 1 <= int(typed[:4]) <= len(complaints):
            typed = list(complaints)[int(typed) - 1]
        return self._send(Complain(typed))

    def _end(self, conclusion: Conclusion) -> bool:
        """Show the conclusion; True when the person wants to go on."""
        draw_conclusion(self.screen, self.reasoner, self.session, conclusion)
        if not self.session.concluded:
            self._send(Conclude())
        while True:
            self.screen.line()
            typed = self._read(
                "Enter to finish - or: more, change, back, likely, answers > ", ["more", *draw.COMMANDS]
            )
            command, _, rest = typed.partition(" ")
            word = SHORT.get(command.casefold(), command.casefold())
            if word in ("", "done", "finish"):
                return False
            if word == "more":
                return self._more(conclusion)
            if word in draw.COMMANDS and self._command(word, rest, None, conclusion):
                return True
            if word not in draw.COMMANDS:
                self.screen.line("Type one of the words, or press Enter.")

    def _more(self, conclusion: Conclusion) -> bool:
        """Go on asking: possible while some check is still open to this role."""
        if conclusion.next.check or conclusion.gains:
            return self._send(AskOn())
        self.screen.line("No check is left that this role can do here.")
        return False
