"""How the feet stand on the ground, and the ball between them."""

from functools import partial

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Way
from reporter.measure.reading_terms import (
    CHANGE,
    DOWN_THE_LINE,
    FACE_ON,
    FEET,
    HEELS,
    MEASURED,
    OF_STANCE,
    SHOULDERS,
    SIMULATION,
)

FEET_MEASURES: tuple[Measure, ...] = (
    *(
        Measure(
            id=f"foot-flare-{foot}",
            name=f"{foot.capitalize()} foot turned out",
            definition=f"The angle on the ground between the {foot} foot, heel to toe, and the "
            "direction square to the target line.",
            positive="turned out {}",
            negative="turned in {}",
            none="square to the target line",
            more="{} more turned out",
            less="{} less turned out",
            traps=(
                "never read from the picture alone: face-on a true 18 degrees looks like 50",
                "click where the sole meets the ground; the toe and heel clicks decide the error",
                "best from one extra picture of the feet, taken from chest height looking down",
            ),
            source=f"{SIMULATION}; ground map: Hartley & Zisserman 2004, algorithm 4.2",
            ways=tuple(
                Way(
                    view=view,
                    positions=("setup", "impact")
                    if foot == "lead" and view == FACE_ON
                    else ("setup",),
                    trust=MEASURED,
                    needs=(f"{foot}_heel", f"{foot}_toe"),
                    spans=((f"{foot}_heel", f"{foot}_toe"),),
                    unit="deg",
                    formula=formula,
                    mark=partial(marks.of_flare, foot),
                    steadied=partial(formulas.likelier_foot, foot),
                    roll_per_degree=0.0,
                    own_error=own_error,
                    ground=True,
                    holds="foot flat on the ground; four ground points around or near the feet",
                    interval=interval,
                    change_interval=change_interval,
                )
                for view, own_error, interval, change_interval in (
                    (FEET, 0.4, 2.5, 3.6),
                    (FACE_ON, 0.45, 11.2, 18.0),
                    (DOWN_THE_LINE, 0.45, 13.5, 18.0),
                )
                if view != DOWN_THE_LINE or foot == "trail"
            ),
            refusals={
                "feet": "the picture of the feet is one of set-up",
                "face-on": "the heel may be off the ground here",
                "down-the-line": "the heel may be off the ground here"
                if foot == "trail"
                else "the lead foot is half hidden: errors of 20 degrees and more",
            },
        )
        for foot, formula in (
            ("lead", formulas.lead_foot_flare),
            ("trail", formulas.trail_foot_flare),
        )
    ),
    Measure(
        id="stance-width",
        name="Stance width",
        definition="The distance from heel to heel: in centimetres along the target line with "
        "ground points, otherwise over the distance of the shoulder joints.",
        positive="{} wide",
        negative="{} the other way round",
        none="heels together",
        more="{} wider",
        less="{} narrower",
        traps=(
            "shoulders stand nearer the camera than the heels, so the share reads some per cent "
            "small: without ground points only a change is believed",
        ),
        source=SIMULATION,
        ways=(
            *(
                Way(
                    view=view,
                    positions=("setup",),
                    trust=MEASURED,
                    needs=HEELS,
                    spans=(HEELS,) if view != DOWN_THE_LINE else (),
                    unit="cm",
                    formula=formulas.stance_on_ground,
                    mark=partial(marks.of_length, *HEELS),
                    roll_per_degree=0.0,
                    own_error=own_error,
                    ground=True,
                    holds="four ground points around or near the feet",
                    interval=interval,
                    change_interval=change_interval,
                )
                for view, own_error, interval, change_interval in (
                    (FEET, 0.2, 1.3, 1.8),
                    (FACE_ON, 0.25, 4.9, 6.6),
                )
            ),
            Way(
                view=FACE_ON,
                positions=("setup",),
                trust=CHANGE,
                needs=(*HEELS, *SHOULDERS),
                spans=(HEELS, SHOULDERS),
                unit="% of shoulder width",
                formula=formulas.stance_in_shoulders,
                mark=partial(marks.of_length, *HEELS),
                roll_per_degree=0.0,
                azimuth_per_degree=0.3,
                shared_error=7.0,
                own_error=0.75,
                holds="shoulders turned 10 degrees at most",
                change_interval=15.9,
            ),
        ),
        refusals={
            "face-on": "stance width is a matter of set-up",
            "feet": "stance width is a matter of set-up",
            "down-the-line": "the heels stand one behind the other",
        },
    ),
    Measure(
        id="ball-position",
        name="Ball between the heels",
        definition="The ball's place along the target line: 0 level with the trail heel, "
        "100 level with the lead heel.",
        positive="{} from the trail heel",
        negative="{} behind the trail heel",
        none="level with the trail heel",
        more="{} nearer the target",
        less="{} farther from the target",
        traps=("click the spot under the ball where it touches the ground",),
        source=SIMULATION,
        ways=tuple(
            Way(
                view=view,
                positions=("setup",),
                trust=MEASURED,
                needs=(*HEELS, "ball"),
                spans=(HEELS,),
                unit=OF_STANCE,
                formula=formulas.ball_in_stance,
                mark=marks.of_ball,
                roll_per_degree=0.0,
                own_error=own_error,
                ground=True,
                holds="four ground points around or near feet and ball",
                interval=interval,
                change_interval=change_interval,
            )
            for view, own_error, interval, change_interval in (
                (FEET, 1.1, 3.4, 5.0),
                (FACE_ON, 1.15, 8.3, 12.0),
            )
        ),
        refusals={
            "face-on": "the ball's place is a matter of set-up",
            "feet": "the ball's place is a matter of set-up",
            "down-the-line": "ball and heels stand one behind the other",
        },
    ),
    Measure(
        id="ball-distance",
        name="Ball from the toes",
        definition="The distance on the ground from the line through both toes to the ball, "
        "square to that line.",
        positive="{} from the toes",
        negative="{} behind the toes",
        none="on the line of the toes",
        more="{} farther from the toes",
        less="{} nearer the toes",
        traps=("click the spot under the ball where it touches the ground",),
        source=SIMULATION,
        same_club=True,
        ways=tuple(
            Way(
                view=view,
                positions=("setup",),
                trust=MEASURED,
                needs=("lead_toe", "trail_toe", "ball"),
                spans=(("lead_toe", "trail_toe"),),
                unit="cm",
                formula=formulas.ball_from_toes,
                mark=marks.of_distance,
                roll_per_degree=0.0,
                shared_error=shared_error,
                own_error=own_error,
                ground=True,
                holds="four ground points around or near feet and ball",
                interval=interval,
                change_interval=change_interval,
            )
            # The edge of a sole that is clicked for a toe lies some 5 mm above the ground, which a
            # camera that looks down at 1 in 0.6 (feet) or 1 in 3 carries back by 0.3 or 1.5 cm.
            for view, shared_error, own_error, interval, change_interval in (
                (FEET, 0.3, 0.4, 1.6, 2.2),
                (FACE_ON, 1.5, 0.45, 6.8, 8.7),
            )
        ),
        refusals={
            "face-on": "the ball's place is a matter of set-up",
            "feet": "the ball's place is a matter of set-up",
            "down-the-line": "the ground there is seen too flat: clicks decide everything",
        },
    ),
    Measure(
        id="toe-line-aim",
        name="Aim of the toe line",
        definition="The angle on the ground between the line from trail toe to lead toe and the "
        "target line.",
        positive="aims {} right of the target",
        negative="aims {} left of the target",
        none="aims at the target",
        more="{} more to the right",
        less="{} more to the left",
        traps=(
            "feet turned out by different amounts move the toe line though the heels stand square",
            "the ground points must be laid along the true target line",
        ),
        source=SIMULATION,
        ways=tuple(
            Way(
                view=view,
                positions=("setup",),
                trust=MEASURED,
                needs=("lead_toe", "trail_toe"),
                spans=(("lead_toe", "trail_toe"),),
                unit="deg",
                formula=formulas.toe_line_aim,
                mark=marks.of_toe_line,
                roll_per_degree=0.0,
                own_error=0.2,
                ground=True,
                holds="four ground points around or near the feet",
                interval=interval,
                change_interval=change_interval,
            )
            for view, interval, change_interval in ((FEET, 1.3, 1.8), (FACE_ON, 7.4, 10.1))
        ),
        refusals={
            "face-on": "the aim of the feet is a matter of set-up",
            "feet": "the aim of the feet is a matter of set-up",
            "down-the-line": "the feet stand one behind the other: clicks decide everything",
        },
    ),
)
