"""Many small invented lessons in a tree of folders, some of them with a planted fault."""

import io
import random
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

LESSON = """\
lesson: {{id: {id}, date: 2027-04-{day:02}}}
student: {{name: {name}, plays: {plays}}}
thoughts:
  - {thought}
drills: [{drill}]
{seen}"""
NAMES = ("Ora", "Wren", "Tam", "Isa", "Bo", "Lin", "Mio", "Una")
THOUGHTS = ("Turn, then swing.", "Brush the grass after the ball.", "Hold the finish.")
DRILLS = ("towel-behind", "feet-together", "pump", "finish-hold")
SEEN = ("", "seen: {club: 7-iron, start: 2 deg right, bend: 6 m left}\n",
        "seen: {club: driver, start: left, bend: a lot right}\n")  # fmt: skip
FRAME = (
    "takes: [{id: front, when: before, view: face-on}]\n"
    "frames:\n  - {id: one, take: front, file: one.jpg, position: setup}\n"
)
MARK = "fault"
"""A file of this name in a lesson folder makes a worker misbehave; see faulty.py."""


@dataclass(frozen=True)
class Planted:
    """A fault: the exit code the lesson must be listed with, and a word of the reason."""

    kind: str
    code: int
    word: str


KINDS = (
    Planted("unknown field", 3, "unknown field"),
    Planted("not YAML", 3, "session.yaml"),
    Planted("missing picture", 3, "there is no file"),
    Planted("cut picture", 3, "one.jpg"),
    Planted("picture bomb", 3, "one.jpg"),
    Planted("foreign file in its place", 5, "does not belong to this lesson"),
    Planted("hangs", 8, "took longer"),
    Planted("killed", 8, "ended"),
    Planted("too much memory", 8, "memory"),
    Planted("a minor's whole name", 9, "minor"),
    Planted("unknown drill", 3, "no drill"),
)


def small_picture() -> bytes:
    """A JPEG of noise: cut in half, it cannot be decoded."""
    held = io.BytesIO()
    Image.effect_noise((160, 120), 60).convert("RGB").save(held, "JPEG", quality=80)
    return held.getvalue()


def bomb() -> bytes:
    """A small PNG that claims 400 megapixels."""
    held = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(held, "PNG")
    return held.getvalue()


def write_lessons(root: Path, count: int, faults: int, seed: int) -> dict[str, Planted]:
    """Write so many lessons below a folder; return the planted faults by lesson name."""
    dice = random.Random(seed)
    bad = dict(zip(dice.sample(range(count), faults), range(faults), strict=True))
    planted = {}
    picture, big = small_picture(), None
    for number in range(count):
        kind = KINDS[bad[number] % len(KINDS)] if number in bad else None
        name = f"evening-{number // 50:03}/lesson-{number:05}"
        if kind is not None and kind.kind == "a minor's whole name":
            name = f"evening-{number // 50:03}/ora-winterthorn-{number:05}"
        folder = root / name
        folder.mkdir(parents=True)
        text = LESSON.format(
            id=f"l{number % (count - 7):05}",  # a few lessons share an id, as copies do
            day=1 + number % 30,
            name=dice.choice(NAMES),
            plays=dice.choice(("left", "right")),
            thought=dice.choice(THOUGHTS),
            drill=dice.choice(DRILLS),
            seen=dice.choice(SEEN),
        )
        pictured = number % 5 == 0 or (kind is not None and "picture" in kind.kind)
        if pictured:
            text += FRAME
            (folder / "one.jpg").write_bytes(picture)
        if kind is not None:
            planted[name] = kind
            if kind.kind == "picture bomb" and big is None:
                big = bomb()
            text = _spoil(folder, text, kind.kind, picture, big)
        (folder / "session.yaml").write_text(text, encoding="utf-8")
    return planted


def _spoil(folder: Path, text: str, kind: str, picture: bytes, big: bytes | None) -> str:
    if kind == "unknown field":
        return text + "wether: fine\n"
    if kind == "not YAML":
        return text + "seen: [1, {\n"
    if kind == "unknown drill":
        return text.replace("drills: [", "drills: [no-such-drill, ")
    if kind == "missing picture":
        (folder / "one.jpg").unlink()
    elif kind == "cut picture":
        # The header is whole, so that only the builder can find it, and only if it looks.
        (folder / "one.jpg").write_bytes(picture[: len(picture) // 2])
        return text + "pairs: [{before: one}]\n"
    elif kind == "picture bomb":
        (folder / "one.jpg").write_bytes(big or b"")
    elif kind in ("hangs", "killed", "too much memory"):
        (folder / MARK).write_text(kind, encoding="utf-8")
    elif kind == "a minor's whole name":
        return text.replace(
            text[text.index("student:") : text.index("thoughts:")],
            "student: {name: Ora Winterthorn, age_band: under-13}\n",
        )
    return text


def plant_foreign_files(output: Path, planted: dict[str, Planted]) -> None:
    """Put somebody else's file where a handout would go."""
    for name, kind in planted.items():
        if kind.kind == "foreign file in its place":
            target = output / f"{name}.pdf"
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(b"not a handout")
