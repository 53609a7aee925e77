"""Lints over the numbers that reasoning divides by, and over the sources of everything that carries a number."""

from collections.abc import Iterator

from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import KnowledgeBase
from diagnose.words import say


def ranges(kb: KnowledgeBase) -> Found:
    """Where a 0 would stop reasoning: certainty in advance, causes that never occur, work that takes no time."""
    for path, value, low, high in _numbers(kb):
        if not low < value < high:
            shown = {"name": path[-1], "value": f"{value:g}", "low": f"{low:g}", "high": f"{high:g}"}
            yield path, say("knowledge.too_small" if high == float("inf") else "knowledge.out_of_range", **shown)


def _numbers(kb: KnowledgeBase) -> Iterator[tuple[tuple[str, ...], float, float, float]]:
    scales, settings, endless = kb.scales, kb.settings, float("inf")
    for name in ("two_fault_odds", "specialist_minutes", "misfit_at"):
        yield ("settings", name), getattr(settings, name), 0.0, endless
    for name in ("slip", "unsure_slip", "caller_slip", "careless_slip", "botched_repair"):
        yield ("settings", name), getattr(settings, name), 0.0, 0.5
    yield ("settings", "conclude_at"), settings.conclude_at, 0.0, 1.0
    yield ("scales", "complaint_floor"), scales.complaint_floor, 0.0, endless
    for table in ("frequency", "complaint"):
        for word, weight in getattr(scales, table).items():
            yield ("scales", table, word), weight, 0.0, endless
    for word, strength in scales.strength.items():
        yield ("scales", "strength", word), strength, 0.0, 1.0
    for cause in kb.causes.values():
        yield ("causes", cause.id, "remedy", "minutes"), cause.remedy.minutes, 0.0, endless


def sources(kb: KnowledgeBase) -> Found:
    yield from unknown(("settings", "source"), [kb.settings.source], kb.sources, "source")
    yield from unknown(("scales", "source"), [kb.scales.source], kb.sources, "source")
    for complaint in kb.complaints.values():
        yield from unknown(("complaints", complaint.id, "source"), [complaint.source], kb.sources, "source")
    for finding in kb.findings.values():
        if finding.source != kb.checks[finding.check].source:
            here = ("checks", finding.check, "finding", "source")
            yield from unknown(here, [finding.source], kb.sources, "source")


LINTS = (ranges, sources)
