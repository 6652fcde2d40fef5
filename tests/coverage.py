"""Judge how much of the program the suite runs through: `python -m tests.coverage [--run]`.

With --run the suite is run first, counting; without, the count that a run has left is judged:

    PYTEST_ADDOPTS="--cov=reporter --cov-branch --cov-report=" python -m pytest

Of the modules at the boundary every line and every branch must have been run, of the program nine
tenths.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LEAST_OVERALL = 90.0
BOUNDARY = (
    "reporter/yaml_source.py",
    "reporter/yaml_words.py",
    "reporter/safe_open.py",
    "reporter/publish.py",
    "reporter/session/load.py",
    "reporter/session/frames.py",
    "reporter/session/heic.py",
    "reporter/session/shots.py",
    "reporter/pdf/carried.py",
    "reporter/archive/importing.py",
    "reporter/archive/reader_apart.py",
    "reporter/archive/read_record.py",
    "reporter/archive/sqlite/opening.py",
    "reporter/desk/guards.py",
    "reporter/desk/server.py",
    "reporter/video/container.py",
    "reporter/video/tables.py",
    "reporter/video/reading.py",
)
"""What must be run through whole; a new boundary is one more line."""
OWN_TESTS = (
    "tests/test_yaml_source.py",
    "tests/test_safe_open.py",
    "tests/test_publish.py",
    "tests/session",
    "tests/hardening/test_boundary_branches.py",
    "tests/hardening/test_clip_branches.py",
    "tests/hardening/test_clip_tables.py",
    "tests/hardening/test_desk_branches.py",
    "tests/hardening/test_far_branches.py",
    "tests/hardening/test_small_changes.py",
    "tests/hardening/test_loading.py",
    "tests/hardening/test_fault_sweep.py",
    "tests/archive/test_joining.py",
    "tests/archive/test_opening.py",
    "tests/desk/test_guards.py",
    "tests/video/test_video_facts.py",
)
"""The tests that alone must run through the boundary; the rest of the suite is not needed."""


def counted() -> dict:
    """Return what was counted, as the coverage tool tells it."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told.json"
        done = subprocess.run(
            [sys.executable, "-m", "coverage", "json", "-q", "-o", str(told)],
            cwd=ROOT, capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            sys.exit(f"nothing was counted: {done.stdout}{done.stderr}")
        return json.loads(told.read_text("utf-8"))


def faults(report: dict, *, overall: bool) -> list[str]:
    """Return a line for each promise that is not kept."""
    found = []
    for name in BOUNDARY:
        facts = report["files"].get(name)
        if facts is None:
            found.append(f"{name}: was not run at all")
            continue
        for what, key in (("lines", "missing_lines"), ("branches", "missing_branches")):
            if facts[key]:
                found.append(f"{name}: {what} not run: {facts[key]}")
    share = report["totals"]["percent_covered"]
    if overall and share < LEAST_OVERALL:
        found.append(f"the program: {share:.1f} % run, at least {LEAST_OVERALL:g} % promised")
    return found


def main() -> None:
    """Run, count and judge."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--run", action="store_true", help="run the whole suite first")
    parser.add_argument(
        "--boundary", action="store_true", help="run the boundary's own tests first, and judge it"
    )
    asked = parser.parse_args()
    if asked.run or asked.boundary:
        # A shelf on a server is not of the boundary, and the server takes its time to begin.
        tests = (*OWN_TESTS, "-k", "not postgresql") if asked.boundary else ()
        done = subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-n", "auto", "--cov=reporter", "--cov-branch",
             "--cov-report=", *tests],
            cwd=ROOT, check=False,
        )  # fmt: skip
        if done.returncode:
            sys.exit(done.returncode)
    report = counted()
    found = faults(report, overall=not asked.boundary)
    print("\n".join(found))
    share = report["totals"]["percent_covered"]
    print(f"{len(BOUNDARY)} boundary modules, {share:.1f} % of lines and branches in all")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
