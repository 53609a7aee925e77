"""The practice loop: the trainee browses, states what to expect, looks, repairs and proves; the coach answers."""

from collections.abc import Sequence

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, DiagnoseError
from diagnose.model.knowledge import Check
from diagnose.model.told import cautions_for, remedy_cautions
from diagnose.practice import coach
from diagnose.practice.blocks import family_says
from diagnose.practice.exercise import Exercise, advance, begin
from diagnose.practice.gate import Gate
from diagnose.practice.moves import Beliefs, CheckMove, FinishMove, HintMove, Move, ProofMove, RepairMove, TickMove
from diagnose.present.answers import answers_of
from diagnose.present.figures import minutes
from diagnose.present.notices import orders_of
from diagnose.present.practice import (
    AskedOnce,
    asked_of,
    complaint_of,
    offered_of,
    parts_of,
    sensors_of,
    shown_of,
    told_of,
)
from diagnose.session.checklist import open_items
from diagnose.session.parse import number_of, spoken_for
from diagnose.session.session import conclude
from diagnose.terminal import practice_draw as drawn
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.draw import draw_answers, draw_orders
from diagnose.terminal.practice_words import named_causes, stated_beliefs
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen
from diagnose.words import say

COMMANDS = ("list", "causes", "parts", "answers", "hint", "repair", "prove", "close", "help", "leave")
MOST_LISTED = 40


