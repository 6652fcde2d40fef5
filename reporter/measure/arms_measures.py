"""How the arms hang at set-up, and how the shaft goes on from them."""

from functools import partial

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Straight, Way
from reporter.measure.reading_terms import (
    CHANGE,
    DOWN_THE_LINE,
    PROJECTION,
    SETUP,
    SIMULATION,
)

ARMS = ("trail_shoulder", "handle")

ARMS_MEASURES: tuple[Measure, ...] = (
    Measure(
        id="arms-from-plumb",
        name="Arms from plumb",
        definition="The angle between the line from trail shoulder to handle and plumb, seen "
        "along the target line: 0 where the hands hang under the shoulder.",
        positive="hands {} toward the ball from under the shoulder",
        negative="hands {} inside the shoulder, toward the body",
        none="hands under the shoulder",
        more="{} farther out",
        less="{} nearer the body",
        traps=(
            "camera roll goes into it in full",
            "the handle is nearer the target than the trail shoulder, so each degree the camera "
            "stands round adds half a degree: only a change is believed, or a value where ground "
            "points tell how the camera stood",
            "click the shoulder joint, not the edge of the sleeve",
        ),
        source=f"{SIMULATION}; {PROJECTION}",
        ways=(
            Way(
                view=DOWN_THE_LINE,
                positions=(SETUP,),
                trust=CHANGE,
                needs=ARMS,
                spans=(ARMS,),
                unit="deg",
                formula=formulas.arms_hang,
                mark=partial(marks.below, *ARMS),
                azimuth_per_degree=0.5,
                shared_error=0.8,
                own_error=0.5,
                holds="any hang; shaft leaning 12 degrees at most along the target line",
                change_interval=3.3,
                straight=Straight(0.54, 0.19, 0.6, 0.4, 5.4, 3.3),
            ),
        ),
        refusals={
            "face-on": "the arms hang toward the camera",
            "down-the-line": "the arms turn out of the picture's plane here",
        },
    ),
    Measure(
        id="arms-to-shaft",
        name="Angle of arms and shaft",
        definition="How far the shaft turns up out of the line from trail shoulder to handle "
        "carried on, seen along the target line: 0 where arms and shaft lie in one line.",
        positive="shaft {} up from the line of the arms",
        negative="shaft {} below the line of the arms",
        none="arms and shaft in one line",
        more="{} more bent",
        less="{} straighter",
        traps=(
            "it is the angle of the picture's plane, not of a wrist",
            "each degree the camera stands round adds about 0.6 degrees: only a change with the "
            "camera untouched is believed",
        ),
        source=f"{SIMULATION}; {PROJECTION}",
        same_club=True,
        ways=(
            Way(
                view=DOWN_THE_LINE,
                positions=(SETUP,),
                trust=CHANGE,
                needs=(*ARMS, "hosel"),
                spans=(ARMS, ("handle", "hosel")),
                unit="deg",
                formula=formulas.arms_to_shaft,
                mark=partial(marks.of_flex, *ARMS, "hosel"),
                roll_per_degree=0.0,
                azimuth_per_degree=0.6,
                shared_error=0.8,
                own_error=0.6,
                holds="shaft leaning 12 degrees at most along the target line",
                change_interval=5.0,
            ),
        ),
        refusals={
            "face-on": "arms and shaft point toward the camera",
            "down-the-line": "arms and shaft turn out of the picture's plane here",
        },
    ),
)
