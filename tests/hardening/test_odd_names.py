"""Names that no disk can hold, that are no text, or that stand for a pipe or a device."""

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from reporter.batch.fingerprint import digest
from reporter.batch.manifest import FORMAT, LARGEST_BYTES, MANIFEST, open_manifest
from reporter.batch.work import Style
from reporter.command_line import run
from reporter.errors import CannotWriteError, DiskFullError, ExitCode, InputRefusedError
from reporter.handout.practice_calendar import is_calendar_of
from reporter.pdf import belongs_to
from tests.conftest import TODAY

LONG = "x" * 300
STYLE = Style(None, "handout", "a4", TODAY)


@pytest.fixture
def lesson(tmp_path, monkeypatch) -> Path:
    (tmp_path / "session.yaml").write_text("thoughts: [x]\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["build", LONG], 3), (["check", LONG], 3), (["measure", LONG], 3), (["proof", LONG], 3),
        (["build", "session.yaml", "--brand", LONG], 3),
        (["build", "session.yaml", "--layout", LONG], 3),
        (["build", "session.yaml", "-o", LONG], 3),
        (["build", "session.yaml", "-o", f"{LONG}.pdf"], 5),
        (["build", "session.yaml", "--recap", "-o", f"{LONG}.pdf"], 5),
        (["new", LONG], 5), (["new", ".", "--after", LONG], 5), (["demo", LONG], 5),
        (["batch", LONG], 3), (["batch", ".", "-o", LONG], 5),
        (["batch", ".", "-o", "out", "--brand", LONG], 4),
        (["drills", "--drills", LONG], 3), (["flight", "--shots", LONG], 3),
    ],
)  # fmt: skip
def test_a_name_that_no_disk_can_hold_is_told_in_a_letter(lesson, capfd, words, code):
    assert run(words) == code
    told = capfd.readouterr().err
    assert "internal fault" not in told
    assert "Traceback" not in told


def test_a_brand_of_a_lesson_that_no_disk_can_hold(lesson):
    """Long in bytes, not in letters: the folder for brands is there, so the disk is asked."""
    (lesson / "brands").mkdir()
    text = f"lesson: {{brand: {'ä' * 200}}}\nthoughts: [x]\n"
    (lesson / "session.yaml").write_text(text, encoding="utf-8")
    assert run(["build", "session.yaml"]) == ExitCode.INPUT_REFUSED


@pytest.mark.skipif(sys.platform != "linux", reason="other systems allow no such names")
def test_a_folder_whose_name_is_no_text(tmp_path, monkeypatch, capfd):
    """A lesson without an id is told by where it lies; the list of a batch holds the name."""
    folder = Path(os.fsdecode(os.fsencode(tmp_path / "in") + b"/\xff\xfe"))
    folder.mkdir(parents=True)
    (folder / "session.yaml").write_text("thoughts: [x]\n", encoding="utf-8")
    for form in ([], ["--record"], ["--recap"], ["--calendar", "--force"]):
        assert run(["build", str(folder), *form]) == ExitCode.OK, capfd.readouterr().err
    for _ in range(2):
        words = ["batch", str(tmp_path / "in"), "-o", str(tmp_path / "out"), "--json"]
        assert run(words) == ExitCode.OK
    told = capfd.readouterr()
    assert '"kept": 1' in told.out
    assert "internal fault" not in told.err


def test_a_pipe_in_the_place_of_any_file_is_never_waited_for(lesson):
    """Each as typed, in a process with a time limit: a wait would be for ever."""
    (lesson / "brands" / "own").mkdir(parents=True)
    (lesson / "out").mkdir()
    for name in ("pipe", "brands/own/brand.yaml", "out/batch.jsonl", "handout.pdf", "drills.yaml"):
        os.mkfifo(lesson / name)
    (lesson / "branded").mkdir()
    (lesson / "branded" / "session.yaml").write_text("thoughts: [x]\n", encoding="utf-8")
    root = str(Path(__file__).resolve().parents[2])
    for words, code in (
        (("check", "pipe"), 3), (("drills", "--drills", "pipe"), 3),
        (("flight", "--shots", "pipe"), 3), (("build", "session.yaml", "--brand", "brands/own"), 3),
        (("build", "session.yaml", "-o", "handout.pdf", "--force"), 3),
        (("batch", "branded", "-o", "out"), 5),
    ):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "reporter", *words], cwd=lesson, timeout=120, check=False,
            env=os.environ | {"PYTHONPATH": root}, capture_output=True, text=True,
        )  # fmt: skip
        assert done.returncode == code, (words, done.stderr)
        assert "internal fault" not in done.stderr


