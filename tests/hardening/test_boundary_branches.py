"""What the other tests of the boundary leave out: other systems, odd disks, last defences."""

import errno
import io
import os
import stat
import struct
import subprocess
import sys
import threading
import time
import types
from pathlib import Path

import pytest
import yaml
from PIL import Image

from reporter import publish as publishing
from reporter import safe_open, yaml_source
from reporter.errors import CannotWriteError, DiskFullError, InputRefusedError
from reporter.publish import judge_target, publish
from reporter.safe_open import (
    ReferenceRefusedError,
    is_file,
    is_folder,
    noting_files,
    open_inside,
    read_given,
    read_inside,
)
from reporter.session import frames, heic, heic_worker
from reporter.session.frames import PictureRefusedError, clean_jpeg, open_frame, picture_header
from reporter.session.shots import read_shots
from reporter.yaml_source import read_yaml
from reporter.yaml_words import in_plain_words

PICTURES = Path(__file__).resolve().parents[1] / "session" / "pictures"


# --- YAML -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("error", [RecursionError, ValueError])
def test_a_parser_that_raises_something_else_is_a_refusal(monkeypatch, error):
    def broken(_text):
        raise error

    monkeypatch.setattr(yaml_source, "_events", broken)
    with pytest.raises(InputRefusedError, match=rf"x:1:1: cannot be read .*{error.__name__}"):
        read_yaml(b"a: b", "x")


def test_a_list_within_a_list_as_a_field_name_is_refused_once():
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(b"? [[a], {b: c}]\n: d\ne: f\n", "x")
    (problem,) = caught.value.problems
    assert (problem.line, problem.column) == (1, 3)
    assert "where a field name belongs" in problem.message


def test_what_follows_a_list_as_a_field_name_is_still_judged():
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(b"? [a, [b]]\n: [c, {d: e}]\nf: 1\nf: 2\ng: {h: 1, h: 2}\n? {i: j}\n: k\n", "x")
    told = [(problem.line, problem.field) for problem in caught.value.problems]
    assert told == [(1, ""), (4, "f"), (5, "g.h"), (6, "")]


@pytest.mark.parametrize(("depth", "words"), [(31, "field name belongs"), (32, "32 deep")])
def test_how_deep_a_field_name_may_go(depth, words):
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(b"? " + b"[" * depth + b"]" * depth + b"\n: d\n", "x")
    assert words in caught.value.problems[-1].message


def test_an_empty_file_has_a_beginning():
    source = read_yaml(b"# nothing\n", "x")
    assert source.value is None
    assert source.place(("a",)) == source.key_place(("a",)) == (1, 1)


def test_depth_counts_inside_a_field_name_too():
    with pytest.raises(InputRefusedError, match="nested more than 32 deep"):
        read_yaml(b"? " + b"[" * 40 + b"]" * 40 + b"\n: d\n", "x")
    assert read_yaml(b"[" * 32 + b"]" * 32, "x").value
    with pytest.raises(InputRefusedError, match="32 deep"):
        read_yaml(b"[" * 33 + b"]" * 33, "x")


def test_the_number_of_parts_is_limited_to_the_very_one():
    # A list of n words makes n + 6 events: stream, document and list each begin and end.
    most = yaml_source.MOST_EVENTS
    words = b"[" + b"a," * (most - 7) + b"a]"
    assert len(read_yaml(words, "x").value) == most - 6
    with pytest.raises(InputRefusedError, match=f"more than {most} parts"):
        read_yaml(b"[" + b"a," * (most - 6) + b"a]", "x")


def test_the_size_is_limited_to_the_very_byte():
    largest = yaml_source.LARGEST_FILE_BYTES
    assert largest == 256 * 1024
    whole = b"a: b\n#" + b"x" * (largest - 6)
    assert read_yaml(whole, "x").value == {"a": "b"}
    with pytest.raises(InputRefusedError, match=f"{largest + 1} bytes; at most {largest}"):
        read_yaml(whole + b"x", "x")


def test_a_fault_without_a_place_is_told_at_the_beginning():
    problem = in_plain_words(yaml.YAMLError(), "a: b", "x")
    assert (problem.line, problem.column) == (1, 1)
    assert problem.message == "cannot be read as YAML; check quotes and indentation"


def test_a_tab_within_a_line_is_named():
    with pytest.raises(InputRefusedError, match="x:2:3: a tab stands here; use spaces"):
        read_yaml(b"a:\n- \tb: c", "x")


