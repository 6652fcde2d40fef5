"""Change a lesson file by editing its text in place: comments, order and quoting survive."""

import re
from functools import lru_cache

from reporter.session.layers import without_empty
from reporter.yaml_source import Node, Path, Plain, YamlSource, read_yaml

_SIGNED = re.compile(r"-[0-9.][^\s:#,?\[\]{}]*")
_NEEDS_QUOTES = re.compile(r":(?:\s|$)|\s#")
_NEEDS_QUOTES_IN_FLOW = re.compile(r"[,\[\]{}?:]")
_SPECIAL_START = re.compile(r"""[-?:,\[\]{}#&*!|>'"%@`~]|\s""")


def plain_or_quoted(text: str, *, in_flow: bool = False) -> str:
    """Return a text as a YAML scalar that reads back as exactly this text.

    Parameters
    ----------
    text : str
        Anything that may stand in a lesson.
    in_flow : bool
        Whether it shall stand inside ``[ ]`` or ``{ }``, where commas and brackets need quotes.
    """
    if _is_safe_plain(text, in_flow=in_flow):
        return text
    if text.isprintable():
        return "'" + text.replace("'", "''") + "'"
    return _double_quoted(text)


@lru_cache(maxsize=2_000)
def _is_safe_plain(text: str, *, in_flow: bool) -> bool:
    """Whether a text reads back unchanged without quotes."""
    if text in ("", "null", "~", "<<") or text != text.strip() or not text.isprintable():
        return False
    if _SIGNED.fullmatch(text):
        return True
    if _SPECIAL_START.match(text) or text.startswith(("---", "...")):
        return False
    if _NEEDS_QUOTES.search(text):
        return False
    return not (in_flow and _NEEDS_QUOTES_IN_FLOW.search(text))


def _double_quoted(text: str) -> str:
    """Return a double-quoted scalar; whatever cannot be printed becomes an escape."""
    simple = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    parts = []
    for character in text:
        if character in simple:
            parts.append(simple[character])
        elif character.isprintable():
            parts.append(character)
        else:
            code = ord(character)
            parts.append(f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}")
    return '"' + "".join(parts) + '"'


def in_flow_style(value: Plain) -> str:
    """Return a value on one line: ``[1, 2]`` or ``{at: [1, 2]}``."""
    if isinstance(value, dict):
        inside = ", ".join(
            f"{plain_or_quoted(key, in_flow=True)}: {in_flow_style(part)}"
            for key, part in value.items()
        )
        return f"{{{inside}}}"
    if isinstance(value, list):
        return f"[{', '.join(in_flow_style(part) for part in value)}]"
    return "null" if value is None else plain_or_quoted(value, in_flow=True)


def _needs_lines(value: Plain) -> bool:
    """Whether a value is written on lines of its own."""
    if isinstance(value, list):
        return any(isinstance(item, (dict, list)) for item in value)
    return isinstance(value, dict) and bool(value)


def in_block_style(value: Plain, indentation: int = 0) -> str:
    """Return a value on lines of its own, lists of scalars on one line, ending with a line break.

    Parameters
    ----------
    value : dict or list
        The fields or items.
    indentation : int
        Spaces in front of each line.
    """
    lead = " " * indentation
    lines = []
    if isinstance(value, dict):
        for key, part in value.items():
            name = f"{lead}{plain_or_quoted(key, in_flow=True)}:"
            if _needs_lines(part):
                lines.append(f"{name}\n{in_block_style(part, indentation + 2)}")
            elif isinstance(part, str):
                lines.append(f"{name} {plain_or_quoted(part)}\n")
            else:
                lines.append(f"{name} {in_flow_style(part)}\n")
    elif isinstance(value, list):
        for item in value:
            if isinstance(item, dict) and item:
                inside = in_block_style(item, indentation + 2)
                lines.append(f"{lead}- {inside[indentation + 2 :]}")
            elif isinstance(item, str):
                lines.append(f"{lead}- {plain_or_quoted(item)}\n")
            else:
                lines.append(f"{lead}- {in_flow_style(item)}\n")
    return "".join(lines)


def set_scalar(source: YamlSource, path: Path, text: str) -> YamlSource:
    """Return the file with one value replaced.

    The quoting stays as it is where the new text allows it.

    Parameters
    ----------
    source : YamlSource
        The file as it is.
    path : tuple
        A value that is written there.
    text : str
        The new value.

    Raises
    ------
    KeyError
        If nothing is written at `path`, or a list or a group of fields.
    """
    node = source.nodes[path]
    if node.kind != "scalar":
        raise KeyError(path)
    in_flow = _stands_in_flow(source, path)
    if node.style == "'" and text.isprintable():
        written = "'" + text.replace("'", "''") + "'"
    elif node.style == '"':
        written = _double_quoted(text)
    else:
        written = plain_or_quoted(text, in_flow=in_flow)
    before = "" if node.end > node.start else " "
    after = "\n" if node.style in ("|", ">") else ""
    return _replaced(source, node.start, node.end, before + written + after, path, text)


