"""Every branch of what reads clips: odd boxes, odd streams, damage in the middle, limits."""

import struct
import sys
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import pytest

from reporter.errors import ExtraMissingError
from reporter.video import VideoRefusedError, container, open_video, reading, tables
from reporter.video.pixels import Turn
from tests.video.clips import every, number_of, write_clip


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    """Thirty pictures, a keyframe in ten, 192 x 128."""
    path = tmp_path_factory.mktemp("clips") / "a.mp4"
    return write_clip(path, every(30, 25), size=(192, 128), keyframes=10)


@pytest.fixture(scope="module")
def stills(tmp_path_factory):
    """Twelve pictures, each a JPEG of its own in an AVI."""
    path = tmp_path_factory.mktemp("clips") / "a.avi"
    return write_clip(
        path, list(range(12)), size=(192, 128), codec="mjpeg", pixel_format="yuvj420p",
        tick=Fraction(1, 25),
    )  # fmt: skip


def refused(path) -> str:
    with pytest.raises(VideoRefusedError) as caught, open_video(path) as video:
        for _ in video.grey_frames():
            pass
    return caught.value.reason


# --- boxes (ISO/IEC 14496-12, 4.2) ----------------------------------------------------------


@pytest.mark.parametrize(
    "behind",
    [
        b"",
        b"\0\0\0",
        b"\0" * 300,
        struct.pack(">I4sQ", 1, b"free", 20) + b"\0" * 4,
        struct.pack(">I4s", 0, b"free") + b"x" * 99,
        struct.pack(">I4s", 8, b"free"),
    ],
    ids=["nothing", "stray bytes", "zeros", "64 bit", "to the end", "smallest"],
)
def test_what_may_stand_behind_a_clip(clip, tmp_path, behind):
    path = tmp_path / "b.mp4"
    path.write_bytes(clip.read_bytes() + behind)
    with open_video(path) as video:
        assert video.facts.frame_count == 30
        assert (video.facts.container, video.facts.size_bytes) == (
            "MP4 or QuickTime", path.stat().st_size,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("behind", "told"),
    [
        (struct.pack(">I4s", 7, b"free"), "is damaged"),
        (struct.pack(">I4s", 1, b"free"), "is damaged"),
        (struct.pack(">I4sQ", 1, b"free", 16), None),
        (struct.pack(">I4sQ", 1, b"free", 15), "is damaged"),
        (struct.pack(">I4sQ", 1, b"free", 7), "is damaged"),
        (struct.pack(">I4s", 9, b"free"), "is cut off"),
        (struct.pack(">I4sQ", 1, b"free", 2**63), "is cut off"),
    ],
)
def test_a_box_that_is_none_is_told(clip, tmp_path, behind, told):
    path = tmp_path / "b.mp4"
    path.write_bytes(clip.read_bytes() + behind)
    if told is None:
        with open_video(path) as video:
            assert video.facts.frame_count == 30
    else:
        assert told in refused(path)


def test_boxes_are_followed_so_far_and_files_are_so_large(clip, tmp_path, monkeypatch):
    path = tmp_path / "b.mp4"
    path.write_bytes(clip.read_bytes() + struct.pack(">I4s", 8, b"free") * 2)
    with monkeypatch.context() as patch:
        patch.setattr(tables, "MOST_BOXES", 40)
        open_video(path).close()
        patch.setattr(tables, "MOST_BOXES", 5)
        assert "is damaged: it tells of 6 boxes; at most 5 are read; copy it again" in refused(path)
    size = clip.stat().st_size
    monkeypatch.setattr(container, "LARGEST_FILE_BYTES", size)
    open_video(clip).close()
    monkeypatch.setattr(container, "LARGEST_FILE_BYTES", size - 1)
    assert f"{size} bytes; at most {size - 1}" in refused(clip)


# --- opening --------------------------------------------------------------------------------


def test_without_the_library_the_extra_is_named(clip, monkeypatch):
    monkeypatch.setitem(sys.modules, "av", None)
    with pytest.raises(ExtraMissingError, match="video"):
        open_video(clip)


def test_whatever_the_library_raises_is_a_letter(clip, monkeypatch):
    import av

    def broken(*_args, **_more):
        raise KeyError("x")

    with monkeypatch.context() as patch:
        patch.setattr(reading, "_frame_table", broken)
        assert "damaged or cut off" in refused(clip)
    with pytest.raises(PermissionError):
        reading._no_other_file("/etc/passwd", 0, {})
    with monkeypatch.context() as patch:
        patch.setattr(av, "open", lambda *_args, **_more: reading._no_other_file("x", 0, {}))
        assert "wants another file opened" in refused(clip)


