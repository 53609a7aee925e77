"""Lays out a conclusion: on one screen what it is and what to do now; on demand a remedy with everything about it."""

from diagnose.present.caller import ForCaller
from diagnose.present.conclusion import Result, ShownRemedy, Suspect
from diagnose.terminal.draw import bullets, draw_cautions, draw_strips
from diagnose.terminal.screen import Screen
from diagnose.words import say

ON_ONE_SCREEN = 4  # causes named; 'likely' names all, and each can be unfolded


def draw_conclusion(screen: Screen, result: Result) -> None:
    """The leading cause with its deciding test and what it takes; the others on a line each."""
    screen.heading(result.title)
    screen.line(result.why)
    for note in result.notes:
        screen.line(note, "bold")
    leader, *others = result.suspects[:ON_ONE_SCREEN]
    _line(screen, leader, "bold")
    draw_cautions(screen, leader.test_cautions)
    screen.hanging("   ", f"{say('present.test')}: {leader.test}")
    screen.hanging("   ", leader.plan)
    for suspect in others:
        _line(screen, suspect)


def draw_caller(screen: Screen, caller: ForCaller) -> None:
    """On the phone: what the caller does himself, who is sent with what, what holds until somebody comes."""
    screen.heading(say("present.for_caller"))
    for own in caller.own:
        screen.line(f"{say('present.caller_own')}: {own.says}", "bold")
        screen.steps(own.steps)
        screen.line(f"{say('present.caller_sees')}: {own.proof}")
    for proof in caller.afterwards:
        screen.line(f"{say('present.caller_owed')}: {proof}")
    for label, says in (("send", caller.send), ("bring", caller.bring)):
        if says:
            screen.pair(say(f"present.{label}"), says)
    if caller.meanwhile:
        screen.line(f"{say('present.meanwhile')}:", "bold")
        bullets(screen, caller.meanwhile)


def _line(screen: Screen, suspect: Suspect, style: str = "") -> None:
    screen.hanging(f"{suspect.number}. ", f"{suspect.says} - {suspect.likely}", style)


def draw_suspect(screen: Screen, suspect: Suspect) -> None:
    """One cause in full: what it is, its test, cautions, remedy, proof, evidence."""
    screen.heading(f"{suspect.number}. {suspect.says} - {suspect.likely}")
    screen.line(suspect.explain)
    screen.pair(say("present.test"), suspect.test)
    if suspect.remedy:
        draw_remedy(screen, suspect.remedy)
    for label, told in (("speaks_for", suspect.speaks_for), ("speaks_against", suspect.speaks_against)):
        for says in told:
            screen.pair(say(f"present.{label}"), says)
    screen.line(suspect.rival, "dim")
    screen.pair(say("present.source"), suspect.source, "dim")


def draw_remedy(screen: Screen, remedy: ShownRemedy) -> None:
    """Cautions first, then what to do, then how to prove it."""
    draw_cautions(screen, remedy.cautions)
    if many := len(remedy.cautions.told):
        screen.line(say("present.general_hold", n=many), "dim")
    screen.pair(say("present.remedy"), remedy.facts)
    if remedy.warning:
        screen.line(remedy.warning, "bold")
    screen.steps(remedy.steps)
    for label, things in (("parts", remedy.parts), ("tools", remedy.tools)):
        if things:
            screen.pair(say(f"present.{label}"), "; ".join(things))
    screen.pair(say("present.proof"), remedy.proof)
    for proof in remedy.afterwards:
        screen.pair(say("present.afterwards"), proof)


def draw_order(screen: Screen, result: Result) -> None:
    """Two faults at once, and the order in which remedies are worth trying."""
    for both in result.together:
        screen.line(both)
    if result.order:
        screen.line()
        screen.line(say("present.order"))
        screen.steps(result.order)
    screen.line()
    screen.line(result.statement)


def draw_whole(screen: Screen, result: Result) -> None:
    """The conclusion with the leading cause in full, for whoever reads it without a prompt."""
    draw_strips(screen, result.strips)
    if result.caller:
        draw_caller(screen, result.caller)
    draw_conclusion(screen, result)
    draw_suspect(screen, result.leader)
    draw_order(screen, result)
