"""Lints over the signal chain: what effects show and bring, and which effects causes have."""

from collections.abc import Iterable, Iterator, Mapping

from diagnose.core.chain import Links, ways_of
from diagnose.kb.domain import fact_domain
from diagnose.kb.lint_causes import Found, distribution, number, unknown
from diagnose.model.knowledge import Calculated, Cause, Effect, KnowledgeBase, Strength

MOST_WAYS = 12  # columns of one cause; more say that something uncertain should be a finding of its own


def references(kb: KnowledgeBase) -> Found:
    for effect in kb.effects.values():
        here = ("effects", effect.id)
        yield from unknown((*here, "link"), [effect.link], kb.links, "link")
        yield from unknown((*here, "hides"), effect.hides, kb.links, "link")
        yield from unknown((*here, "source"), [effect.source], kb.sources, "source")
        yield from unknown((*here, "complaints"), effect.complaints, kb.complaints, "complaint")
        yield from unknown((*here, "complaints"), effect.complaints.values(), kb.scales.complaint, "complaint word")
        yield from _brings((*here, "brings"), effect.brings, kb)
        if effect.calculated:
            yield from _calculated((*here, "calculated"), effect.calculated, kb)


def _brings(here: tuple[str | int, ...], brings: Mapping[str, Strength], kb: KnowledgeBase) -> Found:
    yield from unknown(here, brings, kb.effects, "effect")
    for to, strength in brings.items():
        value = number(strength, kb)
        if value is None:
            yield (*here, to), f"strength word '{strength}' is not in scales.strength"
        elif not 0.0 < value < 1.0:
            yield (*here, to), f"strength {value}: use a number strictly between 0 and 1 (0.005 to 0.995)"


def _calculated(here: tuple[str | int, ...], calculated: Calculated, kb: KnowledgeBase) -> Found:
    domain = fact_domain(kb)
    yield from unknown((*here, "fact"), [calculated.fact], domain, "fact")
    yield from unknown((*here, "gives"), calculated.gives, domain.get(calculated.fact, calculated.gives), "value")
    yield from unknown((*here, "unknown"), calculated.unknown, calculated.gives, "value under 'gives'")
    for word, brings in calculated.gives.items():
        yield from _brings((*here, "gives", word), brings, kb)
    if not calculated.unknown or min(calculated.unknown.values()) <= 0:
        yield (*here, "unknown"), "say how often each value is the case where the fact is not known, above 0"


def shows(kb: KnowledgeBase) -> Found:
    for effect in kb.effects.values():
        for finding, shown in effect.shows.items():
            here = ("effects", effect.id, "shows", finding)
            if known := kb.findings.get(finding):
                yield from distribution(here, shown, known, kb)
            else:
                yield here, f"finding '{finding}' is not defined"


def order(kb: KnowledgeBase) -> Found:
    """Effects bring effects at their own link or a later one, and nothing brings itself."""
    place = {link: i for i, link in enumerate(kb.links)}
    for effect in kb.effects.values():
        for to in _further(effect, kb):
            if place.get(kb.effects[to].link, 0) < place.get(effect.link, 0):
                yield (
                    ("effects", effect.id),
                    f"'{to}' lies before '{effect.link}': effects go along the chain",
                )
        if effect.id in _reached(effect, kb):
            yield ("effects", effect.id), f"'{effect.id}' brings itself, by way of others"


def _further(effect: Effect, kb: KnowledgeBase) -> Iterator[str]:
    gives: Iterable[Mapping[str, Strength]] = effect.calculated.gives.values() if effect.calculated else ()
    return (to for brings in (effect.brings, *gives) for to in brings if to in kb.effects)


def _reached(effect: Effect, kb: KnowledgeBase) -> set[str]:
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
                yield (*here, "one_of", name), "a share must be above 0"
        if len(cause.one_of) == 1:
            yield (*here, "one_of"), "one of one: say it under 'brings'"


def ways(kb: KnowledgeBase) -> Found:
    """What each cause comes to; only where the chain itself is in order."""
    if any(True for lint in (references, order, causes) for _ in lint(kb)):
        return
    links = Links(kb, {})
    for cause in kb.causes.values():
        yield from _ways(cause, links)


def _ways(cause: Cause, links: Links) -> Found:
    tracks = ways_of(links, cause)
    if len(tracks) > MOST_WAYS:
        says = f"it can show itself in {len(tracks)} ways, more than {MOST_WAYS}: make fewer steps uncertain"
        yield ("causes", cause.id), says
    begun = {e for _, track in tracks for e in track.starts}
    reached = begun.union(*(links.reach[e] for e in begun))
    if not cause.signs and not any(links.kb.effects[e].shows for e in reached):
        yield ("causes", cause.id, "signs"), "no check can tell this cause from others; give it signs or effects"
    outside = links.kb.settings.outside_cause
    noticed = cause.complaints or cause.id == outside or outside not in links.kb.causes
    if not noticed and not any(links.kb.effects[e].complaints for e in reached):
        yield ("causes", cause.id), "nobody would notice this cause; give it complaints or effects that have some"


LINTS = (references, shows, order, causes, ways)