def add_key(source: YamlSource, path: Path, key: str, value: Plain) -> YamlSource:
    """Return the file with a field added at the end of a group of fields.

    Parameters
    ----------
    source : YamlSource
        The file as it is.
    path : tuple
        The group; it may hold nothing yet (``points:``).
    key : str
        The new field's name.
    value : dict, list, str or None
        Its value; lists and groups are written on one line.

    Raises
    ------
    KeyError
        If there is no group at `path`, or the field is there already.
    """
    node = source.nodes[path]
    if (*path, key) in source.nodes or not _may_hold(node, "mapping", source, path):
        raise KeyError((*path, key))
    pair = f"{plain_or_quoted(key, in_flow=True)}: {in_flow_style(value)}"
    return _added(source, path, node, pair, value, (*path, key))


def append_item(source: YamlSource, path: Path, value: Plain) -> YamlSource:
    """Return the file with an item added at the end of a list; see `add_key`."""
    node = source.nodes[path]
    if not _may_hold(node, "list", source, path):
        raise KeyError(path)
    item = in_flow_style(value)
    if node.style != "flow":
        item = f"- {item}"
    return _added(source, path, node, item, value, (*path, len(node.children)))


def _may_hold(node: Node, kind: str, source: YamlSource, path: Path) -> bool:
    """Whether a value is of that kind, or empty and can become it."""
    empty = node.kind == "scalar" and node.start == node.end and value_at(source, path) is None
    return node.kind == kind or empty


def _added(
    source: YamlSource, path: Path, node: Node, written: str, value: Plain, new_path: Path
) -> YamlSource:
    """Put one more part at the end of a list or group."""
    newline = "\r\n" if "\r\n" in source.text else "\n"
    if node.style == "flow":
        closing = node.end - 1
        at = source.nodes[(*path, node.children[-1])].end if node.children else node.start + 1
        trailing_comma = source.text[at:closing].strip().startswith(",")
        separator = "" if not node.children or trailing_comma else ", "
        if trailing_comma:
            at += source.text[at:].index(",") + 1
            separator = " "
        return _replaced(source, at, at, separator + written, new_path, value)
    if node.children:
        first = source.nodes[(*path, node.children[0])]
        column = first.key_column if node.kind == "mapping" else _dash_column(source, first)
        at = _end_of_content(source, path)
    else:
        column = node.key_column + 2 if path else 1
        at = node.end
    line_end = _end_of_line(source.text, at)
    lead = "" if line_end and source.text[line_end - 1] == "\n" else newline
    tail = newline if lead == "" else ""
    insertion = f"{lead}{' ' * (column - 1)}{written}{tail}"
    return _replaced(source, line_end, line_end, insertion, new_path, value)


def _dash_column(source: YamlSource, item: Node) -> int:
    """Return the column of the dash in front of a list's item."""
    line_start = source.text.rfind("\n", 0, item.start) + 1
    dash = source.text.rfind("-", line_start, item.start)
    if dash < 0:  # the item begins on a line below its dash
        dash = source.text.rfind("-", 0, item.start)
        line_start = source.text.rfind("\n", 0, dash) + 1
    return dash - line_start + 1


def _end_of_content(source: YamlSource, path: Path) -> int:
    """Return where the last written part ends, before comments and blank lines."""
    node = source.nodes[path]
    while node.children and node.style != "flow":
        path = (*path, node.children[-1])
        node = source.nodes[path]
    return node.end


def _end_of_line(text: str, at: int) -> int:
    """Return the end of the line, or `at` itself if a line ends just before it."""
    if at and text[at - 1] == "\n":
        return at
    end = text.find("\n", at)
    if end < 0:
        return len(text)
    return end - 1 if end and text[end - 1] == "\r" else end


def _stands_in_flow(source: YamlSource, path: Path) -> bool:
    return any(source.nodes[path[:length]].style == "flow" for length in range(len(path)))


def value_at(source: YamlSource, path: Path) -> Plain:
    """Return the plain value written at a path."""
    value = source.value
    for part in path:
        value = value[part]  # type: ignore[index]
    return value


def _replaced(
    source: YamlSource, start: int, end: int, insertion: str, path: Path, value: Plain
) -> YamlSource:
    """Return the changed file, read anew; a change that did not come out as meant is a fault."""
    text = source.text[:start] + insertion + source.text[end:]
    mark = b"\xef\xbb\xbf" if source.byte_order_mark else b""
    changed = read_yaml(mark + text.encode("utf-8"), source.name)
    if without_empty(value_at(changed, path)) != without_empty(value):
        message = f"the change at {path} did not come out as meant"
        raise RuntimeError(message)
    return changed


def as_bytes(source: YamlSource) -> bytes:
    """Return the file as it shall lie on the disk, with a byte-order mark if it had one."""
    mark = b"\xef\xbb\xbf" if source.byte_order_mark else b""
    return mark + source.text.encode("utf-8")
