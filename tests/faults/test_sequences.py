"""Whatever is typed, and whatever events come: no traceback, no hang, and every saved answer makes the same visit."""

import io
import time
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.errors import SessionError, VisitError
from diagnose.model.gear import JOBS, Device
from diagnose.model.profile import PROFILE_FACTS
from diagnose.model.visit import NO_ANSWER, Setup
from diagnose.session import events as module
from diagnose.session.closing import ENDS, RECEIVERS
from diagnose.session.events import Begin, Event, Repaired, Reply, from_plain, to_plain
from diagnose.session.parse import options_of, spoken_for
from diagnose.session.session import conclude, salvage, step
from diagnose.session.state import Session
from diagnose.terminal.commands import AFTER, COMMANDS
from diagnose.terminal.screen import Screen
from diagnose.terminal.visit import Visit
from tests.faults.hostile import TEXTS
from tests.faults.limits import within
from tests.shipped import begun, knowledge, reasoner
from tests.terminal.typed import Typed, opened

FULL = 10_000
LIMIT_S = 20.0
counted = {"sequences": 0, "lines": 0, "saved": 0}

numbers = st.one_of(
    st.integers(-3, 40).map(str),
    st.floats(allow_nan=True, allow_infinity=True).map(str),
    st.sampled_from(
        ["9.8 V", "980 mV", "9,8", "1.2k ohm", "14 in", "1e400", "9" * 5000, "0x10", "½", "²", "٣", "--1", "1/0"]
    ),
)
commands = st.sampled_from(
    [w for c in (*COMMANDS, *AFTER) if c != "leave" for w in spoken_for(f"terminal.words_{c}")]
    + ["", "yes", "no", "pass", "fail", "na", "maybe 1", "1?"]
)
changes = st.integers(-1, 30).map(lambda n: f"change {n}")
words = st.sampled_from([w for c in knowledge().checks.values() for w in (*options_of(c), *options_of(c).values())])
junk = st.one_of(
    st.sampled_from(TEXTS), st.text(max_size=60), st.sampled_from([KeyboardInterrupt, EOFError, "leave"])
)
answers = st.sampled_from(["1", "2", "3", "4", "?", "cannot", "skip"])
lines = st.lists(st.one_of(*[answers] * 5, commands, commands, numbers, changes, words, junk), min_size=1, max_size=6)


@cache
def starts() -> tuple[Session, ...]:
    """Visits at every stage: begun, in the middle, concluded, repaired, proved, closed."""
    kb, visits = (
        knowledge(),
        [begun(), begun("hits_vehicle", Setup("help_desk")), opened(), opened(Setup("help_desk"))],
    )
    visits.append(opened(Setup(electrician=True, devices=("laser", "loop"), tools=frozenset())))
    done = step(kb, opened(), module.Conclude())
    likely = conclude(reasoner(), done).belief.ranked()[0][0]
    owed = step(kb, done, Repaired(likely))
    proved = step(kb, owed, module.Proved(True))
    return (
        *visits,
        done,
        owed,
        proved,
        step(kb, owed, module.Proved(False)),
        step(kb, done, module.Close("left_out", "no part")),
    )


def typed_in(start: Session, typed: list[Any]) -> None:
    out, saved = io.StringIO(), list[Event]()
    visit = Visit(reasoner(), start, Screen(out, 80, plain=True), Typed(*typed), saved.append)
    with within(LIMIT_S):
        ended = visit.run()
    again = start
    for event in saved:
        again = step(knowledge(), again, from_plain(to_plain(event)))
    assert ended == again
    assert not set(out.getvalue()) - {"\n"} - {c for c in out.getvalue() if c.isprintable()}
    counted["sequences"] += 1
    counted["lines"] += len(typed)
    counted["saved"] += len(saved)


typing = given(st.sampled_from(range(10)).map(lambda n: starts()[n]), lines)
calm: dict[str, Any] = {"deadline": None, "suppress_health_check": list(HealthCheck), "database": None}


@settings(max_examples=50, derandomize=True, **calm)
@typing
def test_some_typed_sequences(start: Session, typed: list[Any]) -> None:
    typed_in(start, typed)


@pytest.mark.long
def test_10_000_typed_sequences() -> None:
    timed(settings(max_examples=FULL, **calm)(typing(typed_in)))


def timed(run: Callable[[], None]) -> None:
    counted.update(sequences=0, lines=0, saved=0)
    began = time.monotonic()
    run()
    print(f"\n{counted} in {time.monotonic() - began:.0f} s")
    assert counted["sequences"] >= FULL


