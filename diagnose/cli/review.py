"""What of the knowledge was read by whom: the review state beside it, listed and written."""

from datetime import date
from pathlib import Path
from typing import Any

from diagnose.errors import KnowledgeError
from diagnose.kb.files import plain_text, read_files
from diagnose.kb.load import load_entries
from diagnose.kb.review import FILE, State, brought_up, entries_of, read_by, state_of, state_text, summary, unread
from diagnose.kb.text import parse
from diagnose.store.atomic import give_file
from diagnose.words import say


def show(folder: Path) -> None:
    """How much of the knowledge was read in each role, and what changed since; nothing where no state is kept."""
    if (folder / FILE).exists():
        print(*summary(_state(folder), _entries(folder)), sep="\n")


def show_unread(folder: Path, role: str) -> None:
    """Every entry that this role has not read as it stands, one a line, with the doubt that is left."""
    state = _state(folder)
    for name in unread(state, _entries(folder), role):
        reading = state[name].read.get(role) if name in state else None
        print(f"{name}: {reading.doubt}" if reading and reading.doubt else name)


def bring_up(folder: Path) -> None:
    """Note what changed, as of today."""
    _write(folder, brought_up(_state(folder), _entries(folder), date.today().isoformat()))


def note(folder: Path, role: str, file: str) -> None:
    """Note as read today what a file lists: an entry a line, with ': doubt' where one is left."""
    try:
        lines = Path(file).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise KnowledgeError(say("store.cannot_read", path=file, why=error)) from error
    told = {n.strip(): doubt.strip() for n, _, doubt in (line.partition(":") for line in lines) if n.strip()}
    today = date.today().isoformat()
    state = brought_up(_state(folder), _entries(folder), today)
    if missing := [name for name in told if name not in state]:
        raise KnowledgeError(say("knowledge.no_entry_to_read", path=file, names=", ".join(missing[:5])))
    _write(folder, read_by(state, role, told, today))


def _entries(folder: Path) -> dict[str, Any]:
    return entries_of(load_entries(read_files(folder)))


def _state(folder: Path) -> State:
    path = folder / FILE
    if not path.exists():
        return {}
    try:
        document = parse(plain_text(path), FILE)
        if document.problems:
            raise ValueError(str(document.problems[0]))
        return state_of(document.value)
    except (OSError, ValueError) as error:
        raise KnowledgeError(say("knowledge.no_state", path=path, why=error)) from error


def _write(folder: Path, state: State) -> None:
    (folder / FILE).parent.mkdir(exist_ok=True)
    give_file(folder / FILE, state_text(state).encode(), "FOLDER", force=True)