class Practice:
    """One exercise in a terminal. `hints`: the strongest hint; `aided` False: the coach is silent to the end."""

    def __init__(
        self, reasoner: Reasoner, gate: Gate, screen: Screen, reader: Reader, hints: int = 3, aided: bool = True
    ) -> None:
        self.reasoner, self.kb, self.gate = reasoner, reasoner.kb, gate
        self.screen, self._asker, self._aided = screen, Asker(screen, reader), aided
        self._hints = hints if aided else 0
        self.exercise = begin(reasoner, gate)
        self._listed: list[str] = []
        self.causes: list[str] = []
        self._stops: tuple[str, ...] = ()

    def run(self, words: str = "") -> Exercise:
        """Until the trainee finishes, leaves, or does something unsafe. Returns the exercise as it stands."""
        self._opening(words)
        try:
            while not self.exercise.ended:
                self._notices()
                self._command(self._asker.line([word(c) for c in COMMANDS]))
        except Leave:
            self.screen.line(say("practice.ends_here"))
        return self.exercise

    @property
    def moves(self) -> tuple[Move, ...]:
        """Everything done so far."""
        return tuple(d.move for d in self.exercise.done)

    def _opening(self, words: str) -> None:
        self.screen.heading(say("practice.invented_gate"))
        self.screen.pair(say("present.complaint"), complaint_of(self.kb, self.gate))
        if words:
            self.screen.pair(say("present.own_words"), f'"{words}"')
        self.screen.pair(say("practice.sensors"), sensors_of(self.kb, self.gate))
        self.screen.line(say("practice.task", help=word("help")))

    def _notices(self) -> None:
        conclusion = conclude(self.reasoner, self.exercise.session)
        if conclusion.stands != self._stops:
            draw_orders(self.screen, orders_of(self.kb, conclusion), self._stops)
            self._stops = conclusion.stands
        self.screen.line()
        self.screen.line(say("practice.on_the_clock", minutes=minutes(self.exercise.minutes)), "dim")

    def _command(self, typed: str) -> None:
        plain = {"list": self._list, "causes": self._list_causes, "repair": self._repair}
        bare = {"parts": self._parts, "answers": self._answers, "hint": self._hint, "close": self._close}
        bare |= {"prove": self._prove, "help": self._help, "leave": self._leave}
        command, rest = command_in(typed)
        if number := number_of(typed, len(self._listed)):
            self._look(self.kb.checks[self._listed[number - 1]])
        elif typed.casefold() in self.kb.checks:
            self._look(self.kb.checks[typed.casefold()])
        elif command in plain:
            plain[command](rest)
        elif command in bare and not rest:
            bare[command]()
        elif typed:
            self.screen.line(say("practice.what_to_type", list=word("list"), help=word("help")))

    def _help(self) -> None:
        for command in COMMANDS:
            self.screen.hanging(f"  {word(command):8} ", say(f"practice.does_{command}"))

    def _leave(self) -> None:
        raise Leave

    def _conclusion(self) -> Conclusion:
        return conclude(self.reasoner, self.exercise.session)

    def _list(self, words: str) -> None:
        parts = offered_of(self.kb, self._conclusion(), self.exercise, words)
        if not words:
            drawn.draw_counts(self.screen, parts)
            return
        found = [check for checks in parts.values() for check in checks][:MOST_LISTED]
        self._listed = [check.check for check in found]
        drawn.draw_checks(self.screen, found)
        if not found:
            self.screen.line(say("practice.no_check_says"))

    def _list_causes(self, words: str) -> None:
        network = self._conclusion().belief.network
        self.causes = [c for c in network.causes if self._says_all(c, words)][:MOST_LISTED]
        for number, cause in enumerate(self.causes, start=1):
            self.screen.hanging(f" c{number:<3d} ", self.kb.causes[cause].says)

    def _says_all(self, cause: str, words: str) -> bool:
        entry = self.kb.causes[cause]
        text = f"{family_says(self.kb, entry.family)} {entry.says}".casefold()
        return all(w in text for w in words.casefold().split())

    def _parts(self) -> None:
        drawn.draw_parts(self.screen, parts_of(self.kb, self._conclusion().belief))

    def _answers(self) -> None:
        draw_answers(self.screen, answers_of(self.kb, self.exercise.session, self._conclusion()))

    def _look(self, check: Check) -> None:
        asked = asked_of(self.kb, check)
        self.screen.line(asked.says, "bold")
        expects = self._expects(asked) if asked.states else ""
        beliefs = self._beliefs() if asked.states else ()
        self._done(CheckMove(check.id, expects, beliefs, self._prepared(cautions_for(self.kb, check))))

    def _expects(self, asked: AskedOnce) -> str:
        self.screen.numbered(says for _, says in asked.states)
        self.screen.line(say("practice.ask_expectation"))
        number = number_of(self._asker.line(), len(asked.states))
        return asked.states[number - 1][0] if number else ""

    def _beliefs(self) -> Beliefs:
        self.screen.line(say("practice.ask_suspects"))
        while True:
            typed = self._asker.line()
            try:
                return stated_beliefs(self.kb, self._conclusion().belief.network.causes, self.causes, typed)
            except AnswerError as error:
                self.screen.line(say("terminal.not_understood", why=error))

    def _prepared(self, cautions: Sequence[str]) -> bool:
        if not cautions:
            return True
        prepare = spoken_for("practice.words_prepare")
        self.screen.line(say("practice.ask_prepare", prepare=prepare[0]))
        if self._asker.line([prepare[0]]).casefold() not in prepare:
            return False
        for caution in cautions:
            self.screen.hanging(f"{say('present.caution')}  ", self.kb.cautions[caution].says, "bold yellow")
        return True

    def _done(self, move: Move) -> None:
        """Make the move, show what came of it and what the coach says."""
        before = self.exercise
        try:
            self.exercise = advance(self.reasoner, before, move)
        except DiagnoseError as error:
            self.screen.line(say("terminal.not_possible", why=error))
            return
        self._shown(before)
        if self.exercise.danger:
            self.screen.alarm([say("practice.unsafe"), self.exercise.danger.says])
        if self._aided:
            told = coach.feedback(self.reasoner, before, self.exercise)
            drawn.draw_told(self.screen, told_of(self.kb, told))

    def _shown(self, before: Exercise) -> None:
        """Of a check its answer, and on lines of their own what was seen on the way; of a proof what it said."""
        move = self.exercise.done[-1].move
        for shown in shown_of(self.kb, before, self.exercise) if isinstance(move, CheckMove | ProofMove) else ():
            if shown.beside:
                self.screen.hanging("   ", f"({say('present.answered', asked=shown.asked, said=shown.said)})")
            else:
                self.screen.hanging("   = ", shown.said)

    def _hint(self) -> None:
        strength, text = coach.hint(self.reasoner, self.exercise, self._hints)
        self.screen.line(say("practice.hint_number", number=strength, says=text) if strength else text, "bold")
        if strength:
            self._done(HintMove())

    def _repair(self, words: str) -> None:
        network, typed = self._conclusion().belief.network.causes, words
        if not typed:
            self.screen.line(say("practice.ask_mended"))
            typed = self._asker.line()
        try:
            causes = named_causes(self.kb, network, self.causes, typed)
        except AnswerError as error:
            self.screen.line(say("terminal.not_understood", why=error))
            return
        if causes:
            self._mend(causes)

    def _mend(self, causes: tuple[str, ...]) -> None:
        for cause in causes:
            remedy, says = self.kb.causes[cause].remedy, self.kb.causes[cause].says
            self.screen.line(say("practice.remedy_of", cause=says, minutes=minutes(remedy.minutes)), "bold")
            self.screen.steps(remedy.steps)
        beliefs = self._beliefs()
        cautions = dict.fromkeys(c for cause in causes for c in remedy_cautions(self.kb, self.kb.causes[cause]))
        self._done(RepairMove(causes, beliefs, self._prepared(tuple(cautions))))

    def _prove(self) -> None:
        if repair := self.exercise.session.pending:
            self.screen.pair(say("present.proof"), self.kb.causes[repair.cause].proof)
        self._done(ProofMove())

    def _close(self) -> None:
        """Prove each open line of the return to service, then end."""
        passed = spoken_for("terminal.words_pass")
        for item in open_items(self.kb, self.exercise.session) if not self.exercise.gate.truth else []:
            self.screen.pair(say("practice.prove_this"), item.says)
            self.screen.line(say("practice.ask_proved", passed=passed[0]))
            if self._asker.line([passed[0]]).casefold() in passed:
                self._done(TickMove(item.id))
        self._done(FinishMove())


def word(command: str) -> str:
    """What a person types for a command."""
    return spoken_for(f"practice.words_{command}")[0]


def command_in(typed: str) -> tuple[str, str]:
    """(command, what follows it); ('', '') when the line is none."""
    first, _, rest = typed.strip().partition(" ")
    found = (c for c in COMMANDS if first.casefold() in spoken_for(f"practice.words_{c}"))
    command = next(found, "")
    return (command, rest.strip()) if command else ("", "")
