"""The pages before a visit: the list of visits, a new one, the password."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import islice
from uuid import uuid4

from starlette.responses import Response

from diagnose.errors import AnswerError, SessionError
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Role, Setup
from diagnose.session.events import Begin
from diagnose.session.gear_words import gear_says, read_gear
from diagnose.session.match import by_commonness, match_complaint
from diagnose.session.regear import geared, with_papers
from diagnose.store.listed import Listed
from diagnose.store.profiles import load_profile, profile_facts
from diagnose.store.visits import gear_at
from diagnose.store.visits import listing as all_visits
from diagnose.web.context import Ask, PageContext, places_of, to
from diagnose.web.forms import LONGEST
from diagnose.web.keeper import cookie
from diagnose.words import say

ON_A_PAGE = 25
FIELDS = ("site", "role", "words", "complaint", "gear", "device", "place", "remembered")


def listing(context: PageContext, ask: Ask) -> Response:
    """Visits, newest first, a page at a time; only the files of the page are read unless words are searched for."""
    words = ask.query.get("q", "")[:LONGEST].casefold().split()
    number = ask.query.get("page", "1")
    first = ON_A_PAGE * (max(1, int(number)) - 1) if number.isascii() and number.isdigit() and len(number) < 6 else 0
    rows = (_row(context.kb, visit) for visit in all_visits(context.visits.folder))
    found = list(islice((r for r in rows if _fits(r, words)), first, first + ON_A_PAGE + 1))
    page = first // ON_A_PAGE + 1
    more = len(found) > ON_A_PAGE
    return context.page(
        ask, "list.html", rows=found[:ON_A_PAGE], query=ask.query.get("q", ""), number=page, more=more
    )


def _row(kb: KnowledgeBase, visit: Listed) -> Listed:
    """With the complaint in words."""
    complaint = kb.complaints[visit.complaint].says if visit.complaint in kb.complaints else visit.complaint
    return replace(visit, complaint=complaint)


def _fits(row: Listed, words: list[str]) -> bool:
    text = f"{row.name} {row.site} {row.complaint}".casefold()
    return all(word in text for word in words)


def start(context: PageContext, ask: Ask) -> Response:
    only = [*places_of(ask)]
    role = only[0] if len(only) == 1 else ask.query.get("role", "")
    return _form(context, ask, {"role": role}, (), "")


def _form(context: PageContext, ask: Ask, typed: Mapping[str, str], ticked: tuple[str, ...], error: str) -> Response:
    """The opening questions; what was chosen or typed before stays."""
    words, kb = typed.get("words", ""), context.kb
    matches = match_complaint(kb, words) if words.strip() else []
    rest = [c for c in by_commonness(kb) if c not in matches]
    typed = {**dict.fromkeys(FIELDS, ""), **typed}
    return context.page(
        ask,
        "start.html",
        422 if error else 200,
        places=places_of(ask),
        devices=kb.devices,
        tools=kb.tools,
        profiles=context.profiles,
        matches={c: kb.complaints[c].says for c in matches},
        rest={c: kb.complaints[c].says for c in rest},
        typed=typed,
        ticked=ticked,
        error=error,
        longest=LONGEST,
    )


def begin(context: PageContext, ask: Ask) -> Response:
    """A new visit; or, when only words were given, the complaints that they sound like."""
    fields = {k: v[:LONGEST] for k, v in ask.fields().items()}
    ticked = (*ask.texts("sensor"), *ask.texts("missing"))
    before = _before(context, fields, ticked)
    if fields.get("do") == "match":
        return _form(context, ask, {**fields, **before, "complaint": ""}, ticked, "")
    if before:
        return _form(context, ask, {**fields, **before}, ticked, "")
    if problem := _problem(context, ask, fields):
        return _form(context, ask, fields, ticked, problem)
    try:
        event = _begin(context, ask, fields)
        return to(f"/visit/{context.visits.begin(event)}/heard")
    except (SessionError, AnswerError) as error:
        return _form(context, ask, fields, ticked, str(error))


def _before(context: PageContext, fields: Mapping[str, str], ticked: tuple[str, ...]) -> Mapping[str, str]:
    """The devices that were named at this site last time, to be looked at once where nothing is said of any."""
    site = fields.get("site", "").strip()
    said = fields.get("gear", "").strip() or any(d in ticked for d in context.kb.devices)
    if said or not site or site == fields.get("remembered", ""):
        return {}
    gear = gear_at(context.kb, context.visits.folder, site)
    return {"gear": gear_says(context.kb, gear), "remembered": site} if gear else {}


def _problem(context: PageContext, ask: Ask, fields: Mapping[str, str]) -> str:
    if fields.get("role") not in places_of(ask):
        return say("web.say_where")
    if fields.get("complaint") not in context.kb.complaints:
        return say("web.say_what")
    return ""


def _begin(context: PageContext, ask: Ask, fields: Mapping[str, str]) -> Begin:
    role: Role = "help_desk" if fields["role"] == "help_desk" else "technician"
    missing = frozenset(ask.texts("missing"))
    device, place = (context.profiles.get(kind, {}).get(fields.get(name, ""), "") for kind, name in _PROFILES)
    setup = Setup(
        role=role,
        electrician=fields["role"] == "electrician",
        tools=frozenset(context.kb.tools) - missing if missing else None,
        devices=tuple(d for d in context.kb.devices if d in ask.texts("sensor")),
        profile=profile_facts([place] if place else []),
    )
    site, words = fields.get("site", "").strip(), fields.get("words", "").strip()
    setup = geared(setup, read_gear(context.kb, fields.get("gear", "")))
    if device:
        setup = with_papers(setup, load_profile(device).sensor, profile_facts([device]))
    return Begin(setup, fields["complaint"], words, site, context.kb.digest, str(uuid4()), ask.person.name)


_PROFILES = (("device", "device"), ("site", "place"))  # kind of profile -> name of its field


def login(context: PageContext, ask: Ask) -> Response:
    return to("/") if context.keeper.knows(ask.session) else _login_page(context, ask, "")


def _login_page(context: PageContext, ask: Ask, error: str) -> Response:
    named = bool(context.keeper.users)
    return context.page(ask, "login.html", 401 if error else 200, error=error, named=named, name=ask.text("name"))


def log_in(context: PageContext, ask: Ask) -> Response:
    keeper = context.keeper
    session = keeper.login(ask.address, ask.text("password"), ask.text("name")) if keeper.asks else ""
    if not session:
        return _login_page(context, ask, say("web.wrong_name" if keeper.users else "web.wrong_password"))
    answer = to("/")
    answer.headers["Set-Cookie"] = cookie(session, ask.secure)
    return answer


def log_out(context: PageContext, ask: Ask) -> Response:
    context.keeper.logout(ask.session)
    return to("/login")
