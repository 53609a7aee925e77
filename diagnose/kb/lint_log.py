"""Lints over what a trip log says to a visit."""

from diagnose.kb.domain import answers_of
from diagnose.kb.lint_causes import Found, unknown
from diagnose.model.knowledge import KnowledgeBase

TELLERS = ("when", "compared")


def trip_log(kb: KnowledgeBase) -> Found:
    log, rain = kb.trip_log, kb.trip_log.outlasts_rain
    yield from _answers(kb, "when", log.when, log.vague)
    yield from _answers(kb, "no_pattern", log.compared, [log.no_pattern])
    yield from _answers(kb, "outlasts_rain", rain.check, [rain.stays, rain.stops])
    for name, pattern in log.patterns.items():
        here = ("trip_log", "patterns", name)
        for teller in TELLERS:
            told = filter(None, [getattr(pattern, teller)])
            yield from unknown((*here, teller), told, _options(kb, getattr(log, teller)), "answer")
        yield from unknown((*here, "causes"), pattern.causes, kb.causes, "cause")


def _answers(kb: KnowledgeBase, field: str, check: str, answers: list[str] | tuple[str, ...]) -> Found:
    yield from unknown(("trip_log", field), [check], kb.checks, "check")
    yield from unknown(("trip_log", field), answers, _options(kb, check), "answer")


def _options(kb: KnowledgeBase, check: str) -> set[str]:
    return answers_of(kb.checks[check]) if check in kb.checks else set()


LINTS = (trip_log,)
