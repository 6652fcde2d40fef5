"""What single small changes of the boundary would break, and no other test tells apart."""

import errno
import io
import os
import struct
import time
import warnings
from pathlib import Path

import pytest
from PIL import Image

from reporter import publish as publishing
from reporter.errors import CannotWriteError
from reporter.publish import publish
from reporter.session import frames, heic, heic_worker
from reporter.session.frames import Picture, clean_jpeg, open_frame
from reporter.session.heic import HeicRefusedError, open_heic

TURNED = Path(__file__).resolve().parents[1] / "session" / "pictures" / "turned.heic"
posix = pytest.mark.skipif(os.name == "nt", reason="file modes and links as POSIX has them")

# --- publishing -----------------------------------------------------------------------------


@posix
def test_who_may_read_an_output_is_the_user_s_own_choice(tmp_path):
    """POSIX open(2): the mode asked for, less the process's mask."""
    before = os.umask(0o027)
    try:
        publish(tmp_path / "a", b"x")
        os.umask(0)
        publish(tmp_path / "b", b"x")
    finally:
        os.umask(before)
    modes = [(tmp_path / name).stat().st_mode & 0o777 for name in "ab"]
    assert modes == [0o640, 0o666]


@posix
def test_a_name_that_may_not_be_replaced_leaves_no_second_file(tmp_path, monkeypatch):
    """Only where a viewer locks files is the new one kept beside the old."""
    target = tmp_path / "a.pdf"
    target.write_bytes(b"old")
    real, asked = Path.replace, []

    def refused_once(path, to):
        asked.append(to)
        if len(asked) == 1:
            raise PermissionError(errno.EPERM, "not permitted")
        return real(path, to)

    monkeypatch.setattr(Path, "replace", refused_once)
    with pytest.raises(CannotWriteError):
        publish(target, b"new", force=True)
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]
    assert target.read_bytes() == b"old"


def left_over(folder: Path, number: int = 0) -> Path:
    """Return the name of an unfinished file of a process that ended."""
    return folder / f".lesson-reporter-{2**22 + 1 + number}-0123456789ab.part"


@posix
def test_a_left_over_link_is_judged_by_its_own_age(tmp_path):
    young = tmp_path / "young"
    young.write_bytes(b"x")
    link = left_over(tmp_path)
    link.symlink_to(young)
    long_ago = time.time() - 2 * 3_600
    os.utime(link, (long_ago, long_ago), follow_symlinks=False)
    publish(tmp_path / "a", b"x")
    assert not link.is_symlink()
    assert young.read_bytes() == b"x"


