"""YAML as plain text with places, judged by the YAML library's own text-only loader."""

import contextlib
import time

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.errors import InputRefusedError
from reporter.yaml_source import LARGEST_FILE_BYTES, read_yaml


def refused(text: bytes | str) -> list[str]:
    data = text if isinstance(text, bytes) else text.encode("utf-8")
    with pytest.raises(InputRefusedError) as caught:
        read_yaml(data, "session.yaml")
    return [str(problem) for problem in caught.value.problems]


SAMPLE = """\
# a comment
name: no
number: 007
time: 7:30
power: 1e5
day: 2026-02-30
truth: true
quoted: "null"
empty:
nothing: null
tilde: ~
list: [1, {a: 'it''s'}]   # behind
block:
  - text: |
      one
      two
  - café 🙂
"""


def test_every_scalar_is_the_text_that_was_typed():
    value = read_yaml(SAMPLE.encode(), "session.yaml").value
    # PyYAML's BaseLoader resolves no types; it is not used by the program.
    expected = yaml.load(SAMPLE, Loader=yaml.BaseLoader)
    expected |= {"empty": None, "nothing": None, "tilde": None}
    assert value == expected


def test_places_are_those_an_editor_shows():
    source = read_yaml(SAMPLE.encode(), "session.yaml")
    lines = SAMPLE.splitlines()
    for path, written in {
        ("time",): "7:30",
        ("list", 1, "a"): "'it''s'",
        ("block", 1): "café 🙂",
    }.items():
        line, column = source.place(path)
        assert lines[line - 1][column - 1 :].startswith(written)
        node = source.nodes[path]
        assert source.text[node.start : node.end] == written
    assert source.key_place(("list",)) == (12, 1)
    assert source.key_place(("list", 1, "a")) == (12, 12)


def test_the_place_of_something_not_written_is_that_of_what_is_around_it():
    source = read_yaml(b"a:\n  b: [1, 2]\n", "session.yaml")
    assert source.place(("a", "c")) == source.place(("a",))
    assert source.place(("a", "b", "at", 1)) == source.place(("a", "b", 1))


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_marks(ends, mark):
    source = read_yaml(mark + SAMPLE.replace("\n", ends).encode(), "session.yaml")
    assert source.value == read_yaml(SAMPLE.encode(), "session.yaml").value
    assert source.place(("block", 1)) == (17, 5)
    assert source.byte_order_mark == bool(mark)


@pytest.mark.parametrize(
    ("text", "place", "words"),
    [
        ("a: Keep: low\n", "1:8", "put quotes round it"),
        ("a:\n\tb: 1\n", "2:1", "use spaces"),
        ("a: x\n  \tb: 1\n", "2:", "use spaces"),
        ("a: *x\n", "1:4", "put quotes round it"),
        ("a: &x 1\n", "1:4", "put quotes round it"),
        ("a: !!python/object:os.system {}\n", "1:4", "put quotes round it"),
        ("a: !x 1\n", "1:4", "put quotes round it"),
        ("a: {b: 1}\n<<: {c: 1}\n", "2:1", "merging"),
        ("a: 1\nb: 2\na: 3\n", "3:1", "line 1 and in line 3"),
        ("[a, b]: 1\n", "1:1", "field name"),
        ("? {a: 1}\n: 2\n", "1:3", "field name"),
        ("name: {{ x }}\n", "1:8", "field name"),
        ("a: 'x\nb: 1\n", "1:4", "never closed"),
        ("a: [1, 2\nb: 3\n", "2:", "not closed"),
        ("a: {b: 1\nc: [\n", "2:|3:", "not closed|missing"),
        ("a: @x\n", "1:4", "put quotes round it"),
        ("a: `x\n", "1:4", "put quotes round it"),
        ('a: "\\q"\n', "1:5", "single quotes"),
        ('a: "\\ud800"\n', "1:", "does not exist"),
        ("- a\nb: 1\n", "2:1", "list above"),
        ("a: b\nc\n", "2:1", "field: value"),
        ("---\na: 1\n---\nb: 1\n", "3:1", "second document"),
        ("%YAML 1.1\n---\na: 1\n", "1:1", "%"),
        ("a: Keep #1 low\n", "1:8", "put quotes"),
        ("a: #1 thought\n", "1:3", "put quotes"),
        ("a: \x00\n", "1:4", "U\\+0000"),
        ("a: \x1b[31m\n", "1:4", "U\\+001B"),
        ("a: \u2028\n", "1:4", "U\\+2028"),
        ("null: 1\n", "1:1", "without a field name"),
    ],
)
def test_faults_are_told_at_their_place_in_plain_words(text, place, words):
    found = refused(text)
    assert any(p.startswith(tuple(f"session.yaml:{x}" for x in place.split("|"))) for p in found)
    assert any(part in " ".join(found).replace("\\", "") for part in
               words.replace("\\", "").split("|"))  # fmt: skip
    assert not any("\x00" in p or "\x1b" in p for p in found)


