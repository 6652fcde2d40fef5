"""Look at a lesson's handout as a printer will see it, before it is printed."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from reporter.handout.build import in_language, lay_out
from reporter.handout.file_form import FileForm
from reporter.handout.find_drills import find_drills
from reporter.handout.ink_variants import Variant
from reporter.handout.print_pictures import print_pictures
from reporter.handout.proof_page import PageProof, prove_page
from reporter.handout.refusals import check_references
from reporter.session.load import load_session
from reporter.typeset.faces import typefaces_in_use

HEADINGS = (
    "sheet", "title", "cyan %", "magenta %", "yellow %", "black %", "grey alone %",
    "smallest text", "coarsest picture",
)  # fmt: skip


def prove_handout(
    lesson_file: Path,
    *,
    brand: str | None,
    layout: str | None,
    paper: str,
    ink: Variant,
    today: datetime.date,
    language: str | None = None,
) -> tuple[PageProof, ...]:
    """Return what each page of a handout costs in ink, and what to look at.

    Parameters
    ----------
    lesson_file : Path
        The lesson file.
    brand : str or None
        As for `build_handout`.
    layout : str or None
        As for `build_handout`.
    paper : str
        As for `build_handout`.
    ink : str
        ``colour``, ``grey`` or ``saver``.
    today : date
        Stands in where the lesson has no date.
    language : str or None
        As for `build_handout`.

    Raises
    ------
    ReporterError
        What `build_handout` raises up to the finished pages.
    """
    loaded = in_language(load_session(lesson_file), language)
    check_references(loaded, today, find_drills(loaded.folder))
    with print_pictures(loaded) as pictures:
        # As many dots as are painted here are enough; the pages are the same at any.
        pictures.use(FileForm(purpose="mail", ink=ink).quality)
        laid = lay_out(
            loaded, pictures, brand=brand, layout=layout, paper=paper, ink=ink, today=today
        )
        pictures.cut_early(laid.pages)
        with typefaces_in_use(laid.family):
            return tuple(
                prove_page(page, sheet, pictures.jpeg)
                for sheet, page in enumerate(laid.pages, start=1)
            )


def proof_rows(proofs: Sequence[PageProof]) -> list[tuple[str, ...]]:
    """Return one row a page under `HEADINGS`, and a last one with the mean coverage."""
    rows = [
        (
            str(one.sheet),
            one.title,
            *(f"{value:.1f}" for value in _coverage(one)),
            f"{one.smallest_points:g} pt" if one.smallest_points else "-",
            f"{one.coarsest_dots_per_inch:.0f} dpi" if one.coarsest_dots_per_inch else "-",
        )
        for one in proofs
    ]
    means = [sum(column) / len(proofs) for column in zip(*map(_coverage, proofs), strict=True)]
    return [*rows, ("all", "mean of the sheets", *(f"{mean:.1f}" for mean in means), "", "")]


def _coverage(one: PageProof) -> tuple[float, ...]:
    return one.cyan, one.magenta, one.yellow, one.black, one.grey


def proof_lines(proofs: Sequence[PageProof]) -> Iterator[str]:
    """Yield one line for each thing to look at."""
    for one in proofs:
        for found in one.findings:
            yield (
                f"sheet {found.sheet}, {found.x:.0f} mm from the left, {found.y:.0f} mm down:"
                f" {found.kind}: {found.message}"
            )


def proof_as_json(proofs: Sequence[PageProof]) -> dict[str, Any]:
    """Return the proof as plain values; coverage in percent of the sheet's area."""
    return {"sheets": [_rounded(asdict(one)) for one in proofs]}


def _rounded(value: Any) -> Any:  # noqa: ANN401 - plain values of any kind
    if isinstance(value, float):
        return round(value, 2)
    if isinstance(value, dict):
        return {key: _rounded(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(part) for part in value]
    return value
