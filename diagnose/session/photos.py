"""Pictures that are attached to a visit: what each belongs to. They say nothing to the reasoning.

Which file a picture is in is told by its name alone, which is made from what is in it: see store.photos.
"""

import re
from dataclasses import replace
from typing import cast, get_args

from diagnose.model.visit import Value
from diagnose.session.events import Pictured
from diagnose.session.state import Photo, PhotoOf, Session

MOST = 40  # pictures of one visit
OF = get_args(PhotoOf)
_NAME = re.compile(r"[0-9a-f]{16}\.jpg")


def is_name(name: str) -> bool:
    """Whether a picture's file may be called so: nothing else is ever looked for on disk."""
    return _NAME.fullmatch(name) is not None


def pictured(session: Session, event: Pictured) -> Session:
    """Kept whatever else is taken back; the same picture of the same thing counts once."""
    answer = session.answer(event.which) if event.of == "answer" else None
    value: Value = answer.value if answer else ""
    words = answer.told[1] if answer else ""
    photo = Photo(event.name, cast(PhotoOf, event.of), event.which, value, event.says, event.by or session.by, words)
    known = any(replace(p, says="", by="") == replace(photo, says="", by="") for p in session.photos)
    return session if known else replace(session, photos=(*session.photos, photo))


def shown(session: Session) -> tuple[Photo, ...]:
    """Those that belong to something still: not to an answer or a repair that was taken back or corrected."""
    given = {(a.check, a.value) for a in session.given}
    given |= {(a.check, a.value) for t in session.attempts for a in (*t.carried, *t.answers)}
    mended = {r.cause for r in session.repairs}
    return tuple(
        p
        for p in session.photos
        if p.of in ("visit", "remedy") or (p.which in mended if p.of == "proof" else (p.which, p.value) in given)
    )


def at_hand(session: Session, leader: str) -> tuple[PhotoOf, str]:
    """What a picture belongs to where nobody says: the proof that is owed or was made last, after a conclusion the
    remedy of the leading cause, else the last answer."""
    if session.outcome:
        return "visit", ""
    if last := session.pending or session.mended:
        return "proof", last.cause
    if session.concluded:
        return "remedy", leader
    return ("answer", session.given[-1].check) if session.given else ("visit", "")
