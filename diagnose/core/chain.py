"""Causes -> the ways each shows itself along the signal chain.

A cause brings effects, effects bring further effects at the same link or a later one. Steps that are all but sure
are taken as sure; every other step splits a way in two, and a fact of the profile that is not known splits it by what
the fact may be. So within one way nothing about the chain is uncertain, and what its effects show is independent.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from diagnose.model.bearing import steps_of
from diagnose.model.gear import plain
from diagnose.model.knowledge import Calculated, Cause, KnowledgeBase, Strength, Way
from diagnose.model.visit import Value

SURE = 0.95  # from here on a step counts as taken
LEAST_SHARE = 1e-4  # a way in fewer cases than this is not kept apart
Step = tuple[str, str]  # from an effect to what it brings
Choice = tuple[str, str, float]  # what was not certain, how this way has it, and the chance of that


@dataclass(frozen=True, slots=True)
class Track:
    """A way through the chain: the effects it starts with, every step it takes, and what it takes for granted.

    `rests`: the trouble is not there when somebody looks; then only what brings it on shows.
    """

    starts: frozenset[str]
    steps: frozenset[Step] = frozenset()
    choices: frozenset[Choice] = frozenset()
    rests: bool = False


@dataclass(frozen=True)
class Links:
    """The effects of a knowledge base in the order of the chain, with what is known of the profile."""

    kb: KnowledgeBase
    values: Mapping[str, Value]

    @cached_property
    def order(self) -> tuple[str, ...]:
        """Effects so that whatever brings, blocks or hides another comes before it."""
        place = {link: i for i, link in enumerate(self.kb.links)}
        depth = {e: self._depth(e) for e in self.kb.effects}
        return tuple(sorted(self.kb.effects, key=lambda e: (place[self.kb.effects[e].link], depth[e], e)))

    def _depth(self, effect: str) -> int:
        """How many steps within its own link come before it; what blocks the link comes first."""
        kb = self.kb
        inside = self._at_link[kb.effects[effect].link]
        before = [o for o, steps in inside.items() if effect in steps]
        return max((1 + self._depth(o) for o in before), default=0 if kb.effects[effect].blocks else 1)

    @cached_property
    def _at_link(self) -> Mapping[str, Mapping[str, frozenset[str]]]:
        """For each link its effects with everything that each brings next."""
        found: dict[str, dict[str, frozenset[str]]] = {}
        for name, effect in self.kb.effects.items():
            found.setdefault(effect.link, {})[name] = frozenset(steps_of(effect))
        return found

    def chance(self, strength: Strength) -> float:
        """A word of the strength scale, or the number itself."""
        return self.kb.scales.strength[strength] if isinstance(strength, str) else float(strength)

    @cached_property
    def place(self) -> Mapping[str, int]:
        links = {link: i for i, link in enumerate(self.kb.links)}
        return {e: links[effect.link] for e, effect in self.kb.effects.items()}

    @cached_property
    def reach(self) -> Mapping[str, frozenset[str]]:
        """Everything an effect can bring, itself included."""
        found: dict[str, frozenset[str]] = {}
        for effect in reversed(self.order):
            further = (found[o] for o in steps_of(self.kb.effects[effect]))
            found[effect] = frozenset({effect}).union(*further)
        return found


def ways_of(links: Links, cause: Cause) -> list[tuple[float, Track]]:
    """Every way in which the cause shows itself along the chain, with its share of the cases; shares sum to 1."""
    sets = [(way.share, {**cause.brings, **way.brings}) for way in _sets(cause)]
    there = [(share * p, track) for share, brings in sets for p, track in _from(links, brings)]
    found = [part for share, track in there for part in _at_rest(links, share, track)]
    total = sum(share for share, _ in found)
    kept = [(share, track) for share, track in found if share >= LEAST_SHARE * total]
    return [(share / sum(s for s, _ in kept), track) for share, track in kept]


def _sets(cause: Cause) -> tuple[Way, ...]:
    return tuple(cause.one_of.values()) or (Way(share=1.0, brings={}),)


def _at_rest(links: Links, share: float, track: Track) -> Iterator[tuple[float, Track]]:
    """A way while the trouble is there, and while it rests."""
    rests = max((links.kb.effects[e].rests for e in track.starts), default=0.0)
    yield share * (1.0 - rests), track
    if rests:
        yield share * rests, replace(track, rests=True)


def seen(links: Links, track: Track) -> Track:
    """What of a way shows when somebody looks; not what people complain of."""
    if not track.rests:
        return track
    effects = links.kb.effects
    place = max((e for e in track.starts), key=lambda e: effects[e].rests)
    there = {e for e in track.starts if effects[e].link == effects[place].link}
    return Track(frozenset({*there, *filter(None, [effects[place].at_rest])}))


def _from(links: Links, brings: Mapping[str, Strength]) -> list[tuple[float, Track]]:
    """The tracks that begin with some of these effects, each followed to its ends."""
    begun = [(chance, Track(frozenset(taken))) for chance, taken, _ in _branches(links, "", brings)]
    reached = frozenset[str]().union(*(links.reach[e] for e in brings))
    for effect in (e for e in links.order if e in reached):
        begun = [after for before in begun for after in _followed(links, effect, *before)]
    return begun


def _followed(links: Links, effect: str, share: float, track: Track) -> Iterator[tuple[float, Track]]:
    if effect not in track.starts and not any(b == effect for _, b in track.steps):
        yield share, track
        return
    for granted, gives in _readings(links, links.kb.effects[effect].calculated, track):
        for chance, taken, choices in _branches(links, effect, {**links.kb.effects[effect].brings, **gives}):
            steps = track.steps | {(effect, to) for to in taken}
            more = chance * (granted[2] if granted and granted not in track.choices else 1.0)
            chosen = track.choices | choices | ({granted} if granted else frozenset())
            yield share * more, Track(track.starts, steps, chosen)


Reading = tuple[Choice | None, Mapping[str, Strength]]


def _readings(links: Links, calculated: Calculated | None, track: Track) -> list[Reading]:
    """What follows from the profile's fact, or from each of its words where it is not known."""
    if calculated is None:
        return [(None, {})]
    word = links.values.get(calculated.fact)
    if isinstance(word, str) and word in calculated.gives:
        return [(None, calculated.gives[word])]
    total = sum(calculated.unknown.values())
    fact = plain(calculated.fact)  # one choice for all devices that it is not known of: they are wired alike
    may_be = [(fact, word, share / total) for word, share in calculated.unknown.items()]
    taken = [choice for choice in may_be if choice in track.choices]
    return [(choice, calculated.gives[choice[1]]) for choice in taken or may_be]


