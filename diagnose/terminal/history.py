"""`diagnose history` and `diagnose frequencies`: what was found on earlier visits, and what it teaches."""

from pathlib import Path

from diagnose.core import learn as learning
from diagnose.core.learn import Change, Learned, changes
from diagnose.errors import VisitError
from diagnose.model.history import VisitRecord
from diagnose.model.knowledge import KnowledgeBase
from diagnose.present.figures import percent
from diagnose.store.history.history import History
from diagnose.store.learned import Overlay
from diagnose.terminal.screen import Screen, clean
from diagnose.words import say

SHOWN_CHANGES = 20
LEAST_CHANGE = 0.0005  # of the share; less cannot be seen in the table


def export(screen: Screen, history: History, path: Path) -> None:
    """The whole history into a file of lines."""
    screen.line(say("terminal.history_written", visits=_visits(history.export(path)), path=path))


def import_(screen: Screen, history: History, path: Path) -> None:
    """What somebody exported, into this history."""
    taken = _visits(history.import_(path))
    screen.line(say("terminal.history_taken", visits=taken, path=path))


def backup(screen: Screen, history: History, path: Path) -> None:
    """A copy of the database."""
    copied = _visits(history.backup(path))
    screen.line(say("terminal.history_copied", visits=copied, path=path))


def _visits(number: int) -> str:
    return say("terminal.visits", n=number)


def search(
    screen: Screen, kb: KnowledgeBase, history: History, words: str, place: str, kind: str, limit: int
) -> None:
    """The newest visits that fit. Raises VisitError."""
    if kind and kind not in kb.devices:
        raise VisitError(say("session.device", name=kind, known=", ".join(kb.devices)))
    found = history.search(words, place, kind, limit)
    for record in found:
        draw_record(screen, kb, record)
    if not found:
        screen.line(say("present.no_past_visit"))
    elif len(found) == limit:
        screen.line(say("terminal.history_newest", most=limit))


def draw_record(screen: Screen, kb: KnowledgeBase, record: VisitRecord) -> None:
    """One visit in a few lines: when, where, what was complained of, what it was."""
    complaint = kb.complaints[record.complaint].says if record.complaint in kb.complaints else record.complaint
    head = (
        record.site,
        complaint,
        ", ".join(kb.devices.get(d, d) for d in record.devices),
        say("terminal.count_answers", n=len(record.answers)),
        state_of(record),
    )
    screen.hanging(f"{clean(record.id)}  ", f"{record.began[:10]}: {'; '.join(filter(None, head))}")
    if record.words:
        screen.hanging("    ", f'"{record.words}"')
    if outcome := record.outcome:
        causes = "; ".join(cause_says(kb, cause) for cause in outcome.causes) or say("present.no_cause")
        proof = say("terminal.proved") if outcome.proof_passed else say("terminal.not_proved")
        service = say("terminal.is_in_service") if outcome.in_service else say("terminal.is_out")
        screen.hanging("    ", f"{causes} ({proof}, {service})")
    for said in filter(None, (record.outcome.remedy, record.outcome.note) if record.outcome else ()):
        screen.hanging("    ", said)


def state_of(record: VisitRecord) -> str:
    """How far a visit came, in words."""
    return say(f"terminal.state_{record.state}")


def cause_says(kb: KnowledgeBase, cause: str) -> str:
    """A cause in words, also one that the knowledge no longer has."""
    return kb.causes[cause].says if cause in kb.causes else cause.replace("_", " ")


def learn(screen: Screen, kb: KnowledgeBase, history: History, overlay: Overlay, switch_on: bool) -> None:
    """What the confirmed visits teach, before and after. Raises VisitError."""
    learned = learning.learn(kb, history.confirmed())
    draw_learned(screen, kb, learned)
    if switch_on and not learned.outcomes:
        raise VisitError(say("terminal.none_confirmed"))
    if switch_on:
        overlay.switch_on(learned)
        screen.line(say("terminal.switched_on"))
    else:
        screen.line(_state(overlay, learned))


def learn_off(screen: Screen, overlay: Overlay) -> None:
    """Back to the expert's frequencies; needs no history."""
    was_on = overlay.switch_off()
    screen.line(say("terminal.switched_off") if was_on else say("terminal.was_off"))


def _state(overlay: Overlay, learned: Learned) -> str:
    try:
        on = overlay.read()
    except VisitError as error:
        return str(error)
    if on is None:
        return say("terminal.not_in_use")
    if (on.digest, on.knowledge, on.weights) == (learned.digest, learned.knowledge, learned.weights):
        return say("terminal.in_use")
    changed = "terminal.knowledge_moved" if on.knowledge != learned.knowledge else "terminal.history_moved"
    return say(changed, visits=_visits(on.outcomes))


def draw_learned(screen: Screen, kb: KnowledgeBase, learned: Learned) -> None:
    """How much was learned from, then the causes whose share changes most."""
    screen.heading(say("terminal.learned_from", visits=_visits(learned.outcomes)))
    screen.line(say("terminal.experts_word", visits=f"{learned.strength:g}", least=percent(learned.floor)))
    if learned.left_out:
        names = ", ".join(learned.left_out[:5]) + (" ..." if len(learned.left_out) > 5 else "")
        screen.line(say("terminal.not_learned_from", visits=_visits(len(learned.left_out)), names=names))
    if 0 < learned.outcomes < len(kb.causes):
        screen.line(say("terminal.few_visits"))
    told = [c for c in changes(kb, learned) if abs(c.after - c.before) >= LEAST_CHANGE]
    for change in told[:SHOWN_CHANGES]:
        _draw_change(screen, kb, change)
    if len(told) > SHOWN_CHANGES:
        screen.line(say("terminal.more_changes", n=len(told) - SHOWN_CHANGES))


def _draw_change(screen: Screen, kb: KnowledgeBase, change: Change) -> None:
    found, expected = f"{change.count:.4g}", f"{change.expected:.1f}"
    told = say("terminal.counted", cause=cause_says(kb, change.cause), found=found, expected=expected)
    screen.hanging(f"{100 * change.before:5.1f} % -> {100 * change.after:5.1f} %  ", told)
