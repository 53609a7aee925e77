"""What a pattern means at the gate: in words, as answers to a visit's checks, and as causes with their test."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, isinf, log

from diagnose.model.bearing import shown_states
from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.named import Pattern, TripLog
from diagnose.model.visit import NO_ANSWER, Value
from diagnose.triplog.judge import FALSE_DISCOVERY, LogVerdict, counts
from diagnose.triplog.records import Tested
from diagnose.triplog.story import FINER, STANDS_AT, Held, Openings, Rival, Story
from diagnose.words import say

MOST_TO_ONE = 50.0
"""Cap of the Bayes factor: a log shows what goes along with the trips, and something else may go along with that
(judgement; near the odds that reasoning gives to any answer that is sure)."""
SURE_EXPLAINS = 0.5
MOVING = ("while_moving", "after_closed")
_RIVALS_SHOWN = 4
_WEIGHT = {"open": 0, "both": 1, "explained": 2}
_CAUSES_SHOWN = 4
_USEFUL_RATIO = 4.0


@dataclass(frozen=True, slots=True)
class LogAnswer:
    """What the log answers in place of a person."""

    check: str
    value: Value
    sure: bool
    note: str


def meaning_of(kb: KnowledgeBase, test: Tested) -> Pattern:
    """What the knowledge makes of a pattern: nothing where it does not know it."""
    return kb.trip_log.patterns.get(test.name) or Pattern()


def to_one(test: Tested) -> float:
    """The Bayes factor of a pattern against an even rate, capped."""
    return exp(min(max(test.log_bayes, 0.0), log(MOST_TO_ONE)))


def is_sure(test: Tested) -> bool:
    """Whether a pattern is as strong as evidence from a log gets, and explains at least half of the episodes."""
    return test.log_bayes >= log(MOST_TO_ONE) and test.explains >= SURE_EXPLAINS


def means(test: Tested) -> str:
    """What a pattern is, as a title."""
    return say(f"triplog.means_{test.name}")


def then(test: Tested) -> str:
    """What to do next about a pattern."""
    return say(f"triplog.then_{test.name}")


def because(test: Tested) -> str:
    """The numbers behind a pattern in one sentence."""
    c = test.count
    numbers = {
        "inside": c.inside,
        "total": c.total,
        "share": share(c.share, 1),
        "ratio": f"{test.ratio:.3g}",
        "low": f"{test.low:.2g}",
        "high": f"{test.high:.3g}",
        "p": f"{test.p:.1g}",
        "searched": test.searched,
    }
    return say("triplog.because_best" if test.searched > 1 else "triplog.because", **numbers)


def share(value: float, places: int = 0) -> str:
    """'12.5 %'."""
    return f"{100 * value:.{places}f} %"


def strength(test: Tested) -> str:
    """How strong a pattern is as evidence, and why not stronger."""
    if test.log_bayes < log(MOST_TO_ONE):
        return say("triplog.strength_unsure", times=f"{to_one(test):.0f}")
    key = "triplog.strength_most" if is_sure(test) else "triplog.strength_part"
    return say(key, times=f"{MOST_TO_ONE:.0f}", share=share(test.explains))


def episodes_says(verdict: LogVerdict) -> str:
    """How many trips and episodes there were, and what an episode is."""
    days, gap = f"{verdict.days:.1f}", f"{verdict.gap_s:g}"
    says = say("triplog.episodes", trips=verdict.trips, days=days, episodes=verdict.episodes, gap=gap)
    near = verdict.near_vehicles
    if near.trips:
        says += " " + say("triplog.near_vehicles", seconds=f"{near.seconds:.0f}", n=near.trips)
    return says


def size_says(ratio: float) -> str:
    """The smallest rate ratio that would have been found."""
    return say("triplog.none_seen") if isinf(ratio) else say("triplog.size_seen", ratio=f"{ratio:.2g}")


def sentence(text: str) -> str:
    """A part of a sentence as one of its own."""
    return f"{text[:1].upper()}{text[1:]}."


def answers(verdict: LogVerdict, kb: KnowledgeBase, given: Mapping[str, Value]) -> list[LogAnswer]:
    """What the log answers on a visit where `given` was answered already.

    One pattern counts once: it says when the trouble shows, or, where a person has said that, what the recorded
    trips follow. The other of the two is then passed over, so that it is not asked of the same log again.
    """
    log, checks = kb.trip_log, kb.checks
    told = [t for t in verdict.patterns if (m := meaning_of(kb, t)).when or m.compared]
    if not told:
        found = _without_pattern(verdict, log)
    elif not decides(verdict, told[0], kb):
        return []
    else:
        found = _of_pattern(told[0], kb, given.get(log.when, "dont_know") in (*NO_ANSWER, *log.vague))
        found += _afterwards(verdict, told[0], log)
    return [a for a in found if a.check in checks and (a.value in NO_ANSWER or a.value in checks[a.check].options)]


def decides(verdict: LogVerdict, test: Tested, kb: KnowledgeBase) -> bool:
    """Whether a pattern tells one answer from others: no rival that means something else explains the log as well,
    and 'never at rest' only where no trip came at rest."""
    mine = meaning_of(kb, test)
    if test.name in MOVING and test.count.inside < test.count.total:
        return False
    story = _story_of(verdict, test)
    other = [meaning_of(kb, r.test) for r in story.rivals if r.stands == "open"] if story else []
    return all((m.when, m.compared) == (mine.when, mine.compared) for m in other if m.when or m.compared)


def _story_of(verdict: LogVerdict, test: Tested) -> Story | None:
    return next((s for p, s in zip(verdict.patterns, verdict.stories, strict=False) if p is test), None)


def story_says(verdict: LogVerdict, test: Tested) -> list[str]:
    """How many trips a pattern makes up, what was held fixed, and what else would explain it."""
    story = _story_of(verdict, test)
    if story is None:
        return []
    found = [say("triplog.makes_up", trips=f"{story.trips:.0f}", total=story.of)]
    if held := _held_says(test, story):
        found.append(say("triplog.held", factors="; ".join(held)))
    if story.openings:
        found.append(_openings_says(story.openings))
    if test.name in FINER:
        return found
    rivals = sorted(story.rivals, key=lambda r: (_WEIGHT[r.stands], -r.test.log_bayes))[:_RIVALS_SHOWN]
    found += [
        say(f"triplog.rival_{r.stands}", means=means(r.test), detail=r.test.count.detail, **_interval(r))
        for r in rivals
    ]
    return found if rivals else [*found, say("triplog.no_rival")]


def _openings_says(o: Openings) -> str:
    """Vehicles at the same hours: named, and whether the trips go with them."""
    key = "triplog.openings_with" if o.p < STANDS_AT else "triplog.openings_apart"
    figures = {"days": o.days, "tripped": o.with_trips, "other": o.other, "other_tripped": o.other_with_trips}
    return say(key, **figures, p=f"{o.p:.1g}")


def _held_says(test: Tested, story: Story) -> list[str]:
    if test.name in MOVING:
        return [say("triplog.factor_movement")]
    return [say("triplog.held_one", factor=say(f"triplog.factor_{h.factor}"), **_interval(h)) for h in story.held]


def _interval(of: Rival | Held) -> dict[str, str]:
    return {"ratio": f"{of.ratio:.2g}", "low": f"{of.low:.2g}", "high": f"{of.high:.2g}"}


def _of_pattern(test: Tested, kb: KnowledgeBase, open_when: bool) -> list[LogAnswer]:
    meaning, log = meaning_of(kb, test), kb.trip_log
    found = {"means": means(test), "detail": test.count.detail, "because": because(test), "strength": strength(test)}
    note = say("triplog.note", **found)
    if open_when and meaning.when:
        return [
            LogAnswer(log.when, meaning.when, is_sure(test), note),
            LogAnswer(log.compared, "skip", True, say("triplog.note_answered")),
        ]
    return [LogAnswer(log.compared, meaning.compared, is_sure(test), note)] if meaning.compared else []


def _afterwards(verdict: LogVerdict, timed: Tested, log: TripLog) -> list[LogAnswer]:
    """Whether the trouble outlasts the rain: other hours than those in rain, so evidence of its own."""
    after = next((t for t, _ in verdict.tests if t.name == "after_rain"), None)
    if timed.name not in ("rain", "after_rain") or after is None:
        return []
    rain = log.outlasts_rain
    note = say("triplog.note_after", detail=after.count.detail, because=because(after))
    if any(t.name == "after_rain" and counts(t, rate) for t, rate in verdict.tests):
        return [LogAnswer(rain.check, rain.stays, is_sure(after), note)]
    return [LogAnswer(rain.check, rain.stops, False, note)] if after.high < 2 else []


def _without_pattern(verdict: LogVerdict, log: TripLog) -> list[LogAnswer]:
    """'No pattern' counts only where a large one would have been seen, and is never sure."""
    visible = [ratio for test, ratio in verdict.seen if test.count.share > 0.02]
    if verdict.patterns or not visible or sorted(visible)[len(visible) // 2] > _USEFUL_RATIO:
        return []
    days, rate = f"{verdict.days:.0f}", share(FALSE_DISCOVERY)
    note = say("triplog.note_none", episodes=verdict.episodes, days=days, rate=rate)
    return [LogAnswer(log.compared, log.no_pattern, False, note)]


def causes_of(test: Tested, kb: KnowledgeBase, devices: tuple[str, ...] = ()) -> list[Cause]:
    """The causes that show this pattern most often, strongest first."""
    meaning = meaning_of(kb, test)
    named = [kb.causes[c] for c in meaning.causes if c in kb.causes and _fits(kb.causes[c], devices)]
    if named or not meaning.when:
        return named
    shown = [c for c in kb.causes.values() if _fits(c, devices) and _often(c, meaning.when, kb) > 0]
    return sorted(shown, key=lambda c: -_often(c, meaning.when, kb))[:_CAUSES_SHOWN]


def _fits(cause: Cause, devices: tuple[str, ...]) -> bool:
    return not devices or not cause.devices or any(d in cause.devices for d in devices)


def _often(cause: Cause, state: str, kb: KnowledgeBase) -> float:
    return shown_states(kb, cause, kb.trip_log.when).get(state, 0.0)
