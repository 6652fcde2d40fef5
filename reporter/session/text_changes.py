"""Put, insert and take out values anywhere in a lesson file's text; all other lines stay."""

from collections.abc import Callable
from copy import deepcopy

from reporter.errors import InputRefusedError
from reporter.session.layers import without_empty
from reporter.session.text_edit import (
    in_block_style,
    in_flow_style,
    plain_or_quoted,
    set_scalar,
)
from reporter.yaml_source import Node, Path, Plain, YamlSource, read_yaml


def put(source: YamlSource, path: Path, value: Plain) -> YamlSource:
    """Return the file with a value at a path, whatever stands there now.

    Parameters
    ----------
    source : YamlSource
        The file as it is.
    path : tuple
        Field names and list positions. Groups on the way that are missing are made; a list
        position must exist, or be the one after the last.
    value : dict, list, str or None
        The new value; None takes it out.

    Raises
    ------
    KeyError
        If the path leads through a text, or past the end of a list.
    """
    if value is None:
        return remove(source, path)
    expected = _with(source.value, path, value)
    if path not in source.nodes:
        return _put_new(source, path, value, expected)
    node = source.nodes[path]
    if node.kind == "scalar" and isinstance(value, str) and not node.empty:
        return _checked(source, expected, path, lambda: set_scalar(source, path, value).text)
    return _checked(source, expected, path, lambda: _replaced_whole(source, path, value))


def insert(source: YamlSource, path: Path, index: int, value: Plain) -> YamlSource:
    """Return the file with an item put into a list; a list that is missing is made.

    Parameters
    ----------
    source : YamlSource
        The file as it is.
    path : tuple
        The list.
    index : int
        Which place the item shall have, counted from 0; at most the list's length.
    value : dict, list or str
        The item.

    Raises
    ------
    KeyError
        If something else than a list stands there, or the place lies past its end.
    """
    node = source.nodes.get(path)
    if node is None or node.empty or _is_bare(source, path, "list"):
        if index:
            raise KeyError((*path, index))
        return put(source, path, [value])
    if node.kind != "list" or index > len(node.children):
        raise KeyError((*path, index))
    expected = _inserted(source.value, path, index, value)

    def text() -> str:
        if index == len(node.children):
            return _after_last(source, path, node, value)
        following = source.nodes[(*path, index)]
        if node.style == "flow":
            written = f"{in_flow_style(value)}, "
            return source.text[: following.start] + written + source.text[following.start :]
        column = _dash_column(source, following)
        at = _line_start(source.text, _dash(source, following))
        return source.text[:at] + _item_lines(source, value, column) + source.text[at:]

    return _checked(source, expected, (*path, index), text)


def remove(source: YamlSource, path: Path) -> YamlSource:
    """Return the file without a value; nothing changes if there is none.

    A list or group that loses its last part stays, empty, and counts as left out.

    Raises
    ------
    KeyError
        For the whole file, which cannot be taken out of itself.
    """
    if not path:
        raise KeyError(path)
    if path not in source.nodes:
        return source
    expected = _without(source.value, path)
    return _checked(source, expected, path, lambda: _removed_text(source, path))


def _put_new(source: YamlSource, path: Path, value: Plain, expected: Plain) -> YamlSource:
    """Put a value where nothing is written, making the groups on the way."""
    found: Path = ()
    while (*found, path[len(found)]) in source.nodes:
        found = (*found, path[len(found)])
    node = source.nodes[found]
    key, rest = path[len(found)], path[len(found) + 1 :]
    nested: Plain = value
    for part in reversed(rest):
        nested = {part: nested} if isinstance(part, str) else [nested]
    if isinstance(key, int):
        return _checked(
            source, expected, (*found, key), lambda: _after_last(source, found, node, nested)
        )
    if node.empty or (found and _is_bare(source, found, "mapping")):
        return _checked(
            source, expected, found, lambda: _replaced_whole(source, found, {key: nested})
        )
    return _checked(
        source, expected, (*found, key), lambda: _after_last(source, found, node, nested, key)
    )


def _is_bare(source: YamlSource, path: Path, kind: str) -> bool:
    """Whether ``[]`` or ``{}`` stands there, with room for lines of its own."""
    node = source.nodes[path]
    return node.kind == kind and not node.children and not _in_flow(source, path)


def _checked(
    source: YamlSource, expected: Plain, path: Path, text: Callable[[], str]
) -> YamlSource:
    """Return the changed file if it reads as it should; else the part around is written anew."""
    try:
        changed = _read(source, text())
        if without_empty(changed.value) == without_empty(expected):
            return changed
    except (InputRefusedError, KeyError, RuntimeError):
        pass
    # A form of writing that the careful way does not master: its nearest part that can be
    # written anew without harm to the others loses its comments, and nothing else does.
    for length in range(len(path) - 1, -1, -1):
        around = path[:length]
        if around not in source.nodes:
            continue
        wanted = _value_at(expected, around)
        try:
            changed = _read(source, _rewritten(source, around, wanted))
        except (InputRefusedError, KeyError):
            continue
        if without_empty(changed.value) == without_empty(expected):
            return changed
    message = f"the change at {path} did not come out as meant"
    raise RuntimeError(message)


