"""The pages of one visit, and the one place where its forms arrive."""

from dataclasses import dataclass
from urllib.parse import urlencode

from markupsafe import Markup
from starlette.responses import Response

from diagnose.core.reason import Conclusion
from diagnose.errors import SessionError, VisitError
from diagnose.model.knowledge import Check
from diagnose.model.visit import SOMETHING_ELSE
from diagnose.present.cautions import told_before
from diagnose.present.conclusion import result_of
from diagnose.present.ending import ending_of, ways_to_end
from diagnose.present.looks import facts_of, looks_of
from diagnose.present.mending import next_of, owed_of
from diagnose.present.question import help_of, question_of
from diagnose.present.reasons import why_of, workings_of
from diagnose.present.sheet import sheet_of
from diagnose.session.events import Event
from diagnose.session.match import by_commonness
from diagnose.web.conflict import Conflict, conflict_of
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.forms import BECAME, LONGEST, SentAgain, WhichDevice, event_of, number_of
from diagnose.web.page import page_of
from diagnose.web.signing import with_name
from diagnose.web.visits import Opened, Stale
from diagnose.words import say


@dataclass(frozen=True, slots=True)
class Said:
    """What a page has to say about the form before it; `gear` is what was typed there as the devices."""

    error: str = ""
    again: SentAgain | None = None
    conflict: Conflict | None = None
    which: WhichDevice | None = None
    gear: str = ""

    @property
    def status(self) -> int:
        return 409 if self.conflict else 422 if self.error or self.again or self.which else 200


def visit(context: PageContext, ask: Ask) -> Response:
    """The visit as it stands: the question, the proof that is owed, the conclusion or the end."""
    return _visit_page(context, ask, context.visits.open(ask.path["name"]), Said())


def _visit_page(context: PageContext, ask: Ask, opened: Opened, said: Said) -> Response:
    """Stop-work first; then the one thing that is to be done now."""
    session, conclusion = opened.session, context.visits.conclude(opened)
    if session.outcome:
        return _ended(context, ask, opened, conclusion, said)
    if owed := owed_of(opened.reasoner.kb, session):
        page = page_of(opened.reasoner, opened, conclusion)
        return context.page(
            ask,
            "proof.html",
            said.status,
            page=page,
            said=said,
            owed=owed,
            ways=ways_to_end(opened.reasoner.kb, session),
        )
    if session.concluded or not conclusion.next.check:
        return _concluded(context, ask, opened, conclusion, said)
    if not said.again and "singly" not in ask.query and (shown := _in_one_go(context, ask, opened, conclusion, said)):
        return shown
    check = opened.reasoner.kb.checks[conclusion.next.check]
    return _question(context, ask, opened, conclusion, check, said)


def _in_one_go(context: PageContext, ask: Ask, opened: Opened, conclusion: Conclusion, said: Said) -> Response | None:
    """Looks or facts that are asked together; None where one question stands alone."""
    of = (opened.reasoner.kb, opened.session, conclusion)
    looks, facts = looks_of(*of), facts_of(*of)
    if not looks and not facts:
        return None
    page, template = page_of(opened.reasoner, opened, conclusion), "round.html" if looks else "facts.html"
    return context.page(ask, template, said.status, page=page, round=looks or facts, said=said)


def _ended(context: PageContext, ask: Ask, opened: Opened, conclusion: Conclusion, said: Said) -> Response:
    session, reasoner = opened.session, opened.reasoner
    return context.page(
        ask,
        "ending.html",
        said.status,
        page=page_of(reasoner, opened, conclusion),
        ending=ending_of(opened.reasoner.kb, session),
        sheet=sheet_of(reasoner, session, conclusion) if ending_of(reasoner.kb, session).sheet else None,
        said=said,
    )


def _question(
    context: PageContext,
    ask: Ask,
    opened: Opened,
    conclusion: Conclusion,
    check: Check,
    said: Said,
    changing: bool = False,
) -> Response:
    reasoner, help_ = opened.reasoner, help_of(opened.reasoner.kb, opened.session, check)
    return context.page(
        ask,
        "question.html",
        said.status,
        page=page_of(reasoner, opened, conclusion),
        question=question_of(opened.reasoner.kb, opened.session, check),
        help=help_,
        picture=Markup(help_.picture),  # the knowledge check has found it safe to inline
        why=None if changing else why_of(reasoner, conclusion),
        changing=changing,
        said=said,
    )


def _concluded(context: PageContext, ask: Ask, opened: Opened, conclusion: Conclusion, said: Said) -> Response:
    session, reasoner = opened.session, opened.reasoner
    return context.page(
        ask,
        "conclusion.html",
        said.status,
        page=page_of(reasoner, opened, conclusion),
        result=result_of(reasoner, session, conclusion, told_before(opened.reasoner.kb, session)),
        next=next_of(reasoner, session, conclusion),
        said=said,
    )


