"""A lesson file is changed in its text: what was not meant stays to the letter."""

import difflib

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.session.text_edit import (
    add_key,
    append_item,
    as_bytes,
    in_block_style,
    plain_or_quoted,
    set_scalar,
    value_at,
)
from reporter.yaml_source import read_yaml

TEXT = """\
# head
name: Wren    # who
single: 'it''s'  # quoted
double: "a\\tb"
group:          # a group
  # inside
  plain: 1
  list: [1, 2]   # flow

  # after the list
items:
- one
-  a: 1
   long: |
     first
     second
- {b: 2}
flow: {c: 3}
empty_flow: {}
empty_list: []
nothing:        # yet
text: |
  one
  two
# tail
"""


def changed_lines(before: str, after: str) -> list[str]:
    return [
        line for line in difflib.ndiff(before.splitlines(), after.splitlines())
        if line[:2] in ("- ", "+ ")
    ]  # fmt: skip


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize(
    ("path", "new", "line"),
    [
        (("name",), "Robin", "name: Robin    # who"),
        (("name",), "a: b # c", "name: 'a: b # c'    # who"),
        (("single",), "it's new", "single: 'it''s new'  # quoted"),
        (("double",), 'x "y"', 'double: "x \\"y\\""'),
        (("group", "plain"), "no", "  plain: no"),
        (("group", "list", 1), "a, b", "  list: [1, 'a, b']   # flow"),
        (("items", 1, "a"), "-3.5", "-  a: -3.5"),
        (("items", 2, "b"), "{", "- {b: '{'}"),
        (("nothing",), "now", "nothing: now        # yet"),
    ],
)
def test_one_value_is_replaced_and_nothing_else(path, new, line, ends, mark):
    source = read_yaml(mark + TEXT.replace("\n", ends).encode(), "session.yaml")
    changed = set_scalar(source, path, new)
    assert value_at(changed, path) == new
    differences = changed_lines(TEXT, changed.text.replace("\r\n", "\n"))
    assert [d[2:] for d in differences if d[0] == "+"] == [line]
    assert len(differences) == 2
    assert as_bytes(changed).startswith(mark + b"# head")
    assert changed.text.count("\n") == changed.text.count(ends) == TEXT.count("\n")


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), "lead_knee: {at: [1, 2]}"),
        (("group",), "  lead_knee: {at: [1, 2]}"),
        (("items", 1), "   lead_knee: {at: [1, 2]}"),
        (("items", 2), "- {b: 2, lead_knee: {at: [1, 2]}}"),
        (("flow",), "flow: {c: 3, lead_knee: {at: [1, 2]}}"),
        (("empty_flow",), "empty_flow: {lead_knee: {at: [1, 2]}}"),
        (("nothing",), "  lead_knee: {at: [1, 2]}"),
    ],
)
@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_field_is_added(path, line, ends):
    source = read_yaml(TEXT.replace("\n", ends).encode(), "session.yaml")
    changed = add_key(source, path, "lead_knee", {"at": ["1", "2"]})
    assert value_at(changed, (*path, "lead_knee")) == {"at": ["1", "2"]}
    differences = changed_lines(TEXT, changed.text.replace("\r\n", "\n"))
    assert [d[2:] for d in differences if d[0] == "+"] == [line]
    assert changed.text.count("\n") == changed.text.count(ends)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("items",), "- new one"),
        (("group", "list"), "  list: [1, 2, new one]   # flow"),
        (("empty_list",), "empty_list: [new one]"),
        (("nothing",), "  - new one"),
    ],
)
def test_an_item_is_added(path, line):
    source = read_yaml(TEXT.encode(), "session.yaml")
    changed = append_item(source, path, "new one")
    assert value_at(changed, path)[-1] == "new one"
    assert [d[2:] for d in changed_lines(TEXT, changed.text) if d[0] == "+"] == [line]


def test_a_file_without_a_last_line_end():
    source = read_yaml(b"a: 1\nb:\n  - x", "session.yaml")
    changed = add_key(append_item(source, ("b",), "y"), (), "c", "2")
    assert changed.value == {"a": "1", "b": ["x", "y"], "c": "2"}


def test_a_list_over_several_lines_with_a_last_comma():
    source = read_yaml(b"a: [1, # one\n  2, # two\n]\n", "session.yaml")
    changed = append_item(source, ("a",), "3")
    assert changed.value == {"a": ["1", "2", "3"]}
    assert "# one" in changed.text
    assert "# two" in changed.text


@pytest.mark.parametrize(
    "change",
    [
        lambda s: set_scalar(s, ("group",), "x"),
        lambda s: set_scalar(s, ("missing",), "x"),
        lambda s: add_key(s, ("group",), "plain", "x"),
        lambda s: add_key(s, ("name",), "x", "y"),
        lambda s: append_item(s, ("group",), "y"),
    ],
)
def test_a_change_that_has_no_place_is_a_fault(change):
    with pytest.raises(KeyError):
        change(read_yaml(TEXT.encode(), "session.yaml"))


TYPED = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\r\x85\u2028\u2029\ufeff"),
    max_size=25,
) | st.text("ab:-[]{}&*!|>'\"#%@` ,?~.<=", max_size=8)  # fmt: skip


@given(TYPED)
@settings(max_examples=400)
def test_a_written_scalar_reads_back_as_the_same_text(text):
    for in_flow, frame in ((False, "a: {}\n"), (True, "a: [{}]\n")):
        written = frame.format(plain_or_quoted(text, in_flow=in_flow))
        # PyYAML's text-only loader is not used by the program.
        read = yaml.load(written, Loader=yaml.BaseLoader)["a"]
        assert (read[0] if in_flow else read) == text
        assert read_yaml(written.encode(), "s").value == {"a": [text] if in_flow else text}


@given(
    st.dictionaries(
        st.text("abc", min_size=1, max_size=3),
        st.recursive(
            TYPED,
            lambda s: (
                st.lists(s, max_size=3)
                | st.dictionaries(st.text("abc", min_size=1, max_size=3), s, max_size=3)
            ),
            max_leaves=8,
        ),
        min_size=1,
        max_size=4,
    ),
    st.integers(0, 4),
)
@settings(max_examples=200)
def test_a_written_block_reads_back(value, indentation):
    assert read_yaml(in_block_style(value, indentation).encode(), "s").value == value


SCALARS = [("name",), ("single",), ("double",), ("text",), ("group", "list", 0)]


@given(st.sampled_from(SCALARS), TYPED)
@settings(max_examples=200)
def test_any_text_can_be_set_and_comments_survive(path, text):
    changed = set_scalar(read_yaml(TEXT.encode(), "session.yaml"), path, text)
    assert value_at(changed, path) == text
    for comment in ("# head", "# who", "# quoted", "# a group", "# flow", "# tail"):
        assert comment in changed.text