@pytest.mark.parametrize(
    ("data", "line", "column"),
    [(b"a: b\nc: \xff", 2, 4), (b"\xef\xbb\xbfa: \xff", 1, 4), ("ä: ".encode() + b"\xff", 1, 4)],
)
def test_the_place_of_a_byte_that_is_no_text(data, line, column):
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(data, "x")
    assert (caught.value.problems[0].line, caught.value.problems[0].column) == (line, column)


def test_at_most_fifty_forbidden_characters_are_listed():
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(b"a: \x01" * 60, "x")
    assert len(caught.value.problems) == 50


@pytest.mark.parametrize("data", [b"\xff\xfea\0", b"\xfe\xff\0a"])
def test_utf_16_is_named(data):
    with pytest.raises(InputRefusedError, match="UTF-16"):
        read_yaml(data, "x")


def test_places_count_from_one_in_every_line_end():
    source = read_yaml(b"a: 1\r\nb:\r\n  - c: x\r\n", "f")
    assert source.place(("b", 0, "c")) == (3, 8)
    assert source.key_place(("b", 0, "c")) == (3, 5)
    assert source.place(("b", 0, "nothing")) == (3, 5)
    assert source.problem(("b", 0, "c"), "m").field == "b.0.c"
    assert source.problem(("a",), "m", at_key=True).column == 1
    assert source.nodes[("b", 0)].children == ["c"]
    assert source.nodes[("b",)].kind == "list"
    assert source.nodes[("a",)].style == ""
    assert source.text[source.nodes[("a",)].start : source.nodes[("a",)].end] == "1"


# --- opening --------------------------------------------------------------------------------------


@pytest.fixture
def lesson(tmp_path):
    folder = tmp_path / "lesson"
    (folder / "frames").mkdir(parents=True)
    (folder / "frames" / "top.jpg").write_bytes(b"picture")
    return folder


def test_what_is_opened_is_noted_in_the_block_only(lesson):
    with noting_files() as noted:
        read_inside(lesson, "frames/top.jpg", 100)
        read_given(lesson / "frames" / "top.jpg", 100)
        assert noted == {lesson / "frames" / "top.jpg"}
        noted.clear()
        read_given(lesson / "frames" / "top.jpg", 100, as_input=False)
        assert noted == set()
    read_inside(lesson, "frames/top.jpg", 100)
    assert noted == set()


def test_the_limit_is_the_very_byte(lesson):
    assert read_inside(lesson, "frames/top.jpg", 7) == b"picture"
    assert read_given(lesson / "frames" / "top.jpg", 7) == b"picture"
    for read in (
        lambda: read_inside(lesson, "frames/top.jpg", 6),
        lambda: read_given(lesson / "frames" / "top.jpg", 6),
        lambda: open_inside(lesson, "frames/top.jpg", 6),
    ):
        with pytest.raises(ReferenceRefusedError, match="has 7 bytes; at most 6 are read"):
            read()


def test_a_file_that_grows_while_it_is_read_is_refused(lesson, monkeypatch):
    """The size is asked for before reading, and once more after."""
    real = os.fstat

    def small(handle):
        facts = real(handle)
        return types.SimpleNamespace(
            st_mode=facts.st_mode, st_size=1, st_ino=facts.st_ino, st_dev=facts.st_dev
        )

    monkeypatch.setattr(os, "fstat", small)
    with pytest.raises(ReferenceRefusedError, match="has 7 bytes; at most 3"):
        read_inside(lesson, "frames/top.jpg", 3)
    with pytest.raises(ReferenceRefusedError, match="at most 3"):
        read_given(lesson / "frames" / "top.jpg", 3)


def test_a_large_file_is_read_whole_and_its_limit_costs_no_memory(tmp_path):
    import tracemalloc

    data = os.urandom(3 * 2**20 + 7)
    (tmp_path / "x").write_bytes(data)
    tracemalloc.start()
    try:
        assert read_given(tmp_path / "x", 10**9) == data
        assert tracemalloc.get_traced_memory()[1] < 5 * len(data)
    finally:
        tracemalloc.stop()


