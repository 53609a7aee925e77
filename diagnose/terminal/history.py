"""`diagnose history` and `diagnose learn`: what was found on earlier visits, and what it teaches."""

from pathlib import Path

from diagnose.core import learn as learning
from diagnose.core.learn import Change, Learned, changes
from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.store.history.history import History
from diagnose.store.learned import Overlay
from diagnose.terminal.screen import Screen, clean

SHOWN_CHANGES = 20
LEAST_CHANGE = 0.0005  # of the share; less cannot be seen in the table


def export(screen: Screen, history: History, path: Path) -> None:
    """The whole history into a file of lines."""
    screen.line(f"{_visits(history.export(path))} written to {path}.")


def import_(screen: Screen, history: History, path: Path) -> None:
    """What somebody exported, into this history."""
    taken = _visits(history.import_(path))
    screen.line(f"{taken} taken from {path}. A visit that was kept here in a newer version stays so.")


def backup(screen: Screen, history: History, path: Path) -> None:
    """A copy of the database."""
    copied = _visits(history.backup(path))
    screen.line(f"{copied} copied to {path}, which can be used as a history itself.")


def _visits(number: int) -> str:
    return "1 visit" if number == 1 else f"{number} visits"


def search(
    screen: Screen, kb: KnowledgeBase, history: History, words: str, place: str, kind: str, limit: int
) -> None:
    """The newest visits that fit. Raises VisitError."""
    if kind and kind not in kb.devices:
        raise VisitError(f"unknown sensor kind {kind!r}; known: {', '.join(kb.devices)}")
    found = history.search(words, place, kind, limit)
    for record in found:
        draw_record(screen, kb, record)
    if not found:
        screen.line("No such visit in the history.")
    elif len(found) == limit:
        screen.line(f"The newest {limit} are shown; --limit shows more.")


def draw_record(screen: Screen, kb: KnowledgeBase, record: VisitRecord) -> None:
    """One visit in a few lines: when, where, what was complained of, what it was."""
    complaint = kb.complaints[record.complaint].says if record.complaint in kb.complaints else record.complaint
    head = (record.site, complaint, ", ".join(record.devices), f"{len(record.answers)} answers", record.state)
    screen.hanging(f"{clean(record.id)}  ", f"{record.began[:10]}: {'; '.join(filter(None, head))}")
    if record.words:
        screen.hanging("    ", f'"{record.words}"')
    if outcome := record.outcome:
        causes = "; ".join(cause_says(kb, cause) for cause in outcome.causes) or "no cause was found"
        proof = "proof passed" if outcome.proof_passed else "not proved"
        service = "in service" if outcome.in_service else "left out of service"
        screen.hanging("    ", f"{causes} ({proof}, {service})")
    for said in filter(None, (record.outcome.remedy, record.outcome.note) if record.outcome else ()):
        screen.hanging("    ", said)


def cause_says(kb: KnowledgeBase, cause: str) -> str:
    """A cause in words, also one that the knowledge no longer has."""
    return kb.causes[cause].says if cause in kb.causes else cause.replace("_", " ")


def learn(screen: Screen, kb: KnowledgeBase, history: History, overlay: Overlay, switch_on: bool) -> None:
    """What the confirmed visits teach, before and after. Raises VisitError."""
    learned = learning.learn(kb, history.confirmed())
    draw_learned(screen, kb, learned)
    if switch_on and not learned.outcomes:
        raise VisitError("no confirmed visit to learn from yet; nothing was switched on")
    if switch_on:
        overlay.switch_on(learned)
        screen.line("Switched on. 'diagnose learn --off' goes back to the expert's frequencies.")
    else:
        screen.line(_state(overlay, learned))


def learn_off(screen: Screen, overlay: Overlay) -> None:
    """Back to the expert's frequencies; needs no history."""
    was_on = overlay.switch_off()
    screen.line("Off: the expert's frequencies count again." if was_on else "Nothing was switched on.")


def _state(overlay: Overlay, learned: Learned) -> str:
    try:
        on = overlay.read()
    except VisitError as error:
        return str(error)
    if on is None:
        return "Not in use. 'diagnose learn --on' uses these frequencies from now on."
    if (on.digest, on.knowledge, on.weights) == (learned.digest, learned.knowledge, learned.weights):
        return "In use. 'diagnose learn --off' goes back to the expert's frequencies."
    why = "knowledge" if on.knowledge != learned.knowledge else "history"
    used = _visits(on.outcomes)
    return f"In use are those of {used}; the {why} has changed since. 'diagnose learn --on' takes these instead."


def draw_learned(screen: Screen, kb: KnowledgeBase, learned: Learned) -> None:
    """How much was learned from, then the causes whose share changes most."""
    screen.heading(f"Learned from {_visits(learned.outcomes)} with a confirmed cause")
    screen.line(
        f"The expert's word counts as {learned.strength:g} visits. No cause falls below {learned.floor:.0%} of what "
        "the expert says."
    )
    if learned.left_out:
        screen.line(
            f"Left out: {_visits(len(learned.left_out))} whose cause is not in the knowledge, or not for the "
            f"sensors of the site: {', '.join(learned.left_out[:5])}{' ...' if len(learned.left_out) > 5 else ''}"
        )
    if 0 < learned.outcomes < len(kb.causes):
        screen.line("These are fewer visits than there are causes; what changes here may be chance.")
    told = [c for c in changes(kb, learned) if abs(c.after - c.before) >= LEAST_CHANGE]
    for change in told[:SHOWN_CHANGES]:
        _draw_change(screen, kb, change)
    if len(told) > SHOWN_CHANGES:
        screen.line(f"and {len(told) - SHOWN_CHANGES} causes that change less.")


def _draw_change(screen: Screen, kb: KnowledgeBase, change: Change) -> None:
    counted = f"found {change.count:.4g} times, {change.expected:.1f} expected"
    screen.hanging(f"{change.before:6.1%} -> {change.after:6.1%}  ", f"{cause_says(kb, change.cause)} ({counted})")
