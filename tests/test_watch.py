"""`watch` as a real process: builds again on change, goes on after mistakes, ends with Ctrl-C."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from reporter.handout.watched_files import state_of, watched_files

ROOT = Path(__file__).resolve().parents[1]
LONGEST_SECONDS = 60.0


class Watching:
    """A running watch and what it has said so far."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "said.txt"
        self.opened = self.log.open("wb")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "reporter", "watch", str(folder / "lesson")],
            cwd=ROOT, stderr=self.opened, stdout=self.opened,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            # A run in the background is started deaf to Ctrl-C, and its children would be too.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )  # fmt: skip

    def waits_for(self, told: str, times: int = 1) -> str:
        until = time.monotonic() + LONGEST_SECONDS
        while time.monotonic() < until:
            said = self.log.read_text("utf-8")
            if said.count(told) >= times:
                return said
            assert self.process.poll() is None, said
            time.sleep(0.05)
        raise AssertionError(self.log.read_text("utf-8"))


@pytest.fixture
def watching(tmp_path):
    lesson = tmp_path / "lesson"
    lesson.mkdir()
    (lesson / "session.yaml").write_text("lesson: {id: abc}\nthoughts: [Keep the head level]\n")
    running = Watching(tmp_path)
    yield running, lesson
    if running.process.poll() is None:
        running.process.kill()
    running.process.wait()
    running.opened.close()


@pytest.mark.skipif(os.name == "nt", reason="sends a POSIX signal")
def test_a_change_builds_again_a_mistake_is_told_and_ctrl_c_ends(watching):
    running, lesson = watching
    running.waits_for("Ctrl-C ends")
    handout = lesson / "handout.pdf"
    first = handout.read_bytes()
    (lesson / "session.yaml").write_text("lesson: {id: abc}\nthoughts: [x]\nnope: 1\n")
    said = running.waits_for("Ctrl-C ends", 2)
    assert "session.yaml:3:1: nope: unknown field" in said
    assert handout.read_bytes() == first
    (lesson / "session.yaml").write_text("lesson: {id: abc}\nthoughts: [Turn the chest]\n")
    running.waits_for("Ctrl-C ends", 3)
    assert handout.read_bytes() != first
    (lesson / "coach.yaml").write_text("lesson: {coach: Odalys}\n")  # a file that was not there
    running.waits_for("Ctrl-C ends", 4)
    running.process.send_signal(signal.SIGINT)
    assert running.process.wait(timeout=20) == 130
    assert "interrupted" in running.log.read_text("utf-8")
    assert "Traceback" not in running.log.read_text("utf-8")


def test_every_file_a_lesson_uses_is_watched(tmp_path):
    folder = tmp_path / "a" / "lesson"
    (tmp_path / "brands" / "own").mkdir(parents=True)
    folder.mkdir(parents=True)
    (tmp_path / "brands" / "own" / "brand.yaml").write_text("x")
    lesson = folder / "session.yaml"
    lesson.write_text(
        "lesson: {brand: own}\nframes: [{file: frames/a.jpg}, {file: 7}]\n"
        "seen: {shots: s.csv}\nwrong: yes\n"
    )
    names = {file.relative_to(tmp_path).as_posix() for file in watched_files(lesson, None)
             if file.is_relative_to(tmp_path)}  # fmt: skip
    assert {
        "a/lesson/session.yaml", "a/lesson/frames/a.jpg", "a/lesson/s.csv", "a/drills.yaml",
        "academy.yaml", "a/coach.yaml", "brands/own/brand.yaml",
    } <= names  # fmt: skip
    files = watched_files(lesson, None)
    before = state_of(files)
    assert state_of(files) == before
    (folder / "s.csv").write_text("1")
    assert state_of(files) != before
    lesson.write_bytes(b"\xff broken: [")
    assert lesson in watched_files(lesson, None)