def test_no_name_makes_asking_for_a_folder_fail(tmp_path):
    (tmp_path / "file").write_bytes(b"")
    assert is_folder(tmp_path)
    assert is_file(tmp_path / "file")
    for name in ("x" * 300, "a\0b", "missing", "file/x"):
        assert not is_folder(tmp_path / name)
        assert not is_file(tmp_path / name)
    assert not is_folder(tmp_path / "file")
    assert not is_file(tmp_path)


@pytest.mark.parametrize(
    "name",
    ["con.jpg", "NUL", "aux/x.jpg", "frames/com1.txt", "lpt9", "frames./top.jpg", "x ", "a:b"],
)
def test_names_that_windows_keeps_are_refused_there(lesson, monkeypatch, name):
    monkeypatch.setattr(safe_open, "_ON_WINDOWS", True)
    with pytest.raises(ReferenceRefusedError, match="Windows keeps|drive"):
        read_inside(lesson, name, 100)
    assert read_inside(lesson, "frames/top.jpg", 100) == b"picture"


def test_elsewhere_such_a_name_is_a_name(lesson):
    (lesson / "con.jpg").write_bytes(b"x")
    assert read_inside(lesson, "con.jpg", 100) == b"x"


@pytest.mark.parametrize(("length", "refused"), [(255, False), (256, True)])
def test_how_long_a_part_of_a_name_may_be(lesson, length, refused):
    with pytest.raises(ReferenceRefusedError) as caught:
        read_inside(lesson, "x" * length, 100)
    assert ("too long" in caught.value.reason) == refused


def test_how_long_a_whole_name_may_be(lesson):
    for length, refused in ((1_000, False), (1_001, True)):
        name = "/".join(["x" * 99] * 11)[:length].rstrip("/")
        name = name + "y" * (length - len(name))
        with pytest.raises(ReferenceRefusedError) as caught:
            read_inside(lesson, name, 100)
        assert ("too long" in caught.value.reason) == refused


@pytest.mark.parametrize("by_names", [True, False])
def test_an_umlaut_that_is_nowhere_is_told_as_missing(lesson, monkeypatch, by_names):
    if by_names:
        monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    with pytest.raises(ReferenceRefusedError, match="there is no file"):
        read_inside(lesson, "\u00fcbung.jpg", 100)


class Facts:
    """What a system says of a file, with some of it changed."""

    def __init__(self, real, **changed):
        self._real, self._changed = real, changed

    def __getattr__(self, name):
        return self._changed[name] if name in self._changed else getattr(self._real, name)


def test_by_names_a_reparse_point_counts_as_a_link(lesson, monkeypatch):
    monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    real = os.lstat
    monkeypatch.setattr(os, "lstat", lambda path: Facts(real(path), st_file_attributes=0x400))
    with pytest.raises(ReferenceRefusedError, match="is a link"):
        read_inside(lesson, "frames/top.jpg", 100)


def test_by_names_a_way_out_is_refused(lesson, monkeypatch):
    monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    monkeypatch.setattr(Path, "is_relative_to", lambda self, other: False)
    with pytest.raises(ReferenceRefusedError, match="leads out of the folder"):
        read_inside(lesson, "frames/top.jpg", 100)


@pytest.mark.parametrize("changed", ["st_ino", "st_dev"])
def test_by_names_a_file_that_was_exchanged_is_refused(lesson, monkeypatch, changed):
    monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    real, closed = os.fstat, []
    real_close = os.close
    monkeypatch.setattr(os, "fstat", lambda handle: Facts(real(handle), **{changed: -1}))
    monkeypatch.setattr(os, "close", lambda handle: (closed.append(handle), real_close(handle)))
    with pytest.raises(ReferenceRefusedError, match="changed while it was opened"):
        read_inside(lesson, "frames/top.jpg", 100)
    assert closed


@pytest.mark.parametrize("by_names", [True, False])
def test_no_file_is_opened_that_could_be_a_link_or_make_us_wait(lesson, monkeypatch, by_names):
    """Every part of a name but the folder given, on this system."""
    if by_names:
        monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    real, flags_of = os.open, {}

    def noting(path, flags, *rest, **named):
        flags_of[Path(path).name] = flags
        return real(path, flags, *rest, **named)

    monkeypatch.setattr(os, "open", noting)
    assert read_inside(lesson, "frames/top.jpg", 100) == b"picture"
    flags = flags_of["top.jpg"]
    assert flags & os.O_NOFOLLOW
    assert flags & os.O_NONBLOCK
    assert not flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC)
    if not by_names:
        assert flags & os.O_CLOEXEC
        assert flags_of["frames"] & os.O_NOFOLLOW
        assert flags_of["frames"] & os.O_DIRECTORY
        assert flags_of["frames"] & os.O_CLOEXEC
        assert flags_of["lesson"] & os.O_DIRECTORY
        assert flags_of["lesson"] & os.O_CLOEXEC


