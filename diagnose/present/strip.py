"""The chain of each device and of the gate on a line each: which links are good, in doubt, broken, unknown."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from diagnose.core.reason import Conclusion
from diagnose.core.strip import State, standing_of
from diagnose.model.gear import device_of
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.named import Link
from diagnose.session.state import Session
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Part:
    """Neighbouring links of one state: 'supply, device good'."""

    says: str
    state: State


@dataclass(frozen=True, slots=True)
class Strip:
    """The chain of one device, or of the gate, in the order of the signal; links that nothing is known of come last.

    `says` is all of it in a line; `known`: whether anything is known of any link.
    """

    name: str
    parts: tuple[Part, ...]
    says: str
    known: bool


def strips_of(
    kb: KnowledgeBase, session: Session, conclusion: Conclusion, proved_only: bool = False
) -> tuple[Strip, ...]:
    """One for each device that is named, or one for the sensor where fewer than two are, and one for the gate.

    `proved_only`: what is not proved good is not told.
    """
    states = {link: s.state for link, s in standing_of(kb.settings, conclusion, session.complaint).items()}
    if proved_only:
        states = {link: state if state == "good" else "unknown" for link, state in states.items()}
    return strips_with(kb, states, _sensor(session))


def strips_with(kb: KnowledgeBase, states: Mapping[str, State], sensor: str = "") -> tuple[Strip, ...]:
    """The strips where the links stand like this; `sensor` is what the one device is called."""
    shown = [link for link in kb.links.values() if link.id in states]
    named = [(d.name, [link for link in shown if device_of(link.id) == d.key]) for d in kb.gear]
    called = sensor or say("present.strip_sensor")
    own = [] if kb.gear else [(called, [link for link in shown if link.of == "device"])]
    gate = [(say("present.strip_gate"), [link for link in shown if link.of != "device"])]
    return tuple(_strip(name, links, states) for name, links in (*named, *own, *gate) if links)


def known_of(kb: KnowledgeBase, session: Session, conclusion: Conclusion) -> tuple[Strip, ...]:
    """The strips that say anything."""
    return tuple(strip for strip in strips_of(kb, session, conclusion) if strip.known)


def _sensor(session: Session) -> str:
    """The one device by its name; in one word where none is named."""
    return session.setup.gear[0].name if session.setup.gear else say("present.strip_sensor")


def _strip(name: str, links: Sequence[Link], states: Mapping[str, State]) -> Strip:
    told = [link for link in links if states[link.id] != "unknown"]
    runs = [(list(run), state) for state, run in groupby(told, lambda link: states[link.id])]
    rest = say("present.strip_rest" if told else "present.strip_nothing")
    parts = (
        *(_part(run, state) for run, state in runs),
        *([Part(rest, "unknown")] if len(told) < len(links) else []),
    )
    return Strip(name, parts, say("present.strip", name=name, links="; ".join(p.says for p in parts)), bool(told))


def _part(links: Sequence[Link], state: State) -> Part:
    names = ", ".join(link.short for link in links)
    return Part(say("present.strip_part", links=names, state=say(f"present.link_{state}")), state)
