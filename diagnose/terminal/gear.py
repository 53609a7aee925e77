"""The devices at the gate, named in a terminal: at the start, and at any prompt after it."""

from dataclasses import replace

from diagnose.core.reason import Reasoner
from diagnose.errors import AnswerError
from diagnose.model.gear import Gear
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.events import Named
from diagnose.session.gear_words import gear_says, read_gear
from diagnose.session.parse import number_of
from diagnose.session.regear import keeping_papers, left_over
from diagnose.session.state import Session
from diagnose.terminal.ask import Asker
from diagnose.words import say


def gear_in(kb: KnowledgeBase, typed: str, ask: Asker) -> Gear:
    """The devices named in a line, said back; () where it is not understood, and says why."""
    try:
        gear = read_gear(kb, typed)
    except AnswerError as error:
        ask.screen.line(say("terminal.not_understood", why=error))
        return ()
    for device in gear:
        jobs = ", ".join(say(f"present.job_{job}") for job in device.jobs) or say("present.job_unknown")
        ask.screen.hanging("   = ", f"{device.name}: {kb.devices[device.kind]}; {jobs}")
    return gear


def named_in(typed: str, reasoner: Reasoner, session: Session, ask: Asker) -> Named | None:
    """Shows the devices, and takes them anew: all of them, or one more after '+'. None where nothing changes."""
    kb, gear = reasoner.kb, session.setup.gear
    if not typed:
        ask.screen.hanging(f"{say('terminal.gear_now')} ", gear_says(kb, gear) or say("present.not_known"))
        ask.screen.line(say("terminal.gear_ask"))
        typed = ask.said()
    if not typed:
        return None
    line = f"{gear_says(kb, gear)}, {typed[1:]}" if typed.startswith("+") and gear else typed.removeprefix("+")
    named = keeping_papers(gear_in(kb, line, ask), gear)
    return _placed(kb, session, Named(named), ask) if named else None


def _placed(kb: KnowledgeBase, session: Session, event: Named, ask: Asker) -> Named:
    """Asks what became of every device that was answered about and is not named any more."""
    former = {d.key: d.name for d in session.setup.gear}
    for key in left_over(kb, session, event):
        taken = {*former, *event.became.values()} - {key}
        free = [d for d in event.gear if d.key not in taken]
        if not free:
            ask.screen.line(say("terminal.gear_aside", device=former.get(key) or say("present.the_sensor")))
            continue
        ask.screen.line(say("terminal.gear_meant", device=former.get(key) or say("present.the_sensor")), "bold")
        ask.screen.numbered(d.name for d in free)
        if number := number_of(ask.said(), len(free)):
            event = replace(event, became={**event.became, key: free[number - 1].key})
    return event
