"""Practice in the browser: choose a lesson, look, say what to expect, repair, prove, debrief."""

from starlette.responses import Response

from diagnose.errors import DiagnoseError, SessionError, VisitError
from diagnose.practice.exercise import offered
from diagnose.practice.ladder import LADDER
from diagnose.practice.moves import HintMove
from diagnose.present.debrief import review_of
from diagnose.present.practice import asked_of, causes_of
from diagnose.session.session import conclude
from diagnose.web import drill_view
from diagnose.web.desk import Ask, Desk, to
from diagnose.web.drill_forms import SUSPECTS, move_of
from diagnose.web.drills import Drill, Drills, StaleDrill
from diagnose.web.forms import number_of
from diagnose.words import say


def _drills(desk: Desk) -> Drills:
    if desk.drills is None:
        raise VisitError(say("web.no_practice"))
    return desk.drills


def lessons(desk: Desk, ask: Ask) -> Response:
    return _lessons(desk, ask, "", "me")


def _lessons(desk: Desk, ask: Ask, error: str, trainee: str) -> Response:
    started = _drills(desk).started()
    says = {lesson.id: lesson.says for lesson in LADDER}
    status = 422 if error else 200
    return desk.page(ask, "lessons.html", status, lessons=says, started=started, error=error, trainee=trainee)


def begin(desk: Desk, ask: Ask) -> Response:
    """A new gate for a trainee."""
    trainee = ask.text("trainee")
    try:
        name = _drills(desk).begin(trainee, ask.text("lesson"))
    except VisitError as error:
        return _lessons(desk, ask, str(error), trainee)
    return to(f"/practice/{name}")


def drill(desk: Desk, ask: Ask) -> Response:
    """Where the exercise stands; the debrief once it has ended."""
    return _page(desk, ask, _drills(desk).open(ask.path["name"]), "")


def _page(desk: Desk, ask: Ask, drill: Drill, error: str, status: int = 200) -> Response:
    drills, words = _drills(desk), ask.query.get("q", "")[:200]
    if drill.exercise.ended:
        review = review_of(desk.kb, drill.recording.gate.truth, drill.exercise, drills.debrief(drill))
        return desk.page(ask, "debrief.html", status, review=review, lesson=drill.lesson.says)
    stand = drill_view.stand_of(drills.reasoner, drill, words)
    return desk.page(ask, "drill.html", status, stand=stand, words=words, error=error, hints=drill.lesson.hints)


def check(desk: Desk, ask: Ask) -> Response:
    """A check before it is done: what do you expect, and what do you hold likely?"""
    drills = _drills(desk)
    drill = drills.open(ask.path["name"])
    conclusion = conclude(drills.reasoner, drill.exercise.session)
    chosen = next((c for c in offered(desk.kb, conclusion, drill.exercise) if c.id == ask.path["check"]), None)
    if chosen is None:
        raise VisitError(say("practice.no_sense"))
    causes = causes_of(desk.kb, conclusion.belief.network.causes)
    asked = asked_of(desk.kb, chosen)
    return desk.page(ask, "look.html", drill=drill, asked=asked, causes=causes, rows=range(1, SUSPECTS + 1))


def repair(desk: Desk, ask: Ask) -> Response:
    drills = _drills(desk)
    drill = drills.open(ask.path["name"])
    conclusion = conclude(drills.reasoner, drill.exercise.session)
    causes = causes_of(desk.kb, conclusion.belief.network.causes)
    return desk.page(ask, "mend.html", drill=drill, causes=causes, rows=range(1, SUSPECTS + 1))


def send(desk: Desk, ask: Ask) -> Response:
    """A move: on disk before the next page is shown."""
    drills, form = _drills(desk), ask.fields()
    drill = drills.open(ask.path["name"])
    number = number_of(form)
    try:
        move = move_of(desk.kb, form)
        if isinstance(move, HintMove) and not drill.lesson.hints:
            raise SessionError(say("practice.no_hints"))
        drills.send(drill.name, number, move)
    except StaleDrill as error:
        return _page(desk, ask, drills.open(drill.name), str(error), 409)
    except DiagnoseError as error:
        return _page(desk, ask, drill, str(error), 422)
    return to(f"/practice/{drill.name}")
