"""Every measure of every frame, read or refused with the reason."""

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from reporter.measure.camera import AZIMUTH_ERROR, WIDE_AZIMUTH_ERROR, Roll, camera_of, rolls_of
from reporter.measure.catalogue import CATALOGUE
from reporter.measure.entry import Measure, Way
from reporter.measure.geometry import Pixels, distance
from reporter.measure.heading import Heading, headings_of
from reporter.measure.measurement import Class, Mark, Measurement
from reporter.measure.places import FramePlaces, Laying, places_of
from reporter.measure.reading_terms import SHAFT
from reporter.measure.refined import RefinedFrame
from reporter.measure.sight import Sight
from reporter.measure.straighten import straightened
from reporter.measure.uncertainty import learned_click_error, propagated
from reporter.session.schema import Frame, Session, Take
from reporter.speech import later, say, say_as

NORMAL_95 = 1.96
"""Two-sided 95 % point of the normal distribution (any table of it)."""

LEAST_SPAN = 4.0
"""Two points must be this many of their joint standard errors apart to show a direction."""

SETUP = "setup."

NOTHING_REFINED: Mapping[str, RefinedFrame] = MappingProxyType({})

LIMITS = {
    Class.CHANGE_ONLY: later(
        "where the camera stood decides this number: only its change is believed"
    ),
    Class.IMAGE_ANGLE: later(
        "a slope on the picture, for comparison in this view and position only"
    ),
}


def measure_session(
    session: Session,
    sizes: Mapping[str, tuple[int, int]],
    refined: Mapping[str, RefinedFrame] = NOTHING_REFINED,
) -> tuple[Measurement, ...]:
    """Return every measure of the catalogue for every frame of a lesson.

    Parameters
    ----------
    session : Session
        The lesson file, checked.
    sizes : mapping
        Frame id to width and height of its upright picture [px]; where a frame is missing, the
        size written in the lesson file counts.
    refined : mapping
        Frame id to what was refined on its picture.

    Returns
    -------
    tuple of Measurement
        In the order of the frames, then of the catalogue. A measure that could not or may not be
        read has the value None and the reason in plain words. A measure of class
        ``change only`` carries its value for the comparison; it is not for printing. Where the
        camera's heading is known, a lean of that class is corrected by it and ``measured``.
    """
    return Reader(session, sizes, refined).all()


class Reader:
    """Reads the frames of one lesson; parameters as in `measure_session`."""

    def __init__(
        self,
        session: Session,
        sizes: Mapping[str, tuple[int, int]],
        refined: Mapping[str, RefinedFrame] = NOTHING_REFINED,
    ) -> None:
        takes = {take.id: take for take in session.takes}
        clicked = [(frame, takes[frame.take]) for frame in session.frames if frame.take in takes]
        self._plays = session.student.plays
        self._sizes = sizes
        self._refined = refined
        # The click error is learned from the clicks, not from what was made of them.
        self._click_error = learned_click_error(clicked, sizes)
        self.frames = [
            (refined[frame.id].applied(frame) if frame.id in refined else frame, take)
            for frame, take in clicked
        ]
        self.rolls = rolls_of(self.frames, sizes, self._click_error)
        self.headings = headings_of(self.frames, sizes, self.rolls, self._click_error, self._plays)
        self._read: dict[str, FramePlaces] = {}
        self._setups: dict[str, tuple[Frame, Take]] = {}
        for frame, take in self.frames:
            if frame.position == "setup":
                self._setups.setdefault(take.id, (frame, take))

    def all(self) -> tuple[Measurement, ...]:
        """Return every measure of every frame."""
        return tuple(one for frame, _ in self.frames for one in self.read(frame.id))

    def read(self, frame_id: str) -> tuple[Measurement, ...]:
        """Return every measure of one frame."""
        frame, take = self._frame(frame_id)
        setup = self._setups.get(take.id)
        return self._measures(
            self._places(frame, take),
            self._places(*setup) if setup else None,
            camera_of(take),
        )

    def read_laid(self, frame_id: str, onto: str, laying: Laying) -> tuple[Measurement, ...]:
        """Return every measure of one frame as the camera of another one sees it.

        Parameters
        ----------
        frame_id, onto : str
            The frame, and the one it is laid on.
        laying : Laying
            How it lies there.
        """
        frame, take = self._frame(frame_id)
        camera = camera_of(self._frame(onto)[1])
        setup = self._setups.get(take.id)
        return self._measures(
            self._new_places(frame, take, camera, laying),
            self._new_places(*setup, camera, laying) if setup else None,
            camera,
        )

    def _frame(self, frame_id: str) -> tuple[Frame, Take]:
        return next(one for one in self.frames if one[0].id == frame_id)

    def _places(self, frame: Frame, take: Take) -> FramePlaces:
        if frame.id not in self._read:
            self._read[frame.id] = self._new_places(frame, take, camera_of(take), None)
        return self._read[frame.id]

    def _new_places(
        self, frame: Frame, take: Take, camera: str, laying: Laying | None
    ) -> FramePlaces:
        return places_of(
            frame,
            take,
            self._plays,
            self._sizes.get(frame.id) or frame.size,
            self.rolls.get(camera, Roll()),
            self._click_error,
            self._refined[frame.id].sharp if frame.id in self._refined else (),
            laying,
        )

    def _measures(
        self, here: FramePlaces, setup: FramePlaces | None, camera: str
    ) -> tuple[Measurement, ...]:
        roll, heading = self.rolls.get(camera, Roll()), self.headings.get(camera)
        return tuple(_measured(measure, here, setup, roll, heading) for measure in CATALOGUE)


