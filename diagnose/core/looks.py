"""What is looked at in one go: the next check, and others at the same place that are worth their minutes as well.

The policy chooses the first. The others are taken by what each promises alone, given what is known now: together they
tell at most the sum of that (information of several looks is never more than the sum of each alone where causes make
them independent: Krause & Guestrin, UAI 2005), so a bundle is never better than it looks; it saves the walk.
"""

from diagnose.core.asking import Next, open_needs
from diagnose.core.policy import Ahead, Gain
from diagnose.core.stage import Premises, Stage
from diagnose.model.gear import AT
from diagnose.model.knowledge import Check

MOST = {"technician": 6, "help_desk": 4}  # looks at once; a caller is read them out
LONGEST_MIN = 3.0  # a longer one is a step of its own
PAYS = 1.0  # minutes saved per minute

Place = tuple[str, ...]


def normal(check: Check) -> str:
    """The answer that says that all is as it should be; '' where there is none to choose."""
    states = iter(check.finding.states.values()) if check.finding else iter(())
    return next((option for option in next(states, ()) if option in check.options), "")


def beside(case: Premises, stage: Stage, ahead: Ahead, step: Next) -> tuple[str, ...]:
    """The checks that are looked at in one go with the next one, what promises most per minute first."""
    kb, done = case.kb, set(stage.done)
    first = kb.checks.get(step.check)
    if step.why not in ("pays", "tells") or first is None or not _a_look(first):
        return ()
    by_phone = case.setup.role == "help_desk"
    near = [
        g for g in ahead.best if g.option.check != first.id and _beside(kb.checks[g.option.check], first, by_phone)
    ]
    free = [g for g in near if not open_needs(kb, kb.checks[g.option.check], case.setup, stage.values, done)]
    worth = [g for g in free if _rate(g) > PAYS or g.bits / g.option.own > kb.settings.least_bits_per_minute]
    ranked = sorted(worth, key=lambda g: (-round(_rate(g), 9), g.option.check))
    return tuple(g.option.check for g in ranked[: MOST[case.setup.role] - 1])


def _rate(gain: Gain) -> float:
    return gain.value / gain.option.own


def _a_look(check: Check) -> bool:
    """Quick, by eye or from memory, and with an answer that says that all is well."""
    quick = check.minutes <= LONGEST_MIN and not (check.runs_gate or check.hazard or check.locked)
    return quick and check.kind == "choice" and bool(normal(check))


def _beside(check: Check, first: Check, by_phone: bool) -> bool:
    return _a_look(check) and _place(check, by_phone) == _place(first, by_phone)


def _place(check: Check, by_phone: bool) -> Place:
    """Where one stands for it: what is only asked is asked anywhere; else behind a cover, at a device, at the gate; a
    caller where the check says."""
    if check.lasts:
        return ("told", check.stand if by_phone else "")
    return (check.access, check.of, check.id.partition(AT)[2], check.stand if by_phone else "")
