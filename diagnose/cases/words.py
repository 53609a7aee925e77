"""Figures of cases in words: chosen once for the screen and the page."""

from collections.abc import Iterator, Sequence

from diagnose.cases.collect import HALVES, Collected
from diagnose.cases.figures import CaseFigures, Entry, Share, botched_found, case_figures, planted_figures
from diagnose.cases.model import Half
from diagnose.cases.result import CaseResult
from diagnose.cases.runs import ALL_BOTCHED, AS_IT_IS, BOTCHED, PLANTED
from diagnose.measure.figures import Mean
from diagnose.measure.words import way_says
from diagnose.model.knowledge import KnowledgeBase
from diagnose.session.wording import state_says
from diagnose.words import say

Row = tuple[str, str]
SPOILT = (PLANTED, BOTCHED, ALL_BOTCHED)


def half_says(half: Half) -> str:
    """What may be done with one half of the cases."""
    return say(f"cases.half_{half}")


def share(found: Share) -> str:
    """'67 % (16 of 24; 47 to 82 %)'."""
    if not found.count:
        return say("measure.none_met")
    low, high = found.interval
    return say(
        "cases.share",
        percent=f"{100 * found.value:.0f}",
        hits=found.hits,
        count=found.count,
        low=f"{100 * low:.0f}",
        high=f"{100 * high:.0f}",
    )


def about(found: Mean, digits: int = 1) -> str:
    return f"{found.value:.{digits}f} ± {found.margin:.{digits}f}" if found.count else say("measure.none_met")


def rows(found: CaseFigures) -> list[Row]:
    """What is said of one run over one half, the figures that decide first."""
    return [*_right_rows(found), *_effort_rows(found), *_answer_rows(found)]


def _right_rows(found: CaseFigures) -> list[Row]:
    return [
        (say("cases.head_cases"), f"{found.cases}"),
        (say("cases.first"), share(found.first)),
        (say("cases.covered_first"), share(found.covered_first)),
        (say("cases.covered"), share(found.covered)),
        (say("cases.three"), share(found.three)),
        (say("cases.at_remedy"), share(found.at_remedy)),
        (say("cases.single_right"), share(found.single_right)),
        (say("cases.both_named"), share(found.both_named)),
        (say("cases.both_mended"), share(found.both_mended)),
        (say("cases.outside_found"), share(found.outside_found)),
        (say("cases.outside_said"), share(found.outside_said)),
        (say("cases.designed_found"), share(found.designed_found)),
        (say("cases.mended_in_the_end"), share(found.mended)),
        (say("cases.wrong_remedies_a_visit"), about(found.wrong_remedies, 2)),
        (say("cases.remedies_until_mended"), about(found.remedies)),
    ]


def _effort_rows(found: CaseFigures) -> list[Row]:
    return [
        (
            say("cases.questions_until_concluded"),
            say("cases.steps_shown", mean=about(found.steps), p95=f"{found.steps_p95:.0f}", read=about(found.read)),
        ),
        (say("cases.of_calls_then_on_site"), f"{about(found.phone_steps)}; {about(found.site_steps)}"),
        (say("cases.questions_in_all"), about(found.questions)),
        (say("cases.concluded_minutes"), about(found.concluded_minutes, 0)),
        (say("cases.check_minutes"), about(found.check_minutes, 0)),
        (say("cases.minutes_until_mended"), about(found.minutes, 0)),
    ]


def _answer_rows(found: CaseFigures) -> list[Row]:
    calibrated = found.calibration
    return [
        (say("cases.complaint_first"), share(found.complaint_first)),
        (say("cases.complaint_three"), share(found.complaint_three)),
        (say("cases.facts_heard"), share(found.facts_heard)),
        (say("cases.facts_asked"), share(found.facts_asked)),
        (say("cases.bits_told"), f"{about(found.bits, 2)}; {found.bits_median:.2f}"),
        (say("cases.little_told"), share(found.little)),
        (say("cases.repeated"), about(found.repeated, 2)),
        (say("cases.repeated_for_nothing"), about(found.repeated_for_nothing, 2)),
        (say("cases.doubts"), share(found.doubts)),
        (say("cases.forbidden"), share(found.forbidden)),
        (
            say("cases.against"),
            say(
                "cases.against_shown",
                mean=about(found.against, 2),
                expected=f"{found.against_expected.value:.2f}",
                certain=found.against_certain,
            ),
        ),
        (say("cases.answers_not_encoded"), share(found.not_encoded)),
        (say("cases.stated"), f"{100 * _stated(found):.0f} %; {100 * found.first.value:.0f} %"),
        (
            say("measure.head_calibration_error"),
            say("cases.error_shown", error=f"{calibrated.error:.3f}", by_chance=f"{calibrated.by_chance:.3f}"),
        ),
        (say("cases.log_score_bits"), about(found.log_score, 2)),
    ]


