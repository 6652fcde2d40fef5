"""How large a change must be to be called one, where several measures are spoken of together.

Of one measure alone, "changed" is said of nothing 5 times in 100. Of ten, each judged by itself,
at least one would be called changed on 40 pages of 100 on which nothing did.
"""

import math
from functools import cache

FOR_ONE_MEASURE = 1.96
"""Two-sided 95 % point of the normal distribution: a claim about one measure."""

TOGETHER = 0.95
"""How often nothing at all is called changed where nothing did."""

STEP, STEPS = 0.05, 300
"""Of the sum over the characteristic function, which has died away at 15."""

FARTHEST = 40.0
"""No limit lies beyond it [standard errors]."""


@cache
def limit_among(count: int) -> float:
    """Return how many standard errors a change must exceed among so many measures.

    Notes
    -----
    Each of n independent claims may be wrong 1 - 0.95 ** (1 / n) times, so that all hold together
    with 95 % (Sidak 1967, JASA 62:626). Measures of one picture share points; that makes wrong
    claims fall together, and pages with any of them fewer.
    """
    if count <= 1:
        return FOR_ONE_MEASURE
    wrong = 1.0 - TOGETHER ** (1.0 / count)
    low, high = FOR_ONE_MEASURE, FARTHEST
    while high - low > 1e-4:
        middle = (low + high) / 2.0
        low, high = (middle, high) if share_beyond(middle) > wrong else (low, middle)
    return high


def share_beyond(limit: float) -> float:
    """Return how often the error of a change exceeds so many standard errors, either way.

    Notes
    -----
    A change is made of four clicks or more, two ends on two pictures, and clicks have heavier
    tails than the normal distribution: Student's with 5 degrees of freedom is assumed. Its
    characteristic function is exp(-a)(1 + a + a^2 / 3) with a = sqrt(5)|t|; that of the sum of
    four, divided by its standard deviation, is the fourth power with a = sqrt(3)|t| / 2, and the
    share follows by inversion (Gil-Pelaez 1951, Biometrika 38:481; both from memory).
    """
    total = limit / 2.0
    for number in range(1, STEPS):
        place = number * STEP
        a = math.sqrt(3.0) / 2.0 * place
        total += math.sin(limit * place) / place * (math.exp(-a) * (1.0 + a + a * a / 3.0)) ** 4
    return 1.0 - 2.0 / math.pi * STEP * total
