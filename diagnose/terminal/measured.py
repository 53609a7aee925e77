"""`diagnose measure`: runs simulated visits with a progress bar and draws the figures."""

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.progress import track

from diagnose.measure.figures import Figures, confusions, figures, run
from diagnose.measure.policies import POLICIES
from diagnose.measure.simulate import Outcome
from diagnose.model.knowledge import KnowledgeBase
from diagnose.model.visit import Setup
from diagnose.terminal.screen import Screen


def measure(
    kb: KnowledgeBase, setup: Setup, cases: int, seed: int, processes: int, policies: Sequence[str]
) -> dict[str, list[Outcome]]:
    """Outcomes per policy, all on the same hidden faults."""
    return {name: list(_tracked(name, cases, run(kb, setup, name, cases, seed, processes))) for name in policies}


def _tracked(name: str, cases: int, outcomes: Iterator[Outcome]) -> Iterator[Outcome]:
    yield from track(outcomes, f"{name:20}", cases, console=Console(stderr=True), transient=True)


def draw_figures(screen: Screen, kb: KnowledgeBase, results: dict[str, list[Outcome]]) -> None:
    """One block per policy, then what the tool confuses."""
    base = figures(results["fixed order"]).minutes if "fixed order" in results else None
    for name, outcomes in results.items():
        screen.heading(name)
        _draw(screen, figures(outcomes), base)
    screen.heading("Most confused (true cause, cause put first instead)")
    for (true, said), times in confusions(results[next(iter(POLICIES))]):
        screen.hanging(f"{times:4d}  ", f"{kb.causes[true].says} -> {kb.causes[said].says}")
    screen.line()
    screen.line("Drawn from the knowledge base's own model: says how good the tool is if its knowledge is right.")


def _draw(screen: Screen, found: Figures, base: float | None) -> None:
    share = f" ({found.minutes / base:.0%} of fixed order)" if base else ""
    rows = {
        "visits": f"{found.cases}",
        "true cause first": f"{found.first:.1%}",
        "within the first three": f"{found.first_three:.1%}",
        "listed single faults first / first three": f"{found.listed_first:.1%} / {found.listed_three:.1%}",
        "two faults: one of them first": f"{found.first_of_pairs:.1%}",
        "checks": f"{found.checks:.1f} (entropy bound {found.least_checks:.1f})",
        "minutes of checks": f"{found.check_minutes:.0f}",
        "minutes to mended": f"{found.minutes:.0f}{share}",
        "calibration error": f"{found.calibration_error:.3f}",
    }
    for label, text in rows.items():
        screen.pair(label, text)
