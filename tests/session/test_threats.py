"""Hostile lessons: each row of the list of threats that a lesson's files can carry out.

The rows' numbers are the test ids. Rows on pictures are in test_frames.py, on tables in
test_shots.py, on references in test_safe_open.py, on output in test_publish.py.
"""

import socket
import time
import tracemalloc

import pytest

from reporter.errors import ExitCode, InputRefusedError
from reporter.session.load import load_session, load_text

BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{here}: &{here} [{','.join([f'*{before}'] * 9)}]\n"
    for before, here in zip("abcdefgh", "bcdefghi", strict=True)
)
LESSON = "thoughts: [x]\n"
LONG_WORD = "w" * 60_000


def with_frames(count: int) -> str:
    listed = "".join(
        f"  - {{id: f{n}, take: t, position: top, file: frames/before.png}}\n" for n in range(count)
    )
    return f"{LESSON}takes: [{{id: t, when: before, view: feet}}]\nframes:\n{listed}"


HOSTILE = [
    pytest.param(BOMB, "not allowed", id="row-1-alias-bomb"),
    pytest.param(f"{LESSON}notes: &n x\n", "quotes", id="row-1-anchor"),
    pytest.param("thoughts: " + "[" * 200 + "]" * 200, "32 deep", id="row-2-deep"),
    pytest.param("thoughts: " + "{a: " * 100_00 + "}" * 100_00, "32 deep", id="row-2-deeper"),
    pytest.param(LESSON + "notes: a\nnotes: b\n", "line 2 and in line 3", id="row-3-twice"),
    pytest.param(LESSON + "ntoes: a\n", 'did you mean "notes"', id="row-3-unknown"),
    pytest.param(LESSON + "student: {age: 007}\n", "leading zeros", id="row-4-zeros"),
    pytest.param(LESSON + "plan: {minutes: 1:30}\n", "not a whole number", id="row-4-clock"),
    pytest.param(LESSON + "plan: {minutes: 1e2}\n", "not a whole number", id="row-4-power"),
    pytest.param(b"thoughts: [\xe4]\n", "UTF-8", id="row-5-not-utf8"),
    pytest.param("thoughts:\n\t- x\n", "use spaces", id="row-5-tab"),
    pytest.param(LESSON + "student: {sport_hours_a_week: .nan}\n", "number", id="row-6-nan"),
    pytest.param(LESSON + "student: {sport_hours_a_week: 1e999}\n", "large", id="row-6-infinite"),
    pytest.param(LESSON + f"format: {'9' * 5000}\n", "5000|whole", id="row-6-many-digits"),
    pytest.param(LESSON + "student: {age: true}\n", "not a whole number", id="row-6-truth"),
    pytest.param(LESSON + "notes: !!python/object/apply:os.system [x]\n", "!", id="row-7-object"),
    pytest.param(LESSON + "notes: !!timestamp x\n", "!", id="row-7-tag"),
    pytest.param(LESSON + "<<: {notes: x}\n", "merging", id="row-7-merge"),
    pytest.param(LESSON + 'notes: "a\\u202eb"\n', "U+202E RIGHT-TO-LEFT", id="row-29-override"),
    pytest.param(LESSON + 'notes: "a\\0b"\n', "character 2 is U+0000 NUL", id="row-29-nul"),
    pytest.param(LESSON + 'notes: "a\\eb"\n', "U+001B", id="row-29-escape"),
    pytest.param(LESSON + 'notes: "a\\tb"\n', "use spaces", id="row-29-tab"),
    pytest.param(LESSON + 'notes: "\\ud800"\n', "exist", id="row-29-surrogate"),
    pytest.param(LESSON + 'notes: "\\uffff"\n', "U+FFFF", id="row-29-noncharacter"),
    pytest.param(LESSON + 'student: {name: "a\\nb"}\n', "one line", id="row-29-line-break"),
    pytest.param(LESSON + f"notes: {LONG_WORD}\n", "60000 characters; at most 4000", id="row-30"),
    pytest.param(f"thoughts: [{'x' * 201}]", "201 characters; at most 200", id="row-30-short"),
    pytest.param(LESSON + "drills: [" + "a, " * 499 + "a]", "500 items; at most 40",
                 id="row-30-drills"),
    pytest.param(with_frames(61), "61 items; at most 60", id="row-31-frames"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), HOSTILE)
