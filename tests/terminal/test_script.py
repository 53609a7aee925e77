"""Visits played from a script, and the waiting of the first-time tour."""

import io

import pytest

from diagnose.terminal.reader import ScriptReader, wait_for_enter
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from tests.shipped import begun, knowledge, reasoner
from tests.terminal.typed import Typed


def test_a_script_plays_commands_before_answers_and_does_not_know_the_rest() -> None:
    shown: list[str] = []
    reader = ScriptReader({"lamp": ["why", "2"]}, ["likely"], shown.append)
    assert [reader.read("> ", topic="lamp") for _ in range(3)] == ["why", "2", "?"]
    assert [reader.read("> ", topic="other"), reader.read("> "), reader.read("> ")] == ["?", "likely", ""]
    assert shown == ["> why", "> 2", "> ?", "> ?", "> likely", "> "]
    with pytest.raises(EOFError):
        reader.read("> ", topic="lamp")
    assert shown[-1] == "(The script has too few answers to 'lamp'.)"


def test_a_script_without_enough_answers_ends_the_visit_instead_of_going_round() -> None:
    kb, out = knowledge(), io.StringIO()
    screen = Screen(out, 80, plain=True)
    reader = ScriptReader({"anyone_touched": ["touched"]}, [], screen.line)
    ended = Visit(reasoner(), begun(), screen, reader, lambda _: None).run()
    assert [(a.check, a.value) for a in ended.answers] == [
        ("anyone_touched", "touched"), (kb.settings.made_safe_check, "dont_know")
    ]  # fmt: skip
    assert f"too few answers to '{kb.settings.made_safe_check}'" in " ".join(out.getvalue().split())


def test_a_script_waits_after_every_line() -> None:
    waits = list[int]()
    reader = ScriptReader({"lamp": ["2"]}, [], lambda _: None, lambda: waits.append(1))
    assert (reader.read("> ", topic="lamp"), reader.read("> "), len(waits)) == ("2", "", 2)


def test_waiting_for_enter_ends_on_ctrl_c_and_at_the_end_of_input() -> None:
    typed = Typed("", KeyboardInterrupt)
    wait_for_enter(typed)
    for _ in range(2):
        with pytest.raises(EOFError):
            wait_for_enter(typed)
