"""A whole visit at the prompt: every command, nonsense, interruptions, stop-work, cautions."""

import re
from dataclasses import replace

import pytest

from diagnose.model.told import cautions_for
from diagnose.model.visit import Answer, Setup
from diagnose.present.cautions import general
from diagnose.session.events import AskOn, Back, Complain, Conclude, Reply
from diagnose.session.session import conclude, step
from diagnose.terminal.commands import COMMANDS, words
from diagnose.words import say
from tests.shipped import begun, dependent_check, knowledge, reasoner
from tests.terminal.typed import opened, play

FIRST = Reply("anyone_touched", "nobody")
NUMBER = {check: n for n, check in enumerate(knowledge().settings.opening, start=1)}
SAFE, WHEN = NUMBER["gate_made_safe"], NUMBER["when_it_happens"]


def test_the_opening_is_asked_in_its_order_said_back_and_saved() -> None:
    opening = knowledge().settings.opening
    played = play(*["1"] * len(opening))
    assert [e.check for e in played.saved if isinstance(e, Reply)] == list(opening)
    assert played.saved[0] == FIRST
    assert "= nobody and nothing" in played.flat()
    assert played.flat().endswith("Saved. 'diagnose resume' goes on here.")


def test_an_answer_may_be_a_word_of_it() -> None:
    played = play(f"change {WHEN}", "wash-down", session=opened())
    assert played.saved == [Reply("when_it_happens", "wet")]
    assert "= in rain, after rain, wet ground or wash-down" in played.flat()


def test_help_shows_how_good_and_bad_and_again_every_word() -> None:
    text = play("help", "help").flat()
    check = knowledge().checks["anyone_touched"]
    assert all(" ".join(part.split()) in text for part in (check.help, f"Good: {check.good}", f"Bad: {check.bad}"))
    assert all(f" {word} " in text for word in (*words(COMMANDS), "?", "cannot", "skip"))


def test_help_tells_what_this_device_s_lamps_look_like() -> None:
    session = opened(Setup(profile={"lamp.power": "a steady glow at the top"}))
    session = step(knowledge(), session, Reply("power_lamp", "dont_know"))
    text = play(f"change {len(session.answers)}", "help", "", session=session).flat()
    assert "This device's power lamp: a steady glow at the top" in text


@pytest.mark.parametrize("word", ["why", "w", "WHY"])
def test_why_says_what_the_check_saves_and_what_each_answer_leaves(word: str) -> None:
    assert "Asked on every visit." in play(word).flat()
    text = play(word, session=opened()).flat()
    assert "should save" in text
    assert " %): then " in text


@pytest.mark.parametrize("word", ["likely", "l", "workings"])
def test_likely_ranks_causes_and_weighs_the_evidence_to_its_sum(word: str) -> None:
    played = play(word, session=opened())
    conclusion = conclude(reasoner(), played.session)
    leader, rival = (p for _, p in conclusion.belief.ranked()[:2])
    assert knowledge().causes[conclusion.belief.ranked()[0][0]].says in played.flat()
    weights = [float(n) for n in re.findall(r"^ *([+-][0-9.]+)  ", played.text, re.MULTILINE)]
    assert len(weights) == 2 + len(conclusion.observations)
    assert ("Calculations and rules" in played.text) is (word == "workings")
    assert weights[-1] == pytest.approx(sum(weights[:-1]), abs=0.06 * len(weights))
    assert (weights[-1] >= 0) == (leader >= rival)


@pytest.mark.parametrize(("typed", "value"), [("?", "dont_know"), ("cannot", "cant_check"), ("skip", "skip")])
def test_no_answer_moves_on_and_is_not_asked_again(typed: str, value: str) -> None:
    played = play(typed, "leave")
    assert played.saved[0] == Reply("anyone_touched", value)
    assert played.text.count("1. Has any of this") == 1


def test_a_trailing_question_mark_is_kept_as_not_sure() -> None:
    played = play("1?")
    assert played.saved == [Reply("anyone_touched", "nobody", sure=False)]
    assert "= nobody and nothing (not sure)" in played.flat()


