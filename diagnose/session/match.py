"""A caller's free words -> the complaints they sound most like. Shown for choosing, never chosen for the person."""

import math
from collections import Counter
from collections.abc import Mapping

from diagnose.hear.reader import listener_of
from diagnose.model.bearing import complained_of
from diagnose.model.knowledge import KnowledgeBase

ALMOST_THE_SAME = 0.9  # cosine
CLEARLY_NEAR = 0.6  # no line that names a place or devices comes so near
Vector = Mapping[str, float]


def match_complaint(kb: KnowledgeBase, words: str, most: int = 3) -> list[str]:
    """Complaint ids, best first: one told in the knowledge's own words, those that phrases speak for, those of the
    nearest wording."""
    near = _nearest(kb, words)
    same = [c for c in near if near[c] > ALMOST_THE_SAME]
    heard = [c for c, _ in listener_of(kb).read(words).complaints if c in kb.complaints]
    return list(dict.fromkeys((*same, *heard, *near)))[:most]


def complains(kb: KnowledgeBase, words: str) -> bool:
    """Whether words typed at another question tell of the trouble instead: a complaint, a danger, something seen."""
    heard = listener_of(kb).read(words)
    return (
        any((heard.complaints, heard.dangers, heard.facts))
        or max(_nearest(kb, words).values(), default=0.0) > CLEARLY_NEAR
    )


def _nearest(kb: KnowledgeBase, words: str) -> dict[str, float]:
    """Complaint -> how near its nearest wording is, nearest first, by character trigrams weighted tf-idf."""
    phrases = [(c.id, p) for c in kb.complaints.values() for p in (c.says, *c.caller_says)]
    grams = [(complaint, Counter(_trigrams(phrase))) for complaint, phrase in phrases]
    spread = Counter(g for _, counts in grams for g in counts)
    rarity = {g: math.log(1 + len(grams) / n) for g, n in spread.items()}
    query = _vector(Counter(_trigrams(words)), rarity)
    best: dict[str, float] = {}
    for complaint, counts in grams:
        best[complaint] = max(best.get(complaint, 0.0), _cosine(query, _vector(counts, rarity)))
    return {c: best[c] for c in sorted(best, key=lambda c: (-best[c], c)) if best[c] > 0.05}


def by_commonness(kb: KnowledgeBase) -> list[str]:
    """Complaint ids, the ones heard most often first: frequency of each cause times its words for the complaint."""
    scales, weight = kb.scales, dict.fromkeys(kb.complaints, 0.0)
    for cause in kb.causes.values():
        words = complained_of(kb, cause)
        total = sum(words.get(c, scales.complaint_floor) for c in weight)
        for complaint, word in words.items():
            weight[complaint] += scales.frequency[cause.common] * word / total
    return sorted(weight, key=lambda c: (-weight[c], c))


def _trigrams(text: str) -> list[str]:
    padded = " ".join(["", *"".join(c if c.isalnum() else " " for c in text.casefold()).split(), ""])
    return [padded[i : i + 3] for i in range(len(padded) - 2)]


def _vector(counts: Mapping[str, int], rarity: Mapping[str, float]) -> Vector:
    return {g: n * rarity[g] for g, n in counts.items() if g in rarity}


def _cosine(a: Vector, b: Vector) -> float:
    dot = sum(weight * b[g] for g, weight in a.items() if g in b)
    size = math.sqrt(sum(w * w for w in a.values()) * sum(w * w for w in b.values()))
    return dot / size if size else 0.0
