"""The question loop: draws the session, reads a line, sends an event; every answer is saved before the next."""

from collections.abc import Callable

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, SessionError, VisitError
from diagnose.model.knowledge import Check
from diagnose.session.doubts import look_again
from diagnose.session.events import AskOn, Back, Complain, Conclude, Event, Reply
from diagnose.session.law import barred_now, due
from diagnose.session.parse import Parsed, number_of, options_of, parse_answer
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import cautions_for, shown_cautions
from diagnose.session.wording import answer_says, ask_text
from diagnose.terminal import draw
from diagnose.terminal.ask import LEAVE, Asker, GoBack, Leave
from diagnose.terminal.begin import ask_complaint
from diagnose.terminal.fit import draw_fit
from diagnose.terminal.mend import Mender, draw_dispatch, draw_ending
from diagnose.terminal.reader import Reader
from diagnose.terminal.result import draw_conclusion, draw_stop_work
from diagnose.terminal.screen import Screen
from diagnose.terminal.workings import draw_rules, draw_weights

Save = Callable[[Event], None]
SHORT = {"h": "help", "w": "why", "l": "likely", "b": "back", "undo": "back", "a": "answers", "show": "answers",
         "conclude": "done", **dict.fromkeys(LEAVE, "leave")}  # fmt: skip
AFTER = ("repaired", "finish", "sheet", "more")
AT_END = (
    "Enter stops here. Or: repaired (a remedy was carried out), finish (return to service, end of a call), "
    "sheet (for whoever is sent), more, likely, answers, change 3, back, leave."
)


