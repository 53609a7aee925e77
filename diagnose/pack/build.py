"""KnowledgeBase -> the plain values the page carries: nothing the page does not use, no field at its default.

Tables travel as lists of pairs, because their order means something and any word may be a key. The page fills the
defaults in again; `defaults`, `maps` and `nested` tell it how, read off the records themselves.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, Field, asdict, fields, is_dataclass
from math import inf
from typing import Any, get_args, get_origin, get_type_hints

from diagnose.calc import unit_table, units
from diagnose.calc.cable import LARGEST_AWG, SMALLEST_AWG, awg_area_mm2
from diagnose.calc.calculator import Calculator
from diagnose.calc.registry import FOR_RULES
from diagnose.core import looks
from diagnose.core.compile import applicable
from diagnose.core.ground import ground
from diagnose.model import heard, named, rules, settings
from diagnose.model import knowledge as model
from diagnose.model.gear import Gear
from diagnose.model.gear import plain as of_any
from diagnose.model.heard import COMPLAINT, DANGER
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.named import RANKS
from diagnose.model.profile import PROFILE_FACTS, Profile
from diagnose.pack.page import script_text
from diagnose.present.cautions import general
from diagnose.present.notices import own_says
from diagnose.session.closing import RECEIVERS
from diagnose.session.events import gear_to_plain, to_plain
from diagnose.session.gear_words import gear_says
from diagnose.session.grounds import DOERS
from diagnose.session.law import ASKED, ENDING, FULL, LAW, NEEDED, UNFIT
from diagnose.session.photos import MOST
from diagnose.session.profile_facts import LAMP
from diagnose.session.state import SERVING, NoteKind
from diagnose.words import spoken

KINDS: Mapping[str, type[Any]] = {
    "sources": named.Source,
    "cautions": named.Caution,
    "access": named.Access,
    "complaints": named.Complaint,
    "effects": model.Effect,
    "causes": model.Cause,
    "checks": model.Check,
    "findings": model.Finding,
    "rules": rules.Rule,
    "calculations": rules.Calculation,
    "proofs": named.Proof,
    "links": named.Link,
    "families": named.Family,
    "heard": heard.Hearing,
}
PARTS = (
    model.Remedy,
    model.CallerRemedy,
    model.Way,
    model.Calculated,
    rules.Then,
    rules.Contradiction,
    settings.Scales,
    settings.Settings,
    heard.Speech,
)
USUAL: Mapping[str, Any] = {"source": "judgement", "kind": "choice"}  # of most entries; left out as a default is
NUMBERS = 200  # plural rules repeat beyond
WORD_TABLES = ("devices", "tools", "pictures")
_KEY = re.compile(r"""["`]([a-z]+\.[a-z0-9_]*)(["`$])""")  # in full, or the beginning of one that is put together
UNUSED: Mapping[type[Any], tuple[str, ...]] = {  # by the page
    named.Source: ("kind",),
    named.Caution: ("otherwise", "source"),
    named.Access: ("source",),
    named.Complaint: ("source",),
    model.Cause: ("inseparable_from", "of"),
    model.Check: ("finding", "of", "each"),  # the finding is found again by its id
    model.Finding: ("source", "others"),
    model.Effect: ("says", "source", "job", "proved"),
    rules.Calculation: ("says", "source", "of"),
    rules.Rule: ("of", "elsewhere"),
    named.Link: ("says",),
    named.Family: ("says",),
    heard.Hearing: ("source",),
    heard.Speech: ("source",),
    settings.Scales: ("source",),
    settings.Settings: ("source",),
}


def payload(
    kb: KnowledgeBase, sensors: Iterable[str] = (), profiles: Iterable[Profile] = (), gear: Gear = ()
) -> dict[str, Any]:
    """Everything the page needs, JSON-ready. `sensors` cuts causes and checks to some sensor kinds; none: all.

    Rules, findings and calculations stay whole, so that the reasoning stays equal for those kinds. With `gear` it is
    the page of the gate with these devices, and knows no others.
    """
    kb = ground(kb, gear)
    kept = tuple(sensors) or tuple(dict.fromkeys(d.kind for d in gear)) or tuple(kb.devices)
    records = (*KINDS.values(), *PARTS)
    return {
        "digest": kb.digest,
        "own_says": own_says(kb),
        "gear": [{**plain, "key": d.key} for d, plain in zip(gear, gear_to_plain(gear), strict=True)],
        "gear_says": gear_says(kb, gear),
        "sensors": list(kept),
        "whole": set(kept) == set(kb.devices),
        "knowledge": _knowledge(kb, kept),
        "kinds": {section: record.__name__ for section, record in KINDS.items()},
        "word_tables": list(WORD_TABLES),
        "fills": [[c.id, c.fills] for c in kb.checks.values() if c.fills],
        "defaults": {r.__name__: _defaults(r) for r in records},
        "maps": {r.__name__: _maps(r) for r in records},
        "nested": {r.__name__: _nested(r) for r in records},
        "units": unit_tables(),
        "calculators": {name: calculator_inputs(each) for name, each in FOR_RULES.items()},
        "profile_facts": PROFILE_FACTS,
        "law": law(),
        "looks": {"most": looks.MOST, "longest": looks.LONGEST_MIN, "pays": looks.PAYS},
        "general": sorted(general(kb)),
        "words": words(),
        "profiles": [_profile(p) for p in profiles],
    }


def _knowledge(kb: KnowledgeBase, kept: tuple[str, ...]) -> dict[str, Any]:
    tables = {section: getattr(kb, section) for section in KINDS}
    tables["causes"] = {c.id: c for c in kb.causes.values() if applicable(c, kept)}
    tables["checks"] = {c.id: c for c in kb.checks.values() if _fits(c, kept)}
    asked = {COMPLAINT, DANGER, *map(of_any, tables["checks"])}
    tables["heard"] = {i: h for i, h in kb.heard.items() if i in asked}
    plain: dict[str, Any] = {s: [[i, _slim(r)] for i, r in table.items()] for s, table in tables.items()}
    shown = {c.picture for c in tables["checks"].values()}
    plain |= {name: _plain(getattr(kb, name)) for name in WORD_TABLES}
    plain["pictures"] = [pair for pair in plain["pictures"] if pair[0] in shown]
    return plain | {"scales": _slim(kb.scales), "settings": _slim(kb.settings), "speech": _slim(kb.speech)}


def _fits(check: Check, kept: tuple[str, ...]) -> bool:
    return not check.devices or any(d in check.devices for d in kept)


def _slim(record: Any) -> dict[str, Any]:
    """A record without its id, without what the page does not use, and without what is at its default."""
    used = [f for f in _used(type(record)) if f.name != "id"]
    return {f.name: _plain(v) for f in used if (v := getattr(record, f.name)) != _default(f)}


def _used(record: type[Any]) -> list[Field[Any]]:
    return [f for f in fields(record) if f.name not in UNUSED.get(record, ())]


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return _slim(value)
    if isinstance(value, float) and value.is_integer():
        return int(value)  # the page knows one kind of number only, and '.0' takes room
    if isinstance(value, Mapping):
        return [[key, _plain(inner)] for key, inner in value.items()]
    return [_plain(inner) for inner in value] if isinstance(value, tuple) else value


def _default(field: Field[Any]) -> Any:
    if field.default_factory is not MISSING:
        return field.default_factory()
    return USUAL.get(field.name, MISSING) if field.default is MISSING else field.default


def _defaults(record: type[Any]) -> dict[str, Any]:
    return {f.name: _plain(v) for f in _used(record) if (v := _default(f)) is not MISSING}


def _maps(record: type[Any]) -> dict[str, int]:
    """Its fields that are tables, with how deep these are."""
    hints = get_type_hints(record)
    depths = {f.name: _depth(hints[f.name]) for f in _used(record)}
    return {name: depth for name, depth in depths.items() if depth}


def _depth(hint: Any) -> int:
    return 1 + _depth(get_args(hint)[1]) if get_origin(hint) is Mapping else 0


def _nested(record: type[Any]) -> dict[str, str]:
    """Its fields that are records themselves, with their kind."""
    hints = get_type_hints(record)
    inside = {f.name: (hints[f.name], *get_args(hints[f.name])) for f in _used(record)}
    found = [(name, h) for name, kinds in inside.items() for h in kinds if isinstance(h, type) and is_dataclass(h)]
    return {name: kind.__name__ for name, kind in found}


def unit_tables() -> dict[str, Any]:
    """Units, how to ask for them and how to show them; AWG areas; characters that mean the same."""
    return {
        "kinds": {k.name: _plain_kind(k) for k in unit_table.KINDS},
        "bases": [[name, {**_fields(base), "kind": base.kind.name}] for name, base in unit_table.BASES.items()],
        "same": [[chr(code), same] for code, same in units.SAME_CHARACTER.items()],
        "awg": [awg_area_mm2(gauge) for gauge in range(SMALLEST_AWG, LARGEST_AWG + 1)],
    }


def calculator_inputs(calculator: Calculator) -> dict[str, Any]:
    """Which inputs must be known, and what is taken for the others; the formulas are the page's own."""
    finite = {name: v for name, v in calculator.defaults.items() if v not in (inf, -inf)}
    return {"required": list(calculator.required), "defaults": finite}


def law() -> dict[str, Any]:
    """The table of what may follow what, and the order of those who may do it."""
    return {
        "rows": {word: asdict(row) for word, row in LAW.items()},
        "endings": ENDING,
        "unfit": UNFIT,
        "ranks": RANKS,
        "doers": DOERS,
        "asked": ASKED,
        "needed": NEEDED,
        "full": to_plain(FULL),
        "receivers": RECEIVERS,
        "serving": SERVING,
        "notes": get_args(NoteKind),
        "pictures": MOST,
    }


def words() -> dict[str, Any]:
    """Every sentence that the scripts name, and which plural form goes with each of the first numbers."""
    said, named = spoken(), _KEY.findall(script_text())
    whole = {key for key, end in named if end != "$"}
    begun = tuple(key for key, end in named if end == "$")
    texts = {key: forms for key, forms in said.texts.items() if key in whole or key.startswith(begun)}
    return {"language": said.language, "texts": texts, "plural": [said.form(n) for n in range(NUMBERS)]}


def _plain_kind(kind: unit_table.UnitKind) -> dict[str, Any]:
    return {**_fields(kind), "factors": list(kind.factors.items()), "offsets": list(kind.offsets.items())}


def _fields(record: Any) -> dict[str, Any]:
    return {f.name: getattr(record, f.name) for f in fields(record)}


def _profile(profile: Profile) -> dict[str, Any]:
    """A profile's facts with each lamp's description as one more fact, as a visit carries them."""
    lamps = {LAMP + lamp: says for lamp, says in profile.lamps.items()}
    about = {
        "id": profile.id,
        "says": profile.says,
        "kind": profile.kind,
        "sensor": profile.sensor,
        "invented": profile.invented,
    }
    return {**about, "facts": {**profile.facts, **lamps}}
