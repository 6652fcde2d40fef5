"""The page on a table of shots: complete, legible and clear, however many shots there are."""

import math
import re

import numpy as np
import pytest

from reporter.errors import InputRefusedError
from reporter.session.load import load_text
from reporter.typeset.boxes import Disc, Path, all_boxes, all_elements
from tests.conftest import pages_of
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

LESSON = """\
student: {{plays: {hand}, units: {units}}}
seen: {{club: {club}, head_speed: 93 mph, how: measured, shots: shots.csv}}
wanted: {{start: 1 deg left, bend: 4 m right{fairway}}}
thoughts: [Keep your buttons behind the ball.]
drills: [start-line-gate]
"""
HEADER = "start_deg,offline_m,carry_m"
GENERATOR = 20270413
"""Seed of the invented shots."""


def table(count, middle=12.0, spread=12.0, carry=174.0):
    """Return rows of invented shots: start [deg], offset [m], carry [m]."""
    random = np.random.default_rng(GENERATOR + count)
    offsets = random.normal(middle, spread, count)
    starts = -2.0 + 0.1 * (offsets - middle) + random.normal(0, 1.6, count)
    carries = random.normal(carry, 9.0, count)
    return np.column_stack([starts, offsets, carries]).round(1)


def two_way(count, gap=60.0):
    """Return shots half to the left and half to the right."""
    rows = table(count, 0.0, 5.0)
    rows[::2, 1] -= gap / 2
    rows[1::2, 1] += gap / 2
    return rows


def as_csv(rows, header=HEADER):
    return "\n".join([header, *(",".join(f"{value:g}" for value in row) for row in rows)]) + "\n"


def lesson(folder, csv, *, club="driver", hand="right", units="metres", fairway="30 m"):
    """Return a loaded lesson with a table of shots."""
    (folder / "shots.csv").write_text(csv, encoding="utf-8")
    width = f", fairway_width: {fairway}" if fairway else ""
    text = LESSON.format(club=club, hand=hand, units=units, fairway=width)
    return load_text(text.encode(), folder / "session.yaml")


def pattern_page(pages):
    return next((page for page in pages if page.title == "Your pattern"), None)


def words_of(page):
    return " ".join(box.text for box in text_boxes(page)).replace("\N{NO-BREAK SPACE}", " ")


def keeps_the_house_rules(pages):
    assert 3 <= len(pages) <= 8
    for page in pages:
        assert not outside(page), page.title
        assert not overlapping_texts(page), page.title
        assert not too_small(page), page.title


IDENTICAL = np.tile([-2.0, 15.0, 174.0], (12, 1))
ONE_TOPPED = np.vstack([table(20), [0.5, 1.0, 22.0]])
ONE_WILD = np.vstack([table(20), [18.0, 110.0, 160.0]])
FAR_AND_WIDE = np.array([[-9, -120, 150], [8, 130, 160], [0, 2, 240], [2, -60, 90], [1, 40, 200]])
TABLES = {
    "1 shot": table(1),
    "2 shots": table(2),
    "5 shots": table(5),
    "9 shots": table(9),
    "12 shots": table(12),
    "60 shots": table(60),
    "identical": IDENTICAL,
    "two-way": two_way(40),
    "two-way, few": two_way(12),
    "one topped": ONE_TOPPED,
    "one wild": ONE_WILD,
    "far and wide": FAR_AND_WIDE,
    "all left": table(20, -40.0, 8.0),
    "tight": table(30, 0.5, 2.0),
    "450 shots": table(450),
}


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", TABLES)
def test_pages_keep_the_house_rules(tmp_path, name, paper):
    pages = pages_of(lesson(tmp_path, as_csv(TABLES[name])), paper=paper)
    keeps_the_house_rules(pages)
    assert sum(page.title == "Your pattern" for page in pages) == 1


@pytest.mark.parametrize("rows", [table(1), table(12), table(60)], ids=["1", "12", "60"])
@pytest.mark.parametrize(
    "options",
    [
        {"hand": "left", "units": "yards"},
        {"fairway": None},
        {"club": "7-iron"},
        {"club": "sand wedge", "fairway": "12 m"},
    ],
    ids=["left-hander in yards", "no fairway", "7-iron", "wedge"],
)
def test_other_lessons_keep_the_house_rules(tmp_path, options, rows):
    keeps_the_house_rules(pages_of(lesson(tmp_path, as_csv(rows), **options)))


COLUMNS = {"no carry": (0, 1), "only landing": (1,), "no start": (1, 2)}


@pytest.mark.parametrize("columns", COLUMNS.values(), ids=COLUMNS)
@pytest.mark.parametrize("count", [1, 12])
def test_tables_with_fewer_columns(tmp_path, columns, count):
    header = ",".join(HEADER.split(",")[column] for column in columns)
    pages = pages_of(lesson(tmp_path, as_csv(table(count)[:, columns], header)))
    keeps_the_house_rules(pages)
    assert pattern_page(pages) is not None
    if 2 not in columns and count > 1:
        assert "first shot" in words_of(pattern_page(pages))
    if 0 not in columns:
        assert "cannot tell" in " ".join(words_of(page) for page in pages).lower()


def test_a_table_without_shots_is_refused_at_its_place(tmp_path):
    with pytest.raises(InputRefusedError, match="shots.csv.*the table holds no shots"):
        lesson(tmp_path, HEADER + "\n")


