"""`diagnose history` and `diagnose frequencies`: what was found on earlier visits, and what it teaches."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from diagnose.core import learn as learning
from diagnose.core.learn import Learned, ShareChange, changes
from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.earlier import EarlierVisit, cause_says, earlier_visit_of
from diagnose.present.figures import percent
from diagnose.present.past_table import visits_table
from diagnose.present.tables import csv_text
from diagnose.store.history.history import ALWAYS, History, Span
from diagnose.store.history.lines import new_file
from diagnose.store.learned import Overlay
from diagnose.terminal.screen import Screen, clean
from diagnose.words import say

TABLE = ".csv"
SHOWN_CHANGES = 20
LEAST_CHANGE = 0.0005  # of the share; less cannot be seen in the table


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; '' and ALWAYS leave all in."""

    words: str = ""
    place: str = ""
    kind: str = ""
    limit: int = 50
    began: Span = ALWAYS


def export(screen: Screen, kb: KnowledgeBase, history: History, path: Path) -> None:
    """The whole history into a file of lines; into a table where the file is named as one."""
    if path.suffix.casefold() != TABLE:
        screen.line(say("terminal.history_exported", n=history.export(path), path=path))
        return
    with new_file(path) as part:
        table = visits_table(kb, history.everything())
        part.write_text(csv_text(table), "utf-8", newline="")
    screen.line(say("terminal.history_tabled", n=len(table.rows), path=path))


def import_(screen: Screen, history: History, path: Path) -> None:
    """What somebody exported, into this history."""
    screen.line(say("terminal.history_imported", n=history.import_(path), path=path))


def backup(screen: Screen, history: History, path: Path) -> None:
    """A copy of the database."""
    screen.line(say("terminal.history_copied", n=history.backup(path), path=path))


def searched(kb: KnowledgeBase, history: History, wanted: Wanted) -> tuple[VisitRecord, ...]:
    """The newest visits that fit. Raises VisitError."""
    if wanted.kind and wanted.kind not in kb.devices:
        raise VisitError(say("session.device", name=repr(wanted.kind), known=", ".join(kb.devices)))
    return history.search(wanted.words, wanted.place, wanted.kind, wanted.limit, kb, wanted.began)


def plain(record: VisitRecord) -> dict[str, Any]:
    """A visit of the history for programs."""
    return asdict(record)


def draw_found(
    screen: Screen, kb: KnowledgeBase, found: Sequence[VisitRecord], names: Mapping[str, str], limit: int
) -> None:
    """`names` has the file of a visit by its number, where there is one here."""
    for record in found:
        draw_earlier_visit(screen, earlier_visit_of(kb, record, names.get(record.id, "")))
    if not found:
        screen.line(say("present.no_past_visit"))
    elif len(found) == limit:
        screen.line(say("terminal.history_newest", n=limit))


def draw_earlier_visit(screen: Screen, visit: EarlierVisit) -> None:
    """One visit in a few lines: when, where, what was complained of, what it was."""
    head = "; ".join(filter(None, (visit.site, visit.complaint, visit.devices, visit.answers, visit.state)))
    screen.row(f"{clean(visit.name or visit.id)}  ", f"{visit.began[:10]}: {head}")
    if visit.words:
        screen.row("    ", f'"{visit.words}"')
    for said in filter(None, (visit.outcome, *visit.notes)):
        screen.row("    ", said)


def learn(screen: Screen, kb: KnowledgeBase, history: History, overlay: Overlay, switch_on: bool) -> None:
    """What the confirmed visits teach, before and after. Raises VisitError."""
    learned = learning.learn(kb, history.confirmed())
    draw_learned(screen, kb, learned)
    if switch_on and not learned.outcomes:
        raise VisitError(say("terminal.learned_nothing"))
    if switch_on:
        overlay.switch_on(learned)
        screen.line(say("terminal.learned_on"))
    else:
        screen.line(_state(overlay, learned))


def learn_off(screen: Screen, overlay: Overlay) -> None:
    """Back to the expert's frequencies; needs no history."""
    was_on = overlay.switch_off()
    screen.line(say("terminal.learned_off" if was_on else "terminal.learned_was_off"))


def _state(overlay: Overlay, learned: Learned) -> str:
    try:
        on = overlay.read()
    except VisitError as error:
        return str(error)
    if on is None:
        return say("terminal.learned_not_used")
    if (on.digest, on.knowledge, on.weights) == (learned.digest, learned.knowledge, learned.weights):
        return say("terminal.learned_used")
    changed = "knowledge" if on.knowledge != learned.knowledge else "history"
    return say(f"terminal.learned_{changed}_changed", n=on.outcomes)


def draw_learned(screen: Screen, kb: KnowledgeBase, learned: Learned) -> None:
    """How much was learned from, then the causes whose share changes most."""
    screen.heading(say("terminal.learned_from", n=learned.outcomes))
    screen.line(say("terminal.learned_weight", strength=f"{learned.strength:g}", floor=percent(learned.floor)))
    if learned.left_out:
        named = ", ".join(learned.left_out[:5]) + (" ..." if len(learned.left_out) > 5 else "")
        screen.line(say("terminal.learned_left_out", n=len(learned.left_out), visits=named))
    if 0 < learned.outcomes < len(kb.causes):
        screen.line(say("terminal.learned_few"))
    told = [c for c in changes(kb, learned) if abs(c.after - c.before) >= LEAST_CHANGE]
    for change in told[:SHOWN_CHANGES]:
        _draw_change(screen, kb, change)
    if len(told) > SHOWN_CHANGES:
        screen.line(say("terminal.learned_others", n=len(told) - SHOWN_CHANGES))


def _draw_change(screen: Screen, kb: KnowledgeBase, change: ShareChange) -> None:
    counted = say("terminal.learned_counted", found=f"{change.count:.4g}", expected=f"{change.expected:.1f}")
    screen.hanging(f"{change.before:6.1%} -> {change.after:6.1%}  ", f"{cause_says(kb, change.cause)} ({counted})")
