"""The few questions before the first check: who asks, which sensors, what is wrong."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.session.events import Begin
from diagnose.session.match import match_complaint
from diagnose.terminal.reader import Reader
from diagnose.terminal.screen import Screen


def ask_begin(
    kb: KnowledgeBase, setup: Setup, site: str, known: Sequence[str], screen: Screen, reader: Reader
) -> Begin:
    """Ask what is not known yet; `known` names what options already settled: role, electrician, devices."""
    if "role" not in known:
        role = _choose(
            screen, reader, "Where are you?", {"technician": "at the gate", "help_desk": "on the phone with a caller"}
        )
        setup = replace(setup, role="help_desk" if role == "help_desk" else "technician")
    if "electrician" not in known and setup.role == "technician":
        licensed = _choose(screen, reader, "Are you licensed for mains work?", {"no": "no", "yes": "yes"})
        setup = replace(setup, electrician=licensed == "yes")
    if "devices" not in known:
        setup = replace(setup, devices=_devices(kb, screen, reader))
    complaint, words = ask_complaint(kb, screen, reader)
    return Begin(setup, complaint, words, site, kb.digest)


def _choose(screen: Screen, reader: Reader, question: str, options: Mapping[str, str]) -> str:
    screen.line()
    screen.line(question, "bold")
    screen.numbered(options.values())
    while True:
        typed = reader.read("> ", list(options)).casefold()
        if typed in options:
            return typed
        if typed.isdecimal() and 1 <= int(typed[:4]) <= len(options):
            return list(options)[int(typed) - 1]
        screen.line(f"Please type a number from 1 to {len(options)}.")


def _devices(kb: KnowledgeBase, screen: Screen, reader: Reader) -> tuple[str, ...]:
    screen.line()
    screen.line(
        "Which sensors does this gate have? Numbers with spaces or commas; just Enter when not known.", "bold"
    )
    screen.numbered(kb.devices.values())
    names = list(kb.devices)
    while True:
        typed = reader.read("> ", names).replace(",", " ").split()
        chosen = [names[int(t) - 1] if t.isdecimal() and 1 <= int(t[:4]) <= len(names) else t for t in typed]
        if all(c in names for c in chosen):
            return tuple(n for n in names if n in chosen)
        screen.line(f"Please type numbers from 1 to {len(names)}, or just Enter.")


def ask_complaint(kb: KnowledgeBase, screen: Screen, reader: Reader) -> tuple[str, str]:
    """(complaint id, the words it was said in or '')."""
    names = list(kb.complaints)
    screen.line()
    screen.line("What is wrong? A number, or say it in your own words.", "bold")
    screen.numbered(kb.complaints[n].says for n in names)
    words = ""
    while True:
        typed = reader.read("> ", names)
        if typed in names:
            return typed, words
        if typed.isdecimal() and 1 <= int(typed[:4]) <= len(names):
            return names[int(typed) - 1], words
        matches = match_complaint(kb, typed)
        if not matches or typed.isdecimal():
            screen.line("Nothing sounds like that. Please type a number, or other words.")
            continue
        words = typed
        names = [*matches, *(n for n in kb.complaints if n not in matches)]
        screen.line("Sounds most like one of these; which fits best?")
        screen.numbered(kb.complaints[n].says for n in matches)
        screen.line("or:")
        screen.numbered((kb.complaints[n].says for n in names[len(matches) :]), start=len(matches) + 1)
