"""The planner: dates, order and budgets, over many random spans."""

import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import get_args

import pytest
import yaml
from hypothesis import example, given, settings
from hypothesis import strategies as st

from reporter.story import practice_plan
from reporter.story.drills import Drill, load_drills
from reporter.story.practice_dates import visit_days
from reporter.story.practice_plan import (
    Level,
    Order,
    PlanError,
    PracticePlan,
    plan_visits,
)

DATA = Path(practice_plan.__file__).parent / "data" / "drills.yaml"
DRILLS = load_drills(yaml.load(DATA.read_bytes(), Loader=yaml.BaseLoader))
BY_ID = {drill.id: drill for drill in DRILLS}
THREE = (BY_ID["start-line-gate"], BY_ID["headcover-outside"], BY_ID["tempo-count"])
MONDAY = datetime.date(2027, 5, 3)
DAY = datetime.timedelta(days=1)


def make(
    gap: int | None,
    per_week: int = 3,
    level: Level = "improving",
    minutes: int | None = 45,
    balls: int | None = 60,
    drills: tuple[Drill, ...] = THREE,
    start: datetime.date = MONDAY,
    **more: object,
) -> PracticePlan:
    following = None if gap is None else start + gap * DAY
    return plan_visits(start, following, per_week, level, minutes, balls, drills, **more)  # type: ignore[arg-type]


# Days worked out by hand when the rule was chosen: first within two days, last the day before the
# next lesson, never less than two days apart, steps growing slowly.
@pytest.mark.parametrize(
    ("per_week", "gap", "days"),
    [
        (3, 7, (1, 3, 6)),
        (3, 10, (1, 4, 6, 9)),
        (3, 14, (1, 3, 6, 8, 10, 13)),
        (3, 21, (1, 3, 5, 8, 10, 12, 15, 17, 20)),
        (2, 14, (1, 5, 9, 13)),
        (2, 28, (1, 4, 7, 11, 14, 18, 22, 27)),
    ],
)
def test_days_of_practice(per_week: int, gap: int, days: tuple[int, ...]) -> None:
    assert visit_days(gap, per_week) == days


def test_two_days_apart_for_every_span_and_rate() -> None:
    for gap in range(1, 400):
        for per_week in range(1, 8):
            days = visit_days(gap, per_week)
            assert all(b - a >= 2 for a, b in zip(days, days[1:], strict=False)), (gap, per_week)
            assert 0 <= days[0] <= 2
            assert days[-1] < gap
            if gap >= 4 and not (per_week == 1 and gap <= 7):
                assert (days[0], days[-1]) == (1, gap - 1)
                assert abs(len(days) - per_week * gap / 7) <= 1.5 or len(days) == gap // 2


spans = st.one_of(st.none(), st.integers(1, 120))
starts = st.dates(datetime.date(2023, 1, 1), datetime.date(2032, 12, 31))