def test_all_faults_of_one_kind_are_told_at_once():
    assert len(refused("a: &x 1\nb: *x\nb: !t 2\n")) == 4


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"a: \xe4\n", "1:4: byte 4 of the file (0xE4) is not UTF-8; save it as UTF-8"),
        (b"a: 1\nb: \xff\n", "2:4"),
        ("a: ä\n".encode("utf-16"), "UTF-16"),
        (b"a: " + b"x" * LARGEST_FILE_BYTES, "at most 262144"),
    ],
)
def test_bytes_that_are_no_text(data, words):
    assert words in refused(data)[0]


def test_nesting_has_a_limit():
    allowed = "[" * 31 + "]" * 31
    assert read_yaml(f"a: {allowed}\n".encode(), "s").value
    assert "32 deep" in refused(f"a: [{allowed}]\n")[0]
    for text in ("[" * 33, "a: " + "[" * 500, "{a: " * 60, "[" * 20_000, "? " * 3_000):
        started = time.perf_counter()
        assert refused(text)
        assert time.perf_counter() - started < 2.0


def test_the_number_of_parts_has_a_limit():
    assert "20000" in refused("a: [" + "1," * 30_000 + "1]\n")[0]


plain_values = st.recursive(
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"],
                          exclude_characters="\ufeff\ufffe\uffff"), max_size=20),
    lambda inner: st.lists(inner, max_size=4)
    | st.dictionaries(st.text("abcdefgh_", min_size=1, max_size=6), inner, max_size=4),
    max_leaves=12,
)  # fmt: skip


@given(st.dictionaries(st.text("abcdefgh", min_size=1, max_size=6), plain_values, max_size=5))
@settings(max_examples=150, deadline=None)
def test_row_4_what_another_program_dumps_is_read_back(value):
    dumped = yaml.safe_dump(value, allow_unicode=True, default_style='"')
    assert read_yaml(dumped.encode("utf-8"), "session.yaml").value == value


@given(st.text(max_size=200) | st.text("ab:-[]{}&*!|>'\"#%@`\n\t ?,~", max_size=60))
@settings(max_examples=500, deadline=None)
def test_no_text_raises_anything_but_a_refusal(text):
    try:
        source = read_yaml(text.encode("utf-8", "surrogatepass"), "session.yaml")
    except InputRefusedError:
        return
    for path in source.nodes:
        assert source.place(path) >= (1, 1)


@given(st.binary(max_size=100))
@settings(max_examples=200, deadline=None)
def test_no_bytes_raise_anything_but_a_refusal(data):
    with contextlib.suppress(InputRefusedError):
        read_yaml(data, "session.yaml")


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), max_size=6))
@settings(max_examples=300, deadline=None)
def test_a_damaged_file_is_read_or_refused(changes):
    data = bytearray(SAMPLE.encode())
    for index, byte in changes:
        data[index % len(data)] = byte
    with contextlib.suppress(InputRefusedError):
        read_yaml(bytes(data), "session.yaml")
