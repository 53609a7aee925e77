"""What a cause can show and be noticed by, of its own account and through its effects, whatever way it takes."""

from collections.abc import Iterable, Mapping

from diagnose.model.knowledge import Cause, Effect, KnowledgeBase, Strength


def effects_of(kb: KnowledgeBase, cause: Cause) -> frozenset[str]:
    """Every effect that the cause can bring, straight or through another."""
    found = set[str]()
    open_ = [*cause.brings, *(e for way in cause.one_of.values() for e in way.brings)]
    while open_:
        effect = open_.pop()
        if effect not in found:
            found.add(effect)
            open_ += (*steps_of(kb.effects[effect]), *filter(None, [kb.effects[effect].at_rest]))
    return frozenset(found)


def steps_of(effect: Effect) -> Iterable[str]:
    """The effects that this one may bring, by a step or by a fact of the profile."""
    gives = effect.calculated.gives.values() if effect.calculated else ()
    return (*effect.brings, *(e for given in gives for e in given))


def bearing(kb: KnowledgeBase, cause: Cause) -> frozenset[str]:
    """The findings that the cause can change."""
    return frozenset(cause.signs).union(*(kb.effects[e].shows for e in effects_of(kb, cause)))


def complained_of(kb: KnowledgeBase, cause: Cause) -> Mapping[str, float]:
    """Complaint -> its weight: of the cause itself, else the largest of what it may bring."""
    words, found = kb.scales.complaint, dict[str, float]()
    for effect in effects_of(kb, cause):
        found |= {c: max(words[w], found.get(c, 0.0)) for c, w in kb.effects[effect].complaints.items()}
    return found | {c: words[w] for c, w in cause.complaints.items()}


def shown_states(kb: KnowledgeBase, cause: Cause, finding: str) -> Mapping[str, float]:
    """State of a finding -> how often the cause shows it at most, alone and at a visit where it is there."""
    shows = (cause.signs.get(finding, {}), *(kb.effects[e].shows.get(finding, {}) for e in effects_of(kb, cause)))
    found: dict[str, float] = {}
    for shown in shows:
        found |= {state: max(_number(kb, how), found.get(state, 0.0)) for state, how in shown.items()}
    return found


def _number(kb: KnowledgeBase, strength: Strength) -> float:
    return kb.scales.strength[strength] if isinstance(strength, str) else float(strength)
