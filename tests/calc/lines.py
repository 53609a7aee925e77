"""Works out a calculator from one line as typed after `diagnose calc`."""

from diagnose.calc.calculator import WorkedOut
from diagnose.calc.work import find, split, work


def worked(line: str) -> WorkedOut:
    """The calculation of 'NAME name=value ...'."""
    name, *words = line.split()
    calculator = find(name)
    return work(calculator, split(calculator, words))


def results(line: str) -> dict[str, str]:
    """Its results by label."""
    return dict(worked(line).results)
