"""Time `build` on the demo against the least that any program would have to do, and two rivals.

Every round runs all contestants in turn, so that a machine that slows down slows all of them.

* ours: the whole run, from the lesson file to a published PDF;
* floor: the same pictures decoded, turned, cropped, resampled and encoded with Pillow, then
  placed with the same words on a bare canvas: no measuring, flight, layout, charts or checks;
* Typst and WeasyPrint: the same cleaned pictures and the same words typeset by them; the time
  for cleaning the pictures is added, since both need it done first.
"""

import argparse
import datetime
import io
import json
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from PIL import Image, ImageOps

from reporter.handout.build import build_handout, explain_flight, report_of
from reporter.handout.print_pictures import print_pictures
from reporter.measure import measure_session
from reporter.session.load import load_session
from reporter.typeset import load_brand, load_page_layout, typeset_report
from reporter.typeset.boxes import Page, Picture, Text, boxes_of
from reporter.typeset.faces import font
from tests.benchmark.rivals import typst_round, weasyprint_round

DEMO = Path(__file__).parents[2] / "demo_session" / "session.yaml"
TODAY = datetime.date(2027, 4, 13)
ROUNDS = 7
NOISY = 0.15


def ours(target: Path) -> None:
    """Build the demo's handout."""
    build_handout(
        DEMO, output=target, brand="plain", layout="handout", paper="a4", today=TODAY, force=True
    )


def pages_and_files() -> tuple[tuple[Page, ...], dict[str, Path]]:
    """Return the demo's pages and where its frames lie."""
    loaded = load_session(DEMO)
    report = report_of(
        loaded,
        measure_session(loaded.session, loaded.sizes),
        explain_flight(loaded),
        today=TODAY,
    )
    pages = typeset_report(report, load_page_layout("handout"), load_brand("plain"), "a4")
    return pages, {frame.id: loaded.folder / frame.file for frame in loaded.session.frames}


def clean(box: Picture, path: Path) -> bytes:
    """Decode, turn, crop, resample and encode one picture with Pillow alone."""
    with Image.open(path) as opened:
        opened.load()
        upright = ImageOps.exif_transpose(opened).convert("RGB")
    left, top, right, bottom = box.crop
    dots = box.width / 25.4 * 300
    width = round(min(right - left, dots) if right - left > 1.15 * dots else right - left)
    height = round(width * (bottom - top) / (right - left))
    small = upright.resize((width, height), Image.Resampling.HAMMING, box=box.crop, reducing_gap=2)
    target = io.BytesIO()
    small.save(target, "JPEG", quality=85, subsampling=0)
    return target.getvalue()


