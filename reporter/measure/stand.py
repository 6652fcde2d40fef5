"""How each camera of a lesson stood, as far as its pictures tell."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reporter.measure.camera import AZIMUTH_ERROR, Roll, camera_of
from reporter.measure.measurement import Class, Measurement
from reporter.measure.read import Reader
from reporter.session.schema import Session


@dataclass(frozen=True, slots=True)
class CameraStand:
    """One camera set-up of a lesson.

    Attributes
    ----------
    label : str or None
        The coach's label; None where a clip has none and stands for itself.
    view : str
        The view of its clips.
    takes : tuple of str
        Clips taken with it.
    roll : float
        How far it was turned: positive where level lines run down to the right [deg].
    roll_error : float
        Standard deviation of `roll` [deg].
    roll_is_known : bool
        A level or plumb line on one of its pictures told the roll; all are turned level by it.
    azimuth : float
        How far it looked round from its ideal line, positive where it stood nearer the target
        (face-on) or the ball's side (down-the-line); 0 where nothing tells it [deg].
    azimuth_error : float
        Standard deviation of `azimuth`; assumed where nothing tells it [deg].
    azimuth_is_known : bool
        Ground points or a stick on the ground told it.
    told_by : str
        Which of the two; empty otherwise.
    before_and_after : bool
        It took clips of both, so its roll and its stand cancel in every change.
    speaks : tuple of (Class, tuple of str)
        Ids of the measures that its pictures are marked for, by class, a measure in the best
        class that it has at any position.
    """

    label: str | None
    view: str
    takes: tuple[str, ...]
    roll: float
    roll_error: float
    roll_is_known: bool
    azimuth_error: float
    before_and_after: bool
    azimuth: float = 0.0
    azimuth_is_known: bool = False
    told_by: str = ""
    speaks: tuple[tuple[Class, tuple[str, ...]], ...] = ()


def camera_stands(
    session: Session,
    sizes: Mapping[str, tuple[int, int]],
    measurements: Sequence[Measurement] | None = None,
) -> tuple[CameraStand, ...]:
    """Return how every camera of a lesson stood, in the order of the clips.

    Parameters
    ----------
    session : Session
        The lesson file, checked.
    sizes : mapping
        Frame id to width and height of its upright picture [px].
    measurements : sequence of Measurement, optional
        As `measure_session` returns them; made here if left out.

    Returns
    -------
    tuple of CameraStand
        One for each camera label, and one for each clip without a label.
    """
    reader = Reader(session, sizes)
    known = reader.all() if measurements is None else measurements
    stands = []
    for key in dict.fromkeys(camera_of(take) for take in session.takes):
        mine = [take for take in session.takes if camera_of(take) == key]
        roll, heading = reader.rolls.get(key, Roll()), reader.headings.get(key)
        clips = {take.id for take in mine}
        frames = {frame.id for frame, take in reader.frames if take.id in clips}
        stands.append(
            CameraStand(
                label=mine[0].camera,
                view=mine[0].view,
                takes=tuple(take.id for take in mine),
                roll=roll.degrees,
                roll_error=roll.error,
                roll_is_known=roll.known,
                azimuth=heading.degrees if heading else 0.0,
                azimuth_error=heading.error if heading else AZIMUTH_ERROR,
                azimuth_is_known=heading is not None and heading.known,
                told_by=heading.told_by if heading else "",
                speaks=_by_class([one for one in known if one.frame in frames]),
                before_and_after=len({take.when for take in mine}) == 2,
            )
        )
    return tuple(stands)


def _by_class(measurements: Sequence[Measurement]) -> tuple[tuple[Class, tuple[str, ...]], ...]:
    """Return the measures of each class that has any, the most trusted first.

    What is not marked says nothing of the camera, so it is left out; what a view cannot show is
    told even where it is not marked.
    """
    best: dict[str, Class] = {}
    ranks = list(Class)
    for one in measurements:
        if one.value is None and one.trust is not Class.NOT_FROM_THIS_VIEW:
            continue
        known = best.get(one.measure, one.trust)
        best[one.measure] = min(known, one.trust, key=ranks.index)
    found = ((rank, tuple(name for name, trust in best.items() if trust is rank)) for rank in ranks)
    return tuple((rank, names) for rank, names in found if names)
