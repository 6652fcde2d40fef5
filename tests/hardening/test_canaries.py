"""Planted words, searched in everything that every command writes, on paper and on the screen.

Extends tests/handout/test_privacy.py from the two files of `build` to all forms of all commands.
"""

import contextlib
import getpass
import io
import json
import os
import platform
import re
import shutil
import socket
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.handout.test_privacy import (
    AROUND,
    IN_LESSON,
    IN_PICTURE,
    POSITION,
    everything_in,
    traced_lesson,  # noqa: F401 - the fixture
    written_ways,
)

ROOT = Path(__file__).resolve().parents[2]
CAMERA = {f"picture: {place}": word for place, word in IN_PICTURE.items()}
MACHINE = {
    "user": AROUND["user"], "host": AROUND["host"], "home": AROUND["home"],
    "folder": AROUND["absolute folder"],
}  # fmt: skip
PRIVATE = {
    place: IN_LESSON[place] for place in ("private_notes", "guardian", "student id", "avoid")
}


@dataclass
class Made:
    """What one command left: its files, and what it said."""

    files: list[Path]
    said: bytes
    code: int
    words: tuple[str, ...] = field(default=())


COMMANDS = {
    "handout": ("build", "{lesson}", "-o", "{out}/a.pdf", "--calendar"),
    "handout for mail": ("build", "{lesson}", "-o", "{out}/a.pdf", "--for", "mail"),
    "handout in grey": ("build", "{lesson}", "-o", "{out}/a.pdf", "--ink", "grey"),
    "handout saving ink": ("build", "{lesson}", "-o", "{out}/a.pdf", "--ink", "saver"),
    "handout on a phone": ("build", "{lesson}", "-o", "{out}/a.pdf", "--paper", "phone"),
    "handout alone": ("build", "{lesson}", "-o", "{out}/a.pdf", "--no-attachments"),
    "handout small": ("build", "{lesson}", "-o", "{out}/a.pdf", "--max-size", "400kB"),
    "record": ("build", "{lesson}", "-o", "{out}/a.pdf", "--record"),
    "recap": ("build", "{lesson}", "-o", "{out}/a.pdf", "--recap"),
    "batch": ("batch", "{above}", "-o", "{out}", "--json"),
    "check": ("check", "{lesson}", "--json", "--explain"),
    "measure": ("measure", "{lesson}", "--json"),
    "proof": ("proof", "{lesson}", "--json"),
}  # fmt: skip
HOLDS_THE_WHOLE_LESSON = {"record", "check"}
"""A record carries the lesson file, and `check --explain` tells every value of it to the coach."""
FOR_THE_COACH = {"recap"}
"""A page for the coach: private notes belong on it, and student facts, never the camera's."""


@pytest.fixture(scope="module")
def made(traced_lesson, tmp_path_factory):  # noqa: F811 - the fixture
    """Run every command, once, where user, host and home tell something."""
    from reporter.command_line import run

    results = {}
    with pytest.MonkeyPatch.context() as patch:
        for name in ("USER", "LOGNAME", "USERNAME"):
            patch.setenv(name, AROUND["user"])
        patch.setenv("HOSTNAME", AROUND["host"])
        patch.setenv("HOME", f"/home/{AROUND['home']}")
        patch.setattr(getpass, "getuser", lambda: AROUND["user"])
        patch.setattr(socket, "gethostname", lambda: AROUND["host"])
        patch.setattr(platform, "node", lambda: AROUND["host"])
        patch.chdir(traced_lesson.parent)
        for name, words in COMMANDS.items():
            out = tmp_path_factory.mktemp("out")
            filled = [
                word.format(lesson=traced_lesson.name, out=out, above=traced_lesson.parent)
                for word in words
            ]
            said = io.StringIO()
            with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
                code = run(filled)
            files = [path for path in out.rglob("*") if path.is_file()]
            told = said.getvalue().replace(str(out), "").encode()
            results[name] = Made(files, told, int(code), tuple(filled))
    return results


