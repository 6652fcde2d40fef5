"""How the shaft stands."""

from functools import partial

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Straight, Way
from reporter.measure.reading_terms import (
    CHANGE,
    DOWN_THE_LINE,
    FACE_ON,
    IMAGE,
    IMPACT,
    MEASURED,
    PROJECTION,
    SETUP,
    SHAFT,
    SIMULATION,
)

SHAFT_MEASURES: tuple[Measure, ...] = (
    Measure(
        id="shaft-to-ground",
        name="Shaft from level",
        definition="The angle between the shaft, from hosel to handle, and level ground, "
        "in the plane the camera looks at.",
        positive="stands {} up from level",
        negative="points {} below level",
        none="lies level",
        more="{} steeper",
        less="{} flatter",
        traps=(
            "camera roll goes into it in full: draw a level or a plumb line",
            "a blurred shaft is clicked wrong",
        ),
        source=f"{SIMULATION}; {PROJECTION}",
        same_club=True,
        ways=(
            *(
                Way(
                    view=DOWN_THE_LINE,
                    positions=(position,),
                    trust=MEASURED,
                    needs=SHAFT,
                    spans=(SHAFT,),
                    unit="deg",
                    formula=formulas.shaft_to_ground,
                    mark=partial(marks.from_level, *SHAFT),
                    azimuth_per_degree=azimuth,
                    shared_error=shared_error,
                    own_error=0.2,
                    holds="shaft 40 to 70 degrees from level, leaning 15 degrees at most "
                    "along the target line",
                    interval=interval,
                    change_interval=2.5,
                )
                for position, azimuth, shared_error, interval in (
                    (SETUP, 0.12, 0.5, 3.2),
                    (IMPACT, 0.15, 0.8, 3.5),
                )
            ),
            Way(
                view=DOWN_THE_LINE,
                positions=("lead-arm-level",),
                trust=IMAGE,
                needs=SHAFT,
                spans=(SHAFT,),
                unit="deg",
                formula=formulas.shaft_to_ground_either_way,
                mark=partial(marks.from_level, *SHAFT),
                azimuth_per_degree=0.6,
                holds="compared within this view and position only",
            ),
            Way(
                view=FACE_ON,
                positions=("top", "change-of-direction"),
                trust=IMAGE,
                needs=SHAFT,
                spans=(SHAFT,),
                unit="deg",
                formula=formulas.shaft_to_ground_either_way,
                mark=partial(marks.from_level, *SHAFT),
                azimuth_per_degree=0.2,
                holds="compared within this view and position only",
            ),
        ),
        refusals={
            "face-on": "the shaft points toward or away from the camera; "
            "face-on, shaft lean is the measure",
            "down-the-line": "the shaft points along the camera's line of sight",
        },
    ),
    Measure(
        id="shaft-lean",
        name="Shaft lean from plumb",
        definition="The angle between the shaft, from hosel to handle, and plumb, seen square "
        "to the target line.",
        positive="handle leans {} toward the target",
        negative="handle leans {} away from the target",
        none="handle above the club head",
        more="{} more toward the target",
        less="{} more away from the target",
        traps=(
            "each degree the camera stands round adds 0.6 degrees: only a change with the camera "
            "untouched is believed, or a value where ground points tell how the camera stood",
            "a frame is one to two hundredths of a second: impact is one frame more or less",
        ),
        source=f"{SIMULATION}; {PROJECTION}",
        same_club=True,
        ways=(
            Way(
                view=FACE_ON,
                positions=("setup", "impact"),
                trust=CHANGE,
                needs=SHAFT,
                spans=(SHAFT,),
                unit="deg",
                formula=formulas.shaft_lean,
                mark=partial(marks.from_plumb, *SHAFT),
                azimuth_per_degree=0.58,
                own_error=0.65,
                holds="same club and camera in both pictures",
                change_interval=2.9,
                straight=Straight(0.70, 0.16, 0.2, 0.2, 4.3, 2.7, stretch=1.16),
            ),
        ),
        refusals={
            "face-on": "shaft lean is a matter of set-up and impact",
            "down-the-line": "the lean runs along the camera's line of sight",
        },
    ),
)
