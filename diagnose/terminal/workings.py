"""Draws how the leading cause came to lead: weights of evidence that add up, and the rules down to the answers."""

from diagnose.core.reason import Conclusion, Reasoner
from diagnose.session.state import Session
from diagnose.session.summary import state_says, summarise
from diagnose.terminal.screen import Screen

SMALLEST_SHOWN = 0.05  # decibans; anything less would read 0.0


def draw_weights(screen: Screen, reasoner: Reasoner, session: Session, conclusion: Conclusion) -> None:
    """Weights of evidence of the leader against its runner-up, in the order asked."""
    kb, summary = reasoner.kb, summarise(reasoner, session, conclusion)
    leader = summary.ranked[0]
    screen.heading("How the leader came to lead")
    screen.line(f"{leader.cause.says} against {kb.causes[leader.rival].says}, in decibans (10 dB = ten to one):")
    screen.hanging(f"{leader.start.decibans:+6.1f} dB  ", "how common they are, and the complaint")
    by_order = {w.finding: w for w in leader.evidence if abs(w.decibans) >= SMALLEST_SHOWN}
    for seen in (o for o in conclusion.observations if o.finding in by_order):
        rule = f" (settled by rule: {kb.rules[seen.settled_by].says})" if seen.settled_by else ""
        says = f"{kb.findings[seen.finding].says}: {state_says(kb, seen.finding, seen.state)}"
        screen.hanging(f"{by_order[seen.finding].decibans:+6.1f} dB  ", says + rule)
    total = leader.start.decibans + sum(w.decibans for w in leader.evidence)
    screen.hanging(f"{total:+6.1f} dB  ", "in all")


def draw_rules(screen: Screen, reasoner: Reasoner, conclusion: Conclusion) -> None:
    """Every calculation and every rule that fired, with the facts that made it fire and its source."""
    kb = reasoner.kb
    screen.heading("Calculations and rules")
    if not conclusion.known.outcomes and not conclusion.after.firings:
        screen.line("None so far.")
    for outcome in conclusion.known.outcomes.values():
        screen.hanging("Computed: ", outcome.says)
    for firing in conclusion.after.firings:
        because = ", ".join(f"{name} = {value}" for name, value in firing.premises)
        source = kb.sources[kb.rules[firing.rule].source].cite
        screen.hanging("Rule: ", f"{kb.rules[firing.rule].says} Because {because}. [{source}]")
