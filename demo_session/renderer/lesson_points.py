"""Write the points of a lesson file anew from its truth: what a coach would have clicked.

Everything above the line ``frames:`` belongs to whoever wrote the lesson and stays as it is.
"""

from __future__ import annotations

from typing import Any

POINTS = (
    "head",
    "neck",
    "pelvis",
    *(
        f"{side}_{joint}"
        for joint in ("shoulder", "elbow", "wrist", "hip", "knee", "ankle", "heel", "toe")
        for side in ("lead", "trail")
    ),
    "handle",
    "hosel",
    "ball",
)
JUDGED_FROM_THE_OUTLINE = frozenset({"head", "neck", "pelvis", "lead_heel", "trail_heel"})
"""What a coach can place though something stands before it: by the shape of the body and shoe."""
SHORT_VIEW = {"face-on": "front", "down-the-line": "line"}
START = "\nframes:\n"


def with_points(lesson_text: str, truth: dict[str, Any]) -> str:
    """Return a lesson file with its frames written anew from the truth.

    Raises
    ------
    ValueError
        If the lesson file has no line ``frames:``.
    """
    head, found, _ = lesson_text.partition(START)
    if not found:
        message = "the lesson file has no line frames:"
        raise ValueError(message)
    return head + START + "".join(_frame(frame) for frame in truth["frames"])


def _frame(frame: dict[str, Any]) -> str:
    name = frame["file"].rsplit("/", 1)[-1].removesuffix(".jpg")
    width, height = frame["size"]
    lines = [
        f"  - id: {name}",
        f"    take: {SHORT_VIEW[frame['view']]}-{frame['when']}",
        f"    position: {frame['position']}",
        f"    file: {frame['file']}",
        f"    size: [{width}, {height}]",
        "    points:",
        *(f"      {point}: {_point(frame, point)}" for point in POINTS),
    ]
    (foot, top), *_ = (post["pixels"] for post in frame["plumb"])
    lines.append("    lines:")
    lines.append(f"      plumb: [{_pixels(foot)}, {_pixels(top)}]")
    if frame["position"] == "setup":
        lines.append("    ground_points:")
        for spot in frame["ground"]:
            along, left = spot["world_cm"][:2]
            # A lesson file counts to the right of the target; the world counts to the left.
            ground = f"[{along:g} cm, {-left:g} cm]"
            lines.append(f"      - {{at: {_pixels(spot['pixel'])}, ground: {ground}}}")
    return "\n".join(lines) + "\n"


def _point(frame: dict[str, Any], name: str) -> str:
    x, y = frame["points"][name]
    width, height = frame["size"]
    covered = name in frame["hidden"] and name not in JUDGED_FROM_THE_OUTLINE
    far_side = frame["view"] == "down-the-line" and name == "lead_heel"
    inside = 0 <= x <= width and 0 <= y <= height
    return "hidden" if covered or far_side or not inside else _pixels((x, y))


def _pixels(at: tuple[float, float]) -> str:
    return f"[{at[0]:.1f}, {at[1]:.1f}]"