def test_a_hostile_lesson_is_refused_fast_and_small(lesson_folder, text, words):
    data = text if isinstance(text, bytes) else text.encode("utf-8")
    tracemalloc.start()
    started = time.perf_counter()
    try:
        with pytest.raises(InputRefusedError) as caught:
            load_text(data, lesson_folder / "session.yaml")
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert time.perf_counter() - started < 2.0
    assert peak < 200 * 2**20
    assert caught.value.exit_code == ExitCode.INPUT_REFUSED == 3
    told = str(caught.value)
    assert any(part in told for part in words.split("|"))
    assert all(len(line) < 500 for line in told.splitlines())
    assert not any(ord(c) < 32 for c in told.replace("\n", ""))


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("\ufeffthoughts: [x]\n", id="row-5-mark"),
        pytest.param("thoughts:\r\n  - x\r\n", id="row-5-crlf"),
        pytest.param("student: {name: no}\nthoughts: ['007', '7:30', 1e5, 2026-02-30]\n",
                     id="row-4-text-stays"),
        pytest.param("thoughts: ['<b>bold</b> & *stars* {x} %s $y \\frac']\n", id="row-10-markup"),
        pytest.param("thoughts: ['<img src=\"file:///etc/passwd\"/>']\n", id="row-9-10-picture"),
        pytest.param("thoughts: [עברית, 🏌️, 'e\u0301']\n", id="row-29-scripts"),
        pytest.param("thoughts: [x]\nframes: []\n", id="row-31-no-frames"),
    ],
)  # fmt: skip
def test_odd_but_sound_lessons_are_read(lesson_folder, text):
    session = load_text(text.encode("utf-8"), lesson_folder / "session.yaml").session
    assert session.thoughts


def test_row_4_text_keeps_what_was_typed(lesson_folder):
    text = "student: {name: no}\nthoughts: ['007', 7:30, 1e5, 2026-02-30, 0x1f, Null, 'null']\n"
    session = load_text(text.encode(), lesson_folder / "session.yaml").session
    assert session.student.name == "no"
    assert [t.say for t in session.thoughts] == [
        "007", "7:30", "1e5", "2026-02-30", "0x1f", "Null", "null",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "reference",
    ["http://127.0.0.1:9/a.jpg", "https://example.org/a.jpg", "ftp://example.org/a",
     "//example.org/share/a.jpg", "\\\\\\\\example.org\\\\share\\\\a.jpg", "data:image/png,x"],
)  # fmt: skip
def test_row_9_no_connection_is_ever_made(lesson_folder, monkeypatch, reference):
    def forbidden(*_args, **_kwargs):
        pytest.fail("a connection was asked for")

    monkeypatch.setattr(socket, "socket", forbidden)
    monkeypatch.setattr(socket, "getaddrinfo", forbidden)
    text = (
        f'{LESSON}takes: [{{id: t, when: before, view: feet, video: "{reference}"}}]\n'
        f'frames: [{{id: f, take: t, position: top, file: "{reference}"}}]\n'
        f'seen: {{shots: "{reference}"}}\n'
    )
    with pytest.raises(InputRefusedError) as caught:
        load_text(text.encode(), lesson_folder / "session.yaml")
    assert {p.field for p in caught.value.problems} == {"frames.0.file", "seen.shots"}


@pytest.mark.parametrize("name", ["academy.yaml", "coach.yaml", "session.yaml"])
def test_row_1_every_yaml_file_has_the_guards(lesson_folder, name):
    (lesson_folder / name).write_text(BOMB)
    with pytest.raises(InputRefusedError, match="not allowed"):
        load_session(lesson_folder)


def test_row_8_a_frame_outside_the_folder(lesson_folder, tmp_path):
    (tmp_path / "secret.png").write_bytes((lesson_folder / "frames/before.png").read_bytes())
    (lesson_folder / "frames" / "link.png").symlink_to(tmp_path / "secret.png")
    for name in ("../../../../secret.png", str(tmp_path / "secret.png"), "frames/link.png"):
        text = f"{with_frames(1)}".replace("frames/before.png", name)
        with pytest.raises(InputRefusedError) as caught:
            load_text(text.encode(), lesson_folder / "session.yaml")
        assert caught.value.problems[0].field == "frames.0.file"


def test_row_14_a_cut_picture_is_found_when_asked_for(lesson_folder):
    from PIL import Image

    picture = lesson_folder / "frames" / "before.png"
    Image.effect_noise((120, 160), 80).save(picture)
    picture.write_bytes(picture.read_bytes()[:-2_000])
    assert load_session(lesson_folder)
    with pytest.raises(InputRefusedError, match="cut off"):
        load_session(lesson_folder, whole_pictures=True)