def test_a_typed_path_never_makes_us_wait(lesson, monkeypatch):
    real, seen = os.open, []
    monkeypatch.setattr(os, "open", lambda path, flags: (seen.append(flags), real(path, flags))[1])
    read_given(lesson / "frames" / "top.jpg", 100)
    assert seen[0] & os.O_NONBLOCK
    assert seen[0] & os.O_CLOEXEC


def test_a_refusal_names_no_line_of_its_own(lesson):
    with pytest.raises(ReferenceRefusedError) as caught:
        read_inside(lesson, "", 100)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.column, problem.field) == ("(empty)", 0, 0, "")


def test_a_pipe_within_a_name_is_told(lesson, monkeypatch):
    os.mkfifo(lesson / "pipe")
    for by_names in (False, True):
        monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", not by_names)
        with pytest.raises(ReferenceRefusedError, match='"pipe/x" is a pipe'):
            read_inside(lesson, "pipe/x", 100)


def test_an_umlaut_that_is_a_link_to_nowhere_is_told_as_a_link(lesson):
    (lesson / "u\u0308.jpg").symlink_to(lesson / "nowhere")
    with pytest.raises(ReferenceRefusedError) as caught:
        read_inside(lesson, "u\u0308.jpg", 100)
    assert "is a link" in caught.value.reason
    handle = os.open(lesson, os.O_RDONLY)
    try:
        assert safe_open._as_stored("\u00fc.jpg", handle) == "u\u0308.jpg"
    finally:
        os.close(handle)


@pytest.mark.parametrize(
    ("mode", "words"),
    [(stat.S_IFDIR, "is a folder"), (stat.S_IFIFO, "is a pipe"), (stat.S_IFLNK, "is a link"),
     (stat.S_IFCHR, "is a device or socket"), (stat.S_IFSOCK, "is a device or socket")],
)  # fmt: skip
def test_what_stands_there_is_named(mode, words):
    assert safe_open._what_it_is(mode).startswith(words)


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (PermissionError(errno.EACCES, "x"), r"may not be read \(permission denied\)"),
        (OSError(errno.EIO, "Input/output error"), r"cannot be opened \(Input/output error\)"),
        (NotADirectoryError(errno.ENOTDIR, "x"), "a part of the name is a file"),
        (FileNotFoundError(errno.ENOENT, "x"), "there is no file"),
    ],
)
def test_what_the_system_says_is_told_in_plain_words(lesson, monkeypatch, error, words):
    real = os.open

    def failing(path, flags, *rest, **named):
        if str(path).endswith("top.jpg"):
            raise error
        return real(path, flags, *rest, **named)

    monkeypatch.setattr(os, "open", failing)
    with pytest.raises(ReferenceRefusedError, match=words):
        read_inside(lesson, "frames/top.jpg", 100)


def test_a_typed_path_that_cannot_be_opened_says_why(lesson):
    with pytest.raises(ReferenceRefusedError, match="cannot be opened"):
        read_given(Path("a\0b"), 100)
    with pytest.raises(ReferenceRefusedError, match="cannot be opened .*too long"):
        read_given(Path("x" * 300), 100)


def test_no_name_is_offered_from_behind_a_link_or_a_closed_folder(lesson, tmp_path, monkeypatch):
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "top.jpg").write_bytes(b"")
    (lesson / "away").symlink_to(tmp_path / "other")
    assert safe_open._near_name(lesson, ["away", "tip.jpg"]) == ""
    assert safe_open._near_name(lesson, ["nowhere", "tip.jpg"]) == ""
    assert safe_open._near_name(lesson, ["frames", "tip.jpg"]) == '; did you mean "frames/top.jpg"?'
    assert safe_open._near_name(lesson, ["frames", "zzzzzzz"]) == ""


# --- publishing -----------------------------------------------------------------------------------


def test_a_target_without_a_name_is_refused(tmp_path):
    with pytest.raises(CannotWriteError, match="is no file name"):
        judge_target(Path("/"), None, force=True)