def _measured(
    measure: Measure,
    here: FramePlaces,
    setup: FramePlaces | None,
    roll: Roll,
    heading: Heading | None,
) -> Measurement:
    """Return one measure on one frame."""
    view, position = here.take.view, here.frame.position
    ways = [way for way in measure.ways if way.view == view and position in way.positions]
    if not ways:
        return _refused(
            measure, here, measure.ways[0], Class.NOT_FROM_THIS_VIEW, _why(measure, view, position)
        )
    way = _best(ways, here, setup)
    reason = _obstacle(way, here, setup)
    if reason:
        return _refused(measure, here, way, way.trust, reason)
    return _read(measure, way, here, setup, roll, heading)


def _best(ways: list[Way], here: FramePlaces, setup: FramePlaces | None) -> Way:
    """Return the way that uses the most of what the frames show."""

    def shown(way: Way) -> bool:
        if way.reference == "held":
            return setup is not None and "held.1" in setup.places and bool(setup.sight.held_cm)
        if way.reference == "heels":
            return setup is not None and bool(setup.sight.ground) and not setup.ground_refusal
        return way.ground == bool(here.frame.ground_points)

    plain = [way for way in ways if not way.ground and not way.reference]
    special = [way for way in ways if (way.ground or way.reference) and shown(way)]
    return (special or plain or ways)[0]


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


def _sight(way: Way, here: FramePlaces, setup: FramePlaces | None) -> Sight:
    """Return what a formula may know of the picture; a reference is that of the set-up frame."""
    if not way.reference or setup is None:
        return here.sight
    return replace(here.sight, ground=setup.sight.ground, held_cm=setup.sight.held_cm)


def _source(name: str, here: FramePlaces, setup: FramePlaces | None) -> tuple[FramePlaces, str]:
    """Return the frame a point is taken from, and the point's name there."""
    if name.startswith(SETUP) and setup is not None:
        return setup, name.removeprefix(SETUP)
    return here, name


def _leak(
    way: Way, clicked: Mapping[str, Pixels], sight: Sight, heading: Heading | None
) -> float:
    """Return how much of a way along the line of sight shows across the picture [unit].

    How far round the camera stands is the root mean square of what its heading leaves open; the
    widest that is allowed where nothing tells the heading.
    """
    if not way.along_sight:
        return 0.0
    angle = WIDE_AZIMUTH_ERROR
    if heading is not None:
        column = math.fsum(x for x, _ in clicked.values()) / len(clicked)
        angle = math.hypot(heading.round_at(column, sight.side), heading.error)
    return way.along_sight * math.sin(math.radians(min(angle, 90.0)))


def _read(
    measure: Measure,
    way: Way,
    here: FramePlaces,
    setup: FramePlaces | None,
    roll: Roll,
    heading: Heading | None,
) -> Measurement:
    """Return the number of a measure whose points are all there."""
    names = list(way.needs)
    if way.ground:
        names += [f"ground.{index}" for index in range(len(here.sight.ground))]
    if way.reference == "heels" and setup is not None:
        names += [f"{SETUP}ground.{index}" for index in range(len(setup.sight.ground))]
    clicked: dict[str, Pixels] = {}
    level: dict[str, Pixels] = {}
    errors: dict[str, float] = {}
    doubts: list[str] = []
    against_setup = any(name.startswith(SETUP) for name in names)
    only_shaft = set(names) <= set(SHAFT)
    for name in names:
        source, point = _source(name, here, setup)
        clicked[name], level[name] = source.places[point], source.level[point]
        drift = here.drift if against_setup and source is here else 0.0
        error = source.errors[point]
        if only_shaft:
            error = source.sharp_errors.get(point, error)
        errors[name] = math.hypot(error, drift)
        if point in source.doubts:
            doubts.append(source.doubts[point])
    formula, sight, trust, own = way.formula, _sight(way, here, setup), way.trust, way.own_error
    is_corrected = False
    if trust is Class.CHANGE_ONLY and way.straight and heading and heading.known:
        trust = Class.MEASURED
        straight = straightened(way, clicked, errors, sight, here.centre, heading)
        value, of_points, of_roll = straight.value, straight.of_points, straight.of_camera
        of_azimuth = math.hypot(straight.of_posture, way.straight.shared_error)
        own = way.straight.own_error
        is_corrected = True
    else:
        value = formula(level, sight)
        likely = way.steadied(level, errors, sight) if way.steadied else level
        of_points = propagated(lambda places: formula(places, sight), likely, errors)
        of_roll = abs(way.roll_per_degree) * roll.error
        of_azimuth = math.hypot(
            way.azimuth_per_degree * AZIMUTH_ERROR,
            _leak(way, clicked, sight, heading),
            way.shared_error,
        )
    parts = [of_points, of_roll, own]
    if trust is not Class.IMAGE_ANGLE:
        parts.append(of_azimuth)
    if against_setup and here.drift:
        doubts.append(
            say("no camera label: some drift of the camera within the clip is allowed for")
        )
    if trust in LIMITS:
        doubts.insert(0, say(LIMITS[trust]))
    mark: Mark = way.mark(clicked, sight)
    return Measurement(
        measure=measure.id,
        frame=here.frame.id,
        view=here.take.view,
        position=here.frame.position,
        value=value,
        unit=way.unit,
        plus_minus=NORMAL_95 * math.hypot(*parts),
        trust=trust,
        reason="; ".join(dict.fromkeys(doubts)),
        mark=mark,
        corrected_by=value - formula(level, sight) if is_corrected else None,
        standard_error_of_points=of_points,
        standard_error_of_roll=of_roll,
        standard_error_of_azimuth=of_azimuth,
        standard_error_of_model=own,
    )
