"""No answer fits: the person's own words stand as the answer, are shown everywhere, and move nothing."""

from dataclasses import replace

import pytest

from diagnose.cases.from_visit import case_text
from diagnose.errors import AnswerError, SessionError
from diagnose.model.visit import SOMETHING_ELSE, Answer, Earlier, Setup
from diagnose.present.answers import answers_of
from diagnose.present.sheet import sheet_of
from diagnose.session.events import Close, Conclude, Pictured, Proved, Repaired, Reply, TakeOver, from_plain, to_plain
from diagnose.session.parse import Parsed, in_words, parse_answer
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from tests.report.visits import opening, records_of
from tests.shipped import begun, knowledge, reasoner

CHECK, WORDS = "when_it_happens", "only when the neighbour's dog barks"
SAID = f'something else: "{WORDS}"'


def elsewhere(session: Session, check: str = CHECK, words: str = WORDS) -> Session:
    return step(knowledge(), session, Reply(check, SOMETHING_ELSE, note=words))


@pytest.mark.parametrize("typed", [f"else {WORDS}", f"Else   {WORDS}", f"something else: {WORDS}", f"other: {WORDS}"])
def test_it_is_typed_with_else_in_front(typed: str) -> None:
    parsed = parse_answer(knowledge().checks[CHECK], typed)
    assert parsed == Parsed(SOMETHING_ELSE, words=WORDS)
    assert parsed.reply(CHECK) == Reply(CHECK, SOMETHING_ELSE, note=WORDS)


@pytest.mark.parametrize("typed", ["else", "something_else", "else  "])
def test_it_needs_words(typed: str) -> None:
    with pytest.raises(AnswerError, match="your own words"):
        parse_answer(knowledge().checks[CHECK], typed)
    with pytest.raises(SessionError, match="your own words"):
        step(knowledge(), begun(), Reply(CHECK, SOMETHING_ELSE, note="  "))


def test_an_option_that_says_something_else_stays_an_option() -> None:
    texts = {t: c for c in knowledge().checks.values() for t in c.options.values() if "something else" in t}
    assert texts, "nothing to try it on"
    assert all(parse_answer(check, text).value in check.options for text, check in texts.items())


def test_it_moves_no_belief_and_is_not_asked_again() -> None:
    session = elsewhere(begun())
    unknown = step(knowledge(), begun(), Reply(CHECK, "dont_know"))
    now, then = conclude(reasoner(), session), conclude(reasoner(), unknown)
    assert now.belief.ranked() == then.belief.ranked()
    assert now.next == then.next and now.next.check != CHECK


def test_it_confirms_no_gate_safe_and_does_no_barred_work() -> None:
    kb = knowledge()
    session = elsewhere(begun(), kb.settings.made_safe_check, "it is safe now, I think")
    unknown = step(kb, begun(), Reply(kb.settings.made_safe_check, "dont_know"))
    now, then = conclude(reasoner(), session), conclude(reasoner(), unknown)
    assert (now.stop_work, now.stands, now.next) == (then.stop_work, then.stands, then.next)
    barred = next(c.id for c in kb.checks.values() if c.who == "electrician")
    with pytest.raises(SessionError):
        step(kb, begun(), Reply(barred, next(iter(kb.checks[barred].options), 1.0)))
    told = elsewhere(begun(), barred, "230 V on the meter")
    assert not any(a.says_something or a.made_here for a in told.answers)


def test_the_answers_the_sheet_and_the_record_show_the_words() -> None:
    kb, session = knowledge(), elsewhere(begun())
    conclusion = conclude(reasoner(), session)
    assert [g.said for g in answers_of(kb, session, conclusion).given] == [SAID]
    assert any(line.endswith(SAID) for line in sheet_of(reasoner(), session, conclusion).answers)
    full = records_of([*opening(), Reply(CHECK, SOMETHING_ELSE, note=WORDS)])[1]
    assert [(c.said, c.note) for stage in full.stages for c in stage.checks] == [(SAID, "")]
    assert as_plain(reasoner(), session, conclusion)["answers"][0]["words"] == WORDS


def test_a_correction_says_what_the_words_were_and_other_words_are_a_correction_too() -> None:
    session = elsewhere(begun(setup=Setup("help_desk")))
    session = step(knowledge(), session, TakeOver(Setup(), "Ana"))
    other = elsewhere(session, words="at every sunrise")
    answer = other.answer(CHECK)
    assert answer and answer.replaced == Earlier(SOMETHING_ELSE, "caller", WORDS)
    shown = answers_of(knowledge(), other, conclude(reasoner(), other)).given[0]
    assert shown.said == 'something else: "at every sunrise"' and SAID in shown.origin


def test_a_picture_of_it_is_told_with_the_words() -> None:
    from diagnose.present.photos import photos_of

    name = f"{0:016x}.jpg"
    session = step(knowledge(), elsewhere(begun()), Pictured(name, "answer", CHECK))
    (photo,) = photos_of(knowledge(), session)
    assert photo.belongs.endswith(SAID)


def test_the_event_in_a_file_keeps_the_words() -> None:
    event = Reply(CHECK, SOMETHING_ELSE, note=WORDS)
    assert from_plain(to_plain(event)) == event


def test_a_case_made_of_the_visit_keeps_the_words_where_no_answer_fits() -> None:
    session = elsewhere(begun())
    cause = next(c for c, e in knowledge().causes.items() if e.remedy.who != "electrician")
    for event in (Conclude(), Repaired(cause), Proved(True, "good"), Close("left_out", "no part")):
        session = step(knowledge(), session, event)
    text = case_text(knowledge(), session, "n01")
    assert f"no_fit:\n        {CHECK}: {WORDS}" in text and "nobody: []" in text


@pytest.mark.parametrize(("typed", "said"), [("it hums", True), ("9", False), ("hlep", False), ("12,5 V", False)])
def test_one_odd_word_is_no_sentence(typed: str, said: bool) -> None:
    assert in_words(typed) is said


def test_an_answer_heard_keeps_its_quote_to_itself() -> None:
    assert Answer("a", "yes", note="they said so", heard=True).told == ("yes", "")
    assert replace(Answer("a", SOMETHING_ELSE, note="so")).told == (SOMETHING_ELSE, "so")
