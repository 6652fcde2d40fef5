"""What the pages say of changes: each word stands for all measures that are compared together."""

from dataclasses import replace

import numpy as np
import pytest

from reporter.measure import Class, Measurement
from reporter.measure.compare import told_together
from reporter.session.load import load_session
from reporter.story.changes import judged_together, pair_of
from reporter.story.plan import plan_report
from reporter.story.recap import recap_report
from reporter.story.report import Paragraph, RecordTable
from tests.conftest import DEMO, TODAY

HANDOUTS = 1500


@pytest.fixture(scope="module")
def demo():
    """Return the demo's lesson without words of its own, so that its headings are made."""
    session = load_session(DEMO).session
    pairs = tuple(
        pair.model_copy(update={"heading": None, "sentence": None, "outline": False})
        for pair in session.pairs
    )
    return session.model_copy(update={"pairs": pairs})


def reading(session, frame, measure, value):
    frame = session.frame(frame)
    return Measurement(
        measure=measure,
        frame=frame.id,
        view=session.take_of(frame).view,
        position=frame.position,
        value=float(value),
        unit="deg",
        plus_minus=1.96,
        trust=Class.MEASURED,
        standard_error_of_points=1.0,
    )


def readings(session, draw):
    """Return a reading of standard error 1 for both frames of every measure that is compared."""
    found = {}
    for pair in session.pairs:
        for frame in (pair.before, pair.after):
            for measure in pair.measures:
                key = (frame, measure)
                found[key] = reading(session, frame, measure, draw(frame == pair.after, measure))
    return list(found.values())


def sizes(session):
    return {frame.id: (1920, 1080) for frame in session.frames}


def pairs_of(session, measurements):
    among = told_together(session, measurements)
    return [
        pair_of(
            session, written, index, measurements, sizes(session), large=index == 0, among=among
        )
        for index, written in enumerate(session.pairs)
    ]


def test_of_a_lesson_that_changed_nothing_the_pages_seldom_say_changed(demo):
    """Errors drawn by numpy; of seven measures 30 lessons in 100 would show one by itself."""
    rng = np.random.default_rng(11)
    false = []
    for _ in range(HANDOUTS):
        pairs = pairs_of(demo, readings(demo, lambda after, measure: 7.0 + rng.standard_normal()))
        rows = [row for pair in pairs for row in pair.rows]
        assert len(rows) == 7
        false.append(
            any(row.verdict == "changed" for row in rows)
            or any("no change" not in pair.heading and "not sure" not in pair.heading
                   for pair in pairs)
        )  # fmt: skip
    assert np.mean(false) <= 0.06


# Two standard errors of a change are 2.8: of seven, 3.0 of them are needed, which are 4.2.
@pytest.mark.parametrize(
    ("change", "verdict", "note", "heading"),
    [
        (2.5, "not shown to have changed", "", "no change that these pictures can show."),
        (
            3.5,
            "perhaps changed",
            "among 7 measures one such may be chance",
            "a change is not sure.",
        ),
        (4.8, "changed", "more toward the target", "5 degrees more toward the target."),
    ],
)
def test_a_row_and_its_heading_say_how_sure_a_change_is(demo, change, verdict, note, heading):
    first = demo.pairs[0].measures[0]
    assert first == "spine-side-bend"
    before_impact = demo.pairs[0].after
    measured = [
        replace(one, value=one.value + change)
        if (one.frame, one.measure) == (before_impact, first)
        else one
        for one in readings(demo, lambda after, measure: 7.0)
    ]
    pair = pairs_of(demo, measured)[0]
    assert (pair.rows[0].verdict, pair.rows[0].note) == (verdict, note)
    assert pair.heading == f"At the strike: {heading}"
    told = [
        text
        for block in recap_report(demo, measured, None, sizes(demo), today=TODAY).sheets[0].blocks
        if isinstance(block, RecordTable)
        for _, text in block.rows
    ]
    assert any(f"{verdict} ({note})" in text for text in told) == (verdict == "perhaps changed")
    assert sum(text.endswith(judged_together(7)) for text in told) == 1


def test_pages_say_which_measures_the_word_stands_for(demo):
    measured = readings(demo, lambda after, measure: 7.0)

    def words(session):
        report = plan_report(
            session, measured, None, sizes(session), {}, today=TODAY, version="0"
        )
        return {
            sheet.kind: " ".join(
                run.text
                for block in sheet.blocks
                if isinstance(block, Paragraph)
                for run in block.runs
            )
            + " ".join(
                text
                for block in sheet.blocks
                if isinstance(block, RecordTable)
                for _, text in block.rows
            )
            for sheet in report.sheets
        }

    many = words(demo)
    for kind in ("today", "changed"):
        assert "holds for all 7 measures of this handout together" in many[kind]
    # 3.0 standard errors of seven (see tests/measure/test_many.py) over 1.96 of one.
    assert "Among 7 measures" in many["record"]
    assert "needs 1.5 times" in many["record"]
    alone = demo.pairs[0].model_copy(update={"measures": demo.pairs[0].measures[:1]})
    one = words(demo.model_copy(update={"pairs": (alone,)}))
    assert "together" not in one["today"] + one["record"]
