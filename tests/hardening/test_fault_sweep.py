"""A full disk, a failing disk or a kill at every call: the old output whole, or the new whole."""

import hashlib
import json
import os
import re
import sys
from pathlib import Path

import pytest

from reporter.errors import CannotWriteError, DiskFullError, ExitCode
from reporter.publish import publish
from tests.hardening.fault_sweep import (
    CALLS,
    can_trace,
    failing_call,
    failing_file,
    python_program,
    python_sweep,
    system_sweep,
)

OLD, NEW = b"old and whole", b"new and whole" * 2_000
PART = re.compile(r"\.lesson-reporter-[0-9]+-[0-9a-f]{12}\.part")
ALL = bool(os.environ.get("LESSON_REPORTER_ALL_POINTS"))
"""Every point of the slower sweeps; else the calls that give a file its name and make it last."""


@pytest.fixture
def traced(tmp_path, need_program):
    """Skip, and say so, where calls cannot be made to fail by the system."""
    need_program("strace")
    if not can_trace(tmp_path):
        pytest.skip("this machine lets nobody trace")
    place = tmp_path / "runs"
    place.mkdir()
    return place


PUBLISH = (
    "import sys; from pathlib import Path; from reporter.errors import ReporterError\n"
    "from reporter.publish import publish\n"
    "try: publish(Path('handout.pdf'), b'new and whole' * 2_000, force=True)\n"
    "except ReporterError as error: sys.exit(error.exit_code)\n"
)


@pytest.mark.parametrize("persists", [False, True] if ALL else [False])
@pytest.mark.parametrize("exists", [True, False])
def test_row_21_22_publishing_at_every_call(traced, exists, persists):
    def prepare(folder: Path) -> None:
        if exists:
            (folder / "handout.pdf").write_bytes(OLD)

    program = [sys.executable, "-c", PUBLISH]
    points = 0
    for ended in system_sweep(program, prepare, traced, persists=persists):
        points += 1
        target = ended.folder / "handout.pdf"
        found = target.read_bytes() if target.exists() else None
        assert found in ((OLD if exists else None), NEW), str(ended)
        others = [path.name for path in ended.folder.iterdir() if path != target]
        if ended.killed:
            assert all(PART.fullmatch(name) for name in others), str(ended)
        else:
            assert others == [], str(ended)
            assert ended.code in (0, ExitCode.CANNOT_WRITE), str(ended)
            assert ended.code or found == NEW, str(ended)
            assert "Traceback" not in ended.told
    assert points >= 10, "a write, two flushes and a rename, with three faults each, or nearly"


def small_lesson(folder: Path) -> None:
    (folder / "session.yaml").write_text("thoughts: [x]\n", encoding="utf-8")


