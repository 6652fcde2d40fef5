"""The shelf as typed: what it says, its exit codes, and that every command is written up."""

import csv
import io
import json
import re
from pathlib import Path

import click
import pytest
from pypdf import PdfReader

from reporter.command_line import cli, run
from reporter.errors import ExitCode
from tests.archive.synthetic import pdf_with, record_pdf
from tests.conftest import DEMO

DOCUMENT = (Path(__file__).parents[2] / "docs" / "shelf.md").read_text("utf-8")
COMMANDS = cli.commands["shelf"].commands


@pytest.fixture
def place(tmp_path, monkeypatch):
    """Return a folder with an empty shelf that the environment names."""
    monkeypatch.setenv("LESSON_REPORTER_SHELF", str(tmp_path / "shelf"))
    monkeypatch.setenv("LESSON_REPORTER_WHO", "front desk")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1809160000")  # 2027-05-01
    monkeypatch.chdir(tmp_path)
    assert shelf("start", "-q") == ExitCode.OK
    return tmp_path


def shelf(*typed: str) -> ExitCode:
    return run(["shelf", *typed])


def put(place: Path, name: str, document: bytes) -> str:
    (place / name).write_bytes(document)
    return name


def test_from_lesson_file_to_erasure(place, capsys):
    """The demo lesson goes the whole way."""
    assert run(["build", str(DEMO), "-o", "handout.pdf", "--shelve"]) == ExitCode.OK
    assert (
        "shelved: lesson 5f0c27d1b9e84a36 of student S-0412, version 1" in capsys.readouterr().err
    )
    handout = PdfReader("handout.pdf")
    assert "private_notes" not in handout.attachments["session.yaml"][0].decode()
    assert run(["build", str(DEMO), "-o", "handout.pdf", "--shelve"]) == ExitCode.OK
    assert "already on the shelf" in capsys.readouterr().err
    assert shelf("find", "gate", "--measure", "shoulder-line-tilt:0..5") == ExitCode.OK
    assert "Runa" in capsys.readouterr().out
    assert shelf("prove", "handout.pdf") == ExitCode.OK
    assert "handout of lesson 5f0c27d1b9e84a36" in capsys.readouterr().out
    assert shelf("prove", str(DEMO)) == ExitCode.INPUT_REFUSED
    assert shelf("given", "5f0c27d1b9e84a36") == ExitCode.OK
    assert shelf("progress", "Runa") == ExitCode.OK
    out = capsys.readouterr().out
    assert "cannot tell" in out
    assert shelf("handover", "S-0412") == ExitCode.OK
    assert "Keep your buttons behind the ball." in capsys.readouterr().out
    assert shelf("export", "S-0412", "mine.zip") == ExitCode.OK
    assert shelf("export", "S-0412", "mine.zip") == ExitCode.CANNOT_WRITE
    assert shelf("verify", "--data", "--state", "state.json") == ExitCode.OK
    assert shelf("erase", "S-0412") == ExitCode.OK  # lists only
    assert shelf("find", "--student", "S-0412") == ExitCode.OK
    assert shelf("erase", "S-0412", "--yes") == ExitCode.OK
    assert shelf("find", "--student", "S-0412") == ExitCode.INPUT_REFUSED
    assert run(["build", str(DEMO), "-o", "again.pdf", "--shelve"]) == ExitCode.CONSENT
    assert not Path("again.pdf").exists()  # judged before anything is written
    capsys.readouterr()
    assert shelf("log", "--json") == ExitCode.OK
    log = json.loads(capsys.readouterr().out)["log"]
    assert {line["who"] for line in log} == {"front desk"}
    assert [line["what"] for line in log] == [
        "erase", "exported", "handed over", "given", "added", "started",
    ]  # fmt: skip


def test_several_files_and_one_of_them_bad(place, capsys):
    good = put(place, "good.pdf", record_pdf())
    bad = put(place, "bad.pdf", b"nothing")
    assert shelf("add", bad, good) == ExitCode.BATCH_PARTLY_FAILED
    told = capsys.readouterr()
    assert "good.pdf: shelved" in told.out
    assert "bad.pdf: is no PDF" in told.err
    assert shelf("add", bad) == ExitCode.INPUT_REFUSED
    assert shelf("add", bad, bad) == ExitCode.INPUT_REFUSED
    assert shelf("add", put(place, "no.pdf", record_pdf(archive=False))) == ExitCode.CONSENT


def test_a_table_that_no_spreadsheet_runs(place, capsys):
    """OWASP, CSV Injection: a cell that begins with = + - @ runs as a formula."""
    coach = "=HYPERLINK(1)"
    shelf("add", put(place, "a.pdf", record_pdf(coach=coach, name="@SUM(A1)")))
    capsys.readouterr()
    assert shelf("find", "--csv") == ExitCode.OK
    (row,) = csv.DictReader(io.StringIO(capsys.readouterr().out))
    assert row["coach"] == "'=HYPERLINK(1)"
    assert row["student_name"] == "'@SUM(A1)"
    assert row["day"] == "2027-03-01"


