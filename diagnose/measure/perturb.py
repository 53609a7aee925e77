"""The knowledge base with its numbers disturbed, to see what wrong numbers cost.

Only strengths are touched: how often a cause or an effect shows a finding, how often a finding turns up by itself
(leak), how common a cause is, and how often it or an effect is reported with a complaint. Links stay where they are,
and so does how surely an effect is brought: a step that is no longer sure would be another way of the cause.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from diagnose.core.compile import strength
from diagnose.model.knowledge import Cause, Effect, Finding, KnowledgeBase, Strength

SEVEN_POINTS = (0.005, 0.15, 0.25, 0.5, 0.75, 0.85, 0.995)  # Renooij & Witteman (1999), the ends off 0 and 1
LEAST, MOST = 0.001, 0.999  # no noise makes anything certain
MOST_TOGETHER = 0.999  # of a finding's states after the first
Chance = Callable[[float], float]  # a probability -> a disturbed one
Weight = Callable[[str, Mapping[str, float]], float]  # a word of a scale of relative weights -> a disturbed weight
Disturbance = tuple[Chance, Weight]


def one_step(kb: KnowledgeBase, rng: np.random.Generator) -> Disturbance:
    """Every word one step up, one down, or as it is, equally likely; a plain number from the word nearest to it."""
    scale = sorted(kb.scales.strength.values())

    def moved(p: float) -> float:
        nearest = int(np.argmin([abs(p - s) for s in scale]))
        step = int(rng.integers(-1, 2))
        return p if not step else scale[min(max(nearest + step, 0), len(scale) - 1)]

    def weight(word: str, words: Mapping[str, float]) -> float:
        order = sorted(words.values())
        step = int(rng.integers(-1, 2))
        return order[min(max(order.index(words[word]) + step, 0), len(order) - 1)]

    return moved, weight


def log_odds_noise(kb: KnowledgeBase, rng: np.random.Generator, deviation: float) -> Disturbance:
    """Normal noise on the log-odds of every probability, and on the logarithm of every relative weight."""
    del kb

    def noisy(p: float) -> float:
        held = min(p, MOST)
        odds = held / (1.0 - held) * float(np.exp(rng.normal(0.0, deviation)))
        return min(max(odds / (1.0 + odds), LEAST), MOST)

    return noisy, lambda word, words: words[word] * float(np.exp(rng.normal(0.0, deviation)))


def snapped(kb: KnowledgeBase, rng: np.random.Generator) -> Disturbance:
    """Every probability to the nearest of seven points; relative weights are on a scale of their own already."""
    del kb, rng
    return lambda p: min(SEVEN_POINTS, key=lambda s: abs(s - p)), lambda word, words: words[word]


def perturbed(kb: KnowledgeBase, disturbance: Disturbance) -> KnowledgeBase:
    """The knowledge base with every strength, leak, frequency and complaint weight disturbed once."""
    chance, weight = disturbance
    scales = kb.scales
    frequency = {f"of {c.id}": weight(c.common, scales.frequency) for c in kb.causes.values()}
    felt: list[Cause | Effect] = [*kb.causes.values(), *kb.effects.values()]
    told = {
        _told_as(x)[complaint]: weight(word, scales.complaint)
        for x in felt
        for complaint, word in x.complaints.items()
    }
    return replace(
        kb,
        causes={i: _cause(kb, c, chance) for i, c in kb.causes.items()},
        effects={i: _effect(kb, e, chance) for i, e in kb.effects.items()},
        findings={i: _finding(kb, f, chance) for i, f in kb.findings.items()},
        scales=replace(scales, frequency={**scales.frequency, **frequency}, complaint={**scales.complaint, **told}),
    )


def _cause(kb: KnowledgeBase, cause: Cause, chance: Chance) -> Cause:
    return replace(
        cause,
        common=f"of {cause.id}",
        complaints=_told_as(cause),
        signs=_all_shown(kb, cause.signs, chance),
    )


def _effect(kb: KnowledgeBase, effect: Effect, chance: Chance) -> Effect:
    return replace(effect, complaints=_told_as(effect), shows=_all_shown(kb, effect.shows, chance))


def _told_as(felt: Cause | Effect) -> dict[str, str]:
    """A word of its own for each of its complaints, so that each can be moved by itself."""
    return {complaint: f"{type(felt).__name__} {felt.id} as {complaint}" for complaint in felt.complaints}


def _all_shown(
    kb: KnowledgeBase, signs: Mapping[str, Mapping[str, Strength]], chance: Chance
) -> Mapping[str, Mapping[str, Strength]]:
    return {finding: _shown(kb, shown, chance) for finding, shown in signs.items()}


def _finding(kb: KnowledgeBase, finding: Finding, chance: Chance) -> Finding:
    return replace(finding, leak=_shown(kb, finding.leak, chance))


def _shown(kb: KnowledgeBase, shown: Mapping[str, Strength], chance: Chance) -> Mapping[str, Strength]:
    """Disturbed, and scaled back where the states would exceed certainty together; a hard 0 stays what it is."""
    moved = {s: chance(p) if (p := strength(v, kb.scales)) > 0.0 else 0.0 for s, v in shown.items()}
    total = sum(moved.values())
    return {s: p * MOST_TOGETHER / total if total > MOST_TOGETHER else p for s, p in moved.items()}
