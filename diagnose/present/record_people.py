"""Who did which part of a visit, what people noted in their own words, and how it had ended before."""

from collections import Counter

from diagnose.present.clean import LONGEST_NAME, clean
from diagnose.present.ending import facts_of
from diagnose.present.record import RecordedEnd
from diagnose.session.state import Note, NoteKind, Repair, Session
from diagnose.session.wording import by_says, done_by_says, ending_says
from diagnose.words import say


def people(session: Session) -> tuple[str, ...]:
    """Who checked how much, who mended what, who ended it."""
    given = (*(a for t in session.attempts for a in t.answers), *session.answers)
    counts = Counter(named(by_says(a.by)) for a in given if a.says_something)
    checked = [say("report.checks_by", name=name, n=number) for name, number in counts.items()]
    mended = Counter(mender(r) for r in session.repairs if r.name)
    ended = [say("report.ended_by", name=named(session.by))] if session.outcome and session.by else []
    return (*checked, *(say("report.repairs_by", name=name, n=n) for name, n in mended.items()), *ended)


def named(name: str) -> str:
    return clean(name, LONGEST_NAME) or say("report.no_name")


def mender(repair: Repair) -> str:
    """Who carried a remedy out, by name, by what they are, or both; '' where neither is known."""
    return ", ".join(filter(None, (clean(repair.name, LONGEST_NAME), done_by_says(repair.by))))


def notes(session: Session, kind: NoteKind) -> tuple[str, ...]:
    return tuple(_note(note) for note in session.notes if note.kind == kind)


def _note(note: Note) -> str:
    return say("report.note_by", text=note.text, by=named(note.by)) if note.by else note.text


def earlier_ends(session: Session) -> tuple[RecordedEnd, ...]:
    """How the visit had ended before it was opened again or taken over."""
    return tuple(RecordedEnd(ending_says(end.outcome), facts_of(end)) for end in session.earlier)
