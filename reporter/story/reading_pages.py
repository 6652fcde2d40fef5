"""How easy the running text of each sheet reads."""

from collections.abc import Iterator
from dataclasses import dataclass

from reporter.story.reading_ease import ReadingEaseError, formula_name, reading_ease
from reporter.story.report import (
    Block,
    Drills,
    Labelled,
    Pair,
    Paragraph,
    RecordTable,
    Report,
    Sheet,
    SideNotes,
    Thoughts,
)
from reporter.story.wording import sentence


@dataclass(frozen=True, slots=True)
class SheetEase:
    """The reading ease of one sheet, or why there is none.

    Attributes
    ----------
    sheet : str
        The sheet's title.
    ease : float or None
        100 is very easy, 0 very hard.
    reason : str
        Why no number is given.
    formula : str
        Whose formula it is: that of the language.
    """

    sheet: str
    ease: float | None
    reason: str = ""
    formula: str = ""


def ease_of_sheets(report: Report) -> tuple[SheetEase, ...]:
    """Return the reading ease of every sheet with running text, in their order."""
    found = []
    for sheet in report.sheets:
        text = "\n\n".join(running_text(sheet))
        if not text:
            continue
        try:
            ease = reading_ease(text, report.language)
            found.append(SheetEase(sheet.title, ease, formula=formula_name(report.language)))
        except ReadingEaseError as error:
            found.append(SheetEase(sheet.title, None, str(error)))
    return tuple(found)


def running_text(sheet: Sheet) -> Iterator[str]:
    """Yield the sentences of a sheet; the student's own words, labels and numbers stay out."""
    for block in sheet.blocks:
        yield from (sentence(text) for text in _texts(block) if text.strip())


def _texts(block: Block) -> Iterator[str]:
    match block:
        case Paragraph():
            if block.source != "student_words":
                yield "".join(run.text for run in block.runs)
        case Thoughts():
            for say, because in block.items:
                yield say
                yield because
        case Pair():
            yield block.heading
            if not block.large:  # else the sentence stands below as a paragraph of its own
                yield block.sentence
        case Drills():
            for card in block.cards:
                yield from (text for _, text in (*card.lines, *card.small_lines))
        case SideNotes():
            for runs in block.items:
                yield "".join(run.text for run in runs)
        case Labelled():
            yield block.text
        case RecordTable(rows=rows, key="guardian"):
            yield from (text for _, text in rows)
        case _:
            return