def test_two_runs_that_tidy_at_once_do_not_stop_each_other(tmp_path, monkeypatch):
    """Whatever the other has removed in between, the rest still goes."""
    long_ago = time.time() - 2 * 3_600
    for number in range(3):
        left_over(tmp_path, number).write_bytes(b"x")
        os.utime(left_over(tmp_path, number), (long_ago, long_ago))
    real = Path.unlink

    def other_was_quicker(path, missing_ok=False):
        if path.exists():
            real(path)
        real(path, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", other_was_quicker)
    publishing._remove_leftovers(tmp_path)
    assert list(tmp_path.iterdir()) == []


# --- HEIC, in a process of its own ----------------------------------------------------------


@pytest.fixture
def other_worker(tmp_path, monkeypatch):
    """Return a way to put another program in the worker's place."""
    made = []

    def begin(text: str) -> heic._Worker:
        program = tmp_path / "worker.py"
        program.write_text(text, "utf-8")
        monkeypatch.setattr(heic_worker, "__file__", str(program))
        made.append(heic._Worker())
        return made[-1]

    yield begin
    for worker in made:
        if worker._process is not None:
            worker._process.kill()
            worker._process.wait()


ANSWERS = {
    "no JSON": struct.pack(">Q", 5) + b"{{{{{",
    "dies at once": b"",
    "dies in its answer": struct.pack(">Q", 50) + b"{",
}


@pytest.mark.parametrize("name", ANSWERS)
def test_a_worker_that_answers_nonsense_is_ended_and_told(other_worker, name):
    worker = other_worker(
        "import sys\nsys.stdin.buffer.read(10)\n"
        f"sys.stdout.buffer.write({ANSWERS[name]!r})\nsys.stdout.flush()\n"
    )
    with pytest.raises(HeicRefusedError) as raised:
        worker.ask(b"x" * 10, 100, pixels=True)
    assert (raised.value.kind, str(raised.value)) == ("damaged", "damaged")
    assert worker._process is None


def test_a_worker_that_does_not_listen_is_ended_soon(other_worker):
    worker = other_worker("import time\ntime.sleep(600)\n")
    process = worker._running()
    begun = time.monotonic()
    worker.stop()
    assert time.monotonic() - begun < 60
    assert process.returncode is not None


def test_what_the_worker_refuses_is_told_by_kind_and_it_works_on():
    pytest.importorskip("pi_heif")
    data = TURNED.read_bytes()
    with pytest.raises(HeicRefusedError) as raised:
        open_heic(data, "a.heic", 10, pixels=True)
    assert raised.value.kind == "pixels"
    process = heic._WORKER._process
    with pytest.raises(HeicRefusedError):
        open_heic(data[: len(data) // 2], "a.heic", 10**6, pixels=True)
    whole = open_heic(data, "a.heic", 10**6, pixels=True)
    assert heic._WORKER._process is process, "a refusal is no reason for a new process"
    blank = open_heic(data, "a.heic", 10**6, pixels=False)
    assert whole.size == blank.size
    assert (whole.mode, blank.mode, whole.format) == ("RGB", "1", "HEIF")
    assert whole.info["exif"] == blank.info["exif"] != b""


def test_a_worker_of_another_process_is_not_ours_to_end(other_worker, monkeypatch):
    worker = other_worker("import sys\nsys.stdin.read()\n")
    process = worker._running()
    monkeypatch.setattr(worker, "_owner", os.getpid() + 1)
    worker.stop()
    assert process.poll() is None
    process.kill()
    process.wait()


# --- frames ---------------------------------------------------------------------------------


def noise(width: int, height: int) -> Image.Image:
    return Image.effect_noise((width, height), 70).convert("RGB")


def written(image: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    held = io.BytesIO()
    image.save(held, kind, **options)
    return held.getvalue()


def test_a_clean_jpeg_has_the_tables_of_its_quality():
    """Against libjpeg's own tables of quality 85, as Pillow writes them."""
    image = noise(64, 64)
    ours = Image.open(io.BytesIO(clean_jpeg(Picture(image, image.size, ""), 64, 64)))
    theirs = Image.open(io.BytesIO(written(image, quality=85)))
    assert ours.quantization == theirs.quantization
    assert ours.quantization != Image.open(io.BytesIO(written(image, quality=86))).quantization


@pytest.mark.parametrize(
    ("crop", "size", "filter_", "gap"),
    [
        ((50, 30, 70, 60), (40, 60), Image.Resampling.BICUBIC, None),
        ((50, 30, 90, 60), (40, 30), Image.Resampling.BICUBIC, None),
        ((50, 30, 91, 60), (40, 30), Image.Resampling.HAMMING, 2.0),
        ((50, 30, 90, 61), (40, 30), Image.Resampling.HAMMING, 2.0),
        ((0, 0, 100, 20), (50, 40), Image.Resampling.HAMMING, 2.0),
        ((0, 0, 20, 100), (40, 50), Image.Resampling.HAMMING, 2.0),
    ],
)
def test_smaller_averages_and_larger_is_drawn_smooth(crop, size, filter_, gap):
    """Against Pillow's own resizing."""
    image = noise(100, 100)
    ours = clean_jpeg(Picture(image, image.size, ""), *size, crop)
    box = tuple(float(edge) for edge in crop)
    theirs = image.resize(size, resample=filter_, box=box, reducing_gap=gap)
    assert ours == written(theirs, quality=85, subsampling=0)


def test_a_comment_that_clings_to_a_picture_is_not_written():
    image = noise(64, 64)
    image.info["comment"] = b"Vilmorquest"
    assert b"Vilmorquest" in written(image)
    assert b"Vilmorquest" not in clean_jpeg(Picture(image, image.size, ""), 32, 32)


def test_too_many_pixels_are_an_error_and_other_remarks_are_none():
    with pytest.raises(Image.DecompressionBombWarning), frames._bombs_are_errors():
        warnings.warn("large", Image.DecompressionBombWarning, stacklevel=1)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with frames._bombs_are_errors():
            warnings.warn("odd tag", UserWarning, stacklevel=1)


def test_damaged_data_about_itself_is_told_and_the_picture_taken(tmp_path, monkeypatch):
    """What raises depends on the library's version, so it is made to raise."""

    def broken(_image):
        raise SyntaxError

    monkeypatch.setattr(Image.Image, "getexif", broken)
    (tmp_path / "a.jpg").write_bytes(written(noise(64, 96)))
    picture = open_frame(tmp_path, "a.jpg")
    assert picture.size == (64, 96)
    assert picture.notes == ("the picture's data about itself is damaged; taken as upright",)


@pytest.mark.parametrize(
    ("at_least", "longest"),
    [(None, 640), (641, 640), (640, 640), (321, 640), (320, 320), (161, 320), (160, 160),
     (81, 160), (80, 80), (10, 80)],
)  # fmt: skip
def test_a_smaller_picture_is_never_smaller_than_asked(tmp_path, at_least, longest):
    """A JPEG decodes at a half, a quarter, an eighth (ITU-T T.81: blocks of eight)."""
    (tmp_path / "a.jpg").write_bytes(written(noise(640, 480)))
    picture = open_frame(tmp_path, "a.jpg", at_least_px=at_least)
    assert picture.size == (640, 480)
    assert max(picture.image.size) == longest


@pytest.mark.parametrize("start", [b"", b"\0" * 11, b"\0\0\0\x18ftyp"])
def test_what_is_too_short_to_be_a_picture_is_refused(tmp_path, start):
    (tmp_path / "a.jpg").write_bytes(start)
    with pytest.raises(frames.PictureRefusedError):
        open_frame(tmp_path, "a.jpg")


def test_every_change_that_is_said_to_be_none_still_has_its_line():
    from tests.mutation import ROOT, SAME, TESTS, mutants

    for module, kind, line in SAME:
        assert module in TESTS
        text = (ROOT / module).read_text("utf-8")
        lines = text.splitlines()
        found = {(what, lines[number - 1].strip()) for number, what, _, _ in mutants(text)}
        assert (kind, line) in found, (module, line)


def test_every_module_of_the_boundary_is_changed_too():
    """The tables of coverage and of small changes name the same modules, but for plain words."""
    from tests.coverage import BOUNDARY
    from tests.mutation import TESTS

    assert set(BOUNDARY) - set(TESTS) == {"reporter/yaml_words.py"}
    assert set(TESTS) <= set(BOUNDARY)
