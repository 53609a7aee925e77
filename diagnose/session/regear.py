"""The devices of a visit, named anew: what was answered and repaired so far, under the names it has from then on."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from diagnose.core.ground import ground
from diagnose.model.gear import AT, Gear, at, plain
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Answer, Attempt, Setup, Value
from diagnose.session.events import Named
from diagnose.session.state import Session

Rename = Callable[[str], str]


def geared(setup: Setup, gear: Gear = ()) -> Setup:
    """The set-up with these devices, else with its own; where any are named, they are all the sensors there are."""
    gear = gear or setup.gear
    return replace(setup, gear=gear, devices=tuple(dict.fromkeys(d.kind for d in gear))) if gear else setup


def with_papers(setup: Setup, sensor: str, facts: Mapping[str, Value]) -> Setup:
    """The set-up with the numbers of one device's profile: of the named devices of its kind, else of the gate."""
    mine = {name: value for name, value in facts.items() if name.startswith("device.")}
    if not any(d.kind == sensor for d in setup.gear):
        return replace(setup, profile={**setup.profile, **facts})
    gear = tuple(replace(d, facts={**mine, **d.facts}) if d.kind == sensor else d for d in setup.gear)
    rest = {name: value for name, value in facts.items() if name not in mine}
    return replace(setup, gear=gear, profile={**setup.profile, **rest})


def regeared(kb: KnowledgeBase, session: Session, event: Named) -> Session:
    """The visit with the devices named; answers that none of them has are gone. Back takes none of this back."""
    there = ground(kb, event.gear)
    rename = renaming(session.setup.gear, event, there)
    chain = [session]
    while before := chain[-1].previous:
        chain.append(before)
    anew: Session | None = None
    for each in reversed(chain):
        anew = _renamed(replace(each, previous=anew), there, rename, event.gear)
    assert anew
    return replace(anew, concluded=False, insist=False)


def renaming(former: Gear, event: Named, there: KnowledgeBase) -> Rename:
    """How an entry is called from now on: 'the sensor' is the one device there was, or the one said to be meant."""
    meant = former[0].key if len(former) == 1 else event.about
    single = event.gear[0].key if len(event.gear) == 1 else ""

    def rename(entry: str) -> str:
        if len(event.gear) < 2:
            return plain(entry) if entry.endswith(AT + single) else entry
        known = entry in there.checks or entry in there.causes
        return entry if known or AT in entry else at(entry, meant)

    return rename


def _renamed(session: Session, kb: KnowledgeBase, rename: Rename, gear: Gear) -> Session:
    def answers(given: tuple[Answer, ...]) -> tuple[Answer, ...]:
        anew = (replace(a, check=rename(a.check), value=_value(kb, rename, a)) for a in given)
        return tuple(a for a in anew if a.check in kb.checks)

    def attempt(tried: Attempt) -> Attempt:
        anew = replace(tried, answers=answers(tried.answers), carried=answers(tried.carried))
        return replace(anew, cause=rename(tried.cause))

    return replace(
        session,
        setup=geared(replace(session.setup, gear=()), gear),
        answers=answers(session.answers),
        carried=answers(session.carried),
        attempts=tuple(map(attempt, session.attempts)),
        repairs=tuple(replace(r, cause=rename(r.cause)) for r in session.repairs),
        mark=len(answers(session.answers[: session.mark])),
    )


def _value(kb: KnowledgeBase, rename: Rename, answer: Answer) -> str | float:
    """An option of the site's that means a device is called by the device's name, too."""
    check = kb.checks.get(rename(answer.check))
    if check is None or not isinstance(answer.value, str) or answer.value in check.options:
        return answer.value
    return next((o for o in (rename(answer.value), plain(answer.value)) if o in check.options), answer.value)
