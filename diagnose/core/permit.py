"""Which checks this role may do here and now. The one gate every proposed check passes."""

from collections.abc import Mapping

from diagnose.core.facts import fact_name
from diagnose.model.knowledge import Check, Condition
from diagnose.model.visit import Setup, Value


def may_do(check: Check, setup: Setup) -> bool:
    """Role, licence, tools and sensor kinds; nothing that depends on what is known so far."""
    if check.devices and setup.devices and not any(d in check.devices for d in setup.devices):
        return False
    if setup.role == "help_desk":
        enclosure = bool(check.access)
        return check.who == "caller" and check.ask_caller != "never" and not enclosure and not check.tools
    if check.who == "electrician" and not setup.electrician:
        return False
    return setup.tools is None or set(check.tools) <= setup.tools


def holds(condition: Condition, values: Mapping[str, Value]) -> bool:
    """Every named fact is known and has one of the accepted values."""
    return all(values.get(fact) in accepted for fact, accepted in condition.items())


def open_now(check: Check, values: Mapping[str, Value], unlocked: frozenset[str], stopped: bool = False) -> bool:
    """The check makes sense here: its conditions hold, it is unlocked, and its fact is not known yet.

    `stopped`: a stop-work order stands, confirmed or not, so nothing may run the gate. (The lints keep the
    opening checks, and the needs of other checks, from running it.)
    """
    if (check.locked and check.id not in unlocked) or (check.runs_gate and stopped):
        return False
    known = fact_name(check) in values or (check.finding is not None and check.finding.fact in values)
    return not known and holds(check.only_if, values)
