"""The reference page of all measures, written from the catalogue."""

import math

from reporter.measure.camera import (
    AZIMUTH_ERROR,
    DRIFT_ERROR,
    ROLL_ERROR,
    WIDE_AZIMUTH_ERROR,
)
from reporter.measure.catalogue import CATALOGUE
from reporter.measure.entry import Measure, Way
from reporter.measure.heading import LARGEST_ERROR
from reporter.measure.many import FOR_ONE_MEASURE, limit_among
from reporter.measure.pair_alignment import MAP_ERROR
from reporter.measure.uncertainty import (
    CORNER_FACTOR,
    DEFAULT_CLICK_ERROR,
    HIDDEN_FACTOR,
    LEAST_CLICK_ERROR,
    PRIOR_FREEDOM,
)

HEAD = f"""# Measures

Written from `reporter.measure.CATALOGUE`; a test compares the two. To write it anew:

    python -c "from reporter.measure.reference_page import reference_page as page; print(page(), end='')" > docs/measures.md

The drawings are made by `python tests/measure/draw_measures.py` from a posed figure and the marks that
the program itself draws; a test compares them too.

## Classes

- **measured**: the number is printed with its plus-or-minus, which holds the truth 95 times of 100.
- **change only**: where the camera stood decides the number, so it is not printed; its change is,
  if the camera stayed, by its label or by the pictures. A lean of this class is corrected and becomes
  *measured* where ground points, or a stick with a level line, tell how the camera stood.
- **image angle**: a slope on the picture, compared within one view and position, never called true.
- **not from this view**: refused, with the reason.

## Signs

Along the target line, toward the target is positive; aims are positive to the right of the target.
Both hold for left-handers and for mirrored clips. The words after *reads* say it plainly.

## How sure a number is

- A click is off by {DEFAULT_CLICK_ERROR:.0f} pixels (standard deviation, each way) on a 1920 x 1080
  picture, and in proportion to the square root of the picture's area on others, never less than
  {LEAST_CLICK_ERROR:.0f} pixel. Points clicked again teach the program the coach's own error, mixed
  with the default at the weight of {PRIOR_FREEDOM:.0f} repeats; such a point stands at the mean of its
  clicks.
- Points that shoe or body hides in a view count {HIDDEN_FACTOR:.2f} times, sharp corners on
  the ground {CORNER_FACTOR:.2f} times that error. A proposed point that nobody confirmed is not used.
- Camera roll is unknown to {ROLL_ERROR:.0f} degree unless a level or plumb line is drawn on a picture
  of the same camera, which also turns every picture of that camera level. A level line must lie near
  the height of the lens; a stick on the ground will not do.
- The camera stands round from its ideal line by {AZIMUTH_ERROR:.0f} degrees (standard deviation), unless
  the ground tells its heading: four ground points to about 1 degree, one stick on the target line
  (`stick` of a frame's `lines`) together with a level line to about 2. A heading that is less sure than
  {LARGEST_ERROR:.0f} degrees corrects nothing. Feet tell nothing of it face-on: their click error alone is
  worth 7 degrees. The record says how each camera stood and which measures it may speak about.
- A corrected lean is drawn as it lies on the picture; the number is the corrected one.
- Centimetres of a shift come only from a reference at the depth of the body: the heels, where ground
  points tell how far apart they are, or a stick of known length held in front of the hips (`held`).
  Otherwise a shift is told in per cent of the stance. What moves toward or away from the camera meanwhile
  shows in a shift by the sine of how far round the camera stands: as far as the heading is known, else as in
  an even spread of 15 degrees to either side, which the table has.
- Without a camera label, {DRIFT_ERROR:.1f} pixels of drift within a clip are allowed for.
- In a change, clicks and posture add up; roll and stand of the camera cancel if it stayed: by one
  camera label that the pictures do not contradict, or by the pictures themselves, which also tell a
  camera that was only turned or zoomed; then the picture after is measured as it lies on the picture
  before, with {MAP_ERROR:.1f} pixels more of error.
- A measure compared alone is *changed* beyond {FOR_ONE_MEASURE:.2f} standard errors of its change. Of several in one
  handout each must exceed more, so that nothing at all is called changed in 19 of 20 handouts where nothing
  did: {limit_among(2):.2f} of two, {limit_among(4):.2f} of four, {limit_among(8):.2f} of eight, {limit_among(16):.2f} of sixteen. Between {FOR_ONE_MEASURE:.2f} and that, a measure has
  *perhaps changed*: beyond its own error, but among so many one such may be chance.

The classes and the errors of perspective and posture come from a simulation:
[measure-simulation.md](measure-simulation.md).
"""  # noqa: E501

NO_WAY = "not from this view"


def reference_page() -> str:
    """Return the text of docs/measures.md."""
    return HEAD + "".join(_section(measure) for measure in CATALOGUE)


def _section(measure: Measure) -> str:
    lines = [
        "",
        f"## {measure.name}",
        "",
        f"`{measure.id}`: {measure.definition}",
        "",
        f"![{measure.name}: the marked points, the line and what it is held against]"
        f"(measure-drawings/{measure.id}.svg)",
        "",
        f"Reads: *{measure.positive.format('N')}* (positive), "
        f"*{measure.negative.format('N')}* (negative), *{measure.none}* (0). "
        f"Change: *{measure.more.format('N')}*, *{measure.less.format('N')}*."
        + (" Compared with one club only." if measure.same_club else ""),
        "",
        "| view | positions | class | unit | needs | standard error of roll / azimuth / "
        "shared / own | 95 % / of a change | the same, heading known | holds for |",
        "|---|---|---|---|---|---|---|---|---|",
        *(_row(way) for way in measure.ways),
        "",
    ]
    lines += [f"- Not otherwise {view}: {reason}." for view, reason in measure.refusals.items()]
    lines += [f"- Trap: {trap}." for trap in measure.traps]
    lines += [f"- Source: {measure.source}."]
    return "\n".join(lines) + "\n"


def _row(way: Way) -> str:
    needs = ", ".join(name.replace("setup.", "set-up ") for name in way.needs)
    if way.ground:
        needs += ", 4 or more ground points"
    if way.reference == "heels":
        needs += ", 4 or more ground points at set-up"
    of_azimuth = math.hypot(
        way.azimuth_per_degree * AZIMUTH_ERROR,
        way.along_sight * math.sin(math.radians(WIDE_AZIMUTH_ERROR)),
    )
    errors = (
        f"{way.roll_per_degree * ROLL_ERROR:.1f} / {of_azimuth:.1f} / "
        f"{way.shared_error:.1f} / {way.own_error:.1f}"
    )
    figures = " / ".join(
        "" if figure is None else f"{figure:.1f}" for figure in (way.interval, way.change_interval)
    )
    straight = way.straight
    known = f"{straight.interval:.1f} / {straight.change_interval:.1f}" if straight else ""
    cells = (
        way.view,
        ", ".join(way.positions),
        way.trust.value,
        way.unit,
        needs,
        errors,
        "" if figures == " / " else figures,
        known,
        way.holds,
    )
    return "| " + " | ".join(cells) + " |"