def content_of(path: Path) -> bytes:
    return everything_in(path) if path.suffix == ".pdf" else unfolded(path.read_bytes())


def unfolded(data: bytes) -> bytes:
    """Return a text file's bytes, and again with a calendar's folded lines put together."""
    return data + b"\n" + re.sub(rb"\r\n[ \t]", b"", data)


def found_in(content: bytes, words: dict[str, str]) -> set[str]:
    return {
        place for place, word in words.items() if any(way in content for way in written_ways(word))
    }


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_did_its_work(made, name):
    assert made[name].code == 0, made[name].said.decode()
    assert made[name].files or made[name].said


@pytest.mark.parametrize("name", COMMANDS)
def test_no_trace_of_the_camera_anywhere(made, name):
    for path in made[name].files:
        content = content_of(path)
        assert found_in(content, CAMERA) == set(), path.name
        assert POSITION not in content, path.name
    assert found_in(made[name].said, CAMERA) == set()


@pytest.mark.parametrize("name", COMMANDS)
def test_no_trace_of_the_machine_in_what_is_handed_on(made, name):
    """The list of a batch is left out: it stays beside the coach's files; see the next test."""
    for path in made[name].files:
        if path.name != "batch.jsonl":
            assert found_in(content_of(path), MACHINE) == set(), path.name
    words = {place: MACHINE[place] for place in ("user", "host", "home")}
    assert found_in(made[name].said, words) == set()


def test_the_list_of_a_batch_tells_paths_but_nothing_of_the_lesson(made):
    """It names inputs by absolute path to see later whether they changed: a local work file."""
    (listed,) = [path for path in made["batch"].files if path.name == "batch.jsonl"]
    content = listed.read_bytes()
    assert found_in(content, {"folder": MACHINE["folder"]}) == {"folder"}
    others = {place: MACHINE[place] for place in ("user", "host", "home")}
    names = ("folder of a frame", "folder of the shots")
    inside = {place: word for place, word in IN_LESSON.items() if place not in names}
    assert found_in(content, others | inside) == set()
    line = json.loads(content.splitlines()[-1])
    assert set(line) == {"name", "result", "code", "reasons", "target", "sha256", "pages",
                         "inputs", "house", "style"}  # fmt: skip


@pytest.mark.parametrize("name", sorted(set(COMMANDS) - HOLDS_THE_WHOLE_LESSON - FOR_THE_COACH))
def test_nothing_private_of_the_lesson_in_what_a_student_gets(made, name):
    for path in made[name].files:
        if path.name != "batch.jsonl":
            assert found_in(content_of(path), PRIVATE) == set(), path.name
    # What is said on the screen is for the coach, and may name what the coach has written.


def test_the_search_finds_what_is_there(made):
    """The same search finds the whole lesson in the coach's record."""
    (record,) = made["record"].files
    assert found_in(content_of(record), PRIVATE) == set(PRIVATE)


def test_the_log_of_a_fault_names_lines_of_code_only(tmp_path, monkeypatch):
    """Nothing that was being worked on, and no path, stands in the log of a fault of our own."""
    import tempfile

    from reporter.commands.screen import show_fault

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    secret = "Vilmorquest53"
    try:
        raise KeyError(f"/home/{AROUND['home']}/{secret}")
    except KeyError as error:
        show_fault(error)
    (log,) = tmp_path.iterdir()
    content = log.read_bytes()
    assert b"KeyError" in content
    assert found_in(content, {"secret": secret, "home": AROUND["home"]}) == set()
    assert b"/" not in content
    assert log.stat().st_mode & 0o077 == 0


