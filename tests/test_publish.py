"""A file is written whole or not at all, and never over somebody else's."""

import errno
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from reporter.errors import CannotWriteError, ExitCode
from reporter.publish import holds, publish


def names(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir()]


def leftovers(folder: Path) -> list[str]:
    return [name for name in names(folder) if name.endswith(".part")]


def test_a_new_file(tmp_path):
    publish(tmp_path / "handout.pdf", b"whole")
    assert (tmp_path / "handout.pdf").read_bytes() == b"whole"
    assert names(tmp_path) == ["handout.pdf"]


def test_the_users_mask_decides_who_may_read(tmp_path):
    before = os.umask(0o027)
    try:
        publish(tmp_path / "handout.pdf", b"x")
    finally:
        os.umask(before)
    assert (tmp_path / "handout.pdf").stat().st_mode & 0o777 == 0o640


def test_a_file_is_replaced_only_where_it_holds_what_is_expected(tmp_path):
    target = tmp_path / "calendar.ics"
    target.write_bytes(b"as written before")
    with pytest.raises(CannotWriteError, match="does not belong"):
        publish(target, b"new", is_ours=holds(b"as written befor"))
    assert target.read_bytes() == b"as written before"
    publish(target, b"new", is_ours=holds(b"as written before"))
    assert target.read_bytes() == b"new"


def test_our_own_file_is_replaced(tmp_path):
    target = tmp_path / "handout.pdf"
    target.write_bytes(b"ours, old")
    publish(target, b"ours, new", is_ours=lambda path: path.read_bytes().startswith(b"ours"))
    assert target.read_bytes() == b"ours, new"


def broken_predicate(path: Path) -> bool:
    raise ValueError("no such document")


@pytest.mark.parametrize("is_ours", [None, lambda path: False, broken_predicate])
def test_a_foreign_file_is_not_replaced_unless_forced(tmp_path, is_ours):
    target = tmp_path / "handout.pdf"
    target.write_bytes(b"foreign")
    with pytest.raises(CannotWriteError, match="does not belong to this lesson"):
        publish(target, b"new", is_ours=is_ours)
    assert target.read_bytes() == b"foreign"
    publish(target, b"new", is_ours=is_ours, force=True)
    assert target.read_bytes() == b"new"


def test_a_link_is_never_written_through(tmp_path):
    (tmp_path / "real").write_bytes(b"real")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    with pytest.raises(CannotWriteError, match="no ordinary file"):
        publish(tmp_path / "link", b"new", force=True)
    assert (tmp_path / "real").read_bytes() == b"real"


@pytest.mark.parametrize(
    ("name", "words"),
    [("missing/handout.pdf", "folder"), ("x" * 300 + ".pdf", "too long"), ("folder", "ordinary"),
     ("a-file/handout.pdf", "part of the path|missing")],
)  # fmt: skip
def test_row_21_what_stands_in_the_way_is_told(tmp_path, name, words):
    (tmp_path / "folder").mkdir()
    (tmp_path / "a-file").write_bytes(b"")
    with pytest.raises(CannotWriteError, match=words) as caught:
        publish(tmp_path / name, b"x")
    assert caught.value.exit_code == ExitCode.CANNOT_WRITE == 5


@pytest.mark.parametrize("step", ["write", "fsync", "replace"])
@pytest.mark.parametrize(("number", "words"), [(errno.ENOSPC, "disk is full"),
                                               (errno.EIO, "disk reports a fault")])  # fmt: skip
def test_row_21_a_fault_at_any_step_leaves_the_old_file(tmp_path, monkeypatch, step, number, words):
    target = tmp_path / "handout.pdf"
    target.write_bytes(b"old")

    def fail(*_args, **_kwargs):
        raise OSError(number, os.strerror(number))

    if step == "fsync":
        monkeypatch.setattr(os, "fsync", fail)
    elif step == "replace":
        monkeypatch.setattr(Path, "replace", fail)
    else:
        monkeypatch.setattr(os, "fdopen", fail)
    with pytest.raises(CannotWriteError, match=words):
        publish(target, b"new", force=True)
    assert target.read_bytes() == b"old"
    assert leftovers(tmp_path) == []


@pytest.mark.skipif(sys.platform == "win32", reason="limits of this kind exist on Unix only")
def test_row_21_a_disk_that_really_takes_no_more(tmp_path):
    target = tmp_path / "handout.pdf"
    target.write_bytes(b"old")
    program = (
        "import resource, signal, sys; from pathlib import Path\n"
        "from reporter.publish import publish; from reporter.errors import CannotWriteError\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "try: publish(Path(sys.argv[1]), b'x' * 100_000, force=True)\n"
        "except CannotWriteError as error: print(error); sys.exit(5)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(target)],
        cwd=Path(__file__).resolve().parents[1], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 5, done.stderr
    assert "too large" in done.stdout
    assert target.read_bytes() == b"old"
    assert leftovers(tmp_path) == []


def test_a_file_that_appears_meanwhile_is_not_replaced(tmp_path, monkeypatch):
    target = tmp_path / "handout.pdf"
    real_fsync = os.fsync

    def fsync(handle):
        real_fsync(handle)
        if not target.exists():
            target.write_bytes(b"foreign")
            target.touch()

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(Path, "exists", lambda self: False)
    with pytest.raises(CannotWriteError, match="just appeared"):
        publish(target, b"new")
    monkeypatch.undo()
    assert target.read_bytes() == b"foreign"


def test_row_22_old_temporary_files_of_dead_runs_are_removed(tmp_path):
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    old = time.time() - 7_200

    def temporary(process: int, age: float) -> Path:
        path = tmp_path / f".lesson-reporter-{process}-0123456789ab.part"
        path.write_bytes(b"half")
        os.utime(path, (age, age))
        return path

    dead = temporary(ended.pid, old)
    alive = temporary(os.getpid(), old)
    foreign = tmp_path / ".other-1-0123456789ab.part"
    foreign.write_bytes(b"")
    os.utime(foreign, (old, old))
    publish(tmp_path / "handout.pdf", b"x")
    assert not dead.exists()
    assert alive.exists()
    assert foreign.exists()


def test_an_interrupted_write_leaves_nothing(tmp_path, monkeypatch):
    def interrupted(_handle):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        publish(tmp_path / "handout.pdf", b"x")
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    "name", ["-rf", "con.pdf", "ü.pdf", "u\u0308.pdf", "a b;c.pdf", "\u202ex.pdf"]
)
def test_row_32_odd_names_are_written_as_they_are(tmp_path, name):
    publish(tmp_path / name, b"x")
    assert (tmp_path / name).read_bytes() == b"x"
