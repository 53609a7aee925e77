"""Figures of cases in words: chosen once for the screen and the page."""

from collections.abc import Iterator, Sequence

from diagnose.cases.collect import HALVES, Collected
from diagnose.cases.figures import CaseFigures, Entry, Share, botched_found, case_figures, planted_figures
from diagnose.cases.model import Half
from diagnose.cases.result import Result
from diagnose.cases.runs import ALL_BOTCHED, AS_IT_IS, BOTCHED, PLANTED
from diagnose.measure.figures import Mean
from diagnose.model.knowledge import KnowledgeBase

Row = tuple[str, str]
HALF_SAYS = {
    "learning": "Learning half: may be read while knowledge is written, but for a quarter set aside for fitting",
    "judging": "Judging half: totals only; nobody who writes knowledge reads these cases",
}


def share(found: Share) -> str:
    """'67 % (16 of 24; 47 to 82 %)'."""
    if not found.count:
        return "none met"
    low, high = found.interval
    return f"{100 * found.value:.0f} % ({found.hits} of {found.count}; {100 * low:.0f} to {100 * high:.0f} %)"


def about(found: Mean, digits: int = 1) -> str:
    return f"{found.value:.{digits}f} ± {found.margin:.{digits}f}" if found.count else "none met"


def rows(found: CaseFigures) -> list[Row]:
    """What is said of one run over one half, the figures that decide first."""
    return [*_right_rows(found), *_effort_rows(found), *_answer_rows(found)]


def _right_rows(found: CaseFigures) -> list[Row]:
    return [
        ("cases", f"{found.cases}"),
        ("true cause first, a fault without an entry counted as wrong", share(found.first)),
        ("true cause first, among faults that have an entry", share(found.covered_first)),
        ("covered by an entry whose remedy mends it", share(found.covered)),
        ("among the first three", share(found.three)),
        ("first when the first remedy is chosen", share(found.at_remedy)),
        ("single listed faults mended at the first remedy", share(found.single_right)),
        ("two faults: both named before a repair", share(found.both_named)),
        ("two faults: both mended", share(found.both_mended)),
        ("outside the list: recognised", share(found.outside_found)),
        ("listed faults called outside", share(found.outside_said)),
        ("working as designed or misuse: first", share(found.designed_found)),
        ("mended in the end", share(found.mended)),
        ("wrong remedies a visit", about(found.wrong_remedies, 2)),
        ("remedies until mended", about(found.remedies)),
    ]  # fmt: skip


def _effort_rows(found: CaseFigures) -> list[Row]:
    return [
        ("questions until concluded", f"{about(found.steps)}, 95 % under {found.steps_p95:.0f}"),
        ("of calls; then on site", f"{about(found.phone_steps)}; {about(found.site_steps)}"),
        ("questions in all", about(found.questions)),
        ("minutes of checks until concluded", about(found.concluded_minutes, 0)),
        ("minutes of checks until the first remedy", about(found.check_minutes, 0)),
        ("minutes until mended", about(found.minutes, 0)),
    ]  # fmt: skip


def _answer_rows(found: CaseFigures) -> list[Row]:
    calibrated = found.calibration
    return [
        ("complaint found first from the words", share(found.complaint_first)),
        ("complaint among the three offered", share(found.complaint_three)),
        ("facts in the first words: heard", share(found.facts_heard)),
        ("facts in the first words: asked all the same", share(found.facts_asked)),
        ("bits an answer told, mean; median", f"{about(found.bits, 2)}; {found.bits_median:.2f}"),
        ("answers that told under 0.05 bit", share(found.little)),
        ("questions asked again a visit", about(found.repeated, 2)),
        ("of these, where nothing had changed", about(found.repeated_for_nothing, 2)),
        ("visits with a doubt against a true answer", share(found.doubts)),
        ("visits with a forbidden request", share(found.forbidden)),
        ("true answers against the truth a visit", f"{about(found.against, 2)}; tables predict "
         f"{found.against_expected.value:.2f}; where a table says certain: {found.against_certain}"),
        ("answers not encoded", share(found.not_encoded)),
        ("stated by the leader; right", f"{100 * _stated(found):.0f} %; {100 * found.first.value:.0f} %"),
        ("calibration error", f"{calibrated.error:.3f} (a perfect tool would show {calibrated.by_chance:.3f})"),
        ("log score, bits", about(found.log_score, 2)),
    ]  # fmt: skip


