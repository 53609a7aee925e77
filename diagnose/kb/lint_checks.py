"""Lints over checks, access groups, cautions and settings."""

import re
from collections.abc import Mapping

from diagnose.kb.domain import Domain, answers_of, fact_domain
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import Check, Finding, KnowledgeBase
from diagnose.model.named import RANKS, Condition
from diagnose.words import say

JARGON = re.compile(
    r"\b(inputs?|contacts?|terminals?|voltages?|volts?|NO/NC|relays?|zones?|scan\w*|polarity|impedance|"
    r"teach-?in|multimeter|ohms?|retroreflect\w*|threshold|protective|activation|actuator|debounce|"
    r"operator|NC|NO|monitored|bridg\w+|commission\w*|parameter\w*)\b"
)


LOOK = re.compile(r"\b(look|watch|go and see|walk|check whether|listen)\b", re.IGNORECASE)


def references(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        here = ("checks", check.id)
        yield from unknown((*here, "access"), filter(None, [check.access]), kb.access, "access_group")
        yield from unknown((*here, "tools"), check.tools, kb.tools, "tool")
        yield from unknown((*here, "devices"), check.devices, kb.kinds, "kind_or_trait_of_sensor")
        yield from unknown((*here, "needs"), check.needs, kb.checks, "check")
        yield from unknown((*here, "cautions"), check.cautions, kb.cautions, "caution")
        yield from unknown((*here, "picture"), filter(None, [check.picture]), kb.pictures, "picture")
        yield from unknown((*here, "source"), [check.source], kb.sources, "source")
    for group in kb.access.values():
        yield from unknown(("access", group.id, "cautions"), group.cautions, kb.cautions, "caution")
        yield from unknown(("access", group.id, "source"), [group.source], kb.sources, "source")
    for caution in kb.cautions.values():
        yield from unknown(("cautions", caution.id, "source"), [caution.source], kb.sources, "source")
    opening = (*kb.settings.opening, kb.settings.made_safe_check, *filter(None, [kb.settings.first_cut]))
    yield from unknown(("settings", "opening"), opening, kb.checks, "check")


def pictures(kb: KnowledgeBase) -> Found:
    shown = {check.picture for check in kb.checks.values()}
    for picture in kb.pictures:
        if picture not in shown:
            yield ("pictures", picture), say("knowledge.picture_unused", picture=picture)


def kinds(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        here = ("checks", check.id)
        if check.kind == "choice" and len(check.options) < 2:
            yield (*here, "options"), say("knowledge.two_options")
        if check.kind == "quantity" and not (check.unit and check.hard and check.plausible):
            yield here, say("knowledge.quantity_needs")
        if check.plausible and check.hard:
            low, high = check.hard
            if not low <= check.plausible[0] <= check.plausible[1] <= high:
                yield (*here, "plausible"), say("knowledge.plausible_within_hard")
        if not check.good.strip() or not check.bad.strip():
            yield here, say("knowledge.say_good_and_bad")
        if check.minutes <= 0:
            yield (*here, "minutes"), say("knowledge.minutes_above")


def callers(kb: KnowledgeBase) -> Found:
    """What a caller is asked stays plain, and never opens, measures, bridges or climbs."""
    for check in kb.checks.values():
        here = ("checks", check.id)
        if (check.who == "caller") != (check.ask_caller != "never"):
            yield (
                (*here, "ask_caller"),
                say("knowledge.caller_needs"),
            )
        if check.who == "caller" and (check.access or check.tools):
            yield (*here, "who"), say("knowledge.caller_tools")
        if LOOK.search(check.ask_caller) and not check.stand:
            yield (*here, "stand"), say("knowledge.look_needs_stand")
        if check.ask_caller != "never" and (word := jargon(check.ask_caller, kb)):
            yield (*here, "ask_caller"), say("knowledge.jargon", word=word)


def jargon(text: str, kb: KnowledgeBase) -> str:
    """The first trade word in a text: one of every gate, or one that goes with a kind of sensor."""
    of_kinds = (
        word for kind in kb.kinds.values() for word in kind.jargon if re.search(rf"\b{re.escape(word)}\b", text)
    )
    found = JARGON.search(text)
    return found.group() if found else next(of_kinds, "")


def traits(kb: KnowledgeBase) -> Found:
    """A word in `devices:` is a kind or a trait, never both, and a trait is defined before kinds have it."""
    for kind in kb.kinds.values():
        yield from unknown(("kinds", kind.id, "traits"), kind.traits, kb.traits, "trait")
    for trait in kb.traits:
        if trait in kb.kinds:
            yield ("traits", trait), say("knowledge.is_a_kind_of_sensor", trait=trait)


def hazards(kb: KnowledgeBase) -> Found:
    for check in kb.checks.values():
        group = kb.access.get(check.access)
        if check.hazard and not check.cautions and not (group and group.cautions):
            yield ("checks", check.id, "cautions"), say("knowledge.hazard_needs_caution")
        if group and RANKS.index(check.who) < RANKS.index(group.who):
            yield ("checks", check.id, "who"), say("knowledge.is_for_the", id=group.id, who=group.who)


def stop_work(kb: KnowledgeBase) -> Found:
    """No check that is asked while a stop-work order stands runs the gate, not even by way of its needs."""
    opening = (*kb.settings.opening, kb.settings.made_safe_check, *filter(None, [kb.settings.first_cut]))
    for check in kb.checks.values():
        if check.runs_gate and check.id in opening:
            yield ("checks", check.id, "runs_gate"), say("knowledge.opening_before_safe")
        running = [n for n in check.needs if n in kb.checks and kb.checks[n].runs_gate]
        if running and not check.runs_gate:
            yield ("checks", check.id, "needs"), say("knowledge.runs_gate_too", check=running[0])


def conditions(kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    for check in kb.checks.values():
        yield from condition_problems(("checks", check.id, "only_if"), check.only_if, domain)


def condition_problems(here: tuple[str | int, ...], condition: Condition, domain: Domain) -> Found:
    """Unknown facts, and values their fact can never take."""
    for fact, values in condition.items():
        if fact not in domain:
            yield (*here, fact), say("knowledge.never_established_by", fact=fact)
        elif not domain[fact]:
            yield (*here, fact), say("knowledge.is_number", fact=fact)
        for value in values:
            if domain.get(fact) and value not in domain[fact]:
                possible = ", ".join(sorted(domain[fact]))
                yield (*here, fact), say("knowledge.never_this_of", fact=fact, value=value, possible=possible)


def findings(kb: KnowledgeBase) -> Found:
    """Every state must be reachable, and every answer that means something must have a state."""
    domain = fact_domain(kb)
    for finding in kb.findings.values():
        here = ("checks", finding.check, "finding")
        if finding.fact not in domain:
            yield (*here, "fact"), say("knowledge.never_established", fact=finding.fact)
            continue
        for state, values in finding.states.items():
            for value in values:
                if value not in domain[finding.fact]:
                    yield (*here, "states", state), say("knowledge.never_this", fact=finding.fact, value=value)
        yield from _scored_once(here, finding, kb)


def _scored_once(here: tuple[str, ...], finding: Finding, kb: KnowledgeBase) -> Found:
    rest = _rests_on(finding.fact, kb)
    for other in kb.findings.values():
        if other.id != finding.id and other.fact in rest:
            yield here, say("knowledge.counted_twice", fact=other.fact, id=other.id)


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
            yield ("checks", check.id, "locked"), say("knowledge.never_unlocked")
        if not check.finding and not _used(check, kb):
            yield (
                ("checks", check.id),
                say("knowledge.unreachable"),
            )


def _used(check: Check, kb: KnowledgeBase) -> bool:
    fact = check.fills or check.id
    needed = any(check.id in c.needs for c in kb.checks.values())
    conditions_: list[Mapping[str, object]] = [r.when for r in kb.rules.values()]
    conditions_ += [c.only_if for c in kb.checks.values()]
    calculated = any(fact in c.inputs.values() for c in kb.calculations.values())
    opening = check.id in (*kb.settings.opening, kb.settings.made_safe_check, kb.settings.first_cut)
    return opening or needed or calculated or any(fact in c for c in conditions_)


__all__ = ["LINTS", "answers_of", "condition_problems"]
LINTS = (references, pictures, kinds, traits, callers, hazards, stop_work, conditions, findings, coverage)
