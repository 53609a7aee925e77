"""Random visits: mixed roles, devices, complaints, profiles, tools, answers and repairs; and the demo visits."""

import random
from collections.abc import Callable
from typing import Any

from diagnose.core.permit import barred
from diagnose.core.reason import Reasoner
from diagnose.errors import DiagnoseError
from diagnose.kb.domain import answers_of
from diagnose.model.gear import Gear
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.profile import PROFILE_FACTS
from diagnose.model.visit import NO_ANSWER, Setup, Value
from diagnose.session import events as e
from diagnose.session.closing import ENDS
from diagnose.session.regear import geared
from diagnose.session.session import conclude, step
from diagnose.session.state import Session
from diagnose.store.profiles import profile_facts
from tests.pack.page import PROFILES

DOERS = ("", "", "technician", "electrician")
WORDS = ("", "opens <b>by itself</b>", "öffnet nachts – “immer” \u2028\x7f", "it's 5'6\" & more")


def random_events(
    reasoner: Reasoner, seed: int, most: int = 9, sensors: tuple[str, ...] = (), gear: Gear = ()
) -> list[e.Event]:
    """A visit of up to `most` events; some of them are refused, as they may be by a front end's mistake.

    `sensors`: some of these are on site; none: any or not known. `gear`: the devices by name.
    """
    reasoner = reasoner.at(gear)
    rng = random.Random(seed)
    kb = reasoner.kb
    complaint = rng.choice(list(kb.complaints))
    begin = e.Begin(
        geared(_setup(kb, rng, sensors), gear), complaint, rng.choice(WORDS), rng.choice(WORDS), kb.digest
    )
    kept: list[e.Event] = [begin]
    session = step(kb, None, begin)
    for _ in range(rng.randint(2, most)):
        event = _event(reasoner, session, rng)
        kept.append(event)
        try:
            session = step(kb, session, event)
        except DiagnoseError:
            continue
    return kept


def _setup(kb: KnowledgeBase, rng: random.Random, sensors: tuple[str, ...]) -> Setup:
    devices = rng.sample(sensors or list(kb.devices), rng.choice((1, 2) if sensors else (0, 1, 1, 1, 2, 3)))
    tools = None if rng.random() < 0.6 else frozenset(rng.sample(list(kb.tools), rng.randint(0, len(kb.tools))))
    role = "help_desk" if rng.random() < 0.3 else "technician"
    return Setup(role, rng.random() < 0.4, tools, tuple(devices), _profile(rng))  # type: ignore[arg-type]


def _profile(rng: random.Random) -> dict[str, Value]:
    kind = rng.random()
    if kind < 0.3:
        return {}
    shipped = profile_facts(PROFILES)
    if kind < 0.6:
        return dict(shipped)
    names = rng.sample(list(PROFILE_FACTS), rng.randint(1, 12))
    return {name: _fact(name, shipped, rng) for name in names}


def _fact(name: str, shipped: dict[str, Value], rng: random.Random) -> Value:
    words = PROFILE_FACTS[name]
    if isinstance(words, tuple):
        return rng.choice(words)
    near = shipped.get(name, 10.0)
    return round(float(near) * rng.choice((0.3, 0.9, 1.0, 1.1, 3.0)), 3)


def _event(reasoner: Reasoner, session: Session, rng: random.Random) -> e.Event:
    try:
        conclusion = conclude(reasoner, session)
    except DiagnoseError:
        return e.Back()
    if session.pending and rng.random() < 0.7:
        return e.Proved(rng.random() < 0.6, rng.choice(WORDS))
    if conclusion.next.check and not session.outcome and rng.random() < 0.7:
        return reply_to(reasoner.kb.checks[conclusion.next.check], rng)
    ranked = [c for c, _ in conclusion.belief.ranked()[:4]]
    return rng.choice(_OTHERS)(reasoner.kb, session, ranked, rng)


def reply_to(check: Check, rng: random.Random) -> e.Reply:
    by = rng.choice(("", "", "", "A. Person <i>", "caller, by eye"))
    return e.Reply(check.id, _value(check, rng), rng.random() < 0.8, by, rng.choice(WORDS))


