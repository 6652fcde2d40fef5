"""Every measure of every frame, read or refused with the reason."""

import math
from collections.abc import Mapping

from reporter.measure.camera import AZIMUTH_ERROR, Roll, camera_of, rolls_of
from reporter.measure.catalogue import CATALOGUE
from reporter.measure.entry import Measure, Way
from reporter.measure.geometry import Pixels, distance
from reporter.measure.measurement import Class, Mark, Measurement
from reporter.measure.places import FramePlaces, places_of
from reporter.measure.uncertainty import learned_click_error, propagated
from reporter.session.schema import Session
from reporter.speech import later, say, say_as

NORMAL_95 = 1.96
"""Two-sided 95 % point of the normal distribution (any table of it)."""

LEAST_SPAN = 4.0
"""Two points must be this many of their joint standard errors apart to show a direction."""

SETUP = "setup."

LIMITS = {
    Class.CHANGE_ONLY: later(
        "where the camera stood decides this number: only its change is believed"
    ),
    Class.IMAGE_ANGLE: later(
        "a slope on the picture, for comparison in this view and position only"
    ),
}


def measure_session(
    session: Session, sizes: Mapping[str, tuple[int, int]]
) -> tuple[Measurement, ...]:
    """Return every measure of the catalogue for every frame of a lesson.

    Parameters
    ----------
    session : Session
        The lesson file, checked.
    sizes : mapping
        Frame id to width and height of its upright picture [px]; where a frame is missing, the
        size written in the lesson file counts.

    Returns
    -------
    tuple of Measurement
        In the order of the frames, then of the catalogue. A measure that could not or may not be
        read has the value None and the reason in plain words. A measure of class
        ``change only`` carries its value for the comparison; it is not for printing.
    """
    takes = {take.id: take for take in session.takes}
    frames = [(frame, takes[frame.take]) for frame in session.frames if frame.take in takes]
    click_error = learned_click_error(frames, sizes)
    rolls = rolls_of(frames, sizes, click_error)
    read = [
        places_of(
            frame,
            take,
            session.student.plays,
            sizes.get(frame.id) or frame.size,
            rolls.get(camera_of(take), Roll()),
            click_error,
        )
        for frame, take in frames
    ]
    setups: dict[str, FramePlaces] = {}
    for places in read:
        if places.frame.position == "setup":
            setups.setdefault(places.take.id, places)
    return tuple(
        _measured(
            measure,
            places,
            setups.get(places.take.id),
            rolls.get(camera_of(places.take), Roll()),
        )
        for places in read
        for measure in CATALOGUE
    )


def _measured(
    measure: Measure, here: FramePlaces, setup: FramePlaces | None, roll: Roll
) -> Measurement:
    """Return one measure on one frame."""
    view, position = here.take.view, here.frame.position
    ways = [way for way in measure.ways if way.view == view and position in way.positions]
    if not ways:
        return _refused(
            measure, here, measure.ways[0], Class.NOT_FROM_THIS_VIEW, _why(measure, view, position)
        )
    grounded = bool(here.frame.ground_points)
    way = next((way for way in ways if way.ground == grounded), ways[0])
    reason = _obstacle(way, here, setup)
    if reason:
        return _refused(measure, here, way, way.trust, reason)
    return _read(measure, way, here, setup, roll)


def _why(measure: Measure, view: str, position: str) -> str:
    """Return why no way of a measure fits the view and position."""
    here = [way for way in measure.ways if way.view == view]
    if position == "setup" and any(n.startswith(SETUP) for way in here for n in way.needs):
        return say("counts from the set-up frame, which this is")
    if view in measure.refusals:
        return say(measure.refusals[view])
    if here:
        return say("not read at {position}", position=say_as("position", position))
    first, *others = [say_as("view", name) for name in dict.fromkeys(w.view for w in measure.ways)]
    if not others:
        return say("read {view} only", view=first)
    return say("read {first} or {second} only", first=first, second=others[0])


def _refused(
    measure: Measure, here: FramePlaces, way: Way, trust: Class, reason: str
) -> Measurement:
    return Measurement(
        measure=measure.id,
        frame=here.frame.id,
        view=here.take.view,
        position=here.frame.position,
        value=None,
        unit=way.unit,
        plus_minus=None,
        trust=trust,
        reason=reason,
    )


