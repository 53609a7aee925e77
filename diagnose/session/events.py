"""What can happen on a visit, and its plain form for files."""

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from typing import Any, Literal, cast

from diagnose.errors import VisitError
from diagnose.model.gear import JOBS, Device, Gear
from diagnose.model.visit import Setup, Value
from diagnose.session.profile_facts import fact_problem, is_number
from diagnose.words import say

Doer = Literal["", "caller", "technician"]


@dataclass(frozen=True, slots=True)
class Begin:
    """Opens the visit: who, where, what is complained of, in whose words, and from which knowledge.

    `id` is the same in every copy of the visit, wherever it is handed over to. `by` names whoever has the visit.
    """

    setup: Setup
    complaint: str
    words: str = ""
    site: str = ""
    digest: str = ""
    id: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Reply:
    """An answer to a check, asked or volunteered. A second reply to the same check replaces the first,
    and comes last: the order says what was known when."""

    check: str
    value: Value
    sure: bool = True
    by: str = ""
    note: str = ""
    heard: bool = False  # in somebody's own words (`note`), and not asked


@dataclass(frozen=True, slots=True)
class Back:
    """Take the last answer back."""


@dataclass(frozen=True, slots=True)
class Complain:
    """Change the complaint."""

    complaint: str


@dataclass(frozen=True, slots=True)
class Conclude:
    """Stop asking and conclude now."""


@dataclass(frozen=True, slots=True)
class AskOn:
    """Go on asking after a conclusion."""


@dataclass(frozen=True, slots=True)
class Repaired:
    """The remedy for a cause was carried out. `by` says who did it, where that was not whoever has the visit, and
    `name` what that person is called."""

    cause: str
    note: str = ""
    by: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True)
class Proved:
    """What the proof of the last repair said."""

    passed: bool
    reading: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class AnotherFault:
    """The last repair was good, but something is still wrong."""


@dataclass(frozen=True, slots=True)
class Ticked:
    """One line of the return-to-service checklist: pass, fail or na, with a reading or a reason."""

    item: str
    result: str
    reading: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Close:
    """End of the visit. `by`, `to`, `due` and `meanwhile` as the ending asks for them: see law.ASKED."""

    outcome: str
    reason: str = ""
    by: str = ""
    to: str = ""
    due: str = ""
    meanwhile: str = ""


@dataclass(frozen=True, slots=True)
class Reopen:
    """An ended visit goes on: what was proved for its return to service is proved anew."""


@dataclass(frozen=True, slots=True)
class Noted:
    """Something for the record: a remark, or a correction. `by`, here and elsewhere, where it is not the visit's."""

    text: str
    kind: str
    by: str = ""


@dataclass(frozen=True, slots=True)
class Pictured:
    """A picture was put beside the visit, as the file `name`; `of` and `which` say what it belongs to: see photos."""

    name: str
    of: str
    which: str = ""
    says: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class TakeOver:
    """Somebody else goes on with the visit, in their own role and with their own tools."""

    setup: Setup
    by: str = ""


@dataclass(frozen=True, slots=True)
class Named:
    """The devices at this gate, named or corrected. Answers of a device that keeps its key stay.

    `became`: former key -> key from now on, of devices that are called otherwise; '' is 'the sensor' of the answers
    before any was named.
    """

    gear: Gear
    became: Mapping[str, str] = field(default_factory=dict)


Event = (
    Begin
    | Reply
    | Back
    | Complain
    | Conclude
    | AskOn
    | Repaired
    | Proved
    | AnotherFault
    | Ticked
    | Close
    | Reopen
    | Noted
    | Pictured
    | TakeOver
    | Named
)
NAMES: Mapping[str, type[Any]] = {
    "begin": Begin,
    "reply": Reply,
    "back": Back,
    "complain": Complain,
    "conclude": Conclude,
    "ask_on": AskOn,
    "repaired": Repaired,
    "proved": Proved,
    "another_fault": AnotherFault,
    "ticked": Ticked,
    "close": Close,
    "reopen": Reopen,
    "noted": Noted,
    "pictured": Pictured,
    "take_over": TakeOver,
    "named": Named,
}
_WORDS = {record: word for word, record in NAMES.items()}


def word_of(event: Event) -> str:
    return _WORDS[type(event)]


