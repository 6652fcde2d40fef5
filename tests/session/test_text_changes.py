"""Any change of a lesson file comes out as meant, and the lines it does not touch stay."""

import copy
import difflib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reporter.session.layers import without_empty
from reporter.session.text_changes import insert, put, remove
from reporter.session.text_edit import as_bytes
from reporter.yaml_source import read_yaml
from tests.conftest import DEMO, JUNIOR

CLICKED_TWICE = {"at": ["1", "2"], "again": [["3", "4"]]}
LESSON = """\
# who
lesson:
  date: 2027-04-13   # a Tuesday
  # next_lesson: 2027-04-27 17:30
student:             # invented
  name: Runa

  avoid: [knee, back]   # what hurts
takes:
  - {id: a, when: before, view: face-on}
  - id: b     # the second
    when: after
    view: face-on
frames:
  - id: one
    take: a
    position: top
    file: one.jpg
    points:     # pixels
      head: [1.5, 2.5]
      # not marked: neck
      ball: {at: [3, 4], again: [[3, 5]]}
      hosel: hidden
  # the last one
  - id: two
    take: b
    position: top
    file: two.jpg
thoughts:
  - say: One.
    because: >-
      Why it is
      so.
  - Two.
drills: [one-drill,   # first
  other-drill]
notes: |
  Two
  lines.
# the end
"""


def read(text: str, mark: bytes = b""):
    return read_yaml(mark + text.encode(), "session.yaml")


def changed(before: str, after: str) -> list[str]:
    lines = difflib.ndiff(before.splitlines(), after.splitlines())
    return [line for line in lines if line[:2] in ("- ", "+ ")]


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize(
    ("change", "differences"),
    [
        (
            lambda s: put(s, ("student", "name"), "Ada: B"),
            ["-   name: Runa", "+   name: 'Ada: B'"],
        ),
        (
            lambda s: put(s, ("student", "age_band"), "adult"),
            ["+   age_band: adult"],
        ),
        (
            lambda s: put(s, ("frames", 0, "points", "head"), "hidden"),
            ["-       head: [1.5, 2.5]", "+       head: hidden"],
        ),
        (
            lambda s: put(s, ("frames", 0, "points", "hosel"), ["7.1", "8"]),
            ["-       hosel: hidden", "+       hosel: [7.1, 8]"],
        ),
        (
            lambda s: put(s, ("frames", 0, "points", "neck"), CLICKED_TWICE),
            ["+       neck: {at: [1, 2], again: [[3, 4]]}"],
        ),
        (
            lambda s: put(s, ("frames", 1, "points", "head"), ["1", "2"]),
            ["+     points:", "+       head: [1, 2]"],
        ),
        (
            lambda s: put(s, ("takes", 0, "club"), "driver"),
            [
                "-   - {id: a, when: before, view: face-on}",
                "+   - {id: a, when: before, view: face-on, club: driver}",
            ],
        ),
        (
            lambda s: put(s, ("plan", "if_then"), [{"when": "a", "then": "b"}]),
            ["+ plan:", "+   if_then:", "+     - when: a", "+       then: b"],
        ),
        (
            lambda s: insert(s, ("thoughts",), 1, {"say": "New."}),
            ["+   - say: New."],
        ),
        (
            lambda s: insert(s, ("drills",), 0, "zero"),
            ["- drills: [one-drill,   # first", "+ drills: [zero, one-drill,   # first"],
        ),
        (
            lambda s: insert(s, ("pairs",), 0, {"before": "one", "after": "two"}),
            ["+ pairs:", "+   - before: one", "+     after: two"],
        ),
        (
            lambda s: remove(s, ("frames", 0, "points", "ball")),
            ["-       ball: {at: [3, 4], again: [[3, 5]]}"],
        ),
        (
            lambda s: remove(s, ("takes", 1, "id")),
            ["-   - id: b     # the second", "-     when: after", "+   - when: after"],
        ),
        (
            lambda s: remove(s, ("student", "avoid", 0)),
            ["-   avoid: [knee, back]   # what hurts", "+   avoid: [back]   # what hurts"],
        ),
        (lambda s: remove(s, ("thoughts", 1)), ["-   - Two."]),
        (lambda s: insert(remove(s, ("thoughts", 1)), ("thoughts",), 1, "Two."), []),
        (
            lambda s: put(remove(s, ("lesson", "date")), ("lesson", "place"), "here"),
            ["-   date: 2027-04-13   # a Tuesday", "+   place: here"],
        ),
        (
            lambda s: remove(s, ("thoughts", 0, "because")),
            ["-     because: >-", "-       Why it is", "-       so."],
        ),
        (lambda s: remove(s, ("notes",)), ["- notes: |", "-   Two", "-   lines."]),
        (lambda s: remove(s, ("no", "such")), []),
    ],
)  # fmt: skip
def test_one_change_touches_its_own_lines_only(change, differences, ends, mark):
    source = read(LESSON.replace("\n", ends), mark)
    after = change(source)
    assert changed(LESSON, after.text.replace("\r\n", "\n")) == differences
    assert after.text.count("\n") == after.text.count(ends)
    assert as_bytes(after).startswith(mark + b"# who")


