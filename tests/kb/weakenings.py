"""Deliberate weakenings of knowledge, one at a time, as somebody careless or hostile might make them.

`python -m tests.kb.weakenings` prints how many of each kind the register sees, and how many the lints see without it.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice
from typing import Any

from diagnose.kb.check import LINTS
from diagnose.kb.feeds import feeds_of_orders
from diagnose.kb.safety import safety_of
from diagnose.kb.weaker import weakened
from diagnose.model.knowledge import KnowledgeBase
from tests.shipped import knowledge

Change = tuple[str, KnowledgeBase]
Way = Callable[[KnowledgeBase], Iterator[Change]]


def changed(kb: KnowledgeBase, section: str, entry: str, **fields: Any) -> KnowledgeBase:
    table = getattr(kb, section)
    changes: dict[str, Any] = {section: {**table, entry: replace(table[entry], **fields)}}
    return replace(kb, **changes)


def remedied(kb: KnowledgeBase, cause: str, **fields: Any) -> KnowledgeBase:
    return changed(kb, "causes", cause, remedy=replace(kb.causes[cause].remedy, **fields))


def rules_deleted(kb: KnowledgeBase) -> Iterator[Change]:
    for rule in kb.rules.values():
        if rule.then.stop_work or rule.then.caution:
            yield f"{rule.id} deleted", replace(kb, rules={r: v for r, v in kb.rules.items() if r != rule.id})


def orders_taken_out(kb: KnowledgeBase) -> Iterator[Change]:
    for rule in kb.rules.values():
        if rule.then.stop_work:
            yield f"{rule.id} orders nothing", changed(kb, "rules", rule.id, then=replace(rule.then, stop_work=""))
            extra = {**rule.when, "role": ("technician",)}
            if "role" not in rule.when:
                yield f"{rule.id} narrowed", changed(kb, "rules", rule.id, when=extra)


def electricians_made_technicians(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.who == "electrician":
            yield f"{cause.id} for a technician", remedied(kb, cause.id, who="technician")
    for check in kb.checks.values():
        if check.who != "caller":
            yield f"{check.id} for a caller", changed(kb, "checks", check.id, who="caller", ask_caller="do it")
    for group in kb.access.values():
        if group.who == "electrician":
            yield f"{group.id} for a technician", changed(kb, "access", group.id, who="technician")


def proofs_emptied(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.touches:
            yield f"{cause.id} touches nothing", remedied(kb, cause.id, touches=())
    for proof in kb.proofs.values():
        if proof.protective:
            yield f"{proof.id} not protective", changed(kb, "proofs", proof.id, protective=False)
            never = {"fitted.loop": ("fitted",), "fitted.edge": ("none",), **proof.when}
            yield f"{proof.id} only sometimes", changed(kb, "proofs", proof.id, when=never)
        for name, nothing in (("after", ()), ("after_caution", {}), ("never_waved_after", ())):
            if getattr(proof, name):
                yield f"{proof.id} without {name}", changed(kb, "proofs", proof.id, **{name: nothing})


def marks_removed(kb: KnowledgeBase) -> Iterator[Change]:
    for check in kb.checks.values():
        for mark in ("runs_gate", "hazard"):
            if getattr(check, mark):
                yield f"{check.id} without {mark}", changed(kb, "checks", check.id, **{mark: False})
        if check.access:
            yield f"{check.id} without access", changed(kb, "checks", check.id, access="")
        if check.cautions:
            yield f"{check.id} without cautions", changed(kb, "checks", check.id, cautions=())


def cautions_emptied(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.remedy.cautions:
            yield f"{cause.id} without cautions", remedied(kb, cause.id, cautions=())
    for caution in kb.cautions.values():
        if caution.stop_work:
            yield f"{caution.id} stops nothing", changed(kb, "cautions", caution.id, stop_work=False)
    for group in kb.access.values():
        if group.cautions:
            yield f"{group.id} without cautions", changed(kb, "access", group.id, cautions=())


def words_emptied(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        yield f"{cause.id} proved by a dot", changed(kb, "causes", cause.id, proof=".")
        yield f"{cause.id} tested by a dot", changed(kb, "causes", cause.id, test=".")
        yield f"{cause.id} without its first step", remedied(kb, cause.id, steps=cause.remedy.steps[1:] or (".",))
    for caution in kb.cautions.values():
        yield f"{caution.id} says a dot", changed(kb, "cautions", caution.id, says=".")
    for proof in kb.proofs.values():
        yield f"{proof.id} says a dot", changed(kb, "proofs", proof.id, says=".")
    for check in kb.checks.values():
        if check.hazard or check.access:
            yield f"{check.id} without how", changed(kb, "checks", check.id, help=".")


def orders_starved(kb: KnowledgeBase) -> Iterator[Change]:
    """What an order hangs on is taken away: a rule before it, a limit, an answer, the question."""
    feeds = feeds_of_orders(kb)
    for rule in (kb.rules[r] for r in feeds.rules if not kb.rules[r].then.stop_work):
        yield f"{rule.id} deleted", replace(kb, rules={r: v for r, v in kb.rules.items() if r != rule.id})
    for calc in (kb.calculations[c] for c in feeds.calculations):
        for name, value in calc.constants.items():
            moved = {**calc.constants, name: value * 10 + 1}
            yield f"{calc.id} with another {name}", changed(kb, "calculations", calc.id, constants=moved)
    for check in (kb.checks[c] for c in feeds.checks):
        only = {**check.only_if, "role": ("technician",)}
        yield f"{check.id} asked less", changed(kb, "checks", check.id, only_if=only)
        for option in islice(check.options, 1, None):
            fewer = {o: says for o, says in check.options.items() if o != option}
            yield f"{check.id} without {option}", changed(kb, "checks", check.id, options=fewer)


def questions_skipped(kb: KnowledgeBase) -> Iterator[Change]:
    opening = {*kb.settings.opening, kb.settings.made_safe_check}
    for rule in kb.rules.values():
        if not rule.then.stop_work and "when_it_happens" not in rule.when:
            skip = {**rule.then.settle, **dict.fromkeys(opening, "skip")}
            yield f"{rule.id} skips the opening", changed(kb, "rules", rule.id, then=replace(rule.then, settle=skip))
    for name in kb.settings.opening:
        fewer = tuple(c for c in kb.settings.opening if c != name)
        yield f"{name} not asked first", replace(kb, settings=replace(kb.settings, opening=fewer))


def callers_told_more(kb: KnowledgeBase) -> Iterator[Change]:
    for cause in kb.causes.values():
        if cause.caller:
            more = replace(cause.caller, steps=(*cause.caller.steps, "Push it shut by hand."))
            yield f"{cause.id} pushed shut", changed(kb, "causes", cause.id, caller=more)
            if cause.caller.cautions:
                bare = replace(cause.caller, cautions=())
                yield f"{cause.id} told without cautions", changed(kb, "causes", cause.id, caller=bare)
    yield "nothing said before", replace(kb, settings=replace(kb.settings, caller_before=""))
    yield "nothing said after", replace(kb, settings=replace(kb.settings, caller_after=""))
    for complaint in kb.complaints.values():
        yield f"{complaint.id}: nothing until help comes", changed(kb, "complaints", complaint.id, meanwhile=())


def mains_by_anybody(kb: KnowledgeBase) -> Iterator[Change]:
    """Access and tools dropped too, so that only the words say what it is."""
    for check in kb.checks.values():
        if check.who == "electrician":
            plain = {"who": "technician", "access": "", "tools": ()}
            yield f"{check.id} by anybody", changed(kb, "checks", check.id, **plain)
    for cause in kb.causes.values():
        if cause.remedy.who == "electrician":
            yield f"{cause.id} by anybody", remedied(kb, cause.id, who="technician", access="", tools=())


def lints_blinded(kb: KnowledgeBase) -> Iterator[Change]:
    for section in ("dangers", "duties"):
        for name in getattr(kb, section):
            yield f"{name} without words", changed(kb, section, name, words="(?!)")
            spared = {**getattr(kb, section)[name].spared, "mains_lost": "so"}
            yield f"{name} spares more", changed(kb, section, name, spared=spared)
    for hearing in kb.heard.values():
        if hearing.id == "danger":
            for option in hearing.options:
                fewer = {o: p for o, p in hearing.options.items() if o != option}
                yield f"{option} not heard", changed(kb, "heard", hearing.id, options=fewer)


WAYS: tuple[Way, ...] = (
    rules_deleted, orders_taken_out, electricians_made_technicians, proofs_emptied, marks_removed, cautions_emptied,
    words_emptied, orders_starved, questions_skipped, callers_told_more, mains_by_anybody, lints_blinded,
)  # fmt: skip


def _by_lints(kb: KnowledgeBase) -> bool:
    return any(True for lint in LINTS for _ in lint(kb))


def measured(most: int = 40) -> Iterator[str]:
    """A line a way: how many the register sees, and of up to `most`, evenly spread, how many the lints see alone."""
    register, seen, tried, linted, sampled = safety_of(knowledge()), 0, 0, 0, 0
    for way in WAYS:
        changes = list(way(knowledge()))
        by_register = sum(any(True for _ in weakened(register, safety_of(kb))) for _, kb in changes)
        sample = changes[:: max(1, len(changes) // most)][:most]
        by_lints = sum(_by_lints(kb) for _, kb in sample)
        seen, tried = seen + by_register, tried + len(changes)
        linted, sampled = linted + by_lints, sampled + len(sample)
        yield f"{way.__name__}: register {by_register} of {len(changes)}, lints alone {by_lints} of {len(sample)}"
    yield f"all: register {seen} of {tried}, lints alone {linted} of {sampled}"


if __name__ == "__main__":
    for line in measured():
        print(line, flush=True)
