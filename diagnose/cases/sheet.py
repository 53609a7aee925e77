"""What an encoder reads: every check that could be asked at a case's gate, and which the case still leaves open."""

from collections.abc import Iterator
from dataclasses import replace

from diagnose.cases.model import FieldCase
from diagnose.cases.person import Person
from diagnose.core.permit import may_do
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Role, Setup
from diagnose.session.regear import geared
from diagnose.words import say


def setup_of(case: FieldCase) -> Setup:
    """Who plays the case first: the person of the case, with every tool and the profile's numbers."""
    profile = case.encoded.profile if case.encoded else {}
    role: Role = "help_desk" if case.by_phone else "technician"
    return geared(Setup(role, bool(case.licence), None, case.devices, dict(profile)), case.named)


def on_site(setup: Setup) -> Setup:
    """The technician who is sent, licensed for mains work."""
    return replace(setup, role="technician", electrician=True)


def checks_for(kb: KnowledgeBase, case: FieldCase) -> Iterator[Check]:
    """Every check that somebody could be asked at this gate: on the phone, and by whoever is sent."""
    mine = setup_of(case)
    roles = [mine, on_site(mine)] if case.by_phone else [mine]
    return (c for c in kb.checks.values() if any(may_do(c, setup) for setup in roles))


def sheet(kb: KnowledgeBase, case: FieldCase, only_open: bool = False) -> Iterator[str]:
    """The checks as lines to read while encoding; `only_open` leaves out those the case answers already."""
    person = Person(kb, case, 1)
    person.on_site = True
    for check in checks_for(kb, case):
        state = person.how_answered(check)
        if not (only_open and state in ("encoded", "healthy", "nobody", "no_fit")):
            yield from _entry(check, state)


def _entry(check: Check, state: str) -> Iterator[str]:
    normal = next(iter(check.finding.states)) if check.finding else say("cases.not_scored")
    who = say("cases.call_and_site") if check.ask_caller != "never" else check.who
    yield f"{check.id}  [{who}; normal: {normal}; {state}]"
    yield f"    {check.ask}"
    if check.ask_caller != "never":
        yield f"    caller: {check.ask_caller}"
    if check.kind == "quantity":
        yield f"    {_number(check)}" if check.hard else ""
    for option, says in check.options.items():
        yield f"      {option}: {says}"
    if check.only_if:
        told = (say("cases.fact_is", fact=fact, values=" / ".join(v)) for fact, v in check.only_if.items())
        yield f"    {say('cases.only_if', conditions=', '.join(told))}"


def _number(check: Check) -> str:
    low, high = check.hard or (0.0, 0.0)
    unit = check.unit or say("cases.units")
    return say("cases.a_number", unit=unit, low=f"{low:g}", high=f"{high:g}")
