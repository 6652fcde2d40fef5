"""How far a part of the body has moved since set-up."""

from functools import partial

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Way
from reporter.measure.reading_terms import (
    AFTER_SETUP,
    CHANGE,
    DOWN_THE_LINE,
    EVERYWHERE,
    FACE_ON,
    MEASURED,
    OF_STANCE,
    SETUP_HEELS,
    SIMULATION,
)

SHIFTS_MEASURES: tuple[Measure, ...] = (
    Measure(
        id="pelvis-shift",
        name="Hip centre since set-up",
        definition="How far the pelvis centre has moved along the target line since the set-up "
        "frame of the same clip, over the distance of the heels there.",
        positive="{} toward the target",
        negative="{} away from the target",
        none="where it was at set-up",
        more="{} more toward the target",
        less="{} more away from the target",
        traps=(
            "the camera must not move within the clip",
            "hips moving toward or away from the ball leak in when the camera stands round",
        ),
        source=SIMULATION,
        ways=(
            *(
                Way(
                    view=FACE_ON,
                    positions=positions,
                    trust=trust,
                    needs=("pelvis", "setup.pelvis", *SETUP_HEELS),
                    spans=(SETUP_HEELS,),
                    unit=OF_STANCE,
                    formula=formulas.pelvis_shift,
                    mark=partial(marks.of_shift, "pelvis"),
                    roll_per_degree=0.05,
                    shared_error=shared_error,
                    own_error=own_error,
                    holds="heels 30 cm or more apart",
                    interval=interval,
                    change_interval=change_interval,
                )
                for positions, trust, shared_error, own_error, interval, change_interval in (
                    (EVERYWHERE[1:4], MEASURED, 0.6, 0.2, 5.3, 7.5),
                    (EVERYWHERE[4:7], MEASURED, 1.2, 0.3, 6.3, 8.0),
                    (EVERYWHERE[7:], MEASURED, 1.8, 0.5, 7.4, 9.8),
                )
            ),
        ),
        refusals={"down-the-line": "the shift runs along the camera's line of sight"},
    ),
    Measure(
        id="head-shift",
        name="Head since set-up",
        definition="How far the middle of the head has moved along the target line since the "
        "set-up frame of the same clip, over the distance of the heels there.",
        positive="{} toward the target",
        negative="{} away from the target",
        none="where it was at set-up",
        more="{} more toward the target",
        less="{} more away from the target",
        traps=(
            "the camera must not move within the clip",
            "click the middle of the head each time, not the nose: the head turns",
        ),
        source=SIMULATION,
        ways=(
            *(
                Way(
                    view=FACE_ON,
                    positions=positions,
                    trust=trust,
                    needs=("head", "setup.head", *SETUP_HEELS),
                    spans=(SETUP_HEELS,),
                    unit=OF_STANCE,
                    formula=formulas.head_shift,
                    mark=partial(marks.of_shift, "head"),
                    roll_per_degree=0.05,
                    shared_error=shared_error,
                    own_error=own_error,
                    holds="heels 30 cm or more apart",
                    interval=interval,
                    change_interval=change_interval,
                )
                for positions, trust, shared_error, own_error, interval, change_interval in (
                    (EVERYWHERE[1:4], MEASURED, 2.9, 0.7, 7.9, 7.9),
                    (EVERYWHERE[4:7], MEASURED, 3.2, 0.8, 8.0, 7.8),
                    (EVERYWHERE[7:], CHANGE, 6.0, 1.3, None, 9.8),
                )
            ),
        ),
        refusals={"down-the-line": "the shift runs along the camera's line of sight"},
    ),
    Measure(
        id="heel-lift",
        name="Trail heel above its set-up place",
        definition="How much higher the trail heel stands than on the set-up frame of the same "
        "clip; down-the-line over the shoe's length there, face-on over the distance of the "
        "heels there.",
        positive="heel up by {}",
        negative="heel down by {}",
        none="heel down",
        more="{} higher",
        less="{} lower",
        traps=(
            "the camera must not move within the clip",
            "a heel that swings toward or away from the camera seems to sink or rise",
        ),
        source=SIMULATION,
        ways=(
            Way(
                view=DOWN_THE_LINE,
                positions=AFTER_SETUP,
                trust=CHANGE,
                needs=("trail_heel", "setup.trail_heel", "setup.trail_toe"),
                spans=(("setup.trail_heel", "setup.trail_toe"),),
                unit="% of shoe length",
                formula=formulas.heel_lift_in_shoes,
                mark=marks.of_lift,
                roll_per_degree=0.3,
                shared_error=12.0,
                own_error=1.6,
                holds="foot turned out 25 degrees at most at set-up",
                change_interval=14.4,
            ),
            *(
                Way(
                    view=FACE_ON,
                    positions=positions,
                    trust=trust,
                    needs=("trail_heel", *SETUP_HEELS),
                    spans=(SETUP_HEELS,),
                    unit=OF_STANCE,
                    formula=formulas.heel_lift_in_stances,
                    mark=marks.of_lift,
                    roll_per_degree=0.1,
                    shared_error=shared_error,
                    own_error=own_error,
                    holds=holds,
                    interval=interval,
                    change_interval=change_interval,
                )
                for positions, trust, shared_error, own_error, holds, interval, change_interval in (
                    (EVERYWHERE[1:7], MEASURED, 1.5, 0.5, "heel up by 12 cm at most", 9.5, 12.4),
                    (EVERYWHERE[7:], CHANGE, 9.0, 1.0, "foot rolled onto its toe", None, 13.7),
                )
            ),
        ),
    ),
)