def test_nothing_typed_is_taken_for_something_else(place, capsys):
    shelf("add", put(place, "a.pdf", record_pdf()))
    for typed, code, word in (
        (("find", "--fault", "slyce"), ExitCode.INPUT_REFUSED, 'did you mean "slice"'),
        (("find", "--measure", "shaft-leen:1..2"), ExitCode.INPUT_REFUSED, "shaft-lean"),
        (("find", "--measure", "shaft-lean:5"), ExitCode.INPUT_REFUSED, "no range"),
        (("find", "--measure", "shaft-lean:a..b"), ExitCode.INPUT_REFUSED, "measure"),
        (("find", "--since", "1.3.2027"), ExitCode.INPUT_REFUSED, "year-month-day"),
        (("find", "!?"), ExitCode.INPUT_REFUSED, "a letter or a digit"),
        (("find", "--best"), ExitCode.USAGE, "words"),
        (("verify", "--only", "9/3"), ExitCode.USAGE, "no part"),
        (("given", "no-such"), ExitCode.INPUT_REFUSED, "no lesson"),
        (("erase",), ExitCode.USAGE, "name a student"),
        (("erase", "S-1", "--resume"), ExitCode.USAGE, "alone"),
        (("import", "a.pdf"), ExitCode.INPUT_REFUSED, "already"),
        (("merge", "nowhere"), ExitCode.INPUT_REFUSED, "no shelf here"),
    ):
        capsys.readouterr()
        assert shelf(*typed) == code, typed
        assert word in capsys.readouterr().err, typed


def test_a_bomb_has_the_code_of_a_limit(place):
    document = pdf_with([("session.yaml", b"#" * 5_000_000)], "x")
    assert len(document) < 20_000
    assert shelf("import", put(place, "bomb.pdf", document)) == ExitCode.LIMIT


def test_retire_lists_first(place, capsys):
    shelf("add", put(place, "a.pdf", record_pdf(until="2027-05-01")))
    shelf("add", put(place, "b.pdf", record_pdf("b", "S-2", day="2020-01-01")))
    capsys.readouterr()
    assert shelf("retire", "--years", "5", "--json") == ExitCode.OK
    told = json.loads(capsys.readouterr().out)
    assert (told["done"], [one["lesson"] for one in told["records"]]) == (False, ["b"])
    assert shelf("find", "--student", "S-2") == ExitCode.OK
    assert shelf("retire", "--years", "5", "--yes") == ExitCode.OK
    assert shelf("find", "--student", "S-2") == ExitCode.INPUT_REFUSED
    assert shelf("find", "--student", "S-1") == ExitCode.OK


def test_a_damaged_shelf_has_the_code_of_damage(place, capsys):
    shelf("add", put(place, "a.pdf", record_pdf()))
    (path,) = (place / "shelf" / "records").glob("*/*.pdf")
    path.write_bytes(b"spoilt")
    assert shelf("verify", "--json") == ExitCode.ARCHIVE_DAMAGED
    assert json.loads(capsys.readouterr().out.split("shelved")[-1].split("\n", 1)[1])["damages"]
    assert shelf("export", "S-1", "out") == ExitCode.ARCHIVE_DAMAGED
    assert shelf("rebuild", "new") == ExitCode.BATCH_PARTLY_FAILED


def test_every_object_says_its_version(place, capsys):
    shelf("add", put(place, "a.pdf", record_pdf()))
    for typed in (
        ("find",), ("progress", "S-1"), ("due",), ("verify",), ("totals",), ("handover", "S-1"),
        ("log",), ("retire",), ("prove", "a.pdf"), ("merge", "shelf"),
    ):  # fmt: skip
        capsys.readouterr()
        assert shelf(*typed, "--json") == ExitCode.OK, typed
        assert json.loads(capsys.readouterr().out)["version"] == 1, typed


def test_without_a_shelf(monkeypatch, tmp_path):
    monkeypatch.delenv("LESSON_REPORTER_SHELF", raising=False)
    assert shelf("find", "x") == ExitCode.USAGE
    assert run(["build", str(DEMO), "-o", str(tmp_path / "x.pdf"), "--shelve"]) == ExitCode.USAGE
    assert shelf("find", "x", "--shelf", str(tmp_path)) == ExitCode.INPUT_REFUSED


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_and_option_is_written_up(name):
    assert re.search(rf"^\| `{name}[ `]", DOCUMENT, re.MULTILINE), name
    for parameter in COMMANDS[name].params:
        if isinstance(parameter, click.Option) and parameter.name not in ("quiet", "verbose"):
            for option in parameter.opts:
                assert f"`{option}" in DOCUMENT, (name, option)
        elif isinstance(parameter, click.Argument):
            assert parameter.human_readable_name.upper() in DOCUMENT


def test_no_word_of_a_command_that_is_not_there():
    named = set(re.findall(r"^\| `([a-z]+)[ `]", DOCUMENT.split("### find")[0], re.MULTILINE))
    assert named == set(COMMANDS)