def test_the_list_of_a_batch_is_no_link_and_no_giant(tmp_path):
    target = tmp_path / "target"
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / MANIFEST).symlink_to(target)
    with pytest.raises(CannotWriteError), open_manifest(tmp_path / "out", STYLE, "0"):
        pass
    assert not target.exists()
    (tmp_path / "out" / MANIFEST).unlink()
    with (tmp_path / "out" / MANIFEST).open("wb") as opened:
        opened.truncate(LARGEST_BYTES + 1)
    huge = pytest.raises(InputRefusedError, match="more than 256 MiB")
    with huge, open_manifest(tmp_path / "out", STYLE, "0"):
        pass


@pytest.mark.parametrize(
    "line",
    ['{"name": []}', '{"name": "one"}', "[" * 100_000, '{"name": "one", "result": "delivered"}',
     '{"name": "one", "result": 1, "style": 1, "target": 1, "sha256": 1, "inputs": 1}', "null",
     "\ud800".encode("utf-8", "surrogatepass").decode("latin-1")],
)  # fmt: skip
def test_a_damaged_line_of_the_list_keeps_nothing(tmp_path, line):
    first = json.dumps({"format": FORMAT})
    (tmp_path / MANIFEST).write_bytes(f"{first}\n{line}\n".encode("latin-1"))
    with open_manifest(tmp_path, STYLE, "0") as manifest:
        assert manifest.known("one") is None


def test_the_list_is_written_whole_though_the_disk_takes_parts(tmp_path):
    from reporter.batch.manifest import _add

    class Slow:
        written = b""

        def write(self, data):
            self.written += data[:3]
            return len(data[:3])

    slow = Slow()
    _add(slow, b"0123456789")
    assert slow.written == b"0123456789"


def test_a_full_disk_under_the_list_is_told_as_one(tmp_path, monkeypatch):
    import errno

    from reporter.batch import manifest as module

    def full(_handle, _data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(module, "_add", full)
    with pytest.raises(DiskFullError), open_manifest(tmp_path, STYLE, "0"):
        pass


def test_a_digest_never_waits_and_never_raises(tmp_path):
    (tmp_path / "file").write_bytes(b"x" * 3_000_000)
    assert digest(tmp_path / "file") == hashlib.sha256(b"x" * 3_000_000).hexdigest()
    os.mkfifo(tmp_path / "pipe")
    for name in ("pipe", "missing", ".", LONG, "a\0b", "/dev/zero"):
        assert digest(tmp_path / name).startswith("unreadable: ")


def test_looking_into_an_earlier_output_never_waits_and_costs_no_memory(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with (tmp_path / "giant").open("wb") as opened:
        opened.truncate(2_000_000_000)
    for name in ("pipe", "giant", "missing", "."):
        assert not belongs_to(tmp_path / name, "mark")
        assert not is_calendar_of(tmp_path / name, "key")


def test_a_damaged_typeface_is_told_without_hundreds_of_lines(tmp_path, capfd):
    """Its reader would log each odd glyph and name on the error stream."""
    import random

    from tests.hardening.boundaries import BY_NAME
    from tests.hardening.trial import attempt

    boundary, chance = BY_NAME["typeface"], random.Random(1)
    whole = boundary.seeds()[0]
    for table in (b"name", b"hmtx", b"post"):
        data = bytearray(whole)
        at = data.index(table) + 8  # where the directory says the table lies
        data[at : at + 4] = chance.randrange(len(data) // 2).to_bytes(4, "big")
        assert attempt(boundary, bytes(data), tmp_path) is None
    assert capfd.readouterr().err == ""


PICTURE = """
import sys, resource
from pathlib import Path
from PIL import Image
Image.MAX_IMAGE_PIXELS = None
from reporter.session.frames import clean_jpeg, open_frame
kind, mode = sys.argv[1:]
image = Image.new(mode, (7_000, 7_000))
image.save(f"big.{kind}")
del image
"""
MEASURE = """
import resource, sys
from pathlib import Path
from reporter.session.frames import clean_jpeg, open_frame
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
clean_jpeg(open_frame(Path("."), sys.argv[1], at_least_px=1_000), 100, 100)
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1_024)
"""


@pytest.mark.parametrize(("kind", "mode", "most"), [("png", "I;16", 600), ("png", "RGBA", 800),
                                                    ("jpg", "RGB", 100)])  # fmt: skip
def test_row_13_the_largest_pictures_stay_under_a_gibibyte(tmp_path, kind, mode, most):
    """Forty-nine million pixels, of the kinds that need most memory; one is far less."""
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    for program, words in ((PICTURE, (kind, mode)), (MEASURE, (f"big.{kind}",))):
        done = subprocess.run(
            [sys.executable, "-c", program, *words], cwd=tmp_path, env=environment,
            capture_output=True, text=True, check=True,
        )  # fmt: skip
    assert int(done.stdout) < most
