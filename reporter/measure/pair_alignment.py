"""What the pictures of a lesson's pairs say of its cameras: stayed, turned, or moved."""

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reporter.measure.align import Alignment, AlignmentError, align
from reporter.measure.camera import camera_untouched
from reporter.measure.measurement import Measurement
from reporter.measure.places import Laying
from reporter.measure.read import Reader
from reporter.measure.same_spots import FULL, QUICK, Fineness
from reporter.measure.uncertainty import scale_of
from reporter.session.frames import PictureRefusedError, open_frame
from reporter.session.load import LoadedSession
from reporter.session.schema import Frame, Pair, Take

Greys = Callable[[Frame], NDArray[np.uint8]]

MAP_ERROR = 0.7
"""Standard deviation that laying adds to a place, on a 1920 x 1080 picture [px]; the large run in
docs/pictures.md has a median of 0.2 to 0.5 px and 95 of 100 within 0.7 to 1.1."""

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
    readings : tuple of Measurement
        The measures of the picture after as the camera of the picture before sees it; empty
        where the camera did not stay, or one label says that it did and the pictures agree.
    """

    index: int
    before: str
    after: str
    view: str
    label: str | None
    size: tuple[int, int]
    alignment: Alignment | None
    obstacle: str = ""
    readings: tuple[Measurement, ...] = ()

    @property
    def stayed(self) -> bool:
        """Whether the camera is taken to have stood in one place for both pictures.

        The pictures decide where they tell, the label where they do not.
        """
        if self.verdict == "untouched" or self.lies_on_before:
            return True
        return self.label is not None and self.verdict == "cannot tell"

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


def compared_pairs(
    loaded: LoadedSession, grey_of: Greys | None = None
) -> tuple[PairAlignment, ...]:
    """Return the pairs whose pictures had to be compared.

    Those whose labels leave open how the camera stood; of two clips with one label the first
    pair, to see whether it is true, and all of them if it is not.

    Parameters
    ----------
    loaded : LoadedSession
        The lesson.
    grey_of : callable, optional
        Gives the upright picture of a frame in grey; read from the lesson's folder if left out.
    """
    grey = grey_of or (lambda frame: grey_picture(loaded, frame))
    pairs = list(_comparable(loaded))
    labelled = [camera_untouched(*_takes(loaded, pair)) for _, pair in pairs]
    clips = [tuple(take.id for take in _takes(loaded, pair)) for _, pair in pairs]
    first = {two: at for at, two in reversed(list(enumerate(clips)))}
    found = {
        at: _compared(loaded, *pairs[at], grey, QUICK)
        for at in range(len(pairs))
        if labelled[at] and first[clips[at]] == at
    }
    doubted = {
        clips[at] for at, one in found.items() if one.verdict in ("moved", "turned or zoomed")
    }
    more = [at for at in range(len(pairs)) if not labelled[at] or clips[at] in doubted]
    found |= dict(zip(more, _all_compared(loaded, [pairs[at] for at in more], grey), strict=True))
    return tuple(found[at] for at in sorted(found))


def with_readings(compared: Sequence[PairAlignment], reader: Reader) -> tuple[PairAlignment, ...]:
    """Return the pairs, with the measures of laid pictures where the camera stayed."""
    return tuple(_with_readings(one, reader) for one in compared)


def _with_readings(one: PairAlignment, reader: Reader) -> PairAlignment:
    agreed = one.label is not None and one.verdict == "untouched"
    if one.alignment is None or not one.stayed or agreed or one.verdict == "cannot tell":
        return one
    # What nobody touched was not mapped either, so that nothing is added to its places.
    error = MAP_ERROR * scale_of(one.size) if one.lies_on_before else 0.0
    laying = Laying(np.array(one.alignment.matrix), max(error, one.alignment.residual_px))
    return replace(one, readings=reader.read_laid(one.after, one.before, laying))


def one_pair_a_camera(loaded: LoadedSession) -> tuple[PairAlignment, ...]:
    """Return one pair for every two clips, the first whose pictures tell something."""
    found: dict[tuple[str, str], PairAlignment] = {}
    for index, pair in _comparable(loaded):
        first, second = _takes(loaded, pair)
        clips = (first.id, second.id)
        if clips not in found or found[clips].verdict == "cannot tell":
            found[clips] = _compared(loaded, index, pair, lambda frame: grey_picture(loaded, frame))
    return tuple(found.values())


def _all_compared(
    loaded: LoadedSession, pairs: Sequence[tuple[int, Pair]], grey_of: Greys
) -> list[PairAlignment]:
    if len(pairs) < 2:
        return [_compared(loaded, index, pair, grey_of) for index, pair in pairs]
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(lambda one: _compared(loaded, one[0], one[1], grey_of), pairs))


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


def _compared(
    loaded: LoadedSession,
    index: int,
    pair: Pair,
    grey_of: Greys,
    fineness: Fineness = FULL,
) -> PairAlignment:
    frames, takes = _frames(loaded, pair), _takes(loaded, pair)
    bodies = [[point.at for point in frame.points.values() if point.at] for frame in frames]
    alignment, obstacle = None, ""
    try:
        alignment = align(
            *(grey_of(frame) for frame in frames),
            body_before=bodies[0],
            body_after=bodies[1],
            fineness=fineness,
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


def grey_picture(loaded: LoadedSession, frame: Frame) -> NDArray[np.uint8]:
    """Return a frame in grey; nothing of it is kept."""
    picture = open_frame(loaded.folder, frame.file)
    return np.asarray(picture.image.convert("L"), dtype=np.uint8)
