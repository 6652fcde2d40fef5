"""Printed 95 % bands hold the truth 95 times in 100: the small form of the long simulation.

`python -m tests.flight.simulate_coverage` counts 5000 cases; its results stand in docs/physics.md.
"""

import numpy as np
import pytest
from scipy import stats
from simulate_coverage import CHECKED, CLUBS, simulate

CASES = 100


@pytest.mark.parametrize("other", [False, True], ids=["stated spreads", "other balls and air"])
def test_bands_hold_their_share(other):
    counts = simulate(CASES, 3, other_balls=other)
    shares = []
    for name in CHECKED:
        held, asked = np.sum([counts[club, name] for club in CLUBS], axis=0)
        # Once in a thousand a band that truly holds 94 to 96 % falls outside these limits.
        least, most = stats.binom.ppf(0.0005, asked, 0.94), stats.binom.ppf(0.9995, asked, 0.96)
        assert least <= held <= most, name
        shares.append(held / asked)
    # All of them together say more: a band of 90 or of 99 % lies outside.
    assert 0.925 <= np.mean(shares) <= 0.975
