"""Makes a device or site profile by asking; everything may stay unknown."""

import json

from diagnose.calc.units import parse_reading
from diagnose.errors import AnswerError
from diagnose.model.profile import PROFILE_FACTS
from diagnose.model.visit import Value
from diagnose.present.profile import LAMPS, fact_says, lamp_says, word_says
from diagnose.session.parse import number_of
from diagnose.session.profile_facts import fact_problem
from diagnose.terminal.ask import Asker
from diagnose.terminal.screen import Screen, clean
from diagnose.words import say


def ask_profile(kind: str, screen: Screen, asker: Asker) -> str:
    """The YAML text of a profile of this kind. Raises Leave."""
    screen.line(say(f"terminal.profile_of_{kind}"))
    screen.line(say("terminal.profile_name"), "bold")
    says = asker.line() or say(f"terminal.profile_unnamed_{kind}")
    facts = {n: v for n in PROFILE_FACTS if n.startswith(f"{kind}.") and (v := _fact(n, screen, asker)) is not None}
    lamps = {n: t for n in LAMPS if kind == "device" and (t := _lamp(n, screen, asker))}
    return as_yaml(kind, says, facts, lamps)


def _lamp(name: str, screen: Screen, asker: Asker) -> str:
    screen.line(say("terminal.profile_lamp", lamp=lamp_says(name)), "bold")
    return asker.line()


def _fact(name: str, screen: Screen, asker: Asker) -> Value | None:
    """One fact as a person gives it; asked again until it can be used."""
    allowed = PROFILE_FACTS[name]
    screen.line(fact_says(name), "bold")
    if isinstance(allowed, tuple):
        screen.numbered(map(word_says, allowed))
    else:
        screen.line(say("terminal.profile_number", unit=allowed), "dim")
    while typed := asker.line(allowed if isinstance(allowed, tuple) else ()):
        try:
            value = _read(typed, allowed)
        except AnswerError as error:
            screen.line(say("terminal.not_understood", why=error))
            continue
        if not (says := fact_problem(name, value)):
            return value
        screen.line(say("terminal.not_possible", why=says))
    return None


def _read(typed: str, allowed: str | tuple[str, ...]) -> Value:
    if isinstance(allowed, str):
        return parse_reading(typed, allowed).value
    number = number_of(typed, len(allowed))
    return allowed[number - 1] if number else typed.strip().replace(" ", "_")


def as_yaml(kind: str, says: str, facts: dict[str, Value], lamps: dict[str, str]) -> str:
    """A profile file; every text is quoted, so that a name like 24 or null stays a name."""
    name = "_".join("".join(c if c.isascii() and c.isalnum() else " " for c in says.casefold()).split()) or kind
    lines = ["profile:", f"  id: {_quoted(name)}", f"  says: {_quoted(says)}", f"  kind: {kind}", "facts:"]
    lines += [f"  {n}: {_quoted(v) if isinstance(v, str) else f'{v:g}'}" for n, v in facts.items()]
    if not facts:
        lines[-1] = "facts: {}"
    if lamps:
        lines += ["lamps:", *(f"  {n}: {_quoted(t)}" for n, t in lamps.items())]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    """As a JSON string, which YAML reads as it stands but for characters that JSON writes in two halves."""
    return json.dumps(clean(text), ensure_ascii=False)