def _value(check: Check, rng: random.Random) -> Value:
    if rng.random() < 0.12:
        return rng.choice(NO_ANSWER)
    if check.kind != "quantity":
        return rng.choice(sorted(answers_of(check)))
    low, high = (check.hard if rng.random() < 0.2 else check.plausible) or check.hard or (0.0, 100.0)
    return rng.choice((float(low), float(high), round(rng.uniform(low, high), rng.randint(0, 4))))


def _change(kb: KnowledgeBase, session: Session, _: list[str], rng: random.Random) -> e.Event:
    return reply_to(kb.checks[rng.choice(session.given).check], rng) if session.given else e.Back()


_Other = Callable[[KnowledgeBase, Session, list[str], random.Random], e.Event]
_OTHERS: tuple[_Other, ...] = (
    _change,
    _change,
    lambda kb, *rest: reply_to(kb.checks[rest[-1].choice(list(kb.checks))], rest[-1]),
    lambda kb, *rest: e.Reply(rest[-1].choice(list(kb.checks)), rest[-1].choice(("nonsense", -1e9, 12.5))),
    lambda *_: e.Back(),
    lambda *_: e.Back(),
    lambda kb, *rest: e.Complain(rest[-1].choice([*kb.complaints, "no such complaint"])),
    lambda *_: e.Conclude(),
    lambda *_: e.AskOn(),
    lambda *_: e.AskOn(),
    lambda _kb, _s, ranked, rng: e.Repaired(rng.choice(ranked), rng.choice(WORDS), rng.choice(DOERS)),
    lambda kb, _s, _r, rng: e.Repaired(rng.choice([*kb.causes, "no such cause"]), rng.choice(WORDS)),
    lambda kb, _s, _r, rng: e.Repaired(_licensed(kb, rng), "", rng.choice(DOERS)),
    lambda kb, session, _r, rng: reply_to(rng.choice(_guarded(kb, session)), rng),
    lambda *_: e.AnotherFault(),
    lambda kb, *rest: e.Ticked(rest[-1].choice([*kb.proofs]), rest[-1].choice(("pass", "fail", "na", "x")), "seen"),
    lambda *rest: _close(rest[-1]),
    lambda *rest: _close(rest[-1]),
    lambda *_: e.Reopen(),
    lambda *rest: e.Noted(rest[-1].choice(WORDS), rest[-1].choice(("remark", "correction", "gossip"))),
    lambda *given: _pictured(*given[1:]),
    lambda _kb, session, _r, rng: e.TakeOver(_taker(session, rng), rng.choice(WORDS)),
)


def _pictured(session: Session, ranked: list[str], rng: random.Random) -> e.Pictured:
    of = rng.choice(("visit", "answer", "answer", "remedy", "proof", "gossip"))
    checks, mended = [a.check for a in session.given], [r.cause for r in session.repairs]
    which = {"answer": checks, "remedy": ranked, "proof": mended or ranked}.get(of, [""])
    name = rng.choice(("0123456789abcdef.jpg", "00000000000000ff.jpg", "../visit.jpg"))
    return e.Pictured(name, of, rng.choice(which or ["nothing"]), rng.choice(WORDS))


def _close(rng: random.Random) -> e.Close:
    words, days = ("why not", "why not", ""), ("2026-12-03", "2026-12-03", "2026-02-30", "soon", "0000-01-01", "")
    reason, by, to, meanwhile = rng.choice(words), rng.choice(words), rng.choice(("maker", "")), rng.choice(words)
    return e.Close(rng.choice(ENDS), reason, by, to, rng.choice(days), meanwhile)


def _licensed(kb: KnowledgeBase, rng: random.Random) -> str:
    return rng.choice([c.id for c in kb.causes.values() if c.remedy.who == "electrician"])


def _guarded(kb: KnowledgeBase, session: Session) -> list[Check]:
    """Checks that the law keeps from this role, or from anybody while a stop-work order stands."""
    return [c for c in kb.checks.values() if c.runs_gate or barred(c, session.setup)]


def _taker(session: Session, rng: random.Random) -> Setup:
    role: Any = rng.choice(("technician", "help_desk"))
    return Setup(role, rng.random() < 0.5, None, session.setup.devices, session.setup.profile)
