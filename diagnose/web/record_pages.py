"""What leaves and enters: records, hand-over, take-over."""

import re
from collections.abc import Mapping

from starlette.datastructures import FormData, UploadFile
from starlette.responses import Response

from diagnose.errors import VisitError
from diagnose.model.visit import Role, Setup
from diagnose.present.record import Version
from diagnose.present.record_parts import build
from diagnose.present.times import times_in
from diagnose.report.drawers import drawers
from diagnose.store.journal import read
from diagnose.store.limits import MAX_BYTES
from diagnose.store.photos import small
from diagnose.store.recover import Recovered, recovered
from diagnose.web.context import Ask, PageContext, places_of, to
from diagnose.web.forms import LONGEST
from diagnose.web.page import page_of
from diagnose.web.visit_pages import Said
from diagnose.words import say

VERSIONS: Mapping[str, Version] = {"customer": "customer", "full": "full"}
KINDS: Mapping[str, str] = {
    "html": "text/html;charset=utf-8",
    "json": "application/json",
    "pdf": "application/pdf",
}
RECORD_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)


def records(context: PageContext, ask: Ask) -> Response:
    """What can be had of this visit, to look at and to keep."""
    opened = context.visits.open(ask.path["name"])
    page = page_of(opened.reasoner, opened, context.visits.conclude(opened))
    return context.page(ask, "record.html", page=page, said=Said())


def record(context: PageContext, ask: Ask) -> Response:
    """One version of the record in one format. Its page carries its style inside and runs no script."""
    opened = context.visits.open(ask.path["name"])
    version, kind = VERSIONS.get(ask.path["version"]), KINDS.get(ask.path["ending"])
    if version is None or kind is None:
        raise VisitError(say("web.no_record"))
    conclusion, times = context.visits.conclude(opened), times_in(opened.found, f"{opened.name}.visit")
    made = build(opened.reasoner, opened.session, conclusion, times, version, opened.name)
    images = small(context.visits.path(opened.name), tuple(photo.name for photo in made.photos))
    body = drawers(images)[ask.path["ending"]](made)
    file = f"{opened.name}-{version}.{ask.path['ending']}"
    how = "inline" if ask.path["ending"] == "html" else "attachment"
    headers = {"Content-Security-Policy": RECORD_POLICY, "Content-Disposition": _named(how, file)}
    return Response(body, media_type=kind, headers=headers)


def _named(how: str, file: str) -> str:
    """How a browser is to take a file, and its name: whatever a visit is called, it stays one word of one header."""
    return f'{how}; filename="{re.sub("[^A-Za-z0-9._-]", "_", file)}"'


def hand_over(context: PageContext, ask: Ask) -> Response:
    """The visit file itself, for somebody else. A damaged one has to be gone on with first."""
    path = context.visits.path(ask.path["name"])
    if (found := read(path)).broken:
        raise VisitError(say("web.mend_first", damage=found.says(path.name)))
    headers = {"Content-Disposition": _named("attachment", path.name)}
    return Response(path.read_bytes(), media_type="application/octet-stream", headers=headers)


def take_over_form(context: PageContext, ask: Ask) -> Response:
    return _take_over_page(context, ask, "")


def _take_over_page(context: PageContext, ask: Ask, error: str) -> Response:
    return context.page(
        ask, "takeover.html", 422 if error else 200, places=places_of(ask), error=error, longest=LONGEST
    )


def take_over(context: PageContext, ask: Ask) -> Response:
    """A visit file that somebody handed over; its answers are shown next, each to confirm or to correct."""
    if ask.text("role") not in places_of(ask):
        return _take_over_page(context, ask, say("web.say_where"))
    role: Role = "help_desk" if ask.text("role") == "help_desk" else "technician"
    setup, by = Setup(role, ask.text("role") == "electrician"), ask.person.name or ask.text("by").strip()[:LONGEST]
    try:
        name = context.visits.take_over(_uploaded(ask.form), setup, by)
    except VisitError as error:
        return _take_over_page(context, ask, str(error))
    return to(f"/visit/{name}/answers")


def _uploaded(form: FormData) -> Recovered:
    """What is whole in the file that was sent; what is not is said on every page of the visit. Raises VisitError."""
    upload = form.get("file")
    if not isinstance(upload, UploadFile):
        raise VisitError(say("web.choose_file"))
    data = upload.file.read(MAX_BYTES + 1)
    if len(data) > MAX_BYTES:
        what = say("store.a_visit_file")
        raise VisitError(say("store.too_large", name=say("web.the_file"), most=f"{MAX_BYTES:,}", what=what))
    found = recovered(data)
    if not found.events:
        raise VisitError(say("web.no_whole_visit", damage=found.damage))
    return found
