"""The complaint raised when a delivery, a launch or a shot table cannot be real."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

FloatArray: TypeAlias = npt.NDArray[np.float64]
Flags: TypeAlias = npt.NDArray[np.bool_]
Counts: TypeAlias = npt.NDArray[np.intp]
Numbers: TypeAlias = float | FloatArray


class ImpossibleDelivery(ValueError):
    """A delivery, launch or observation that no swing can produce.

    Parameters
    ----------
    complaints : iterable of str
        One sentence for each value at fault: its name, what was found, what is allowed.

    Attributes
    ----------
    complaints : tuple of str
        All sentences, in the order the values were checked.
    """

    def __init__(self, complaints: Iterable[str]) -> None:
        self.complaints = tuple(complaints)
        super().__init__("; ".join(self.complaints))


def refuse_outside(
    values: Mapping[str, Numbers | None], allowed: Mapping[str, tuple[float, float, str]]
) -> None:
    """Refuse every value that is not finite or lies outside its allowed range.

    Parameters
    ----------
    values : mapping of str to float, array or None
        Values by name; None means "not given" and passes.
    allowed : mapping of str to (low, high, unit)
        Inclusive range and unit by name.

    Raises
    ------
    ImpossibleDelivery
        With one sentence for each value at fault.
    """
    complaints = []
    for name, (low, high, unit) in allowed.items():
        value = values.get(name)
        if value is None:
            continue
        numbers = np.atleast_1d(np.asarray(value, dtype=np.float64))
        bad = ~np.isfinite(numbers) | (numbers < low) | (numbers > high)
        if bool(bad.any()):
            first = int(np.flatnonzero(bad)[0])
            where = f" (shot {first + 1})" if numbers.size > 1 else ""
            complaints.append(
                f"{name}{where} is {numbers.flat[first]:g} {unit}".rstrip()
                + f", allowed is {low:g} to {high:g} {unit}".rstrip()
            )
    if complaints:
        raise ImpossibleDelivery(complaints)


def refuse_topped(launch_deg: float, name: str) -> None:
    """Refuse a ball that starts level or downward: there is no flight to speak of."""
    if launch_deg <= 0.0:
        complaint = (
            f"{name} is {launch_deg:.3g} deg, a topped ball; only one that starts above the "
            "ground has a flight to compute"
        )
        raise ImpossibleDelivery([complaint])