@settings(max_examples=700, deadline=None, derandomize=True)
@given(
    start=starts,
    gap=spans,
    per_week=st.integers(1, 7),
    level=st.sampled_from(get_args(Level)),
    minutes=st.one_of(st.none(), st.integers(5, 240)),
    balls=st.one_of(st.none(), st.integers(0, 300)),
    picked=st.lists(st.sampled_from(DRILLS), max_size=5, unique_by=lambda drill: drill.id),
    junior=st.booleans(),
    test=st.integers(1, 50),
)
@example(MONDAY, 4, 7, "competing", 5, 0, [], False, 10)
@example(MONDAY, 1, 1, "new", 240, 300, list(DRILLS), True, 50)
def test_every_rule_holds_for_random_lessons(
    start: datetime.date,
    gap: int | None,
    per_week: int,
    level: Level,
    minutes: int | None,
    balls: int | None,
    picked: list[Drill],
    junior: bool,
    test: int,
) -> None:
    plan = make(gap, per_week, level, minutes, balls, tuple(picked), start,
                junior=junior, cold_test_balls=test)  # fmt: skip
    notes = {note.id for note in plan.notes}
    dates = [visit.date for visit in plan.visits]
    assert dates
    assert dates == sorted(set(dates))
    assert dates[0] - start <= 2 * DAY
    assert all(b - a >= 2 * DAY for a, b in zip(dates, dates[1:], strict=False))
    if plan.next_lesson is None:
        assert "plan-no-date" in notes
        assert dates[-1] - start < 7 * DAY
    elif len(dates) == 1:
        assert notes & {"plan-too-short", "plan-one-visit"}
        assert dates[0] < plan.next_lesson
    else:
        assert dates[-1] == plan.next_lesson - DAY
    order_rank = {"blocked": 0, "in-turn": 1, "mixed": 2}
    ranks = [order_rank[visit.order] for visit in plan.visits]
    assert ranks == sorted(ranks)
    if junior or level in ("new", "improving"):
        assert ranks[0] == 0
    for number, visit in enumerate(plan.visits, 1):
        assert visit.number == number
        assert visit.minutes <= (45 if minutes is None else minutes)
        assert visit.balls <= (60 if balls is None else balls)
        kinds = [part.kind for part in visit.parts]
        assert kinds[0] == "warm-up"
        assert 5 <= visit.parts[0].minutes <= 8
        assert visit.parts[0].balls == 0
        with_balls = [part.kind for part in visit.parts if part.balls]
        assert with_balls[:1] in ([], ["cold-test"])
        assert kinds.count("cold-test") == bool(with_balls)
        assert ("plan-no-test" in notes) == (not with_balls)
        for part in visit.parts:
            assert part.minutes > 0
            if part.kind == "drill":
                assert part.drill is not None
                drill = BY_ID[part.drill]
                assert 1 <= part.sets <= drill.tally.sets
                assert part.balls == (part.sets * drill.tally.of if drill.balls else 0)


@pytest.mark.parametrize(
    ("start", "gap", "expected"),
    [
        # Calendar facts: 2028 is a leap year, 2027 is not; January has 31 days.
        (datetime.date(2028, 2, 27), 4, ["2028-02-28", "2028-03-01"]),
        (datetime.date(2027, 2, 27), 4, ["2027-02-28", "2027-03-02"]),
        (datetime.date(2027, 12, 30), 7, ["2027-12-31", "2028-01-02", "2028-01-05"]),
        (datetime.date(2027, 1, 30), 7, ["2027-01-31", "2027-02-02", "2027-02-05"]),
        (datetime.date(2100, 2, 27), 4, ["2100-02-28", "2100-03-02"]),
        # Clocks change in Europe on 28 March and 31 October 2027, in the USA on 14 March.
        (datetime.date(2027, 3, 27), 7, ["2027-03-28", "2027-03-30", "2027-04-02"]),
        (datetime.date(2027, 10, 30), 7, ["2027-10-31", "2027-11-02", "2027-11-05"]),
        (datetime.date(2027, 3, 13), 7, ["2027-03-14", "2027-03-16", "2027-03-19"]),
    ],
)
def test_dates_across_month_ends_leap_days_and_clock_changes(
    start: datetime.date, gap: int, expected: list[str]
) -> None:
    plan = make(gap, start=start)
    assert [visit.date.isoformat() for visit in plan.visits] == expected


@pytest.mark.parametrize(("gap", "day"), [(1, 0), (2, 1), (3, 2)])
def test_a_span_too_short_gets_one_visit_and_says_why(gap: int, day: int) -> None:
    plan = make(gap)
    assert [visit.date for visit in plan.visits] == [MONDAY + day * DAY]
    assert "plan-too-short" in {note.id for note in plan.notes}
    assert "free day" in next(note.message for note in plan.notes if note.id == "plan-too-short")


def test_without_a_next_lesson_three_visits_in_the_coming_week() -> None:
    plan = make(None)
    assert [(visit.date - MONDAY).days for visit in plan.visits] == [1, 3, 6]
    assert plan.retention_date is None
    assert "No date" in plan.notes[0].message


def test_one_visit_a_week_is_respected() -> None:
    plan = make(6, per_week=1)
    assert len(plan.visits) == 1
    assert {note.id for note in plan.notes} == {"plan-one-visit"}
    assert len(make(28, per_week=1).visits) == 4


def test_far_next_lesson_gets_a_check_half_way() -> None:
    assert make(14).halfway is None
    plan = make(28)
    assert plan.halfway == MONDAY + 14 * DAY
    assert "plan-halfway" in {note.id for note in plan.notes}


