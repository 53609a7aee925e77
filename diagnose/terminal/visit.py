"""The question loop: draws the session, reads a line, sends an event; every answer is saved before the next."""

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, SessionError, VisitError
from diagnose.model.knowledge import Check
from diagnose.present.answers import answers_of
from diagnose.present.cautions import raised, told_before
from diagnose.present.minutes import time_says
from diagnose.present.notices import doubts_of, lost_of, orders_of
from diagnose.present.question import Question, help_of, question_of
from diagnose.present.strip import known_of
from diagnose.session.events import Complain, Conclude, Event, Reply
from diagnose.session.law import due
from diagnose.session.parse import number_of, options_of, parse_answer
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.terminal import draw
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.begin import ask_complaint
from diagnose.terminal.commands import EVERY, UNLESS_ANSWER, command_in, words
from diagnose.terminal.facts import one_step
from diagnose.terminal.gear import named_in
from diagnose.terminal.hearing import hear, kept_words, sent_and_heard, told_in
from diagnose.terminal.look import show
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen
from diagnose.words import say

if TYPE_CHECKING:
    from diagnose.terminal.after import After

Save = Callable[[Event], None]


class Visit:
    """One visit in a terminal. `save` puts an event on disk before the session moves on, `keep` a picture."""

    keep: Callable[[bytes], str] | None = None
    singly = False  # one look at a time, as the person wishes

    def __init__(self, reasoner: Reasoner, session: Session, screen: Screen, reader: Reader, save: Save) -> None:
        self.reasoner, self.session = reasoner.at(session.setup.gear), session
        self.screen, self.asker, self._save = screen, Asker(screen, reader), save
        self._orders: tuple[str, ...] = ()
        self.cautioned = dict.fromkeys(told_before(self.reasoner.kb, session))  # told on this visit, in that order
        self._noticed, self._lost = frozenset[str](), frozenset[str]()  # doubts now, answers lost on this visit
        self._strips = frozenset[str]()  # as they were said last
        self._question_at = 0

    def run(self) -> Session:
        """Ask until a conclusion is accepted or the person leaves. Returns the session as it stands."""
        try:
            if not self.session.given and not self.session.concluded:
                hear(self, self.session.words)
            while self._one_step():
                pass
        except Leave:
            self.screen.line()
            self.screen.line(say("terminal.saved"))
        return self.session

    @cached_property
    def _after(self) -> "After":
        """Imported late: the first question needs none of it."""
        from diagnose.terminal.after import After

        return After(self)

    def _one_step(self) -> bool:
        if self.session.outcome:
            return self._after.closed()
        if self.session.pending:
            return self._after.prove()
        conclusion = conclude(self.reasoner, self.session)
        self._notices(conclusion)
        if self.session.concluded or not conclusion.next.check:
            return self._end(conclusion)
        self._chain(conclusion)
        self.screen.line(time_says(self.reasoner.kb, self.session, conclusion), "dim")
        one_step(self, conclusion)
        return True

    def ask_alone(self, check: Check, conclusion: Conclusion) -> None:
        """One check by itself, until it is answered or the session changed."""
        self._draw_check(check)
        self._ask(check, conclusion)

    def told_before(self, check: Check, opened: bool = False) -> Question:
        """What comes before a check, its cautions above all, drawn; and the check as it is asked."""
        question = replace(self._question(check), first="") if opened else self._question(check)
        draw.draw_before(self.screen, question)
        self.cautioned |= dict.fromkeys(question.cautions.ids)
        return question

    def _question(self, check: Check) -> Question:
        return question_of(self.reasoner.kb, self.session, check, self.cautioned)

    def _draw_check(self, check: Check) -> None:
        self.screen.line()
        self._draw_question(self.told_before(check))

    def _draw_question(self, question: Question) -> None:
        top = self.screen.written
        draw.draw_question(self.screen, question)
        self._question_at = self.screen.written if self.screen.out_of_sight(top) else top

    def _remind(self, check: Check) -> None:
        """The question alone when what was told since has pushed it off the screen."""
        if self.screen.out_of_sight(self._question_at):
            self.screen.line()
            draw.draw_question_line(self.screen, self._question(check))
            self.screen.line(say("terminal.enter_shows"))
            self._question_at = self.screen.written

    def _notices(self, conclusion: Conclusion) -> None:
        """What has to be seen first: stop-work, then cautions of rules, doubts and lost answers when new."""
        kb = self.reasoner.kb
        if conclusion.stands != self._orders:
            draw.draw_orders(self.screen, orders_of(kb, conclusion), self._orders)
            self._orders = conclusion.stands
        fresh = [c for c in conclusion.after.cautions if c not in self.cautioned]
        draw.draw_box(self.screen, raised(kb, fresh))
        self.cautioned |= dict.fromkeys(fresh)
        doubts, lost = doubts_of(kb, self.session, conclusion), lost_of(kb, self.session, conclusion)
        for doubt in doubts:
            if doubt.id not in self._noticed:
                draw.draw_doubt(self.screen, doubt)
        for answer in lost:
            if answer.check not in self._lost:
                self.screen.line(answer.says)
        self._noticed, self._lost = frozenset(d.id for d in doubts), self._lost | {a.check for a in lost}

    def _chain(self, conclusion: Conclusion) -> None:
        """What has become of the signal chain, where it is not as it was said last."""
        strips = known_of(self.reasoner.kb, self.session, conclusion)
        draw.draw_strips(self.screen, (strip for strip in strips if strip.says not in self._strips))
        self._strips = frozenset(strip.says for strip in strips)

    def _ask(self, check: Check, conclusion: Conclusion) -> None:
        """Read lines until one is an answer or changes the session; Enter keeps an answer that is being changed."""
        known = [*options_of(check), *words(EVERY)]
        changing = self.session.answer(check.id) if check.id != conclusion.next.check else None
        helped = False
        while True:
            self._remind(check)
            typed = self.asker.line(
                known, lambda text: command_in(text, EVERY)[0] or parse_answer(check, text), check.id
            )
            command, _ = command_in(typed)
            if changing and not typed:
                return
            if not typed:
                self._draw_question(self._question(check))
            elif command == "help":
                self._help(check, helped)
                helped = not helped
            elif command == "why" and changing:
                self.screen.line(say("terminal.changing"))
            elif self._took(check, typed, conclusion):
                return

    def _took(self, check: Check, typed: str, conclusion: Conclusion) -> bool:
        """Whether a command or an answer changed the session; to go back at a question within it changes nothing."""
        command, rest = command_in(typed)
        try:
            if command:
                return self.command(command, rest, conclusion, check.id)
            return self._answered(check, typed, conclusion)
        except GoBack:
            self.screen.line(say("terminal.went_back"))
            return False

    def _help(self, check: Check, helped: bool) -> None:
        if helped:
            draw.draw_commands(self.screen)
        else:
            draw.draw_help(self.screen, help_of(self.reasoner.kb, self.session, check))

    def _answered(self, check: Check, typed: str, conclusion: Conclusion) -> bool:
        """Take a line as an answer, say back what was understood, and save it; False to ask again."""
        try:
            parsed = parse_answer(check, typed)
        except AnswerError as error:
            command, rest = command_in(typed, UNLESS_ANSWER)
            if command:
                return self._after.carry_out(command, rest, conclusion)
            if hear(self, typed):
                return True
            self.screen.line(say("terminal.not_understood", why=error))
            kept, said = kept_words(self, check.id, typed)
            return kept or (bool(said) and self._took(check, said, conclusion))
        draw.draw_understood(self.screen, self.session.setup.role, check, parsed)
        kept = not parsed.doubt or self.asker.agreed(say("terminal.keep_it", doubt=parsed.doubt), check.id)
        return kept and sent_and_heard(self, parsed.reply(check.id))

    def send(self, event: Event) -> bool:
        """Check the event, put it on disk, then move on. Says why when that is not possible."""
        try:
            following = step(self.reasoner.kb, self.session, event)
            self._save(event)
        except SessionError as error:
            self.screen.line(say("terminal.not_possible", why=error))
            return False
        except VisitError as error:
            self.screen.line(say("terminal.not_saved", why=error), "bold")
            return False
        self.session, self.reasoner = following, self.reasoner.at(following.setup.gear)
        return True

    def command(self, command: str, rest: str, conclusion: Conclusion, topic: str = "") -> bool:
        """Carry out a command; True when the session changed or must be drawn again."""
        match command:
            case "back":
                return self._after.back()
            case "note" | "correct" | "picture":
                self._after.beside(command, rest, conclusion)
            case "takeover":
                return self._after.take_over()
            case "keep":
                return self._keep(conclusion)
            case "tell":
                return told_in(self, rest)
            case "change":
                return self._change(rest, conclusion, topic)
            case "gear":
                named = named_in(rest, self.reasoner, self.session, self.asker)
                return named is not None and self.send(named)
            case "conclude":
                return self.send(Conclude())
            case "leave":
                raise Leave
            case _:
                show(self, command, conclusion)
        return False

    def _keep(self, conclusion: Conclusion) -> bool:
        """The answers that are called into question are right: given once more, they are not asked about again."""
        doubted = [again.check for d in doubts_of(self.reasoner.kb, self.session, conclusion) for again in d.again]
        given = [a for a in map(self.session.answer, dict.fromkeys(doubted)) if a]
        self.screen.line(say("terminal.kept", n=len(given)) if given else say("terminal.nothing_doubted"))
        return sum(self.send(Reply(a.check, a.value, a.sure)) for a in given) > 0

    def _change(self, which: str, conclusion: Conclusion, topic: str) -> bool:
        if not which:
            draw.draw_answers(self.screen, answers_of(self.reasoner.kb, self.session, conclusion))
            self.screen.line(say("terminal.change_which"))
            which = self.asker.said(topic=topic)
        if which == "0":
            return self._change_complaint()
        if not (answer := self.session.answer_at(number_of(which, len(self.session.order)))):
            self.screen.line(say("terminal.no_answer", which=which) if which else say("terminal.nothing_changed"))
            return False
        check = self.reasoner.kb.checks[answer.check]
        self._draw_check(check)
        question = self._question(check)
        self.screen.line(f"{say('present.now', said=question.now)} {say('terminal.enter_keeps')}")
        if question.barred:
            self.screen.line(say("terminal.not_possible", why=f"{question.barred}."))
        self._ask(check, conclusion)
        return True

    def _change_complaint(self) -> bool:
        try:
            return self.send(Complain(ask_complaint(self.reasoner.kb, self.asker)[0]))
        except GoBack:
            return False

    def _end(self, conclusion: Conclusion) -> bool:
        """Show the conclusion, once, and what may follow it; True when the person wants to go on."""
        if mended := self.session.mended:
            self.screen.line(say("terminal.mended_now", cause=self.reasoner.kb.causes[mended.cause].says), "bold")
        else:
            draw.draw_orders(self.screen, orders_of(self.reasoner.kb, conclusion), self._orders)
            self._after.show(conclusion)
        self.screen.line(time_says(self.reasoner.kb, self.session, conclusion), "dim")
        for event in due(self.session, conclusion):
            self.send(event)
        while True:
            draw.draw_at_end(self.screen)
            typed = self.asker.line(words(EVERY))
            command, rest = command_in(typed, EVERY)
            if not typed or command == "conclude":
                return False
            if self._carried_out(command, rest, conclusion):
                return True

    def _carried_out(self, command: str, rest: str, conclusion: Conclusion) -> bool:
        """What may follow a conclusion; to go back at a question within it changes nothing."""
        before = self.session
        try:
            return self._after.carry_out(command, rest, conclusion)
        except GoBack:
            self.screen.line(say("terminal.went_back"))
            return self.session != before