def test_the_worksheet_tells_nothing_of_camera_or_machine(made, traced_lesson, tmp_path):  # noqa: F811
    """Every answer of a lesson's worksheet, and the picture it takes out of a clip."""
    import datetime

    from reporter.desk.lesson_desk import LessonDesk
    from tests.video.clips import every, write_clip

    folder = tmp_path / AROUND["absolute folder"]
    shutil.copytree(traced_lesson.parent, folder)
    words = {"maker": "Makerofthephone61", "place": "+12.5-034.5/", "folder": MACHINE["folder"]}
    clip = write_clip(
        folder / "face-on-after.mov", every(6, 25), size=(96, 64),
        metadata={"location": words["place"], "make": words["maker"]},
        container_options={"movflags": "use_metadata_tags"},
    )  # fmt: skip
    assert found_in(clip.read_bytes(), words) == {"maker", "place"}
    desk = LessonDesk(folder, "", lambda: datetime.date(2027, 4, 13))
    try:
        view = json.loads(desk.get("/lesson", {}).data)
        pull = {"when": "after", "view": "face-on", "position": "top", "clip": 0, "index": 3}
        answers = [
            desk.get("/words", {}), desk.get("/drills", {}), desk.get("/clips/0", {}),
            desk.get("/clips/0/2", {}), desk.post("/pull", pull, {}), desk.get("/lesson", {}),
            desk.post("/build", {}, {}),
            *(desk.get(f"/stills/{frame['picture']}", {}) for frame in view["frames"]),
        ]  # fmt: skip
    finally:
        desk.close()
    assert {answer.status for answer in answers} == {200}
    machine = {place: MACHINE[place] for place in ("user", "host", "home")}
    for answer in answers:
        assert found_in(answer.data, CAMERA | machine | {"maker": words["maker"]}) == set()
        assert POSITION not in answer.data
    new = {path.name for path in folder.rglob("*.*")} - {
        path.name for path in traced_lesson.parent.rglob("*.*")
    }
    assert new == {"face-on-after.mov", "after-face-on-top.jpg", "handout.pdf"}
    pulled = (folder / "frames" / "after-face-on-top.jpg").read_bytes()
    assert found_in(pulled, words | CAMERA) == set()
    assert found_in(everything_in(folder / "handout.pdf"), words | CAMERA | MACHINE) == set()


@pytest.mark.parametrize("ending", [".png", ".heic"])
def test_other_kinds_of_picture_leave_nothing_either(tmp_path, ending):
    """A PNG with text, EXIF and XMP, and a HEIC with EXIF, into a handout."""
    from PIL import Image, PngImagePlugin

    lesson = tmp_path / "lesson"
    lesson.mkdir()
    picture = lesson / f"one{ending}"
    if ending == ".heic":
        pytest.importorskip("pi_heif")
        shutil.copy(ROOT / "tests" / "session" / "pictures" / "turned.heic", picture)
        words = {"in the file": "CANARY"}
    else:
        noted = PngImagePlugin.PngInfo()
        words = {place: word for place, word in IN_PICTURE.items() if place != "thumbnail"}
        noted.add_text("Comment", words["comment of the user"])
        noted.add_text("Author", words["maker"], zip=False)
        noted.add_itxt("XML:com.adobe.xmp", f"<x>{words['xmp']}</x>")
        noted.add_text("Serial", words["serial number"])
        noted.add_text("More", words["comment segment"])
        exif = Image.Exif()
        exif[0x010F] = words["maker"]
        Image.effect_noise((96, 128), 50).convert("RGB").save(picture, pnginfo=noted, exif=exif)
    assert found_in(picture.read_bytes(), words) == set(words)
    (lesson / "session.yaml").write_text(
        "thoughts: [x]\ntakes:\n- {id: a, when: before, view: face-on}\n"
        "- {id: b, when: after, view: face-on}\nframes:\n"
        f"- {{id: f, take: a, position: top, file: one{ending}}}\n"
        f"- {{id: g, take: b, position: top, file: one{ending}}}\n"
        "pairs:\n- {before: f, after: g}\n",
        encoding="utf-8",
    )
    for form in ((), ("--record",)):
        out = tmp_path / f"out{len(form)}.pdf"
        done = subprocess.run(
            [sys.executable, "-m", "reporter", "build", "session.yaml", "-o", str(out), *form],
            cwd=lesson, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True,
            check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode()
        assert found_in(everything_in(out), words) == set()
