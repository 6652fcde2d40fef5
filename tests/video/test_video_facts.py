"""What a clip is told to be, against the decoding library's own straight reading and OpenCV's."""

import contextlib
import hashlib
import socket
import struct
import subprocess
from fractions import Fraction

import cv2
import numpy as np
import pytest

from reporter.errors import ExitCode
from reporter.video import VideoRefusedError, open_video, open_video_inside
from reporter.video.pixels import Turn, turn_of_matrix
from tests.video.clips import (
    boxes,
    every,
    number_of,
    reference_times,
    write_clip,
    write_sound,
)

UNEVEN = np.cumsum(np.random.default_rng(5).choice([375, 1500], 120)).tolist()
CLIPS = {
    "steady.mp4": (every(60, 30), {}),
    "fast.mp4": (every(240, 240), {"keyframes": 240, "options": {"preset": "veryfast"}}),
    "hevc.mp4": (every(90, 240), {"codec": "libx265", "keyframes": 40}),
    "ten-bit.mp4": (every(30, 60), {"codec": "libx265", "pixel_format": "yuv420p10le"}),
    "uneven.mp4": (UNEVEN, {}),
    "uneven.mkv": (UNEVEN, {}),
    "stream.ts": (every(60, 30), {}),
    "old.avi": (list(range(40)), {"codec": "mpeg4", "tick": Fraction(1, 30)}),
    "sound.mp4": (every(60, 30), {"sound": True}),
}


@pytest.mark.parametrize("name", CLIPS)
def test_times_and_pictures_are_the_clips_own(name, tmp_path):
    ticks, options = CLIPS[name]
    path = write_clip(tmp_path / name, ticks, **options)
    theirs = reference_times(path)
    with open_video(path) as video:
        facts = video.facts
        ours = np.array(facts.seconds) + facts.starts_at_seconds
        assert np.abs(ours - theirs).max() < 1e-6
        assert facts.frame_count == len(ticks)
        assert facts.variable_rate == name.startswith("uneven")
        assert facts.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
        assert (facts.width, facts.height) == (320, 180)
        assert facts.high_range == (name == "ten-bit.mp4")
        for index in np.random.default_rng(1).integers(0, len(ticks), 12):
            assert number_of(video.frame(int(index)).pixels) == index
        assert [number_of(one.pixels) for one in video.grey_frames(320)] == list(range(len(ticks)))
        # Asked for another picture on the way, the row of small pictures goes on where it was.
        rolling = video.grey_frames(320)
        seen = [number_of(next(rolling).pixels) for _ in range(3)]
        video.frame(len(ticks) - 1)
        assert [*seen, number_of(next(rolling).pixels)] == [0, 1, 2, 3]


def test_index_times_rate_would_be_wrong_on_an_uneven_clip(tmp_path):
    with open_video(write_clip(tmp_path / "uneven.mp4", UNEVEN)) as video:
        average = np.arange(len(UNEVEN)) * video.facts.seconds[-1] / (len(UNEVEN) - 1)
        assert np.abs(average - video.facts.seconds).max() > 0.02
        for index in (0, 17, 63, 119):
            assert video.frame_at(video.facts.seconds[index] + 0.0009).index == index


@pytest.mark.parametrize("turn", [90, 180, 270])
def test_the_turn_is_applied_once_as_opencv_does(turn, tmp_path):
    path = write_clip(tmp_path / "turned.mp4", every(6, 30), rotation=-turn)
    with open_video(path) as video:
        ours = video.frame(0).pixels
        small = next(iter(video.grey_frames(320))).pixels
        assert video.facts.turn_degrees == turn
        assert (video.facts.width, video.facts.height) == ours.shape[1::-1]
    theirs = cv2.cvtColor(cv2.VideoCapture(str(path)).read()[1], cv2.COLOR_BGR2RGB)
    assert ours.shape == theirs.shape
    assert np.abs(ours.astype(int) - theirs).mean() < 3
    assert small.shape == ours.shape[:2]


# ISO/IEC 14496-12, 8.3.2: a point (p, q) is shown at (a p + c q, b p + d q).
@pytest.mark.parametrize("a,b,c,d", [  # noqa: PT006
    (1, 0, 0, 1), (0, 1, -1, 0), (-1, 0, 0, -1), (0, -1, 1, 0),
    (-1, 0, 0, 1), (1, 0, 0, -1), (0, 1, 1, 0), (0, -1, -1, 0),
])  # fmt: skip
def test_each_display_matrix_moves_the_pixels_as_the_standard_says(a, b, c, d):
    one = 1 << 16
    matrix = struct.pack("=9i", a * one, b * one, 0, c * one, d * one, 0, 0, 0, 1 << 30)
    stored = np.arange(6, dtype=np.uint8).reshape(2, 3)
    upright = turn_of_matrix(matrix).upright(stored)
    places = {
        (a * p + c * q, b * p + d * q): stored[q, p] for q in range(2) for p in range(3)
    }  # fmt: skip
    left, top = min(x for x, _ in places), min(y for _, y in places)
    for (x, y), value in places.items():
        assert upright[y - top, x - left] == value


def test_a_matrix_that_is_no_turn_is_not_followed():
    assert turn_of_matrix(struct.pack("=9i", 46341, 46341, 0, -46341, 46341, 0, 0, 0, 1)) is None
    assert turn_of_matrix(b"") is None
    assert Turn().upright(np.zeros((2, 3), np.uint8)).shape == (2, 3)


