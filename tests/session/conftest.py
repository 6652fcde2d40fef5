"""A lesson's folder with small pictures, and a lesson file to start from."""

from pathlib import Path

import pytest
from PIL import Image

LESSON = """\
format: 1
lesson: {id: 3f9a, date: 2026-11-20, coach: Ida Brandt, next_lesson: 2026-12-01 17:30}
student:
  name: Wren
  plays: right
  units: yards
consent: {photos: yes, by: Wren, date: 2026-11-20, until: 2027-11-20}
takes:
  - {id: t1, when: before, view: face-on, club: driver, camera: A}
  - {id: t2, when: after, view: face-on, club: driver, camera: A}
frames:
  - id: f1
    take: t1
    position: top
    file: frames/before.png
    size: [120, 160]
    points:
      head: [60, 20.5]
      lead_knee: hidden
      trail_knee: {at: [70, 110], again: [[71, 110]], confirmed: no}
    lines: {plumb: [[10, 0], [10, 160]]}
    ground_points:
      - {at: [40, 150], ground: [0 cm, 60 cm]}
  - {id: f2, take: t2, position: top, file: frames/after.png, points: {head: [62, 21]}}
seen:
  club: driver
  head_speed: 93 mph
  start: 2 deg left
  bend: a lot right
  landing: 20 yd right
wanted: {start: straight, bend: none, fairway_width: 30 m}
pairs:
  - {before: f1, after: f2, measures: [head-height], sentence: Look at the head}
thoughts:
  - say: Keep the head level
    because: the club comes back to the ball
  - Turn, then swing
drills:
  - feet-together
  - {name: Own drill, do: Swing slowly, tally: [3, 8]}
plan:
  visits_per_week: 3
  if_then:
    - {when: the ball starts left, then: check the aim}
notes: |
  First line
  second line
silence:
  - {id: many-drills, reason: the student asked for both}
"""


@pytest.fixture
def lesson_text() -> str:
    return LESSON


@pytest.fixture
def lesson_folder(tmp_path: Path) -> Path:
    """A folder in a folder of its own, so that nothing above it counts as an academy's."""
    folder = tmp_path / "a" / "b" / "c" / "lesson"
    (folder / "frames").mkdir(parents=True)
    for name in ("before", "after"):
        Image.new("RGB", (120, 160), "green").save(folder / "frames" / f"{name}.png")
    (folder / "session.yaml").write_text(LESSON, encoding="utf-8")
    return folder
