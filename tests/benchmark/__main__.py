"""Time `build` on the demo against the least that any program would have to do, and two rivals.

Every round runs all contestants in turn, so that a machine that slows down slows all of them.

* ours: the whole run, from the lesson file to a published PDF;
* floor: the same pictures decoded, turned, cropped, resampled and encoded with Pillow, then
  placed with the same words on a bare canvas: no measuring, flight, layout, charts or checks;
* Typst and WeasyPrint: the same cleaned pictures and the same words typeset by them; the time
  for cleaning the pictures is added, since both need it done first;
* Typst archival: the same as a tagged file after PDF/A-3a and PDF/UA-1, which ours is;
* cold: ours and Typst archival (cleaning the pictures itself) as processes of their own.
"""

import argparse
import json
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from reporter.handout.build import explain_flight, report_of
from reporter.handout.print_pictures import print_pictures
from reporter.measure import measure_session
from reporter.session.load import load_session
from reporter.typeset import load_brand, load_page_layout, typeset_report
from reporter.typeset.boxes import Page, Picture, Text, boxes_of
from tests.benchmark.cold import as_installed, cold_run
from tests.benchmark.demo import DEMO
from tests.benchmark.floor import floor
from tests.benchmark.ours import TODAY, lessons_with_less, ours
from tests.benchmark.rivals import SPEC, typst_round, weasyprint_round, write_spec

ROUNDS = 7
COLD_ROUNDS = 5
NOISY = 0.15


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


def timed(action: Callable[[], object]) -> float:
    """Return the wall seconds of an action."""
    begun = time.perf_counter()
    action()
    return time.perf_counter() - begun


def quartiles(values: list[float]) -> tuple[float, float, float]:
    """Return lower quartile, median and upper quartile."""
    low, middle, high = statistics.quantiles(values, n=4, method="inclusive")
    return low, middle, high


def ratio(ones: list[float], others: list[float]) -> float:
    """Return the median of the ratios in each round."""
    return round(statistics.median(a / b for a, b in zip(ones, others, strict=True)), 2)


def help_ratio(folder: Path) -> tuple[float, list[str]]:
    """Return how much slower ``--help`` is than an empty click program, and what it imports.

    Both are started alike; ours as the installed program starts.
    """
    empty = "import click\n@click.command()\ndef f(): pass\nf(['--help'], standalone_mode=False)"
    begin = "import sys; sys.argv[1:] = ['--help']; from reporter.command_line import main; main()"
    pairs = []
    start = partial(subprocess.run, capture_output=True, check=True, env=as_installed(folder))
    for _ in range(15):
        one, other = (
            timed(partial(start, [sys.executable, "-c", code])) for code in (begin, empty)
        )
        pairs.append(one / other)
    traced = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", begin],
        capture_output=True,
        text=True,
        check=True,
    ).stderr
    heavy = ("reportlab", "matplotlib", "cv2", "scipy", "pypdf", "pydantic", "numpy", "PIL")
    names = {line.rsplit("|", 1)[-1].strip().split(".")[0] for line in traced.splitlines()}
    return statistics.median(pairs), sorted(names & set(heavy))


def warm_rounds(rounds: int, folder: Path) -> dict[str, list[float]]:
    """Return the seconds of every contestant in every round; Typst's spec is left behind."""
    pages, files = pages_and_files()
    boxes = [box for page in pages for box in boxes_of(page) if isinstance(box, Picture)]
    with print_pictures(load_session(DEMO)) as printed:
        pictures = {f"picture{number}.jpg": printed.jpeg(b) for number, b in enumerate(boxes)}
    words = [[box.text for box in boxes_of(page) if isinstance(box, Text)] for page in pages]
    write_spec(folder, words, [(str(files[box.frame]), box.crop, box.width) for box in boxes])
    less = lessons_with_less(folder)
    times: dict[str, list[float]] = {}

    def note(name: str, seconds: float | None) -> None:
        if seconds is not None:
            times.setdefault(name, []).append(seconds)

    def processor(name: str, action: Callable[[], object]) -> None:
        """Note the processor time of an action, of all its threads: steadier on a busy machine."""
        begun = time.process_time()
        action()
        note(name, time.process_time() - begun)

    ours(folder / "warm.pdf")
    floor(pages, files, folder / "warm-floor.pdf")
    for _ in range(rounds):
        note("ours", timed(lambda: ours(folder / "ours.pdf")))
        begun = time.perf_counter()
        cleaning = floor(pages, files, folder / "floor.pdf")
        note("floor", time.perf_counter() - begun)
        note("pictures", cleaning)
        for name, run in (
            ("typst", typst_round),
            ("typst archival", partial(typst_round, archival=True)),
            ("weasyprint", weasyprint_round),
        ):
            seconds = run(folder, words, pictures)
            note(name, None if seconds is None else seconds + cleaning)
        for name, lesson in less.items():
            processor(name, partial(ours, folder / f"{name}.pdf", lesson))
        processor("ours, processor", lambda: ours(folder / "ours.pdf"))
        processor("floor, processor", lambda: floor(pages, files, folder / "floor.pdf"))
    return times


