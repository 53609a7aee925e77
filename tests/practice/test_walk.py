"""The first lesson: it shows the chain, what is worked rests on evidence, each word is explained once."""

import io
from dataclasses import replace

import pytest

from diagnose.kb import lint_lesson
from diagnose.model.knowledge import KnowledgeBase
from diagnose.practice.debrief import debrief
from diagnose.practice.moves import Move
from diagnose.practice.walk import gate_for, moves_of, standing_at
from diagnose.present.first_lesson import walk_pages, worked_steps
from diagnose.present.terms import glossed, meanings, meant, used_in
from diagnose.terminal.ask import Asker
from diagnose.terminal.first_lesson import FirstLesson
from diagnose.terminal.practice import Practice
from diagnose.terminal.screen import Screen
from tests.practice.gates import shipped
from tests.shipped import knowledge
from tests.terminal.typed import Typed

ENTERS = ("",) * 200


def lesson(*lines: str) -> tuple[str, object]:
    out = io.StringIO()
    screen = Screen(out, 80, plain=True)
    end = FirstLesson(shipped(), screen, Asker(screen, Typed(*lines))).run()
    return " ".join(out.getvalue().split()), end


def test_every_link_is_seen_sound_and_broken_and_what_lies_before_it_is_good() -> None:
    kb = knowledge()
    for page, step in zip(walk_pages(kb), kb.walk.values(), strict=True):
        assert page.sound and len(page.sound) == len(page.broken)
        assert [s.asked for s in page.sound] == [s.asked for s in page.broken]
        assert [s.said for s in page.sound] != [s.said for s in page.broken]
        broken = standing_at(kb, step, broken=True)
        assert [link for link, state in broken.items() if state == "broken"] == [step.link]
        before = [s.link for s in kb.walk.values()][: list(kb.walk).index(step.id)]
        assert {link for link, state in broken.items() if state == "good"} == set(before)
        assert 1 <= page.right <= len(page.answers)
    shown = {link.id for link in kb.links.values() if link.short}
    assert shown - {s.link for s in kb.walk.values()} == {"people"}


def test_the_worked_gate_is_mended_by_evidence_without_a_slip() -> None:
    example = knowledge().examples["worked"]
    gate, moves = gate_for(shipped(), example), tuple(m for m, _ in moves_of(example))
    seen = debrief(shipped(), gate, moves)
    assert seen.lucky == () and not {"premature", "settled", "cannot_separate"} & set(seen.slips)
    steps, end = worked_steps(shipped(), example)
    assert not end.gate.truth and steps[-1].found == ("PASSED; all is well now",)
    assert all(step.why for step in steps[:-1])


def test_the_half_worked_gate_is_gone_on_with() -> None:
    example = knowledge().examples["half_worked"]
    steps, begun = worked_steps(shipped(), example)
    assert len(steps) == example.given and begun.gate.truth == (example.cause,)
    out = io.StringIO()
    play = Practice(shipped(), begun.gate, Screen(out, 80, plain=True), Typed("answers", "leave"), begun=begun)
    assert play.run().done == begun.done
    given: tuple[Move, ...] = play.moves
    assert given == tuple(m for m, _ in moves_of(example))
    assert begun.gate.results["env_window_look"] == "drops"


def test_the_lesson_is_walked_at_the_reader_s_pace() -> None:
    text, end = lesson("", "", "2", "what test pulse", "", "", "back", *ENTERS)
    assert "Right." in text and "that is the test pulse" in text
    assert text.count("2 of 11:") == 2 or text.count("1 of 11:") == 2  # one link back
    assert end is not None and "A half-worked example" in text
    left, none = lesson("", "leave")
    _, gone_on = lesson(*[""] * 33, "back", *ENTERS)  # in the worked example, after eleven links of three lines
    assert gone_on is not None
    assert none is None and "2 of 11" not in left


def test_a_wrong_answer_is_told_the_right_one_and_why() -> None:
    page = walk_pages(knowledge())[0]
    text, _ = lesson("", "", "1", "leave")
    assert f"It is: {page.answers[page.right - 1]}." in text and page.because[:40] in text and "Right." not in text


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("test pulse", "monitored_test"),
        ("TEST  Pulse", "monitored_test"),
        ("what a ferrule is", "ferrule"),
        ("ferr", "ferrule"),
    ],
)
def test_a_word_is_found_as_people_type_it(typed: str, found: str) -> None:
    assert [m.id for m in meant(knowledge(), typed)] == [found]


def test_a_text_is_cut_at_its_words_and_loses_nothing() -> None:
    kb = knowledge()
    for check in kb.checks.values():
        pieces = glossed(kb, check.help)
        assert "".join(p.says for p in pieces) == check.help
    assert [p.term for p in glossed(kb, "the test pulse, and the lamp") if p.term] == [
        "monitored_test",
        "detection_lamp",
    ]
    assert used_in(kb, ["no such", "two cores, a core"]) == ("core",)
    assert meant(kb, "zzz") == () and len(meanings(kb)) == len(kb.terms)


def test_no_meaning_leaves_its_own_word_unexplained_by_naming_nothing() -> None:
    for meaning in meanings(knowledge()):
        assert len(meaning.means.split()) >= 6, meaning.id


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"link": "nowhere"}, "nowhere"),
        ({"picture": "nothing"}, "nothing"),
        ({"right": 9}, "counts from 1"),
        ({"sound": {"power_lamp": "purple"}}, "no answer of"),
        ({"broken": {"no_check": 1.0}}, "no_check"),
        ({"sound": {"sup_volts_sensor": "much"}}, "no answer of"),
    ],
)
def test_the_check_finds_what_is_wrong_in_the_walk(change: dict[str, object], says: str) -> None:
    step = replace(knowledge().walk["supply"], **change)  # type: ignore[arg-type]
    assert any(says in found for found in problems(replace(knowledge(), walk={"supply": step})))


def test_the_check_finds_a_word_explained_twice_and_an_example_of_nothing() -> None:
    kb = knowledge()
    again = replace(kb.terms["fuse"], id="again")
    assert any("explained by" in p for p in problems(replace(kb, terms={**kb.terms, "again": again})))
    lost = replace(kb.examples["worked"], cause="no_cause", steps={"no_check": "why"})
    found = problems(replace(kb, examples={"worked": lost}))
    assert any("no_cause" in p for p in found) and any("no_check" in p for p in found)
    assert problems(kb) == []


def problems(kb: KnowledgeBase) -> list[str]:
    return [says for lint in lint_lesson.LINTS for _, says in lint(kb)]
