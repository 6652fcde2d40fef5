"""Pairs of letters that stand closer or wider than their widths: read off the typeface's table.

Each pair is asked of the shaping library once and kept; only the feature ``kern`` is on, so every
character keeps a glyph of its own and the words can be read out of the file (OpenType 1.9,
registered features).
"""

from itertools import pairwise

KERN_ONLY = {"kern": True, "liga": False, "clig": False, "dlig": False, "calt": False}
NO_KERN = {**KERN_ONLY, "kern": False}
OWN_SCRIPTS = ("Latn", "Grek", "Cyrl")
LOOSE = frozenset(" \u00a0\n\t")
"""Beside a space nothing is moved: a line is as wide as its words and spaces together."""


class Pairs(dict[str, float]):
    """From two characters to the change of their distance, in ems; a pair is measured once."""

    def __init__(self, data: bytes) -> None:
        super().__init__()
        # Loaded here: a program that prints nothing has no use for it.
        import uharfbuzz  # type: ignore[import-untyped]

        self._shaper = uharfbuzz
        face = uharfbuzz.Face(data)
        self._font = uharfbuzz.Font(face)
        self._units = float(face.upem)

    def __missing__(self, pair: str) -> float:
        value = 0.0
        if not LOOSE.intersection(pair):
            kerned, plain = self._advances(pair, KERN_ONLY), self._advances(pair, NO_KERN)
            # Two characters that become one sign have no distance between them.
            if len(kerned) == len(plain) == 2:
                value = (sum(kerned) - sum(plain)) / self._units
        self[pair] = value
        return value

    def _advances(self, text: str, features: dict[str, bool]) -> list[int]:
        buffer = self._shaper.Buffer()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        if buffer.script not in OWN_SCRIPTS:
            # Digits and stops belong to the words around them.
            buffer.script = "Latn"
        self._shaper.shape(self._font, buffer, features)
        return [position.x_advance for position in buffer.glyph_positions]

    def of(self, text: str) -> list[float]:
        """Return the change of distance after each character but the last, in ems."""
        return [self[one + other] for one, other in pairwise(text)]
