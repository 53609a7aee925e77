"""An exercise as it stands: what can be done, what a move showed, what the coach says."""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from diagnose.core.reason import Conclusion
from diagnose.kb.picture_words import words_in
from diagnose.model.knowledge import Cause, Check, KnowledgeBase
from diagnose.practice.blocks import block_of_check, block_of_family, part_says
from diagnose.practice.coach import Feedback, says_counter
from diagnose.practice.exercise import Exercise, offered, opening_minutes
from diagnose.practice.gate import Gate
from diagnose.practice.moves import CheckMove, ProofMove, RepairMove
from diagnose.practice.wording import slip_says
from diagnose.present.cautions import Cautions, before_check, before_remedy
from diagnose.present.figures import minutes
from diagnose.present.question import Help, help_of
from diagnose.present.strip import Strip, strips_of
from diagnose.session.wording import answer_says, state_says, who_says
from diagnose.words import say

UNLIKELY = 0.5  # Brier distance from which an expectation was against what was known; judgement
WEIGH_AGAIN = 0.1  # the same of stated suspects


@dataclass(frozen=True, slots=True)
class Offered:
    """A check of the list, with what it costs."""

    check: str
    says: str
    facts: str


@dataclass(frozen=True, slots=True)
class AskedOnce:
    """A check that the trainee is about to do. `states` it can show: (id, words); `facts` what it costs; `cautions`
    come before the choice; `how` it is done; `drawing`: what its drawing shows, in words, for who cannot see it."""

    check: str
    says: str
    facts: str
    states: tuple[tuple[str, str], ...]
    cautions: Cautions
    how: Help
    drawing: tuple[str, ...]

    @property
    def careful(self) -> bool:
        return bool(self.cautions.ids)


@dataclass(frozen=True, slots=True)
class ToMend:
    """What the trainee wants to mend: (its heading, its steps) for each cause; cautions come before the choice."""

    remedies: tuple[tuple[str, tuple[str, ...]], ...]
    cautions: Cautions


@dataclass(frozen=True, slots=True)
class Shown:
    """What a move showed: what was looked at, and what was seen. `beside`: it came with the check that was chosen."""

    asked: str
    said: str
    beside: bool = False


@dataclass(frozen=True, slots=True)
class CoachTold:
    """What the coach says after a move: comparisons, an answer that speaks against a suspect or '', slips."""

    says: tuple[str, ...]
    counter: str
    slips: tuple[str, ...]


def complaint_of(kb: KnowledgeBase, gate: Gate) -> str:
    return kb.complaints[gate.complaint].says


def sensors_of(kb: KnowledgeBase, gate: Gate) -> str:
    """The sensor kinds of the gate."""
    return ", ".join(kb.devices[d] for d in gate.setup.devices) or say("present.not_known")


def site_of(kb: KnowledgeBase, gate: Gate) -> str:
    """What a technician knows of the site before he comes: kind of gate, supply, cable; '' where it is not known."""
    facts = gate.setup.facts
    kinds = next((c.options for c in kb.checks.values() if c.fills == "site.gate_type"), {})
    numbers = [facts.get(f"site.{name}") for name in ("supply_v", "cable_length_m", "cable_area_mm2")]
    if not all(isinstance(n, float | int) for n in numbers):
        return ""
    volts, metres, area = (f"{n:g}" for n in numbers)
    kind = kinds.get(str(facts.get("site.gate_type")), say("present.not_known"))
    return say("practice.the_gate", kind=kind, volts=volts, metres=metres, area=area)


def offered_of(
    kb: KnowledgeBase, conclusion: Conclusion, exercise: Exercise, words: str = ""
) -> dict[str, tuple[Offered, ...]]:
    """Checks that make sense here, by part of the installation; only those with all the words in them or in the
    name of their part."""
    wanted, found = words.casefold().split(), dict[str, list[Offered]]()
    for check in offered(kb, conclusion, exercise):
        part = part_says(kb, block_of_check(kb, check))
        text = f"{check.id.replace('_', ' ')} {check.ask}".casefold()
        if all(word in text for word in wanted) or all(word in part.casefold() for word in wanted):
            found.setdefault(part, []).append(_one(kb, exercise, check))
    return {part: tuple(checks) for part, checks in found.items()}


def _one(kb: KnowledgeBase, exercise: Exercise, check: Check) -> Offered:
    opening = opening_minutes(kb, exercise.session, check)
    facts = [minutes(check.minutes), *(kb.tools[t] for t in check.tools)]
    if opening:
        facts.insert(1, say("practice.opening_too", minutes=minutes(opening), opening=kb.access[check.access].says))
    facts += [who_says(check.who)] if check.who == "electrician" else []
    facts += [say("practice.answered")] if exercise.session.answer(check.id) else []
    return Offered(check.id, check.ask, "; ".join(facts))


def asked_of(kb: KnowledgeBase, exercise: Exercise, check: Check, told: Collection[str] = ()) -> AskedOnce:
    """A check before it is done. `told`: cautions said before in this exercise."""
    states = check.finding.states if check.finding else ()
    how = help_of(kb, exercise.session, check)
    return AskedOnce(
        check=check.id,
        says=check.ask,
        facts=_one(kb, exercise, check).facts,
        states=tuple((s, state_says(kb, check.finding.id, s)) for s in states if check.finding),
        cautions=before_check(kb, check, told),
        how=how,
        drawing=words_in(how.picture)[:2] if how.picture else (),
    )


