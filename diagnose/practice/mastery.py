"""How well a trainee masters something, with its uncertainty: a Beta distribution that every exercise moves.

Start uniform, Beta(1, 1); an exercise of success s (0..1) adds s to a and 1 - s to b (a fractional count).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, lgamma, log, log1p

GOOD = 0.7  # success from which an exercise counts as done well; judgement
LONGEST_DAYS = 64
INTERVAL = 0.9  # probability inside the interval that is shown


@dataclass(frozen=True, slots=True)
class Mastery:
    """Beta(a, b); `last` is the day number of the last exercise (0: never), `streak` how many went well in a row."""

    a: float = 1.0
    b: float = 1.0
    last: int = 0
    streak: int = 0

    @property
    def mean(self) -> float:
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Standard deviation."""
        return float((self.mean * (1.0 - self.mean) / (self.a + self.b + 1.0)) ** 0.5)

    @property
    def seen(self) -> float:
        """Exercises that went into it."""
        return self.a + self.b - 2.0

    def interval(self, inside: float = INTERVAL) -> tuple[float, float]:
        """Equal-tailed credible interval."""
        tail = (1.0 - inside) / 2.0
        return beta_quantile(tail, self.a, self.b), beta_quantile(1.0 - tail, self.a, self.b)

    def after(self, success: float, day: int) -> "Mastery":
        """With one more exercise of this success, 0..1. Raises ValueError outside."""
        if not 0.0 <= success <= 1.0:
            raise ValueError(success)
        streak = self.streak + 1 if success >= GOOD else 0
        return Mastery(self.a + success, self.b + 1.0 - success, max(day, self.last), streak)

    def due(self) -> int:
        """The day number it should come back: twice as long after every exercise that went well."""
        return self.last + min(2**self.streak, LONGEST_DAYS) if self.last else 0


def beta_cdf(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function, by its continued fraction (Lentz; Abramowitz & Stegun 26.5.8)."""
    if x <= 0.0 or x >= 1.0:
        return float(x >= 1.0)
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - beta_cdf(1.0 - x, b, a)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    return front / _fraction(x, a, b)


def _fraction(x: float, a: float, b: float) -> float:
    """1 + d1/(1 + d2/(1 + ...)), modified Lentz."""
    tiny = 1e-300
    value = ratio = 1.0
    inverse = 0.0
    for step in range(1, 500):
        m = step // 2
        if step % 2:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        inverse = 1.0 / ((1.0 + term * inverse) or tiny)
        ratio = (1.0 + term / ratio) or tiny
        value *= ratio * inverse
        if abs(ratio * inverse - 1.0) < 1e-15:
            break
    return value


def beta_quantile(p: float, a: float, b: float) -> float:
    """The x with beta_cdf(x) = p, by bisection."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (middle, high) if beta_cdf(middle, a, b) < p else (low, middle)
    return (low + high) / 2.0


def next_family(masteries: Mapping[str, Mastery], families: Sequence[str], day: int) -> str:
    """What to practise: of the families that are due, the one whose lower bound is lowest; nothing due: the next due.

    A family never practised is due at once.
    """
    known = {f: masteries.get(f, Mastery()) for f in families}
    due = [f for f in families if known[f].due() <= day]
    if due:
        return min(due, key=lambda f: (known[f].interval()[0], known[f].last, families.index(f)))
    return min(families, key=lambda f: (known[f].due(), known[f].mean), default="")
