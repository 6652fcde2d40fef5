"""Time a batch against what the machine can do: ratios of one run, nothing else.

    python -m tests.batch.benchmark

* speed-up of two processes over one, beside that of a busy loop in pure Python;
* a Dask cluster of two local workers against two processes of ours;
* demo-size handouts a second against the bare-canvas floor of `tests.benchmark`;
* seconds a lesson at growing sizes, and how a worker's memory grows over many lessons.
"""

import argparse
import multiprocessing
import multiprocessing.pool
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from reporter.batch import workers as batch_workers
from reporter.batch.run import Summary, run_batch
from reporter.batch.workers import process_workers
from tests.batch.lessons import write_lessons
from tests.batch.night import STYLE, Silent, say

DEMO = Path(__file__).parents[2] / "demo_session"
MEBIBYTE = 1024


def busy(steps: int) -> int:
    """Count, with nothing but the interpreter."""
    total = 0
    for step in range(steps):
        total = (total + step * step) % 1_000_003
    return total


def busy_speed_up(pool: multiprocessing.pool.Pool, steps: int) -> float:
    """Return how much faster two processes of a running pool are than one, counting."""
    one = timed(lambda: pool.map(busy, [steps, steps], chunksize=2))
    two = timed(lambda: pool.map(busy, [steps, steps], chunksize=1))
    return one / two


def timed(action: Callable[[], object]) -> float:
    """Return wall seconds."""
    begun = time.perf_counter()
    action()
    return time.perf_counter() - begun


def one_batch(root: Path, jobs: int, output: Path) -> tuple[float, Summary]:
    """Return the seconds of a batch with warm workers, and what it told."""
    with process_workers(jobs, seconds=60.0, memory_bytes=None) as workers:
        warm_up(root, workers, output)
        begun = time.perf_counter()
        summary = run_batch(
            [root], output, STYLE, workers, workers, Silent(), seconds=60.0, again=True
        )
        return time.perf_counter() - begun, summary


def warm_up(root: Path, workers: object, output: Path) -> None:
    """Let every worker build something, so that starting it is not counted."""
    few = root.parent / "few"
    if not few.exists():
        write_lessons(few, 16, 0, seed=9)
    run_batch([few], output.parent / "few-out", STYLE, workers, workers, Silent(), seconds=60.0,
              again=True)  # fmt: skip


def demos(root: Path, count: int) -> None:
    """Write copies of the demo lesson, each with an id of its own."""
    for number in range(count):
        folder = root / f"demo-{number:03}"
        folder.mkdir(parents=True)
        text = (DEMO / "session.yaml").read_text(encoding="utf-8")
        (folder / "session.yaml").write_text(text, encoding="utf-8")
        shutil.copy(DEMO / "shots.csv", folder)
        shutil.copytree(DEMO / "frames", folder / "frames")


def floor_rate(folder: Path, rounds: int) -> float:
    """Return how many demo handouts a second the bare-canvas floor writes, in one process."""
    from tests.benchmark.__main__ import floor, pages_and_files

    pages, files = pages_and_files()
    floor(pages, files, folder / "warm.pdf")
    spent = [timed(lambda: floor(pages, files, folder / "floor.pdf")) for _ in range(rounds)]
    return 1 / statistics.median(spent)


def cluster_ratio(root: Path, folder: Path) -> float:
    """Return the time of two local Dask workers over that of two processes of ours."""
    from distributed import LocalCluster

    from reporter.batch.cluster import cluster_workers

    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        cluster_workers(cluster.scheduler_address) as far,
        process_workers(2, seconds=60.0, memory_bytes=None) as near,
    ):
        spent = []
        for builders, name in ((far, "far"), (near, "near")) * 2:
            output = folder / name
            warm_up(root, builders, output)
            spent.append(
                timed(
                    lambda output=output, builders=builders: run_batch(
                        [root], output, STYLE, near, builders, Silent(), seconds=60.0, again=True
                    )
                )
            )
    return min(spent[::2]) / min(spent[1::2])


def growth(root: Path, folder: Path) -> tuple[float, int]:
    """Return how a worker that is never replaced grows, in MiB a thousand lessons."""
    kept = batch_workers.LESSONS_A_WORKER
    batch_workers.LESSONS_A_WORKER = 0
    try:
        _, summary = one_batch(root, 1, folder / "grown")
    finally:
        batch_workers.LESSONS_A_WORKER = kept
    peaks = [one.peak_kib for one in summary.outcomes if one.result == "delivered"]
    peaks.sort()  # the largest memory so far only ever grows
    begun = len(peaks) // 10
    return (peaks[-1] - peaks[begun]) / MEBIBYTE / (len(peaks) - begun) * 1_000, len(peaks)


def main() -> int:
    """Run everything and print the ratios."""
    parser = argparse.ArgumentParser(description="Ratios of a batch.")
    parser.add_argument("--lessons", type=int, default=400)
    parser.add_argument("--demos", type=int, default=24)
    parser.add_argument("--sizes", type=int, nargs="*", default=[100, 1_000])
    parser.add_argument("--growth", type=int, default=1_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_lessons(folder / "small", asked.lessons, 0, seed=1)
        demos(folder / "demos", asked.demos)
        context = multiprocessing.get_context("forkserver")
        with context.Pool(2) as pool:
            pool.map(busy, [1_000] * 8)
            for root in ("small", "demos"):
                loop, ours = [], []
                for _ in range(3):
                    loop.append(busy_speed_up(pool, 8_000_000))
                    alone, _ = one_batch(folder / root, 1, folder / "out")
                    both, _ = one_batch(folder / root, 2, folder / "out")
                    ours.append(alone / both)
                fast, slow = statistics.median(ours), statistics.median(loop)
                say(
                    f"{root}: two processes are {fast:.2f} times one; a busy loop "
                    f"{slow:.2f}; share {fast / slow:.2f} (at least 0.85 is wanted)"
                )
        seconds, _ = one_batch(folder / "demos", 2, folder / "out")
        rate, floor = asked.demos / seconds, floor_rate(folder, 9)
        say(
            f"demo handouts: {rate:.1f} a second on two cores, floor {floor:.1f} in one process; "
            f"ratio {rate / floor:.2f} (at least 0.6 is wanted)"
        )
        ratio = cluster_ratio(folder / "small", folder)
        say(f"cluster of two local workers over two processes: {ratio:.2f} (at most 1.3 is wanted)")
        for size in asked.sizes:
            write_lessons(folder / f"of-{size}", size, 0, seed=size)
            seconds, _ = one_batch(folder / f"of-{size}", 2, folder / "out")
            say(f"{size} lessons: {seconds / size * 1_000:.1f} ms each")
        write_lessons(folder / "long", asked.growth, 0, seed=5)
        grown, counted = growth(folder / "long", folder)
        say(
            f"a worker that is never replaced grows {grown:.1f} MiB a thousand lessons over "
            f"{counted} (at most 20 is wanted)"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
