"""Causes, effects and findings -> the flat tables of the network."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from diagnose.core.alike import alike
from diagnose.core.chain import Links, Track, seen, ways_of
from diagnose.core.network import FindingTable, Floats, Indices, Network
from diagnose.core.pairs import Crossings, crossings, in_step, there_alone
from diagnose.model.gear import at, device_of
from diagnose.model.knowledge import Cause, Finding, KnowledgeBase, Strength
from diagnose.model.settings import Scales
from diagnose.model.visit import Value


@dataclass(frozen=True)
class Columns:
    """Every way in which each cause shows itself.

    `causes[i]` is the cause of a column, `shown[i]` what of it shows when somebody looks, and `ways[i]` the ways that
    come to this, each with its share of the cases.
    """

    links: Links
    causes: tuple[Cause, ...]
    shown: tuple[Track, ...]
    ways: tuple[tuple[tuple[float, Track], ...], ...]

    @cached_property
    def kinds(self) -> tuple[Track, ...]:
        """What the columns show, each once."""
        return tuple(dict.fromkeys(self.shown))

    @cached_property
    def shares(self) -> tuple[float, ...]:
        """(n,): how often the cause of each column takes it."""
        return tuple(sum(share for share, _ in ways) for ways in self.ways)

    @cached_property
    def kind_of(self) -> Indices:
        """(n,): which of `kinds` each column shows."""
        place = {track: i for i, track in enumerate(self.kinds)}
        return np.array([place[t] for t in self.shown], dtype=np.intp)

    @cached_property
    def by_kinds(self) -> Mapping[frozenset[str], list[int]]:
        """Kinds of device that a cause is of -> its columns, with all others of the same kinds."""
        found: dict[frozenset[str], list[int]] = {}
        for i, cause in enumerate(self.causes):
            found.setdefault(frozenset(cause.devices), []).append(i)
        return found

    @cached_property
    def alone(self) -> NDArray[np.bool_]:
        """(effects, kinds): which effects are there when one kind is, in the order of the chain."""
        return there_alone(self.links, self.kinds)

    @cached_property
    def crossings(self) -> Crossings:
        """Where one kind masks something of another."""
        return crossings(self.links, self.kinds, self.alone)

    @cached_property
    def together(self) -> Floats | None:
        """(n+1, n+1): by how much more often two ways go together than independent ones; None where none differs."""
        if not any(kind.choices for kind in self.kinds):
            return None
        factors = in_step(self.kinds)
        full = np.ones((len(self.causes) + 1, len(self.causes) + 1))
        full[1:, 1:] = factors[np.ix_(self.kind_of, self.kind_of)]
        return full


def applicable(cause: Cause, devices: Sequence[str]) -> bool:
    """Whether the cause concerns any of the sensor kinds on site; everything does when they are not known."""
    return not cause.devices or not devices or any(d in cause.devices for d in devices)


def depends_on(kb: KnowledgeBase) -> frozenset[str]:
    """The facts that decide what some effect brings."""
    return frozenset(e.calculated.fact for e in kb.effects.values() if e.calculated)


def compile_network(
    kb: KnowledgeBase,
    devices: Sequence[str] = (),
    weights: Mapping[str, float] | None = None,
    values: Mapping[str, Value] | None = None,
) -> Network:
    """Network over the causes that concern the devices on site.

    `weights` gives learned relative frequencies per cause; without them the words of the knowledge count. `values`
    are the facts known, as far as effects depend on them.
    """
    causes = [c for c in kb.causes.values() if applicable(c, devices)]
    columns = columns_of(kb, causes, values or {})
    place = {cause.id: i for i, cause in enumerate(causes)}
    owners = tuple(place[c.id] for c in columns.causes) if len(columns.causes) > len(causes) else ()
    odds, tables = _odds(columns, causes, kb, weights or {}), _tables(columns, kb)
    return Network(
        tuple(c.id for c in causes),
        odds,
        _presenting(columns, kb),
        tables,
        kb.settings.temper,
        owners,
        columns.together,
        begins(columns),
    )


def columns_of(kb: KnowledgeBase, causes: Sequence[Cause], values: Mapping[str, Value]) -> Columns:
    """A column for all ways of a cause that show the same, in the order of the causes."""
    links = Links(kb, values)
    found: list[tuple[Cause, Track, tuple[tuple[float, Track], ...]]] = []
    for cause in causes:
        alike: dict[Track, tuple[tuple[float, Track], ...]] = {}
        for way in ways_of(links, cause):
            shows = seen(links, way[1])
            alike[shows] = (*alike.get(shows, ()), way)
        found += [(cause, shows, ways) for shows, ways in alike.items()]
    of, shown, ways_ = zip(*found, strict=True) if found else ((), (), ())
    return Columns(links, of, shown, ways_)


def strength(value: Strength, scales: Scales) -> float:
    """A word of the strength scale, or the number itself."""
    return scales.strength[value] if isinstance(value, str) else float(value)


def begins(columns: Columns) -> tuple[str, ...]:
    """(n,): the link at which the fault of each column starts, in the commonest of its ways; '' where at none."""
    kb = columns.links.kb
    shown = [name for name, link in kb.links.items() if link.short]
    places = {n: i for i, n in enumerate(shown) if not kb.gear or kb.links[n].of != "device" or device_of(n)}
    most = (max(ways, key=lambda way: way[0])[1] for ways in columns.ways)
    return tuple(_begins(kb, places, *each) for each in zip(columns.causes, most, strict=True))


def _begins(kb: KnowledgeBase, places: Mapping[str, int], cause: Cause, way: Track) -> str:
    """Where the cause is, by its family, unless it shows at an earlier link of the chain.

    What is the site's and shows at several devices at once starts at none of them.
    """
    family, device = kb.families[cause.family].link, device_of(cause.id)
    there = {link for e in way.starts if (link := kb.effects[e].link) in places}
    near = {link for link in there if device_of(link) == device} or (there if len(there) == 1 else set())
    own = next((link for link in (at(family, device), family) if link in places), "")
    return own if own in near else min(filter(None, (own, *near)), key=places.__getitem__, default="")


def _odds(columns: Columns, causes: Sequence[Cause], kb: KnowledgeBase, weights: Mapping[str, float]) -> Floats:
    common = {c.id: weights.get(c.id, kb.scales.frequency[c.common]) for c in causes}
    total = sum(common.values())
    spread = 1.0 - sum((common[c] / total) ** 2 for c in common)
    scale = 2.0 * kb.settings.two_fault_odds / spread if spread > 0 else 1.0
    ways = zip(columns.causes, columns.shares, strict=True)
    return np.array([1.0, *(scale * common[cause.id] / total * share for cause, share in ways)])


def _presenting(columns: Columns, kb: KnowledgeBase) -> Mapping[str, Floats]:
    felt = _felt(columns)
    rows = [
        sum(share * _shares(cause, felt[track], kb) for share, track in ways) / sum(share for share, _ in ways)
        for cause, ways in zip(columns.causes, columns.ways, strict=True)
    ]
    shares = np.array([np.zeros(len(kb.complaints)), *rows])
    return dict(zip(kb.complaints, np.ascontiguousarray(shares.T), strict=True))


def _felt(columns: Columns) -> Mapping[Track, frozenset[str]]:
    """The effects that are there in each way, resting or not: what people complain of, they have met."""
    tracks = list(dict.fromkeys(track for ways in columns.ways for _, track in ways))
    there = there_alone(columns.links, tracks) if tracks else np.zeros((0, 0), dtype=bool)
    order = np.array(columns.links.order)
    return {track: frozenset(order[there[:, i]].tolist()) for i, track in enumerate(tracks)}


def _shares(cause: Cause, there: Iterable[str], kb: KnowledgeBase) -> Floats:
    """How often the cause is reported with each complaint: what it says itself goes before what its effects say."""
    floor, words = kb.scales.complaint_floor, kb.scales.complaint
    weight: dict[str, float] = {}
    for effect in (kb.effects[e] for e in there):
        weight |= {c: max(words[word], weight.get(c, 0.0)) for c, word in effect.complaints.items()}
    weight |= {c: words[word] for c, word in cause.complaints.items()}
    weights = [weight.get(c, floor) for c in kb.complaints]
    return np.array(weights) / sum(weights)


def cumulative(shown: Mapping[str, Strength], states: Sequence[str], scales: Scales) -> Floats:
    """Distribution given for the states after the first -> cumulative over all states, shape (K,)."""
    above, found = 0.0, [1.0]
    for state in reversed(states[1:]):
        above += strength(shown[state], scales) if state in shown else 0.0
        found.append(1.0 - above)
    return np.array(found[::-1])


def _tables(columns: Columns, kb: KnowledgeBase) -> Mapping[str, FindingTable]:
    signed = _signed(columns)
    showing = _showing(columns.links)
    return {f.id: _table(f, columns, signed.get(f.id, ()), showing.get(f.id, ())) for f in kb.findings.values()}


def _signed(columns: Columns) -> Mapping[str, list[int]]:
    """For each finding the columns whose cause shows it of its own account."""
    found: dict[str, list[int]] = {}
    for i, cause in enumerate(columns.causes):
        for finding in cause.signs:
            found.setdefault(finding, []).append(i)
    return found


def _showing(links: Links) -> Mapping[str, list[int]]:
    """For each finding the places of the effects that show it."""
    found: dict[str, list[int]] = {}
    for i, effect in enumerate(links.order):
        for finding in links.kb.effects[effect].shows:
            found.setdefault(finding, []).append(i)
    return found


def _table(finding: Finding, columns: Columns, signed: Sequence[int], effects: Sequence[int]) -> FindingTable:
    states, scales = tuple(finding.states), columns.links.kb.scales
    leak = cumulative(finding.leak, states, scales)
    kinds, both = shown_by_kinds(finding, columns, effects)
    effect_of = np.concatenate([[0], kinds[columns.kind_of]]) if columns.causes else np.zeros(1, dtype=np.intp)
    signs = [columns.causes[i].signs[finding.id] for i in signed]
    own, own_of = _signs([cumulative(sign, states, scales) for sign in signs], len(states))
    sign_of = np.zeros(len(effect_of), dtype=np.intp)
    sign_of[[i + 1 for i in signed]] = own_of
    away = [i + 1 for i in elsewhere(finding, columns)]
    effect_of[away] = sign_of[away] = 0
    return FindingTable(finding.id, states, leak, *_with_signs(effect_of, sign_of, both, own))


def _signs(each: Sequence[Floats], states: int) -> tuple[Floats, list[int]]:
    """What columns show of their own account -> (signs, K) every such distribution once, the first shows nothing, and
    which of them each has."""
    numbers = {np.ones(states).tobytes(): 0}
    own_of = [numbers.setdefault(sign.tobytes(), len(numbers)) for sign in each]
    return np.array([np.frombuffer(sign) for sign in numbers]), own_of


def _with_signs(effect_of: Indices, sign_of: Indices, both: Floats, own: Floats) -> tuple[Indices, Floats]:
    """Groups by effects (n+1,) and by signs (n+1,) -> groups by both, with what two of them show at once."""
    found, groups = np.unique(effect_of * len(own) + sign_of, return_inverse=True)
    by_effect, by_sign = np.divmod(found, len(own))
    shown = own[by_sign].T
    return groups.ravel(), both[:, by_effect][:, :, by_effect] * shown[:, :, None] * shown[:, None, :]


def elsewhere(finding: Finding, columns: Columns) -> list[int]:
    """The columns whose cause is one of another kind of device than those that the finding is looked for at."""
    check = columns.links.kb.checks.get(finding.check)
    kinds = frozenset(check.devices) if check else frozenset()
    return [i for of, at in columns.by_kinds.items() if kinds and of and kinds.isdisjoint(of) for i in at]


def shown_by_kinds(finding: Finding, columns: Columns, effects: Sequence[int]) -> tuple[Indices, Floats]:
    """Kinds that are alike for this finding -> (kinds,) group of each, and (K, groups, groups), cumulative, what the
    effects of two groups show at once. Those of group 0 bear on it in no way."""
    states, kb = tuple(finding.states), columns.links.kb
    if not effects or not columns.kinds:
        return np.zeros(len(columns.kinds), dtype=np.intp), np.ones((len(states), 1, 1))
    groups, there = alike(columns.alone, columns.crossings, np.asarray(effects))
    shows = [kb.effects[columns.links.order[i]].shows[finding.id] for i in effects]
    logs = np.log(np.maximum([cumulative(s, states, kb.scales) for s in shows], 1e-12))  # (effects, K)
    return groups, np.exp(np.tensordot(logs.T, there.astype(float), axes=1))
