"""Every record that is shown of a session, as plain values: of the presenter, and of its twin in the page."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from itertools import pairwise
from typing import Any

from playwright.sync_api import Page

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.present import (
    answers,
    cautions,
    conclusion,
    ending,
    looks,
    mending,
    notices,
    question,
    reasons,
    sheet,
    strip,
)
from diagnose.present.minutes import time_says
from diagnose.session.events import Event, to_plain
from diagnose.session.session import conclude
from diagnose.session.state import Session

PRESENTED = """([events, told]) => {
  const { kb, step, presented } = gateDiagnose;
  let session = null;
  for (const event of events) {
    try {
      session = step(kb, session, event);
    } catch {}
  }
  return presented(session, told);
}"""
LISTED = 6  # causes whose order shows in some record
TIED = 1e-6  # causes nearer than this may change places


def presented(tab: Page, events: Sequence[Event], told: Sequence[str]) -> dict[str, Any]:
    """What the page shows after the events."""
    plain = json.loads(json.dumps([to_plain(e) for e in events]))
    shown: dict[str, Any] = tab.evaluate(PRESENTED, [plain, list(told)])
    return shown


def presented_here(reasoner: Reasoner, session: Session, told: Sequence[str]) -> dict[str, Any]:
    """What every other front end shows."""
    kb, found = reasoner.kb, conclude(reasoner, session)
    check = kb.checks.get(found.next.check)
    looked_at = [a.check for a in session.answers]
    return {
        "about": plain(answers.about(kb, session)),
        "time": time_says(kb, session, found),
        "answers": plain(answers.answers_of(kb, session, found, looked_at)),
        "question": plain(question.question_of(kb, session, check)) if check else None,
        "help": plain(question.help_of(kb, session, check)) if check else None,
        "orders": plain(notices.orders_of(kb, found)),
        "raised": plain(cautions.raised(kb, found.after.cautions)),
        "raised_last": plain(cautions.raised_last(reasoner, session, found)),
        "of_visit": plain(cautions.of_visit(kb, cautions.told_before(kb, session))),
        "doubts": plain(notices.doubts_of(kb, session, found)),
        "lost": plain(notices.lost_of(kb, session, found)),
        "why": plain(reasons.why_of(reasoner, found)),
        "likely": plain(reasons.likely_of(kb, found)),
        "looks": plain(looks.looks_of(kb, session, found)),
        "facts": plain(looks.facts_of(kb, session, found)),
        "strips": plain(strip.strips_of(kb, session, found)),
        "workings": plain(reasons.workings_of(reasoner, session, found)),
        "result": plain(conclusion.result_of(reasoner, session, found, told)),
        "next": plain(mending.next_of(reasoner, session, found)),
        "owed": plain(mending.owed_of(kb, session)),
        "ending": plain(ending.ending_of(kb, session)) if session.outcome else None,
        "sheet": plain(sheet.sheet_of(reasoner, session, found)),
    }


def plain(value: Any) -> Any:
    """Records as tables, tuples as lists; the options of a question, whose order means something, as pairs."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)} | _options(value)
    if isinstance(value, Mapping):
        return {k: plain(v) for k, v in value.items()}
    return [plain(v) for v in value] if isinstance(value, tuple | list) else value


def _options(record: Any) -> dict[str, Any]:
    ordered = isinstance(record, question.Question | ending.Asked)
    return {"options": [list(p) for p in record.options.items()]} if ordered else {}


def clear_cut(found: Conclusion) -> bool:
    """Whether no two of the leading causes are tied, so that both sides must list them in the same order."""
    shares = [p for _, p in found.belief.ranked()[:LISTED]]
    return all(one - other > TIED for one, other in pairwise(shares))


def settled(shown: dict[str, Any]) -> dict[str, Any]:
    """Without what may differ: the last digits of probabilities, and the order of equally wanted things to bring."""
    shown["sheet"]["bring"].sort()
    same: dict[str, Any] = rounded(shown)
    return same


def rounded(value: Any) -> Any:
    """Probabilities agree to nine digits."""
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    return [rounded(v) for v in value] if isinstance(value, list) else value