def _obstacle(way: Way, here: FramePlaces, setup: FramePlaces | None) -> str:
    """Return why a measure cannot be read on a frame, empty if it can."""
    if here.contradiction:
        return here.contradiction
    if way.ground and here.ground_refusal:
        return here.ground_refusal
    if way.ground and not here.frame.ground_points:
        return say("needs four ground points: two sticks laid on the ground, or a sheet of A4")
    from_setup = [name for name in way.needs if name.startswith(SETUP)]
    if from_setup and setup is None:
        return say("needs the set-up frame of the same clip")
    if from_setup and setup is not None and setup.contradiction:
        return say("on the set-up frame of the clip: {reason}", reason=setup.contradiction)
    missing = []
    for name in way.needs:
        source, point = _source(name, here, setup)
        if point in source.unusable:
            reason = source.unusable[point]
            of_setup = name.startswith(SETUP)
            return say("{reason} (set-up frame)", reason=reason) if of_setup else reason
        if point not in source.places:
            words = say_as("point", point)
            if name.startswith(SETUP):
                words = say("{point} on the set-up frame", point=words)
            missing.append(words)
    if missing:
        return say("not marked: {points}", points=", ".join(missing))
    for first, second in way.spans:
        ends = [_source(name, here, setup) for name in (first, second)]
        apart = distance(*(source.places[point] for source, point in ends))
        if apart < LEAST_SPAN * math.hypot(*(source.errors[point] for source, point in ends)):
            return say(
                "{first} and {second} are only {pixels} pixels apart",
                first=say_as("point", ends[0][1]),
                second=say_as("point", ends[1][1]),
                pixels=f"{apart:.0f}",
            )
    return ""


def _source(name: str, here: FramePlaces, setup: FramePlaces | None) -> tuple[FramePlaces, str]:
    """Return the frame a point is taken from, and the point's name there."""
    if name.startswith(SETUP) and setup is not None:
        return setup, name.removeprefix(SETUP)
    return here, name


def _read(
    measure: Measure, way: Way, here: FramePlaces, setup: FramePlaces | None, roll: Roll
) -> Measurement:
    """Return the number of a measure whose points are all there."""
    names = list(way.needs)
    if way.ground:
        names += [f"ground.{index}" for index in range(len(here.sight.ground))]
    clicked: dict[str, Pixels] = {}
    level: dict[str, Pixels] = {}
    errors: dict[str, float] = {}
    doubts: list[str] = []
    against_setup = any(name.startswith(SETUP) for name in names)
    for name in names:
        source, point = _source(name, here, setup)
        clicked[name], level[name] = source.places[point], source.level[point]
        drift = here.drift if against_setup and source is here else 0.0
        errors[name] = math.hypot(source.errors[point], drift)
        if point in source.doubts:
            doubts.append(source.doubts[point])
    formula, sight = way.formula, here.sight
    value = formula(level, sight)
    of_points = propagated(lambda places: formula(places, sight), level, errors)
    of_roll = abs(way.roll_per_degree) * roll.error
    of_azimuth = math.hypot(way.azimuth_per_degree * AZIMUTH_ERROR, way.shared_error)
    parts = [of_points, of_roll, way.own_error]
    if way.trust is not Class.IMAGE_ANGLE:
        parts.append(of_azimuth)
    if against_setup and here.drift:
        doubts.append(
            say("no camera label: some drift of the camera within the clip is allowed for")
        )
    if way.trust in LIMITS:
        doubts.insert(0, say(LIMITS[way.trust]))
    mark: Mark = way.mark(clicked, sight)
    return Measurement(
        measure=measure.id,
        frame=here.frame.id,
        view=here.take.view,
        position=here.frame.position,
        value=value,
        unit=way.unit,
        plus_minus=NORMAL_95 * math.hypot(*parts),
        trust=way.trust,
        reason="; ".join(dict.fromkeys(doubts)),
        mark=mark,
        standard_error_of_points=of_points,
        standard_error_of_roll=of_roll,
        standard_error_of_azimuth=of_azimuth,
        standard_error_of_model=way.own_error,
    )
