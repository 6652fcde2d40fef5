"""Take the files out of a PDF that carry a lesson, within stated limits.

Names inside a PDF are untrusted text: they are compared, never used as paths. A file whose name
occurs twice is refused, since nobody could say which of the two counts.
"""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from io import BytesIO

from reporter.errors import InputRefusedError, LimitError, Problem

LARGEST_TEXT_BYTES = 8 * 1024 * 1024
LARGEST_PICTURE_BYTES = 64 * 1024 * 1024
MOST_FILES = 400
MOST_PAGES = 400


@dataclass(frozen=True, slots=True)
class Carried:
    """What a PDF says of itself, and the files taken out of it.

    Attributes
    ----------
    keywords : tuple of str
        The document's keywords; a lesson's mark is one of them.
    title : str
        The document's title.
    pages : int
        How many pages it has.
    names : tuple of str
        Names of all files inside, as written there.
    files : dict of str to bytes
        The contents of those that were asked for.
    """

    keywords: tuple[str, ...]
    title: str
    pages: int
    names: tuple[str, ...]
    files: dict[str, bytes]


def take_out(
    document: bytes,
    name: str,
    wanted: Sequence[str] | None,
    *,
    largest: int = LARGEST_TEXT_BYTES,
    most_pages: int = MOST_PAGES,
) -> Carried:
    """Return the wanted files of a PDF; only these are decoded.

    Parameters
    ----------
    document : bytes
        The whole PDF.
    name : str
        What the user calls it, for messages.
    wanted : sequence of str or None
        Names to take out, as far as they are there; None for all.
    largest : int
        Bytes that one decoded stream may have.
    most_pages : int
        Pages it may have.

    Raises
    ------
    InputRefusedError
        If it is no PDF, is damaged, or holds a wanted name twice.
    LimitError
        If it has too many pages or files, or a stream unpacks to too much.
    """
    from pypdf import PdfReader, apply_configuration

    with _told(name), apply_configuration(zlib_maximum_output_length=largest):
        reader = PdfReader(BytesIO(document))
        if reader.is_encrypted:
            raise _refused(name, "is encrypted; only open files can be read")
        information = reader.metadata
        said = {key: str(value) for key, value in information.items()} if information else {}
        keywords = re.split(r"[\s,;]+", said.get("/Keywords", ""))
        pages = len(reader.pages)
        if pages > most_pages:
            message = f"{name}: {pages} pages; at most {most_pages} are read"
            raise LimitError(message)
        names: list[str] = []
        files: dict[str, bytes] = {}
        for attached in reader.attachment_list:
            inside = attached.name
            names.append(inside)
            if len(names) > MOST_FILES:
                message = f"{name}: more than {MOST_FILES} files inside"
                raise LimitError(message)
            if wanted is not None and inside not in wanted:
                continue
            if inside in files:
                raise _refused(name, "holds two files of one name; nobody can say which counts")
            content = attached.content
            data = content if isinstance(content, bytes) else bytes(content)
            if len(data) > largest:
                message = f"{name}: a file inside has {len(data)} bytes; at most {largest} are read"
                raise LimitError(message)
            files[inside] = data
        title = said.get("/Title", "")
        return Carried(tuple(word for word in keywords if word), title, pages, tuple(names), files)


@contextmanager
def _told(name: str) -> Iterator[None]:
    """Turn whatever a damaged PDF raises in the library into one plain refusal."""
    try:
        yield
    except (InputRefusedError, LimitError, MemoryError):
        raise
    except Exception as error:  # crafted files raise whatever they like in the library
        from pypdf.errors import LimitReachedError

        if isinstance(error, LimitReachedError):
            message = f"{name}: a stream inside unpacks to more than is read"
            raise LimitError(message) from None
        raise _refused(name, "is no PDF, or a damaged one") from None


def _refused(name: str, reason: str) -> InputRefusedError:
    return InputRefusedError([Problem(name, 0, 0, "", reason)])
