"""Several looks at one place on one page, each with what it is when all is well already chosen."""

from starlette.responses import Response

from diagnose.errors import SessionError
from diagnose.session.events import Reply
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.forms import check_named, number_of
from diagnose.web.visit_pages import conflicting, refused
from diagnose.web.visits import Opened, Stale

LOOK = "look_"  # and a check: the field with what was seen
MOST = 20  # looks of one form


def looked(context: PageContext, ask: Ask) -> Response:
    """What was seen at one place: every answer is on disk before the next page is shown."""
    opened, number = context.visits.open(ask.path["name"]), number_of(ask.fields())
    try:
        for at, reply in enumerate(_replies(opened, ask), start=number):
            context.visits.send(opened.name, at, reply)
    except Stale as stale:
        return conflicting(context, ask, stale.opened, number, stale.event)
    except SessionError as error:
        return refused(context, ask, opened, str(error))
    return to(f"/visit/{opened.name}")


def _replies(opened: Opened, ask: Ask) -> list[Reply]:
    """In the order of the page. Raises SessionError where a field names no check."""
    seen = [(name.removeprefix(LOOK), value) for name, value in ask.fields().items() if name.startswith(LOOK)]
    named = [(check_named(opened.reasoner.kb, {"check": name}), value) for name, value in seen[:MOST]]
    return [Reply(check.id, value) for check, value in named if value]
