"""Practice in the browser: choose a lesson, look, say what to expect, repair, prove, debrief."""

from starlette.responses import Response

from diagnose.errors import DiagnoseError, SessionError, VisitError
from diagnose.practice.coach import no_hint
from diagnose.practice.exercise import offered
from diagnose.practice.ladder import EXAM, LADDER
from diagnose.practice.moves import HintMove
from diagnose.present.cautions import told_before
from diagnose.present.debrief import review_of
from diagnose.present.practice import asked_of, causes_of, to_mend
from diagnose.session.persons import SEES_ALL_PRACTICE
from diagnose.session.session import conclude
from diagnose.web import exercise_view
from diagnose.web.context import Ask, PageContext, to
from diagnose.web.exercise_forms import SUSPECTS, causes_named, move_of
from diagnose.web.exercises import ExerciseFolder, OpenedExercise, StaleExercise
from diagnose.web.forms import number_of
from diagnose.web.visits import NoVisit
from diagnose.words import say

ME = "me"
MOST_DIGITS = 10  # of a seed


def _exercises(context: PageContext) -> ExerciseFolder:
    if context.exercises is None:
        raise VisitError(say("web.no_practice"))
    return context.exercises


def may_see(ask: Ask, trainee: str) -> bool:
    """Named people see what they practised themselves; a trainer sees it all."""
    person = ask.person
    return not person.name or person.role in SEES_ALL_PRACTICE or person.name.casefold() == trainee.casefold()


def _opened(context: PageContext, ask: Ask) -> OpenedExercise:
    """Raises NoVisit, VisitError."""
    opened = _exercises(context).open(ask.path["name"])
    if not may_see(ask, opened.trainee):
        raise NoVisit(say("web.no_exercise"))
    return opened


def lessons(context: PageContext, ask: Ask) -> Response:
    return _lessons(context, ask, "", ask.person.name or ME)


def _lessons(context: PageContext, ask: Ask, error: str, trainee: str) -> Response:
    started = _exercises(context).started(lambda of: may_see(ask, of))
    says = {lesson.id: lesson.says for lesson in (*LADDER, EXAM)}
    status = 422 if error else 200
    return context.page(ask, "lessons.html", status, lessons=says, started=started, error=error, trainee=trainee)


def begin(context: PageContext, ask: Ask) -> Response:
    """A new gate for a trainee."""
    trainee, seed = ask.person.name or ask.text("trainee"), ask.text("seed").strip()
    try:
        if seed and not (seed.isdecimal() and len(seed) < MOST_DIGITS):
            raise VisitError(say("practice.case_seed"))
        name = _exercises(context).begin(trainee, ask.text("lesson"), int(seed) if seed else None)
    except VisitError as error:
        return _lessons(context, ask, str(error), trainee)
    return to(f"/practice/{name}")


def half_worked(context: PageContext, ask: Ask) -> Response:
    """The gate at the end of the first lesson, its first steps done."""
    return to(f"/practice/{_exercises(context).begin_half_worked(ask.person.name or ask.text('trainee') or ME)}")


def exercise(context: PageContext, ask: Ask) -> Response:
    """Where the exercise stands; the debrief once it has ended."""
    opened = _opened(context, ask)
    return _page(context, ask, opened, opened.says)


def _page(context: PageContext, ask: Ask, opened: OpenedExercise, error: str, status: int = 200) -> Response:
    exercises, words = _exercises(context), ask.query.get("q", "")[:200]
    if opened.exercise.ended:
        review = review_of(
            exercises.reasoner, opened.recording.gate.truth, opened.exercise, exercises.debrief(opened)
        )
        return context.page(ask, "debrief.html", status, review=review, lesson=opened.lesson.says)
    stand = exercise_view.stand_of(exercises.reasoner, opened, words)
    return context.page(
        ask, "exercise.html", status, stand=stand, words=words, error=error, hints=opened.lesson.hints
    )


def check(context: PageContext, ask: Ask) -> Response:
    """A check before it is done: its precautions, what do you expect, and what do you hold likely?"""
    exercises = _exercises(context)
    opened = _opened(context, ask)
    conclusion = conclude(exercises.reasoner, opened.exercise.session)
    chosen = next((c for c in offered(context.kb, conclusion, opened.exercise) if c.id == ask.path["check"]), None)
    if chosen is None:
        raise VisitError(say("practice.no_sense"))
    causes = causes_of(context.kb, conclusion.belief.network.causes)
    asked = asked_of(context.kb, opened.exercise, chosen, told_before(context.kb, opened.exercise.session))
    return context.page(ask, "look.html", opened=opened, asked=asked, causes=causes, rows=range(1, SUSPECTS + 1))


def repair(context: PageContext, ask: Ask) -> Response:
    """A remedy: first its cause is named, then its steps and precautions are shown, then it is carried out."""
    exercises = _exercises(context)
    opened = _opened(context, ask)
    conclusion = conclude(exercises.reasoner, opened.exercise.session)
    causes = causes_of(context.kb, conclusion.belief.network.causes)
    named = causes_named(context.kb, (ask.query.get("cause", ""), ask.query.get("another", "")))
    mend = to_mend(context.kb, named) if named else None
    rows = range(1, SUSPECTS + 1)
    return context.page(ask, "mend.html", opened=opened, causes=causes, rows=rows, named=named, mend=mend)


def send(context: PageContext, ask: Ask) -> Response:
    """A move: on disk before the next page is shown."""
    exercises, form = _exercises(context), ask.fields()
    opened = _opened(context, ask)
    number = number_of(form)
    try:
        move = move_of(context.kb, form)
        if isinstance(move, HintMove) and (why := no_hint(opened.exercise, opened.lesson.hints)):
            raise SessionError(why)
        exercises.send(opened.name, number, move)
    except StaleExercise as error:
        return _page(context, ask, exercises.open(opened.name), str(error), 409)
    except DiagnoseError as error:
        return _page(context, ask, opened, str(error), 422)
    return to(f"/practice/{opened.name}")
