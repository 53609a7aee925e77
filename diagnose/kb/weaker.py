"""Whether safety fields became weaker than the register says, and every difference in words."""

from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.kb.safety import Fields, Register
from diagnose.model.named import RANKS
from diagnose.words import say

ALLOWING = ("any_of", "spared", "caller_steps", "skips")  # lists that weaken as they grow
NARROWING = ("when",)  # conditions that weaken as they are added


def weakened(before: Register, after: Register) -> Iterator[tuple[str, str]]:
    """(entry, what became weaker), and every entry that is not registered at all."""
    for entry, fields in before.items():
        if entry not in after:
            yield entry, say("knowledge.entry_gone")
            continue
        yield from ((entry, says) for says in _weaker(fields, after[entry]))
    for entry in after:
        if entry not in before:
            yield entry, say("knowledge.entry_new")


def _weaker(before: Fields, after: Fields) -> Iterator[str]:
    for name in {
        **before,
        **dict.fromkeys(NARROWING),
        **dict.fromkeys(ALLOWING),
    }:  # what is new there weakens just as well
        was, now = before.get(name), after.get(name)
        if was != now and (says := _lost(name, was, now)):
            yield says


def _lost(name: str, was: Any, now: Any) -> str:
    """What one field lost, or ''. Stricter is never a loss; another way to reach a place always is looked at."""
    if name in ALLOWING:
        more = [x for x in now or [] if x not in (was or [])]
        return say("knowledge.allows", name=name, known=", ".join(more)) if more else ""
    if isinstance(was, list):
        gone = [x for x in was if x not in (now or [])]
        return say("knowledge.lost", name=name, known=", ".join(map(str, gone))) if gone else ""
    if name == "who":
        weaker = RANKS.index(now) < RANKS.index(was)
        return say("knowledge.who_weaker", was=was, now=now) if weaker else ""
    if name in NARROWING:
        return _narrowed(was or {}, now or {})
    if isinstance(was, bool):
        return say("knowledge.was_true", name=name) if was else ""
    return say("knowledge.was_and_is", name=name, was=repr(was), now=repr(now)) if was else ""


def _narrowed(was: Mapping[str, list[str]], now: Mapping[str, list[str]]) -> str:
    """A rule fires less often when a condition is added, or accepts fewer values."""
    added = [fact for fact in now if fact not in was]
    fewer = [fact for fact, values in now.items() if fact in was and set(was[fact]) - set(values)]
    return say("knowledge.narrower", known=", ".join([*added, *fewer])) if added or fewer else ""


def differences(before: Register, after: Register) -> Iterator[tuple[str, str]]:
    """Every field that differs, in words, for reading before a rewrite lands."""
    for entry in sorted({*before, *after}):
        if entry not in after:
            yield entry, say("knowledge.gone")
        elif entry not in before:
            yield entry, say("knowledge.new", says=_in_words(after[entry]))
        else:
            for name in sorted({*before[entry], *after[entry]}):
                was, now = before[entry].get(name), after[entry].get(name)
                if was != now:
                    yield entry, f"{name}: {was!r} -> {now!r}"


def _in_words(fields: Fields) -> str:
    return ", ".join(f"{name} {value!r}" for name, value in fields.items() if value) or say("present.nothing_special")
