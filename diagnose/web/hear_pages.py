"""What was heard in somebody's words, on a page: each line may be struck out before anything is taken."""

from starlette.responses import Response

from diagnose.errors import SessionError
from diagnose.present.heard import Listened, listened
from diagnose.session.events import Reply
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.forms import LONGEST, number_of
from diagnose.web.page import page_of
from diagnose.web.visit_pages import Said, conflicting, refused
from diagnose.web.visits import Opened, Stale
from diagnose.words import say


def first_words(context: PageContext, ask: Ask) -> Response:
    """What was heard in the words the visit began with, in what was seen at the last proof, or in words kept as an
    answer; nothing to look at leads on to the next question."""
    opened = context.visits.open(ask.path["name"])
    seen = opened.session.repairs[-1].reading if "proof" in ask.query and opened.session.repairs else ""
    if answer := opened.session.answer(ask.query.get("answer", "")):
        seen = answer.told[1]
    return _page(context, ask, opened, seen or opened.session.words, seen)


def heard(context: PageContext, ask: Ask) -> Response:
    """Words that were sent: what is heard in them; or, of what was shown, the lines that stand."""
    opened, words = context.visits.open(ask.path["name"]), ask.text("said")[:LONGEST]
    if ask.text("do") != "take":
        return _page(context, ask, opened, words)
    try:
        for number, reply in enumerate(_standing(opened, words, ask.texts("take")), start=number_of(ask.fields())):
            context.visits.send(opened.name, number, reply, ask.person)
    except Stale as stale:
        return conflicting(context, ask, stale.opened, number_of(ask.fields()), stale.event)
    except SessionError as error:
        return refused(context, ask, opened, str(error))
    return to(f"/visit/{opened.name}")


def _standing(opened: Opened, words: str, marks: list[str]) -> list[Reply]:
    """The replies whose lines were not struck out."""
    found = listened(opened.reasoner.kb, opened.session, words)
    return [reply for _, reply in found.lines if _mark(reply) in marks]


def _mark(reply: Reply) -> str:
    return f"{reply.check}={reply.value}"


def _page(context: PageContext, ask: Ask, opened: Opened, words: str, seen: str = "") -> Response:
    found: Listened = listened(opened.reasoner.kb, opened.session, words)
    if not found.lines and not found.dangers:
        return _nothing(context, ask, opened, "" if seen else words)
    page = page_of(opened.reasoner, opened, context.visits.conclude(opened))
    lines = [(says, _mark(reply)) for says, reply in found.lines]
    return context.page(ask, "heard.html", page=page, lines=lines, dangers=found.dangers, words=words, said=Said())


def _nothing(context: PageContext, ask: Ask, opened: Opened, words: str) -> Response:
    if not words or words == opened.session.words:
        return to(f"/visit/{opened.name}")
    return refused(context, ask, opened, say("terminal.heard_nothing"))
