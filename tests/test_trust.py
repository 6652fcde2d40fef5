"""Every promise on the page of trust names tests that exist, and every threat has its row."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PAGE = (ROOT / "docs" / "trust.md").read_text("utf-8")
NAMED = sorted(set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)))
THREATS = 41
NOT_YET: set[int] = set()
"""What the program does not do yet; a row that gets its test is taken out here."""


def functions_of(file: str) -> set[str]:
    tree = ast.parse((ROOT / file).read_text("utf-8"))
    return {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def rows(chapter: str) -> list[list[str]]:
    """Return the cells of a chapter's table."""
    text = re.search(rf"^## {chapter}\n(.*?)(?=^## |\Z)", PAGE, re.MULTILINE | re.DOTALL)[1]
    lines = [line for line in text.splitlines() if line.startswith("|")][2:]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


def test_there_are_tests_named():
    assert len(NAMED) > 50


@pytest.mark.parametrize(("file", "name"), NAMED)
def test_a_named_test_exists(file, name):
    assert name in functions_of(file)


def test_every_promise_names_a_test():
    promises = rows("Promises")
    assert len(promises) >= 12
    assert [promise for promise, tests in promises if "::test_" not in tests] == []


def test_every_threat_has_its_row_and_its_test():
    threats = rows("Threats and their tests")
    assert [int(row[0]) for row in threats] == list(range(1, THREATS + 1))
    without = {int(number) for number, _, _, tests in threats if "::test_" not in tests}
    assert without == NOT_YET


def test_every_gap_says_how_to_live_with_it():
    gaps = rows("What is not covered, and how to live with it")
    assert len(gaps) >= 8
    assert all(len(what) > 10 and len(how) > 10 for what, how in gaps)


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("256 KiB, 32 levels, 20,000 parts", "yaml_source"),
        ("64 MiB, 50 million pixels, sides 1 to 8; at least 64 pixels", "frames"),
        ("4 MiB, 20,000 shots, 100 columns", "shots"),
        ("20 seconds and 2 GiB", "heic"),
        ("64 MiB, 120 pages, 1 MiB for a file inside; 20 seconds of processor and 1 GiB", "import"),
        ("4 GiB, 30 minutes, 240,000 pictures of at most 40 million pixels; at least 64", "clip"),
        ("1,500,000 pictures and pieces of sound in 64 tracks, 4,000,000 rows, 500,000", "tables"),
        ("64 KiB, 5 seconds to arrive, 32 at once", "request"),
    ],
)
def test_the_limits_are_those_of_the_program(words, value):
    from reporter import yaml_source
    from reporter.archive import importing, reader_apart
    from reporter.desk import guards, server
    from reporter.session import frames, heic, heic_worker, shots
    from reporter.video import container, reading, tables

    told = {
        "yaml_source": f"{yaml_source.LARGEST_FILE_BYTES // 1024} KiB,"
        f" {yaml_source.DEEPEST_NESTING} levels, {yaml_source.MOST_EVENTS:,} parts",
        "frames": f"{frames.LARGEST_FILE_BYTES // 2**20} MiB, {frames.MOST_PIXELS // 10**6} million"
        f" pixels, sides 1 to {frames.LARGEST_SIDE_RATIO:g};"
        f" at least {frames.SHORTEST_SIDE} pixels",
        "shots": f"{shots.LARGEST_FILE_BYTES // 2**20} MiB, {shots.MOST_ROWS:,} shots,"
        f" {shots.MOST_COLUMNS} columns",
        "heic": f"{heic.MOST_SECONDS:g} seconds and"
        f" {heic_worker.MOST_BYTES_OF_MEMORY // 2**30} GiB",
        "import": f"{importing.LARGEST_IMPORT_BYTES // 2**20} MiB, {reader_apart.MOST_PAGES} pages,"
        f" {reader_apart.LARGEST_INSIDE_BYTES // 2**20} MiB for a file inside;"
        f" {reader_apart.SECONDS} seconds of processor and {reader_apart.MEMORY_BYTES // 2**30}"
        " GiB",
        "clip": f"{container.LARGEST_FILE_BYTES // 2**30} GiB, {reading.LONGEST_SECONDS / 60:g}"
        f" minutes, {reading.MOST_FRAMES:,} pictures of at most {reading.MOST_PIXELS // 10**6}"
        f" million pixels; at least {reading.SHORTEST_SIDE}",
        "tables": f"{tables.MOST_SAMPLES:,} pictures and pieces of sound in {tables.MOST_TRACKS}"
        f" tracks, {tables.MOST_ROWS:,} rows, {tables.MOST_BOXES:,}",
        "request": f"{guards.LARGEST_BODY_BYTES // 2**10} KiB, {server.PATIENCE_SECONDS:g} seconds"
        f" to arrive, {server.MOST_AT_ONCE} at once",
    }[value]
    assert told == words
    assert words in PAGE