def test_back_takes_the_last_answer_back_and_asks_it_again() -> None:
    played = play("1", "back", "2")
    assert played.saved == [FIRST, Back(), Reply("anyone_touched", "nearly")]
    assert "Not possible: there is no answer to take back" in play("back").flat()


def test_change_asks_the_old_question_under_its_old_number() -> None:
    played = play(f"change {SAFE}", "made_safe", session=opened())
    assert played.saved == [Reply("gate_made_safe", "made_safe")]
    assert f"\n{SAFE}. Is the gate safe" in played.text
    assert "Now: safe to leave as it is. Enter keeps it." in played.flat()


def test_a_changed_answer_keeps_its_number_in_every_list() -> None:
    played = play("change 1", "nearly", "answers", "change 1", "touched", "back", "change 1", session=opened())
    assert [e for e in played.saved if isinstance(e, Reply)] == [
        Reply("anyone_touched", "nearly"),
        Reply("anyone_touched", "touched"),
    ]
    assert re.search(r"1\. Has any .* 2\. ", played.flat().partition("Complaint: ")[2])
    assert "There is no answer '1'" in played.flat()


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ((f"change {SAFE}", ""), "Enter keeps it."),
        ((f"change {SAFE}", "why", ""), "You chose to change this answer"),
        (("change", ""), "Nothing changed."),
        (("change 9",), "There is no answer '9'; 'answers' shows them."),
        (("change two",), "There is no answer 'two'"),
        (("change -1",), "There is no answer '-1'"),
        (("change " + "9" * 500,), "There is no answer"),
        (("change 0", "back"), "What is wrong?"),
    ],
)
def test_a_change_can_be_left_alone(lines: tuple[str, ...], says: str) -> None:
    played = play(*lines, session=opened())
    assert played.saved == []
    assert says in played.flat()


def test_change_without_a_number_shows_the_answers_first() -> None:
    played = play("change", "1", "nearly", session=opened())
    assert played.saved == [Reply("anyone_touched", "nearly")]
    assert "1. Has any of this happened" in played.flat()
    assert "a smell of burning? - nobody" in played.flat()


def test_change_nought_changes_the_complaint_by_number_or_words() -> None:
    assert play("change 0", "stuck_open", session=opened()).saved == [Complain("stuck_open")]
    assert play("change 0", "it will not shut", "1", session=opened()).saved == [Complain("stuck_open")]


def test_answers_lists_everything_with_its_number() -> None:
    text = play("1", "safe?", "answers").flat()
    assert "0. Complaint: Opens with nothing there" in text
    assert "safe to leave as it is (not sure)" in text


def test_done_concludes_and_enter_finishes() -> None:
    played = play("conclude", "", "never read", session=opened())
    assert played.saved == [Conclude()]
    assert "Conclusion ---------- You asked to conclude." in played.flat()
    assert "Saved." not in played.text
    assert played.left == 1


def test_more_goes_on_after_a_conclusion() -> None:
    played = play("conclude", "more", "?", "leave", session=opened())
    assert played.saved[:2] == [Conclude(), AskOn()]
    assert isinstance(played.saved[2], Reply)


@pytest.mark.parametrize(
    ("line", "says"),
    [("likely", "Likely so far"), ("answers", "Answers so far"), ("why", "Why"), ("help", "You can type"),
     ("zebra", "That is none of these words."), ("skip", "That is none of these words."), ("leave", "Saved.")],
)  # fmt: skip
def test_words_at_the_end(line: str, says: str) -> None:
    assert says in play("conclude", line, session=opened()).flat()


def test_back_and_change_at_the_end_open_the_visit_again() -> None:
    back = play("conclude", "back", "?", session=opened())
    assert back.saved[:2] == [Conclude(), Back()]
    assert isinstance(back.saved[2], Reply)
    changed = play("conclude", f"change {WHEN}", "wind", session=opened())
    assert changed.saved[:2] == [Conclude(), Reply("when_it_happens", "wind")]


