"""Pictures in a browser: taken with the phone's camera and sent, and shown beside what they belong to."""

from starlette.datastructures import UploadFile
from starlette.responses import Response

from diagnose.errors import SessionError, VisitError
from diagnose.session.law import may_follow
from diagnose.store.photos import MOST_BYTES, keep, kept, made, name_of
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.forms import number_of, pictured
from diagnose.web.visit_pages import after, conflicting, refused
from diagnose.web.visits import NoVisit, Opened, Stale
from diagnose.words import say

HEADERS = {
    "Content-Security-Policy": "default-src 'none'; sandbox; frame-ancestors 'none'",
    "Content-Disposition": "inline",
    "Cache-Control": "private, max-age=600",  # what is in a picture never changes under its name
}


def attach(context: PageContext, ask: Ask) -> Response:
    """A picture that was sent: its file is on disk before the visit tells of it."""
    opened, form = context.visits.open(ask.path["name"]), ask.fields()
    try:
        picture = made(_uploaded(ask, opened))
        event = pictured(form, name_of(picture))
        path = context.visits.path(opened.name)
        context.visits.send(opened.name, number_of(form), event, ask.person, lambda: keep(path, picture))
    except Stale as stale:
        return conflicting(context, ask, stale.opened, number_of(form), stale.event)
    except (SessionError, VisitError) as error:
        return refused(context, ask, opened, str(error))
    return to(after(opened.name, form))


def _uploaded(ask: Ask, opened: Opened) -> bytes:
    """What was sent as a picture. Raises SessionError where none may follow, VisitError where there is none."""
    if why := may_follow(opened.reasoner.kb, opened.session)["pictured"]:
        raise SessionError(why)
    upload = ask.form.get("picture")
    if not isinstance(upload, UploadFile) or not (data := upload.file.read(MOST_BYTES + 1)):
        raise VisitError(say("web.no_picture_sent"))
    return data


def photo(context: PageContext, ask: Ask) -> Response:
    """One picture, from the visit's own folder only."""
    data = kept(context.visits.path(ask.path["name"]), ask.path["photo"])
    if data is None:
        raise NoVisit(say("web.no_picture"))
    return Response(data, media_type="image/jpeg", headers=HEADERS)
