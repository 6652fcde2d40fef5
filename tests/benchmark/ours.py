"""What is timed of our own: the demo's handout, whole, and without some of its pages."""

import datetime
import re
import shutil
from pathlib import Path

from reporter.handout.build import build_handout
from tests.benchmark.demo import DEMO

TODAY = datetime.date(2027, 4, 13)


def ours(target: Path, lesson: Path = DEMO) -> None:
    """Build a handout, the demo's if left out."""
    build_handout(
        lesson, output=target, brand="plain", layout="handout", paper="a4", today=TODAY, force=True
    )


def lessons_with_less(folder: Path) -> dict[str, Path]:
    """Write the demo with a flight told in words for its table of shots, and without any."""
    shutil.copytree(DEMO.parent / "frames", folder / "frames")
    shutil.copy(DEMO.parent / "shots.csv", folder)
    text = DEMO.read_text(encoding="utf-8")
    told = "  start: 2 deg left\n  bend: 21 m right\n  landing: 15 m right\n"
    without_shots = re.sub(r"(?m)^  how: .*\n  shots: .*\n", f"  how: by eye\n{told}", text)
    # A block of the file ends where the next begins at the left edge.
    without_flight = re.sub(r"(?ms)^(?:seen|wanted):\n(?: .*?\n|#.*?\n|\n)*", "", text)
    found = {}
    for name, one in (
        ("whole", text),
        ("without shots", without_shots),
        ("without a flight", without_flight),
    ):
        path = folder / f"{name.replace(' ', '-')}.yaml"
        path.write_text(one, encoding="utf-8")
        found[name] = path
    return found
