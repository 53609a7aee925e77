"""The practice loop: the trainee browses, states what to expect, looks, repairs and proves; the coach answers."""

from collections.abc import Callable

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, DiagnoseError
from diagnose.model.knowledge import Check
from diagnose.practice import coach
from diagnose.practice.blocks import family_says
from diagnose.practice.exercise import Exercise, begin, made
from diagnose.practice.gate import Gate
from diagnose.practice.moves import (
    Beliefs,
    CheckMove,
    FinishMove,
    HintMove,
    Move,
    ProofMove,
    RepairMove,
    SuspectMove,
    TickMove,
)
from diagnose.present.answers import answers_of
from diagnose.present.cautions import of_visit
from diagnose.present.figures import minutes
from diagnose.present.notices import orders_of
from diagnose.present.practice import (
    asked_of,
    complaint_of,
    noted_of,
    offered_of,
    proved_of,
    sensors_of,
    shown_of,
    site_of,
    to_mend,
    told_of,
)
from diagnose.session.checklist import open_items
from diagnose.session.parse import number_of, spoken_for
from diagnose.session.session import conclude
from diagnose.terminal import practice_draw as drawn
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_all_cautions, draw_answers, draw_chain, draw_orders
from diagnose.terminal.practice_before import Before
from diagnose.terminal.practice_words import COMMANDS, command_in, named_causes, word
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen
from diagnose.words import say

MOST_LISTED = 40


