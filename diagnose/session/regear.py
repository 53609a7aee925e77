"""The devices of a visit, named anew: what was answered and repaired so far, under the names it has from then on."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Protocol

from diagnose.core.belongs import Belongs
from diagnose.core.ground import ground
from diagnose.model.gear import Gear, at, key_of, plain
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Setup, Value
from diagnose.session.events import Named
from diagnose.session.profile_facts import LAMP
from diagnose.session.state import Photo, Session


class Moved(Protocol):
    """An entry's name -> its name from now on; `always`: it is a device's, whatever the knowledge says."""

    def __call__(self, entry: str, always: bool = False) -> str: ...


def geared(setup: Setup, gear: Gear = ()) -> Setup:
    """The set-up with these devices, else with its own; where any are named, they are all the sensors there are."""
    gear = gear or setup.gear
    return replace(setup, gear=gear, devices=tuple(dict.fromkeys(d.kind for d in gear))) if gear else setup


def keeping_papers(gear: Gear, former: Gear) -> Gear:
    """The devices with the profiles of those that were named before and are what they were."""
    papers = {(d.key, d.kind): d.facts for d in former}
    return tuple(replace(d, facts=papers.get((d.key, d.kind), d.facts)) for d in gear)


def with_papers(setup: Setup, sensor: str, facts: Mapping[str, Value]) -> Setup:
    """The set-up with the numbers of one device's profile: of the named devices of its kind, else of the gate."""
    mine = {name: value for name, value in facts.items() if name.startswith(("device.", LAMP))}
    if not any(d.kind == sensor for d in setup.gear):
        return replace(setup, profile={**setup.profile, **facts})
    gear = tuple(replace(d, facts={**mine, **d.facts}) if d.kind == sensor else d for d in setup.gear)
    rest = {name: value for name, value in facts.items() if name not in mine}
    return replace(setup, gear=gear, profile={**setup.profile, **rest})


def regeared(kb: KnowledgeBase, session: Session, event: Named) -> Session:
    """The visit with the devices named. Back takes none of this back."""
    there, moved = ground(kb, event.gear), moving(kb, session.setup.gear, event)
    chain = [session]
    while before := chain[-1].previous:
        chain.append(before)
    anew: Session | None = None
    for each in reversed(chain):
        anew = _renamed(replace(each, previous=anew), there, moved, event.gear)
    assert anew
    return replace(anew, concluded=False, insist=False)


def left_over(kb: KnowledgeBase, session: Session, event: Named) -> tuple[str, ...]:
    """The keys of devices that were answered about and that are not named any more; '' is 'the sensor'."""
    after, was = regeared(kb, session, event), {a.check for a in session.aside}
    gone = [key_of(a.check) or key_of(str(a.value)) for a in after.aside if a.check not in was]
    return tuple(dict.fromkeys(key for key in gone if key not in [d.key for d in event.gear]))


def moving(kb: KnowledgeBase, former: Gear, event: Named) -> Moved:
    """How an entry is called from now on. 'The sensor' is the one device there was or is, or the one that is told."""
    base = kb.base or kb
    belongs = Belongs(base)
    devices, now = belongs.checks | belongs.causes, {d.key for d in event.gear}
    sensor = former[0].key if len(former) == 1 else ""
    became = {**({"": event.gear[0].key} if len(now) == 1 and not former else {}), **event.became}

    def moved(entry: str, always: bool = False) -> str:
        name, key = plain(entry), key_of(entry) or sensor
        if not (always or name in devices) or not (now or key_of(entry) or len(former) > 1):
            return entry
        to = became.get(key, key)
        if to in now:
            return at(name, to) if len(now) > 1 else name
        return at(name, key) if key else name

    return moved


def _renamed(session: Session, kb: KnowledgeBase, moved: Moved, gear: Gear) -> Session:
    """Answers about a device that is not named any more are put aside; those of one that is named again come back."""
    each = (kb.base or kb).checks

    def anew(answers: tuple[Answer, ...]) -> tuple[Answer, ...]:
        return tuple(replace(a, check=moved(a.check), value=_value(each, moved, a)) for a in answers)

    def here(answers: tuple[Answer, ...]) -> tuple[Answer, ...]:
        return tuple(a for a in anew(answers) if _fits(kb, a))

    def attempt(tried: Attempt) -> Attempt:
        tried = replace(tried, answers=here(tried.answers), carried=here(tried.carried))
        return replace(tried, cause=moved(tried.cause))

    given = {a.check for a in here(session.given)}
    back = tuple({a.check: a for a in here(session.aside) if a.check not in given}.values())
    return replace(
        session,
        setup=geared(replace(session.setup, gear=()), gear),
        answers=here(session.answers),
        carried=(*back, *here(session.carried)),
        aside=tuple(a for a in anew((*session.aside, *session.given)) if a not in back and not _fits(kb, a)),
        attempts=tuple(map(attempt, session.attempts)),
        repairs=tuple(replace(r, cause=moved(r.cause)) for r in session.repairs),
        photos=tuple(_photo(each, moved, p) for p in session.photos),
        numbered=tuple(dict.fromkeys(map(moved, session.order))),
        mark=len(here(session.answers[: session.mark])),
    )


def _photo(checks: Mapping[str, Check], moved: Moved, photo: Photo) -> Photo:
    if not photo.which:
        return photo
    value = _value(checks, moved, Answer(photo.which, photo.value))
    return replace(photo, which=moved(photo.which), value=value)


def _value(checks: Mapping[str, Check], moved: Moved, answer: Answer) -> Value:
    """An option of the site's that means a device is called by the device's name, too."""
    check, value = checks.get(plain(answer.check)), answer.value
    means = isinstance(value, str) and check is not None and plain(value) in check.each
    return moved(str(value), True) if means else value


def _fits(kb: KnowledgeBase, answer: Answer) -> bool:
    """Whether there is such a check, with such an option where it has options for devices."""
    check, base = kb.checks.get(answer.check), (kb.base or kb).checks.get(plain(answer.check))
    means = base is not None and isinstance(answer.value, str) and plain(answer.value) in base.each
    return check is not None and (not means or answer.value in check.options)
