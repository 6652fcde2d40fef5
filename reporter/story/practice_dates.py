"""On which days to practise between two lessons, counted in days from the first."""

FIRST_VISIT_DAY = 1
LEAST_STEP_DAYS = 2
"""Visits are two days apart or more: one whole day free between."""
STEP_GROWTH = 1.15
"""Each spare share of a step is this much longer than the one before; a plain choice.

Practice spread over days is kept better than practice in one lump (Shea and others 2000, Human
Movement Science 19:737; Dail and Christina 2004, RQES 75:148); the rate of growth has no source.
"""
COMING_WEEK_DAYS = 7


def visit_days(days_until_lesson: int, visits_per_week: int) -> tuple[int, ...]:
    """Return the days of practice, counted from the lesson day.

    Parameters
    ----------
    days_until_lesson : int
        Days from this lesson to the next [d], 1 or more.
    visits_per_week : int
        How often the student can practise, on average.

    Returns
    -------
    tuple of int
        Growing. With two visits or more the first is day 1, the last the day before the next
        lesson, and two visits are never less than two days apart.

    Notes
    -----
    Each step is two days and a share of the days to spare; the shares grow by `STEP_GROWTH`.
    Running sums are rounded to whole days. Since each unrounded step is two days or more, so is
    each rounded one.
    """
    last = days_until_lesson - 1
    if last < FIRST_VISIT_DAY + LEAST_STEP_DAYS:
        return (max(last, 0),)
    span = last - FIRST_VISIT_DAY
    wanted = round(visits_per_week * days_until_lesson / 7)
    if wanted < 2 and visits_per_week == 1 and days_until_lesson <= COMING_WEEK_DAYS:
        return (FIRST_VISIT_DAY + 1,)
    steps = min(max(wanted, 2), 1 + span // LEAST_STEP_DAYS) - 1
    spare = span - LEAST_STEP_DAYS * steps
    shares = [STEP_GROWTH**number for number in range(steps)]
    done = [sum(shares[:number]) / sum(shares) for number in range(steps + 1)]
    return tuple(
        FIRST_VISIT_DAY + round(LEAST_STEP_DAYS * number + spare * part)
        for number, part in enumerate(done)
    )
