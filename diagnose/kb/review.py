"""Who has read an entry of the knowledge, in what role, and when it last changed: a file beside the entries.

A reading holds for the words that were read. Whoever changes an entry takes nothing away from the readings of the
others; the check lists what changed since.
"""

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, is_dataclass, replace
from typing import Any

from diagnose.kb.load import Loaded
from diagnose.model.knowledge import Cause, Check
from diagnose.model.named import Caution
from diagnose.words import say

FILE = "review/state.yaml"
SEALED = "sealed"  # the seals' name in the register
ROLES = ("master", "technician", "caller", "trainee")
READ = ("access", "causes", "cautions", "checks", "complaints", "effects", "proofs", "rules")


@dataclass(frozen=True, slots=True)
class EntryRead:
    """`doubt` is what the reader did not understand or would not sign; '' where there is nothing."""

    on: str  # YYYY-MM-DD
    digest: str
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Reviewed:
    digest: str
    changed: str  # YYYY-MM-DD
    read: Mapping[str, EntryRead] = field(default_factory=dict)  # by role

    def stands(self, role: str) -> bool:
        """Read by somebody in this role as it stands, without doubt."""
        reading = self.read.get(role)
        return bool(reading) and reading.digest == self.digest and not reading.doubt  # type: ignore[union-attr]


State = Mapping[str, Reviewed]  # 'causes.some_id' -> who read it


def entries_of(loaded: Loaded) -> dict[str, Any]:
    """Every entry that people read, as it is written."""
    return {f"{s}.{i}": entry for s in READ for i, entry in sorted(loaded.entries[s].items())}


def digest_of(entry: Any) -> str:
    """What identifies an entry's content; a field left out, or new with its default, changes nothing."""
    return _digest(entry)


def _digest(value: Any) -> str:
    return hashlib.sha256(json.dumps(_bare(value), sort_keys=True).encode()).hexdigest()[:10]


def _bare(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return _bare(asdict(value))
    if isinstance(value, Mapping):
        return {name: _bare(v) for name, v in value.items() if v not in (None, "", False) and (v or v == 0)}
    return [_bare(v) for v in value] if isinstance(value, list | tuple) else value


def seals(loaded: Loaded) -> dict[str, str]:
    """Section -> what identifies all that is written in it."""
    found = {section: _digest(entries) for section, entries in loaded.entries.items()}
    return (
        found | {n: _digest(single) for n, single in loaded.singles.items()} | {"pictures": _digest(loaded.pictures)}
    )


def is_for(role: str, entry: Any) -> bool:
    """Whether somebody in this role ever reads the entry: a caller sees what is said to callers."""
    if role != "caller":
        return True
    if isinstance(entry, Check):
        return entry.ask_caller != "never"
    if isinstance(entry, Cause):
        return entry.caller is not None
    return bool(getattr(entry, "meanwhile", ())) or (isinstance(entry, Caution) and entry.id.startswith("caller_"))


def changed(state: State, entries: Mapping[str, Any]) -> list[str]:
    """Entries that are new or differ from what the state knows, and what it knows that is gone."""
    now = {name: digest_of(entry) for name, entry in entries.items()}
    return sorted(name for name in {*now, *state} if name not in state or state[name].digest != now.get(name))


def unread(state: State, entries: Mapping[str, Any], role: str) -> list[str]:
    """Entries that nobody has read in this role as they stand, or about which a doubt is left."""
    return [n for n, e in entries.items() if is_for(role, e) and not (n in state and state[n].stands(role))]


def brought_up(state: State, entries: Mapping[str, Any], today: str) -> State:
    """The state with every change noted as of today; readings stay as they were made."""
    found: dict[str, Reviewed] = {}
    for name, entry in entries.items():
        digest, was = digest_of(entry), state.get(name)
        same = was is not None and was.digest == digest
        found[name] = was if was and same else Reviewed(digest, today, was.read if was else {})
    return found


def read_by(state: State, role: str, told: Mapping[str, str], today: str) -> State:
    """The state with `told` (entry -> doubt, or '') read in `role` today. Raises KeyError for no entry."""
    found = dict(state)
    for name, doubt in told.items():
        entry = found[name]
        found[name] = replace(entry, read={**entry.read, role: EntryRead(today, entry.digest, doubt)})
    return found


def state_text(state: State) -> str:
    """One line an entry."""
    return "".join(f"{name}: {json.dumps(_plain(entry))}\n" for name, entry in state.items())


def _plain(entry: Reviewed) -> dict[str, Any]:
    read = {role: [r.on, r.digest, *([r.doubt] if r.doubt else [])] for role, r in entry.read.items()}
    return {"as": entry.digest, "changed": entry.changed} | ({"read": read} if read else {})


def state_of(value: Any) -> State:
    """A parsed state. Raises ValueError where it is none."""
    try:
        return {name: _reviewed(plain) for name, plain in (value or {}).items()}
    except (AttributeError, KeyError, TypeError) as error:
        raise ValueError(str(error)) from error


def _reviewed(plain: Mapping[str, Any]) -> Reviewed:
    read = {role: EntryRead(*map(str, reading)) for role, reading in plain.get("read", {}).items()}
    return Reviewed(str(plain["as"]), str(plain["changed"]), read)


def summary(state: State, entries: Mapping[str, Any]) -> Iterator[str]:
    """A line a role, then what changed since the state was written."""
    for role in ROLES:
        mine = [n for n, e in entries.items() if is_for(role, e)]
        open_ = unread(state, entries, role)
        doubts = sum(bool(state[n].read[role].doubt) for n in open_ if n in state and role in state[n].read)
        yield say("knowledge.read_by", role=role, read=len(mine) - len(open_), of=len(mine), doubts=doubts)
    since = changed(state, entries)
    if since:
        yield say("knowledge.changed_since", n=len(since), entries=shortened(since))


def shortened(names: Iterable[str], most: int = 12) -> str:
    listed = list(names)
    return ", ".join([*listed[:most], *(["..."] if len(listed) > most else [])])
