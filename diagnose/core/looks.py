"""What is looked at in one go: the next check, and others at the same place that are worth their minutes as well.

The policy chooses the first. The others are taken by what each promises alone, given what is known now: together they
tell at most the sum of that (information of several looks is never more than the sum of each alone where causes make
them independent: Krause & Guestrin, UAI 2005), so a bundle is never better than it looks; it saves the walk.
"""

from diagnose.core.asking import Next, open_needs
from diagnose.core.policy import Ahead, Gain
from diagnose.core.stage import Premises, Stage
from diagnose.model.gear import AT
from diagnose.model.knowledge import Check, KnowledgeBase

MOST = {"technician": 6, "help_desk": 4}  # looks at once; a caller is read them out
LONGEST_MIN = 3.0  # a longer one is a step of its own
PAYS = 1.0  # minutes saved per minute

Place = tuple[str, ...]


def normal(check: Check) -> str:
    """The answer that says that all is as it should be; '' where there is none to choose."""
    states = iter(check.finding.states.values()) if check.finding else iter(())
    return next((option for option in next(states, ()) if option in check.options), "")


def beside(case: Premises, stage: Stage, ahead: Ahead, step: Next) -> tuple[str, ...]:
    """The checks that are done in one go with the next one: looks at one place, what promises most per minute first;
    or what else has to be known for a measurement, then the measurement."""
    kb, done = case.kb, set(stage.done)
    first = kb.checks.get(step.check)
    if step.why == "needed" and step.gain:
        return _with_needs(case, stage, kb.checks[step.gain.option.check])
    if step.why not in ("pays", "tells") or first is None or not _a_look(first):
        return ()
    others = (g for g in ahead.best if g.option.check != first.id)
    near = [g for g in others if _beside(case, kb.checks[g.option.check], first)]
    free = [g for g in near if not open_needs(kb, kb.checks[g.option.check], case.setup, stage.values, done)]
    worth = [g for g in free if _rate(g) > PAYS or g.bits / g.option.own > kb.settings.least_bits_per_minute]
    ranked = sorted(worth, key=lambda g: (-round(_rate(g), 9), g.option.check))
    return tuple(g.option.check for g in ranked[: MOST[case.setup.role] - 1])


def _with_needs(case: Premises, stage: Stage, wanted: Check) -> tuple[str, ...]:
    """What else is needed for the check that is wanted, and itself where nothing can move or be touched at it."""
    needs = open_needs(case.kb, wanted, case.setup, stage.values, set(stage.done))
    return (*needs[1:], *(() if _careful(wanted) else (wanted.id,)))


def _rate(gain: Gain) -> float:
    return gain.value / gain.option.own


def _a_look(check: Check) -> bool:
    """Quick, by eye or from memory, and with an answer that says that all is well."""
    quick = check.minutes <= LONGEST_MIN and not _careful(check)
    return quick and check.kind == "choice" and bool(normal(check))


def _careful(check: Check) -> bool:
    """It has cautions of its own to be read before it, and is done alone."""
    return bool(check.runs_gate or check.hazard or check.locked)


def _beside(case: Premises, check: Check, first: Check) -> bool:
    by_phone = case.setup.role == "help_desk"
    return _a_look(check) and _place(case.kb, check, by_phone) == _place(case.kb, first, by_phone)


def _place(kb: KnowledgeBase, check: Check, by_phone: bool) -> Place:
    """Where one stands for it: a caller where the check says; what is only asked is asked anywhere; others at the
    gate with all its devices, or behind a cover: one for the site, or one of each device."""
    if by_phone and check.stand:
        return ("caller", check.stand)
    if check.lasts:
        return ("told",)
    each = check.access in kb.access and kb.access[check.access].each_device
    return (check.access, check.id.partition(AT)[2] if each else "")
