"""What a count in a sample allows to be said about the share behind it."""

from __future__ import annotations

from itertools import count
from math import exp, hypot, lgamma, log, log1p

CONFIDENCE = 0.95

Interval = tuple[float, float]
"""Lower and upper end."""

# Relative change at which bisection and the continued fraction stop: the grain of a float.
_PRECISION = 4e-16


def rule_of_three(trials: int) -> float:
    """Upper 95 % bound (one-sided) of a share of which no case was seen in `trials`.

    3 / n, from -ln 0.05 = 2.996; good from some thirty trials on (Hanley and
    Lippman-Hand, JAMA 249, 1983, p. 1743; Eypasch et al., BMJ 311, 1995, p. 619).
    """
    return min(3.0 / trials, 1.0)


def clopper_pearson(cases: int, trials: int, confidence: float = CONFIDENCE) -> Interval:
    """Exact two-sided interval of a share of which `cases` were seen in `trials`.

    Clopper and Pearson (Biometrika 26, 1934, p. 404): the bounds are quantiles of the
    beta distribution, B(a/2; k, n-k+1) and B(1-a/2; k+1, n-k).
    Raises ValueError unless 0 <= cases <= trials and trials > 0.
    """
    if not 0 <= cases <= trials or trials == 0:
        raise ValueError(f"cases must be 0 to trials and trials above 0, got {cases} of {trials}")
    tail = (1.0 - confidence) / 2.0
    lower = _beta_quantile(tail, cases, trials - cases + 1) if cases else 0.0
    upper = _beta_quantile(1.0 - tail, cases + 1, trials - cases) if cases < trials else 1.0
    return lower, upper


def difference_interval(one: tuple[float, Interval], other: tuple[float, Interval]) -> Interval:
    """Interval of a difference, first minus second, from each side's value and interval.

    The distances from value to bound are squared and added: Newcombe, Statistics in
    Medicine 17, 1998, p. 873, method 10, there with Wilson's intervals of two shares.
    """
    (a, (a_lower, a_upper)), (b, (b_lower, b_upper)) = one, other
    return (
        a - b - hypot(a - min(a_lower, a), max(b_upper, b) - b),
        a - b + hypot(max(a_upper, a) - a, b - min(b_lower, b)),
    )


def _beta_quantile(share: float, a: float, b: float) -> float:
    """Point below which `share` of the beta distribution lies, by bisection.

    Bisection halves the bracket until floats end; the distribution function rises
    strictly, so the answer is good to the last digits whatever a and b are.
    """
    low, high = 0.0, 1.0
    while True:
        middle = (low + high) / 2.0
        if not low < middle < high or high - low < _PRECISION * middle:
            return middle
        if _beta_share(middle, a, b) < share:
            low = middle
        else:
            high = middle


def _beta_share(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function I_x(a, b) for 0 < x < 1.

    DLMF 8.17.22: the prefactor x^a (1-x)^b / (a B(a, b)) over a continued fraction that
    converges fast for x < (a+1)/(a+b+2), evaluated forwards by Lentz's method (Applied
    Optics 15, 1976, p. 668). The other side by 8.17.4, I_x(a, b) = 1 - I_{1-x}(b, a).
    """
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_share(1.0 - x, b, a)
    log_front = lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)
    fraction, upper, lower = 1.0, 1.0, 0.0
    for step in count(1):
        half = step // 2
        if step % 2:
            term = -(a + half) * (a + b + half) / ((a + step - 1) * (a + step)) * x
        else:
            term = half * (b - half) / ((a + step - 1) * (a + step)) * x
        lower = 1.0 / (1.0 + term * lower)
        upper = 1.0 + term / upper
        fraction *= upper * lower
        if abs(upper * lower - 1.0) < _PRECISION:
            break
    return exp(log_front) / (a * fraction)
