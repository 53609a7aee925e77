"""What the Python side says about a session, as plain values, and how far the page's answer is from it."""

import json
import math
from dataclasses import asdict
from typing import Any

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.errors import DiagnoseError
from diagnose.model.knowledge import Check
from diagnose.model.visit import Answer, Role
from diagnose.session.checklist import checklist, open_items, ordered
from diagnose.session.dispatch import dispatch
from diagnose.session.doubts import doubts, look_again, unfitting
from diagnose.session.events import Event
from diagnose.session.law import barred_now, doers, endings, may_follow
from diagnose.session.photos import shown
from diagnose.session.plain import as_plain
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.session.summary import Ranked, summarise, why_this_check
from diagnose.session.wording import answer_says, ask_text, origin_says

TOLERANCE = 1e-9
TIED = 1e-12  # nearer than this counts as equal: the last bit decides, on either side


def followed_here(reasoner: Reasoner, events: list[Event], thorough: bool = True) -> list[dict[str, Any]]:
    """The state after each event, or {'error': ...}. `thorough`: with all that people are told at the end."""
    session: Session | None = None
    found: list[dict[str, Any]] = []
    for n, event in enumerate(events, start=1):
        try:
            session = step(reasoner.kb, session, event)
            found.append(state(reasoner, session, thorough and n == len(events)))
        except DiagnoseError as error:
            found.append({"error": str(error)})
    return found


def state(reasoner: Reasoner, session: Session, thorough: bool) -> dict[str, Any]:
    conclusion = conclude(reasoner, session)
    plain = as_plain(reasoner, session, conclusion) | _session(session) | _stages(conclusion)
    if thorough:
        plain |= _told(reasoner, session, conclusion)
    made: dict[str, Any] = json.loads(json.dumps(plain))
    return made


def _session(session: Session) -> dict[str, Any]:
    return {
        "site": session.site,
        "by": session.by,
        "end": asdict(session.end),
        "earlier": [asdict(e) for e in session.earlier],
        "notes": [asdict(n) for n in session.notes],
        "photos": [asdict(p) for p in session.photos],
        "photos_shown": [p.name for p in shown(session)],
        "outcome": session.outcome,
        "reason": session.reason,
        "repairs": [[r.cause, r.note, r.proof, r.reading, r.by, r.name] for r in session.repairs],
        "ticks": [[t.item, t.result, t.reading] for t in session.ticks],
        "carried": [a.check for a in session.carried],
        "replaced": [a.replaced and asdict(a.replaced) for a in session.given],
        "attempts": [[t.cause, len(t.answers), len(t.carried), t.surely_mended] for t in session.attempts],
    }


def _stages(conclusion: Conclusion) -> dict[str, Any]:
    after = conclusion.after
    return {
        "beside": [conclusion.next.why, list(conclusion.next.beside)],
        "facts": dict(sorted(conclusion.values.items())),
        "firings": [[f.rule, f.premises] for f in conclusion.after.firings],
        "settled": {c: list(by) for c, by in sorted(conclusion.after.settled.items())},
        "excluded": sorted(conclusion.after.excluded),
        "raised": [after.cautions, after.stop_work, conclusion.stands, sorted(after.unlocked)],
        "computed": [o.says for o in conclusion.known.outcomes.values()],
        "gains": [[g.option.check, g.minutes, g.saves, g.bits, g.worth, g.chances] for g in conclusion.gains],
    }


def _told(reasoner: Reasoner, session: Session, conclusion: Conclusion) -> dict[str, Any]:
    kb = reasoner.kb
    summary = summarise(reasoner, session, conclusion)
    again = look_again(kb, conclusion)
    sheet = dispatch(reasoner, session, conclusion)
    told = {"sheet": [sheet.access, sheet.electrician, sheet.cautions, sorted(b.says for b in sheet.bring)]}
    return (told if _clear_cut(conclusion) else {}) | {
        "said": [_said(kb.checks[a.check], a, session.setup.role) for a in session.given],
        "shown": [[r.cause.id, r.rival, r.probability, _total(r)] for r in summary.ranked],
        "prospects": [[p.state, p.probability, p.leaders[0][1]] for p in why_this_check(reasoner, conclusion)],
        "doubts": [d.wrong for d in doubts(kb, conclusion)],
        "again": [again.check, again.wrong] if again else None,
        "misfit": conclusion.misfit,
        "unfitting": [d.wrong for d in unfitting(kb, conclusion)],
        "mended": session.mended.cause if session.mended else "",
        "checklist": [[i.id, i.why, i.protective] for i in checklist(kb, session)],
        "open": [i.id for i in open_items(kb, session)],
        "ordered": ordered(kb, session),
        "follow": may_follow(kb, session),
        "endings": endings(kb, session),
        "doers": {c: doers(kb, session, c) for c in kb.causes},
        "barred": {c: barred_now(kb, session, c) for c in kb.checks},
        "first_checks": sheet.first_checks,
    }


def _clear_cut(conclusion: Conclusion) -> bool:
    """Whether the three leading causes, which the sheet is made from, are not tied with the next one."""
    (_, third), (_, fourth) = conclusion.belief.ranked()[2:4]
    return third - fourth > TIED


def _said(check: Check, answer: Answer, role: Role) -> list[str]:
    return [ask_text(check, role), answer_says(check, answer, role), origin_says(check, answer, role)]


def _total(ranked: Ranked) -> float:
    """Decibans against the rival; the steps there may differ where two rivals are tied in the end."""
    return ranked.start.decibans + sum(w.decibans for w in ranked.evidence)


def difference(here: list[dict[str, Any]], there: list[dict[str, Any]]) -> float:
    """The largest difference between numbers, over all states. Anything else that differs fails, with where it is.

    Names may change places only where they are tied: causes by their probability, checks by what they promise.
    """
    assert len(here) == len(there)
    return max(_State(a, f"[{n}]").gap(a, b, "") for n, (a, b) in enumerate(zip(here, there, strict=True)))


class _State:
    def __init__(self, state: dict[str, Any], path: str) -> None:
        self.path = path
        self.weight: dict[str, list[float]] = {c: [p] for c, p in state.get("posterior", {}).items()}
        self.weight |= {check: [max(g[1], g[3]) / g[0], g[2] / g[0]] for check, *g in state.get("gains", [])}

    def gap(self, here: Any, there: Any, path: str) -> float:
        if isinstance(here, dict):
            assert isinstance(there, dict) and here.keys() <= there.keys(), (self.path + path, here, there)
            return max((self.gap(v, there[k], f"{path}.{k}") for k, v in here.items() if k != "sets"), default=0.0)
        if isinstance(here, list):
            assert isinstance(there, list) and len(here) == len(there), (self.path + path, here, there)
            return max((self.gap(a, b, path) for a, b in zip(here, there, strict=True)), default=0.0)
        if isinstance(here, bool) or not isinstance(here, int | float):
            assert here == there or self.tied(here, there), (self.path + path, here, there)
            return 0.0
        assert isinstance(there, int | float) and not isinstance(there, bool), (self.path + path, here, there)
        gap = abs(here - there) / max(1.0, abs(here))
        assert gap <= TOLERANCE and math.isfinite(gap), (self.path + path, here, there)
        return gap

    def tied(self, one: Any, other: Any) -> bool:
        known = one in self.weight and other in self.weight
        return known and all(abs(a - b) <= TIED for a, b in zip(self.weight[one], self.weight[other], strict=True))
