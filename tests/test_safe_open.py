"""Only regular files inside the folder open; every other reference is refused by its reason."""

import os
import socket
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reporter import safe_open
from reporter.safe_open import ReferenceRefusedError, open_inside, read_given, read_inside

LIMIT = 1_000


@pytest.fixture
def lesson(tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"secret")
    folder = tmp_path / "lesson"
    (folder / "frames").mkdir(parents=True)
    (folder / "frames" / "top.jpg").write_bytes(b"picture")
    (folder / "big.jpg").write_bytes(b"x" * (LIMIT + 1))
    (folder / "link.jpg").symlink_to(outside)
    (folder / "inner-link.jpg").symlink_to(folder / "frames" / "top.jpg")
    (folder / "dangling.jpg").symlink_to(folder / "nowhere")
    (folder / "linked-folder").symlink_to(tmp_path)
    os.mkfifo(folder / "pipe.jpg")
    return folder


@pytest.fixture(params=["handles", "names"])
def way(request, monkeypatch):
    """Both ways of opening: relative to open folders, and by names as on Windows."""
    if request.param == "names":
        monkeypatch.setattr(safe_open, "_HAS_FOLDER_HANDLES", False)
    elif not safe_open._HAS_FOLDER_HANDLES:
        pytest.skip("this system cannot open relative to an open folder")
    return request.param


@pytest.mark.parametrize("name", ["frames/top.jpg", "./frames/top.jpg", "frames//top.jpg"])
def test_a_file_inside_opens(lesson, way, name):
    assert read_inside(lesson, name, LIMIT) == b"picture"


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("", "names no file"),
        ("  ", "names no file"),
        ("/etc/passwd", "root of the disk"),
        ("../outside.txt", '".."'),
        ("frames/../../outside.txt", '".."'),
        ("C:\\Windows\\win.ini", "drive letter"),
        ("c:frames/top.jpg", "drive letter"),
        ("\\\\server\\share\\x.jpg", "another computer"),
        ("//server/share/x.jpg", "another computer"),
        ("frames\\top.jpg", 'folders by "/"'),
        ("https://example.org/x.jpg", "nothing is fetched"),
        ("file:///etc/passwd", "nothing is fetched"),
        ("data:image/png;base64,AA", "nothing is fetched"),
        ("~/x.jpg", "home folder"),
        ("~user/x.jpg", "home folder"),
        ("link.jpg", "is a link"),
        ("inner-link.jpg", "is a link"),
        ("dangling.jpg", "is a link"),
        ("linked-folder/outside.txt", "behind one"),
        ("pipe.jpg", "is a pipe"),
        ("frames", "is a folder"),
        ("frames/", "is a folder"),
        (".", "is a folder"),
        ("big.jpg", "at most 1000"),
        ("missing.jpg", "there is no file"),
        ("frames/Top.jpg", 'did you mean "frames/top.jpg"'),
        ("frames/top.jpg/x", "is a file, not a folder"),
        ("a\x00b", "control character"),
        ("x" * 300, "too long"),
    ],
)
def test_row_8_everything_else_is_refused(lesson, way, name, reason):
    with pytest.raises(ReferenceRefusedError) as caught:
        read_inside(lesson, name, LIMIT)
    assert reason in caught.value.reason
    assert "secret" not in str(caught.value)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no devices here")
def test_row_8_a_device_is_refused(tmp_path, way):
    with pytest.raises(ReferenceRefusedError, match="device"):
        read_inside(Path("/dev"), "zero", LIMIT)


def test_a_socket_is_refused(lesson, way):
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(os.path.relpath(lesson / "socket.jpg"))
        with pytest.raises(ReferenceRefusedError):
            read_inside(lesson, "socket.jpg", LIMIT)


def open_handles() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="handles cannot be counted here")
def test_no_handle_is_left_open(lesson):
    before = open_handles()
    for name in ("frames/top.jpg", "link.jpg", "frames", "big.jpg", "nothing/x", "pipe.jpg"):
        try:
            open_inside(lesson, name, LIMIT).close()
        except ReferenceRefusedError:
            continue
    assert open_handles() == before


def test_an_umlaut_is_found_in_either_unicode_form(tmp_path):
    (tmp_path / "u\u0308bung.jpg").write_bytes(b"decomposed")
    assert read_inside(tmp_path, "\u00fcbung.jpg", LIMIT) == b"decomposed"


def test_a_path_the_user_typed_may_be_a_link_but_no_pipe(lesson):
    assert read_given(lesson / "inner-link.jpg", LIMIT) == b"picture"
    for name in ("pipe.jpg", "frames", "missing", "big.jpg"):
        with pytest.raises(ReferenceRefusedError):
            read_given(lesson / name, LIMIT)


@given(st.text(max_size=40) | st.lists(st.sampled_from(["..", ".", "link.jpg", "linked-folder",
       "outside.txt", "frames", "top.jpg", "", "~", "/"]), max_size=6).map("/".join))  # fmt: skip
def test_no_reference_ever_leaves_the_folder(lesson_once, name):
    try:
        data = read_inside(lesson_once, name, LIMIT)
    except ReferenceRefusedError:
        return
    assert data == b"picture"


@pytest.fixture(scope="module")
def lesson_once(tmp_path_factory):
    root = tmp_path_factory.mktemp("tree")
    (root / "outside.txt").write_bytes(b"secret")
    folder = root / "lesson"
    (folder / "frames").mkdir(parents=True)
    (folder / "frames" / "top.jpg").write_bytes(b"picture")
    (folder / "link.jpg").symlink_to(root / "outside.txt")
    (folder / "linked-folder").symlink_to(root)
    return folder
