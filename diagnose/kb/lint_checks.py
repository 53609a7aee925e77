"""Lints over checks, access groups, cautions and settings."""

import re
from collections.abc import Mapping

from diagnose.kb.domain import Domain, answers_of, fact_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import Check, Condition, Finding, KnowledgeBase

JARGON = re.compile(
    r"\b(inputs?|contacts?|terminals?|voltages?|volts?|NO/NC|relays?|zones?|scan\w*|polarity|impedance|"
    r"teach-?in|multimeter|ohms?|retroreflect\w*|threshold|protective|activation|actuator|debounce|loop detector|"
    r"operator|NC|NO|monitored|bridg\w+|commission\w*|parameter\w*)\b"
)


LOOK = re.compile(r"\b(look|watch|go and see|walk|check whether|listen)\b", re.IGNORECASE)


def references(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        here = ("checks", check.id)
        yield from unknown((*here, "access"), filter(None, [check.access]), kb.access, "access group")
        yield from unknown((*here, "tools"), check.tools, kb.tools, "tool")
        yield from unknown((*here, "devices"), check.devices, kb.devices, "device family")
        yield from unknown((*here, "needs"), check.needs, kb.checks, "check")
        yield from unknown((*here, "cautions"), check.cautions, kb.cautions, "caution")
        yield from unknown((*here, "picture"), filter(None, [check.picture]), kb.pictures, "picture")
        yield from unknown((*here, "source"), [check.source], kb.sources, "source")
    for group in kb.access.values():
        yield from unknown(("access", group.id, "cautions"), group.cautions, kb.cautions, "caution")
        yield from unknown(("access", group.id, "source"), [group.source], kb.sources, "source")
    for caution in kb.cautions.values():
        yield from unknown(("cautions", caution.id, "source"), [caution.source], kb.sources, "source")
    opening = (*kb.settings.opening, kb.settings.made_safe_check)
    yield from unknown(("settings", "opening"), opening, kb.checks, "check")
    yield from unknown(("settings", "protective_proofs"), kb.settings.protective_proofs, kb.proofs, "proof")
    yield from unknown(("settings", "outside_cause"), [kb.settings.outside_cause], kb.causes, "cause")


def pictures(kb: KnowledgeBase) -> Found:
    shown = {check.picture for check in kb.checks.values()}
    for picture in kb.pictures:
        if picture not in shown:
            yield ("pictures", picture), f"no check shows the picture '{picture}'; name it in one or remove it"


def kinds(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        here = ("checks", check.id)
        if check.kind == "choice" and len(check.options) < 2:
            yield (*here, "options"), "a choice needs at least two options"
        if check.kind == "quantity" and not (check.unit and check.hard and check.plausible):
            yield here, "a quantity needs unit, plausible and hard"
        if check.plausible and check.hard:
            low, high = check.hard
            if not low <= check.plausible[0] <= check.plausible[1] <= high:
                yield (*here, "plausible"), "plausible must lie within hard, low before high"
        if not check.good.strip() or not check.bad.strip():
            yield here, "say what a good and a bad result look like"
        if check.minutes <= 0:
            yield (*here, "minutes"), "minutes must be above 0"


def callers(kb: KnowledgeBase) -> Found:
    """What a caller is asked stays plain, and never opens, measures, bridges or climbs."""
    for check in kb.checks.values():
        here = ("checks", check.id)
        if (check.who == "caller") != (check.ask_caller != "never"):
            yield (
                (*here, "ask_caller"),
                "a check for a caller needs ask_caller and who: caller; else ask_caller: never",
            )
        if check.who == "caller" and (check.access or check.tools):
            yield (*here, "who"), "a caller has no tools and opens nothing; who: technician"
        if LOOK.search(check.ask_caller) and not check.stand:
            yield (*here, "stand"), "a look needs 'stand': where the caller stands, clear of the gate's travel"
        if check.ask_caller != "never" and (word := JARGON.search(check.ask_caller)):
            yield (*here, "ask_caller"), f"'{word.group()}' is trade jargon; say it in plain words"


def hazards(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        group = kb.access.get(check.access)
        if check.hazard and not check.cautions and not (group and group.cautions):
            yield ("checks", check.id, "cautions"), "a hazardous step needs a caution"
        if check.access == "mains_compartment" and check.who != "electrician":
            yield ("checks", check.id, "who"), "mains terminals are for the electrician"


def stop_work(kb: KnowledgeBase) -> Found:
    """No check that is asked while a stop-work order stands runs the gate, not even by way of its needs."""
    opening = (*kb.settings.opening, kb.settings.made_safe_check)
    for check in kb.checks.values():
        if check.runs_gate and check.id in opening:
            yield ("checks", check.id, "runs_gate"), "an opening check comes before the gate is known to be safe"
        running = [n for n in check.needs if n in kb.checks and kb.checks[n].runs_gate]
        if running and not check.runs_gate:
            yield ("checks", check.id, "needs"), f"'{running[0]}' runs the gate, so this check does too"


def conditions(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    for check in kb.checks.values():
        yield from condition_problems(("checks", check.id, "only_if"), check.only_if, domain)


def condition_problems(here: tuple[str | int, ...], condition: Condition, domain: Domain) -> Found:
    """Unknown facts, and values their fact can never take."""
    for fact, values in condition.items():
        if fact not in domain:
            yield (*here, fact), f"fact '{fact}' is never established by any check, calculation, rule or profile"
        elif not domain[fact]:
            yield (*here, fact), f"'{fact}' is a number; compare it with a calculation and use its word"
        for value in values:
            if domain.get(fact) and value not in domain[fact]:
                possible = ", ".join(sorted(domain[fact]))
                yield (*here, fact), f"'{fact}' is never '{value}'; possible: {possible}"


def findings(kb: KnowledgeBase) -> Found:
    """Every state must be reachable, and every answer that means something must have a state."""
    domain = fact_domain(kb)
    for finding in kb.findings.values():
        here = ("checks", finding.check, "finding")
        if finding.fact not in domain:
            yield (*here, "fact"), f"fact '{finding.fact}' is never established"
            continue
        for state, values in finding.states.items():
            for value in values:
                if value not in domain[finding.fact]:
                    yield (*here, "states", state), f"'{finding.fact}' is never '{value}'"
        yield from _scored_once(here, finding, kb)


def _scored_once(here: tuple[str, ...], finding: Finding, kb: KnowledgeBase) -> Found:
    rest = _rests_on(finding.fact, kb)
    for other in kb.findings.values():
        if other.id != finding.id and other.fact in rest:
            yield here, f"rests on '{other.fact}', which finding '{other.id}' scores already: evidence counted twice"


def _rests_on(fact: str, kb: KnowledgeBase) -> set[str]:
    """The facts that a fact is derived or calculated from, all the way down; itself excluded."""
    todo, seen = [fact], set[str]()
    while todo:
        name = todo.pop()
        parents = [f for r in kb.rules.values() if name in r.then.derive for f in r.when]
        if name in kb.calculations:
            parents += kb.calculations[name].inputs.values()
        todo += [p for p in parents if p not in seen]
        seen.update(parents)
    return seen - {fact}


def coverage(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        if check.locked and not any(check.id in r.then.unlock for r in kb.rules.values()):
            yield ("checks", check.id, "locked"), "locked, but no rule unlocks it"
        if not check.finding and not _used(check, kb):
            yield (
                ("checks", check.id),
                "unreachable: neither scored, needed, in the opening nor used by a rule that matters",
            )


def _used(check: Check, kb: KnowledgeBase) -> bool:
    fact = check.fills or check.id
    needed = any(check.id in c.needs for c in kb.checks.values())
    conditions_: list[Mapping[str, object]] = [r.when for r in kb.rules.values()]
    conditions_ += [c.only_if for c in kb.checks.values()]
    calculated = any(fact in c.inputs.values() for c in kb.calculations.values())
    opening = check.id in (*kb.settings.opening, kb.settings.made_safe_check)
    return opening or needed or calculated or any(fact in c for c in conditions_)


__all__ = ["LINTS", "answers_of", "condition_problems"]
LINTS = (references, pictures, kinds, callers, hazards, stop_work, conditions, findings, coverage)