@pytest.mark.parametrize("typed", ["zebra", "0", "99", "-1", "back to normal", "\x1b[31m", "1 2 3", "9" * 5000])
def test_nonsense_is_asked_again_and_saves_nothing(typed: str) -> None:
    played = play(typed, "1")
    assert "Not understood: " in played.text
    assert played.saved == [FIRST]


def test_enter_shows_the_question_again() -> None:
    played = play("", "", "1")
    assert played.saved == [FIRST]
    assert played.text.count("1. Has any of this") == played.text.count("nobody and nothing") - 1 == 3
    assert "Not understood" not in played.text


def test_every_abbreviation_of_leave_saves_and_leaves() -> None:
    for word in ("leave", "quit", "exit", "q", "Q"):
        assert "Saved. 'diagnose resume' goes on here." in play("1", word, "never read").flat()


def test_control_c_drops_the_line_once_and_leaves_the_second_time() -> None:
    once = play(KeyboardInterrupt, "1")
    assert once.saved == [FIRST]
    assert "(line dropped; Ctrl-C again to leave)" in once.text
    twice = play("1", KeyboardInterrupt, KeyboardInterrupt, "never read")
    assert (twice.saved, twice.left) == ([FIRST], 1)
    assert "Saved." in twice.text
    spread = play(KeyboardInterrupt, "1", KeyboardInterrupt, "safe")
    assert spread.saved == [FIRST, Reply("gate_made_safe", "safe")]


def test_the_end_of_input_leaves_with_everything_saved() -> None:
    assert play().saved == []
    assert play("1").saved == [FIRST]


def test_an_answer_that_could_not_be_saved_does_not_count_and_is_asked_again() -> None:
    played = play("nobody", "safe", "made_safe", full_disk_at=1)
    assert played.saved == [FIRST, Reply("gate_made_safe", "made_safe")]
    assert "NOT SAVED: this could not be saved: no space; free some space." in played.flat()


def doubtful() -> tuple[str, str]:
    """A reading that is possible but strange, with its unit."""
    check = knowledge().checks["sup_volts_sensor"]
    assert check.plausible and check.hard and check.hard[1] > check.plausible[1]
    return check.id, f"{check.plausible[1] + 1} {check.unit}"


@pytest.mark.parametrize(("reply", "kept"), [("yes", True), ("y", True), ("no", False), ("", False)])
def test_a_strange_reading_is_kept_only_when_confirmed(reply: str, kept: bool) -> None:
    name, typed = doubtful()
    session = replace(begun(), answers=(Answer(name, 24.0),))
    played = play("change 1", typed, reply, "", session=session)
    assert "is unusual here (usual: " in played.flat()
    assert (played.saved != []) is kept


def test_stop_work_is_shown_first_and_made_safe_is_asked_until_it_is_safe() -> None:
    played = play("touched", "not_safe", "?", "cannot", "made_safe", "leave")
    assert [getattr(e, "check", "") for e in played.saved] == ["anyone_touched", *["gate_made_safe"] * 4]
    before, _, after = played.text.partition("STOP WORK")
    assert "2. Is the gate safe" not in before
    assert after.count("2. Is the gate safe") == 4
    assert "\n3. " in after
    assert played.text.count("STOP WORK") == 1
    assert "Tell: " in after and "Tag: DO NOT OPERATE" in played.flat()


def test_a_complaint_of_contact_stops_work_before_any_question() -> None:
    text = play(session=begun("hits_vehicle")).text
    assert text.index("STOP WORK") < text.index("1. Is the gate safe")


