"""The first lesson in a terminal: link by link at the reader's pace; then a gate worked before his eyes."""

from collections.abc import Sequence

from diagnose.core.reason import Reasoner
from diagnose.model.named import WorkedGate
from diagnose.practice.exercise import Exercise
from diagnose.present.first_lesson import Seen, WalkPage, heading_of, walk_pages, worked_steps
from diagnose.present.terms import used_in
from diagnose.session.parse import number_of
from diagnose.terminal.ask import Asker, GoBack, Leave
from diagnose.terminal.draw import draw_strips
from diagnose.terminal.practice_draw import draw_meanings
from diagnose.terminal.practice_words import command_in, word
from diagnose.terminal.screen import Screen
from diagnose.words import say


class FirstLesson:
    def __init__(self, reasoner: Reasoner, screen: Screen, asker: Asker) -> None:
        self._reasoner, self._kb, self._screen, self._asker = reasoner, reasoner.kb, screen, asker

    def run(self) -> Exercise | None:
        """The walk and the examples; the exercise that the trainee goes on with, None when he leaves before."""
        try:
            self._walk()
            for example in self._by_given():
                exercise = self._example(example)
        except Leave:
            self._screen.line(say("practice.ends_here"))
            return None
        return exercise

    def _by_given(self) -> list[WorkedGate]:
        """What is worked to the end comes before what the trainee goes on with."""
        return sorted(self._kb.examples.values(), key=lambda e: e.given > 0)

    def _walk(self) -> None:
        self._screen.heading(say("practice.first_lesson"))
        self._how()
        pages, at = walk_pages(self._kb), 0
        while at < len(pages):
            try:
                self._link(pages[at])
                at += 1
            except GoBack:
                at = max(0, at - 1)

    def _link(self, page: WalkPage) -> None:
        screen = self._screen
        screen.heading(page.title)
        screen.line(page.tells)
        if page.drawing:
            screen.pair(say("practice.drawing"), " - ".join(page.drawing))
        self._words((page.tells, *(seen.asked for seen in page.sound)))
        self._wait(say("practice.walk_look"))
        self._seen(page.sound)
        draw_strips(screen, page.sound_strips)
        self._wait(say("practice.walk_break", breaks=page.breaks))
        self._seen(page.broken)
        screen.line(page.ask, "bold")
        screen.numbered(page.answers)
        right = number_of(self._line(), len(page.answers)) == page.right
        answer = page.answers[page.right - 1]
        screen.line(say("practice.walk_right") if right else say("practice.walk_wrong", answer=answer), "bold")
        screen.line(page.because)
        draw_strips(screen, page.broken_strips)

    def _seen(self, seen: Sequence[Seen]) -> None:
        for each in seen:
            self._screen.hanging("   ", each.asked)
            self._screen.hanging("   = ", each.said, "bold")

    def _words(self, texts: Sequence[str]) -> None:
        if used := used_in(self._kb, texts):
            self._screen.line(say("practice.words_here", words=", ".join(used), what=word("what")), "dim")

    def _example(self, example: WorkedGate) -> Exercise:
        self._screen.heading(example.says)
        self._screen.line(heading_of(self._kb, example))
        steps, exercise = worked_steps(self._reasoner, example)
        for number, step in enumerate(steps, start=1):
            if step.why:
                self._screen.line(step.why)
            self._screen.hanging(f"{number:3d}  ", step.did, "bold")
            for found in step.found:
                self._screen.hanging("     = ", found)
            self._example_waits()
        return exercise

    def _example_waits(self) -> None:
        """What was done to a gate cannot be taken back."""
        try:
            self._wait(say("practice.enter_goes_on"))
        except GoBack:
            self._screen.line(say("practice.no_way_back"))

    def _how(self) -> None:
        self._screen.line(say("practice.walk_begins", what=word("what"), back=word("back"), leave=word("leave")))

    def _wait(self, says: str) -> None:
        self._screen.line(says, "dim")
        self._line()

    def _line(self) -> str:
        """One line that asks for no word. Raises Leave, GoBack."""
        while True:
            typed = self._asker.line([word("what"), word("back"), word("leave")])
            command, rest = command_in(typed)
            if command == "leave":
                raise Leave
            if command == "back":
                raise GoBack
            if command == "what":
                draw_meanings(self._screen, self._kb, rest)
            elif command == "help":
                self._how()
            else:
                return typed
