"""What travels inside the file, read back by libraries that did not write it."""

import csv
import hashlib
import io
import json

import pikepdf
import pytest
from pypdf import PdfReader

from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm
from reporter.handout.formula_safe import safe_cell, safe_csv
from reporter.handout.handed_on import HANDED_ON, KEPT_BACK, WHOLE
from reporter.session.schema import Session
from reporter.yaml_source import read_yaml
from tests.conftest import DEMO, JUNIOR, ROOT, TODAY


def carried(path) -> dict[str, bytes]:
    return {name: parts[0] for name, parts in PdfReader(path).attachments.items()}


def test_the_handout_carries_lesson_measures_and_making(demo_pdf):
    assert set(carried(demo_pdf())) == {
        "session.yaml", "measurements.json", "measurements.csv", "build.json",
    }  # fmt: skip


def test_the_record_carries_every_file_as_it_lies_in_the_folder(linked_pdf):
    files = carried(linked_pdf(record=True))
    folder = ROOT / "demo_session"
    assert files["shots.csv"] == (folder / "shots.csv").read_bytes()
    assert b"private_notes: Asked about new clubs" in files["session.yaml"]
    frames = [name for name in files if name.startswith("frame-")]
    assert len(frames) == len(list((folder / "frames").glob("*.jpg")))
    whole = files["session.yaml"].decode()
    assert whole.replace("  video_link: https://video.example/lessons/5f0c27d1b9e84a36?view=both\n",
                         "") == DEMO.read_text("utf-8")  # fmt: skip


def test_each_file_has_relationship_kind_checksum_and_date(demo_pdf):
    """ISO 19005-3, 6.8; ISO 32000-1, table 46."""
    relationships = {}
    with pikepdf.open(demo_pdf()) as document:
        assert len(document.Root.AF) == len(document.Root.Names.EmbeddedFiles.Names) / 2
        for one in document.Root.AF:
            stream = one.EF.F
            data = stream.read_bytes()
            assert bytes(stream.Params.CheckSum) == hashlib.md5(data).digest()
            assert stream.Params.Size == len(data)
            assert str(stream.Params.ModDate).startswith("D:20270413")
            relationships[str(one.UF)] = (str(one.AFRelationship), str(stream.Subtype))
    assert relationships == {
        "session.yaml": ("/Source", "/application/yaml"),
        "measurements.json": ("/Data", "/application/json"),
        "measurements.csv": ("/Data", "/text/csv"),
        "build.json": ("/Supplement", "/application/json"),
    }


def test_a_switch_leaves_everything_out(linked_pdf):
    path = linked_pdf(attachments=False)
    assert carried(path) == {}
    with pikepdf.open(path) as document:
        assert "/AF" not in document.Root


def test_the_lesson_handed_on_is_a_lesson_and_names_no_place(demo_pdf):
    text = carried(demo_pdf())["session.yaml"]
    source = read_yaml(text, "session.yaml")
    session = Session.model_validate(source.value)
    original = Session.model_validate(read_yaml(DEMO.read_bytes(), "session.yaml").value)
    assert session.thoughts == original.thoughts
    assert [frame.points for frame in session.frames] == [f.points for f in original.frames]
    assert session.drills == original.drills
    assert session.private_notes is None
    assert not session.student.avoid
    assert not session.consent.photos
    assert {frame.file for frame in session.frames} == {f"{f.id}.jpg" for f in original.frames}


def test_a_minor_is_handed_on_by_the_first_name(tmp_path):
    folder = tmp_path / "lesson"
    folder.mkdir()
    (folder / "session.yaml").write_text(
        "student: {name: Ilo Vandersteke, age_band: 13-15}\nthoughts: [Keep low]\n", "utf-8"
    )
    built = build_handout(
        folder / "session.yaml", output=None, brand=None, layout="handout", paper="a4", today=TODAY
    )
    text = carried(built.path)["session.yaml"].decode()
    assert "name: Ilo\n" in text
    assert "Vandersteke" not in text


def fields(model, path: str = "") -> set[str]:
    """Every field that is decided on by itself: down to where a whole part is handed on."""
    decided = set()
    for name, field in model.model_fields.items():
        here = f"{path}{name}"
        allowed = HANDED_ON
        for part in here.split("."):
            allowed = allowed.get(part) if isinstance(allowed, dict) else None
        if isinstance(allowed, dict):
            inner = [a for a in (field.annotation, *getattr(field.annotation, "__args__", ()))
                     if hasattr(a, "model_fields")]  # fmt: skip
            decided |= fields(inner[0], f"{here}.")
        else:
            decided.add(here if allowed != WHOLE else f"{here} is handed on")
    return decided


