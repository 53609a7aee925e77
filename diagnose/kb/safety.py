"""What stands between people and the gate in a knowledge base, entry by entry, and whether it has become weaker.

The register is a second copy of these fields, kept apart from the entries. Whoever weakens an entry sees the check
fail; whoever means it reads the difference and registers it anew.
"""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from diagnose.kb.feeds import Feeds, feeds_of_orders
from diagnose.model.heard import DANGER, Hearing
from diagnose.model.knowledge import CallerRemedy, Cause, Check, KnowledgeBase
from diagnose.model.named import Access, Caution, DangerousWork, Duty, Proof
from diagnose.model.rules import Calculation, Rule
from diagnose.model.settings import Settings

Fields = Mapping[str, Any]
Register = Mapping[str, Fields]  # 'checks.some_id' -> its fields
FILE = "safety/register.yaml"


def safety_of(kb: KnowledgeBase) -> dict[str, Fields]:
    """The safety fields of every entry that has any."""
    feeds = feeds_of_orders(kb)
    found: dict[str, dict[str, Any]] = {f"checks.{c.id}": _check(c, feeds) for c in kb.checks.values()}
    found |= {f"causes.{c.id}": _cause(c) for c in kb.causes.values()}
    found |= {f"rules.{r.id}": _rule(r) for r in kb.rules.values() if r.id in feeds.rules}
    found |= {f"calculations.{c}": _calculation(kb.calculations[c]) for c in feeds.calculations}
    found |= {f"cautions.{c.id}": _caution(c) for c in kb.cautions.values()}
    found |= {f"complaints.{c.id}": {"meanwhile": list(c.meanwhile)} for c in kb.complaints.values()}
    found |= {f"access.{a.id}": _access(a) for a in kb.access.values()}
    found |= {f"proofs.{p.id}": _proof(p) for p in kb.proofs.values()}
    found |= {f"dangers.{d.id}": _danger(d) for d in kb.dangers.values()}
    found |= {f"duties.{d.id}": _duty(d) for d in kb.duties.values()}
    found |= {f"heard.{h.id}": {"words": _words(repr(h.options), repr(h.lists))} for h in _dangers_heard(kb)}
    found["settings"] = _settings(kb.settings)
    return {entry: {n: v for n, v in fields.items() if v} for entry, fields in found.items()}


def _words(*texts: str) -> str:
    """A digest of what people read: no program sees whether a sentence protects, so a new one is read by somebody."""
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:10]


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


def _check(check: Check, feeds: Feeds) -> dict[str, Any]:
    """What an order hangs on is asked of the same people, in the same cases, with the same answers."""
    protects = check.hazard or check.cautions or check.access or check.runs_gate
    return {
        "when": _asked_when(check) if check.id in feeds.checks else {},
        "answers": [*check.options, *map(str, check.hard or ()), check.fills] if check.id in feeds.checks else [],
        "asked": _words(check.ask, check.ask_caller, *check.options.values()) if check.id in feeds.checks else "",
        "words": _words(check.help, check.ask, check.ask_caller) if protects else "",
        "who": check.who,
        "access": check.access,
        "tools": sorted(check.tools),
        "hazard": check.hazard,
        "runs_gate": check.runs_gate,
        "cautions": sorted(check.cautions),
    }


def _asked_when(check: Check) -> dict[str, list[str]]:
    """Every condition on asking; a narrower one leaves the danger unseen."""
    kinds = {"devices": sorted(check.devices)} if check.devices else {}
    locked = {"locked": ["true"]} if check.locked else {}
    return {fact: sorted(values) for fact, values in check.only_if.items()} | kinds | locked


def _cause(cause: Cause) -> dict[str, Any]:
    remedy = cause.remedy
    return {
        "who": remedy.who,
        "access": remedy.access,
        "touches": sorted(remedy.touches),
        "hides_fault": remedy.hides_fault,
        "cautions": sorted({*cause.cautions, *remedy.cautions}),
        "caller_steps": _caller_steps(cause.caller) if cause.caller else [],
        "words": _words(cause.test, *remedy.steps, cause.proof),
    }


def _caller_steps(remedy: CallerRemedy) -> list[str]:
    """Every step, and the proof, with what is said before it: a new one, or with less before it, is looked at."""
    before = ", ".join([*sorted(remedy.cautions), *(["hands_near"] if remedy.hands_near else [])])
    return [f"{step} [{before}]" for step in (*remedy.steps, remedy.proof)]


def _caution(caution: Caution) -> dict[str, Any]:
    return {
        "stop_work": caution.stop_work,
        "meanwhile": list(caution.meanwhile),
        "words": _words(caution.says, caution.short, caution.tell, caution.tag),
    }


def _access(group: Access) -> dict[str, Any]:
    return {"who": group.who, "enclosure": group.enclosure, "cautions": sorted(group.cautions)}


def _danger(danger: DangerousWork) -> dict[str, Any]:
    return {
        "words": danger.words,
        "never_for_callers": danger.never_for_callers,
        "all_work": not danger.callers_only,
        "any_of": sorted(danger.cautions),
        "spared": sorted(danger.spared),
        "who": danger.least,
    }


def _duty(duty: Duty) -> dict[str, Any]:
    return {"words": duty.words, "any_of": sorted(duty.touches), "spared": sorted(duty.spared)}


def _dangers_heard(kb: KnowledgeBase) -> list[Hearing]:
    return [hearing for hearing in kb.heard.values() if hearing.id.startswith(DANGER)]


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "protective": proof.protective,
        "after": sorted(proof.after),
        "after_caution": sorted(proof.after_caution),
        "when": {fact: sorted(values) for fact, values in proof.when.items()},
        "never_waved_after": sorted(proof.never_waved_after),
        "words": _words(proof.says),
    }


def _rule(rule: Rule) -> dict[str, Any]:
    """An order, a caution, or what one hangs on; with what it makes nobody be asked."""
    then = rule.then
    unasked = sorted(check for check, answer in then.settle.items() if answer == "skip")
    order = bool(then.stop_work)
    return {
        "when": {fact: sorted(values) for fact, values in rule.when.items()},
        "stop_work": then.stop_work,
        "caution": sorted(then.caution),
        "concludes": sorted(f"{fact}={value}" for fact, value in [*then.derive.items(), *then.settle.items()]),
        "bars": unasked if order else [],
        "skips": [] if order else unasked,
    }


def _calculation(calculation: Calculation) -> dict[str, Any]:
    """A limit that moves is looked at again, whichever way."""
    return {"as": [calculation.calculator, dict(calculation.inputs), dict(calculation.constants)]}
