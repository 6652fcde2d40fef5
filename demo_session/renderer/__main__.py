"""Draw the frames of the demo lessons: ``python demo_session/renderer --all``."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
if str(HERE.parents[1]) not in sys.path:
    sys.path.insert(0, str(HERE.parents[1]))

from demo_session.renderer.lesson_points import with_points  # noqa: E402
from demo_session.renderer.picture import write_frame  # noqa: E402
from demo_session.renderer.poses import LESSONS  # noqa: E402
from demo_session.renderer.truth import lesson_truth, truth_text  # noqa: E402

BYTES_PER_FRAME = {"adult": 170_000, "junior": 120_000}


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; 0 when at least one thing was made."""
    parser = argparse.ArgumentParser(prog="demo_session/renderer", description=__doc__)
    parser.add_argument("--all", action="store_true", help="every frame, the truth and the points")
    parser.add_argument(
        "--truth", action="store_true", help="the truth files and the lessons' points"
    )
    parser.add_argument(
        "--frame", action="append", default=[], metavar="TEXT",
        help="frames whose lesson:name contains TEXT, for example adult:face-on-before-impact",
    )  # fmt: skip
    parser.add_argument(
        "--preview", type=float, metavar="SHARE",
        help="draw at this share of the size with one ray a pixel, for example 0.4",
    )  # fmt: skip
    parser.add_argument(
        "--samples", type=int, default=3,
        help="rays per pixel along each side, at edges and in the grass (default 3)",
    )  # fmt: skip
    parser.add_argument(
        "--into", type=Path, default=HERE.parent, help="folder that receives the files"
    )
    options = parser.parse_args(arguments)
    if not (options.all or options.truth or options.frame):
        parser.error("choose --all, --truth or --frame TEXT")
    shrink = options.preview or 1.0
    samples = 1 if options.preview else options.samples
    made = 0
    for lesson in LESSONS.values():
        folder = options.into / lesson.folder
        if options.all or options.truth:
            path = folder.parent / "truth.json"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(truth_text(lesson), encoding="utf-8")
            made += 1
            written = path.with_name("session.yaml")
            if written.exists():
                text = with_points(written.read_text("utf-8"), lesson_truth(lesson))
                written.write_text(text, encoding="utf-8")
        for shot in lesson.shots:
            label = f"{lesson.name}:{shot.file}"
            if options.all or any(text in label for text in options.frame):
                start = time.perf_counter()
                path = write_frame(
                    lesson, shot, folder, shrink, samples, BYTES_PER_FRAME[lesson.name]
                )
                seconds = time.perf_counter() - start
                kilobytes = path.stat().st_size / 1000.0
                sys.stdout.write(f"{label}  {kilobytes:.0f} kB  {seconds:.1f} s\n")
                sys.stdout.flush()
                made += 1
    return 0 if made else 1


if __name__ == "__main__":
    sys.exit(main())
