"""Which points are asked for on a frame: those that the chosen measures need, one at a time."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from reporter.measure import CATALOGUE, Class, Way
from reporter.session.schema import POINT_NAMES, Frame, Session, Take

MOST_MEASURES = 3
_BELIEVED = (Class.MEASURED, Class.CHANGE_ONLY, Class.IMAGE_ANGLE)
_FROM_SETUP = "setup."


@dataclass(frozen=True, slots=True)
class Offered:
    """A measure that can be read from a view at a position.

    Attributes
    ----------
    id, name : str
        Of the measure.
    trust : Class
        How far it may be believed there.
    needs : tuple of str
        Points; ``setup.`` before a name: on the set-up frame of the same clip.
    """

    id: str
    name: str
    trust: Class
    needs: tuple[str, ...]


def offered(view: str, position: str) -> tuple[Offered, ...]:
    """Return the measures that can be read from a view at a position, the most believed first."""
    found = [
        Offered(measure.id, measure.name, way.trust, way.needs)
        for measure in CATALOGUE
        for way in measure.ways
        if _fits(way, view, position)
    ]
    once = {one.id: one for one in reversed(found)}
    return tuple(sorted(once.values(), key=lambda one: _BELIEVED.index(one.trust)))


def _fits(way: Way, view: str, position: str) -> bool:
    """Whether a way can be gone with points alone; ends of a held stick are no points."""
    points_alone = all(name.removeprefix(_FROM_SETUP) in POINT_NAMES for name in way.needs)
    return (
        way.view == view
        and position in way.positions
        and not way.ground
        and points_alone
        and way.trust in _BELIEVED
    )


def suggested(view: str, position: str) -> tuple[str, ...]:
    """Return the measures a new pair begins with."""
    own = [
        one
        for one in offered(view, position)
        if not any(name.startswith(_FROM_SETUP) for name in one.needs)
    ]
    return tuple(one.id for one in own[:MOST_MEASURES])


def asked_points(session: Session) -> dict[str, tuple[str, ...]]:
    """Return for each frame the points that the measures of its pairs need, head to ball."""
    takes = {take.id: take for take in session.takes}
    wanted: dict[str, set[str]] = {frame.id: set() for frame in session.frames}
    for frame, take, measures in _measured(session, takes):
        for needs in _needs(take.view, frame.position, measures):
            for name in needs:
                if not name.startswith(_FROM_SETUP):
                    wanted[frame.id].add(name)
                    continue
                setup = _setup_of(session.frames, take.id)
                if setup is not None:
                    wanted[setup.id].add(name.removeprefix(_FROM_SETUP))
    return {
        name: tuple(point for point in POINT_NAMES if point in points)
        for name, points in wanted.items()
    }


def _measured(
    session: Session, takes: Mapping[str, Take]
) -> Iterator[tuple[Frame, Take, Sequence[str]]]:
    """Yield each frame of each pair, its clip and the measures that shall be read on it."""
    frames = {frame.id: frame for frame in session.frames}
    for pair in session.pairs:
        for name in (pair.before, pair.after):
            if name is None:
                continue
            frame = frames[name]
            take = takes[frame.take]
            yield frame, take, pair.measures or suggested(take.view, frame.position)


def _needs(view: str, position: str, measures: Sequence[str]) -> Iterator[tuple[str, ...]]:
    by_id = {one.id: one for one in offered(view, position)}
    for name in measures:
        if name in by_id:
            yield by_id[name].needs


def _setup_of(frames: Sequence[Frame], take: str) -> Frame | None:
    for frame in frames:
        if frame.take == take and frame.position == "setup":
            return frame
    return None