def cold_rounds(rounds: int, folder: Path) -> dict[str, object]:
    """Return ours against Typst archival, each from nothing to a finished file."""
    runs: dict[str, list[tuple[float, float]]] = {"ours": [], "typst": []}
    ours_file = folder / "cold.pdf"
    # The first runs compile the modules, as the installing of a program does.
    cold_run("ours", ours_file)
    cold_run("typst", folder / SPEC)
    for _ in range(rounds):
        ours_file.unlink(missing_ok=True)
        runs["ours"].append(cold_run("ours", ours_file))
        runs["typst"].append(cold_run("typst", folder / SPEC))
    walls = {name: [wall for wall, _ in some] for name, some in runs.items()}
    peaks = {name: statistics.median(peak for _, peak in some) for name, some in runs.items()}
    return {
        "cold, ours to Typst archival": ratio(walls["ours"], walls["typst"]),
        "cold, seconds": {name: round(statistics.median(w), 2) for name, w in walls.items()},
        "peak of a cold run, MiB": {name: round(peak) for name, peak in peaks.items()},
        "peak, ours to Typst archival": round(peaks["ours"] / peaks["typst"], 2),
    }


def sizes(folder: Path) -> dict[str, object]:
    """Return the handout's size against the frames it was made from, and Typst's."""
    frames = sum(path.stat().st_size for path in (DEMO.parent / "frames").iterdir())
    ours_size = (folder / "ours.pdf").stat().st_size
    found: dict[str, object] = {
        "file, kB": round(ours_size / 1000),
        "frames, kB": round(frames / 1000),
        "file to frames": round(ours_size / frames, 2),
    }
    rival = folder / "typst-archival.pdf"
    if rival.exists():
        found["Typst archival file, kB"] = round(rival.stat().st_size / 1000)
    return found


def main() -> int:
    """Run the rounds and print the ratios."""
    parser = argparse.ArgumentParser(description="Time the demo's handout against its floor.")
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        times = warm_rounds(options.rounds, folder)
        cold = cold_rounds(COLD_ROUNDS, folder) if "typst" in times else {}
        size = sizes(folder)
        slower, heavy = help_ratio(folder)
    floors = quartiles(times["floor"])
    less = ("whole", "without shots", "without a flight")
    processors = ("ours, processor", "floor, processor")
    result = {
        "rounds": options.rounds,
        "machine": f"{platform.machine()}, Python {platform.python_version()}",
        "noisy": (floors[2] - floors[0]) / floors[1] > NOISY,
        "ratios to the floor": {
            name: ratio(values, times["floor"])
            for name, values in times.items()
            if name not in (*less, *processors)
        },
        "processor time to the floor's": ratio(*(times[name] for name in processors)),
        "median seconds": {name: round(quartiles(v)[1], 3) for name, v in times.items()},
        "ours outside pictures, to the floor": round(
            statistics.median(
                (a - p) / f
                for a, p, f in zip(times["ours"], times["pictures"], times["floor"], strict=True)
            ),
            2,
        ),
        "the flight's page, to a build without": ratio(times[less[1]], times[less[2]]),
        "the pattern's page, to a build without": ratio(times[less[0]], times[less[1]]),
        **cold,
        **size,
        "help to an empty click program": round(slower, 2),
        "help imports": heavy,
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