def _stated(found: CaseFigures) -> float:
    return found.calibration.surplus + found.first.value


def spoilt_rows(collected: Collected, half: Half) -> list[Row]:
    """What a wrong answer and repairs that do not take cost."""
    if PLANTED not in collected.runs:
        return []
    clean, wrong = collected.of(AS_IT_IS, half), collected.of(PLANTED, half)
    planted = planted_figures(clean, [(collected.wrong[r.id], r) for r in wrong])
    fall = f"{100 * planted.first_falls.value:+.1f} ± {100 * planted.first_falls.margin:.1f}"
    falls = say("measure.points", points=fall)
    few, all_botched = collected.of(BOTCHED, half), collected.of(ALL_BOTCHED, half)
    return [
        (say("cases.first_falls"), falls),
        (say("cases.displaced"), share(planted.displaced)),
        (say("cases.questioned"), share(planted.questioned)),
        (say("cases.botched_found"), share(botched_found(all_botched))),
        (say("cases.mended_botched"), share(case_figures(few).mended)),
    ]


def compared_rows(collected: Collected, half: Half) -> Iterator[tuple[str, ...]]:
    """Every way of asking: first, three, questions, minutes until the first remedy, mended at the first remedy."""
    for name in collected.runs:
        if name not in SPOILT and (results := collected.of(name, half)):
            found = case_figures(results)
            yield (
                run_says(name), share(found.first), share(found.three),
                about(found.steps), about(found.check_minutes, 0), share(found.single_right),
            )  # fmt: skip


def run_says(name: str) -> str:
    """What one run of all cases is called."""
    return say(f"cases.run_{name}") if name in SPOILT or name == AS_IT_IS else way_says(name)


def figure_says(name: str) -> str:
    """A figure that is held against its recorded value, under the name it is recorded by."""
    return say(f"cases.recorded_{name.replace(' ', '_')}")


def halves(collected: Collected) -> list[Half]:
    """Those that have cases in this run."""
    return [half for half in HALVES if collected.of(AS_IT_IS, half)]


def entry_says(kb: KnowledgeBase, entry: Entry) -> str:
    """One entry to look at: the cause, what was truly seen, how much it counted against it, and where."""
    finding, cause = kb.findings[entry.finding], kb.causes.get(entry.cause)
    known = say("cases.where", cause=entry.cause, finding=entry.finding)
    return say(
        "cases.entry_ruled_out" if entry.certain else "cases.entry_says",
        cause=cause.says if cause else say("cases.no_entry"),
        finding=finding.says,
        state=state_says(kb, entry.finding, entry.state),
        entry=known,
        times=entry.times,
        cases=", ".join(entry.cases),
    )


def misfits(results: Sequence[CaseResult]) -> Iterator[Row]:
    """(case, check) for every question that had no answer to fit, asked for nothing, or was not encoded."""
    for result in results:
        for told in result.told:
            if told.source in ("no_fit", "not_encoded"):
                yield result.id, say(f"cases.{told.source}", check=told.check)
            elif told.for_nothing:
                yield result.id, say("cases.asked_for_nothing", check=told.check)


def families(results: Sequence[CaseResult]) -> Iterator[tuple[str, ...]]:
    """Per sensor family: cases, first, three, questions."""
    for family in sorted({_family(r) for r in results}):
        found = case_figures([r for r in results if _family(r) == family])
        yield family, f"{found.cases}", share(found.first), share(found.three), about(found.steps)


def _family(result: CaseResult) -> str:
    return result.family.removeprefix("inductive_").replace("_", " ")


def case_line(result: CaseResult) -> str:
    """One case of the learning half in a line."""
    sight = result.concluded
    place = say("cases.true_cause_at", place=sight.rank) if sight.rank else say("cases.true_cause_not_listed")
    covered = result.covered or result.kind == "outside"
    return say(
        "cases.line" if covered else "cases.line_without_entry",
        place=place,
        leader=sight.leader,
        percent=f"{100 * sight.stated:.0f}",
        questions=sight.questions,
        all=result.questions,
        wrong=result.wrong_remedies,
        ended=say(f"cases.ended_{result.ended}"),
    )
