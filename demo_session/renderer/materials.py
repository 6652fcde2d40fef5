"""Colours and finishes of everything that is drawn."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

NAMES = (
    "shirt", "collar", "trousers", "belt", "buckle", "skin", "hair", "cap", "brim", "glove",
    "shoe", "shoe_trim", "sole", "sock", "grip", "shaft", "club", "club_face", "ball", "tee",
    "stick", "post", "post_top", "button",
)  # fmt: skip
NUMBER = {name: index for index, name in enumerate(NAMES)}

# colour (screen red, green, blue), mirror strength, mirror sharpness, sheen at grazing angles
_ADULT = {
    "shirt": ("#a85745", 0.03, 8.0, 0.22),
    "collar": ("#9a4d3d", 0.03, 8.0, 0.22),
    "trousers": ("#56606e", 0.03, 8.0, 0.20),
    "belt": ("#4a3426", 0.20, 30.0, 0.05),
    "buckle": ("#b9b7ae", 0.60, 50.0, 0.05),
    "skin": ("#c98e6b", 0.10, 14.0, 0.14),
    "hair": ("#4a3223", 0.14, 18.0, 0.12),
    "cap": ("#efece4", 0.03, 8.0, 0.10),
    "brim": ("#e6e2d9", 0.03, 8.0, 0.10),
    "glove": ("#f1efe9", 0.06, 14.0, 0.08),
    "shoe": ("#efefec", 0.16, 26.0, 0.06),
    "shoe_trim": ("#59626c", 0.14, 22.0, 0.06),
    "sole": ("#c9c6bd", 0.05, 12.0, 0.02),
    "sock": ("#e8e6e0", 0.02, 8.0, 0.15),
    "grip": ("#26282a", 0.08, 14.0, 0.05),
    "shaft": ("#8d9297", 0.70, 60.0, 0.05),
    "club": ("#15181c", 0.85, 120.0, 0.30),
    "club_face": ("#70757a", 0.40, 40.0, 0.10),
    "ball": ("#fbfbf8", 0.25, 60.0, 0.05),
    "tee": ("#d9b98a", 0.05, 12.0, 0.05),
    "stick": ("#f0a028", 0.22, 40.0, 0.05),
    "post": ("#6b5238", 0.04, 10.0, 0.05),
    "post_top": ("#f2f0ea", 0.05, 12.0, 0.05),
    "button": ("#e9ddd0", 0.30, 40.0, 0.05),
}
_JUNIOR = dict(_ADULT) | {
    "shirt": ("#3f7f86", 0.03, 8.0, 0.22),
    "collar": ("#397379", 0.03, 8.0, 0.22),
    "trousers": ("#8a8474", 0.03, 8.0, 0.20),
    "hair": ("#7a5a35", 0.14, 18.0, 0.12),
    "cap": ("#2f4a63", 0.03, 8.0, 0.14),
    "brim": ("#294157", 0.03, 8.0, 0.14),
    "club": ("#a9aeb2", 0.80, 70.0, 0.10),
    "club_face": ("#9aa0a4", 0.60, 50.0, 0.10),
}


def linear(colour: str) -> tuple[float, float, float]:
    """Linear light of a screen colour written as #rrggbb (IEC 61966-2-1)."""
    values = [int(colour[k : k + 2], 16) / 255.0 for k in (1, 3, 5)]
    parts = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values]
    return parts[0], parts[1], parts[2]


def material_table(outfit: str) -> NDArray[np.float64]:
    """Rows of red, green, blue (linear), mirror strength, sharpness, sheen; shape (n, 6)."""
    chosen = _JUNIOR if outfit == "junior" else _ADULT
    rows = [(*linear(chosen[name][0]), *chosen[name][1:]) for name in NAMES]
    return np.array(rows, dtype=np.float64)