def test_a_target_that_cannot_be_asked_about_says_why(tmp_path):
    with pytest.raises(CannotWriteError, match="the name is too long"):
        judge_target(tmp_path / ("x" * 300), None, force=True)
    with pytest.raises(CannotWriteError, match="null"):
        judge_target(tmp_path / "a\0b", None, force=True)


def test_a_disk_without_links_is_written_to_all_the_same(tmp_path, monkeypatch):
    def refused(*_arguments):
        raise PermissionError(errno.EPERM, "no links here")

    monkeypatch.setattr(os, "link", refused)
    publish(tmp_path / "handout.pdf", b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["handout.pdf"]


def test_a_folder_is_let_go_of_after_it_was_flushed(tmp_path):
    handles = Path("/proc/self/fd")
    if not handles.is_dir():
        pytest.skip("handles cannot be counted here")
    before = len(list(handles.iterdir()))
    for number in range(5):
        publish(tmp_path / f"{number}.pdf", b"x")
    assert len(list(handles.iterdir())) == before


def test_a_missing_folder_is_told(tmp_path):
    with pytest.raises(CannotWriteError, match="folder .*nowhere is missing"):
        judge_target(tmp_path / "nowhere" / "a.pdf", None, force=True)


def test_a_rename_that_is_not_permitted_is_told(tmp_path, monkeypatch):
    target = tmp_path / "handout.pdf"
    target.write_bytes(b"old")

    def refused(self, _other):
        raise PermissionError(errno.EACCES, "no")

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(CannotWriteError, match="permission denied"):
        publish(target, b"new", force=True)
    assert [path.name for path in tmp_path.iterdir()] == ["handout.pdf"]


def test_where_a_viewer_holds_the_old_file_the_new_one_stands_beside_it(tmp_path, monkeypatch):
    """As on Windows: the rename is refused while another program has the file open."""
    target, real = tmp_path / "handout.pdf", Path.replace
    target.write_bytes(b"old")

    def held(self, other):
        if Path(other) == target:
            raise PermissionError(errno.EACCES, "held")
        return real(self, other)

    monkeypatch.setattr(publishing, "_ON_WINDOWS", True)
    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(CannotWriteError, match="is open in another program.*handout.new.pdf"):
        publish(target, b"new", force=True)
    assert target.read_bytes() == b"old"
    assert (tmp_path / "handout.new.pdf").read_bytes() == b"new"
    assert len(list(tmp_path.iterdir())) == 2


def test_where_folders_cannot_be_flushed_none_is(tmp_path, monkeypatch):
    flushed = []
    monkeypatch.setattr(os, "fsync", flushed.append)
    publish(tmp_path / "one.pdf", b"x")
    assert len(flushed) == 2
    monkeypatch.setattr(publishing, "_ON_WINDOWS", True)
    publish(tmp_path / "two.pdf", b"x")
    assert len(flushed) == 3


@pytest.mark.parametrize(("number", "is_fine"), [(errno.EINVAL, True), (errno.ENOTSUP, True),
                                                 (errno.EIO, False)])  # fmt: skip
def test_a_folder_that_does_not_flush(tmp_path, monkeypatch, number, is_fine):
    real = os.fsync

    def fsync(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(number, os.strerror(number))
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)
    if is_fine:
        publish(tmp_path / "a.pdf", b"x")
    else:
        with pytest.raises(CannotWriteError, match="disk reports a fault"):
            publish(tmp_path / "a.pdf", b"x")
    assert [path.name for path in tmp_path.iterdir()] == ["a.pdf"]


def leftover(folder: Path, process: int, seconds_ago: float) -> Path:
    path = folder / f".lesson-reporter-{process}-0123456789ab.part"
    path.write_bytes(b"half")
    then = time.time() - seconds_ago
    os.utime(path, (then, then))
    return path


def dead_process() -> int:
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    return ended.pid


def test_what_a_dead_run_left_goes_after_an_hour(tmp_path):
    dead = dead_process()
    young = leftover(tmp_path, dead, 3_500)
    publish(tmp_path / "a.pdf", b"x")
    assert young.exists()
    old = leftover(tmp_path, dead, 3_700)
    publish(tmp_path / "b.pdf", b"x")
    assert not old.exists()


def test_what_another_user_s_run_left_stays(tmp_path, monkeypatch):
    old = leftover(tmp_path, 1, 7_200)

    def foreign(_process, _signal):
        raise PermissionError

    monkeypatch.setattr(os, "kill", foreign)
    publish(tmp_path / "a.pdf", b"x")
    assert old.exists()


def test_a_number_that_is_no_process_counts_as_running(tmp_path):
    old = leftover(tmp_path, 10**30, 7_200)
    publish(tmp_path / "a.pdf", b"x")
    assert old.exists()


def test_on_windows_only_our_own_process_is_known_to_run(tmp_path, monkeypatch):
    monkeypatch.setattr(publishing, "_ON_WINDOWS", True)
    monkeypatch.setattr(os, "kill", None)  # there, asking would end the process
    own, other = leftover(tmp_path, os.getpid(), 7_200), leftover(tmp_path, 1, 7_200)
    publish(tmp_path / "a.pdf", b"x")
    assert own.exists()
    assert not other.exists()


def test_tidying_that_fails_stops_nothing(tmp_path, monkeypatch):
    def refused(_folder):
        raise PermissionError

    monkeypatch.setattr(os, "scandir", refused)
    publish(tmp_path / "a.pdf", b"x")
    assert (tmp_path / "a.pdf").exists()


@pytest.mark.parametrize("number", sorted(publishing._REASONS))
def test_each_reason_is_told_and_a_full_disk_is_a_kind_of_its_own(tmp_path, monkeypatch, number):
    def failing(_handle):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(CannotWriteError) as caught:
        publish(tmp_path / "a.pdf", b"x")
    assert publishing._REASONS[number] in str(caught.value)
    full = number in (errno.ENOSPC, errno.EDQUOT)
    assert isinstance(caught.value, DiskFullError) == full
    assert list(tmp_path.iterdir()) == []


# --- pictures -------------------------------------------------------------------------------------


def noise(width: int = 128, height: int = 96) -> Image.Image:
    return Image.effect_noise((width, height), 80).convert("RGB")


def test_the_header_too_says_what_the_name_hides_and_where_the_limits_are(tmp_path):
    noise().save(tmp_path / "a.png", "JPEG")
    assert any("is a JPEG" in note for note in picture_header(tmp_path, "a.png")[1])
    assert frames.MOST_PIXELS == 50_000_000
    assert frames.LARGEST_FILE_BYTES == 64 * 1024 * 1024


def test_grey_and_less_ink(tmp_path):
    noise().save(tmp_path / "a.png")
    picture = open_frame(tmp_path, "a.png")
    plain = Image.open(io.BytesIO(clean_jpeg(picture, 64, 48, grey=True, quality=95)))
    pale = Image.open(io.BytesIO(clean_jpeg(picture, 64, 48, grey=True, ink_share=0.5, quality=95)))
    assert plain.mode == pale.mode == "L"

    def mean(image):
        return sum(image.tobytes()) / (64 * 48)

    # Half of the ink: half the distance to white.
    assert 255 - mean(pale) == pytest.approx((255 - mean(plain)) / 2, abs=2)


def test_more_pixels_than_are_read_are_refused_whoever_let_them_through():
    with pytest.raises(PictureRefusedError, match="at most 50 million are read"):
        frames._judge_size((10_000, 5_001), "x")
    frames._judge_size((10_000, 5_000), "x")
    for size in ((64, 64), (64, 512)):
        frames._judge_size(size, "x")
    for size in ((63, 64), (64, 513)):
        with pytest.raises(PictureRefusedError):
            frames._judge_size(size, "x")


@pytest.mark.parametrize(
    ("longest", "at_least", "expected"),
    [(1_600, 200, 200), (1_600, 201, 400), (1_600, 800, 800), (1_600, 801, 1_600)],
)
def test_a_jpeg_is_decoded_as_small_as_was_asked_for(tmp_path, longest, at_least, expected):
    noise(longest, 1_200).save(tmp_path / "a.jpg")
    picture = open_frame(tmp_path, "a.jpg", at_least_px=at_least)
    assert picture.image.width == expected
    assert picture.size == (longest, 1_200)


# --- HEIC in a process of its own -----------------------------------------------------------------


@pytest.fixture
def fresh_worker(monkeypatch):
    pytest.importorskip("pi_heif")
    worker = heic._Worker()
    monkeypatch.setattr(heic, "_WORKER", worker)
    yield worker
    worker.stop()


HEIC = (PICTURES / "turned.heic").read_bytes()


def test_a_worker_that_is_brought_down_is_a_refusal_and_the_next_picture_is_read(fresh_worker):
    open_frame(PICTURES, "turned.heic")
    first = fresh_worker._process
    first.kill()
    first.wait()
    assert open_frame(PICTURES, "turned.heic").size == (96, 128)
    assert fresh_worker._process is not first


@pytest.mark.parametrize(
    "program",
    ["import os; os.kill(os.getpid(), 9)", "import sys; sys.stdin.buffer.read(17)",
     "import sys; sys.stdout.buffer.write(b'x' * 20)",
     "import struct, sys; sys.stdout.buffer.write(struct.pack('>Q', 3) + b'{}x')"],
)  # fmt: skip
def test_whatever_the_worker_does_the_picture_is_refused(
    fresh_worker, monkeypatch, tmp_path, program
):
    script = tmp_path / "worker.py"
    script.write_text(program, encoding="utf-8")
    monkeypatch.setattr(heic_worker, "__file__", str(script))
    with pytest.raises(PictureRefusedError, match="is damaged"):
        picture_header(PICTURES, "turned.heic")


def test_what_the_worker_refuses_is_told_and_it_goes_on(fresh_worker, tmp_path):
    (tmp_path / "a.heic").write_bytes(b"\0\0\0\x18ftypheic" + bytes(100))
    with pytest.raises(PictureRefusedError, match="is not a picture|is damaged"):
        picture_header(tmp_path, "a.heic")
    running = fresh_worker._process
    assert running.poll() is None
    assert open_frame(PICTURES, "turned.heic").size == (96, 128)
    assert fresh_worker._process is running


def test_a_worker_that_hangs_is_ended(fresh_worker, monkeypatch, tmp_path):
    script = tmp_path / "worker.py"
    script.write_text("import time; time.sleep(60)", encoding="utf-8")
    monkeypatch.setattr(heic_worker, "__file__", str(script))
    monkeypatch.setattr(heic, "MOST_SECONDS", 0.3)
    begun = time.monotonic()
    with pytest.raises(PictureRefusedError, match="is damaged"):
        picture_header(PICTURES, "turned.heic")
    assert time.monotonic() - begun < 20


def test_an_interruption_leaves_no_half_answer_behind(fresh_worker, monkeypatch):
    open_frame(PICTURES, "turned.heic")

    def interrupted(*_arguments, **_named):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(heic, "_talk", interrupted)
        with pytest.raises(KeyboardInterrupt):
            open_frame(PICTURES, "turned.heic")
    assert fresh_worker._process is None
    assert open_frame(PICTURES, "turned.heic").size == (96, 128)


def test_a_worker_of_another_process_is_left_alone(fresh_worker):
    """After a fork the pipes are the parent's; the child begins a worker of its own."""
    open_frame(PICTURES, "turned.heic")
    parents = fresh_worker._process
    fresh_worker._owner = -1
    open_frame(PICTURES, "turned.heic")
    assert fresh_worker._process is not parents
    assert parents.poll() is None
    parents.kill()
    parents.wait()
    own = fresh_worker._process
    fresh_worker._owner = -1
    fresh_worker.stop()
    assert own.poll() is None
    own.kill()
    own.wait()


def test_nothing_in_a_lesson_s_folder_is_imported_by_the_worker(
    fresh_worker, tmp_path, monkeypatch
):
    for name in ("PIL", "pi_heif", "json"):
        (tmp_path / f"{name}.py").write_text("open('planted', 'w')\nraise SystemExit\n", "utf-8")
    (tmp_path / "one.heic").write_bytes(HEIC)
    monkeypatch.chdir(tmp_path)
    assert open_frame(tmp_path, "one.heic").size == (96, 128)
    assert not (tmp_path / "planted").exists()


def test_a_worker_that_fell_is_gone_and_its_pipes_with_it(fresh_worker):
    open_frame(PICTURES, "turned.heic")
    running = fresh_worker._process
    fresh_worker.stop()
    assert running.returncode is not None
    assert running.stdin.closed
    assert running.stdout.closed
    assert fresh_worker._process is None


def test_the_alarm_goes_with_its_picture(fresh_worker):
    before = threading.active_count()
    open_frame(PICTURES, "turned.heic")
    time.sleep(0.05)
    assert threading.active_count() <= before


def test_an_extra_that_is_missing_is_told_before_anything_is_begun(fresh_worker, monkeypatch):
    from reporter.errors import ExtraMissingError

    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(ExtraMissingError):
        heic.open_heic(HEIC, "x", 10**6, pixels=True)
    assert fresh_worker._process is None
    assert str(heic.HeicRefusedError("pixels")) == "pixels"


def test_threads_take_turns(fresh_worker):
    sizes = []
    threads = [
        threading.Thread(target=lambda: sizes.append(open_frame(PICTURES, "turned.heic").size))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sizes == [(96, 128)] * 4


def test_a_colour_profile_comes_along(monkeypatch):
    class Answering:
        def ask(self, data, most_pixels, *, pixels):
            return {"mode": "RGB", "size": [64, 64]}, (b"", b"profile", bytes(64 * 64 * 3))

    pytest.importorskip("pi_heif")
    monkeypatch.setattr(heic, "_WORKER", Answering())
    image = heic.open_heic(b"", "x", 10_000, pixels=True)
    assert image.info == {"icc_profile": b"profile"}
    assert image.format == "HEIF"


@pytest.mark.parametrize(
    ("kind", "words"),
    [("pixels", "more than 50 million pixels"), ("unknown", "is not a picture"),
     ("truncated", "is cut off"), ("damaged", "is damaged")],
)  # fmt: skip
def test_each_refusal_of_the_worker_is_told_in_plain_words(monkeypatch, kind, words):
    pytest.importorskip("pi_heif")

    def refused(*_arguments, **_named):
        raise heic.HeicRefusedError(kind)

    monkeypatch.setattr(frames, "open_heic", refused)
    with pytest.raises(PictureRefusedError, match=words):
        picture_header(PICTURES, "turned.heic")


def test_the_worker_s_own_answers():
    """The process's part, without the process."""
    pi_heif = pytest.importorskip("pi_heif")
    pi_heif.register_heif_opener()
    try:
        facts, (exif, _profile, pixels) = heic_worker.decode(HEIC, 10**6, wants_pixels=True)
        width, height = facts["size"]
        assert len(pixels) == width * height * 3
        assert exif
        facts, parts = heic_worker.decode(HEIC, 10**6, wants_pixels=False)
        assert parts[2] == b""
        assert heic_worker.decode(HEIC, 100, wants_pixels=True)[0] == {"refused": "pixels"}
        assert heic_worker.decode(HEIC[:40], 10**6, wants_pixels=True)[0]["refused"]
        assert heic_worker.decode(b"x", 10**6, wants_pixels=True)[0] == {"refused": "unknown"}
        asked = io.BytesIO(heic_worker.REQUEST.pack(False, 10**6, len(HEIC)) + HEIC)
        told = io.BytesIO()
        heic_worker.answer_all(asked, told)
        length = struct.unpack(">Q", told.getvalue()[:8])[0]
        assert told.getvalue()[8 : 8 + length].startswith(b'{"mode"')
    finally:
        for kind in ("HEIF", "AVIF"):
            Image.OPEN.pop(kind, None)
            if kind in Image.ID:
                Image.ID.remove(kind)


# --- tables ---------------------------------------------------------------------------------------


def test_a_cell_of_a_table_is_named_by_line_and_column():
    table = read_shots(b"club,carry_m\n7-iron,140\n\n8-iron,130\n", "t.csv")
    problem = table.problem(1, "carry_m", "m")
    assert str(problem) == "t.csv:4:2: carry_m: m"
    missing = table.problem(0, "spin_rpm", "m")
    assert (missing.line, missing.column, missing.field) == (2, 0, "spin_rpm")
    assert table.clubs == ("7-iron", "8-iron")


def test_columns_and_clubs_have_limits():
    wide = ",".join(["carry_m", *(f"x{n}" for n in range(99))])
    assert read_shots(f"{wide}\n{'1' + ',' * 99}\n".encode(), "t").count == 1
    with pytest.raises(InputRefusedError, match="101 columns; at most 100"):
        read_shots(f"{wide},y\n1\n".encode(), "t")
    assert read_shots(b"club,carry_m\n" + b"x" * 200 + b",1\n", "t").count == 1
    with pytest.raises(InputRefusedError, match="201 characters; at most 200"):
        read_shots(b"club,carry_m\n" + b"x" * 201 + b",1\n", "t")
