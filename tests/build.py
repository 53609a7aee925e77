"""Small knowledge bases and networks for tests, built in memory: no YAML, no shipped content."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from diagnose.core.network import FindingTable, Network, dense_table
from diagnose.core.posterior import Belief
from diagnose.kb.load import Loaded, assemble
from diagnose.model.knowledge import Cause, Check, Finding, KnowledgeBase, Remedy
from diagnose.model.named import Access, Caution, Complaint, Family, Kind, Link, OutlastsRain, Proof, Source, TripLog
from diagnose.model.rules import Rule, Then
from diagnose.model.settings import Scales, Settings

Shown = Mapping[str, float | str]


def cause(name: str, signs: Mapping[str, Shown], **more: Any) -> Cause:
    """A cause; `minutes`, `access`, `who` and so on go to its remedy, the rest to the cause itself."""
    own = {k: more.pop(k) for k in ("minutes", "access", "hides_fault", "touches", "who") if k in more}
    remedy = Remedy(steps=("mend it",), **{"minutes": 10.0, **own})
    given: dict[str, Any] = {"common": "common", "family": "wiring", "complaints": {}, **more}
    words = {"says": name, "explain": name, "test": name, "proof": name, "source": "src"}
    return Cause(id=name, signs=signs, remedy=remedy, **{**words, **given})


def check(name: str, states: Sequence[str], leak: Shown, **more: Any) -> Check:
    """A scored choice whose options are the finding's states."""
    finding = Finding(says=name, states={s: (s,) for s in states}, leak=leak, source="src") if states else None
    given = {"kind": "choice", "options": {s: s for s in states}, "minutes": 1.0, **more}
    return Check(id=name, ask=name, help=name, good="good", bad="bad", finding=finding, source="src", **given)


def kinds(**says: str) -> dict[str, Kind]:
    return {name: Kind(id=name, says=what) for name, what in says.items()}


def proofs(**fields: Mapping[str, Any]) -> dict[str, Proof]:
    """Proofs by their fields; without `says` each says its own name."""
    return {name: Proof(id=name, **{"says": name, **more}) for name, more in fields.items()}


ALWAYS = {"protective": True, "after": ("stop_work", "repair")}  # owed after both, as the shipped protective ones are
COVERS = {"after": ("enclosure",)}
BRIDGES = {"protective": True, "after_caution": {"no_bypass": "an isolation test was made"}}


def rule(name: str, when: Mapping[str, Iterable[str]], **then: Any) -> Rule:
    return Rule(id=name, says=name, when={f: tuple(v) for f, v in when.items()}, then=Then(**then), source="src")


NUMBERS = {
    "two_fault_odds": 0.1,
    "asking_minutes": 0.5,
    "slip": 0.02,
    "unsure_slip": 0.2,
    "caller_slip": 0.06,
    "temper": 1.0,
    "careless_slip": 0.2,
    "misfit_at": 0.85,
    "botched_repair": 0.05,
    "specialist_minutes": 240.0,
    "conclude_at": 0.9,
    "least_bits_per_minute": 0.01,
}


def settings(**changes: Any) -> Settings:
    names = {
        "opening": (),
        "made_safe_check": "made_safe",
        "outside_cause": "something_else",
        "designed_cause": "working_as_designed",
        "source": "src",
    }
    return Settings(**{**NUMBERS, **names, **changes})


def knowledge(
    causes: Iterable[Cause] = (),
    checks: Iterable[Check] = (),
    rules: Iterable[Rule] = (),
    *,
    frequency: Mapping[str, float] | None = None,
    complaints: Iterable[str] = (),
    **more: Any,
) -> KnowledgeBase:
    """A knowledge base around the given entries. `access` maps a group to its minutes; the rest goes to settings."""
    loaded, access, causes = Loaded(), more.pop("access", {}), list(causes)
    families = dict.fromkeys(c.family for c in causes)
    made_safe = check("made_safe", (), {}, options={"safe": "safe", "unsafe": "unsafe"})
    tables: dict[str, Iterable[Any]] = {
        "sources": [Source(id="src", cite="a test", kind="judgement")],
        "cautions": [Caution(id="stop", says="stop", stop_work=True, source="src")],
        "access": [Access(id=g, says=g, minutes=m, source="src") for g, m in access.items()],
        "complaints": [Complaint(id=c, says=c, caller_says=(c,), source="src") for c in complaints],
        "causes": causes,
        "families": [Family(id=f, says=f, link=f) for f in families],
        "checks": [made_safe, *checks],
        "rules": rules,
    }
    for section, entries in tables.items():
        loaded.entries[section] |= {e.id: e for e in entries}
    loaded.entries["links"] |= {f: Link(id=f, says=f) for f in families}
    loaded.singles["scales"] = Scales(
        strength={"probable": 0.85},
        frequency=frequency or {"common": 1.0},
        complaint={"typical": 8.0, "often": 4.0},
        complaint_floor=0.08,
        source="src",
    )
    loaded.singles["settings"] = settings(**more)
    rain = OutlastsRain(check="", stays="", stops="")
    loaded.singles["trip_log"] = TripLog(
        when="", vague=(), compared="", no_pattern="", outlasts_rain=rain, patterns={}
    )
    return assemble(loaded, "test")


def table(name: str, states: Sequence[str], leak: Sequence[float], shown: Sequence[Sequence[float]]) -> FindingTable:
    """A finding's table from plain distributions over all its states: the leak's, and each cause's alone."""
    columns = [np.ones(len(states)), *(np.cumsum(row) for row in shown)]
    return dense_table(name, states, np.cumsum(leak), np.stack(columns, axis=1))


def network(odds: Mapping[str, float], tables: Iterable[FindingTable]) -> Network:
    by_name = {t.id: t for t in tables}
    return Network(tuple(odds), np.array([1.0, *odds.values()]), {}, by_name)


def single_fault(net: Network) -> Belief:
    """The prior of `net` with every two-cause cell emptied: exactly one fault."""
    weights = np.zeros((len(net.odds), len(net.odds)))
    weights[0, 1:] = weights[1:, 0] = net.odds[1:] / net.odds[1:].sum()
    return Belief(net, weights, 0.0)