def _branches(
    links: Links, effect: str, brings: Mapping[str, Strength]
) -> list[tuple[float, tuple[str, ...], frozenset[Choice]]]:
    """Every combination of the steps that may or may not be taken, with its chance."""
    found: list[tuple[float, tuple[str, ...], frozenset[Choice]]] = [(1.0, (), frozenset())]
    for to, how in brings.items():
        if (p := links.chance(how)) >= SURE:
            found = [(share, (*taken, to), chosen) for share, taken, chosen in found]
            continue
        what = f"{effect}>{to}"
        found = [
            *((share * p, (*taken, to), chosen | {(what, "yes", p)}) for share, taken, chosen in found),
            *((share * (1.0 - p), taken, chosen | {(what, "no", 1.0 - p)}) for share, taken, chosen in found),
        ]
    return found


def active(links: Links, track: Track) -> frozenset[str]:
    """The effects that are really there on a track, or on two tracks at once, with blocking and hiding."""
    on: list[str] = []
    for effect in links.order:
        brought = [a for a, b in track.steps if b == effect and a in on and not _cut(links, on, a, b)]
        if (effect in track.starts or brought) and not _hidden(links, on, effect):
            on.append(effect)
    return frozenset(on)


def _cut(links: Links, on: Iterable[str], a: str, b: str) -> bool:
    """Whether an effect that is there blocks the step."""
    effects, place = links.kb.effects, links.place
    link = effects[a].link
    return any(link in effects[z].blocks and z not in (a, b) and place[z] <= place[b] for z in on)


def _hidden(links: Links, on: Iterable[str], effect: str) -> bool:
    """Whether something that is there leaves the effect nothing to act on."""
    link = links.kb.effects[effect].link
    return any(link in links.kb.effects[z].hides and effect not in links.reach[z] for z in on)
