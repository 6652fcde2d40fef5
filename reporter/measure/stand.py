"""How each camera of a lesson stood, as far as its pictures tell."""

from collections.abc import Mapping
from dataclasses import dataclass

from reporter.measure.camera import AZIMUTH_ERROR, Roll, camera_of, rolls_of
from reporter.measure.uncertainty import learned_click_error
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
    azimuth_error : float
        Standard deviation assumed of how far it stood round from its ideal line [deg].
    before_and_after : bool
        It took clips of both, so its roll and its stand cancel in every change.
    """

    label: str | None
    view: str
    takes: tuple[str, ...]
    roll: float
    roll_error: float
    roll_is_known: bool
    azimuth_error: float
    before_and_after: bool


def camera_stands(
    session: Session, sizes: Mapping[str, tuple[int, int]]
) -> tuple[CameraStand, ...]:
    """Return how every camera of a lesson stood, in the order of the clips.

    Parameters
    ----------
    session : Session
        The lesson file, checked.
    sizes : mapping
        Frame id to width and height of its upright picture [px].

    Returns
    -------
    tuple of CameraStand
        One for each camera label, and one for each clip without a label.
    """
    takes = {take.id: take for take in session.takes}
    frames = [(frame, takes[frame.take]) for frame in session.frames if frame.take in takes]
    rolls = rolls_of(frames, sizes, learned_click_error(frames, sizes))
    stands = []
    for key in dict.fromkeys(camera_of(take) for take in session.takes):
        mine = [take for take in session.takes if camera_of(take) == key]
        roll = rolls.get(key, Roll())
        stands.append(
            CameraStand(
                label=mine[0].camera,
                view=mine[0].view,
                takes=tuple(take.id for take in mine),
                roll=roll.degrees,
                roll_error=roll.error,
                roll_is_known=roll.known,
                azimuth_error=AZIMUTH_ERROR,
                before_and_after=len({take.when for take in mine}) == 2,
            )
        )
    return tuple(stands)
