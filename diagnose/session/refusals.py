"""Why an event is refused: the sentences stand in the catalogue, in the area 'session'."""

from dataclasses import dataclass

from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an event is not allowed: the key of its sentence, and the sentence."""

    key: str
    says: str


def refused(key: str, **named: str) -> Refusal:
    return Refusal(key, say(f"session.{key}", **named))
