"""What a trainer sees in the browser: the group, each trainee, and each one's last examination."""

from starlette.responses import Response

from diagnose.errors import VisitError
from diagnose.practice.exam import sittings
from diagnose.practice.lessons import families_of, today
from diagnose.present.exam import exam_record
from diagnose.present.trainees import group_trend, trainee_of
from diagnose.web.context import Ask, PageContext
from diagnose.web.exercise_pages import may_see
from diagnose.words import say


def trainees(context: PageContext, ask: Ask) -> Response:
    """Raises VisitError where nobody practises on this server."""
    if context.exercises is None:
        raise VisitError(say("web.no_practice"))
    everybody, families = context.exercises.everybody(), families_of(context.kb)
    seen = [p for p in everybody if may_see(ask, p.trainee)]
    told = [trainee_of(p, families, today(), everybody) for p in seen]
    sat = [sittings(p) for p in seen]
    exams = [exam_record(each[-1], families) if each else None for each in sat]
    shown = list(zip(told, exams, strict=True))
    return context.page(ask, "trainees.html", trainees=shown, group=group_trend(seen))
