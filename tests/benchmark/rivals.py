"""The same words and pictures typeset by two general programs; None where one is not installed."""

import html
import json
import time
from collections.abc import Iterator
from pathlib import Path

PAGE_STYLE = (
    "@page{size:A4;margin:18mm}body{font:11pt sans-serif}.p{break-after:page}img{width:84mm}"
)
ARCHIVAL = ["a-3a", "ua-1"]
"""ISO 19005-3 level A and ISO 14289-1: what our file is as well."""
SPEC = "rival.json"


def weasyprint_round(
    folder: Path, words: list[list[str]], pictures: dict[str, bytes]
) -> float | None:
    """Return the seconds WeasyPrint takes for pages of these words and pictures."""
    try:
        import weasyprint
    except (ImportError, OSError):
        return None
    _write(folder, pictures)
    body = []
    names = iter(pictures)
    for number, page in enumerate(words):
        lines = "".join(f"<p>{html.escape(text)}</p>" for text in _joined(page))
        images = "".join(f'<img src="{name}">' for name in _share(names, number))
        body.append(f'<div class="p">{lines}{images}</div>')
    document = f"<style>{PAGE_STYLE}</style>{''.join(body)}"
    begun = time.perf_counter()
    weasyprint.HTML(string=document, base_url=str(folder)).write_pdf(folder / "weasyprint.pdf")
    return time.perf_counter() - begun


def typst_round(
    folder: Path, words: list[list[str]], pictures: dict[str, bytes], *, archival: bool = False
) -> float | None:
    """Return the seconds Typst takes for pages of these words and pictures.

    ``archival`` asks for the same standards that our file keeps to, tags and all.
    """
    try:
        import typst
    except ImportError:
        return None
    _write(folder, pictures)
    source = typst_source(folder, words, list(pictures))
    begun = time.perf_counter()
    if archival:
        typst.compile(str(source), output=str(folder / "typst-archival.pdf"),
                      pdf_standards=ARCHIVAL)  # fmt: skip
    else:
        typst.compile(str(source), output=str(folder / "typst.pdf"))
    return time.perf_counter() - begun


def typst_source(folder: Path, words: list[list[str]], pictures: list[str]) -> Path:
    """Write the pages for Typst: a heading each, words, described pictures."""
    body = [
        '#set document(title: "A lesson", author: "A coach", date: datetime(year: 2027, month: 4,'
        " day: 13))",
        '#set page(paper: "a4", margin: 18mm)',
        '#set text(size: 11pt, lang: "en")',
    ]
    names = iter(pictures)
    for number, page in enumerate(words):
        body.append(f"= Sheet {number + 1}")
        body += [f"#{_quoted(text)}\n" for text in _joined(page)]
        body += [
            f'#image("{name}", width: 84mm, alt: "A frame of the swing")'
            for name in _share(names, number)
        ]
        body.append("#pagebreak(weak: true)")
    source = folder / "rival.typ"
    source.write_text("\n".join(body), encoding="utf-8")
    return source


def write_spec(
    folder: Path, words: list[list[str]], frames: list[tuple[str, tuple[float, ...], float]]
) -> None:
    """Write down what a cold run of Typst needs: words, and the frames it must clean first."""
    spec = {"words": words, "frames": frames}
    (folder / SPEC).write_text(json.dumps(spec), encoding="utf-8")


def cold_typst(folder: Path) -> None:
    """Clean the frames and compile the archival file, as a process of its own."""
    from tests.benchmark.floor import clean

    spec = json.loads((folder / SPEC).read_text(encoding="utf-8"))
    pictures = {
        f"picture{number}.jpg": clean(Path(path), tuple(crop), width)
        for number, (path, crop, width) in enumerate(spec["frames"])
    }
    typst_round(folder, spec["words"], pictures, archival=True)


def _write(folder: Path, pictures: dict[str, bytes]) -> None:
    for name, data in pictures.items():
        (folder / name).write_bytes(data)


def _joined(page: list[str]) -> list[str]:
    return [text for text in page if text.strip()]


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _share(names: Iterator[str], number: int) -> list[str]:
    """Return the pictures of a page: two on the first, four on the third."""
    count = {0: 2, 2: 4}.get(number, 0)
    return [name for _, name in zip(range(count), names, strict=False)]