def _rewritten(source: YamlSource, path: Path, value: Plain) -> str:
    if path:
        return _replaced_whole(source, path, value)
    return in_block_style(value) if value else "{}\n"


def _read(source: YamlSource, text: str) -> YamlSource:
    mark = b"\xef\xbb\xbf" if source.byte_order_mark else b""
    return read_yaml(mark + text.encode("utf-8"), source.name)


def _value_at(value: Plain, path: Path) -> Plain:
    for part in path:
        value = value[part]  # type: ignore[index]
    return value


def _with(tree: Plain, path: Path, value: Plain) -> Plain:
    """Return the plain values with one put in."""
    if not path:
        return value
    part, rest = path[0], path[1:]
    if isinstance(part, str):
        if tree is not None and not isinstance(tree, dict):
            raise KeyError(path)
        return {**(tree or {}), part: _with((tree or {}).get(part), rest, value)}
    items = list(tree) if isinstance(tree, list) else []
    if (tree is not None and not isinstance(tree, list)) or not 0 <= part <= len(items):
        raise KeyError(path)
    inside = _with(items[part] if part < len(items) else None, rest, value)
    return [*items[:part], inside, *items[part + 1 :]]


def _inserted(tree: Plain, path: Path, index: int, value: Plain) -> Plain:
    changed = deepcopy(tree)
    items = _value_at(changed, path)
    assert isinstance(items, list)
    items.insert(index, value)
    return changed


def _without(tree: Plain, path: Path) -> Plain:
    changed = deepcopy(tree)
    around = _value_at(changed, path[:-1])
    del around[path[-1]]  # type: ignore[union-attr, arg-type]
    return changed


def _in_flow(source: YamlSource, path: Path) -> bool:
    """Whether a value stands inside ``[ ]`` or ``{ }``."""
    return any(source.nodes[path[:length]].style == "flow" for length in range(len(path)))


def _newline(source: YamlSource) -> str:
    return "\r\n" if "\r\n" in source.text else "\n"


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Return where the line's break begins; `at` itself if a break ends just before it."""
    if at and text[at - 1] == "\n":
        return at
    end = text.find("\n", at)
    if end < 0:
        return len(text)
    return end - 1 if end and text[end - 1] == "\r" else end


def _next_line(text: str, at: int) -> int:
    """Return where the line after a place begins."""
    if at and text[at - 1] == "\n":
        return at
    end = text.find("\n", at)
    return len(text) if end < 0 else end + 1


def _content_end(source: YamlSource, path: Path) -> int:
    """Return where the last written part ends, before comments and blank lines."""
    node = source.nodes[path]
    while node.children and node.style != "flow":
        path = (*path, node.children[-1])
        node = source.nodes[path]
    if node.empty and node.start == node.end and path and isinstance(path[-1], str):
        # An empty value has no place of its own: its key's colon is the last thing written.
        return _colon(source, node) + 1
    return node.end


def _colon(source: YamlSource, node: Node) -> int:
    """Return where the colon behind a value's key stands."""
    at = node.key_start
    if source.text[at] in "'\"":
        quote = source.text[at]
        at += 1
        while source.text[at] != quote or (quote == "'" and source.text[at : at + 2] == "''"):
            at += 2 if source.text[at] == "\\" and quote == '"' else 1
            at += source.text[at - 1 : at + 1] == "''" and quote == "'"
        at += 1
    return source.text.index(":", at)


def _dash(source: YamlSource, item: Node) -> int:
    """Return where the dash in front of a list's item stands."""
    return source.text.rindex("-", 0, max(item.start, 1))


def _dash_column(source: YamlSource, item: Node) -> int:
    """Return how many characters stand before the dash of a list's item."""
    at = _dash(source, item)
    return at - _line_start(source.text, at)


def _with_ends(source: YamlSource, text: str) -> str:
    newline = _newline(source)
    return text if newline == "\n" else text.replace("\n", newline)


def _item_lines(source: YamlSource, value: Plain, column: int) -> str:
    """Return an item of a block list on lines of its own, a fields' group over several."""
    return _with_ends(source, in_block_style([value], column))


def _field_lines(source: YamlSource, key: str, value: Plain, column: int) -> str:
    """Return a field of a block group on lines of its own."""
    if _is_point(value):
        name = plain_or_quoted(key, in_flow=True)
        return _with_ends(source, f"{' ' * column}{name}: {in_flow_style(value)}\n")
    return _with_ends(source, in_block_style({key: value}, column))


def _is_point(value: Plain) -> bool:
    """Whether a value reads best on one line: a marked place, or a short list of numbers."""
    if isinstance(value, dict):
        flat = "at" in value and all(_is_flat(part) for part in value.values())
    else:
        flat = isinstance(value, list) and _is_flat(value)
    return flat and len(in_flow_style(value)) <= 80


def _is_flat(value: Plain) -> bool:
    if isinstance(value, list):
        return all(
            isinstance(item, str) or (isinstance(item, list) and _is_flat(item)) for item in value
        )
    return isinstance(value, str)


