"""`diagnose history` and `diagnose frequencies` on a real history file and a real switch."""

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from diagnose.errors import VisitError
from diagnose.model.history import VisitEnd
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.history.history import History
from diagnose.store.learned import Overlay
from diagnose.terminal import history as terminal
from diagnose.terminal.screen import Screen
from tests.build import cause, kinds, knowledge
from tests.store.writers import at, record

PROVED = VisitEnd(causes=("thin_cable",), remedy="thicker cable", proof_passed=True, in_service=True)


@dataclass
class Desk:
    """Someone typing these commands on a screen of 80 columns."""

    kb: KnowledgeBase
    kept: History
    switch: Overlay
    width: int = 80

    def history(self, words: str = "", place: str = "", kind: str = "", limit: int = 50) -> str:
        out = io.StringIO()
        found = terminal.searched(self.kb, self.kept, terminal.Wanted(words, place, kind, limit))
        terminal.draw_found(Screen(out, self.width, plain=True), self.kb, found, {}, limit)
        return out.getvalue()

    def moved(self, how: Callable[[Screen, History, Path], None], path: Path) -> str:
        out = io.StringIO()
        how(Screen(out, self.width, plain=True), self.kept, path)
        return out.getvalue()

    def learn(self, on: bool = False, off: bool = False) -> str:
        out = io.StringIO()
        screen = Screen(out, self.width, plain=True)
        if off:
            terminal.learn_off(screen, self.switch)
        else:
            terminal.learn(screen, self.kb, self.kept, self.switch, on)
        return " ".join(out.getvalue().split())


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    causes = [cause("thin_cable", {}, says="the cable is too thin"), cause("b", {}), cause("c", {})]
    kb = replace(knowledge(causes, complaints=["ghost_opening"]), kinds=kinds(laser="laser", loop="loop"))
    with History(str(tmp_path / "history.db")) as kept:
        yield Desk(kb, kept, Overlay(tmp_path))


def test_a_visit_is_shown_with_what_it_was(desk: Desk) -> None:
    desk.kept.save(record("v1", site="north gate", outcome=PROVED))
    shown = desk.history()
    assert "v1  2026-03-01: north gate; ghost_opening; laser, loop; 3 answers; finished" in shown
    assert '"opens by itself, says v1"' in shown
    assert "the cable is too thin (proof passed, in service)" in shown
    assert "thicker cable" in shown


def test_what_was_not_proved_or_left_out_is_said(desk: Desk) -> None:
    desk.kept.save(record("v1", outcome=VisitEnd(causes=("no_longer_known",))))
    desk.kept.save(record("v2", outcome=VisitEnd(causes=())))
    shown = desk.history()
    assert "no longer known (not proved, not in service)" in shown
    assert "no cause was found (not proved, not in service)" in shown


def test_words_site_and_sensor_kind_narrow_the_list(desk: Desk) -> None:
    desk.kept.save(record("v1", site="north gate", words="in the rain", devices=("laser",)))
    desk.kept.save(record("v2", site="south gate", words="in the rain", devices=("loop",)))
    assert "v1" in desk.history(words="the rain", kind="laser")
    assert "v1" not in desk.history(place="south")
    assert desk.history(words="snow") == "No such visit in the history.\n"
    with pytest.raises(VisitError, match="unknown sensor kind 'lazer'; known: laser, loop"):
        desk.history(kind="lazer")


def test_a_longer_list_than_shown_is_said_to_be(desk: Desk) -> None:
    for n in range(3):
        desk.kept.save(record(f"v{n}", n))
    assert "The newest 2 are shown" in desk.history(limit=2)


def test_nothing_hostile_reaches_the_screen_and_no_line_is_too_wide(desk: Desk) -> None:
    bad = "\x1b[2J\r\n\u202egnip \x9b31m" + " word" * 40
    desk.kept.save(record(bad, site=bad, words=bad, complaint=bad, outcome=replace(PROVED, causes=(bad,), note=bad)))
    desk.width = 40
    shown = desk.history()
    assert all(c.isprintable() or c == "\n" for c in shown)
    assert max(map(len, shown.splitlines())) <= 40


def exported(desk: Desk) -> Callable[[Screen, History, Path], None]:
    return lambda screen, history, path: terminal.export(screen, desk.kb, history, path)


def test_the_history_moves_by_file(desk: Desk, tmp_path: Path) -> None:
    desk.kept.save(record("v1"))
    assert desk.moved(exported(desk), tmp_path / "all.jsonl").startswith("One visit written to")
    desk.kept.save(record("v1", changed=at(9000)))
    assert desk.moved(terminal.import_, tmp_path / "all.jsonl").startswith("0 visits taken from")
    assert desk.moved(terminal.backup, tmp_path / "copy.db").startswith("One visit copied to")
    with History(str(tmp_path / "copy.db")) as copy:
        assert copy.search() == desk.kept.search()


def fill(desk: Desk, number: int) -> None:
    for n in range(number):
        desk.kept.save(record(f"v{n}", n, outcome=PROVED))


def test_before_and_after_are_shown_and_nothing_is_switched_on(desk: Desk) -> None:
    fill(desk, 50)
    shown = desk.learn()
    assert "Learned from 50 visits with a confirmed cause" in shown
    assert "The expert's word counts as 50 visits." in shown
    assert "33.3% -> 66.7% the cable is too thin (found 50 times, 16.7 expected)" in shown
    assert "33.3% -> 16.7% b (found 0 times, 16.7 expected)" in shown
    assert "Not in use. 'diagnose frequencies --on'" in shown
    assert "may be chance" not in shown
    assert desk.switch.read() is None


def test_on_and_off(desk: Desk) -> None:
    fill(desk, 50)
    assert "Switched on." in desk.learn(on=True)
    weights = desk.switch.weights(desk.kb)
    assert weights
    assert weights["thin_cable"] == pytest.approx(2.0, abs=1e-12)
    assert "In use. 'diagnose frequencies --off'" in desk.learn()
    assert "Off: the expert's frequencies count again." in desk.learn(off=True)
    assert desk.switch.weights(desk.kb) is None
    assert "Nothing was switched on." in desk.learn(off=True)


def test_a_history_or_knowledge_that_has_changed_since_is_said(desk: Desk) -> None:
    fill(desk, 40)
    desk.learn(on=True)
    desk.kept.save(record("one more", outcome=PROVED))
    assert "In use are those of 40 visits; the history has changed since." in desk.learn()
    desk.learn(on=True)
    desk.kb = replace(desk.kb, digest="another")
    assert "the knowledge has changed since." in desk.learn()


def test_a_damaged_switch_is_told_and_does_not_hide_the_table(desk: Desk) -> None:
    fill(desk, 40)
    desk.switch.path.write_text("{")
    shown = desk.learn()
    assert "Learned from 40 visits with a confirmed cause" in shown
    assert "are damaged" in shown


def test_nothing_to_learn_from_cannot_be_switched_on(desk: Desk) -> None:
    with pytest.raises(VisitError, match="no confirmed visit to learn from yet"):
        desk.learn(on=True)
    assert desk.switch.read() is None


def test_few_visits_and_those_left_out_are_said(desk: Desk) -> None:
    fill(desk, 2)
    desk.kept.save(record("odd", outcome=replace(PROVED, causes=("no_longer_known",))))
    shown = desk.learn()
    assert "These are fewer visits than there are causes; what changes here may be chance." in shown
    assert "Left out: one visit whose cause" in shown
    assert "sensors of the site: odd" in shown
