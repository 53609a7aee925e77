"""Lints over causes, findings, and what they share."""

from collections.abc import Iterable, Iterator, Mapping

from diagnose.model.knowledge import Cause, Finding, KnowledgeBase, Strength
from diagnose.words import say

Found = Iterator[tuple[tuple[str | int, ...], str]]


def unknown(path: tuple[str | int, ...], names: Iterable[str], known: Iterable[str], what: str) -> Found:
    """A problem for every name that is not known."""
    pool = set(known)
    for name in names:
        if name not in pool:
            yield path, say("knowledge.not_defined", what=say(f"knowledge.a_{what}"), name=name)


def number(strength: Strength, kb: KnowledgeBase) -> float | None:
    """A strength as a probability, or None where the word is unknown."""
    return kb.scales.strength.get(strength) if isinstance(strength, str) else strength


def references(kb: KnowledgeBase) -> Found:
    for cause in kb.causes.values():
        here = ("causes", cause.id)
        yield from unknown((*here, "complaints"), cause.complaints, kb.complaints, "complaint")
        yield from unknown((*here, "complaints"), cause.complaints.values(), kb.scales.complaint, "complaint_word")
        yield from unknown((*here, "common"), [cause.common], kb.scales.frequency, "frequency_word")
        yield from unknown((*here, "family"), [cause.family], kb.families, "family")
        yield from unknown((*here, "devices"), cause.devices, kb.kinds, "kind_or_trait_of_sensor")
        yield from unknown((*here, "source"), [cause.source], kb.sources, "source")
        yield from unknown((*here, "cautions"), cause.cautions, kb.cautions, "caution")
        yield from unknown((*here, "inseparable_from"), cause.inseparable_from, kb.causes, "cause")
        yield from _remedy(cause, kb)


def families(kb: KnowledgeBase) -> Found:
    for family in kb.families.values():
        yield from unknown(("families", family.id, "link"), [family.link], kb.links, "link")
    for name in ("outside_cause", "designed_cause"):
        yield from unknown(("settings", name), [getattr(kb.settings, name)], kb.causes, "cause")


def _remedy(cause: Cause, kb: KnowledgeBase) -> Found:
    here, remedy = ("causes", cause.id, "remedy"), cause.remedy
    yield from unknown((*here, "access"), filter(None, [remedy.access]), kb.access, "access_group")
    yield from unknown((*here, "tools"), remedy.tools, kb.tools, "tool")
    yield from unknown((*here, "cautions"), remedy.cautions, kb.cautions, "caution")
    yield from unknown((*here, "touches"), remedy.touches, kb.proofs, "proof")
    if not remedy.steps:
        yield here, say("knowledge.a_remedy_needs_steps")
    if not cause.proof.strip():
        yield ("causes", cause.id), say("knowledge.a_cause_needs_a_proof")


def signs(kb: KnowledgeBase) -> Found:
    for cause in kb.causes.values():
        for finding_id, shown in cause.signs.items():
            here = ("causes", cause.id, "signs", finding_id)
            if finding := kb.findings.get(finding_id):
                yield from distribution(here, shown, finding, kb)
            else:
                yield here, say("knowledge.no_finding", name=finding_id)


def leaks(kb: KnowledgeBase) -> Found:
    for finding in kb.findings.values():
        here = ("checks", finding.check, "finding")
        yield from distribution((*here, "leak"), finding.leak, finding, kb)
        if len(finding.states) < 2:
            yield (*here, "states"), say("knowledge.two_states")


def distribution(
    here: tuple[str | int, ...], shown: Mapping[str, Strength], finding: Finding, kb: KnowledgeBase
) -> Found:
    first = next(iter(finding.states), "")
    total = 0.0
    for state, strength in shown.items():
        value = number(strength, kb)
        if state not in finding.states or state == first:
            later = ", ".join(list(finding.states)[1:])
            yield (*here, state), say("knowledge.wrong_state", state=state, known=later)
        if value is None:
            yield (*here, state), say("knowledge.no_strength", strength=strength)
        elif not 0.0 < value < 1.0:
            yield (*here, state), say("knowledge.wrong_strength", value=value)
        total += value or 0.0
    if (total > 0.9975 and len(shown) > 1) or total >= 1.0:
        yield here, say("knowledge.strengths_full", total=f"{total:.3f}", first=first)


def separable(kb: KnowledgeBase) -> Found:
    """Two causes that show every finding alike can never be told apart."""
    seen: dict[object, str] = {}
    for cause in kb.causes.values():
        own = ((f, frozenset((s, number(p, kb)) for s, p in shown.items())) for f, shown in cause.signs.items())
        ways = ((w.share, tuple(w.brings.items())) for w in cause.one_of.values())
        key = (frozenset(own), frozenset(cause.brings.items()), frozenset(ways))
        other = seen.setdefault(key, cause.id)
        if (
            other != cause.id
            and other not in cause.inseparable_from
            and cause.id not in kb.causes[other].inseparable_from
        ):
            yield ("causes", cause.id, "signs"), say("knowledge.same_signs", other=other)


LINTS = (references, families, signs, leaks, separable)
