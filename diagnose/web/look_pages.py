"""What is asked in one go on one page: looks, each with what it is when all is well already chosen; or facts."""

from starlette.responses import Response

from diagnose.errors import AnswerError, SessionError
from diagnose.model.knowledge import Check
from diagnose.model.visit import NO_ANSWER
from diagnose.session.events import Reply
from diagnose.session.parse import Parsed, parse_answer
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.forms import check_named, number_of
from diagnose.web.visit_pages import conflicting, refused
from diagnose.web.visits import Opened, Stale
from diagnose.words import say

LOOK = "look_"  # and a check: the field with what was seen
MOST = 20  # looks of one form


def looked(context: PageContext, ask: Ask) -> Response:
    """What was seen at one place: every answer is on disk before the next page is shown."""
    opened, number = context.visits.open(ask.path["name"]), number_of(ask.fields())
    try:
        read = _read_all(opened, ask)
        for at, reply in enumerate((r for r, usual in read if usual), start=number):
            context.visits.send(opened.name, at, reply, ask.person)
    except Stale as stale:
        return conflicting(context, ask, stale.opened, number, stale.event)
    except SessionError as error:
        return refused(context, ask, opened, str(error))
    return to(f"/visit/{opened.name}{'' if all(usual for _, usual in read) else '?singly=1'}")


def _read_all(opened: Opened, ask: Ask) -> list[tuple[Reply, bool]]:
    """In the order of the page, each with whether it is usual; an unusual reading is asked about by itself.

    Raises SessionError where a field names no check or cannot be read.
    """
    seen = [(name.removeprefix(LOOK), value) for name, value in ask.fields().items() if name.startswith(LOOK)]
    named = [(check_named(opened.reasoner.kb, {"check": name}), value) for name, value in seen[:MOST]]
    read = [(check, _read(check, value)) for check, value in named]
    return [(parsed.reply(check.id), not parsed.doubt) for check, parsed in read]


def _read(check: Check, typed: str) -> Parsed:
    try:
        return parse_answer(check, typed or NO_ANSWER[0])
    except AnswerError as error:
        raise SessionError(say("web.field_wrong", asked=check.ask, why=error)) from None