def _stated(found: CaseFigures) -> float:
    return found.calibration.surplus + found.first.value


def spoilt_rows(collected: Collected, half: Half) -> list[Row]:
    """What a wrong answer and repairs that do not take cost."""
    if PLANTED not in collected.runs:
        return []
    clean, wrong = collected.of(AS_IT_IS, half), collected.of(PLANTED, half)
    planted = planted_figures(clean, [(collected.wrong[r.id], r) for r in wrong])
    falls = f"{100 * planted.first_falls.value:+.1f} ± {100 * planted.first_falls.margin:.1f} points"
    few, all_botched = collected.of(BOTCHED, half), collected.of(ALL_BOTCHED, half)
    return [
        ("one answer wrong: first falls by", falls),
        ("wrong answers that displace the truth", share(planted.displaced)),
        ("of these, questioned", share(planted.questioned)),
        ("repairs that did not take, found before another part is changed", share(botched_found(all_botched))),
        ("mended in the end, 5 % of repairs botched", share(case_figures(few).mended)),
    ]


def compared_rows(collected: Collected, half: Half) -> Iterator[tuple[str, ...]]:
    """Every way of asking: first, three, questions, minutes until the first remedy, mended at the first remedy."""
    spoilt = (PLANTED, BOTCHED, ALL_BOTCHED)
    for name in collected.runs:
        if name not in spoilt and (results := collected.of(name, half)):
            found = case_figures(results)
            yield (
                "the tool" if name == AS_IT_IS else name, share(found.first), share(found.three),
                about(found.steps), about(found.check_minutes, 0), share(found.single_right),
            )  # fmt: skip


def halves(collected: Collected) -> list[Half]:
    """Those that have cases in this run."""
    return [half for half in HALVES if collected.of(AS_IT_IS, half)]


def entry_says(kb: KnowledgeBase, entry: Entry) -> str:
    """One entry to look at: the cause, what was truly seen, how much it counted against it, and where."""
    finding, cause = kb.findings[entry.finding], kb.causes.get(entry.cause)
    known = f"causes: {entry.cause}, signs: {entry.finding}"
    sure = "; its table all but rules this out" if entry.certain else ""
    return (
        f"{cause.says if cause else 'no entry'}: '{finding.says}' was truly {entry.state.replace('_', ' ')}"
        f"{sure} ({known}; {entry.times} times, {', '.join(entry.cases)})"
    )


def misfits(results: Sequence[Result]) -> Iterator[Row]:
    """(case, check) for every question that had no answer to fit, asked for nothing, or was not encoded."""
    for result in results:
        for told in result.told:
            if told.source in ("no fit", "not encoded"):
                yield result.id, f"{told.check}: {told.source}"
            elif told.for_nothing:
                yield result.id, f"{told.check}: asked again although nothing had changed"


def families(results: Sequence[Result]) -> Iterator[tuple[str, ...]]:
    """Per sensor family: cases, first, three, questions."""
    for family in sorted({_family(r) for r in results}):
        found = case_figures([r for r in results if _family(r) == family])
        yield family, f"{found.cases}", share(found.first), share(found.three), about(found.steps)


def _family(result: Result) -> str:
    return result.family.removeprefix("inductive_").replace("_", " ")


def case_line(result: Result) -> str:
    """One case of the learning half in a line."""
    sight = result.concluded
    place = f"true cause {sight.rank}." if sight.rank else "true cause not listed"
    cover = "" if result.covered or result.kind == "outside" else ", no entry for it"
    return (
        f"{place} (leader {sight.leader}, {100 * sight.stated:.0f} %){cover}; {sight.questions} questions, "
        f"{result.questions} in all; {result.wrong_remedies} wrong remedies, {result.ended}"
    )
