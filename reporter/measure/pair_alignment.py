"""What the pictures of a lesson's pairs say of its cameras: stayed, turned, or moved."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.align import Alignment, AlignmentError, align
from reporter.measure.camera import camera_untouched
from reporter.measure.uncertainty import scale_of
from reporter.session.frames import PictureRefusedError, open_frame
from reporter.session.load import LoadedSession
from reporter.session.schema import Frame, Pair, Take

LARGEST_RESIDUAL = 2.0
"""Half the spots must lie within this for a picture to be laid on another, at 1920 x 1080 [px]."""


@dataclass(frozen=True, slots=True)
class PairAlignment:
    """One pair's pictures compared.

    Attributes
    ----------
    index : int
        Of the pair in the lesson file.
    before, after : str
        Ids of its frames.
    view : str
        Of its clips.
    label : str or None
        The camera label that both clips carry; None where they carry none or two.
    size : tuple of int
        Width and height of the before picture [px].
    alignment : Alignment or None
        None where the pictures cannot be compared.
    obstacle : str
        Why they cannot, in plain words; empty otherwise.
    """

    index: int
    before: str
    after: str
    view: str
    label: str | None
    size: tuple[int, int]
    alignment: Alignment | None
    obstacle: str = ""

    @property
    def lies_on_before(self) -> bool:
        """Whether the after picture is to be printed laid on the before picture."""
        found = self.alignment
        return (
            found is not None
            and found.verdict == "turned or zoomed"
            and found.residual_px <= LARGEST_RESIDUAL * scale_of(self.size)
        )

    @property
    def verdict(self) -> str:
        """What the pictures say of the camera."""
        return self.alignment.verdict if self.alignment is not None else "cannot tell"

    @property
    def reason(self) -> str:
        """Why nothing can be told; empty otherwise."""
        return self.obstacle or (self.alignment.reason if self.alignment is not None else "")


def unlabelled_pairs(loaded: LoadedSession) -> tuple[PairAlignment, ...]:
    """Return the pairs whose labels do not say that the camera stayed, their pictures compared."""
    return tuple(
        _compared(loaded, index, pair)
        for index, pair in _comparable(loaded)
        if not camera_untouched(*_takes(loaded, pair))
    )


def one_pair_a_camera(loaded: LoadedSession) -> tuple[PairAlignment, ...]:
    """Return one pair for every two clips, the first whose pictures tell something."""
    found: dict[tuple[str, str], PairAlignment] = {}
    for index, pair in _comparable(loaded):
        first, second = _takes(loaded, pair)
        clips = (first.id, second.id)
        if clips not in found or found[clips].verdict == "cannot tell":
            found[clips] = _compared(loaded, index, pair)
    return tuple(found.values())


def _comparable(loaded: LoadedSession) -> Iterable[tuple[int, Pair]]:
    """Return the pairs of two different clips of one view, neither a mirror image of the other."""
    for index, pair in enumerate(loaded.session.pairs):
        if pair.before and pair.after:
            first, second = _takes(loaded, pair)
            if (
                first.id != second.id
                and first.view == second.view
                and first.mirrored == second.mirrored
            ):
                yield index, pair


def _frames(loaded: LoadedSession, pair: Pair) -> tuple[Frame, Frame]:
    session = loaded.session
    return session.frame(pair.before or ""), session.frame(pair.after or "")


def _takes(loaded: LoadedSession, pair: Pair) -> tuple[Take, Take]:
    first, second = _frames(loaded, pair)
    return loaded.session.take_of(first), loaded.session.take_of(second)


def _compared(loaded: LoadedSession, index: int, pair: Pair) -> PairAlignment:
    frames, takes = _frames(loaded, pair), _takes(loaded, pair)
    bodies = [[point.at for point in frame.points.values() if point.at] for frame in frames]
    alignment, obstacle = None, ""
    try:
        alignment = align(
            *(_grey(loaded, frame) for frame in frames),
            body_before=bodies[0],
            body_after=bodies[1],
        )
    except AlignmentError as error:
        obstacle = str(error)
    except PictureRefusedError as error:  # told at its line by whoever prints it
        obstacle = error.reason
    return PairAlignment(
        index=index,
        before=frames[0].id,
        after=frames[1].id,
        view=takes[0].view,
        label=takes[0].camera if camera_untouched(*takes) else None,
        size=loaded.sizes[frames[0].id],
        alignment=alignment,
        obstacle=obstacle,
    )


def _grey(loaded: LoadedSession, frame: Frame) -> NDArray[np.uint8]:
    """Return a frame in grey; nothing of it is kept."""
    picture = open_frame(loaded.folder, frame.file)
    return np.asarray(picture.image.convert("L"), dtype=np.uint8)
