"""Which checks this role may do here and now. The one gate every proposed check passes."""

from collections.abc import Mapping

from diagnose.core.facts import fact_name
from diagnose.model.knowledge import Check
from diagnose.model.named import RANKS, Condition, Who
from diagnose.model.visit import Setup, Value


def skill(setup: Setup) -> Who:
    """What whoever does something on this visit is: on a call the caller does it."""
    if setup.role == "help_desk":
        return "caller"
    return "electrician" if setup.electrician else "technician"


def within_rank(who: Who, doer: Who) -> bool:
    """Whether what is for `who` may be done by `doer`."""
    return RANKS.index(who) <= RANKS.index(doer)


def barred(check: Check, setup: Setup) -> bool:
    """Whether this role must never do the check, whatever is at hand."""
    doer = skill(setup)
    harmless = check.ask_caller != "never" and not check.access and not check.tools
    return not within_rank(check.who, doer) or (doer == "caller" and not harmless)


def may_do(check: Check, setup: Setup) -> bool:
    """Role, licence, tools and sensor kinds; nothing that depends on what is known so far."""
    if check.devices and setup.devices and not any(d in check.devices for d in setup.devices):
        return False
    return not barred(check, setup) and (setup.tools is None or set(check.tools) <= setup.tools)


def holds(condition: Condition, values: Mapping[str, Value]) -> bool:
    """Every named fact is known and has one of the accepted values."""
    return all(values.get(fact) in accepted for fact, accepted in condition.items())


def open_now(
    check: Check, values: Mapping[str, Value], unlocked: frozenset[str], stopped: bool = False, again: bool = False
) -> bool:
    """The check makes sense here: its conditions hold, it is unlocked, and its fact is not known yet.

    `stopped`: a stop-work order stands, confirmed or not, so nothing may run the gate. (The lints keep the
    opening checks, and the needs of other checks, from running it.) `again`: a repair may have changed its fact.
    """
    if (check.locked and check.id not in unlocked) or (check.runs_gate and stopped):
        return False
    known = fact_name(check) in values or (check.finding is not None and check.finding.fact in values)
    if known and not again:
        return False
    return holds(check.only_if, values)
