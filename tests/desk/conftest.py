"""What the tests of the worksheet share: a served lesson folder, and a real browser."""

import datetime
import os
import shutil
import threading
from contextlib import contextmanager
from pathlib import Path

import pytest

from reporter.desk.lesson_desk import LessonDesk
from reporter.desk.server import DeskServer
from reporter.desk.view import PICTURE_ENDINGS, PLACES, files_in
from reporter.session.scaffold import new_lesson
from tests.conftest import DEMO, REQUIRE_ALL

DAY = datetime.date(2027, 4, 13)


@contextmanager
def served(folder: Path, port: int = 0):
    """Serve a folder's worksheet from a thread."""
    pictures = tuple(files_in(folder, PICTURE_ENDINGS, PLACES))
    text = new_lesson(pictures, lesson_id="a1b2c3d4", student_id="e5f6a7b8", date=DAY)
    server = DeskServer(LessonDesk(folder, text, lambda: DAY), port)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture
def demo_folder(tmp_path):
    """A copy of the demo lesson."""
    folder = tmp_path / "lesson"
    shutil.copytree(DEMO.parent / "frames", folder / "frames")
    for name in ("session.yaml", "shots.csv"):
        shutil.copy(DEMO.parent / name, folder / name)
    return folder


@pytest.fixture
def desk(demo_folder):
    """The demo lesson's worksheet."""
    with served(demo_folder) as server:
        yield server


@pytest.fixture(scope="session")
def browser():
    """A real browser; skipped by name where there is none, unless all is required."""
    missing = ""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing = "the package playwright is not installed"
    if program is None:
        missing = "the program chromium is not installed"
    if missing:
        if os.environ.get(REQUIRE_ALL):
            pytest.fail(missing)
        pytest.skip(missing)
    with sync_playwright() as playwright:
        # A browser run by root refuses to start inside its own sandbox.
        arguments = ["--no-sandbox"] if os.geteuid() == 0 else []
        opened = playwright.chromium.launch(executable_path=program, args=arguments)
        yield opened
        opened.close()