class Practice:
    """One exercise in a terminal. `hints`: the strongest hint; `aided` False: the coach is silent to the end;
    `begun`: an exercise on the gate that is gone on with; `keep` puts a move on disk before it counts."""

    def __init__(
        self,
        reasoner: Reasoner,
        gate: Gate,
        screen: Screen,
        reader: Reader,
        hints: int = 3,
        aided: bool = True,
        begun: Exercise | None = None,
        keep: Callable[[Move], None] = lambda _: None,
    ) -> None:
        self.reasoner, self.kb, self.gate = reasoner, reasoner.kb, gate
        self.screen, self._asker, self._aided = screen, Asker(screen, reader), aided
        self._hints, self._keep = hints if aided else 0, keep
        self.exercise = begun or begin(reasoner, gate)
        self._listed: list[str] = []
        self.causes: list[str] = []
        self._stops: tuple[str, ...] = ()
        self._cautioned = dict[str, None]()  # told in this exercise
        self._before = Before(
            self.kb, screen, self._asker, self._carry_out, lambda: self.exercise.wrote, self._suspect
        )

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
        if site := site_of(self.kb, self.gate):
            self.screen.line(site)
        self.screen.line(say("practice.task", help=word("help"), suspect=word("suspect")))

    def _notices(self) -> None:
        conclusion = conclude(self.reasoner, self.exercise.session)
        if conclusion.stands != self._stops:
            draw_orders(self.screen, orders_of(self.kb, conclusion), self._stops)
            self._stops = conclusion.stands
        self.screen.line()
        self.screen.line(say("practice.on_the_clock", minutes=minutes(self.exercise.minutes)), "dim")

    def _command(self, typed: str) -> None:
        command, rest = command_in(typed)
        try:
            if check := self._named(typed):
                self._look(check)
            elif command:
                self._carry_out(command, rest)
            elif typed:
                self.screen.line(say("practice.what_to_type", list=word("list"), help=word("help")))
        except GoBack:
            self.screen.line(say("practice.went_back"))

    def _named(self, typed: str) -> Check | None:
        """The check of a number in the last list, or of an id."""
        number = number_of(typed, len(self._listed))
        return self.kb.checks.get(self._listed[number - 1] if number else typed.casefold())

    def _carry_out(self, command: str, rest: str) -> None:
        plain = {"list": self._list, "causes": self._list_causes, "repair": self._repair}
        plain |= {"suspect": self._suspect, "what": self._what}
        bare = {"parts": self._parts, "answers": self._answers, "hint": self._hint, "close": self._close}
        bare |= {"prove": self._prove, "leave": self._leave, "cautions": self._cautions, "back": self._back}
        if command == "help" and (check := self._named(rest)):
            drawn.draw_how(self.screen, self.kb, asked_of(self.kb, self.exercise, check))
        elif command == "help":
            self._help()
        elif command in plain:
            plain[command](rest)
        else:
            bare[command]()

    def _help(self) -> None:
        for command in COMMANDS:
            self.screen.hanging(f"  {word(command):8} ", say(f"practice.does_{command}"))

    def _what(self, words: str) -> None:
        drawn.draw_meanings(self.screen, self.kb, words)

    def _back(self) -> None:
        self.screen.line(say("practice.no_way_back"))

    def _cautions(self) -> None:
        draw_all_cautions(self.screen, of_visit(self.kb, self._cautioned))

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
        if not self.exercise.wrote:
            self.screen.line(say("practice.write_first"))
            return
        network = self._conclusion().belief.network
        self.causes = [c for c in network.causes if self._says_all(c, words)][:MOST_LISTED]
        for number, cause in enumerate(self.causes, start=1):
            self.screen.hanging(f" c{number:<3d} ", self.kb.causes[cause].says)

    def _says_all(self, cause: str, words: str) -> bool:
        entry = self.kb.causes[cause]
        text = f"{family_says(self.kb, entry.family)} {entry.says}".casefold()
        return all(w in text for w in words.casefold().split())

    def _parts(self) -> None:
        draw_chain(self.screen, proved_of(self.kb, self.exercise, self._conclusion()))

    def _answers(self) -> None:
        draw_answers(self.screen, answers_of(self.kb, self.exercise.session, self._conclusion()))

    def _look(self, check: Check) -> None:
        asked = asked_of(self.kb, self.exercise, check, self._cautioned)
        drawn.draw_asked(self.screen, asked)
        self._cautioned |= dict.fromkeys(asked.cautions.ids)

        def how() -> None:
            drawn.draw_how(self.screen, self.kb, asked)

        expects = self._before.expects(asked, how) if asked.states else ""
        beliefs = self._beliefs(how) if asked.states else ()
        self._done(CheckMove(check.id, expects, beliefs, self._before.prepared(asked.cautions, how)))

    def _beliefs(self, how: Callable[[], None]) -> Beliefs:
        return self._before.beliefs(self._conclusion().belief.network.causes, self.causes, how)

    def _suspect(self, words: str) -> None:
        """Suspects in the trainee's own words; the coach says where they lie, and nothing else."""
        if not words:
            self.screen.line(say("practice.write_first"))
            return
        self._done(SuspectMove(words))
        self.screen.hanging("   ", noted_of(self.kb, self._conclusion().belief.network.causes, words))

    def _done(self, move: Move) -> None:
        """Make the move, show what came of it and what the coach says."""
        before = self.exercise
        try:
            after = made(self.reasoner, before, move)
            self._keep(move)
        except DiagnoseError as error:
            self.screen.line(say("terminal.not_possible", why=error))
            return
        self.exercise = after
        self._shown(before)
        if self.exercise.danger:
            danger = self.exercise.danger
            self.screen.alarm([say("practice.unsafe"), danger.says, danger.happened])
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
            typed = self._before.line(self._help)
        try:
            causes = named_causes(self.kb, network, self.causes, typed)
        except AnswerError as error:
            why = error if self.exercise.wrote else say("practice.write_first")
            self.screen.line(say("terminal.not_understood", why=why))
            return
        if causes:
            self._mend(causes)

    def _mend(self, causes: tuple[str, ...]) -> None:
        mend = to_mend(self.kb, causes, self._cautioned)
        for says, steps in mend.remedies:
            self.screen.line(says, "bold")
            self.screen.steps(steps)
        drawn.draw_careful(self.screen, mend.cautions)
        self._cautioned |= dict.fromkeys(mend.cautions.ids)
        beliefs = self._beliefs(self._help)
        self._done(RepairMove(causes, beliefs, self._before.prepared(mend.cautions, self._help)))

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
            if self._before.line(self._help, [passed[0]]).casefold() in passed:
                self._done(TickMove(item.id))
        self._done(FinishMove())
