"""What stands between people and the gate in a knowledge base, entry by entry, and whether it has become weaker.

The register is a second copy of these fields, kept apart from the entries. Whoever weakens an entry sees the check
fail; whoever means it reads the difference and registers it anew.
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.model.knowledge import CallerRemedy, Cause, Check, KnowledgeBase
from diagnose.model.named import RANKS, Access, Caution, DangerousWork, Proof
from diagnose.model.rules import Rule
from diagnose.model.settings import Settings
from diagnose.words import say

Fields = Mapping[str, Any]
Register = Mapping[str, Fields]  # 'checks.some_id' -> its fields
FILE = "safety/register.yaml"
ALLOWING = ("any_of", "spared", "caller_steps")  # lists that weaken as they grow


def safety_of(kb: KnowledgeBase) -> dict[str, Fields]:
    """The safety fields of every entry that has any."""
    found: dict[str, dict[str, Any]] = {f"checks.{c.id}": _check(c) for c in kb.checks.values()}
    found |= {f"causes.{c.id}": _cause(c) for c in kb.causes.values()}
    found |= {f"rules.{r.id}": _rule(r) for r in kb.rules.values() if r.then.stop_work or r.then.caution}
    found |= {f"cautions.{c.id}": _caution(c) for c in kb.cautions.values()}
    found |= {f"complaints.{c.id}": {"meanwhile": list(c.meanwhile)} for c in kb.complaints.values()}
    found |= {f"access.{a.id}": _access(a) for a in kb.access.values()}
    found |= {f"proofs.{p.id}": _proof(p) for p in kb.proofs.values()}
    found |= {f"dangers.{d.id}": _danger(d) for d in kb.dangers.values()}
    found["settings"] = _settings(kb.settings)
    return {entry: {n: v for n, v in fields.items() if v} for entry, fields in found.items()}


def register_text(register: Register) -> str:
    """One line an entry, so that a change can be read in a difference; only what an entry has, nothing empty."""
    return "".join(f"{entry}: {json.dumps(fields)}\n" for entry, fields in register.items())


def _settings(settings: Settings) -> dict[str, Any]:
    return {
        "opening": sorted(settings.opening),
        "made_safe_check": settings.made_safe_check,
        "caller_before": settings.caller_before,
        "caller_after": settings.caller_after,
        "meanwhile": sorted(settings.meanwhile),
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "who": check.who,
        "access": check.access,
        "tools": sorted(check.tools),
        "hazard": check.hazard,
        "runs_gate": check.runs_gate,
        "cautions": sorted(check.cautions),
    }


def _cause(cause: Cause) -> dict[str, Any]:
    remedy = cause.remedy
    return {
        "who": remedy.who,
        "access": remedy.access,
        "touches": sorted(remedy.touches),
        "hides_fault": remedy.hides_fault,
        "cautions": sorted({*cause.cautions, *remedy.cautions}),
        "caller_steps": _caller_steps(cause.caller) if cause.caller else [],
    }


def _caller_steps(remedy: CallerRemedy) -> list[str]:
    """Every step with what is said before it: a step that is new, or said with less, is looked at again."""
    before = ", ".join([*sorted(remedy.cautions), *(["hands_near"] if remedy.hands_near else [])])
    return [f"{step} [{before}]" for step in remedy.steps]


def _caution(caution: Caution) -> dict[str, Any]:
    """What a caution says is for people to read; in the register stands only what a caller does under an order."""
    return {"stop_work": caution.stop_work, "meanwhile": list(caution.meanwhile)}


def _access(group: Access) -> dict[str, Any]:
    return {"who": group.who, "enclosure": group.enclosure, "cautions": sorted(group.cautions)}


def _danger(danger: DangerousWork) -> dict[str, Any]:
    return {
        "words": danger.words,
        "never_for_callers": danger.never_for_callers,
        "all_work": not danger.callers_only,
        "any_of": sorted(danger.cautions),
        "spared": sorted(danger.spared),
    }


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "protective": proof.protective,
        "after": sorted(proof.after),
        "after_caution": sorted(proof.after_caution),
        "when": {fact: sorted(values) for fact, values in proof.when.items()},
        "never_waved_after": sorted(proof.never_waved_after),
    }


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "when": {fact: sorted(values) for fact, values in rule.when.items()},
        "stop_work": rule.then.stop_work,
        "caution": sorted(rule.then.caution),
    }


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
    for name in {**before, "when": {}, **dict.fromkeys(ALLOWING)}:  # what is new there weakens just as well
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
    if name == "when":
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