names = {
    "check": st.sampled_from([*knowledge().checks]),
    "cause": st.sampled_from([*knowledge().causes]),
    "complaint": st.sampled_from([*knowledge().complaints]),
    "item": st.sampled_from([*knowledge().proofs]),
    "result": st.sampled_from(["pass", "fail", "na"]),
    "outcome": st.sampled_from(ENDS),
    "to": st.sampled_from(RECEIVERS),
    "due": st.just("2026-12-03"),
    "kind": st.sampled_from(["remark", "correction"]),
}
texts = st.one_of(st.just(""), st.sampled_from(TEXTS), st.text(max_size=20))
values = st.one_of(
    st.sampled_from([*NO_ANSWER, "yes", "no", "safe", "nobody", "wet"]),
    st.floats(0, 100),
    st.floats(allow_nan=True, allow_infinity=True),
    texts,
)
facts = st.sampled_from([n for n, allowed in PROFILE_FACTS.items() if isinstance(allowed, str)])
setups = st.builds(
    Setup,
    st.sampled_from(["technician", "help_desk"]),
    st.booleans(),
    st.none() | st.sets(st.sampled_from([*knowledge().tools])).map(frozenset),
    st.lists(st.sampled_from([*knowledge().devices, "nothing"]), max_size=3).map(tuple),
    st.dictionaries(facts, st.floats(-1e6, 1e6), max_size=3),
)
gears = st.lists(
    st.builds(
        Device,
        texts | st.sampled_from(["loop", "eye", "eye 2", "the@sensor"]),
        st.sampled_from([*knowledge().devices, "nothing"]),
        st.lists(st.sampled_from([*JOBS, "sings"]), max_size=3).map(tuple),
        st.dictionaries(facts, st.floats(-1e6, 1e6), max_size=2),
    ),
    max_size=10,
).map(tuple)
others: dict[str, st.SearchStrategy[Any]] = {
    "bool": st.booleans(),
    "Value": values,
    "Setup": setups,
    "tuple": gears,
    "Mapping": st.dictionaries(texts | st.sampled_from(["loop", "eye"]), texts | st.just("loop"), max_size=3),
}


def fields_of(kind: type[Any]) -> st.SearchStrategy[Any]:
    def each(name: str, annotation: Any) -> st.SearchStrategy[Any]:
        known = names.get(name, texts)
        return others.get(str(annotation), known | known | texts)

    annotations = {
        f: t if isinstance(t, str) else getattr(t, "__name__", "Value") for f, t in kind.__annotations__.items()
    }
    return st.builds(kind, **{name: each(name, annotation) for name, annotation in annotations.items()})


a_reply = st.sampled_from([*knowledge().checks.values()]).flatmap(
    lambda c: st.builds(Reply, st.just(c.id), st.sampled_from([*options_of(c), *NO_ANSWER]) | values)
)
an_event = st.one_of(a_reply, a_reply, *(fields_of(kind) for kind in module.NAMES.values()))


def happened(begin: Begin, events: list[Event]) -> None:
    """Each event moves the visit or is refused; what was taken in makes the same visit again, also when salvaged."""
    kb, session, taken = knowledge(), None, list[Event]()
    with within(LIMIT_S):
        for event in (begin, *events):
            try:
                session = step(kb, session, event)
                taken.append(event)
            except SessionError:
                pass
        if session is None:
            return
        read_back = [from_plain(to_plain(e)) for e in taken if not isinstance(e, Reply) or e.value == e.value]
        again, left_out = salvage(kb, read_back)
        assert not left_out
        assert replace(again, previous=None) == replace(session, previous=None)
        conclude(reasoner(), session)
    counted["sequences"] += 1
    counted["lines"] += len(events)
    counted["saved"] += len(taken)


some_events = given(st.builds(Begin, setups, names["complaint"], texts, texts), st.lists(an_event, max_size=25))


@settings(max_examples=100, derandomize=True, **calm)
@some_events
def test_some_sequences_of_events(begin: Begin, events: list[Event]) -> None:
    happened(begin, events)


@pytest.mark.long
def test_10_000_sequences_of_events() -> None:
    timed(settings(max_examples=FULL * 3 // 2, **calm)(some_events(happened)))


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=10),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=10,
)


@settings(max_examples=200, derandomize=True, **calm)
@given(
    st.sampled_from([*module.NAMES]),
    st.dictionaries(st.sampled_from([*names, "setup", "value", "sure", "passed", "by"]), plain),
)
def test_any_json_is_an_event_or_refused(word: str, fields: dict[str, Any]) -> None:
    try:
        event = from_plain({"event": word, **fields})
    except VisitError:
        return
    assert from_plain(to_plain(event)) == event