def to_plain(event: Event) -> dict[str, Any]:
    """Event -> a dict of JSON values; empty fields are left out where they may be."""
    plain: dict[str, Any] = {"event": word_of(event)}
    for f in fields(event):
        value = getattr(event, f.name)
        if f.default is MISSING or (value not in ("", None, {}) and value != f.default):
            plain[f.name] = _to_plain(value)
    return plain


def from_plain(plain: Mapping[str, Any]) -> Event:
    """Inverse of `to_plain`. Raises VisitError saying which field is wrong."""
    if not isinstance(plain, Mapping):
        raise VisitError(say("session.no_fields"))
    word = plain.get("event")
    record = NAMES.get(word) if isinstance(word, str) else None
    if record is None:
        raise VisitError(say("session.no_event", name=repr(str(word)[:40]), known=", ".join(NAMES)))
    given = {f.name: plain[f.name] for f in fields(record) if f.name in plain}
    for name, read in (("setup", _setup_from_plain), ("gear", gear_from_plain)):
        if name in given:
            given[name] = read(given[name])
    if wrong := [name for name, value in given.items() if not _plausible(name, value)]:
        raise VisitError(say("session.unusable_field", event=word, field=wrong[0]))
    try:
        return cast(Event, record(**given))
    except TypeError as error:
        raise VisitError(say("session.incomplete", event=word, why=error)) from error


def _plausible(name: str, value: Any) -> bool:
    if name in ("setup", "gear"):
        return isinstance(value, Setup | tuple)
    if name == "became":
        return isinstance(value, Mapping) and all(isinstance(key, str) for key in value.values())
    if name in ("sure", "passed", "heard"):
        return isinstance(value, bool)
    if name == "value":
        return isinstance(value, str) or is_number(value)
    return isinstance(value, str)


def _to_plain(value: Any) -> Any:
    if isinstance(value, Setup | tuple):
        return _setup_to_plain(value) if isinstance(value, Setup) else gear_to_plain(value)
    return dict(value) if isinstance(value, Mapping) else value


def gear_to_plain(gear: Gear) -> list[dict[str, Any]]:
    return [{"name": d.name, "kind": d.kind, "jobs": list(d.jobs), "facts": dict(d.facts)} for d in gear]


def gear_from_plain(plain: Any) -> Gear:
    """Inverse of `gear_to_plain`. Raises VisitError."""
    if not isinstance(plain, list) or not all(isinstance(d, Mapping) for d in plain):
        raise VisitError(say("session.unusable_gear"))
    return tuple(map(_device_from_plain, plain))


def _device_from_plain(plain: Mapping[str, Any]) -> Device:
    name, kind, jobs, facts = plain.get("name"), plain.get("kind"), plain.get("jobs", []), plain.get("facts", {})
    fits = isinstance(name, str) and isinstance(kind, str) and _words(jobs) and isinstance(facts, Mapping)
    if not fits or set(jobs) - set(JOBS):
        raise VisitError(say("session.unusable_gear"))
    if wrong := [says for fact, value in facts.items() if (says := fact_problem(str(fact), value))]:
        raise VisitError(say("session.unusable_profile", why=wrong[0]))
    return Device(str(name), str(kind), tuple(jobs), dict(facts))


def _setup_to_plain(setup: Setup) -> dict[str, Any]:
    plain: dict[str, Any] = {"role": setup.role, "electrician": setup.electrician, "devices": list(setup.devices)}
    plain["profile"] = dict(setup.profile)
    if setup.tools is not None:
        plain["tools"] = sorted(setup.tools)
    if setup.gear:
        plain["gear"] = gear_to_plain(setup.gear)
    return plain


def _setup_from_plain(plain: Any) -> Setup:
    if not isinstance(plain, Mapping) or plain.get("role") not in ("technician", "help_desk"):
        raise VisitError(say("session.no_role"))
    tools, devices, profile = plain.get("tools"), plain.get("devices", []), plain.get("profile", {})
    if not _words(devices) or not (tools is None or _words(tools)) or not isinstance(profile, Mapping):
        raise VisitError(say("session.unusable_setup"))
    if wrong := [says for name, value in profile.items() if (says := fact_problem(str(name), value))]:
        raise VisitError(say("session.unusable_profile", why=wrong[0]))
    return Setup(
        role=plain["role"],
        electrician=plain.get("electrician") is True,
        tools=None if tools is None else frozenset(tools),
        devices=tuple(devices),
        profile=dict(profile),
        gear=gear_from_plain(plain.get("gear", [])),
    )


def _words(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(word, str) for word in value)
