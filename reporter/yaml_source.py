"""Read YAML into plain text values and remember where each of them stands.

Every scalar stays the text that was typed: ``no``, ``007``, ``7:30`` and dates are text, and the
field's type decides later. Only an empty value, ``null`` and ``~`` mean "nothing here". Anchors,
aliases, tags, merge keys, repeated keys and several documents are refused.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal, Protocol

import yaml

from reporter.errors import InputRefusedError, Problem, printable
from reporter.yaml_words import in_plain_words

Plain = dict[str, "Plain"] | list["Plain"] | str | None
Path = tuple[str | int, ...]

LARGEST_FILE_BYTES = 256 * 1024
DEEPEST_NESTING = 32
MOST_EVENTS = 20_000

_Loader: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_NOT_TEXT = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufeff\ufffe\uffff]"
)
_LOST_TO_A_COMMENT = re.compile(r"[ \t]*#\w")
_NOTHING = ("", "null", "~")


@dataclass(slots=True)
class Node:
    """Where one value stands in the text.

    Attributes
    ----------
    kind : str
        ``scalar``, ``list`` or ``mapping``.
    style : str
        Of a scalar its quoting (empty, ``'``, ``"``, ``|`` or ``>``); else ``flow`` or ``block``.
    start, end : int
        First character and the one after the last, counted in characters from 0.
    line, column : int
        Of the start, counted from 1.
    key_start, key_line, key_column : int
        The same for the key of a mapping's value; equal to the value's own place in a list.
    children : list
        Names of the parts of a mapping, or positions in a list, in order.
    """

    kind: Literal["scalar", "list", "mapping"]
    style: str
    start: int
    end: int
    line: int
    column: int
    key_start: int
    key_line: int
    key_column: int
    children: list[str | int] = field(default_factory=list)
    empty: bool = False
    """Whether it is a scalar that holds nothing."""


@dataclass(frozen=True, slots=True)
class YamlSource:
    """A file's text, its plain values and the place of each.

    Attributes
    ----------
    name : str
        The file's name as the user knows it.
    text : str
        The decoded text without a byte-order mark.
    value : dict, list, str or None
        The plain values; every scalar is text.
    nodes : dict
        From the path of a value to its `Node`; the path of the whole file is ``()``.
    byte_order_mark : bool
        Whether the file began with one.
    """

    name: str
    text: str
    value: Plain
    nodes: dict[Path, Node]
    byte_order_mark: bool = False

    def written(self, path: Path) -> Path:
        """Return the parts of `path` that stand in the file, leaving out those that do not.

        A short form such as ``[120, 80]`` for ``{at: [120, 80]}`` has no ``at`` of its own; its
        numbers are found all the same.
        """
        found: Path = ()
        for part in path:
            if (*found, part) in self.nodes:
                found = (*found, part)
        return found

    def place(self, path: Path) -> tuple[int, int]:
        """Return line and column of a value, or of the nearest thing around it."""
        node = self.nodes.get(self.written(path))
        return (node.line, node.column) if node else (1, 1)

    def key_place(self, path: Path) -> tuple[int, int]:
        """Return line and column of the key a value stands under."""
        node = self.nodes.get(self.written(path))
        return (node.key_line, node.key_column) if node else (1, 1)

    def problem(self, path: Path, message: str, *, at_key: bool = False) -> Problem:
        """Return a problem at the place of `path`, named by the parts that stand in the file."""
        line, column = self.key_place(path) if at_key else self.place(path)
        return Problem(self.name, line, column, dotted(path), message)


def dotted(path: Path) -> str:
    """Return a path as it is shown: ``frames.2.points``."""
    return ".".join(str(part) for part in path)


def read_yaml(text: bytes, name: str) -> YamlSource:
    """Read a YAML file.

    Parameters
    ----------
    text : bytes
        The file as it lies on the disk; UTF-8, with or without a byte-order mark, any line ends.
    name : str
        The file's name for the messages.

    Returns
    -------
    YamlSource
        Values and places.

    Raises
    ------
    InputRefusedError
        With every problem that could be found, each at its line.
    """
    decoded = _decode(text, name)
    reading = _Reading(name, decoded)
    try:
        for event in _events(decoded):
            reading.take(event)
    except yaml.YAMLError as error:
        reading.problems.append(in_plain_words(error, decoded, name))
    except (RecursionError, ValueError) as error:
        message = f"cannot be read as YAML ({type(error).__name__})"
        reading.problems.append(Problem(name, 1, 1, "", message))
    if reading.problems:
        raise InputRefusedError(reading.problems)
    return YamlSource(name, decoded, reading.value, reading.nodes, text.startswith(b"\xef\xbb\xbf"))


def _events(text: str) -> Iterator[yaml.Event]:
    """Yield the parser's events; nothing is constructed, so no tag can act."""
    yield from yaml.parse(text, Loader=_Loader)


def _decode(data: bytes, name: str) -> str:
    """Return the text, refusing what is too large, not UTF-8 or not text."""
    if len(data) > LARGEST_FILE_BYTES:
        message = f"the file has {len(data)} bytes; at most {LARGEST_FILE_BYTES} are read"
        raise InputRefusedError([Problem(name, 0, 0, "", message)])
    how = "save it as UTF-8 (in the editor: save as, encoding UTF-8)"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputRefusedError([Problem(name, 1, 1, "", f"the file is saved as UTF-16; {how}")])
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # The decoder counts from after a byte-order mark, the user's editor does not care.
        before = error.object[: error.start]
        line = before.count(b"\n") + 1
        column = len(before.rpartition(b"\n")[2].decode("utf-8", "replace")) + 1
        message = (
            f"byte {error.start + 1} of the file (0x{error.object[error.start]:02X})"
            f" is not UTF-8; {how}"
        )
        raise InputRefusedError([Problem(name, line, column, "", message)]) from None
    problems = [
        Problem(name, *_line_and_column(text, found.start()), "", _forbidden(found.group()))
        for found in _NOT_TEXT.finditer(text)
    ]
    if problems:
        raise InputRefusedError(problems[:50])
    return text


def _forbidden(character: str) -> str:
    """Say which character may not stand in the file."""
    code = f"U+{ord(character):04X}"
    if character in "\u2028\u2029\x85":
        return f"{code} is an unusual line break; use an ordinary one"
    return f"{code} is a control character that may not stand in the file; remove it"


def _line_and_column(text: str, index: int) -> tuple[int, int]:
    """Return line and column, counted from 1, of the character at `index`."""
    before = text[:index].replace("\r\n", "\n").replace("\r", "\n")
    return before.count("\n") + 1, len(before) - before.rfind("\n")


class _Mark(Protocol):
    """A place in the text, all counted from 0."""

    index: int
    line: int
    column: int


def _start_of(event: yaml.Event) -> _Mark:
    mark: _Mark | None = event.start_mark
    assert mark is not None  # every event of a parser has one
    return mark


def _end_of(event: yaml.Event) -> _Mark:
    mark: _Mark | None = event.end_mark
    assert mark is not None
    return mark


@dataclass(slots=True)
class _Open:
    """A mapping or list whose end has not come yet."""

    path: Path
    node: Node
    value: dict[str, Plain] | list[Plain]
    key: str | None = None
    key_mark: _Mark | None = None
    first_lines: dict[str, int] = field(default_factory=dict)


class _Reading:
    """Builds values and places from the parser's events, noting every problem on the way."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text
        self.value: Plain = None
        self.nodes: dict[Path, Node] = {}
        self.problems: list[Problem] = []
        self._open: list[_Open] = []
        self._events = 0
        self._documents = 0
        self._skip_depth = 0  # inside a key that is itself a list or mapping

    def take(self, event: yaml.Event) -> None:
        """Take in one event."""
        self._events += 1
        if self._events > MOST_EVENTS:
            self._stop(event, f"the file has more than {MOST_EVENTS} parts")
        if isinstance(event, yaml.DocumentStartEvent):
            self._start_document(event)
        elif isinstance(event, yaml.AliasEvent):
            self._refuse_alias(event)
        elif isinstance(event, yaml.ScalarEvent):
            self._scalar(event)
        elif isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent)):
            self._start(event)
        elif isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            self._end(event)

    def _note(self, mark: _Mark, message: str, field_path: Path = ()) -> None:
        place = (mark.line + 1, mark.column + 1)
        self.problems.append(Problem(self.name, *place, dotted(field_path), message))

    def _stop(self, event: yaml.Event, message: str) -> None:
        """Give up: what follows is not worth reading."""
        self._note(_start_of(event), message)
        raise InputRefusedError(self.problems)

    def _start_document(self, event: yaml.DocumentStartEvent) -> None:
        self._documents += 1
        if self._documents > 1:
            self._stop(event, "a second document begins here (---); one file holds one")
        if event.version or event.tags:
            self._note(_start_of(event), "a line beginning with % is not used here; remove it")

    def _refuse_alias(self, event: yaml.AliasEvent) -> None:
        self._note(
            _start_of(event),
            f"*{printable(event.anchor or '')} would repeat another part of the file, which is not"
            " allowed; if it is meant as text, put quotes round it",
            self._path_here(),
        )
        self._place_value(event, None, "scalar", "")

    def _refuse_anchor_and_tag(self, event: yaml.NodeEvent) -> None:
        if event.anchor is not None:
            self._note(
                _start_of(event),
                f"&{printable(event.anchor)} is not allowed; if it is meant as text,"
                " put quotes round it",
                self._path_here(),
            )
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._note(
                _start_of(event),
                "a type beginning with ! is not allowed; if it is meant as text,"
                " put quotes round it",
                self._path_here(),
            )

    def _path_here(self) -> Path:
        if not self._open:
            return ()
        around = self._open[-1]
        if isinstance(around.value, list):
            return (*around.path, len(around.value))
        return around.path if around.key is None else (*around.path, around.key)

    def _awaits_key(self) -> bool:
        return (
            bool(self._open)
            and isinstance(self._open[-1].value, dict)
            and (self._open[-1].key is None)
        )

    def _scalar(self, event: yaml.ScalarEvent) -> None:
        if self._skip_depth:
            return
        if self._awaits_key():
            self._key(event)
            return
        self._refuse_anchor_and_tag(event)
        plain = not event.style
        if plain and _LOST_TO_A_COMMENT.match(self.text, _end_of(event).index):
            self._note(
                _end_of(event),
                "what follows the # would be taken for a comment and lost; put quotes round the"
                " whole text, or a space after the # of a comment",
                self._path_here(),
            )
        nothing = plain and event.value in _NOTHING
        self._place_value(event, None if nothing else event.value, "scalar", event.style or "")

    def _key(self, event: yaml.ScalarEvent) -> None:
        around = self._open[-1]
        self._refuse_anchor_and_tag(event)
        key = event.value
        path = (*around.path, key)
        if key == "<<":
            self._note(_start_of(event), "<< (merging) is not allowed; write the fields out")
        elif key == "" or (not event.style and key in _NOTHING):
            self._note(_start_of(event), "a value without a field name", around.path)
        elif key in around.first_lines:
            first, here = around.first_lines[key], _start_of(event).line + 1
            self._note(
                _start_of(event),
                f'"{printable(key)}" is written twice, in line {first} and in line {here};'
                " keep one of them",
                path,
            )
        else:
            around.first_lines[key] = _start_of(event).line + 1
        around.key = key
        around.key_mark = _start_of(event)

    def _start(self, event: yaml.CollectionStartEvent) -> None:
        if self._skip_depth or self._awaits_key():
            if not self._skip_depth:
                self._note(
                    _start_of(event),
                    "a list or a group of fields stands where a field name belongs;"
                    " if it is meant as text, put quotes round it",
                    self._open[-1].path,
                )
            self._skip_depth += 1
            if self._skip_depth + len(self._open) > DEEPEST_NESTING:
                self._stop(event, f"nested more than {DEEPEST_NESTING} deep")
            return
        if len(self._open) >= DEEPEST_NESTING:
            self._stop(event, f"nested more than {DEEPEST_NESTING} deep")
        self._refuse_anchor_and_tag(event)
        path = self._path_here()
        value: dict[str, Plain] | list[Plain]
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        value = {} if is_mapping else []
        node = self._place_value(
            event,
            value,
            "mapping" if is_mapping else "list",
            "flow" if event.flow_style else "block",
        )
        self._open.append(_Open(path, node, value))

    def _end(self, event: yaml.CollectionEndEvent) -> None:
        if self._skip_depth:
            self._skip_depth -= 1
            if not self._skip_depth:
                # A placeholder name keeps the value that follows apart from real fields.
                self._open[-1].key = ""
                self._open[-1].key_mark = _start_of(event)
            return
        self._open.pop().node.end = _end_of(event).index

    def _place_value(
        self,
        event: yaml.Event,
        value: Plain,
        kind: Literal["scalar", "list", "mapping"],
        style: str,
    ) -> Node:
        """Put a value where it belongs and remember its place."""
        path = self._path_here()
        start, end = _start_of(event), _end_of(event)
        key = start
        if self._open:
            around = self._open[-1]
            if isinstance(around.value, list):
                around.node.children.append(len(around.value))
                around.value.append(value)
            else:
                name = around.key or ""
                key = around.key_mark or start
                if name not in around.value:
                    around.node.children.append(name)
                around.value[name] = value
                around.key = None
        else:
            self.value = value
        node = Node(
            kind, style, start.index, end.index, start.line + 1, start.column + 1,
            key.index, key.line + 1, key.column + 1, empty=value is None,
        )  # fmt: skip
        self.nodes[path] = node
        return node
