"""Lints over the signal chain: what effects show and bring, and which effects causes have."""

from collections.abc import Iterable, Iterator, Mapping

from diagnose.core.chain import Links, ways_of
from diagnose.kb.domain import fact_domain
from diagnose.kb.lint_causes import Found, distribution, number, unknown
from diagnose.model.knowledge import Calculated, Cause, Effect, KnowledgeBase, Strength
from diagnose.words import say

MOST_WAYS = 12  # columns of one cause; more say that something uncertain should be a finding of its own


def references(kb: KnowledgeBase) -> Found:
    for effect in kb.effects.values():
        here = ("effects", effect.id)
        yield from unknown((*here, "link"), [effect.link], kb.links, "link")
        yield from unknown((*here, "hides"), effect.hides, kb.links, "link")
        yield from unknown((*here, "blocks"), effect.blocks, kb.links, "link")
        yield from unknown((*here, "at_rest"), filter(None, [effect.at_rest]), kb.effects, "effect")
        yield from unknown((*here, "source"), [effect.source], kb.sources, "source")
        yield from unknown((*here, "complaints"), effect.complaints, kb.complaints, "complaint")
        yield from unknown((*here, "complaints"), effect.complaints.values(), kb.scales.complaint, "complaint_word")
        yield from _brings((*here, "brings"), effect.brings, kb)
        if effect.calculated:
            yield from _calculated((*here, "calculated"), effect.calculated, kb)


def _brings(here: tuple[str | int, ...], brings: Mapping[str, Strength], kb: KnowledgeBase) -> Found:
    yield from unknown(here, brings, kb.effects, "effect")
    for to, strength in brings.items():
        value = number(strength, kb)
        if value is None:
            yield (*here, to), say("knowledge.no_strength", strength=strength)
        elif not 0.0 < value < 1.0:
            yield (*here, to), say("knowledge.wrong_strength", value=value)


def _calculated(here: tuple[str | int, ...], calculated: Calculated, kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    yield from unknown((*here, "fact"), [calculated.fact], domain, "fact")
    yield from unknown((*here, "gives"), calculated.gives, domain.get(calculated.fact, calculated.gives), "value")
    yield from unknown((*here, "unknown"), calculated.unknown, calculated.gives, "given")
    for word, brings in calculated.gives.items():
        yield from _brings((*here, "gives", word), brings, kb)
    if not calculated.unknown or min(calculated.unknown.values()) <= 0:
        yield (*here, "unknown"), say("knowledge.no_shares")


def one_fact(kb: KnowledgeBase) -> Found:
    """What is not known of a profile is equally often so wherever it decides something: it is one contact."""
    first: dict[str, Mapping[str, float]] = {}
    for effect in kb.effects.values():
        if effect.calculated:
            fact, shares = effect.calculated.fact, effect.calculated.unknown
            if first.setdefault(fact, shares) != shares:
                yield ("effects", effect.id, "calculated", "unknown"), say("knowledge.other_shares", fact=fact)


def shows(kb: KnowledgeBase) -> Found:
    for effect in kb.effects.values():
        for finding, shown in effect.shows.items():
            here = ("effects", effect.id, "shows", finding)
            if known := kb.findings.get(finding):
                yield from distribution(here, shown, known, kb)
            else:
                yield here, say("knowledge.no_finding", name=finding)


def order(kb: KnowledgeBase) -> Found:
    """Effects bring effects at their own link or a later one, and nothing brings itself."""
    place = {link: i for i, link in enumerate(kb.links)}
    for effect in kb.effects.values():
        for to in _further(effect, kb):
            if place.get(kb.effects[to].link, 0) < place.get(effect.link, 0):
                yield (
                    ("effects", effect.id),
                    say("knowledge.goes_back", to=to, link=effect.link),
                )
        if effect.id in reached(effect, kb):
            yield ("effects", effect.id), say("knowledge.brings_itself", effect=effect.id)


def _further(effect: Effect, kb: KnowledgeBase) -> Iterator[str]:
    gives: Iterable[Mapping[str, Strength]] = effect.calculated.gives.values() if effect.calculated else ()
    return (to for brings in (effect.brings, *gives) for to in brings if to in kb.effects)


def reached(effect: Effect, kb: KnowledgeBase) -> set[str]:
    found, open_ = set[str](), list(_further(effect, kb))
    while open_:
        if (to := open_.pop()) not in found:
            found.add(to)
            open_ += _further(kb.effects[to], kb)
    return found


def causes(kb: KnowledgeBase) -> Found:
    for cause in kb.causes.values():
        here = ("causes", cause.id)
        yield from _brings((*here, "brings"), cause.brings, kb)
        for name, way in cause.one_of.items():
            yield from _brings((*here, "one_of", name, "brings"), way.brings, kb)
            if way.share <= 0:
                yield (*here, "one_of", name), say("knowledge.share_above_0")
        if len(cause.one_of) == 1:
            yield (*here, "one_of"), say("knowledge.one_of_one")


def ways(kb: KnowledgeBase) -> Found:
    """What each cause comes to; only where the chain itself is in order."""
    if any(True for lint in (references, order, causes) for _ in lint(kb)):
        return
    links = Links(kb, {})
    for cause in kb.causes.values():
        yield from _ways(cause, links)


def _ways(cause: Cause, links: Links) -> Found:
    tracks = ways_of(links, cause)
    most = MOST_WAYS * max(1, len(links.kb.gear))  # what is the site's may show at one device or another
    if len(tracks) > most:
        says = say("knowledge.too_many_ways", ways=len(tracks), most=most)
        yield ("causes", cause.id), says
    begun = {e for _, track in tracks for e in track.starts}
    reached = begun.union(*(links.reach[e] for e in begun))
    if not cause.signs and not any(links.kb.effects[e].shows for e in reached):
        yield ("causes", cause.id, "signs"), say("knowledge.no_signs")
    outside = links.kb.settings.outside_cause
    noticed = cause.complaints or cause.id == outside or outside not in links.kb.causes
    if not noticed and not any(links.kb.effects[e].complaints for e in reached):
        yield ("causes", cause.id), say("knowledge.never_noticed")


LINTS = (references, one_fact, shows, order, causes, ways)
