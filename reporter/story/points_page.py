"""The page of points: every frame with its marks, what was refined, and how far it moved."""

from collections.abc import Mapping

from reporter.measure.refined import RefinedFrame
from reporter.measure.snap_points import SnappedPoint
from reporter.session.schema import Frame, Session
from reporter.speech import later, say
from reporter.story.report import Block, Paragraph, PointsPicture, PointSpot, Run, Still
from reporter.story.wording import NO_BREAK, POSITION_WORDS, VIEW_WORDS, sentence

WHY = {
    "blurred": later("it moved while the picture was taken"),
    "weak": later("it can hardly be seen there"),
    "two edges": later("another line runs close beside it"),
    "too short": later("it is too short on the picture"),
    "too small": later("it is too small on the picture"),
}


def points_blocks(
    session: Session, refined: Mapping[str, RefinedFrame], sizes: Mapping[str, tuple[int, int]]
) -> list[Block]:
    """Return a title and one picture a frame, nothing where no frame was to be refined.

    Parameters
    ----------
    session : Session
        The lesson.
    refined : mapping
        Frame id to what was refined on it.
    sizes : mapping
        Frame id to width and height of its upright picture [px].
    """
    frames = [frame for frame in session.frames if frame.id in refined]
    if not frames:
        return []
    limit = max(refined[frame.id].limit_px for frame in frames)
    lead = say(
        "Shaft, ball and lines were refined on the pictures. No point moved farther than {limit} "
        "pixels of its picture. A cross is where it was clicked, a ring where it counts now; what "
        "was not believed stays as clicked. The lesson file is as it was.",
        limit=f"{limit:.0f}",
    )
    return [
        Paragraph((Run(say("Points and what moved")),), "heading"),
        Paragraph((Run(lead),), "note"),
        *(_picture(session, frame, refined[frame.id], sizes[frame.id]) for frame in frames),
    ]


def _picture(
    session: Session, frame: Frame, found: RefinedFrame, size: tuple[int, int]
) -> PointsPicture:
    take = session.take_of(frame)
    spots = tuple(_spot(number, one) for number, one in enumerate(found.points, start=1))
    caption = sentence(f"{POSITION_WORDS[frame.position]}, {VIEW_WORDS[take.view]}").rstrip(".")
    alt = say("Frame {frame} with its marked points.", frame=frame.id)
    still = Still(
        frame=frame.id,
        state="before" if take.when == "before" else "after",
        caption=caption,
        alt=f"{alt} {' '.join(spot.words for spot in spots)}".strip(),
        size=size,
        points={name: point.at for name, point in frame.points.items() if point.at},
    )
    note = found.obstacle
    if not note and not spots:
        note = say("no shaft, ball or line is marked here")
    return PointsPicture(still, f"{frame.id}: {caption}", spots, sentence(note) if note else "")


def _spot(number: int, one: SnappedPoint) -> PointSpot:
    if one.flag:
        words = say("{name}: as clicked, {why}", name=one.name, why=say(WHY[one.flag]))
    else:
        moved = f"{one.moved_px:.1f}{NO_BREAK}px"
        words = say("{name}: moved {distance}", name=one.name, distance=moved)
    return PointSpot(number, one.clicked, one.place, sentence(words))