def test_a_slow_motion_file_tells_how_it_was_recorded(tmp_path):
    path = write_clip(
        tmp_path / "slow.mov", every(30, 30), metadata={"com.android.capture.fps": "240.0"},
        container_options={"movflags": "use_metadata_tags"},
    )  # fmt: skip
    with open_video(path) as video:
        assert video.facts.recorded_rate == 240.0
        assert video.facts.slowed == pytest.approx(8.0)


def read_through(path) -> None:
    with open_video(path) as video:
        for _ in video.grey_frames(160):
            pass


def refused(path) -> str:
    with pytest.raises(VideoRefusedError) as caught:
        read_through(path)
    assert caught.value.exit_code == ExitCode.INPUT_REFUSED
    return str(caught.value)


@pytest.mark.parametrize("name", ["a.mp4", "front.mp4", "a.mkv", "a.webm", "a.avi"])
def test_a_clip_cut_in_half_is_told(name, tmp_path):
    options = {
        "front.mp4": {"container_options": {"movflags": "faststart"}},
        "a.webm": {"codec": "libvpx-vp9"},
        "a.avi": {"codec": "mpeg4", "tick": Fraction(1, 30)},
    }.get(name, {})
    ticks = list(range(60)) if name == "a.avi" else every(60, 30)
    path = write_clip(tmp_path / name, ticks, **options)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    assert "cut off" in refused(path)


def test_what_is_no_clip_is_told(tmp_path, plain_clip):
    cases = {
        "empty.mp4": (b"", "is empty"),
        "text.mp4": (b"hello\n" * 50, "is not a video"),
        "list.mp4": (b"#EXTM3U\nhttp://127.0.0.1:9/a.ts\n", "play list"),
        "concat.mp4": (b"ffconcat version 1.0\nfile /etc/passwd\n", "play list"),
        "page.mov": (b"<!doctype html>", "web page"),
        "picture.mp4": (b"\xff\xd8\xff\xe0" + bytes(50), "JPEG picture"),
        "photo.mov": (struct.pack(">I", 24) + b"ftypheic" + bytes(12), "HEIC picture"),
        "half-box.mp4": (struct.pack(">I4s", 500, b"ftyp") + b"isom", "cut off"),
        "no-table.mp4": (struct.pack(">I4s", 16, b"ftyp") + b"isomisom", "no table"),
        "ends.mp4": (plain_clip.read_bytes()[:-1], "cut off"),
    }
    for name, (data, told) in cases.items():
        (tmp_path / name).write_bytes(data)
        assert told in refused(tmp_path / name), name
    assert "only sound" in refused(write_sound(tmp_path / "song.m4a"))
    assert "there is no file" in refused(tmp_path / "missing.mp4")
    assert "folder" in refused(tmp_path)


def test_noise_in_the_pictures_is_told_and_never_a_traceback(tmp_path, plain_clip):
    data = plain_clip.read_bytes()
    begin, end = next((start, end) for name, start, end in boxes(data) if name == b"mdat")
    rng = np.random.default_rng(3)
    noisy = bytearray(data)
    noisy[begin + 8 : end] = rng.integers(0, 256, end - begin - 8, dtype=np.uint8).tobytes()
    (tmp_path / "noisy.mp4").write_bytes(noisy)
    assert refused(tmp_path / "noisy.mp4")
    for seed in range(40):  # flipped bytes anywhere: read, or refused by letter, never else
        flipped = np.frombuffer(data, np.uint8).copy()
        rng = np.random.default_rng(seed)
        where = rng.integers(0, len(flipped), 30)
        flipped[where] = rng.integers(0, 256, 30)
        path = tmp_path / "flipped.mp4"
        path.write_bytes(flipped.tobytes())
        with contextlib.suppress(VideoRefusedError):
            read_through(path)


def test_a_clip_inside_a_folder_never_leaves_it(tmp_path, plain_clip):
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.mp4").write_bytes(plain_clip.read_bytes())
    (tmp_path / "in" / "link.mp4").symlink_to(plain_clip)
    with open_video_inside(tmp_path / "in", "a.mp4") as video:
        assert video.facts.name == "a.mp4"
    for name in ("../x.mp4", "link.mp4", "http://127.0.0.1/a.mp4", "/etc/passwd"):
        with pytest.raises(VideoRefusedError):
            open_video_inside(tmp_path / "in", name)


def test_nothing_is_asked_of_the_network(tmp_path, plain_clip, monkeypatch):
    def refuse(*_args, **_kwargs):
        raise AssertionError

    monkeypatch.setattr(socket.socket, "connect", refuse)
    with open_video(plain_clip) as video:
        assert video.frame(3).index == 3


def test_every_picture_can_be_stepped_to_both_ways(plain_clip):
    with open_video(plain_clip) as video:
        for index in [*range(0, 90, 7), *range(89, -1, -6)]:
            assert number_of(video.frame(index).pixels) == index
        with pytest.raises(IndexError):
            video.frame(90)


def test_ffprobe_tells_the_same_times(plain_clip):
    import shutil

    if shutil.which("ffprobe") is None:
        pytest.skip("ffprobe is not installed")
    listed = subprocess.run(
        ["ffprobe", "-v", "error", "-select_streams", "v", "-show_entries", "frame=pts_time",
         "-of", "csv=p=0", str(plain_clip)], capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    with open_video(plain_clip) as video:
        assert np.allclose([float(one.strip(",")) for one in listed], video.facts.seconds)
