"""Say in plain words what a YAML parser found at fault."""

import re

from reporter.errors import Problem, printable

_PLAIN_WORDS: tuple[tuple[str, str], ...] = (
    (
        "mapping values are not allowed",
        'a ":" followed by a space stands inside a text; put quotes round it,'
        " or check the indentation of this line",
    ),
    ("while scanning a quoted scalar", "the quote that opens here is never closed"),
    (
        "unknown escape character",
        "after a backslash in double quotes comes no such sign; use single quotes",
    ),
    ("invalid Unicode character escape", "the sign written with a backslash does not exist"),
    ("did not find expected hexdecimal number", "the sign written with a backslash is incomplete"),
    ("',' or ']'", 'the list in [ ] is not closed, or a "," is missing'),
    ("',' or '}'", 'the group in { } is not closed, or a "," is missing'),
    ("could not find expected ':'", 'this line is neither "field: value" nor "- item"'),
    (
        "'-' indicator",
        'this line does not fit the list above: it needs "- " in front, or another indentation',
    ),
    ("expected key", "this line does not fit the lines above: check its indentation and quotes"),
    ("block scalar", "the text below | or > is not indented as it should be"),
    ("while scanning a directive", "a line may not begin with %; put quotes round the text"),
    ("while scanning an anchor", "a text may not begin with & ; put quotes round it"),
    ("while scanning an alias", "a text may not begin with * ; put quotes round it"),
    ("while scanning a tag", "a text may not begin with ! ; put quotes round it"),
    ("while parsing a tag", "a text may not begin with ! ; put quotes round it"),
    ("undefined tag handle", "a text may not begin with ! ; put quotes round it"),
    ("document start", "this line does not belong to the part above; check its indentation"),
    (
        "block sequence entries are not allowed",
        '"- " begins a list, but none may begin here;'
        " put it on a line of its own, or put quotes round the text",
    ),
    (
        "did not find expected node content",
        "a value or field name is missing or misplaced here;"
        " if it is meant as text, put quotes round it",
    ),
)


_WHERE_IT_BEGAN = ("while scanning a quoted scalar", "while scanning a simple key")


def in_plain_words(error: Exception, text: str, name: str) -> Problem:
    """Turn a YAML parser's error into a problem at its place.

    Parameters
    ----------
    error : Exception
        As PyYAML raises it: with ``context``, ``problem`` and their marks.
    text : str
        The whole file.
    name : str
        The file's name for the message.
    """
    technical = " ".join(
        str(part)
        for part in (getattr(error, "context", None), getattr(error, "problem", None))
        if part
    )
    mark = getattr(error, "problem_mark", None)
    opening = getattr(error, "context_mark", None)
    if mark is None:
        return Problem(name, 1, 1, "", "cannot be read as YAML; check quotes and indentation")
    line, column = mark.line + 1, mark.column + 1
    lines = re.split(r"\r\n|\r|\n", text)
    this_line = lines[mark.line] if mark.line < len(lines) else ""
    indentation = this_line[: len(this_line) - len(this_line.lstrip())]
    if "\t" in indentation:
        message = "a tab stands at the beginning of the line; use spaces"
        return Problem(name, line, indentation.index("\t") + 1, "", message)
    if "cannot start any token" in technical:
        found = this_line[mark.column : mark.column + 1]
        if found == "\t":
            return Problem(name, line, column, "", "a tab stands here; use spaces")
        message = f"a text may not begin with {printable(found)} ; put quotes round it"
        return Problem(name, line, column, "", message)
    for clue, message in _PLAIN_WORDS:
        if clue in technical:
            if opening is not None and technical.startswith(_WHERE_IT_BEGAN):
                line, column = opening.line + 1, opening.column + 1
            return Problem(name, line, column, "", message)
    return Problem(name, line, column, "", "cannot be read as YAML; check quotes and indentation")