def change(context: PageContext, ask: Ask) -> Response:
    """An earlier answer, to be given anew."""
    opened = context.visits.open(ask.path["name"])
    answer = opened.session.answer(ask.path["check"])
    if answer is None:
        raise VisitError(say("web.no_answer"))
    check = opened.reasoner.kb.checks[answer.check]
    return _question(context, ask, opened, context.visits.conclude(opened), check, Said(), changing=True)


def send(context: PageContext, ask: Ask) -> Response:
    """A form of a visit: its event is on disk before the next page is shown."""
    opened, form = context.visits.open(ask.path["name"]), with_name(ask.fields(), ask.person)
    number = number_of(form)
    try:
        event = event_of(opened.reasoner.kb, opened.session, form)
        context.visits.send(opened.name, number, event, ask.person)
    except Stale as stale:
        return conflicting(context, ask, stale.opened, number, event)
    except SentAgain as again:
        if number != opened.number:
            return conflicting(context, ask, opened, number, None)
        return _give_again(context, ask, opened, again)
    except WhichDevice as which:
        if number != opened.number:
            return conflicting(context, ask, opened, number, None)
        return _answers_page(context, ask, opened, Said(which=which, gear=which.typed))
    except SessionError as error:
        if number != opened.number:
            return conflicting(context, ask, opened, number, None)
        return refused(context, ask, opened, str(error))
    return to(after(opened.name, form))


def refused(context: PageContext, ask: Ask, opened: Opened, why: str) -> Response:
    """Where devices were named, beside them, so that what was typed can be mended."""
    if ask.text("do") == "named":
        return _answers_page(context, ask, opened, Said(error=why, gear=ask.text("gear")))
    return _visit_page(context, ask, opened, Said(error=why))


def after(name: str, form: dict[str, str]) -> str:
    """Confirming answers of a hand-over, or ticking lines off, goes on at the next of them."""
    if form.get("then") == "answers":
        return f"/visit/{name}/answers" + ("#next" if form.get("confirm") else "")
    if form.get("do") == "proved" and form.get("passed") == "no" and form.get("reading", "").strip():
        return f"/visit/{name}/heard?proof=1"  # what was seen instead is a finding too
    if form.get("answer") == SOMETHING_ELSE:
        return f"/visit/{name}/heard?{urlencode({'answer': form['check']})}"
    return f"/visit/{name}" + ("#next" if form.get("do") == "ticked" and form.get("result") != "fail" else "")


def conflicting(context: PageContext, ask: Ask, opened: Opened, number: int, event: Event | None) -> Response:
    """What the form said and what came since, where the visit stands now."""
    conflict = conflict_of(opened.reasoner.kb, opened, number, event, ask.fields())
    return _visit_page(context, ask, opened, Said(conflict=conflict))


def _give_again(context: PageContext, ask: Ask, opened: Opened, again: SentAgain) -> Response:
    """The same question once more, with what was typed and why it was not taken."""
    conclusion, check = context.visits.conclude(opened), opened.reasoner.kb.checks[again.check]
    changing = again.check != conclusion.next.check
    return _question(context, ask, opened, conclusion, check, Said(again=again), changing)


def answers(context: PageContext, ask: Ask) -> Response:
    return _answers_page(context, ask, context.visits.open(ask.path["name"]), Said())


def _answers_page(context: PageContext, ask: Ask, opened: Opened, said: Said) -> Response:
    page = page_of(opened.reasoner, opened, context.visits.conclude(opened))
    former = {d.key: d.name for d in opened.session.setup.gear}
    return context.page(
        ask, "answers.html", said.status, page=page, said=said, former=former, became=BECAME, longest=LONGEST
    )


def complaint(context: PageContext, ask: Ask) -> Response:
    opened = context.visits.open(ask.path["name"])
    page = page_of(opened.reasoner, opened, context.visits.conclude(opened))
    names = {c: opened.reasoner.kb.complaints[c].says for c in by_commonness(opened.reasoner.kb)}
    return context.page(ask, "complaint.html", page=page, names=names, now=opened.session.complaint, said=Said())


def likely(context: PageContext, ask: Ask) -> Response:
    """What leads, and how it came to lead: weights of evidence, rules, calculations."""
    opened = context.visits.open(ask.path["name"])
    conclusion, reasoner = context.visits.conclude(opened), opened.reasoner
    page = page_of(reasoner, opened, conclusion)
    workings = workings_of(reasoner, opened.session, conclusion)
    why = why_of(reasoner, conclusion)
    return context.page(ask, "likely.html", page=page, workings=workings, why=why, said=Said())


def sheet(context: PageContext, ask: Ask) -> Response:
    """What whoever is sent needs."""
    opened = context.visits.open(ask.path["name"])
    conclusion, reasoner = context.visits.conclude(opened), opened.reasoner
    page = page_of(reasoner, opened, conclusion)
    found = sheet_of(reasoner, opened.session, conclusion)
    return context.page(ask, "sheet.html", page=page, sheet=found, said=Said())