def floor(pages: tuple[Page, ...], files: dict[str, Path], target: Path) -> float:
    """Write the same words and pictures on a bare canvas; return the seconds for pictures."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0
    scale = 72 / 25.4
    spent = 0.0
    with tempfile.TemporaryDirectory() as folder:
        canvas = Canvas(str(target), pageCompression=1)
        for page in pages:
            canvas.setPageSize((page.width * scale, page.height * scale))
            for box in boxes_of(page):
                if isinstance(box, Text):
                    canvas.setFont(font(box.face).fontName, box.size)
                    canvas.drawString(box.x * scale, (page.height - box.y) * scale, box.text)
                elif isinstance(box, Picture):
                    begun = time.perf_counter()
                    data = clean(box, files[box.frame])
                    spent += time.perf_counter() - begun
                    path = Path(folder) / f"{box.frame}.jpg"
                    path.write_bytes(data)
                    canvas.drawImage(
                        str(path),
                        box.x * scale,
                        (page.height - box.y - box.height) * scale,
                        box.width * scale,
                        box.height * scale,
                    )
            canvas.showPage()
        canvas.save()
    return spent


def timed(action: Callable[[], object]) -> float:
    """Return the wall seconds of an action."""
    begun = time.perf_counter()
    action()
    return time.perf_counter() - begun


def quartiles(values: list[float]) -> tuple[float, float, float]:
    """Return lower quartile, median and upper quartile."""
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    return low, middle, high


def help_ratio() -> tuple[float, list[str]]:
    """Return how much slower ``--help`` is than an empty click program, and what it imports."""
    empty = "import click\n@click.command()\ndef f(): pass\nf(['--help'], standalone_mode=False)"
    ours_code = [sys.executable, "-m", "reporter", "--help"]
    pairs = []
    for _ in range(9):
        one = timed(lambda: subprocess.run(ours_code, capture_output=True, check=True))
        other = timed(
            lambda: subprocess.run([sys.executable, "-c", empty], capture_output=True, check=True)
        )
        pairs.append(one / other)
    traced = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "reporter", "--help"],
        capture_output=True,
        text=True,
        check=True,
    ).stderr
    heavy = ("reportlab", "matplotlib", "cv2", "scipy", "pypdf", "pydantic", "numpy", "PIL")
    names = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in traced.splitlines()}
    return statistics.median(pairs), sorted(names & set(heavy))


def peak_memory() -> float:
    """Return the peak memory of one cold build in mebibytes."""
    code = (
        "import resource,sys;from pathlib import Path;from tests.benchmark.__main__ import ours;"
        "ours(Path(sys.argv[1]));print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    with tempfile.TemporaryDirectory() as folder:
        run = subprocess.run(
            [sys.executable, "-c", code, f"{folder}/handout.pdf"],
            capture_output=True,
            text=True,
            check=True,
        )
    return int(run.stdout.split()[-1]) / 1024


def main() -> int:
    """Run the rounds and print the ratios."""
    parser = argparse.ArgumentParser(description="Time the demo's handout against its floor.")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    options = parser.parse_args()
    pages, files = pages_and_files()
    boxes = [box for page in pages for box in boxes_of(page) if isinstance(box, Picture)]
    with print_pictures(load_session(DEMO)) as printed:
        pictures = {f"picture{number}.jpg": printed.jpeg(b) for number, b in enumerate(boxes)}
    words = [[box.text for box in boxes_of(page) if isinstance(box, Text)] for page in pages]
    times: dict[str, list[float]] = {}

    def note(name: str, seconds: float | None) -> None:
        if seconds is not None:
            times.setdefault(name, []).append(seconds)

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        ours(folder / "warm.pdf")
        floor(pages, files, folder / "warm-floor.pdf")
        for _ in range(options.rounds):
            note("ours", timed(lambda: ours(folder / "ours.pdf")))
            begun = time.perf_counter()
            cleaning = floor(pages, files, folder / "floor.pdf")
            whole = time.perf_counter() - begun
            note("floor", whole)
            note("pictures", cleaning)
            for rival, run in (("typst", typst_round), ("weasyprint", weasyprint_round)):
                seconds = run(folder, words, pictures)
                note(rival, None if seconds is None else seconds + cleaning)
    ratio, heavy = help_ratio()
    floors = quartiles(times["floor"])
    result = {
        "rounds": options.rounds,
        "machine": f"{platform.machine()}, Python {platform.python_version()}",
        "noisy": (floors[2] - floors[0]) / floors[1] > NOISY,
        "ratios to the floor": {
            name: round(
                statistics.median(a / b for a, b in zip(values, times["floor"], strict=False)), 2
            )
            for name, values in times.items()
        },
        "median seconds": {name: round(quartiles(v)[1], 3) for name, v in times.items()},
        "ours outside pictures, to the floor": round(
            statistics.median(
                (a - p) / f
                for a, p, f in zip(times["ours"], times["pictures"], times["floor"], strict=True)
            ),
            2,
        ),
        "help to an empty click program": round(ratio, 2),
        "help imports": heavy,
        "peak of a cold build, MiB": round(peak_memory()),
        "this process, MiB": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
    }
    if options.json:
        sys.stdout.write(json.dumps(result) + "\n")
        return 0
    if result["noisy"]:
        sys.stdout.write("too noisy: the floor's quartiles are more than 15 % apart\n")
    for key, value in result.items():
        sys.stdout.write(f"{key}: {value}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
