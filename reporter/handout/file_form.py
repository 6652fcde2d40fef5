"""What kind of file a run makes, and where it goes if nobody says so."""

from dataclasses import dataclass, replace
from pathlib import Path

from reporter.errors import InputRefusedError, Problem, printable
from reporter.handout.ink_variants import Variant
from reporter.handout.picture_quality import PRESETS, PictureQuality, Purpose
from reporter.safe_open import is_folder

HANDOUT = "handout.pdf"
RECORD = "record.pdf"
ENDING = ".pdf"
SAVED_INK_SHARE = 0.6
"""Ink that a photograph keeps where ink is saved: light, and a club's shaft still stands out
(looked at, no source)."""


@dataclass(frozen=True, slots=True)
class FileForm:
    """The form of a file, apart from what stands on its pages.

    Attributes
    ----------
    record : bool
        The coach's record, which carries everything, instead of the student's handout.
    attachments : bool
        Whether anything travels inside the file.
    purpose : str
        print, mail or screen: how fine the pictures are.
    largest : int or None
        Bytes that the file may have.
    ink : str
        colour, grey or saver.
    """

    record: bool = False
    attachments: bool = True
    purpose: Purpose = "print"
    largest: int | None = None
    ink: Variant = "colour"

    @property
    def quality(self) -> PictureQuality:
        """The best that the pictures may have."""
        share = SAVED_INK_SHARE if self.ink == "saver" else 1.0
        return replace(PRESETS[self.purpose], grey=self.ink != "colour", ink_share=share)


PLAIN_HANDOUT = FileForm()


def target_of(form: FileForm, output: Path | None, folder: Path) -> Path:
    """Return the name of the file to write.

    Parameters
    ----------
    form : FileForm
        Handout and record have names of their own, so that neither replaces the other.
    output : Path or None
        What was asked for: a name that ends in .pdf, or a folder.
    folder : Path
        The lesson's folder, used where nothing was asked for.

    Raises
    ------
    InputRefusedError
        If the name does not end in .pdf.
    """
    name = RECORD if form.record else HANDOUT
    if output is None:
        return folder / name
    if is_folder(output):
        return output / name
    if output.suffix.lower() != ENDING:
        message = f'"{printable(str(output))}" must end in {ENDING}, or be a folder that exists'
        raise InputRefusedError([Problem("command line", 0, 0, "output", message)])
    return output


def mark_of(form: FileForm, lesson_mark: str) -> str:
    """Return what tells this file from any other: a record is never taken for a handout."""
    return f"record-{lesson_mark}" if form.record else lesson_mark
