"""The same words and pictures typeset by two general programs; None where one is not installed."""

import html
import time
from collections.abc import Iterator
from pathlib import Path

PAGE_STYLE = (
    "@page{size:A4;margin:18mm}body{font:11pt sans-serif}.p{break-after:page}img{width:84mm}"
)


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


def typst_round(folder: Path, words: list[list[str]], pictures: dict[str, bytes]) -> float | None:
    """Return the seconds Typst takes for pages of these words and pictures."""
    try:
        import typst
    except ImportError:
        return None
    _write(folder, pictures)
    body = ['#set page(paper: "a4", margin: 18mm)', "#set text(size: 11pt)"]
    names = iter(pictures)
    for number, page in enumerate(words):
        body += [f"#{_quoted(text)}\n" for text in _joined(page)]
        body += [f'#image("{name}", width: 84mm)' for name in _share(names, number)]
        body.append("#pagebreak(weak: true)")
    source = folder / "rival.typ"
    source.write_text("\n".join(body), encoding="utf-8")
    begun = time.perf_counter()
    typst.compile(str(source), output=str(folder / "typst.pdf"))
    return time.perf_counter() - begun


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