def test_a_code_nobody_reads_is_told(clip, tmp_path):
    path = tmp_path / "b.mp4"
    path.write_bytes(clip.read_bytes().replace(b"avc1", b"zzzz"))
    assert "coded in a way that is not read" in refused(path)


def test_a_clip_without_one_readable_picture_is_told(stills, tmp_path):
    path = tmp_path / "b.avi"
    path.write_bytes(without(stills.read_bytes(), *range(12)))
    assert "no picture that can be read" in refused(path)


def without(data: bytes, *indexes: int) -> bytes:
    """Return an AVI of JPEGs with the bytes of some pictures taken away."""
    changed, at = bytearray(data), data.index(b"movi")
    for index in range(12):
        at = data.index(b"00dc", at + 4)
        (length,) = struct.unpack("<I", data[at + 4 : at + 8])
        if index in indexes:
            changed[at + 8 : at + 8 + length] = bytes(length)
    return bytes(changed)


# --- damage in the middle -------------------------------------------------------------------


def test_a_damaged_picture_is_told_and_the_others_are_shown(stills, tmp_path):
    path = tmp_path / "b.avi"
    path.write_bytes(without(stills.read_bytes(), 5))
    with open_video(path) as video:
        for index in (0, 4, 6, 11):
            assert number_of(video.frame(index).pixels) == index
        with pytest.raises(VideoRefusedError, match="damaged at 0.200 s"):
            video.frame(5)
        seen = []
        with pytest.raises(VideoRefusedError, match="1 of its 3 pictures"):
            seen += [one.index for one in video.grey_frames(first=3, last=5)]
        assert [one.index for one in video.grey_frames(first=6, last=8)] == [6, 7, 8]
        with pytest.raises(VideoRefusedError, match="1 of its 12 pictures"):
            list(video.grey_frames())


def test_one_picture_in_fifty_may_be_missing(stills, tmp_path, monkeypatch):
    path = tmp_path / "b.avi"
    path.write_bytes(without(stills.read_bytes(), 5))
    monkeypatch.setattr(reading, "_MISSING_SHARE", 1 / 12)
    with open_video(path) as video:
        assert [one.index for one in video.grey_frames()] == [*range(5), *range(6, 12)]


def test_a_clip_that_ends_early_is_told(clip):
    with open_video(clip) as video:
        facts = video.facts
        longer = (*facts.ticks, facts.ticks[-1] + 4_000)
        video.facts = replace(facts, ticks=longer)
        with pytest.raises(VideoRefusedError, match="1 of its 31 pictures"):
            list(video.grey_frames())
        with pytest.raises(VideoRefusedError, match="1 of its 11 pictures"):
            list(video.grey_frames(first=20))
        with pytest.raises(VideoRefusedError, match="damaged at"):
            video.frame(30)


def test_a_picture_of_a_time_nobody_told_is_passed_over(clip):
    with open_video(clip) as video:
        del video._index_of[video.facts.ticks[3]]
        with pytest.raises(VideoRefusedError, match="damaged at 0.120 s"):
            video.frame(3)
        assert number_of(video.frame(4).pixels) == 4


class Wrapped:
    """A container whose seeking or whose packets are changed."""

    def __init__(self, real, **changed) -> None:
        self.__dict__.update(real=real, **changed)

    def __getattr__(self, name):
        return getattr(self.real, name)


def test_a_table_that_points_too_late_is_gone_back_on(clip):
    with open_video(clip) as video:
        real, ticks = video._container, video.facts.ticks
        asked = []

        def seek(tick, **more):
            asked.append(ticks.index(tick))
            real.seek(ticks[20] if ticks.index(tick) == 10 else tick, **more)

        video._container = Wrapped(real, seek=seek)
        assert number_of(video.frame(15).pixels) == 15
        assert asked == [10, 0]


def test_a_file_that_gives_nothing_any_more_is_told(clip):
    with open_video(clip) as video:
        video._container = Wrapped(video._container, demux=lambda stream: iter(()))
        with pytest.raises(VideoRefusedError, match="damaged at 1"):
            video.frame(29)
        with pytest.raises(VideoRefusedError, match="30 of its 30 pictures"):
            list(video.grey_frames())


def test_a_clip_that_changes_its_size_is_told(tmp_path):
    """Two transport streams one after the other are one (ISO/IEC 13818-1)."""
    one = write_clip(tmp_path / "1.ts", every(6, 25), size=(192, 128))
    later = [tick + 90_000 for tick in every(6, 25)]
    other = write_clip(tmp_path / "2.ts", later, size=(128, 96))
    path = tmp_path / "both.ts"
    path.write_bytes(one.read_bytes() + other.read_bytes())
    told = refused(path)
    assert "changes its size on the way" in told
    assert "192 x 128" in told
    assert "128 x 96" in told


