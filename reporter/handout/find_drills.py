"""Find the drills a lesson may name: those that come with the program and the academy's own."""

from pathlib import Path

from reporter.errors import InputRefusedError, Problem
from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.characters import check_characters
from reporter.session.layers import nearest_source
from reporter.story.drills import Drill, bundled_drills, bundled_poses, read_drills
from reporter.typeset.faces import missing_glyphs
from reporter.yaml_source import LARGEST_FILE_BYTES, Plain, YamlSource, read_yaml

DRILLS_FILE = "drills.yaml"


def find_drills(folder: Path) -> tuple[Drill, ...]:
    """Return every drill that may be named in a lesson's folder, the bundled ones first.

    Parameters
    ----------
    folder : Path
        The lesson's folder. The academy's ``drills.yaml`` is looked for here and up to three
        folders above, as ``academy.yaml`` is.

    Raises
    ------
    InputRefusedError
        With every mistake in the academy's file, each at its line.
    """
    source = nearest_source(folder, DRILLS_FILE)
    return _with_own(source) if source is not None else bundled_drills()


def drills_from(path: Path) -> tuple[Drill, ...]:
    """Return the bundled drills and those of a file that was named; see `find_drills`."""
    try:
        data = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "", error.reason)]) from None
    return _with_own(read_yaml(data, str(path)))


def _with_own(source: YamlSource) -> tuple[Drill, ...]:
    """Read an academy's drills and lay them behind the bundled ones."""
    problems: list[Problem] = []
    _judge_texts(source, source.value, (), problems)
    try:
        own = read_drills(source, bundled_drills(), bundled_poses())
    except InputRefusedError as error:
        raise InputRefusedError([*problems, *error.problems]) from None
    if problems:
        raise InputRefusedError(problems)
    return (*bundled_drills(), *own)


def _judge_texts(
    source: YamlSource, value: Plain, path: tuple[str | int, ...], problems: list[Problem]
) -> None:
    """Note every text with a sign that may not or cannot be printed."""
    if isinstance(value, dict):
        for key, inner in value.items():
            _judge_texts(source, inner, (*path, key), problems)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            _judge_texts(source, inner, (*path, index), problems)
    elif isinstance(value, str):
        try:
            check_characters(value, lines=False)
        except ValueError as error:
            problems.append(source.problem(path, str(error)))
            return
        missing = missing_glyphs(value)
        if missing:
            named = ", ".join(f"{sign} (U+{ord(sign):04X})" for sign in missing[:5])
            message = f"the handout's typeface has no sign for {named}; write it another way"
            problems.append(source.problem(path, message))


__all__ = ["DRILLS_FILE", "drills_from", "find_drills"]