class Visit:
    """One visit in a terminal. `save` puts an event on disk before the session moves on."""

    def __init__(self, reasoner: Reasoner, session: Session, screen: Screen, reader: Reader, save: Save) -> None:
        self.reasoner, self.session = reasoner, session
        self.screen, self._asker, self._save = screen, Asker(screen, reader), save
        self._stop_shown: tuple[str, ...] = ()
        self._cautioned = shown_cautions(reasoner.kb, session)
        self._noticed: frozenset[str] = frozenset()
        self._misfits: set[str] = set()
        self._question_at = 0
        self._mender = Mender(reasoner, screen, self._asker, self._send)

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
        if self.session.outcome:
            return self._closed()
        if self.session.pending:
            return self._prove()
        conclusion = conclude(self.reasoner, self.session)
        self._notices(conclusion)
        if self.session.concluded or not conclusion.next.check:
            return self._end(conclusion)
        check = self.reasoner.kb.checks[conclusion.next.check]
        self._draw_check(check)
        self._ask(check, conclusion)
        return True

    def _draw_check(self, check: Check) -> None:
        kb = self.reasoner.kb
        fresh = tuple(c for c in cautions_for(kb, check) if c not in self._cautioned)
        draw.draw_before(self.screen, kb, self.session, check, fresh)
        self._cautioned = self._cautioned.union(fresh)
        self._draw_question(check)

    def _draw_question(self, check: Check) -> None:
        top = self.screen.written
        draw.draw_question(self.screen, self.reasoner.kb, self.session, check)
        self._question_at = self.screen.written if self.screen.out_of_sight(top) else top

    def _remind(self, check: Check) -> None:
        """The question alone when what was told since has pushed it off the screen."""
        if self.screen.out_of_sight(self._question_at):
            self.screen.line()
            draw.draw_question_line(self.screen, self.session, check)
            self.screen.line("(Enter shows the answers again)")
            self._question_at = self.screen.written

    def _notices(self, conclusion: Conclusion) -> None:
        """What rules say out loud: stop-work first, then cautions once, contradictions and lost answers when new."""
        kb = self.reasoner.kb
        if conclusion.stands != self._stop_shown:
            draw_stop_work(self.screen, kb, conclusion, self._stop_shown)
            self._stop_shown = conclusion.stands
        for caution in conclusion.after.cautions:
            if caution not in self._cautioned:
                self.screen.hanging("CAUTION  ", kb.cautions[caution].says, "bold yellow")
        self._cautioned = self._cautioned.union(conclusion.after.cautions)
        for rule in conclusion.after.contradictions:
            if rule not in self._noticed and (doubt := kb.rules[rule].then.contradiction):
                draw.draw_doubt(self.screen, self.session, doubt)
        misfit = look_again(kb, conclusion)
        if misfit and misfit.check not in self._misfits:
            draw.draw_misfit(self.screen, kb, self.session, misfit)
            self._misfits.add(misfit.check)
        for name in conclusion.stale:
            if name not in self._noticed:
                question = ask_text(kb.checks[name], self.session.setup.role)
                self.screen.line(f"No longer counted, because its condition no longer holds: {question}")
        self._noticed = frozenset((*conclusion.after.contradictions, *conclusion.stale))

    def _ask(self, check: Check, conclusion: Conclusion) -> None:
        """Read lines until one is an answer or changes the session; Enter keeps an answer that is being changed."""
        words = [*options_of(check), *draw.COMMANDS]
        changing = self.session.answer(check.id) if check.id != conclusion.next.check else None
        helped = False
        while True:
            self._remind(check)
            typed = self._asker.line(words, lambda text: self._readable(check, text), check.id)
            word, rest = _command_in(typed)
            if changing and not typed:
                return
            if not typed:
                self._draw_question(check)
            elif word == "help":
                if helped:
                    draw.draw_commands(self.screen)
                else:
                    draw.draw_help(self.screen, self.reasoner.kb, self.session, check)
                helped = not helped
            elif word == "why" and changing:
                self.screen.line("You chose to change this answer; Enter keeps it as it is.")
            elif word:
                if self._command(word, rest, conclusion, check.id):
                    return
            elif self._answered(check, typed):
                return

    def _readable(self, check: Check, text: str) -> bool:
        return bool(_command_in(text)[0] or parse_answer(check, text))

    def _answered(self, check: Check, typed: str) -> bool:
        """Take a line as an answer, say back what was understood, and save it; False to ask again."""
        try:
            parsed = parse_answer(check, typed)
        except AnswerError as error:
            self.screen.line(f"Not understood: {error}")
            return False
        draw.draw_understood(self.screen, self.session, check, parsed)
        return self._accepted(parsed, check.id) and self._send(Reply(check.id, parsed.value, parsed.sure))

    def _accepted(self, parsed: Parsed, topic: str) -> bool:
        return not parsed.doubt or self._asker.agreed(f"{parsed.doubt}. Keep it?", topic)

    def _send(self, event: Event) -> bool:
        """Check the event, put it on disk, then move on. Says why when that is not possible."""
        try:
            following = step(self.reasoner.kb, self.session, event)
            self._save(event)
        except SessionError as error:
            self.screen.line(f"Not possible: {error}")
            return False
        except VisitError as error:
            self.screen.line(f"NOT SAVED: {error}. Then answer again; everything before is safe.", "bold")
            return False
        self.session = following
        return True

    def _command(self, word: str, rest: str, conclusion: Conclusion, topic: str = "") -> bool:
        """Carry out a command; True when the session changed or must be drawn again."""
        match word:
            case "why":
                draw.draw_why(self.screen, self.reasoner, conclusion)
            case "likely" | "workings":
                if word == "workings":
                    draw_rules(self.screen, self.reasoner, conclusion)
                draw_weights(self.screen, self.reasoner, self.session, conclusion)
                draw.draw_likely(self.screen, self.reasoner, conclusion)
                draw_fit(self.screen, self.reasoner.kb, self.session, conclusion)
            case "answers":
                draw.draw_answers(self.screen, self.reasoner.kb, self.session, conclusion)
            case "back":
                return self._send(Back())
            case "change":
                return self._change(rest, conclusion, topic)
            case "done":
                return self._send(Conclude())
            case "leave":
                raise Leave
        return False

    def _change(self, which: str, conclusion: Conclusion, topic: str) -> bool:
        if not which:
            draw.draw_answers(self.screen, self.reasoner.kb, self.session, conclusion)
            self.screen.line("Change which number? Enter changes none.")
            which = self._asker.line(topic=topic)
        if which == "0":
            return self._change_complaint()
        if not (number := number_of(which, len(self.session.given))):
            unknown = f"There is no answer {which!r}; 'answers' shows them."
            self.screen.line(unknown if which else "Nothing changed.")
            return False
        answer = self.session.given[number - 1]
        check = self.reasoner.kb.checks[answer.check]
        self._draw_check(check)
        self.screen.line(f"Now: {answer_says(check, answer, self.session.setup.role)}. Enter keeps it.")
        if why := barred_now(self.reasoner.kb, self.session, check.id):
            self.screen.line(f"Not possible: {why}.")
        self._ask(check, conclusion)
        return True

    def _change_complaint(self) -> bool:
        try:
            return self._send(Complain(ask_complaint(self.reasoner.kb, self._asker)[0]))
        except GoBack:
            return False

    def _end(self, conclusion: Conclusion) -> bool:
        """Show the conclusion, once, and what may follow it; True when the person wants to go on."""
        if not self.session.mended:
            draw_conclusion(self.screen, self.reasoner, self.session, conclusion, self._stop_shown)
        for event in due(self.session, conclusion):
            self._send(event)
        while True:
            self.screen.line()
            self.screen.line(AT_END)
            typed = self._asker.line([*AFTER, *draw.COMMANDS])
            if not typed or _command_in(typed)[0] == "done":
                return False
            if self._after(typed, conclusion):
                return True

    def _after(self, typed: str, conclusion: Conclusion) -> bool:
        """What may follow a conclusion; True when the session changed."""
        word, rest = _command_in(typed)
        match word or typed.casefold():
            case "repaired":
                return self._mender.repaired(self.session, conclusion)
            case "finish":
                return self._mender.finish(lambda: self.session)
            case "sheet":
                draw_dispatch(self.screen, self.reasoner, self.session, conclusion)
            case "more":
                return self._send(AskOn())
            case "help":
                draw.draw_commands(self.screen)
            case _ if word:
                return self._command(word, rest, conclusion)
            case _:
                self.screen.line("That is none of these words.")
        return False

    def _prove(self) -> bool:
        """The proof that is owed comes before anything else; left open, the visit stops here."""
        if not self._mender.proof(self.session):
            return False
        self._mender.after_passed(self.session)
        return True

    def _closed(self) -> bool:
        draw_ending(self.screen, self.reasoner.kb, self.session)
        if self.session.outcome == "dispatched":
            draw_dispatch(self.screen, self.reasoner, self.session, conclude(self.reasoner, self.session))
        return False


def _command_in(typed: str) -> tuple[str, str]:
    """(command, what follows it), or ('', '') when the line is an answer."""
    first, _, rest = typed.strip().partition(" ")
    word = SHORT.get(first.casefold(), first.casefold())
    return (word, rest.strip()) if word in draw.COMMANDS and (not rest or word == "change") else ("", "")