# --- showing --------------------------------------------------------------------------------


def test_only_so_many_pictures_are_kept_in_memory(clip, monkeypatch):
    monkeypatch.setattr(reading, "_CACHE_BYTES", 1)
    with open_video(clip) as video:
        for index in range(12):
            assert number_of(video.frame(index).pixels) == index
        assert list(video._cache) == [8, 9, 10, 11]
        video._keep(8, video._cache[8])  # decoded once more, it is the latest again
        video._keep(12, None)
        assert list(video._cache) == [10, 11, 8, 12]
        for index in (3, 11, 2):
            assert number_of(video.frame(index).pixels) == index


def test_a_picture_is_decoded_once_while_it_is_kept(clip, monkeypatch):
    with open_video(clip) as video:
        first = video._raw(7)
        monkeypatch.setattr(video, "_seek", None)
        monkeypatch.setattr(video, "_decoding", None)
        assert video._raw(7) is first
        assert list(video._cache)[-1] == 7
        video.close()
        assert not video._cache


@pytest.mark.parametrize(("step", "seen"), [(0.0, [*range(10)]), (0.08, [0, 2, 4, 6, 8]),
                                            (0.1, [0, 3, 6, 9])])  # fmt: skip
def test_small_pictures_come_no_closer_than_asked(clip, step, seen):
    """At 25 a second a picture is shown every 0.04 s."""
    with open_video(clip) as video:
        told = list(video.grey_frames(96, last=9, least_step_seconds=step))
        assert [one.index for one in told] == seen
        assert all(one.pixels.shape == (64, 96) for one in told)


def test_chosen_pictures_are_small_and_in_colour(clip):
    with open_video(clip) as video:
        told = list(video.stills([2, 9, 25], 96))
        assert [(one.index, one.pixels.shape) for one in told] == [
            (2, (64, 96, 3)), (9, (64, 96, 3)), (25, (64, 96, 3)),
        ]  # fmt: skip
        assert [one.seconds for one in told] == pytest.approx([0.08, 0.36, 1.0])
        (whole,) = video.stills([0], 5_000)
        assert whole.pixels.shape == (128, 192, 3)
        assert video.frame_at(0.055).index == 1


# --- what a file says of itself -------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "told"),
    [
        ((0, 100), "how large"), ((100, 0), "how large"),
        ((8_000, 5_001), "at most 40 million"), ((8_000, 5_000), None),
        ((63, 64), "too small"), ((64, 63), "too small"), ((64, 64), None),
    ],
)  # fmt: skip
def test_pictures_have_a_size(size, told):
    if told is None:
        reading._judge_size(size, "a")
    else:
        with pytest.raises(VideoRefusedError, match=told):
            reading._judge_size(size, "a")


def packet(pts, *, dts=None, size=9, key=False, duration=3, discard=False):
    return SimpleNamespace(pts=pts, dts=dts, size=size, is_keyframe=key, duration=duration,
                           is_discard=discard)  # fmt: skip


def table(*packets):
    return reading._frame_table(SimpleNamespace(demux=lambda stream: packets), None, "a")


def test_the_table_of_times_is_what_the_packets_say():
    told = table(packet(6, key=True), packet(2, duration=5), packet(None, dts=4, key=True),
                 packet(9, size=0), packet(8, discard=True))  # fmt: skip
    assert told == ((2, 4, 6), [6, 4], 3)
    assert table(packet(2, key=True), packet(7, duration=None))[2] == 5
    assert table(packet(2, key=True, duration=0))[2] == 0


def test_a_table_without_times_keyframes_or_end_is_told(monkeypatch):
    for packets, told in (
        ((), "holds no picture"),
        ((packet(None),), "holds no picture"),
        ((packet(1),), "when its pictures"),
        ((packet(1, key=True), packet(None)), "when its pictures"),
    ):
        with pytest.raises(VideoRefusedError, match=told):
            table(*packets)
    monkeypatch.setattr(reading, "MOST_FRAMES", 3)
    assert len(table(*(packet(n, key=True) for n in range(3)))[0]) == 3
    with pytest.raises(VideoRefusedError, match="more than 3 pictures"):
        table(*(packet(n, key=True) for n in range(4)))


