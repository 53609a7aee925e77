"""Draws an exercise: the list of checks, what the coach says, and the debrief."""

from collections.abc import Iterable, Mapping, Sequence

from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.cautions import Cautions
from diagnose.present.debrief import Review, WayStep
from diagnose.present.practice import AskedOnce, CoachTold, Offered
from diagnose.present.terms import meanings, meant, used_in
from diagnose.terminal.draw import draw_cautions, draw_chain
from diagnose.terminal.practice_words import word
from diagnose.terminal.screen import Screen
from diagnose.words import say


def draw_checks(screen: Screen, checks: Iterable[Offered]) -> None:
    """A numbered list with minutes, what has to be opened, tools and who may."""
    screen.numbered(f"{check.says} ({check.facts})" for check in checks)


def draw_counts(screen: Screen, parts: Mapping[str, Sequence[Offered]]) -> None:
    """How many checks each part of the installation has."""
    for part, checks in parts.items():
        screen.pair(f"  {part}", say("practice.checks", n=len(checks)))
    screen.line(say("practice.how_to_list"))


def draw_meanings(screen: Screen, kb: KnowledgeBase, words: str) -> None:
    """What words mean; without any, which can be asked for."""
    found = meant(kb, words) if words else ()
    for meaning in found:
        screen.pair(meaning.says, " ".join(filter(None, (meaning.means, meaning.link))))
    if not found:
        known = ", ".join(meaning.says for meaning in meanings(kb))
        screen.line(say("practice.ask_words", words=known) if not words else say("practice.no_word", words=known))


def draw_told(screen: Screen, told: CoachTold) -> None:
    """What the coach says after a move."""
    for says in told.says:
        screen.hanging("   ", says)
    if told.counter:
        screen.line(told.counter, "bold")
    for slip in told.slips:
        screen.line(slip, "bold yellow")


def draw_asked(screen: Screen, asked: AskedOnce) -> None:
    """A check before the choice: what it costs, and its precautions."""
    screen.line(asked.says, "bold")
    screen.hanging("   ", asked.facts, "dim")
    draw_careful(screen, asked.cautions)


def draw_careful(screen: Screen, cautions: Cautions) -> None:
    """Precautions, in full when they are new; those told before by their number."""
    draw_cautions(screen, cautions)
    if cautions.told:
        screen.line(say("practice.told_before", n=len(cautions.told)), "bold yellow")


def draw_how(screen: Screen, kb: KnowledgeBase, asked: AskedOnce) -> None:
    """How the check is done, good and bad, this device's lamps, what its drawing shows, the trade's words in it."""
    screen.heading(say("present.how_to"))
    screen.line(asked.how.says)
    screen.pair(say("present.good"), asked.how.good)
    screen.pair(say("present.bad"), asked.how.bad)
    for lamp, says in asked.how.lamps:
        screen.pair(lamp, says)
    if asked.drawing:
        screen.pair(say("practice.drawing"), " - ".join(asked.drawing))
    if used := used_in(kb, (asked.says, asked.how.says, asked.how.good, asked.how.bad)):
        screen.line(say("practice.words_here", words=", ".join(used), what=word("what")), "dim")


def draw_debrief(screen: Screen, review: Review) -> None:
    """Both ways, the points, one different choice, and what to practise next."""
    screen.heading(say("practice.debrief"))
    screen.line(review.ended, "bold")
    screen.line(review.verdict, "bold")
    if review.happened:
        screen.pair(say("practice.would_have"), review.happened)
    for cause, explain in review.truth:
        screen.line(f"{say('practice.it_was', cause=cause)} {explain}")
    for seen in review.false_leads:
        screen.line(say("practice.false_lead", seen=seen))
    if review.strips:
        draw_chain(screen, review.strips)
    _draw_way(screen, say("practice.your_way"), review.own_minutes, review.own)
    _draw_way(screen, say("practice.programs_way"), review.best_minutes, review.best)
    screen.hanging("   = ", review.best_ended)
    if review.part_at:
        screen.line(say("practice.ways_part", step=review.part_at))
    if review.otherwise:
        screen.line(review.otherwise)
    if review.missed:
        screen.line(say("practice.not_taken"), "bold yellow")
    for caution in review.missed:
        screen.hanging(f"{say('present.caution')}  ", caution, "bold yellow")
    _draw_points(screen, review)
    screen.pair(say("practice.practise_next"), review.practise, "bold")


def _draw_way(screen: Screen, title: str, minutes: str, steps: Sequence[WayStep]) -> None:
    screen.heading(f"{title}: {minutes}")
    for number, step in enumerate(steps, start=1):
        screen.numbered([f"{step.says} ({step.minutes})"], start=number)
        if step.found:
            screen.hanging("     = ", step.found)


def _draw_points(screen: Screen, review: Review) -> None:
    screen.heading(say("practice.score", points=f"{review.score:.0f}"))
    for name, value in review.points:
        screen.hanging(f"{value:+6.1f}  ", name)
    for says in review.judged:
        screen.hanging("  ", says)
    if review.slips:
        screen.heading(say("practice.your_slips"))
    for slip in review.slips:
        screen.line(f"{slip.moment} {slip.says}", "bold")
        for more in filter(None, (slip.reading, slip.instead)):
            screen.hanging("   ", more)
