"""A lesson file opened to be added to, and written back whole: comments and order stay."""

from dataclasses import dataclass
from pathlib import Path

from reporter.errors import CannotWriteError, InputRefusedError, Problem
from reporter.publish import publish
from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.load import LESSON_FILE, LoadedSession, load_session, load_text
from reporter.session.text_edit import as_bytes
from reporter.yaml_source import LARGEST_FILE_BYTES, YamlSource, read_yaml


@dataclass(frozen=True, slots=True)
class OpenedLesson:
    """A lesson without mistakes, and its file as it lies on the disk.

    Attributes
    ----------
    path : Path
        Of the lesson file.
    loaded : LoadedSession
        What the lesson says.
    source : YamlSource
        The file's own text, to be edited.
    """

    path: Path
    loaded: LoadedSession
    source: YamlSource
    _data: bytes

    def write(self, source: YamlSource) -> None:
        """Put the edited text in the file's place, unless somebody else changed it meanwhile.

        Raises
        ------
        InputRefusedError
            If the edited lesson has mistakes.
        CannotWriteError
            With what stands in the way; the file is untouched then.
        """
        written = as_bytes(source)
        load_text(written, self.path)
        if read_given(self.path, LARGEST_FILE_BYTES) != self._data:
            message = f"{self.path} was changed meanwhile; nothing was added to it; try again"
            raise CannotWriteError(message)
        publish(self.path, written, force=True)


def open_lesson(lesson: Path) -> OpenedLesson:
    """Open a lesson file, or the one in a folder, to add to it.

    Raises
    ------
    InputRefusedError
        If it cannot be read or has mistakes.
    """
    path = lesson / LESSON_FILE if lesson.is_dir() else lesson
    loaded = load_session(path)
    try:
        data = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "", error.reason)]) from None
    return OpenedLesson(path, loaded, read_yaml(data, path.name), data)