@pytest.mark.parametrize(
    ("level", "junior", "first", "last"),
    [
        ("new", False, "blocked", "in-turn"),
        ("improving", False, "blocked", "mixed"),
        ("experienced", False, "in-turn", "mixed"),
        ("competing", False, "in-turn", "mixed"),
        ("competing", True, "blocked", "in-turn"),
    ],
)
def test_practice_goes_from_blocked_to_mixed_by_level(
    level: Level, junior: bool, first: Order, last: Order
) -> None:
    visits = make(21, level=level, junior=junior).visits
    assert (visits[0].order, visits[-1].order) == (first, last)


def test_a_full_visit_holds_the_whole_dose() -> None:
    visit = make(14, minutes=90, balls=120).visits[0]
    assert [part.kind for part in visit.parts] == ["warm-up", "cold-test", *["drill"] * 3]
    assert [part.sets for part in visit.parts[2:]] == [3, 3, 2]
    assert visit.balls == 10 + 30 + 18


def test_small_budgets_give_each_drill_a_set_before_any_gets_two() -> None:
    # By hand: 6 minutes of movement and 5 for ten test balls leave 19 minutes and 26 balls. One
    # set of each is 5 + 4 + 3 minutes and 16 balls; a second set at the gate makes it 26 balls.
    visit = make(14, minutes=30, balls=36).visits[0]
    sets = [part.sets for part in visit.parts if part.kind == "drill"]
    assert sets == [2, 1, 2]
    # With 25 minutes there are 15 left: the gate's second set does not fit, the headcover's does.
    visit = make(14, minutes=25, balls=36).visits[0]
    assert [part.sets for part in visit.parts if part.kind == "drill"] == [1, 2, 1]


def test_drills_that_do_not_fit_together_take_turns() -> None:
    plan = make(14, minutes=20, balls=22)
    assert "plan-take-turns" in {note.id for note in plan.notes}
    used = {part.drill for visit in plan.visits for part in visit.parts if part.drill}
    assert used == {drill.id for drill in THREE}


def test_without_balls_only_drills_without_balls_are_planned() -> None:
    plan = make(14, balls=0)
    assert {note.id for note in plan.notes} >= {"plan-no-test", "plan-drill-left-out"}
    kinds = {(part.kind, part.drill) for part in plan.visits[0].parts}
    assert kinds == {("warm-up", None), ("drill", "tempo-count")}
    message = next(note.message for note in plan.notes if note.id == "plan-drill-left-out")
    assert "Start through the gate" in message
    assert "Strike on the count" not in message


def test_the_last_visits_end_with_play_where_there_is_room() -> None:
    plan = make(21, level="competing", minutes=120, balls=150)
    assert plan.visits[-1].parts[-1].kind == "play"
    assert plan.visits[0].parts[-1].kind == "drill"


def test_equipment_is_listed_once() -> None:
    twice = (BY_ID["headcover-outside"], BY_ID["headcover-inside"])
    assert make(14, drills=twice).equipment == ("headcover",)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"gap": 0}, "after this one"),
        ({"gap": -3}, "after this one"),
        ({"gap": 7, "per_week": 0}, "1 to 7"),
        ({"gap": 7, "minutes": 0}, "5 minutes or more"),
        ({"gap": 7, "balls": -1}, "0 or more"),
        ({"gap": 7, "cold_test_balls": 0}, "cold test"),
    ],
)
def test_plans_that_make_no_sense_are_refused(arguments: dict[str, int], words: str) -> None:
    with pytest.raises(PlanError, match=words):
        make(**arguments)


def test_everything_wrong_is_named_at_once() -> None:
    with pytest.raises(PlanError) as caught:
        make(-1, per_week=9, minutes=0, balls=-5)
    assert str(caught.value).count(";") == 3


def test_a_plan_needs_nothing_of_a_drill_but_its_dose() -> None:
    # An academy's own kind of drill will do, as long as it tells its dose.
    own = SimpleNamespace(id="own", name="Own", minutes=4, balls=True, equipment=("rope",),
                          tally=SimpleNamespace(sets=2, of=5))  # fmt: skip
    plan = make(14, drills=(own,))  # type: ignore[arg-type]
    assert plan.equipment == ("rope",)
    assert plan.visits[0].balls == 20
