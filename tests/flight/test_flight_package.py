"""The flight stage as a library of its own."""

import subprocess
import sys
from pathlib import Path

import reporter.flight

PACKAGE = Path(reporter.flight.__file__).parent


def test_exported_names_exist_and_are_few():
    assert len(reporter.flight.__all__) <= 19
    for name in reporter.flight.__all__:
        assert getattr(reporter.flight, name)
    assert reporter.flight.__all__ == sorted(reporter.flight.__all__)


def test_import_brings_numpy_and_nothing_heavier():
    code = (
        "import sys, reporter.flight;"
        "print([m for m in ('scipy', 'cv2', 'pydantic', 'reportlab', 'yaml', 'matplotlib')"
        " if m in sys.modules], 'numpy' in sys.modules)"
    )
    # The package's own front door may bring more; only what flight adds is asked here.
    front = "import sys, types; p = types.ModuleType('reporter'); p.__path__ = [sys.argv[1]];"
    front += "sys.modules['reporter'] = p;"
    found = subprocess.run(
        [sys.executable, "-c", front + code, str(PACKAGE.parent)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert found.stdout.strip() == "[] True"


def test_every_source_is_named_in_the_physics_page():
    page = (PACKAGE.parents[1] / "docs" / "physics.md").read_text(encoding="utf-8")
    for name in ("Bearman", "6,186,002", "Wood", "CIPM-2007", "Smits", "Chou", "Penner"):
        assert name in page, name


def test_every_word_for_a_flight_is_in_the_physics_page():
    from reporter.flight.words import BEND_WORDS, START_WORDS

    page = (PACKAGE.parents[1] / "docs" / "physics.md").read_text(encoding="utf-8")
    assert START_WORDS
    for table in (START_WORDS, BEND_WORDS):
        for word, meaning in table.items():
            assert f"| {word} | {meaning.value:+g} | {meaning.plus_minus:g} |" in page, word