def _after_last(
    source: YamlSource, path: Path, node: Node, value: Plain, key: str | None = None
) -> str:
    """Return the text with one more part at the end of a list or group.

    Raises `KeyError` where the place can hold no such part.
    """
    text = source.text
    wanted = "list" if key is None else "mapping"
    if node.kind != wanted:
        raise KeyError(path)
    if node.style == "flow":
        written = in_flow_style(value)
        if key is not None:
            written = f"{plain_or_quoted(key, in_flow=True)}: {written}"
        if not node.children:
            at = node.start + 1
            return text[:at] + written + text[at:]
        at = source.nodes[(*path, node.children[-1])].end
        rest = text[at : node.end - 1]
        if rest.strip().startswith(","):
            at += rest.index(",") + 1
            return text[:at] + f" {written}" + text[at:]
        return text[:at] + f", {written}" + text[at:]
    first = source.nodes[(*path, node.children[0])]
    if key is None:
        lines = _item_lines(source, value, _dash_column(source, first))
    else:
        lines = _field_lines(source, key, value, first.key_column - 1)
    at = _line_end(text, _content_end(source, path))
    if at and text[at - 1] == "\n":  # behind a text of several lines
        return text[:at] + lines + text[at:]
    newline = _newline(source)
    return text[:at] + newline + lines[: -len(newline)] + text[at:]


def _replaced_whole(source: YamlSource, path: Path, value: Plain) -> str:
    """Return the text with a value written anew in place of whatever stands at a path."""
    text, node = source.text, source.nodes[path]
    if not path:
        message = ()
        raise KeyError(message)
    in_flow = _in_flow(source, path)
    as_field = isinstance(path[-1], str)
    end = _content_end(source, path)
    if in_flow or not as_field:
        if in_flow or not isinstance(value, dict):
            lead = " " if node.empty and node.start == node.end else ""
            return text[: node.start] + lead + in_flow_style(value) + text[end:]
        at = _dash(source, node)
        column = at - _line_start(text, at)
        lines = _item_lines(source, value, column)[column:]
        tail = _line_end(text, end)
        stop = tail if tail and text[tail - 1] == "\n" else tail + len(_newline(source))
        return text[:at] + lines + text[min(stop, len(text)) :]
    colon = _colon(source, node)
    key_line_end = _line_end(text, colon + 1)
    column = node.key_column - 1
    begins_below = node.start > key_line_end
    lines = _field_lines(source, str(path[-1]), value, column)
    newline = _newline(source)
    if begins_below or (node.empty and node.start == node.end):
        # What stands behind the colon is a comment, and stays.
        comment = text[colon + 1 : key_line_end]
        body = lines[column:]
        head, _, more = body.partition(newline)
        after = _next_line(text, end) if begins_below else _next_line(text, key_line_end)
        return f"{text[: node.key_start]}{head}{comment.rstrip()}{newline}{more}{text[after:]}"
    tail = _line_end(text, end)
    behind = "" if tail and text[tail - 1] == "\n" else text[end:tail]
    head, _, more = lines[column:].partition(newline)
    after = _next_line(text, end)
    return f"{text[: node.key_start]}{head}{behind.rstrip()}{newline}{more}{text[after:]}"


def _removed_text(source: YamlSource, path: Path) -> str:
    """Return the text without the value at a path, its key and its comma or dash."""
    text, node = source.text, source.nodes[path]
    around = source.nodes[path[:-1]]
    index = around.children.index(path[-1])
    if _in_flow(source, path):
        return _removed_from_flow(source, path, around, index)
    is_item = isinstance(path[-1], int)
    start = _dash(source, node) if is_item else node.key_start
    end = _content_end(source, path)
    line = _line_start(text, start)
    alone = not text[line:start].strip()
    if alone and len(around.children) == 1 and len(path) > 1 and isinstance(path[-2], str):
        at = _colon(source, around) + 1
        empty = " []" if is_item else " {}"
        return text[:at] + empty + text[at:line] + text[_next_line(text, end) :]
    if alone:
        return text[:line] + text[_next_line(text, end) :]
    # The first part of a group that begins behind its list's dash.
    if len(around.children) == 1:
        behind = text[end : _line_end(text, end)]
        return text[:start] + "{}" + behind + text[_line_end(text, end) :]
    following = source.nodes[(*path[:-1], around.children[index + 1])]
    return text[:start] + text[following.key_start :]


def _removed_from_flow(source: YamlSource, path: Path, around: Node, index: int) -> str:
    text, node = source.text, source.nodes[path]
    start = node.key_start if isinstance(path[-1], str) else node.start
    end = max(node.end, _content_end(source, path))
    if index + 1 < len(around.children):
        comma = text.index(",", end) + 1
        while text[comma : comma + 1] == " ":
            comma += 1
        return text[:start] + text[comma:]
    if index:
        before = source.nodes[(*path[:-1], around.children[index - 1])]
        start = max(before.end, _content_end(source, (*path[:-1], around.children[index - 1])))
    return text[:start] + text[end:]
