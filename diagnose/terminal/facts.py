"""What a measurement needs, and mostly its reading, typed in one line."""

from collections.abc import Sequence

from diagnose.core.reason import Conclusion
from diagnose.errors import AnswerError
from diagnose.model.knowledge import Check
from diagnose.present.looks import FactsRound, facts_of, in_one_go
from diagnose.present.question import Question
from diagnose.session.parse import Parsed, parse_answer
from diagnose.terminal import draw
from diagnose.terminal.commands import EVERY, word, words
from diagnose.terminal.reader import ROUND
from diagnose.terminal.rounds import LookingRound, is_word, look_round, other, tell_before
from diagnose.words import say

BETWEEN = ";"


def one_step(visit: LookingRound, conclusion: Conclusion) -> None:
    """What is done next: looks or facts in one go, or one check alone. Raises Leave."""
    if not (look_round(visit, conclusion) or facts_round(visit, conclusion)):
        visit.ask_alone(visit.reasoner.kb.checks[conclusion.next.check], conclusion)


def facts_round(visit: LookingRound, conclusion: Conclusion) -> bool:
    """Ask what a measurement needs in one go. False: one at a time, from now on. Raises Leave."""
    found = facts_of(visit.reasoner.kb, visit.session, conclusion)
    if found is None or visit.singly:
        return False
    checks = in_one_go(visit.reasoner.kb, conclusion)
    _draw(visit, found)
    while True:
        typed = visit.asker.line([*words(("one",)), *words(EVERY)], topic=ROUND)
        if is_word(typed, "one"):
            visit.singly = True
            return False
        if BETWEEN in typed:
            if parsed := _read(visit, checks, typed):
                return _take(visit, checks, parsed)
        elif other(visit, typed, conclusion, _how(found), _how(found)):
            return True


def _how(found: FactsRound) -> str:
    return say("terminal.facts_how", n=len(found.facts), one=word("one"))


def _draw(visit: LookingRound, found: FactsRound) -> None:
    tell_before(visit, [question.check for question, _ in found.facts])
    visit.screen.line(say("terminal.facts", minutes=found.minutes), "bold")
    if found.stand:
        visit.screen.line(found.stand)
    visit.screen.numbered(_line(question) for question, _ in found.facts)
    visit.screen.line(_how(found))


def _line(question: Question) -> str:
    """The question with what can be typed: the example of a reading, or the numbered answers."""
    if question.reading:
        return say("terminal.facts_reading", asked=question.asked, reading=question.reading.says)
    answers = [f"{n} {says}" for n, says in enumerate(question.options.values(), start=1)]
    return say("terminal.facts_choice", asked=question.asked, answers=f"{BETWEEN} ".join(answers))


def _read(visit: LookingRound, checks: Sequence[Check], typed: str) -> list[Parsed]:
    """One answer for each check; none where the line cannot be read, which is said."""
    parts = [part.strip() for part in typed.split(BETWEEN)]
    if len(parts) != len(checks):
        visit.screen.line(say("terminal.facts_number", n=len(checks), typed=len(parts)))
        return []
    found = []
    for number, (check, part) in enumerate(zip(checks, parts, strict=True), start=1):
        try:
            found.append(parse_answer(check, part))
        except AnswerError as error:
            visit.screen.line(say("terminal.facts_wrong", number=number, why=error))
            return []
    return found


def _take(visit: LookingRound, checks: Sequence[Check], parsed: Sequence[Parsed]) -> bool:
    """Say back what was understood and save it, up to one that the person takes back. Whether any was saved."""
    sent = False
    for check, answer in zip(checks, parsed, strict=True):
        draw.draw_understood(visit.screen, visit.session.setup.role, check, answer)
        if answer.doubt and not visit.asker.agreed(say("terminal.keep_it", doubt=answer.doubt), check.id):
            break
        if not visit.send(answer.reply(check.id)):
            break
        sent = True
    return sent
