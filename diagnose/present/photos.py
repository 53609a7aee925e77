"""The pictures of a visit in words: what each belongs to, what was said of it, who attached it."""

from dataclasses import dataclass

from diagnose.model.gear import plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer
from diagnose.session.photos import at_hand, shown
from diagnose.session.state import Photo, PhotoOf, Session
from diagnose.session.wording import answer_says, ask_text
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class ShownPhoto:
    """One picture. `name` is its file; `of` and `which` what it belongs to, and `belongs` the same in words."""

    name: str
    of: PhotoOf
    which: str
    belongs: str
    says: str
    by: str

    @property
    def line(self) -> str:
        """Everything about it but what it shows."""
        return "; ".join(filter(None, (say("present.photo", name=self.name, of=self.belongs), self.says, self.by)))


def photos_of(kb: KnowledgeBase, session: Session) -> tuple[ShownPhoto, ...]:
    """Those that belong to something still, in the order in which they came."""
    return tuple(
        ShownPhoto(p.name, p.of, p.which, belongs_says(kb, session, p), p.says, p.by) for p in shown(session)
    )


def belongs_says(kb: KnowledgeBase, session: Session, photo: Photo) -> str:
    """What a picture belongs to; also where that is of a device that is not named any more."""
    base = kb.base or kb
    if photo.of == "answer":
        check, role = kb.checks.get(photo.which) or base.checks[plain(photo.which)], session.setup.role
        said = answer_says(check, Answer(check.id, photo.value, note=photo.words), role)
        return say("present.answered", asked=ask_text(check, role), said=said)
    if photo.of == "visit":
        return say("present.photo_of_visit")
    cause = kb.causes.get(photo.which) or base.causes[plain(photo.which)]
    return say(f"present.photo_of_{photo.of}", cause=cause.says)


def at_hand_says(kb: KnowledgeBase, session: Session, leader: str) -> str:
    """What a picture belongs to where nobody says."""
    of, which = at_hand(session, leader)
    answer = session.answer(which)
    value, words = answer.told if answer else ("", "")
    return belongs_says(kb, session, Photo("", of, which, value, words=words))
