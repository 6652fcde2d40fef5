"""How far a part of the body has moved since set-up."""

from functools import partial
from typing import Literal

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Way
from reporter.measure.reading_terms import (
    CHANGE,
    DOWN_THE_LINE,
    EVERYWHERE,
    FACE_ON,
    MEASURED,
    OF_STANCE,
    SETUP_HEELS,
    SIMULATION,
)

BODY_DEPTH: tuple[tuple[Literal["heels", "held"], tuple[str, str], str], ...] = (
    ("held", ("setup.held.0", "setup.held.1"), "stick held in front of the hips at set-up"),
    ("heels", SETUP_HEELS, "four ground points on the set-up frame; heels 30 cm or more apart"),
)
"""What gives centimetres at the depth of the body."""

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
                    trust=MEASURED,
                    needs=("pelvis", "setup.pelvis", *reference_points),
                    spans=(reference_points,),
                    unit="cm",
                    formula=formulas.pelvis_shift_cm,
                    mark=partial(marks.of_shift, "pelvis"),
                    roll_per_degree=0.03,
                    shared_error=shared_error,
                    along_sight=along_sight,
                    own_error=own_error,
                    reference=reference,
                    holds=holds,
                    interval=interval,
                    change_interval=change_interval,
                )
                for reference, reference_points, holds in BODY_DEPTH
                for positions, along_sight, shared_error, own_error, interval, change_interval in (
                    (EVERYWHERE[1:4], 2.0, 0.0, 0.1, 2.6, 3.4),
                    (EVERYWHERE[4:7], 3.1, 0.1, 0.2, 2.8, 3.6),
                    (EVERYWHERE[7:8], 3.4, 0.2, 0.3, 3.0, 3.7),
                    (EVERYWHERE[8:], 5.1, 0.5, 0.3, 3.4, 3.8),
                )
            ),
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
                    (EVERYWHERE[7:], MEASURED, 2.1, 0.5, 7.6, 10.0),
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
                    trust=MEASURED,
                    needs=("head", "setup.head", *reference_points),
                    spans=(reference_points,),
                    unit="cm",
                    formula=formulas.head_shift_cm,
                    mark=partial(marks.of_shift, "head"),
                    roll_per_degree=0.03,
                    shared_error=shared_error,
                    along_sight=along_sight,
                    own_error=own_error,
                    reference=reference,
                    holds=holds,
                    interval=interval,
                    change_interval=change_interval,
                )
                for reference, reference_points, holds in BODY_DEPTH
                for positions, along_sight, shared_error, own_error, interval, change_interval in (
                    (EVERYWHERE[1:4], 6.2, 0.3, 0.3, 3.3, 3.4),
                    (EVERYWHERE[4:7], 6.9, 0.3, 0.35, 3.3, 3.5),
                )
            ),
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
                    (EVERYWHERE[1:4], MEASURED, 2.9, 0.75, 7.9, 7.9),
                    (EVERYWHERE[4:7], MEASURED, 3.2, 0.8, 8.0, 7.8),
                    (EVERYWHERE[7:], CHANGE, 6.0, 1.25, None, 9.8),
                )
            ),
        ),
        refusals={"down-the-line": "the shift runs along the camera's line of sight"},
    ),
    *(
        Measure(
            id=f"{part}-height",
            name=f"{name} height since set-up",
            definition=f"How much higher the {what} is than on the set-up frame of the same clip, "
            "over the distance of the heels there.",
            positive="higher by {}",
            negative="lower by {}",
            none="as high as at set-up",
            more="{} higher",
            less="{} lower",
            traps=(
                "the camera must not move within the clip",
                "what moves toward the camera below its height seems to sink, above it to rise",
            ),
            source=SIMULATION,
            ways=tuple(
                Way(
                    view=FACE_ON,
                    positions=positions,
                    trust=trust,
                    needs=(part, f"setup.{part}", *SETUP_HEELS),
                    spans=(SETUP_HEELS,),
                    unit=OF_STANCE,
                    formula=formula,
                    mark=partial(marks.of_rise, part),
                    roll_per_degree=0.15,
                    shared_error=shared_error,
                    own_error=own_error,
                    holds="heels 30 cm or more apart",
                    interval=interval,
                    change_interval=change_interval,
                )
                for positions, trust, shared_error, own_error, interval, change_interval in rows
            ),
            refusals={"down-the-line": "nothing there is as far away and of known size"},
        )
        for part, name, what, formula, rows in (
            (
                "pelvis",
                "Hip centre",
                "pelvis centre",
                formulas.pelvis_height,
                (
                    (EVERYWHERE[1:7], MEASURED, 0.9, 0.15, 5.5, 7.6),
                    (EVERYWHERE[7:], MEASURED, 1.5, 0.2, 6.2, 8.0),
                ),
            ),
            (
                "head",
                "Head",
                "middle of the head",
                formulas.head_height,
                (
                    (EVERYWHERE[1:4], MEASURED, 1.6, 0.45, 6.0, 7.8),
                    (EVERYWHERE[4:7], MEASURED, 1.9, 0.5, 6.6, 8.0),
                    (EVERYWHERE[7:], CHANGE, 5.0, 0.8, None, 8.8),
                ),
            ),
        )
    ),
    *(
        Measure(
            id=f"{part}-toward-ball",
            name=f"{name} toward the ball since set-up",
            definition=f"How far the {what} has moved square to the target line, toward the ball, "
            "since the set-up frame of the same clip, over the length of the trail shoe there.",
            positive="{} toward the ball",
            negative="{} away from the ball",
            none="as far from the ball as at set-up",
            more="{} nearer the ball",
            less="{} farther from the ball",
            traps=(
                "the camera must not move within the clip",
                "a shift along the target line leaks in when the camera stands round: only a "
                "change is believed",
            ),
            source=SIMULATION,
            ways=tuple(
                Way(
                    view=DOWN_THE_LINE,
                    positions=positions,
                    trust=CHANGE,
                    needs=(part, f"setup.{part}", "setup.trail_heel", "setup.trail_toe"),
                    spans=(("setup.trail_heel", "setup.trail_toe"),),
                    unit="% of shoe length",
                    formula=formula,
                    mark=partial(marks.of_way, part),
                    roll_per_degree=0.2,
                    azimuth_per_degree=1.0,
                    shared_error=6.0,
                    own_error=own_error,
                    holds="foot turned out 25 degrees at most at set-up",
                    change_interval=interval,
                )
                for positions, own_error, interval in rows
            ),
            refusals={"face-on": "the way runs toward the camera"},
        )
        for part, name, what, formula, rows in (
            (
                "pelvis",
                "Hip centre",
                "pelvis centre",
                formulas.pelvis_toward_ball,
                (
                    (EVERYWHERE[1:5], 0.75, 11.0),
                    (EVERYWHERE[5:7], 0.8, 11.5),
                    (EVERYWHERE[7:], 1.05, 11.0),
                ),
            ),
            (
                "head",
                "Head",
                "middle of the head",
                formulas.head_toward_ball,
                (
                    (EVERYWHERE[1:5], 1.05, 11.5),
                    (EVERYWHERE[5:7], 1.05, 12.0),
                    (EVERYWHERE[7:], 1.5, 14.0),
                ),
            ),
        )
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
            *(
                Way(
                    view=DOWN_THE_LINE,
                    positions=positions,
                    trust=CHANGE,
                    needs=("trail_heel", "setup.trail_heel", "setup.trail_toe"),
                    spans=(("setup.trail_heel", "setup.trail_toe"),),
                    unit="% of shoe length",
                    formula=formulas.heel_lift_in_shoes,
                    mark=marks.of_lift,
                    roll_per_degree=0.3,
                    shared_error=12.0,
                    own_error=own_error,
                    holds="foot turned out 25 degrees at most at set-up",
                    change_interval=interval,
                )
                # The heel stays on the ground until the change of direction.
                for positions, own_error, interval in (
                    (EVERYWHERE[1:5], 0.05, 10.8),
                    (EVERYWHERE[5:6], 0.8, 11.0),
                    (EVERYWHERE[6:], 1.5, 14.4),
                )
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
                    (EVERYWHERE[1:7], MEASURED, 1.5, 0.45, "heel up by 12 cm at most", 9.5, 12.4),
                    (EVERYWHERE[7:], CHANGE, 9.0, 0.8, "foot rolled onto its toe", None, 13.7),
                )
            ),
        ),
    ),
)
