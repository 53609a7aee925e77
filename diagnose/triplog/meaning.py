"""What a pattern means at the gate: in words, as answers to a visit's checks, and as causes with their test."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log

from diagnose.model.knowledge import Cause, KnowledgeBase
from diagnose.model.visit import NO_ANSWER, Value
from diagnose.triplog.judge import FALSE_DISCOVERY, Verdict
from diagnose.triplog.records import Tested

WHEN, COMPARED, AFTERWARDS = "when_it_happens", "env_log_compare", "env_after_it_stops"
MOST_TO_ONE = 50.0
"""Cap of the Bayes factor: a log shows what goes along with the trips, and something else may go along with that
(judgement; near the odds that reasoning gives to any answer that is sure)."""
SURE_EXPLAINS = 0.5
_VAGUE = (*NO_ANSWER, "no_pattern", "always")
_CAUSES_SHOWN = 4
_USEFUL_RATIO = 4.0


@dataclass(frozen=True, slots=True)
class Meaning:
    """`says` in a title, `when` and `compared` as answers ('' for none), `then` what to do next, `causes` known by
    name where no answer leads to them."""

    says: str
    when: str
    compared: str
    then: str
    causes: tuple[str, ...] = ()


MEANINGS: Mapping[str, Meaning] = {
    "rain": Meaning("More trips while it rains", "wet", "weather", "Look at the window in the next rain."),
    "after_rain": Meaning(
        "More trips in the hours after rain", "wet", "weather", "Look for drips, puddles and wet cable runs."
    ),
    "wind": Meaning("More trips in wind", "wind", "weather", "Look for what moves in wind, and shake the post."),
    "frost": Meaning("More trips in frost", "cold", "weather", "Look at the window early on a frosty morning."),
    "heat": Meaning("More trips in heat", "heat", "weather", "Measure the housing on a hot afternoon."),
    "fog": Meaning("More trips in fog", "fog_snow", "weather", "Note the visibility at the next trips."),
    "low_sun": Meaning(
        "More trips with the sun near the look direction", "low_sun", "sun_clock", "Shade test at the next such hour."
    ),
    "mirrored_sun": Meaning(
        "More trips with the sun mirrored toward the look direction", "low_sun", "sun_clock",
        "Look for a wet road, glass or chrome in that direction.",
    ),
    "dark": Meaning("More trips in the dark", "dark", "", "Watch for headlights, insects and animals after dark."),
    "while_moving": Meaning(
        "Trips follow the gate's own movement", "while_moving", "",
        "Watch the window and the supply voltage while the gate moves, area clear and nobody in its travel.",
    ),
    "time_of_day": Meaning(
        "More trips at one time of day", "fixed_times", "fixed_clock", "Stand by at that hour and see what happens."
    ),
    "two_times": Meaning(
        "More trips at two times of day", "fixed_times", "fixed_clock", "Stand by at those hours and look."
    ),
    "period": Meaning(
        "Trips come at a fixed interval", "fixed_times", "fixed_clock",
        "Ask for sprinklers, pumps, timers and lifts that work at this interval.",
    ),
    "week": Meaning(
        "More trips on some days of the week", "fixed_times", "", "Ask what is different then: cleaners, bins."
    ),
    "change": Meaning("The rate changed on one day", "", "", "Ask what was done or happened on that day."),
    "trend": Meaning(
        "Trips grow more and more frequent", "", "", "Look for what builds up: dirt on the window, growing plants.",
        ("window_dirty", "vegetation_in_area", "web_or_insects_at_window"),
    ),
    "one_sensor": Meaning(
        "Most trips come from one of the sensors", "", "", "Look at this sensor first; change it over with another."
    ),
    "traffic": Meaning(
        "Trips follow the traffic, and nothing beyond it", "fixed_times", "",
        "Watch what vehicles and people do at the gate in the busy hours.",
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class LogAnswer:
    """What the log answers in place of a person."""

    check: str
    value: Value
    sure: bool
    note: str


def to_one(test: Tested) -> float:
    """The Bayes factor of a pattern against an even rate, capped."""
    return exp(min(max(test.log_bayes, 0.0), log(MOST_TO_ONE)))


def is_sure(test: Tested) -> bool:
    """Whether a pattern is as strong as evidence from a log gets, and explains at least half of the episodes."""
    return test.log_bayes >= log(MOST_TO_ONE) and test.explains >= SURE_EXPLAINS


def because(test: Tested) -> str:
    """The numbers behind a pattern in one sentence."""
    c = test.count
    where = f"{c.inside} of {c.total} episodes where {c.share:.1%} of the exposure lies" if c.detail else ""
    ratio = f"rate ratio {test.ratio:.3g}, 95 % interval {test.low:.2g} to {test.high:.3g}"
    tried = f", the best of {test.searched} tried" if test.searched > 1 else ""
    return f"{where}; {ratio}{tried}; p {test.p:.1g}"


def strength(test: Tested) -> str:
    """How strong a pattern is as evidence, and why not stronger."""
    if test.log_bayes < log(MOST_TO_ONE):
        return f"evidence about {to_one(test):.0f} to 1 against chance: taken as not sure"
    capped = f"evidence over {MOST_TO_ONE:.0f} to 1 against chance, counted as {MOST_TO_ONE:.0f} to 1: something"
    capped += " else may go along with it"
    return (
        capped if is_sure(test) else f"{capped}; it explains {test.explains:.0%} of the episodes: taken as not sure"
    )


def answers(verdict: Verdict, kb: KnowledgeBase, given: Mapping[str, Value]) -> list[LogAnswer]:
    """What the log answers on a visit where `given` was answered already.

    One pattern counts once: it says when the trouble shows, or, where a person has said that, what the recorded
    trips follow. The other of the two is then passed over, so that it is not asked of the same log again.
    """
    timed = next((t for t in verdict.patterns if MEANINGS[t.name].when), None)
    if timed is None:
        found = _without_pattern(verdict)
    else:
        found = _of_pattern(timed, given.get(WHEN, "dont_know") in _VAGUE)
        found += _afterwards(verdict, timed)
    return [
        a for a in found if a.check in kb.checks and (a.value in NO_ANSWER or a.value in kb.checks[a.check].options)
    ]


def _of_pattern(test: Tested, open_when: bool) -> list[LogAnswer]:
    meaning = MEANINGS[test.name]
    note = f"trip log: {meaning.says.lower()}, {test.count.detail}; {because(test)}; {strength(test)}"
    if open_when:
        return [
            LogAnswer(WHEN, meaning.when, is_sure(test), note),
            LogAnswer(COMPARED, "skip", True, "the trip log has answered already when the trouble shows"),
        ]
    return [LogAnswer(COMPARED, meaning.compared, is_sure(test), note)] if meaning.compared else []


def _afterwards(verdict: Verdict, timed: Tested) -> list[LogAnswer]:
    """Whether the trouble outlasts the rain: other hours than those in rain, so evidence of its own."""
    after = next((t for t, _ in verdict.tests if t.name == "after_rain"), None)
    if timed.name not in ("rain", "after_rain") or after is None:
        return []
    note = f"trip log, {after.count.detail}: {because(after)}"
    if any(t.name == "after_rain" for t in verdict.patterns):
        return [LogAnswer(AFTERWARDS, "stays_after", is_sure(after), note)]
    return [LogAnswer(AFTERWARDS, "only_while_falling", False, note)] if after.high < 2 else []


def _without_pattern(verdict: Verdict) -> list[LogAnswer]:
    """'No pattern' counts only where a large one would have been seen, and is never sure."""
    visible = [ratio for test, ratio in verdict.seen if test.count.share > 0.02]
    if verdict.patterns or not visible or sorted(visible)[len(visible) // 2] > _USEFUL_RATIO:
        return []
    note = f"trip log: no pattern in {verdict.episodes} episodes over {verdict.days:.0f} days, "
    note += f"false-discovery rate {FALSE_DISCOVERY:.0%}"
    return [LogAnswer(COMPARED, "no_pattern", False, note)]


def causes_of(test: Tested, kb: KnowledgeBase, devices: tuple[str, ...] = ()) -> list[Cause]:
    """The causes that show this pattern most often, strongest first."""
    meaning = MEANINGS[test.name]
    if not meaning.when:
        return [kb.causes[c] for c in meaning.causes if c in kb.causes]
    shown = [c for c in kb.causes.values() if _fits(c, devices) and _often(c, meaning.when, kb) > 0]
    return sorted(shown, key=lambda c: -_often(c, meaning.when, kb))[:_CAUSES_SHOWN]


def _fits(cause: Cause, devices: tuple[str, ...]) -> bool:
    return not devices or not cause.devices or any(d in cause.devices for d in devices)


def _often(cause: Cause, state: str, kb: KnowledgeBase) -> float:
    value = cause.signs.get(WHEN, {}).get(state, 0.0)
    return kb.scales.strength[value] if isinstance(value, str) else float(value)
