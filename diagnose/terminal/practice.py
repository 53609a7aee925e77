"""The practice loop: the trainee browses, states what to expect, looks, repairs and proves; the coach answers."""

from collections.abc import Sequence

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import AnswerError, DiagnoseError
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer
from diagnose.practice import coach
from diagnose.practice.blocks import BLOCKS, block_of_check
from diagnose.practice.exercise import Exercise, advance, begin, offered
from diagnose.practice.gate import Gate
from diagnose.practice.hazards import repair_cautions
from diagnose.practice.moves import Beliefs, Finish, Hint, Look, Move, Prove, Repair, Tick
from diagnose.present.answers import answers_of
from diagnose.present.notices import orders_of
from diagnose.session.checklist import open_items
from diagnose.session.parse import number_of
from diagnose.session.session import conclude
from diagnose.session.summary import cautions_for
from diagnose.session.wording import answer_says
from diagnose.terminal import practice_draw as drawn
from diagnose.terminal.ask import Asker, Leave
from diagnose.terminal.draw import draw_answers, draw_orders
from diagnose.terminal.practice_words import named_causes, stated_beliefs
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen

COMMANDS = {
    "list": "the checks: 'list' by part, 'list supply', 'list lamp'; then type a number to do one",
    "causes": "what can be wrong: 'causes', 'causes supply', 'causes wet'",
    "blocks": "the installation part by part, and what is as good as proved",
    "answers": "everything found so far",
    "hint": "a hint; each further one before the next check is stronger and costs more",
    "repair": "carry out a remedy: 'repair', then name the cause",
    "prove": "do the proof of the last repair",
    "finish": "return to service, or end here",
    "leave": "stop the exercise",
}
STATES_HELP = "What do you expect? A number, or Enter to say nothing."
BELIEFS_HELP = "Which causes do you hold likely? For example: c2 60, wet window 20. Enter says nothing."
PREPARE_HELP = "Type 'prepare' to take the precautions first, or Enter to go straight on."
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
        self._listed: list[Check] = []
        self.causes: list[str] = []
        self._stops: tuple[str, ...] = ()

    def run(self, words: str = "") -> Exercise:
        """Until the trainee finishes, leaves, or does something unsafe. Returns the exercise as it stands."""
        self._opening(words)
        try:
            while not self.exercise.ended:
                self._notices()
                self._command(self._asker.line([*COMMANDS]))
        except Leave:
            self.screen.line("The exercise ends here.")
        return self.exercise

    @property
    def moves(self) -> tuple[Move, ...]:
        """Everything done so far."""
        return tuple(d.move for d in self.exercise.done)

    def _opening(self, words: str) -> None:
        setup = self.gate.setup
        self.screen.heading("Practice gate (invented)")
        self.screen.pair("Complaint", self.kb.complaints[self.gate.complaint].says)
        if words:
            self.screen.pair("In the site's words", f'"{words}"')
        kinds = ", ".join(self.kb.devices[d] for d in setup.devices) or "not known"
        self.screen.pair("Sensors", kinds)
        numbers = ", ".join(f"{k.partition('.')[2]} {v}" for k, v in setup.profile.items() if k.startswith("site."))
        if numbers:
            self.screen.pair("Site", numbers)
        self.screen.line("Find what is wrong, mend it, prove it. 'help' says what you can type.")

    def _notices(self) -> None:
        conclusion = conclude(self.reasoner, self.exercise.session)
        if conclusion.stands != self._stops:
            draw_orders(self.screen, orders_of(self.kb, conclusion), self._stops)
            self._stops = conclusion.stands
        self.screen.line()
        self.screen.line(f"[{self.exercise.minutes:g} min on the clock]", "dim")

    def _command(self, typed: str) -> None:
        word, _, rest = typed.partition(" ")
        plain = {"list": self._list, "causes": self._list_causes, "repair": self._repair}
        bare = {"blocks": self._blocks, "answers": self._answers, "hint": self._hint, "finish": self._finish}
        bare |= {"prove": lambda: self._done(Prove()), "help": self._help}
        lowered = word.casefold()
        if number := number_of(typed, len(self._listed)):
            self._look(self._listed[number - 1])
        elif lowered in self.kb.checks:
            self._look(self.kb.checks[lowered])
        elif lowered in ("leave", "quit", "exit", "q"):
            raise Leave
        elif lowered in plain:
            plain[lowered](rest)
        elif lowered in bare and not rest:
            bare[lowered]()
        elif typed:
            self.screen.line("'list' shows the checks, 'help' everything you can type.")

    def _help(self) -> None:
        for word, says in COMMANDS.items():
            self.screen.hanging(f"  {word:8} ", says)

    def _conclusion(self) -> Conclusion:
        return conclude(self.reasoner, self.exercise.session)

    def _list(self, words: str) -> None:
        checks = offered(self.kb, self._conclusion(), self.exercise)
        wanted = words.casefold().strip()
        if not wanted:
            drawn.draw_block_counts(self.screen, self.kb, checks)
            return
        if wanted in BLOCKS or wanted == "facts":
            self._listed = [c for c in checks if block_of_check(self.kb, c) == wanted]
        else:
            self._listed = [c for c in checks if wanted in f"{c.id.replace('_', ' ')} {c.ask}".casefold()]
        self._listed = self._listed[:MOST_LISTED]
        drawn.draw_checks(self.screen, self.kb, self.exercise, self._listed)
        if not self._listed:
            self.screen.line("No check says that.")

    def _list_causes(self, words: str) -> None:
        network = self._conclusion().belief.network
        self.causes = [c for c in network.causes if self._says_all(c, words)][:MOST_LISTED]
        for number, cause in enumerate(self.causes, start=1):
            self.screen.hanging(f" c{number:<3d} ", self.kb.causes[cause].says)

    def _says_all(self, cause: str, words: str) -> bool:
        entry = self.kb.causes[cause]
        return all(w in f"{entry.family} {entry.says}".casefold() for w in words.casefold().split())

    def _blocks(self) -> None:
        drawn.draw_blocks(self.screen, self.kb, self._conclusion().belief)

    def _answers(self) -> None:
        draw_answers(self.screen, answers_of(self.kb, self.exercise.session, self._conclusion()))

    def _look(self, check: Check) -> None:
        self.screen.hanging("CHECK  ", check.ask, "bold")
        states = list(check.finding.states) if check.finding else []
        expects = self._expects(states) if states else ""
        beliefs = self._beliefs() if states else ()
        self._done(Look(check.id, expects, beliefs, self._prepared(cautions_for(self.kb, check))))

    def _expects(self, states: Sequence[str]) -> str:
        self.screen.numbered(s.replace("_", " ") for s in states)
        self.screen.line(STATES_HELP)
        number = number_of(self._asker.line(), len(states))
        return states[number - 1] if number else ""

    def _beliefs(self) -> Beliefs:
        self.screen.line(BELIEFS_HELP)
        while True:
            typed = self._asker.line()
            try:
                return stated_beliefs(self.kb, self._conclusion().belief.network.causes, self.causes, typed)
            except AnswerError as error:
                self.screen.line(f"Not understood: {error}")

    def _prepared(self, cautions: Sequence[str]) -> bool:
        if not cautions:
            return True
        self.screen.line(PREPARE_HELP)
        if self._asker.line(["prepare"]).casefold() not in ("prepare", "p"):
            return False
        for caution in cautions:
            self.screen.hanging("CAUTION  ", self.kb.cautions[caution].says, "bold yellow")
        return True

    def _done(self, move: Move) -> None:
        """Make the move, show what came of it and what the coach says."""
        before = self.exercise
        try:
            self.exercise = advance(self.reasoner, before, move)
        except DiagnoseError as error:
            self.screen.line(f"Not possible: {error}")
            return
        self._results(before)
        if self.exercise.danger:
            self.screen.alarm(["UNSAFE - the exercise stops here.", self.exercise.danger.says])
        if self._aided:
            drawn.draw_feedback(self.screen, self.reasoner, coach.feedback(self.reasoner, before, self.exercise))

    def _results(self, before: Exercise) -> None:
        move = self.exercise.done[-1].move
        if isinstance(move, Look):
            known = {a.check: a for a in before.session.given}
            for answer in self.exercise.session.given:
                if known.get(answer.check) != answer or answer.check == move.check:
                    self._result(answer, move)
        if isinstance(move, Prove):
            self._proof()

    def _result(self, answer: Answer, move: Look) -> None:
        check = self.kb.checks[answer.check]
        said = answer_says(check, answer, self.gate.setup.role)
        if check.id == move.check:
            self.screen.hanging("   = ", said)
        else:
            self.screen.hanging("   ", f"({check.ask} - {said})")

    def _proof(self) -> None:
        repair = self.exercise.session.repairs[-1]
        self.screen.hanging("   Proof: ", self.kb.causes[repair.cause].proof)
        self.screen.line("   It PASSED." if repair.proof == "passed" else "   It FAILED: the trouble is still there.")
        if repair.proof == "passed":
            left = self.exercise.gate.truth
            self.screen.line("   But something is still wrong." if left else "   All is well now.")

    def _hint(self) -> None:
        strength, text = coach.hint(self.reasoner, self.exercise, self._hints)
        self.screen.hanging(f"HINT {strength}  ", text, "bold")
        if strength:
            self._done(Hint())

    def _repair(self, words: str) -> None:
        network = self._conclusion().belief.network.causes
        typed = words
        if not typed:
            self.screen.line("Mend what? A cause: 'c2', or its words; several with commas. Enter: nothing.")
            typed = self._asker.line()
        if not typed:
            return
        try:
            causes = named_causes(self.kb, network, self.causes, typed)
        except AnswerError as error:
            self.screen.line(f"Not understood: {error}")
            return
        for cause in causes:
            remedy = self.kb.causes[cause].remedy
            self.screen.hanging("REMEDY  ", f"{self.kb.causes[cause].says}: about {remedy.minutes:g} min.", "bold")
            self.screen.steps(remedy.steps)
        beliefs = self._beliefs()
        cautions = dict.fromkeys(c for cause in causes for c in repair_cautions(self.kb, cause))
        self._done(Repair(causes, beliefs, self._prepared(tuple(cautions))))

    def _finish(self) -> None:
        """Prove each open line of the return to service, then end."""
        for item in open_items(self.kb, self.exercise.session) if not self.exercise.gate.truth else []:
            self.screen.hanging("PROVE  ", item.says)
            self.screen.line("Type 'pass' once it is proved, or Enter to leave it.")
            if self._asker.line(["pass"]).casefold() == "pass":
                self._done(Tick(item.id))
        self._done(Finish())
