"""Gather every message that is printed, bring the catalogues up to date, and compile them.

Run as ``python -m tests.languages`` after a message was added or changed: each catalogue in
``reporter/languages/`` gets the new messages without a translation and loses those that are no
longer said. Run it again after translating; what is missing then is listed. ``docs/languages.md``
says how a language is added.
"""

import ast
import io
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import BinaryIO, get_args

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "reporter"
FOLDER = PACKAGE / "languages"
KEYWORDS = {"say": (1,), "later": (1,), "say_as": ((1, "c"), 2), "say_count": (1, 2)}
COMMENT_TAG = "For translators:"
HEADER = "# Printed words of lesson-reporter; how they are kept is told in docs/languages.md."
CLUB_CONTEXTS = ("club", "club after your", "club after with the")


class WrittenCatalog(Catalog):
    """A catalogue whose head holds what its readers need, and no date, name or tool's version.

    Its rule of plurals is that of the catalogue it follows: a later Babel may know another one for
    the same language, and the translations would not fit it.
    """

    def __init__(self, follows: Catalog) -> None:
        super().__init__(follows.locale, charset="utf-8", fuzzy=False)
        self._follows = follows
        self.header_comment = HEADER

    @property
    def num_plurals(self) -> int:
        """Return how many forms a counted message has."""
        return self._follows.num_plurals

    @property
    def plural_expr(self) -> str:
        """Return which form goes with a number, as gettext writes it."""
        return self._follows.plural_expr

    @property
    def mime_headers(self) -> list[tuple[str, str]]:  # type: ignore[override]
        """Return the fields of the head."""
        return [
            ("Project-Id-Version", "lesson-reporter"),
            ("Language", str(self.locale)),
            ("Plural-Forms", self.plural_forms),
            ("MIME-Version", "1.0"),
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Transfer-Encoding", "8bit"),
        ]


def languages() -> list[str]:
    """Return the languages that need a catalogue."""
    from reporter.speech import LANGUAGES

    return [language for language in LANGUAGES if language != "en"]


def template() -> Catalog:
    """Return every message of the program, in the order of its files, then of its data."""
    catalog = Catalog(project="lesson-reporter", charset="utf-8", fuzzy=False)
    found = extract_from_dir(
        PACKAGE, [("**.py", by_syntax)], keywords=KEYWORDS, comment_tags=[COMMENT_TAG]
    )
    places = sorted(found, key=lambda one: (one[0], one[1]))
    for name, _, message, comments, context in places:
        catalog.add(message, locations=[(f"reporter/{name}", 0)], auto_comments=comments,
                    context=context)  # fmt: skip
    for message, context, place in data_messages():
        catalog.add(message, locations=[(place, 0)], context=context)
    return catalog


def by_syntax(
    file: BinaryIO, keywords: Iterable[str], comment_tags: object, options: object
) -> Iterator[tuple[int, str, tuple[str | None, ...], list[str]]]:
    """Yield the calls of `reporter.speech` in a file, as Babel asks of an extraction method.

    Babel's own reader of Python goes by the tokens and takes the key in ``say(WORDS["own"])`` for a
    message, and ``screen.say`` for ours; the syntax tree tells them apart.
    """
    for node in ast.walk(ast.parse(file.read())):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        if node.func.id in keywords:
            texts = [
                one.value if isinstance(one, ast.Constant) and isinstance(one.value, str) else None
                for one in node.args
            ]
            yield node.lineno, node.func.id, tuple(texts), []


def data_messages() -> Iterator[tuple[str, str | None, str]]:
    """Yield message, context and place of the words that stand in data and not in code."""
    from reporter.flight.clubs import CLUBS
    from reporter.measure import CATALOGUE
    from reporter.session.schema import POINT_NAMES, Position, View
    from reporter.story.drills import bundled_drills
    from reporter.story.practice_patterns import bundled_patterns
    from reporter.story.spoken_drills import words_of

    for measure in CATALOGUE:
        texts = (
            measure.name, measure.positive, measure.negative, measure.none, measure.more,
            measure.less, *measure.refusals.values(),
        )  # fmt: skip
        for text in texts:
            yield text, None, "reporter/measure/catalogue.py"
    names = {"point": POINT_NAMES, "view": get_args(View), "position": get_args(Position)}
    for context, listed in names.items():
        for name in listed:
            yield name, context, "reporter/session/schema.py"
    for context in CLUB_CONTEXTS:
        for club in CLUBS:
            yield club.name, context, "reporter/flight/clubs.py"
    for drill in bundled_drills():
        for text in words_of(drill):
            yield text, None, "reporter/story/data/drills.yaml"
    for pattern in bundled_patterns():
        for text in (pattern.name, *(part.do for part in pattern.parts)):
            yield text, None, "reporter/story/data/practice_patterns.yaml"


def read_catalogue(language: str, folder: Path = FOLDER) -> Catalog:
    """Return the catalogue of a language; an empty one where there is none yet."""
    path = folder / f"{language}.po"
    if not path.is_file():
        return Catalog(language, project="lesson-reporter", charset="utf-8", fuzzy=False)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def brought_up_to_date(catalog: Catalog, messages: Catalog) -> Catalog:
    """Return a catalogue with exactly those messages, translations kept where they were."""
    fresh = WrittenCatalog(catalog)
    for message in messages:
        if not message.id:
            continue
        old = catalog.get(message.id, message.context)
        fresh.add(
            message.id,
            old.string if old is not None else None,
            locations=message.locations,
            auto_comments=message.auto_comments,
            user_comments=old.user_comments if old is not None else (),
            context=message.context,
        )
    return fresh


def as_text(catalog: Catalog) -> bytes:
    """Return a catalogue as the text of a .po file, the same for the same messages."""
    written = io.BytesIO()
    write_po(written, catalog, width=96, include_lineno=False)
    return written.getvalue()


def compiled(text: bytes, language: str) -> bytes:
    """Return the .mo file of a .po file."""
    written = io.BytesIO()
    catalog = read_po(io.BytesIO(text), locale=language)
    write_mo(written, brought_up_to_date(catalog, catalog))
    return written.getvalue()


def untranslated(catalog: Catalog) -> list[Message]:
    """Return the messages without a translation in every form."""
    return [one for one in catalog if one.id and not all(_strings(one))]


def _strings(message: Message) -> tuple[str, ...]:
    return message.string if isinstance(message.string, tuple | list) else (message.string,)


def main() -> int:
    """Update and compile every catalogue; return how many translations are missing."""
    messages = template()
    missing = 0
    for language in languages():
        text = as_text(brought_up_to_date(read_catalogue(language), messages))
        FOLDER.mkdir(exist_ok=True)
        (FOLDER / f"{language}.po").write_bytes(text)
        (FOLDER / f"{language}.mo").write_bytes(compiled(text, language))
        found = untranslated(read_catalogue(language))
        missing += len(found)
        for one in found:
            print(f"{language}: no translation of {one.id!r} in {one.locations}")  # noqa: T201
        print(f"{language}: {len(messages)} messages, {len(found)} without translation")  # noqa: T201
    return 1 if missing else 0


if __name__ == "__main__":
    sys.exit(main())
