"""Counts for the academy without names: no group of fewer than five students can be read off.

A group below the limit is not shown. In a grouping where every lesson falls into one group, the
hidden ones could be had by taking the shown from the whole; so the next smallest is hidden too
until those hidden together are two groups and five students or more (complementary suppression;
Willenborg, L., de Waal, T. (2001). Elements of Statistical Disclosure Control. Springer, chapter 6
[from memory]). Periods are whole years, so that two periods differing by a day cannot be compared.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reporter.archive.shelf import Shelf
from reporter.archive.store import Group, Grouping

LEAST_STUDENTS = 5
GROUPINGS: tuple[Grouping, ...] = (
    "coach", "fault", "drill", "club", "level", "age_band", "month",
)  # fmt: skip
ONE_GROUP_EACH: frozenset[Grouping] = frozenset({"coach", "level", "age_band", "month"})


@dataclass(frozen=True, slots=True)
class TotalRow:
    """A group that may be shown."""

    name: str
    students: int
    lessons: int


@dataclass(frozen=True, slots=True)
class Totals:
    """What may be told.

    Attributes
    ----------
    by : str
        What was counted by.
    rows : tuple of TotalRow
        Most lessons first.
    hidden_groups : int
        Groups that are not shown.
    students, lessons : int or None
        Of the whole; None where that may not be told either.
    """

    by: Grouping
    rows: tuple[TotalRow, ...]
    hidden_groups: int
    students: int | None
    lessons: int | None


def totals(shelf: Shelf, by: Grouping, year: int | None) -> Totals:
    """Return counts by group, of one year or of all time."""
    first, last = (f"{year:04d}-01-01", f"{year:04d}-12-31") if year is not None else ("", "")
    whole = shelf.store.groups("month", first, last)
    return suppressed(by, shelf.store.groups(by, first, last), whole)


def suppressed(by: Grouping, groups: Sequence[Group], whole: Sequence[Group]) -> Totals:
    """Return what may be told of groups; `whole` are groups that every lesson is in once."""
    ordered = sorted(groups, key=lambda one: (len(one.students), one.lessons, one.name))
    hidden = [one for one in ordered if len(one.students) < LEAST_STUDENTS]
    shown = [one for one in ordered if len(one.students) >= LEAST_STUDENTS]
    if by in ONE_GROUP_EACH:
        while hidden and shown and not _safe(hidden):
            hidden.append(shown.pop(0))
    everybody = frozenset[int]().union(*(one.students for one in whole))
    tellable = len(everybody) >= LEAST_STUDENTS and (
        by not in ONE_GROUP_EACH or not hidden or _safe(hidden)
    )
    rows = tuple(
        TotalRow(one.name or "(none written down)", len(one.students), one.lessons)
        for one in sorted(shown, key=lambda one: (-one.lessons, one.name))
    )
    return Totals(
        by,
        rows,
        len(hidden),
        len(everybody) if tellable else None,
        sum(one.lessons for one in whole) if tellable else None,
    )


def _safe(hidden: Sequence[Group]) -> bool:
    """Whether nothing of few students is told when what is hidden is had by subtraction."""
    together = frozenset[int]().union(*(one.students for one in hidden))
    return len(hidden) > 1 and len(together) >= LEAST_STUDENTS
