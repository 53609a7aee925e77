"""An exercise in a language nobody speaks: no English is left on the screen."""

import io
from dataclasses import replace
from datetime import date

from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.debrief import debrief
from diagnose.practice.gate import Gate, made_gate
from diagnose.practice.lessons import families_of, practice_reasoner, practice_setup
from diagnose.practice.mastery import Mastery
from diagnose.practice.progress import Progress
from diagnose.present.debrief import review_of
from diagnose.session.profile_facts import LAMP as LAMPS
from diagnose.terminal.practice import Practice
from diagnose.terminal.practice_draw import draw_debrief
from diagnose.terminal.practice_overview import draw_overview
from diagnose.terminal.practice_words import COMMANDS, word
from diagnose.terminal.screen import Screen
from diagnose.words import say
from tests.terminal.typed import Typed
from tests.words.pseudo import plain_words

LAMP = "env_window_look"


def gate_of(reasoner: Reasoner) -> Gate:
    """Without what a site writes of its lamps in its own words."""
    setup = practice_setup(("laser",))
    setup = replace(setup, profile={n: v for n, v in setup.profile.items() if not n.startswith(LAMPS)})
    return made_gate(reasoner, setup, ("window_wet_drops",), "ghost_opening", 3)


def lines() -> list[str]:
    """Everything that can be typed; a look, a wrong remedy, the right one."""
    said = {c: word(c) for c in COMMANDS}
    prepare, passed = say("practice.words_prepare").split(",")[0], say("terminal.words_pass").split(",")[0]
    look = [LAMP, "3", said["help"], "window_wet_drops 50", prepare]
    wrong = [f"{said['repair']} animals_birds", "animals_birds 60", prepare, said["prove"]]
    right = [f"{said['repair']} window_wet_drops", "", prepare, said["prove"], said["close"], *[passed] * 9]
    asks = [f"{said['suspect']} {say('practice.part_supply')}", said["cautions"], said["back"]]
    asks += [said[c] for c in ("help", "list", "causes", "parts", "answers", "hint", "repair")]
    return [*asks, "", f"{said['list']} {say('practice.part_supply')}", "nonsense", "99", said["prove"], *look, *look,
            said["hint"], said["hint"], said["hint"], *wrong, said["answers"], *right]  # fmt: skip


def test_an_exercise_and_its_debrief(pseudo_kb: KnowledgeBase) -> None:
    reasoner, out = practice_reasoner(pseudo_kb), io.StringIO()
    screen, gate = Screen(out, 80, plain=True), gate_of(practice_reasoner(pseudo_kb))
    practice = Practice(reasoner, gate, screen, Typed(*lines()))
    end = practice.run()
    assert end.ended == "solved"
    draw_debrief(screen, review_of(reasoner, gate.truth, end, debrief(reasoner, gate, practice.moves)))
    calculated = say("present.computed")  # what a calculator says still is English
    assert [w for line in out.getvalue().splitlines() if calculated not in line for w in plain_words(line)] == []


def test_the_trainer_s_overview(pseudo_kb: KnowledgeBase) -> None:
    out, today = io.StringIO(), date(2026, 1, 1).toordinal()
    known = {"supply": Mastery(2.0, 6.0, today, 0), "other_opening": Mastery(9.0, 1.0, today, 3)}
    draw_overview(Screen(out, 80, plain=True), [Progress("A", known, {"first_steps": Mastery(3.0, 1.0)})],
                  families_of(pseudo_kb), today)  # fmt: skip
    assert plain_words(out.getvalue()) == []
