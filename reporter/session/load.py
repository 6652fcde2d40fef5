"""Load a lesson file: from a path to a typed, checked and placed lesson."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from reporter.complaints import complaints
from reporter.errors import InputRefusedError, Problem
from reporter.safe_open import ReferenceRefusedError, is_folder, read_given, read_inside
from reporter.session.agreement import agreement_problems
from reporter.session.house import HouseDefaults
from reporter.session.layers import Layers, house_sources, without_empty
from reporter.session.references import picture_problems, reference_problems
from reporter.session.schema import FORMAT, PLACEHOLDER_THOUGHT, Session
from reporter.session.shots import LARGEST_FILE_BYTES as LARGEST_SHOTS_BYTES
from reporter.session.shots import ShotTable, read_shots
from reporter.session.text_edit import value_at
from reporter.yaml_source import LARGEST_FILE_BYTES, Plain, YamlSource, read_yaml
from reporter.yaml_source import Path as ValuePath

LESSON_FILE = "session.yaml"


@dataclass(frozen=True, slots=True)
class LoadedSession:
    """A lesson that passed every check, and where each of its values was written.

    Attributes
    ----------
    session : Session
        The lesson.
    path : Path
        The lesson file.
    folder : Path
        The lesson's folder; file names in the lesson count from here.
    layers : Layers
        The lesson file, the coach's and the academy's, with their places.
    sizes : dict of str to two int
        Width and height of each frame's upright picture in pixels, by the frame's id.
    warnings : tuple of str
        What was noticed without being a fault, each with its place.
    shots : ShotTable or None
        The table that ``seen.shots`` names.
    """

    session: Session
    path: Path
    folder: Path
    layers: Layers
    sizes: dict[str, tuple[int, int]]
    warnings: tuple[str, ...] = ()
    shots: ShotTable | None = None

    @property
    def source(self) -> YamlSource:
        """Return the lesson file's text, values and places."""
        return self.layers.lesson

    def problem(self, path: ValuePath | str, message: str) -> Problem:
        """Return a problem at the place of a value.

        Parameters
        ----------
        path : tuple or str
            Such as ``("drills", 0, "id")`` or ``"drills.0.id"``; parts that were not written are
            passed over, so the place is that of the nearest thing around.
        message : str
            What is wrong and what would be right.
        """
        return self.layers.problem(_as_path(path), message)

    def place_of(self, path: ValuePath | str) -> tuple[str, int, int]:
        """Return file, line and column of a value; (file, 1, 1) where nothing near was written."""
        problem = self.problem(path, "")
        return problem.file, problem.line, problem.column

    def problem_of_letter(
        self, path: ValuePath | str, letter: str, text: str, message: str
    ) -> Problem:
        """Return a problem at the value that a letter of a printed text was written in.

        Values under `path` come first and then those that share the text, since a page shows some
        far from their field; a letter that was written nowhere is put at `path`, or on no line.
        """
        wanted = _as_path(path)
        best, found = (False, False), None
        for source in self.layers.sources:
            for written, node in source.nodes.items():
                value = value_at(source, written) if node.kind == "scalar" else None
                if isinstance(value, str) and letter in value:
                    fits = (written[: len(wanted)] == wanted, text in value or value in text)
                    if found is None or fits > best:
                        best, found = fits, source.problem(written, message)
        if found is not None:
            return found
        if self.layers.written(wanted):
            return self.layers.problem(wanted, message)
        return Problem(self.source.name, 0, 0, "", message)


def _as_path(path: ValuePath | str) -> ValuePath:
    if isinstance(path, tuple):
        return path
    return tuple(int(part) if part.isdigit() else part for part in path.split(".") if part)


def load_session(path: Path, *, whole_pictures: bool = False) -> LoadedSession:
    """Load a lesson.

    Parameters
    ----------
    path : Path
        The lesson file, or the folder with its ``session.yaml``.
    whole_pictures : bool
        Decode every picture to its end, instead of reading its header only; slower, and finds
        pictures that are cut off.

    Returns
    -------
    LoadedSession
        The lesson with its places.

    Raises
    ------
    InputRefusedError
        With all problems found, each at its line.
    ExtraMissingError
        If a picture needs a part of the program that is not installed.
    """
    if is_folder(path):
        path = path / LESSON_FILE
    try:
        data = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "", error.reason)]) from None
    return load_text(data, path, whole_pictures=whole_pictures)