def to_mend(kb: KnowledgeBase, causes: Sequence[str], told: Collection[str] = ()) -> ToMend:
    """Remedies before they are carried out."""
    entries = [kb.causes[c] for c in causes]
    each = [before_remedy(kb, cause, told) for cause in entries]
    return ToMend(
        tuple((_remedy(cause), cause.remedy.steps) for cause in entries),
        Cautions(
            special=tuple(dict.fromkeys(c for one in each for c in one.special)),
            general=tuple(dict.fromkeys(c for one in each for c in one.general)),
            told=tuple(dict.fromkeys(c for one in each for c in one.told)),
        ),
    )


def _remedy(cause: Cause) -> str:
    return say("practice.remedy_of", cause=cause.says, minutes=minutes(cause.remedy.minutes))


def noted_of(kb: KnowledgeBase, names: Sequence[str], words: str) -> str:
    """What the coach says to suspects in the trainee's own words: which links they lie at, and nothing else."""
    found = [kb.causes[c] for c in names if _said_in(kb.causes[c], words)]
    links = dict.fromkeys(part_says(kb, block_of_family(kb, cause.family)) for cause in found)
    ordered = [part_says(kb, link) for link in kb.links if part_says(kb, link) in links]
    return say("practice.noted", links="; ".join(ordered)) if ordered else say("practice.noted_no_link")


def _said_in(cause: Cause, words: str) -> bool:
    """Whether one of the suspects, split at commas, has all its words in what the cause is called."""
    parts = (re.findall(r"[^\W\d_]{3,}", part.casefold()) for part in re.split("[,;.]", words))
    called = cause.says.casefold()
    return any(part and all(re.search(rf"\b{re.escape(word)}", called) for word in part) for part in parts)


def causes_of(kb: KnowledgeBase, names: Sequence[str]) -> dict[str, list[tuple[str, str]]]:
    """What can be wrong at this gate, (id, words) by part of the installation, to choose from."""
    found: dict[str, list[tuple[str, str]]] = {}
    for name in names:
        part = part_says(kb, block_of_family(kb, kb.causes[name].family))
        found.setdefault(part, []).append((name, kb.causes[name].says))
    return found


def proved_of(kb: KnowledgeBase, exercise: Exercise, conclusion: Conclusion) -> tuple[Strip, ...]:
    """Which links of the chain are proved good so far. Where it is in doubt is for a hint to say."""
    return strips_of(kb, exercise.session, conclusion, proved_only=True)


def shown_of(kb: KnowledgeBase, before: Exercise, after: Exercise) -> tuple[Shown, ...]:
    """What the last move of `after` showed: answers that are new, the steps of a remedy, what the proof said."""
    move = after.done[-1].move
    if isinstance(move, CheckMove):
        return _seen(kb, move.check, before, after)
    if after.danger or not isinstance(move, ProofMove | RepairMove):
        return ()
    repair = after.session.repairs[-1]
    if isinstance(move, RepairMove):
        return (Shown(say("practice.remedy_done"), "; ".join(kb.causes[repair.cause].remedy.steps)),)
    return (Shown(say("practice.the_proof"), say(f"practice.{_proof(after)}")),)


def _seen(kb: KnowledgeBase, looked: str, before: Exercise, after: Exercise) -> tuple[Shown, ...]:
    known, role = set(before.session.given), after.session.setup.role
    new = [a for a in after.session.given if a not in known or a.check == looked]
    return tuple(
        Shown(kb.checks[a.check].ask, answer_says(kb.checks[a.check], a, role), a.check != looked) for a in new
    )


def _proof(after: Exercise) -> str:
    if after.session.repairs[-1].proof == "failed":
        return "proof_bad"
    return "proof_left" if after.gate.truth else "proof_good"


def told_of(kb: KnowledgeBase, told: Feedback) -> CoachTold:
    """What the coach says after a move: of links and of innocence, never which suspect it is."""
    said = [*_expected(told), *_innocent(told)]
    if told.split is not None:
        said.append(say("practice.split_well") if told.split.well else say("practice.split_little"))
    if told.brier is not None and told.brier >= WEIGH_AGAIN and not told.counter:
        said.append(say("practice.weigh_again"))
    slips = tuple(say("practice.slip", kind=slip_says(slip.kind), says=slip.says) for slip in told.slips)
    return CoachTold(tuple(said), says_counter(kb, told.counter) if told.counter else "", slips)


def _expected(told: Feedback) -> Iterator[str]:
    if told.expected:
        yield say("practice.as_expected")
    elif told.expected is not None:
        yield say("practice.not_expected")
        if told.surprise is not None and told.surprise >= UNLIKELY:
            yield say("practice.was_unlikely")


def _innocent(told: Feedback) -> Iterator[str]:
    """What the result proves of the chain, and what it leaves open."""
    if not told.found:
        return
    still_open = ", ".join(told.open_links)
    if told.proved:
        links = ", ".join(told.proved)
        yield say("practice.proves", links=links, open=still_open) if still_open else say("practice.proves_all")
    elif not told.cleared:
        yield say("practice.sound_here") if told.normal else say("practice.not_sound_here")
    if told.cleared:
        yield say("practice.clears", links=", ".join(told.cleared))