def digests(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def whole_pdf(data: bytes) -> bool:
    import io

    from pypdf import PdfReader

    return data.startswith(b"%PDF-") and len(PdfReader(io.BytesIO(data)).pages) >= 1


def test_row_21_22_building_at_every_call(traced):
    """A build over an earlier handout, as typed: inputs as they were, output whole, exit code 5."""
    first = traced / "first"
    first.mkdir()
    small_lesson(first)
    from tests.hardening.test_network import typed

    assert typed("build", "session.yaml", "-q", folder=first).returncode == 0
    earlier = (first / "handout.pdf").read_bytes()
    source = digests(first)["session.yaml"]

    def prepare(folder: Path) -> None:
        small_lesson(folder)
        (folder / "handout.pdf").write_bytes(earlier)

    program = python_program("build", "session.yaml", "-q", "--force", "--ink", "grey")
    calls = CALLS if ALL else ("rename,renameat,renameat2",)
    points = 0
    for ended in system_sweep(program, prepare, traced, calls=calls):
        points += 1
        found = digests(ended.folder)
        assert found.pop("session.yaml") == source, str(ended)
        document = (ended.folder / "handout.pdf").read_bytes()
        assert document == earlier or whole_pdf(document), str(ended)
        found.pop("handout.pdf")
        if ended.killed:
            assert all(PART.fullmatch(name) for name in found), str(ended)
        else:
            assert found == {}, str(ended)
            assert ended.code in (0, ExitCode.CANNOT_WRITE), str(ended)
            assert "Traceback" not in ended.told, str(ended)
    assert points >= 3


@pytest.mark.skipif(not ALL, reason="takes minutes: part of python -m tests.release")
def test_row_21_22_a_batch_at_every_call(traced):
    """A batch of two: what its list says was delivered is there, and a second run completes it."""
    from tests.hardening.test_network import typed

    def prepare(folder: Path) -> None:
        for name in ("one", "two"):
            (folder / "in" / name).mkdir(parents=True)
            small_lesson(folder / "in" / name)

    program = python_program("batch", "in", "-o", "out", "-q", "--jobs", "1")
    calls = ("fsync", "rename,renameat,renameat2", "link,linkat")
    points = 0
    for ended in system_sweep(program, prepare, traced, calls=calls):
        points += 1
        output = ended.folder / "out"
        listed = []
        manifest = output / "batch.jsonl"
        for line in manifest.read_bytes().split(b"\n")[1:] if manifest.exists() else ():
            try:
                listed.append(json.loads(line))
            except ValueError:
                continue
        for line in listed:
            if line["result"] == "delivered":
                data = Path(line["target"]).read_bytes()
                assert hashlib.sha256(data).hexdigest() == line["sha256"], str(ended)
        assert all(whole_pdf(path.read_bytes()) for path in output.rglob("*.pdf")), str(ended)
        if not ended.killed:
            assert ended.code in (0, 4, ExitCode.CANNOT_WRITE), str(ended)
            assert "internal fault" not in ended.told, str(ended)
        if points % 3 == 1:
            again = typed("batch", "in", "-o", "out", "-q", folder=ended.folder)
            assert again.returncode == 0, (str(ended), again.stderr)
            assert {path.stem for path in output.rglob("*.pdf")} == {"one", "two"}
    assert points >= 3


def test_row_21_publishing_call_by_call_inside_the_process(tmp_path):
    """The same without strace, so that it holds on every system."""
    target = tmp_path / "handout.pdf"

    def prepare() -> None:
        for path in tmp_path.iterdir():
            path.unlink()
        target.write_bytes(OLD)

    functions = [(os, "open"), (os, "fsync"), (os, "close"), (Path, "replace"), (os, "scandir")]
    points = 0
    run = lambda: publish(target, NEW, force=True)  # noqa: E731
    for name, number, fault, raised in python_sweep(run, prepare, functions):
        points += 1
        where = f"{name} {number} {os.strerror(fault)}"
        assert raised is None or isinstance(raised, CannotWriteError), where
        found = target.read_bytes()
        assert found == (NEW if raised is None else found), where
        assert found in (OLD, NEW), where
        assert [path.name for path in tmp_path.iterdir()] == ["handout.pdf"], where
    assert points >= 14


@pytest.mark.parametrize("step", ["write", "flush", "close"])
def test_row_21_a_full_disk_is_told_as_one(tmp_path, step):
    import errno

    with failing_file(step, errno.ENOSPC), pytest.raises(DiskFullError, match="disk is full"):
        publish(tmp_path / "handout.pdf", NEW)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["_add", "fsync"])
def test_row_21_a_batch_whose_list_cannot_be_written_ends_with_5(tmp_path, name):
    """Whichever line it is: a letter, never an internal fault; and the next run goes on."""
    import errno

    from click.testing import CliRunner

    from reporter.batch import manifest
    from reporter.command_line import run

    small_lesson(tmp_path)
    for number in range(1, 6):
        owner = manifest if name == "_add" else os
        with failing_call(owner, name, number, errno.EIO) as counted, CliRunner().isolation():
            code = run(["batch", str(tmp_path), "-o", str(tmp_path / "out"), "--jobs", "1",
                        "--again"])  # fmt: skip
        if counted[0] < number:
            break
        assert code == ExitCode.CANNOT_WRITE, number
    assert number > 1
    assert code == ExitCode.OK


def test_a_screen_that_takes_no_more_is_no_traceback(tmp_path):
    """The error stream itself may be on a full disk."""
    import subprocess

    if not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    small_lesson(tmp_path)
    with Path("/dev/full").open("w") as full:
        for words in (["build", "session.yaml"], ["build", "nothing.yaml"], ["drills", "--json"]):
            done = subprocess.run(
                python_program(*words), cwd=tmp_path, stdout=full, stderr=full, check=False,
                env=os.environ | {"PYTHONPATH": str(Path(__file__).resolve().parents[2])},
            )  # fmt: skip
            assert done.returncode in (0, 3, 5), words