def load_text(data: bytes, path: Path, *, whole_pictures: bool = False) -> LoadedSession:
    """Load a lesson from the bytes its file holds or would hold; see `load_session`."""
    problems: list[Problem] = []
    folder = path.parent
    lesson: YamlSource | None = None
    house: list[YamlSource] = []
    try:
        lesson = _mapping(read_yaml(data, path.name))
    except InputRefusedError as error:
        problems.extend(error.problems)
    try:
        house = [_mapping(source) for source in house_sources(folder)]
    except InputRefusedError as error:
        problems.extend(error.problems)
    if lesson is not None and _format_is_newer(lesson, problems):
        raise InputRefusedError(problems)
    problems.extend(problem for source in house for problem in _house_problems(source))
    if lesson is None:
        raise InputRefusedError(problems)

    layers = Layers((lesson, *house))
    values = layers.merged()
    session, mistakes = _typed(values, layers)
    problems.extend(mistakes)
    references = reference_problems(values, layers)
    missing, sizes, notes = picture_problems(values, layers, folder, whole_pictures=whole_pictures)
    problems.extend((*references, *missing))
    shots = _shots(session, layers, folder, problems) if session is not None else None
    if session is not None and not references:
        problems.extend(agreement_problems(session, layers, folder, sizes))
    if problems or session is None:
        raise InputRefusedError(sorted(set(problems)))
    notes.extend(
        layers.problem(("thoughts", index), "the placeholder is still there; write the thought")
        for index, thought in enumerate(session.thoughts)
        if thought.say == PLACEHOLDER_THOUGHT
    )
    return LoadedSession(
        session,
        path,
        folder,
        layers,
        {frame.id: sizes[index] for index, frame in enumerate(session.frames)},
        tuple(str(note) for note in notes),
        shots,
    )


def load_sources(lesson: YamlSource, house: Sequence[YamlSource] = ()) -> Session:
    """Return the lesson in files that were taken out of a record; no picture is looked for.

    Parameters
    ----------
    lesson : YamlSource
        The lesson file.
    house : sequence of YamlSource
        The coach's file and the academy's, in that order.

    Raises
    ------
    InputRefusedError
        With all problems found, each at its line.
    """
    problems: list[Problem] = []
    if _format_is_newer(_mapping(lesson), problems):
        raise InputRefusedError(problems)
    layers = Layers((lesson, *(_mapping(source) for source in house)))
    values = layers.merged()
    session, problems = _typed(values, layers)
    problems += reference_problems(values, layers)
    if problems or session is None:
        raise InputRefusedError(sorted(set(problems)))
    return session


def _shots(
    session: Session, layers: Layers, folder: Path, problems: list[Problem]
) -> ShotTable | None:
    """Read the shot table, adding what is wrong with it to the problems."""
    name = session.seen.shots
    if name is None:
        return None
    try:
        return read_shots(read_inside(folder, name, LARGEST_SHOTS_BYTES), name)
    except ReferenceRefusedError as error:
        problems.append(layers.problem(("seen", "shots"), error.reason))
    except InputRefusedError as error:
        problems.extend(error.problems)
    return None


def _mapping(source: YamlSource) -> YamlSource:
    """Refuse a file that is no group of fields."""
    if isinstance(source.value, dict):
        return source
    if source.value is None:
        message = "the file is empty; a lesson needs at least thoughts"
    else:
        message = 'the file must be made of fields, each on a line "field: value"'
    raise InputRefusedError([Problem(source.name, 1, 1, "", message)])


def _format_is_newer(source: YamlSource, problems: list[Problem]) -> bool:
    """Note a file written for a later release; its other fields cannot be judged here."""
    written = source.value.get("format") if isinstance(source.value, dict) else None
    if not (isinstance(written, str) and re.fullmatch(r"[1-9][0-9]{0,8}", written)):
        return False
    if int(written) <= FORMAT:
        return False
    message = (
        f"the file is written in format {written}; this release reads up to format {FORMAT};"
        " a newer release of lesson-reporter is needed"
    )
    problems.append(source.problem(("format",), message))
    return True


def _house_problems(source: YamlSource) -> list[Problem]:
    """Return what is wrong with an academy's or a coach's file."""
    problems: list[Problem] = []
    if _format_is_newer(source, problems):
        return problems
    values = without_empty(source.value)
    try:
        HouseDefaults.model_validate(values)
    except ValidationError as error:
        found = error.errors(include_url=False, include_input=False)
        return complaints(found, source, HouseDefaults, values)
    return []


def _typed(values: dict[str, Plain], layers: Layers) -> tuple[Session | None, list[Problem]]:
    """Return the lesson with its types, or what stands against it."""
    try:
        return Session.model_validate(values), []
    except ValidationError as error:
        found = error.errors(include_url=False, include_input=False)
        return None, complaints(found, layers, Session, values)
