"""Field cases against the knowledge: answers that fit no check, entries that are not there, states left out."""

from collections.abc import Callable, Iterable, Iterator

from diagnose.cases.model import (
    AFTER,
    ON_SITE,
    RESTING,
    START,
    STATES,
    CaseState,
    Encoded,
    FieldCase,
    check_of,
    values_of,
)
from diagnose.cases.read import Filed
from diagnose.kb.text import Problem
from diagnose.model.gear import slug
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.grounds import misfit
from diagnose.session.profile_facts import fact_problem
from diagnose.words import say

Place = tuple[str | int, ...]
Found = Iterator[tuple[Place, str]]
OBSERVATIONS = (30, 45)  # what the brief for authors asks for; the given ones have a little less
LEAST_OBSERVATIONS = 25


def problems_of_cases(kb: KnowledgeBase, filed: Iterable[Filed]) -> list[Problem]:
    """Every problem of every file, sorted by place; two cases with one id are one."""
    found: list[Problem] = []
    known: dict[str, Filed] = {}
    for each in filed:
        found += each.problems
        if each.case is None:
            continue
        found += [each.problem(place, says) for place, says in case_problems(kb, each.case)]
        other = known.setdefault(each.case.id, each)
        if other is not each:
            found.append(each.problem(("id",), say("cases.id_twice", id=each.case.id, name=other.path.name)))
        if each.path.stem != each.case.id:
            found.append(each.problem(("id",), say("cases.file_name", id=each.case.id, file=each.case.id)))
    return sorted(set(found))


def case_problems(kb: KnowledgeBase, case: FieldCase) -> Found:
    """What is wrong with one case, with the place in its file."""
    for lint in LINTS:
        yield from lint(kb, case)


def _prose(kb: KnowledgeBase, case: FieldCase) -> Found:
    if not case.invented:
        yield ("invented",), say("cases.say_invented")
    if len(case.observations) < LEAST_OBSERVATIONS:
        yield ("observations",), say("cases.few_observations", number=len(case.observations), least=OBSERVATIONS[0])
    if (case.second_cause is None) != (case.second_cause_family is None):
        yield ("second_cause",), say("cases.second_cause_together")
    for i, gear in enumerate(case.gear):
        if gear.kind not in kb.devices:
            yield ("gear", i, "kind"), say("cases.unknown_kind", kind=gear.kind, known=", ".join(kb.devices))


def _encoded(kb: KnowledgeBase, case: FieldCase) -> Found:
    if (encoded := case.encoded) is None:
        return
    here = ("encoded",)
    yield from _unknown((*here, "complaints"), encoded.complaints, kb.complaints, "complaint")
    if not encoded.complaints:
        yield (*here, "complaints"), say("cases.say_complaint")
    for name, value in encoded.profile.items():
        if says := fact_problem(name, value):
            yield (*here, "profile", name), says
    yield from _unknown((*here, "must_not"), encoded.must_not, kb.checks, "check")
    yield from _answers(kb, (*here, "said"), encoded.said, case)
    if not 0.0 < encoded.present <= 1.0:
        yield (*here, "present"), say("cases.wrong_chance")
    yield from _states(case, encoded)


def _faults(kb: KnowledgeBase, case: FieldCase) -> Found:
    wanted = 0 if case.kind == "outside" else 2 if case.second_cause else 1
    if len(case.faults) != wanted and (case.faults or case.encoded):
        yield ("faults",), say("cases.number_of_faults", number=len(case.faults), wanted=wanted)
    for i, fault in enumerate(case.faults):
        yield from _unknown(("faults", i, "mended_by"), fault.mended_by, kb.causes, "cause")


def _states(case: FieldCase, encoded: Encoded) -> Found:
    here = ("encoded", "states")
    yield from _unknown(here, encoded.states, STATES, "state")
    wanted = [START, *([RESTING] if case.intermittent else []), *(AFTER if case.second_cause else [])]
    for name in wanted:
        if name not in encoded.states:
            yield here, say("cases.state_missing", name=name)
        elif name not in (RESTING, ON_SITE) and encoded.states[name].touched is None:
            yield (*here, name), say("cases.say_touched")


def _each_state(kb: KnowledgeBase, case: FieldCase) -> Found:
    for name, state in (case.encoded.states if case.encoded else {}).items():
        here = ("encoded", "states", name)
        yield from _answers(kb, (*here, "answers"), state.answers, case)
        for part in ("healthy", "nobody", "no_fit"):
            yield from _keys(kb, (*here, part), getattr(state, part), case)
        yield from _twice(here, state)
        if state.touched:
            yield from _unknown((*here, "touched", "devices"), state.touched.devices, [*kb.devices, "gate"], "device")
            families = {cause.family for cause in kb.causes.values()}
            yield from _unknown((*here, "touched", "links"), state.touched.links, sorted(families), "link")


def _twice(here: Place, state: CaseState) -> Found:
    parts = (state.answers, state.healthy, state.nobody, state.no_fit)
    told: set[str] = set()
    for part in parts:
        for key in sorted(told.intersection(part)):
            yield here, say("cases.answered_twice", name=key)
        told.update(part)


def _answers(kb: KnowledgeBase, here: Place, answers: object, case: FieldCase) -> Found:
    assert isinstance(answers, dict)
    yield from _keys(kb, here, answers, case)
    for key, said in answers.items():
        check = check_of(key)
        for value in values_of(said) if check in kb.checks else ():
            if no := misfit(kb, check, value):
                yield (*here, key), say("cases.fits_no_longer", says=no.says)


def _keys(kb: KnowledgeBase, here: Place, keys: Iterable[str], case: FieldCase) -> Found:
    gear = {slug(g.name) for g in case.gear}
    for key in keys:
        check, _, device = key.partition("@")
        if check not in kb.checks:
            yield (*here, key), say("cases.no_check", check=check)
        if device and device not in gear:
            yield (*here, key), say("cases.no_device", device=device, known=", ".join(sorted(gear)))


def _unknown(here: Place, names: Iterable[str], known: Iterable[str], what: str) -> Found:
    allowed = list(known)
    for name in names:
        if name not in allowed:
            yield here, say("cases.unknown", what=say(f"knowledge.a_{what}"), name=name)


LINTS: tuple[Callable[[KnowledgeBase, FieldCase], Found], ...] = (_prose, _faults, _encoded, _each_state)
