"""Tables that tell of more than they hold, laid out as ISO/IEC 14496-12:2015 has them.

The sections stand beside the layouts, from memory; what is of QuickTime alone is after the
QuickTime file format specification (2001), from memory too.
"""

import io
import struct
import zlib

import pytest

from reporter.video import VideoRefusedError, open_video, tables
from reporter.video.tables import TableError, Tables
from tests.video.clips import every, number_of, write_clip

NONE = struct.pack(">I", 0)  # version 0, no flags


def box(name: str, *parts: bytes) -> bytes:
    """One box: its length, its name, its contents (4.2)."""
    body = b"".join(parts)
    return struct.pack(">I4s", 8 + len(body), name.encode()) + body


def numbers(*values: int) -> bytes:
    return struct.pack(f">{len(values)}I", *values)


def table(name: str, count: int, rows: bytes, head: bytes = NONE) -> bytes:
    return box(name, head, numbers(count), rows)


def told(*parts: bytes) -> str:
    """What is wrong with the tables of a file that begins with these boxes."""
    data = b"".join(parts)
    judged, at = Tables(), 0
    try:
        while at < len(data):
            length, name = struct.unpack(">I4s", data[at : at + 8])
            judged.add(io.BytesIO(data), name, at + 8, at + length)
            at += length
        judged.end()
    except TableError as error:
        return str(error)
    return ""


def track(*parts: bytes, handler: bytes = b"vide") -> bytes:
    """A track (8.3.1) with its handler (8.4.3) and its tables (8.5.1)."""
    handled = box("hdlr", NONE, NONE, handler, bytes(13))
    return box("trak", box("mdia", handled, box("minf", box("stbl", *parts))))


# --- counts against bytes -------------------------------------------------------------------

