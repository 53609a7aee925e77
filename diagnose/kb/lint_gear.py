"""Lints over whose an entry is: the site's or a device's."""

from diagnose.core.belongs import Belongs, strays
from diagnose.kb.domain import answers_of
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.gear import JOBS
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say


def site(kb: KnowledgeBase) -> Found:
    """What the site has once refers to no device without saying which."""
    for here, name in strays(Belongs(kb)):
        yield here, say("knowledge.device_not_named", name=name)


def jobs(kb: KnowledgeBase) -> Found:
    for effect in kb.effects.values():
        yield from unknown(("effects", effect.id, "job"), filter(None, [effect.job]), JOBS, "job")
    for check in kb.checks.values():
        here = ("checks", check.id, "each")
        yield from unknown(here, check.each, answers_of(check), "answer")
        yield from unknown(here, filter(None, check.each.values()), JOBS, "job")
        if check.each and check.of == "device":
            yield here, say("knowledge.each_of_device")


def others(kb: KnowledgeBase) -> Found:
    """What a finding shows while the cause is at another device is one of its states."""
    for finding in kb.findings.values():
        here = ("checks", finding.check, "finding", "others")
        yield from unknown(here, finding.others, finding.states, "state")


LINTS = (site, jobs, others)