def test_a_conclusion_before_the_gate_is_safe_says_so() -> None:
    unsafe = play("touched", "conclude", "").flat()
    assert "NOT CONFIRMED SAFE YET." in unsafe.partition("!! Tag")[2].partition("Conclusion")[0]
    assert unsafe.count("NOT CONFIRMED SAFE YET.") == unsafe.count("STOP WORK") == 2  # when ordered, and at the end
    assert (unsafe.count("!! Tag"), unsafe.count("Stop-work still stands")) == (1, 1)  # the whole order only once
    safe = play("touched", "made_safe", "conclude", "").flat()
    assert (safe.count("NOT CONFIRMED SAFE YET."), safe.count("STOP WORK")) == (1, 1)
    assert safe.count("!! Stop-work still stands: the gate touched or nearly touched somebody or something.") == 1


def with_caution() -> str:
    """A check that brings a caution and hangs on nothing."""
    kb = knowledge()
    return next(c.id for c in kb.checks.values() if cautions_for(kb, c) and not c.only_if and c.kind == "choice")


def test_cautions_come_before_their_check_and_general_ones_once_a_visit() -> None:
    name, kb = with_caution(), knowledge()
    played = play(*(["?"] * 12), "cautions", "leave", session=opened())
    asked, _, listed = played.text.partition("Cautions of this visit\n")
    whole = general(kb)
    told = {c for c in kb.cautions if kb.cautions[c].says in flat_cautions(asked)}
    assert told & whole and told - whole
    assert all(flat_cautions(asked).count(kb.cautions[c].says) == 1 for c in told & whole)
    assert all(kb.cautions[c].says in flat_cautions(listed) for c in told)
    again = replace(begun(), answers=(Answer(name, "dont_know"),))
    shown = flat_cautions(play("change 1", "", session=again).text)
    for caution in cautions_for(kb, kb.checks[name]):
        assert (kb.cautions[caution].says in shown) is (
            caution not in whole
        )  # general ones came before the first answer


def flat_cautions(text: str) -> str:
    return " ".join(text.split()).replace("CAUTION ", "")


def test_what_a_conclusion_offers_is_taken_at_a_question_where_it_is_no_answer() -> None:
    assert "Which remedy was carried out?" in play("repaired").flat()
    assert "Questions go on here" in play("more").flat()


def test_a_question_for_yes_or_no_is_asked_again_at_anything_else() -> None:
    name, typed = doubtful()
    session = replace(begun(), answers=(Answer(name, 24.0),))
    played = play("change 1", typed, "help", "yes", session=session)
    assert "Please type yes or no" in played.flat() and len(played.saved) == 1


def test_a_contradiction_names_the_answers_to_look_at_again() -> None:
    session = opened()
    number = len(session.answers) + 1
    for reply in (Reply("power_lamp", "off"), Reply("lamp_clear", "clear")):
        session = step(knowledge(), session, reply)
    text = play(session=session).flat()
    assert "LOOK AGAIN The power lamp is off but the detection lamp shows something." in text
    assert f"(change {number})" in text and f"(change {number + 1})" in text


def test_the_help_desk_is_told_that_remedies_are_not_for_the_caller() -> None:
    played = play("back", "?", "conclude", "", session=opened(Setup(role="help_desk")))
    assert say("present.not_for_caller") in played.flat()
    assert knowledge().checks[knowledge().settings.opening[-1]].ask_caller in played.flat()


def test_a_whole_visit_of_don_t_know_ends_by_itself_with_a_conclusion() -> None:
    played = play(*(["?"] * 400), "")
    assert "Conclusion" in played.text
    assert played.saved[-1] == Conclude()
    checks = [e.check for e in played.saved if isinstance(e, Reply)]
    assert len(checks) == len(set(checks))


def test_an_answer_that_no_longer_counts_is_told_when_it_happens() -> None:
    kb, session = knowledge(), opened()
    name, fact, opens, shuts = dependent_check()
    session = step(kb, step(kb, session, Reply(fact, opens)), Reply(name, next(iter(kb.checks[name].options))))
    place = [a.check for a in session.answers].index(fact) + 1
    text = play(f"change {place}", shuts, "answers", session=session).flat()
    assert (
        f"No longer counted, because its condition no longer holds: {' '.join(kb.checks[name].ask.split())}" in text
    )
    assert "(no longer counted)" in text