SHARED = numbers(7)
PLAIN = {
    "stts": (8, "8.6.1.2"), "ctts": (8, "8.6.1.3"), "stsc": (12, "8.7.4"), "stco": (4, "8.7.5"),
    "co64": (8, "8.7.5"), "stss": (4, "8.6.2"), "stps": (4, "QuickTime: partial sync samples"),
    "dref": (12, "8.7.2"),
}  # fmt: skip
OTHERS = {
    "stsz, 8.7.3.2": lambda n, r: box("stsz", NONE, numbers(0, n), bytes(4 * r)),
    "stz2 of 16 bit, 8.7.3.3": lambda n, r: box("stz2", NONE, numbers(16, n), bytes(2 * r)),
    "stz2 of 4 bit, 8.7.3.3": lambda n, r: box("stz2", NONE, numbers(4, n), bytes((r + 1) // 2)),
    "sbgp, 8.9.2": lambda n, r: box("sbgp", NONE, b"rap ", numbers(n), bytes(8 * r)),
    "sbgp 1, 8.9.2": lambda n, r: box("sbgp", b"\1\0\0\0rap ", SHARED, numbers(n), bytes(8 * r)),
    "sgpd, 8.9.3": lambda n, r: box("sgpd", NONE, b"roll", numbers(n), bytes(r)),
    "sgpd 1, 8.9.3": lambda n, r: box("sgpd", b"\1\0\0\0roll", numbers(6, n), bytes(6 * r)),
    "sgpd 1 of any length": lambda n, r: box("sgpd", b"\1\0\0\0roll", numbers(0, n), bytes(4 * r)),
    "saiz, 8.7.8": lambda n, r: box("saiz", NONE, b"\0", numbers(n), bytes(r)),
    "saiz of a kind, 8.7.8": lambda n, r: box("saiz", numbers(1), b"cenc", NONE, b"\0",
                                              numbers(n), bytes(r)),
    "saio, 8.7.9": lambda n, r: box("saio", NONE, numbers(n), bytes(4 * r)),
    "saio 1, 8.7.9": lambda n, r: box("saio", b"\1\0\0\1cenc", NONE, numbers(n), bytes(8 * r)),
    "trun of sizes, 8.8.8": lambda n, r: box("trun", numbers(0x200, n), bytes(4 * r)),
    "trun of all, 8.8.8": lambda n, r: box("trun", numbers(0xF05, n, 0, 0), bytes(16 * r)),
    "sidx, 8.16.3": lambda n, r: box("sidx", numbers(0, 1, 90, 0, 0), struct.pack(">HH", 0, n),
                                     bytes(12 * r)),
    "sidx 1, 8.16.3": lambda n, r: box("sidx", b"\1\0\0\0", numbers(1, 90, 0, 0, 0, 0),
                                       struct.pack(">HH", 0, n), bytes(12 * r)),
    "iinf, 8.11.6": lambda n, r: box("iinf", NONE, struct.pack(">H", n), bytes(8 * r)),
    "iinf 1, 8.11.6": lambda n, r: box("iinf", b"\1\0\0\0", numbers(n), bytes(8 * r)),
    "iloc, 8.11.3": lambda n, r: box("iloc", NONE, b"\0\0", struct.pack(">H", n), bytes(6 * r)),
    "iloc 2, 8.11.3": lambda n, r: box("iloc", b"\2\0\0\0\0\0", numbers(n), bytes(6 * r)),
}  # fmt: skip


@pytest.mark.parametrize("name", PLAIN)
def test_a_table_has_room_for_its_rows(name):
    width, _ = PLAIN[name]
    for count in (0, 1, 5):
        assert told(table(name, count, bytes(width * count))) == ""
    assert told(table(name, 5, bytes(width * 5 + 3))) == "", "stray bytes do no harm"
    short = f"its table {name} tells of 5 rows and has room for 4"
    assert told(table(name, 5, bytes(width * 5 - 1))) == short
    assert told(box("moov", track(table(name, 5, bytes(width * 5 - 1))))) == short
    assert "has room for 0" in told(box(name, NONE, bytes(3))), "not even for its count"
    assert "tells of 4294967295 rows" in told(table(name, 2**32 - 1, bytes(width)))


@pytest.mark.parametrize("name", OTHERS)
def test_each_table_in_its_own_layout_has_room_for_its_rows(name):
    made = OTHERS[name]
    for count in (0, 1, 6):
        assert told(made(count, count)) == ""
    assert f"its table {name[:4]} tells of 6 rows and has room for 4" == told(made(6, 4))
    assert f"{name[:4]} tells of 1 rows and has room for 0" in told(made(1, 0))


def test_descriptions_take_eight_bytes_at_least():
    """8.5.2: each is a box."""
    assert told(table("stsd", 2, box("avc1") + box("avc1"))) == ""
    assert "stsd tells of 2 rows and has room for 1" in told(table("stsd", 2, box("avc1")))


def test_rows_are_added_up(monkeypatch):
    monkeypatch.setattr(tables, "MOST_ROWS", 10)
    seven = table("stts", 4, bytes(32)), table("stss", 3, bytes(12))
    assert told(*seven, box("sdtp", NONE, bytes(3))) == ""
    assert "tells of 11 rows; at most 10" in told(*seven, box("sdtp", NONE, bytes(4)))


# --- samples that need no bytes of their own ------------------------------------------------

MOST = 1_500_000
ALIKE = {
    "stsz": lambda n: track(box("stsz", NONE, numbers(9, n))),
    "trun": lambda n: box("moof", box("traf", box("trun", NONE, numbers(n)))),
    "saiz": lambda n: box("saiz", NONE, b"\x08", numbers(n)),
    "senc": lambda n: box("senc", NONE, numbers(n)),
}


@pytest.mark.parametrize("name", ALIKE)
def test_samples_that_are_all_alike_are_counted(name):
    assert told(ALIKE[name](MOST)) == ""
    assert told(ALIKE[name](MOST + 1)) == f"it tells of {MOST + 1} samples; at most {MOST} are read"
    assert "samples" in told(ALIKE[name](MOST // 2), ALIKE[name](MOST // 2 + 1))


def test_each_edit_shows_all_samples_anew():
    """8.6.6; a decoder lists the samples of each edit, and goes by the room for the edits."""
    samples = box("stsz", NONE, numbers(9, MOST // 3))
    for head, width in ((NONE, 12), (b"\1\0\0\0", 20)):
        three, four = (table("elst", 1, bytes(width * count), head) for count in (3, 4))
        assert told(track(samples, three)) == ""
        assert "2000000 samples" in told(track(samples, four))
        assert "2000000 samples" in told(track(four, samples))
    assert told(track(samples), track(three, box("stsz", NONE, numbers(9, MOST // 9)))) == ""


def test_fragments_cost_something_in_every_track(monkeypatch):
    monkeypatch.setattr(tables, "MOST_SAMPLES", 10)
    index = OTHERS["sidx, 8.16.3"]
    assert told(track(), track(), index(3, 3), box("moof"), box("moof")) == ""
    assert "12 samples" in told(track(), track(), index(4, 4), box("moof"), box("moof"))


def sound(samples, *, in_chunk, chunks, ticks=((None, 1),), handler=b"soun"):
    """A track of sound without compression: each sample is a piece of its own (8.6.1.2, 8.7.4)."""
    times = b"".join(numbers(samples if many is None else many, each) for many, each in ticks)
    return track(
        table("stts", len(ticks), times),
        table("stsc", 2, numbers(1, in_chunk, 1, 2, 1, 1)),
        box("stsz", NONE, numbers(4, samples)),
        table("stco", chunks, bytes(4 * chunks)),
        handler=handler,
    )


def test_half_an_hour_of_uncompressed_sound_is_no_lie():
    """48,000 a second; decoders list it by the thousand (1,024)."""
    half_an_hour = 48_000 * 1_800
    assert told(sound(half_an_hour, in_chunk=24_000, chunks=3_600)) == ""
    assert told(sound(9, in_chunk=1_024, chunks=3)) == ""
    assert "86400000 samples" in told(sound(half_an_hour, in_chunk=24_000, chunks=3_600,
                                            handler=b"vide"))  # fmt: skip
    for ticks in (((None, 2),), ((5, 1), (None, 1)), ()):
        assert "samples" in told(sound(half_an_hour, in_chunk=24_000, chunks=3_600, ticks=ticks))
    assert "4500000 samples" in told(sound(9, in_chunk=1_535_999, chunks=3_000))
    assert "1503000 samples" in told(sound(9, in_chunk=512_001, chunks=3_000))
    # The second handler of a QuickTime track says where its bytes are, not what they are.
    data = box("hdlr", NONE, b"dhlr", b"alis", bytes(12))
    whole = sound(half_an_hour, in_chunk=24_000, chunks=3_600)
    assert told(box("trak", whole[8:], data)) == ""
    assert "samples" in told(box("trak", whole[8:], box("hdlr", NONE, NONE, b"vide", bytes(12))))


# --- boxes inside boxes ---------------------------------------------------------------------

LIE = table("stts", 99, b"")


@pytest.mark.parametrize(
    "holder",
    ["moov", "trak", "edts", "mdia", "minf", "dinf", "stbl", "mvex", "moof", "traf", "tref",
     "udta", "ilst", "sinf", "schi", "iprp", "ipco", "wave"],
)  # fmt: skip
def test_a_lie_is_found_wherever_boxes_lie_in_boxes(holder):
    assert "stts" in told(box(holder, box("free"), LIE))
    assert told(box(holder, box("abcd", LIE))) == "", "what nobody knows, nobody reads"


def test_metadata_begins_at_once_or_behind_its_version(monkeypatch):
    """8.11.1 has version and flags; QuickTime has not."""
    handler = box("hdlr", NONE, NONE, b"mdta", bytes(13))
    assert "stts" in told(box("meta", NONE, handler, LIE))
    assert "stts" in told(box("meta", handler, LIE))
    assert told(box("meta", NONE, handler, box("ilst"))) == ""
    assert told(box("meta", NONE, LIE)) == "", "without a handler it is not read"
    assert told(box("meta")) == ""
    monkeypatch.setattr(tables, "MOST_DESCRIBED_BYTES", 100)
    assert told(box("meta", bytes(100))) == ""
    assert "101 bytes of notes without a handler; at most 100" in told(box("meta", bytes(101)))
    assert "stts" in told(box("meta", NONE, handler, LIE, bytes(200)))
    assert "without a handler" in told(box("meta", bytes(96), handler, LIE))


def test_a_table_of_contents_by_another_name_is_looked_into():
    """Old editing programs left it under these names; decoders take it."""
    header = box("mvhd", bytes(100))
    for name in ("free", "hoov"):
        assert "stts" in told(box(name, header, LIE))
        assert told(box(name, LIE)) == ""
    assert told(box("skip", header, LIE)) == ""


def test_a_box_keeps_inside_the_box_it_lies_in():
    beyond = struct.pack(">I4s", 17, b"stbl") + bytes(8)
    assert told(box("minf", beyond)) == "its table stbl reaches beyond the box it lies in"
    assert "its table stco reaches" in told(box("stbl", beyond.replace(b"stbl", b"stco")))
    strange = beyond.replace(b"stbl", b"abcd")
    assert told(box("udta", strange)) == "", "phones write what they like among the user's data"
    assert told(box("udta", struct.pack(">I4s", 7, b"abcd"), LIE)) == ""
    assert told(box("udta", LIE[:7])) == ""


def test_a_length_may_be_long_or_left_out():
    """4.2: 64 bit behind a 1; 0 for all that is left."""
    long = struct.pack(">I4sQ", 1, b"stts", 16 + len(LIE[8:])) + LIE[8:]
    assert "stts tells of 99" in told(box("stbl", long))
    assert "stts tells of 99" in told(box("stbl", long[:8] + struct.pack(">Q", 8) + long[16:]))
    assert "stts tells of 99" in told(box("stbl", NONE, LIE[4:]))
    assert told(box("stbl", struct.pack(">I4sQ", 1, b"abcd", 15), LIE)) == ""
    assert "stts tells of 99" in told(box("stbl", struct.pack(">I4sQ", 1, b"abcd", 16), LIE))
    assert "reaches beyond" in told(box("stbl", struct.pack(">I4sQ", 1, b"stts", 2**63), LIE[8:]))
    assert told(box("stbl", struct.pack(">I4s", 1, b"stts"))) == ""


def test_boxes_are_counted_and_do_not_nest_for_ever(monkeypatch):
    nested = LIE
    for _ in range(12):
        nested = box("udta", nested)
    assert "stts" in told(nested)
    assert "13 boxes inside each other; at most 12" in told(box("udta", nested))
    assert told(*[track()] * 64) == ""
    assert "65 tracks; at most 64" in told(*[track()] * 65)
    monkeypatch.setattr(tables, "MOST_BOXES", 6)
    assert told(track(), box("free")) == ""
    assert "7 boxes; at most 6" in told(track(), box("free"), box("free"))


def test_no_table_hides_in_a_description_of_the_samples(monkeypatch):
    """8.5.2: what the samples are; a decoder takes whatever lies behind its fields."""
    hidden = table("stsd", 1, box("avc1", bytes(78), LIE))
    assert "its table stts lies where no table may" in told(hidden)
    # A track of timed notes carries a list of keys in its description (QuickTime: mebx).
    assert told(table("stsd", 1, box("mebx", bytes(8), box("keys", bytes(20))))) == ""
    length = len(table("stsd", 1, box("avc1", bytes(78)))) - 8
    monkeypatch.setattr(tables, "MOST_DESCRIBED_BYTES", length)
    assert told(table("stsd", 1, box("avc1", bytes(78)))) == ""
    assert f"{length + 1} bytes of description" in told(table("stsd", 1, box("avc1", bytes(79))))


# --- a packed table of contents (QuickTime file format: compressed movie resources) ---------


def packed(moov: bytes, size: int | None = None) -> bytes:
    size = len(moov) if size is None else size
    return box("moov", box("cmov", box("dcom", b"zlib"), box("cmvd", numbers(size),
                                                             zlib.compress(moov))))  # fmt: skip


def test_packed_tables_are_read_and_held_to_account(tmp_path, monkeypatch):
    path = write_clip(tmp_path / "a.mov", every(12, 25), size=(192, 128))
    data = path.read_bytes()
    at = data.index(b"moov") - 4
    path.write_bytes(data[:at] + packed(data[at:]))
    with open_video(path) as video:
        assert video.facts.frame_count == 12
        assert number_of(video.frame(7).pixels) == 7
    path.write_bytes(data[:at] + packed(data[at:].replace(b"stss\0\0\0\0\0", b"stss\0\0\0\0\x7f")))
    with pytest.raises(VideoRefusedError, match="damaged: its table stss tells of .*; copy it"):
        open_video(path)
    for inside in (b"dcomzlob", b"dcomzlib"):
        other = packed(LIE).replace(b"dcomzlib", inside).replace(b"cmvd", b"cmvx")
        assert told(other) == "", "no decoder reads it either"
    assert told(packed(LIE).replace(b"dcomzlib", b"dcomlzma")) == ""
    assert "stts tells of 99" in told(packed(LIE))
    cut = packed(LIE)
    assert "cannot be unpacked" in told(cut[:40] + b"\xff" * (len(cut) - 40))
    monkeypatch.setattr(tables, "MOST_UNPACKED_BYTES", 100)
    assert told(packed(bytes(100))) == ""
    assert "101 bytes of packed tables; at most 100" in told(packed(bytes(101), size=9))
    assert "101 bytes of packed tables" in told(packed(bytes(100), size=101))
    sixty = packed(box("free", bytes(52)))
    assert "120 bytes of packed tables; at most 100" in told(sixty, sixty)
    monkeypatch.setattr(tables, "MOST_UNPACKED_BYTES", 20)
    assert "bytes of packed tables; at most 20" in told(packed(b"", size=0))


def test_the_limits_are_what_they_are():
    assert (tables.MOST_BOXES, tables.MOST_TRACKS) == (500_000, 64)
    assert (tables.MOST_ROWS, tables.MOST_SAMPLES) == (4_000_000, MOST)
    assert tables.MOST_UNPACKED_BYTES == 64 * 2**20
    assert tables.MOST_DESCRIBED_BYTES == 16 * 2**20


def test_a_clip_that_lies_is_refused_before_any_decoder_sees_it(tmp_path, monkeypatch):
    import av

    path = write_clip(tmp_path / "a.mp4", every(12, 25), size=(192, 128))
    data = path.read_bytes()
    at = data.index(b"stts") + 8
    path.write_bytes(data[:at] + numbers(10_000_000) + data[at + 4 :])
    monkeypatch.setattr(av, "open", None)
    with pytest.raises(VideoRefusedError) as caught:
        open_video(path)
    assert caught.value.reason.startswith('"a.mp4" is damaged: its table stts tells of 10000000')
    assert caught.value.reason.endswith("; copy it again")
