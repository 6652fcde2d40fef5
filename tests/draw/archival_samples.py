"""Finished files to judge: a few good ones, and the ways to spoil a good one.

Run as ``python -m tests.draw.archival_samples FOLDER``: writes files named good-... and bad-... for
the slower validator of `.ci/run`.
"""

import datetime
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import pikepdf

ROOT = Path(__file__).parents[2]
TODAY = datetime.date(2027, 4, 13)
LINK = "https://video.example/lessons/5f0c27d1b9e84a36?view=both"


def linked_lesson(folder: Path) -> Path:
    """Copy the demo lesson into a folder, with a link to its clips."""
    source = ROOT / "demo_session"
    shutil.copytree(source / "frames", folder / "frames")
    shutil.copy(source / "shots.csv", folder / "shots.csv")
    text = (source / "session.yaml").read_text("utf-8")
    marked = text.replace("lesson:\n", f"lesson:\n  video_link: {LINK}\n", 1)
    (folder / "session.yaml").write_text(marked, "utf-8")
    return folder / "session.yaml"


def elements(document: pikepdf.Pdf, tag: str) -> list[pikepdf.Dictionary]:
    """Return the structure elements of one tag."""
    return [
        item
        for item in document.objects
        if isinstance(item, pikepdf.Dictionary) and item.get("/S") == tag and "/P" in item
    ]


def _each(tag: str, key: str) -> Callable[[pikepdf.Pdf], None]:
    def spoil(document: pikepdf.Pdf) -> None:
        found = [element for element in elements(document, tag) if key in element]
        assert found, (tag, key)
        for element in found:
            del element[key]

    return spoil


def _in_root(key: str) -> Callable[[pikepdf.Pdf], None]:
    def spoil(document: pikepdf.Pdf) -> None:
        del document.Root[key]

    return spoil


def _file_specifications(document: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    return list(document.Root.AF)


def _no_relationship(document: pikepdf.Pdf) -> None:
    for one in _file_specifications(document):
        del one["/AFRelationship"]


def _no_media_type(document: pikepdf.Pdf) -> None:
    for one in _file_specifications(document):
        del one.EF.F["/Subtype"]


def _skipped_heading(document: pikepdf.Pdf) -> None:
    headings = elements(document, "/H2")
    assert headings
    for one in headings:
        one.S = pikepdf.Name("/H3")


def _no_parent_tree(document: pikepdf.Pdf) -> None:
    del document.Root.StructTreeRoot["/ParentTree"]


def _unmarked(document: pikepdf.Pdf) -> None:
    page = document.pages[0]
    written = b"".join(
        part.read_bytes()
        for part in (page.Contents if isinstance(page.Contents, pikepdf.Array) else [page.Contents])
    )
    page.Contents = document.make_stream(written + b"\n0 0 0 rg 100 100 50 50 re f\n")


def _untagged_link(document: pikepdf.Pdf) -> None:
    (link,) = elements(document, "/Link")
    link.K = pikepdf.Array([kid for kid in link.K if not isinstance(kid, pikepdf.Dictionary)])
    for page in document.pages:
        for annotation in page.get("/Annots", []):
            del annotation["/StructParent"]


def _no_description_of_link(document: pikepdf.Pdf) -> None:
    for page in document.pages:
        for annotation in page.get("/Annots", []):
            del annotation["/Contents"]


SPOILED: dict[str, tuple[str, Callable[[pikepdf.Pdf], None]]] = {
    # What is taken out: the standard that asks for it, and how.
    "no text for figures": ("ua1", _each("/Figure", "/Alt")),
    "no language": ("ua1", _in_root("/Lang")),
    "no scope of heading cells": ("ua1", _each("/TH", "/A")),
    "title not shown": ("ua1", _in_root("/ViewerPreferences")),
    "a heading level left out": ("ua1", _skipped_heading),
    "no parent tree": ("ua1", _no_parent_tree),
    "content without a mark": ("ua1", _unmarked),
    "a link outside the structure": ("ua1", _untagged_link),
    "a link without a description": ("ua1", _no_description_of_link),
    "no structure": ("ua1", _in_root("/StructTreeRoot")),
    "files not associated": ("3a", _in_root("/AF")),
    "no relationship of files": ("3a", _no_relationship),
    "no media type of files": ("3a", _no_media_type),
    "no output intent": ("3a", _in_root("/OutputIntents")),
    "no metadata": ("3a", _in_root("/Metadata")),
}


def spoiled(good: Path, what: str, target: Path) -> Path:
    """Write a good file with one thing taken out."""
    with pikepdf.open(good) as document:
        SPOILED[what][1](document)
        document.save(target)
    return target


def write_booklet(target: Path, lessons: Sequence[Path]) -> None:
    """Join files into a booklet, as the shelf does."""
    from reporter.handout.shelf_pages import PastHandout, Wanted, build_booklet
    from reporter.session.load import load_session
    from reporter.story.student_progress import StudentProgress

    build_booklet(
        load_session(ROOT / "demo_session" / "session.yaml").session,
        [PastHandout("2027-04-13", path.stem, path.read_bytes()) for path in lessons],
        StudentProgress(0, "", "", (), (), ()),
        Wanted(target, "plain", "a4", None, TODAY, True),
    )


def write_samples(folder: Path) -> None:
    """Write three good files, a booklet joined from them, and every spoiled one."""
    from reporter.handout.build import build_handout
    from reporter.handout.file_form import FileForm

    def build(lesson: Path, name: str, brand: str, paper: str, form: FileForm) -> Path:
        target = folder / f"{name}.pdf"
        build_handout(
            lesson, output=target, brand=brand, layout="handout", paper=paper, today=TODAY,
            force=True, form=form,
        )  # fmt: skip
        return target

    junior = ROOT / "demo_session" / "junior" / "session.yaml"
    with tempfile.TemporaryDirectory() as place:
        linked = linked_lesson(Path(place))
        good = build(linked, "good-handout", "plain", "a4", FileForm())
        record = build(linked, "good-record", "quillmere", "letter", FileForm(record=True))
        small = build(
            junior, "good-junior", "emberholt", "a4", FileForm(ink="saver", purpose="mail")
        )
    write_booklet(folder / "good-booklet.pdf", (good, record, small))
    for number, (what, (standard, _)) in enumerate(SPOILED.items()):
        spoiled(good, what, folder / f"bad-{standard}-{number:02d}.pdf")


if __name__ == "__main__":
    write_samples(Path(sys.argv[1]))