def judge(seconds, *, told=None, whole=None, sound=False, count=2):
    stream = SimpleNamespace(
        duration=told, container=SimpleNamespace(
            duration=whole, streams=SimpleNamespace(audio=["x"] if sound else [])))  # fmt: skip
    ticks = tuple(round(1_000 * seconds * n / max(count - 1, 1)) for n in range(count))
    reading._judge_length(stream, ticks, Fraction(1, 1_000), "a")


def test_a_clip_has_a_length_and_is_as_long_as_it_says():
    judge(1_800, count=1_801)
    with pytest.raises(VideoRefusedError, match="30 minutes long; at most 30"):
        judge(1_801, count=1_802)
    judge(10, told=11_100, count=251)  # a tenth, or half a second, or four pictures
    judge(1, told=1_500, count=26)
    judge(1, told=5_000, count=2)
    judge(0, told=400, count=1)
    for seconds, told, count in ((10, 11_200, 251), (1, 1_501, 26), (1, 5_001, 2), (0, 501, 1)):
        with pytest.raises(VideoRefusedError, match="is cut off"):
            judge(seconds, told=told, count=count)
    with pytest.raises(VideoRefusedError, match="tells of 2.00 s and holds 1.00 s"):
        judge(1, whole=2_000_000, count=26)
    judge(1, whole=2_000_000, count=26, sound=True)  # the sound may be longer
    judge(1, count=26)


def test_a_turn_by_no_right_angle_is_told():
    from av.sidedata.sidedata import Type

    notes: list[str] = []
    askew = struct.pack("=9i", 46341, 46341, 0, -46341, 46341, 0, 0, 0, 1)
    frame = SimpleNamespace(side_data={Type.DISPLAYMATRIX: askew})
    assert reading._turn(frame, notes) == Turn()
    assert notes == ["the clip asks to be turned by no right angle; taken as it is stored"]
    assert reading._turn(SimpleNamespace(side_data={}), notes) == Turn()
    assert len(notes) == 1


@pytest.mark.parametrize(
    ("ratio", "size"),
    [(None, (100, 80)), (Fraction(0), (100, 80)), (Fraction(1, 5), (100, 80)),
     (Fraction(5), (100, 80)), (Fraction(2), (200, 80)), (Fraction(1, 2), (50, 80)),
     (Fraction(4, 3), (133, 80))],
)  # fmt: skip
def test_pixels_are_made_square(ratio, size):
    """ITU-T H.264, annex E: the width of a sample over its height."""
    assert reading._square_pixels(SimpleNamespace(sample_aspect_ratio=ratio), (100, 80)) == size


@pytest.mark.parametrize(
    ("here", "there", "rate"),
    [("240", None, 240.0), (None, "120.0", 120.0), ("fast", "120", 120.0), ("0.9", None, None),
     ("1", None, 1.0), ("10000", None, 10_000.0), ("10001", None, None), ("nan", "60", 60.0),
     (None, None, None)],
)  # fmt: skip
def test_the_rate_of_recording_is_believed_within_reason(here, there, rate):
    held = [
        SimpleNamespace(metadata={} if text is None else {"com.android.capture.fps": text})
        for text in (there, here)
    ]
    assert reading._recorded_rate(*held) == rate


def test_a_cover_picture_is_no_clip():
    assert reading._is_cover(SimpleNamespace(disposition="Disposition.attached_pic"))
    assert not reading._is_cover(SimpleNamespace(disposition="Disposition.default"))


# --- what is promised in figures ------------------------------------------------------------


def test_the_limits_are_what_they_are():
    assert container.LARGEST_FILE_BYTES == 4 * 2**30
    assert container._BLOCK_BYTES == 2**20
    assert (reading.LONGEST_SECONDS, reading.MOST_FRAMES) == (1_800, 240_000)
    assert (reading.MOST_PIXELS, reading.SHORTEST_SIDE) == (40_000_000, 64)
    assert reading._CACHE_BYTES == 192 * 2**20
    assert (reading._ROLL_ON, reading._MISSING_SHARE) == (12, 0.02)


def test_what_is_handed_on_cannot_be_changed(clip):
    from dataclasses import FrozenInstanceError

    with clip.open("rb") as opened:
        judged = container.judge(opened, "a.mp4")
        assert opened.tell() == 0
    with open_video(clip) as video:
        still = video.frame(0)
    for one, name in ((judged, "kind"), (still, "index")):
        with pytest.raises(FrozenInstanceError):
            setattr(one, name, 1)
        assert not hasattr(one, "__dict__")


def test_a_refusal_names_no_line(tmp_path):
    (tmp_path / "a.mp4").write_bytes(b"")
    with pytest.raises(VideoRefusedError) as caught:
        open_video(tmp_path / "a.mp4")
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.column, problem.field) == ("a.mp4", 0, 0, "")
