"""Draws an exercise: the list of checks, the installation as blocks, feedback and the debrief."""

from collections.abc import Sequence

from diagnose.core.posterior import Belief
from diagnose.core.reason import Reasoner
from diagnose.model.knowledge import Check, KnowledgeBase
from diagnose.practice.blocks import block_of_check, blocks
from diagnose.practice.coach import Feedback, says_counter
from diagnose.practice.debrief import Debrief, Line
from diagnose.practice.exercise import Exercise, opening_minutes
from diagnose.practice.moves import Look
from diagnose.practice.slips import SAYS
from diagnose.practice.wording import ENDED, PRACTISE, move_says, parting
from diagnose.session.wording import state_says
from diagnose.terminal.screen import Screen


def draw_checks(screen: Screen, kb: KnowledgeBase, exercise: Exercise, checks: Sequence[Check]) -> None:
    """A numbered list with minutes, what has to be opened, tools and who may."""
    for number, check in enumerate(checks, start=1):
        opening = opening_minutes(kb, exercise.session, check)
        facts = [f"{check.minutes:g} min", *([f"+{opening:g} to {kb.access[check.access].says}"] if opening else [])]
        facts += [kb.tools[t] for t in check.tools] + (["electrician"] if check.who == "electrician" else [])
        facts += ["answered"] if exercise.session.answer(check.id) else []
        screen.hanging(f"{number:3d}  ", f"{check.ask} ({'; '.join(facts)})")


def draw_block_counts(screen: Screen, kb: KnowledgeBase, checks: Sequence[Check]) -> None:
    """How many checks each block has."""
    counts: dict[str, int] = {}
    for check in checks:
        block = block_of_check(kb, check)
        counts[block] = counts.get(block, 0) + 1
    for block, count in counts.items():
        screen.line(f"  {block:14} {count:3d} checks")
    screen.line("'list supply' shows those of a block, 'list lamp' those with a word in them.")


def draw_blocks(screen: Screen, kb: KnowledgeBase, belief: Belief) -> None:
    """The installation block by block: what is as good as proved, what is open. How likely is for a hint to say."""
    screen.heading("The installation, as far as it is known")
    for block in blocks(kb, belief):
        screen.line(f"  {block.id:14} {'good so far' if block.good else 'still open'}")


def draw_feedback(screen: Screen, reasoner: Reasoner, told: Feedback) -> None:
    """What the coach says after a move."""
    kb = reasoner.kb
    if told.expected is not None:
        screen.line("   As you expected." if told.expected else "   Not what you expected.")
    if told.surprise is not None:
        screen.line(f"   Your expectation against the chances: Brier {told.surprise:.2f} (0 best, 1 worst).")
    if told.brier is not None:
        screen.line(f"   Your suspects against the posterior: Brier {told.brier:.3f} (0 best).")
    if told.bits or told.weight:
        pair = f"'{kb.causes[told.leader].says}' against '{kb.causes[told.rival].says}'"
        screen.hanging("   ", f"It told {told.bits:.2f} bit, and {round(told.weight):+d} dB for {pair}.")
    if told.counter:
        screen.hanging("COACH  ", says_counter(kb, told.counter), "bold")
    for slip in told.slips:
        screen.hanging("SLIP  ", f"{SAYS[slip.kind]}. {slip.says}", "bold yellow")


def draw_debrief(screen: Screen, kb: KnowledgeBase, truth: Sequence[str], ended: str, seen: Debrief) -> None:
    """Both paths, the points, one different choice, and what to practise next."""
    screen.heading("Debrief")
    screen.line(ENDED[ended], "bold")
    for cause in truth:
        screen.hanging("It was: ", f"{kb.causes[cause].says}. {kb.causes[cause].explain}")
    for finding, state in seen.false_leads:
        says = f"{kb.findings[finding].says}: {state_says(kb, finding, state)}"
        screen.hanging("FALSE LEAD  ", f"{says}. Nothing that is wrong here brings that.")
    _draw_path(screen, kb, "Your path", seen.own)
    _draw_path(screen, kb, f"The tool's path ({seen.best_ended})", seen.best)
    if (number := parting(seen)) is not None:
        screen.line(f"The paths part at step {number + 1}.")
    if seen.otherwise:
        other = seen.otherwise
        does = move_says(kb, other.instead)
        saved = f"At your step {other.number + 1}: '{does}' would have saved {other.saves:.0f} min."
        screen.hanging("OTHERWISE  ", saved)
    for caution in seen.missed:
        screen.hanging("MISSED  ", kb.cautions[caution].says, "bold yellow")
    _draw_points(screen, seen)
    screen.hanging("Practise next: ", PRACTISE[seen.practise], "bold")


def _draw_path(screen: Screen, kb: KnowledgeBase, title: str, lines: Sequence[Line]) -> None:
    screen.heading(f"{title}: {sum(x.minutes for x in lines):g} min")
    for number, line in enumerate(lines, start=1):
        told = f"{line.minutes:g} min" + (f", {line.bits:+.2f} bit" if isinstance(line.move, Look) else "")
        screen.hanging(f"{number:3d}. ", f"{move_says(kb, line.move)} ({told})")


def _draw_points(screen: Screen, seen: Debrief) -> None:
    screen.heading(f"Score {seen.score:.0f} of 100")
    for name, value in seen.parts.items():
        screen.line(f"  {name:16} {value:+6.1f}")
    if seen.brier is not None:
        screen.line(f"  Your suspects against the posterior: mean Brier {seen.brier:.3f}.")
    if seen.truth_brier is not None:
        screen.line(f"  Your suspects against what it was: mean Brier {seen.truth_brier:.3f}.")
    if seen.truth_parts:
        parts = seen.truth_parts
        told = f"miscalibration {parts.reliability:.3f}, gained by telling cases apart {parts.resolution:.3f}"
        screen.hanging("  ", f"Over every single statement: {told}.")
    for kind, count in seen.slips.most_common():
        screen.line(f"  slip: {SAYS[kind]} ({count})")
