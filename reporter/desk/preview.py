"""The real pages of a lesson as they would be built now, without writing a file."""

import datetime
import threading
from dataclasses import dataclass
from pathlib import Path

from reporter.errors import ExtraMissingError
from reporter.handout.build import collector_paused, finish, lay_out, lesson_mark, properties_of
from reporter.handout.file_form import FileForm
from reporter.handout.find_drills import find_drills
from reporter.handout.print_pictures import print_pictures
from reporter.handout.refusals import check_references
from reporter.session.load import load_session

DOTS_PER_INCH = 110


@dataclass(frozen=True, slots=True)
class Previewed:
    """A handout made to be looked at.

    Attributes
    ----------
    document : bytes
        The PDF.
    pages : int
        How many it has.
    """

    document: bytes
    pages: int


class Preview:
    """Keeps the last document and paints its pages when they are asked for."""

    def __init__(self, lesson_file: Path) -> None:
        self._lesson_file = lesson_file
        self._lock = threading.Lock()
        self._last: Previewed | None = None

    def make(self, today: datetime.date) -> Previewed:
        """Set the pages anew.

        Raises
        ------
        ReporterError
            As `build_handout` raises it.
        """
        loaded = load_session(self._lesson_file)
        check_references(loaded, today, find_drills(loaded.folder))
        form = FileForm(attachments=False, purpose="screen")
        with collector_paused(), print_pictures(loaded) as pictures:
            laid = lay_out(
                loaded, pictures, brand=None, layout="handout", paper="a4", ink=form.ink,
                today=today,
            )  # fmt: skip
            properties = properties_of(
                laid.report, lesson_mark(loaded), loaded.session.lesson.date or today
            )
            document = finish(laid, properties, pictures, loaded, form).document
        self._last = Previewed(document, len(laid.pages))
        return self._last

    @property
    def document(self) -> bytes | None:
        """Return the last document, None if there is none."""
        return self._last.document if self._last is not None else None

    def page_png(self, number: int) -> bytes | None:
        """Return a page as a picture, counted from 1; None if there is no such page.

        Raises
        ------
        ExtraMissingError
            If the part that paints pages is not installed; the browser's own viewer serves then.
        """
        if self._last is None or not 1 <= number <= self._last.pages:
            return None
        try:
            import pypdfium2
        except ImportError:
            extra, purpose = "desk", "a page as a picture"
            raise ExtraMissingError(extra, purpose) from None
        import io

        with self._lock:
            document = pypdfium2.PdfDocument(self._last.document)
            try:
                image = document[number - 1].render(scale=DOTS_PER_INCH / 72).to_pil()
            finally:
                document.close()
        written = io.BytesIO()
        image.save(written, "PNG")
        return written.getvalue()


def can_paint() -> bool:
    """Whether pages can be shown as pictures."""
    import importlib.util

    return importlib.util.find_spec("pypdfium2") is not None