def test_every_field_is_either_handed_on_or_kept_back():
    undecided = {name for name in fields(Session) if not name.endswith(" is handed on")}
    assert undecided == KEPT_BACK


def test_measures_are_the_same_in_both_forms(demo_pdf):
    files = carried(demo_pdf())
    listed = json.loads(files["measurements.json"])
    rows = list(csv.DictReader(io.StringIO(files["measurements.csv"].decode(), newline="")))
    assert len(rows) == len(listed["measures"]) > 20
    for row, one in zip(rows, listed["measures"], strict=True):
        assert row["id"] == one["id"]
        assert row["value"] == ("" if one["value"] is None else str(one["value"]))


def test_the_changes_carried_are_the_ones_printed(demo_pdf):
    listed = json.loads(carried(demo_pdf())["measurements.json"])
    verdicts = [one["verdict"] for one in listed["changes"]]
    assert set(verdicts) <= {
        "changed",
        "perhaps changed",
        "not shown to have changed",
        "cannot tell",
    }
    assert {one["compared_together"] for one in listed["changes"]} == {7}
    for one in listed["changes"]:
        # 2.98 standard errors for seven measures, drawn by numpy as in tests/measure/test_many.py.
        assert one["smallest_change"] == pytest.approx(one["plus_minus"] * 2.98 / 1.96, rel=0.02)
    text = " ".join(
        " ".join(page.extract_text() for page in PdfReader(demo_pdf()).pages).split()
    )
    assert len(verdicts) == 7
    printed = text.count("not shown to have changed")
    assert printed >= verdicts.count("not shown to have changed") > 0


def test_the_making_names_what_was_read_and_how(linked_pdf):
    build = json.loads(carried(linked_pdf(ink="grey", purpose="mail"))["build.json"])
    assert build["copy"] == "handout"
    assert build["look"] | {"sheets": 0} == {
        "layout": "handout", "brand": "Plain", "paper": "a4", "ink": "grey", "sheets": 0,
    }  # fmt: skip
    assert build["pictures"]["dots_per_inch"] == 150
    shots = (ROOT / "demo_session" / "shots.csv").read_bytes()
    assert build["sha256"]["shots.csv"] == hashlib.sha256(shots).hexdigest()
    frame = (ROOT / "demo_session" / "frames" / "face-on-before-setup.jpg").read_bytes()
    told = build["sha256"]["frames"]["face-on-before-setup"]
    assert told == hashlib.sha256(frame).hexdigest()


def test_frames_of_a_minor_without_consent_are_not_in_the_record(tmp_path):
    target = tmp_path / "record.pdf"
    build_handout(
        JUNIOR, output=target, brand=None, layout="handout", paper="a4", today=TODAY,
        form=FileForm(record=True),
    )  # fmt: skip
    assert not [name for name in carried(target) if name.endswith(".jpg")]


def test_files_for_every_lesson_go_into_the_record(tmp_path):
    folder = tmp_path / "school" / "lesson"
    folder.mkdir(parents=True)
    (folder / "session.yaml").write_bytes(b"\xef\xbb\xbfthoughts:\r\n  - Keep low # so\r\n")
    academy = b"lesson: {academy: Fenwater Golf School}  # ours\n"
    (tmp_path / "school" / "academy.yaml").write_bytes(academy)
    built = build_handout(
        folder / "session.yaml", output=None, brand=None, layout="handout", paper="a4",
        today=TODAY, form=FileForm(record=True),
    )  # fmt: skip
    files = carried(built.path)
    assert built.path.name == "record.pdf"
    assert files["session.yaml"] == (folder / "session.yaml").read_bytes()
    assert files["academy.yaml"] == academy
    assert any("consent" in warning for warning in built.warnings)


@pytest.mark.parametrize("value", ["=1+1", "+SUM(A1)", "-2+3", "@x", "\t=1", "\r=1", "\n=1"])
def test_no_cell_starts_a_formula(value):
    """The signs a spreadsheet takes for a formula (OWASP, CSV Injection)."""
    written = safe_csv(["a"], [[value]])
    cell = list(csv.reader(io.StringIO(written.decode(), newline="")))[1][0]
    assert cell == "'" + value


@pytest.mark.parametrize("value", ["-2.5", "+3", "-12", "", "plain", 'quo"te', "a,b"])
def test_numbers_and_words_stay_as_they_are(value):
    written = safe_csv(["a"], [[value]])
    assert list(csv.reader(io.StringIO(written.decode(), newline="")))[1][0] == value
    assert safe_cell(None) == ""