@pytest.mark.parametrize(
    "change",
    [
        lambda s: put(s, ("lesson", "date", "day"), "x"),
        lambda s: put(s, ("takes", 5), "x"),
        lambda s: put(s, ("takes", "x"), "x"),
        lambda s: insert(s, ("takes",), 3, "x"),
        lambda s: insert(s, ("student",), 0, "x"),
        lambda s: remove(s, ()),
    ],
)
def test_a_change_that_has_no_place_is_a_fault(change):
    with pytest.raises(KeyError):
        change(read(LESSON))


def test_what_begins_behind_its_key_grows_and_shrinks():
    source = read("a: 1  # one\nb:   # two\nc: [x]\n")
    source = put(source, ("a",), {"deep": "1"})
    source = put(source, ("b",), ["y", "z"])
    source = put(source, ("c",), "text")
    assert source.value == {"a": {"deep": "1"}, "b": ["y", "z"], "c": "text"}
    assert "# one" in source.text
    assert "# two" in source.text


TEXTS = st.sampled_from(
    ["plain", "with: colon", "# no comment", "it's", 'a "b"', "[x", "- x", "ü", "1.5", "no", "a, b"]
) | st.text("ab :-[]{}#'\",\n", min_size=1, max_size=12)
VALUES = st.recursive(
    TEXTS,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["x", "y", "z w", "1"]), inner, max_size=3)
    ),
    max_leaves=6,
)


def places(value, path=()):
    """Every path of a tree of values."""
    yield path
    parts = (
        value.items() if isinstance(value, dict)
        else enumerate(value) if isinstance(value, list) else ()
    )  # fmt: skip
    for key, part in parts:
        yield from places(part, (*path, key))


def done_by_hand(tree, kind, path, index, value):
    """The same change on plain values."""
    tree = copy.deepcopy(tree)
    around = tree
    for part in path[:-1]:
        around = around[part]
    if kind == "remove":
        del around[path[-1]]
    elif kind == "insert":
        around[path[-1]].insert(index, value)
    else:
        around[path[-1]] = value
    return tree


@st.composite
def changes(draw, tree):
    """A change that has a place in a tree of values."""
    every = [path for path in places(tree) if path]
    path = draw(st.sampled_from(every))
    here = tree
    for part in path:
        here = here[part]
    kind = draw(st.sampled_from(["put", "remove", "insert", "new"]))
    value = draw(VALUES)
    if kind == "insert" and isinstance(here, list):
        return kind, path, draw(st.integers(0, len(here))), value
    if kind == "new" and isinstance(here, dict):
        return "put", (*path, draw(st.sampled_from(["new", "new one"]))), 0, value
    if kind == "remove":
        return kind, path, 0, None
    return "put", path, 0, value


FILES = [LESSON, DEMO.read_text("utf-8"), JUNIOR.read_text("utf-8")]
ROUNDABOUT = """\
a:
  - - 1   # one
    - 2
  -
    b: 1

    # deep
    'it''s': {x: [1, {y: 2}], z: }
  - {}
  - []
"c": 'd'
e: "f

  g"
h:
- i
-   j: k
    l:
"""


@given(st.data(), st.sampled_from([LESSON, LESSON, FILES[2], ROUNDABOUT]), st.booleans())
@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_changes_come_out_as_meant(data, text, carriage_returns):
    if carriage_returns:
        text = text.replace("\n", "\r\n")
    source = read(text)
    for _ in range(3):
        if not isinstance(source.value, dict) or not source.value:
            return
        kind, path, index, value = data.draw(changes(source.value))
        expected = done_by_hand(source.value, kind, path, index, value)
        before = source.text
        if kind == "put":
            source = put(source, path, value)
        elif kind == "insert":
            source = insert(source, path, index, value)
        else:
            source = remove(source, path)
        assert without_empty(source.value) == without_empty(expected)
        # Lines of other top-level fields, comments included, stay to the letter.
        for name, lines in parts(before).items():
            if name != path[0]:
                assert lines in source.text, name


def parts(text: str) -> dict[str, str]:
    """The lines of each top-level field, without comments at their end."""
    source = read(text)
    found = {}
    for name in source.value:
        node = source.nodes[(name,)]
        inside = [n for path, n in source.nodes.items() if path[:1] == (name,)]
        end = max((n.end for n in inside if not (n.children and n.style == "block")), default=0)
        found[name] = text[node.key_start : end].rstrip()
    return found


@given(st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_points_of_the_demo_are_moved_and_hidden(data):
    source = read(FILES[1])
    for _ in range(4):
        frame = data.draw(st.integers(0, len(source.value["frames"]) - 1))
        name = data.draw(st.sampled_from(sorted(source.value["frames"][frame]["points"])))
        kinds = [["1.5", "2"], "hidden", {"at": ["1", "2"], "hidden": "yes"}, CLICKED_TWICE]
        point = data.draw(st.sampled_from(kinds))
        before = source.text
        source = put(source, ("frames", frame, "points", name), point)
        difference = changed(before, source.text)
        assert len(difference) <= 2
        assert all(f" {name}: " in line for line in difference)
