"""Draws an exercise: the list of checks, what the coach says, and the debrief."""

from collections.abc import Iterable, Mapping, Sequence

from diagnose.present.debrief import Review
from diagnose.present.practice import CoachTold, Offered
from diagnose.terminal.draw import draw_chain
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


def draw_told(screen: Screen, told: CoachTold) -> None:
    """What the coach says after a move."""
    for says in told.says:
        screen.hanging("   ", says)
    if told.counter:
        screen.line(told.counter, "bold")
    for slip in told.slips:
        screen.line(slip, "bold yellow")


def draw_debrief(screen: Screen, review: Review) -> None:
    """Both ways, the points, one different choice, and what to practise next."""
    screen.heading(say("practice.debrief"))
    screen.line(review.ended, "bold")
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


def _draw_way(screen: Screen, title: str, minutes: str, steps: Iterable[tuple[str, str]]) -> None:
    screen.heading(f"{title}: {minutes}")
    screen.numbered(f"{move} ({told})" for move, told in steps)


def _draw_points(screen: Screen, review: Review) -> None:
    screen.heading(say("practice.score", points=f"{review.score:.0f}"))
    for name, value in review.points:
        screen.hanging(f"{value:+6.1f}  ", name)
    for says in (*review.judged, *review.slips):
        screen.hanging("  ", says)
