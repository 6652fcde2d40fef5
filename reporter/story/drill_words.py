"""The closed vocabularies drills are searched by: what they act on, faults, things to avoid."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

ACTS_ON: Mapping[str, str] = MappingProxyType(
    {
        "aim": "where body and club face point before the swing",
        "balance": "standing still before, during and after the swing",
        "carry": "how far the ball flies",
        "club-path": "the direction the head travels through the ball",
        "face-angle": "where the face points at the strike",
        "face-closing": "how the face turns through the strike",
        "finish": "the end of the swing",
        "landing-spot": "where the ball first touches the ground",
        "low-point": "where the arc of the head is lowest",
        "order-of-downswing": "what starts down first",
        "pelvis-depth": "the distance of the pelvis from the ball",
        "position": "a place the swing passes through",
        "radius": "how wide the arc of the head is",
        "shaft-lean": "how far the handle leads the head",
        "shoulder-turn": "how far the shoulders turn and tilt",
        "side-tilt": "how the trunk leans away from or toward the target",
        "strike-place": "where on the face the ball is hit",
        "strike-height": "how high on the face, and how level, the ball is hit",
        "tempo": "the time of the backswing against the downswing",
        "transition": "the handle's way from the top to halfway down",
    }
)
"""What a drill acts on, and what the word means."""

FAULTS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "fat": ("low-point", "strike-height"),
        "thin": ("low-point", "strike-height", "pelvis-depth", "radius"),
        "toe": ("strike-place", "pelvis-depth", "balance"),
        "heel": ("strike-place", "pelvis-depth", "club-path"),
        "slice": ("face-angle", "club-path", "face-closing", "transition"),
        "hook": ("face-angle", "club-path"),
        "pull": ("club-path", "face-angle", "aim", "transition"),
        "push": ("club-path", "face-angle", "aim"),
        "two-way-miss": ("face-angle", "pelvis-depth", "tempo"),
        "high-and-weak": ("shaft-lean", "low-point"),
        "low-and-hot": ("strike-height", "shaft-lean"),
        "off-balance": ("balance", "finish"),
        "rushed": ("tempo", "order-of-downswing", "transition", "position"),
        "rising-up": ("pelvis-depth", "side-tilt", "position"),
        "short-turn": ("shoulder-turn", "position"),
        "distance-control": ("carry", "landing-spot"),
        "putts-off-line": ("face-angle", "aim"),
    }
)
"""A fault a coach may name, and what may be worked on; common practice, coach confirmed."""

AVOID: Mapping[str, str] = MappingProxyType(
    {
        "back": "back pain",
        "neck": "neck pain",
        "shoulder": "shoulder pain",
        "elbow": "elbow pain",
        "wrist": "wrist or hand pain",
        "hip": "hip pain",
        "knee": "knee pain",
        "ankle": "ankle or foot pain",
        "balance": "unsure balance",
        "beginner": "the first weeks of playing",
        "junior": "a child, or a club too long or too heavy",
        "crowded-range": "a range too full for things on the ground",
        "hard-mat": "a hard mat",
        "slippery-ground": "wet or slippery ground",
    }
)
"""Things a student or a place may have to avoid, without a diagnosis."""

ActsOn = Literal[
    "aim", "balance", "carry", "club-path", "face-angle", "face-closing", "finish",
    "landing-spot", "low-point", "order-of-downswing", "pelvis-depth", "position", "radius",
    "shaft-lean", "shoulder-turn", "side-tilt", "strike-place", "strike-height", "tempo",
    "transition",
]  # fmt: skip
Fault = Literal[
    "fat", "thin", "toe", "heel", "slice", "hook", "pull", "push", "two-way-miss",
    "high-and-weak", "low-and-hot", "off-balance", "rushed", "rising-up", "short-turn",
    "distance-control", "putts-off-line",
]  # fmt: skip
Avoid = Literal[
    "back", "neck", "shoulder", "elbow", "wrist", "hip", "knee", "ankle", "balance",
    "beginner", "junior", "crowded-range", "hard-mat", "slippery-ground",
]  # fmt: skip