def test_shots_of_another_club_make_no_page_and_the_handout_says_why(tmp_path):
    rows = "\n".join(f"7-iron,{row}" for row in as_csv(table(8)).splitlines()[1:])
    pages = pages_of(lesson(tmp_path, f"club,{HEADER}\n{rows}\n"))
    keeps_the_house_rules(pages)
    assert pattern_page(pages) is None
    text = " ".join(words_of(page) for page in pages)
    assert "8 of 8 shots not hit with the driver" in text


def rings(page):
    """Return the centres of the rings on the plan."""
    boxes = [
        box
        for element in all_elements(page.elements)
        if element.role == "Figure" and element.alt.startswith("Landings")
        for box in all_boxes(element.boxes)
        if isinstance(box, Disc)
    ]
    return np.array([(box.x, box.y) for box in boxes])


def test_every_shot_is_drawn_once_to_scale_and_right_is_right(tmp_path):
    rows = table(60)
    found = rings(pattern_page(pages_of(lesson(tmp_path, as_csv(rows)))))
    assert len(found) == 60
    down = np.sqrt(rows[:, 2] ** 2 - rows[:, 1] ** 2)
    across = np.polyfit(rows[:, 1], found[:, 0], 1)
    along = np.polyfit(down, found[:, 1], 1)
    # One scale both ways; right on the right, far at the top of the page.
    assert across[0] == pytest.approx(-along[0], rel=1e-6)
    assert across[0] > 0.3
    assert np.abs(np.polyval(across, rows[:, 1]) - found[:, 0]).max() < 1e-6
    assert np.abs(np.polyval(along, down) - found[:, 1]).max() < 1e-6


def test_a_left_hander_has_right_on_the_right_too(tmp_path):
    rows = table(12)
    found = rings(pattern_page(pages_of(lesson(tmp_path, as_csv(rows), hand="left"))))
    assert np.polyfit(rows[:, 1], found[:, 0], 1)[0] > 0


def dashed_outlines(page):
    return [
        box
        for element in all_elements(page.elements)
        if element.role == "Figure" and element.alt.startswith("Landings")
        for box in all_boxes(element.boxes)
        if isinstance(box, Path) and box.closed and box.dash
    ]


@pytest.mark.parametrize(("count", "drawn"), [(1, 0), (5, 0), (6, 1), (12, 1), (60, 1)])
def test_the_outline_comes_from_six_shots_on(tmp_path, count, drawn):
    page = pattern_page(pages_of(lesson(tmp_path, as_csv(table(count)))))
    assert len(dashed_outlines(page)) == drawn
    assert ("lands inside 9 times in 10" in words_of(page)) == bool(drawn)


def test_the_outline_is_the_prediction_ellipse_of_the_f_distribution(tmp_path):
    # Chew 1966, Journal of the American Statistical Association 61, 605-617: the squared distance
    # (x - mean)' S^-1 (x - mean) on the outline is 2 (n + 1)(n - 1) / (n (n - 2)) F(2, n - 2).
    from scipy.stats import f as f_distribution

    rows = table(12)
    page = pattern_page(pages_of(lesson(tmp_path, as_csv(rows))))
    found = rings(page)
    (outline,) = dashed_outlines(page)
    away = np.array(outline.points) - found.mean(axis=0)
    squared = np.einsum("ij,jk,ik->i", away, np.linalg.inv(np.cov(found.T)), away)
    n = len(rows)
    wanted = 2 * (n + 1) * (n - 1) / (n * (n - 2)) * f_distribution.ppf(0.90, 2, n - 2)
    assert squared == pytest.approx(np.full(len(squared), wanted), rel=1e-6)


def test_few_shots_say_too_few_to_tell(tmp_path):
    for count in (1, 5, 9):
        text = words_of(pattern_page(pages_of(lesson(tmp_path, as_csv(table(count))))))
        assert "Too few to tell" in text
        assert "Fix the" not in text
        assert "aimed at the target" not in text


def test_a_two_way_miss_is_only_said_where_the_shots_carry_it(tmp_path):
    many = words_of(pattern_page(pages_of(lesson(tmp_path, as_csv(two_way(40))))))
    assert "A miss to both sides: 20 around" in many
    assert "Fix the" not in many
    few = words_of(pattern_page(pages_of(lesson(tmp_path, as_csv(two_way(12))))))
    assert "Both sides were seen, too few to tell" in few
    one = words_of(pattern_page(pages_of(lesson(tmp_path, as_csv(table(60))))))
    assert "oth sides" not in one


def test_yards_are_used_throughout(tmp_path):
    pages = pages_of(lesson(tmp_path, as_csv(table(20)), units="yards", fairway="35 yd"))
    text = words_of(pattern_page(pages))
    assert "fairway 35 yd wide" in text
    assert not re.search(r"\d m\b", text)


def test_the_gate_of_the_drill_and_of_the_card_is_the_students_own(tmp_path):
    # By hand: two of three standard normal values lie within 0.9674 of nought (normal table), a
    # ball is 42.67 mm wide (Rules of Golf, Equipment Rules), the gate stands 3 m away.
    rows = table(20)
    spread = math.radians(0.9674 * np.std(rows[:, 0], ddof=1))
    exact = 200.0 * 3.0 * math.tan(spread) + 4.267
    width = 5 * math.floor(exact / 5 + 0.5)
    pages = pages_of(lesson(tmp_path, as_csv(rows)))
    for kind in ("practise", "card"):
        text = " ".join(words_of(page) for page in pages if page.kind == kind)
        assert f"{width} cm" in text
        assert "45 cm" not in text or width == 45


def test_with_few_starts_the_gate_stays_as_printed(tmp_path):
    pages = pages_of(lesson(tmp_path, as_csv(table(9))))
    card = next(page for page in pages if page.kind == "card")
    assert "45 cm" in words_of(card)
