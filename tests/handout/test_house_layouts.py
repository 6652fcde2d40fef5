"""An academy's own layouts: found by name or file, based on others, refused like brands."""

import re
from pathlib import Path

import pypdf
import pytest

from reporter.errors import InputRefusedError
from reporter.handout.build import build_handout
from reporter.handout.find_brand import find_brand
from reporter.handout.find_layout import find_layout
from reporter.session.load import load_session
from reporter.typeset import load_page_layout
from tests.conftest import TODAY

DOCS = Path(__file__).resolve().parents[2] / "docs"
MINE = """format: 1
name: Lakeside
based_on: handout
type:
  body: {size: 12, lead: 16}
"""


@pytest.fixture
def academy(tmp_path):
    """Return a folder with an academy's layouts and a lesson two folders below it."""
    lesson = tmp_path / "students" / "runa" / "session.yaml"
    lesson.parent.mkdir(parents=True)
    lesson.write_text("thoughts:\n  - say: Keep your buttons back\n", encoding="utf-8")
    (tmp_path / "layouts").mkdir()
    return tmp_path


def write(academy, name: str, text: str) -> Path:
    path = academy / "layouts" / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def loaded(academy):
    return load_session(academy / "students" / "runa" / "session.yaml")


def refusal(academy, asked: str | None = None) -> str:
    with pytest.raises(InputRefusedError) as refused:
        find_layout(asked, loaded(academy))
    return str(refused.value)


def test_a_layout_is_found_by_name_above_the_lesson(academy):
    write(academy, "lakeside", MINE)
    found = find_layout("lakeside", loaded(academy))
    assert found.name == "Lakeside"
    assert found.type["body"].size == 12
    assert found.margins == load_page_layout("handout").margins


def test_the_academy_and_the_lesson_may_name_it(academy):
    write(academy, "lakeside", MINE)
    (academy / "academy.yaml").write_text("lesson:\n  layout: lakeside\n", encoding="utf-8")
    assert find_layout(None, loaded(academy)).name == "Lakeside"
    # The command line goes before it.
    assert find_layout("text", loaded(academy)).name == "text"
    assert find_layout("handout", loaded(academy)).name == "handout"


def test_the_academy_may_name_its_brand(academy):
    folder = academy / "brands" / "lakes"
    folder.mkdir(parents=True)
    text = 'format: 1\nname: Lakes\nink: "#14524A"\ntint: "#DCEBE6"\n'
    (folder / "brand.yaml").write_text(text, encoding="utf-8")
    house = academy / "academy.yaml"
    house.write_text("lesson:\n  brand: lakes\n", encoding="utf-8")
    assert find_brand(None, loaded(academy)).name == "Lakes"
    house.write_text("lesson:\n  brand: lake\n", encoding="utf-8")
    with pytest.raises(InputRefusedError) as refused:
        find_brand(None, loaded(academy))
    assert "academy.yaml:2:" in str(refused.value)
    assert "quillmere" in str(refused.value)


def test_without_any_it_is_the_handout(academy):
    assert find_layout(None, loaded(academy)).name == "handout"


@pytest.mark.parametrize("relative", [False, True])
def test_a_file_is_taken_as_it_is(academy, monkeypatch, relative):
    path = write(academy, "lakeside", MINE.replace("handout", "quiet"))
    write(academy, "quiet", MINE.replace("Lakeside", "Quiet").replace("size: 12", "size: 13"))
    monkeypatch.chdir(academy / "layouts")
    found = find_layout("lakeside.yaml" if relative else str(path), loaded(academy))
    assert found.name == "Lakeside"
    # Its own step, and what it is based on in its own folder.
    assert found.type["body"].size == 12
    assert found.based_on == "quiet"


def test_a_layout_may_stand_in_for_a_bundled_one(academy):
    write(academy, "handout", MINE)
    write(academy, "two", MINE.replace("size: 12, lead: 16", "size: 13, lead: 17"))
    assert find_layout("handout", loaded(academy)).name == "Lakeside"
    # Another of the academy's is based on the academy's; the bundled ones know nothing of it.
    mine = MINE.replace("type:\n  body: {size: 12, lead: 16}\n", "")
    write(academy, "three", mine)
    assert find_layout("three", loaded(academy)).type["body"].size == 12
    assert find_layout("large-print", loaded(academy)).type["body"].size == 14
    write(academy, "four", mine.replace("handout", "pictures"))
    assert find_layout("four", loaded(academy)).type["body"].size == 11


def test_a_circle_is_refused_at_its_line(academy):
    for name, base in (("one", "two"), ("two", "three"), ("three", "one")):
        write(academy, name, MINE.replace("handout", base))
    told = refusal(academy, "one")
    assert "layouts/three.yaml:3:" in told
    assert "one → two → three → one" in told
    write(academy, "self", MINE.replace("handout", "self"))
    assert "layouts/self.yaml:3:" in refusal(academy, "self")
    assert "self → self" in refusal(academy, "self")


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("type:", "kind:", 4, "kind"),
        ("name: Lakeside", "name: Lakeside\ncolour: red", 3, "colour"),
        ("{size: 12, lead: 16}", "{size: 6, lead: 16}", 5, "8.5"),
        ("body:", "boddy:", 5, "boddy"),
        ("based_on: handout", "based_on: hand-out", 3, "large-print"),
        ("type:", "margins: {left: 95, right: 95, top: 27, bottom: 20}\ntype:", 4, "20 mm wide"),
        ("type:", "drills: {in_a_row: 3, sketch_heights: [300, 300]}\ntype:", 4, "sketch"),
        ("type:", "papers: {a3: }\ntype:", 4, "a3"),
        ("format: 1", "format: 2", 1, "1"),
        ("name: Lakeside", "name: !!python/name:os.system Lakeside", 2, ""),
    ],
)
def test_mistakes_are_refused_at_their_line(academy, old, new, line, words):
    write(academy, "lakeside", MINE.replace(old, new, 1))
    told = refusal(academy, "lakeside")
    assert f"layouts/lakeside.yaml:{line}:" in told
    assert words in told


def test_a_name_that_is_none_is_told_with_those_there_are(academy):
    write(academy, "lakeside", MINE)
    told = refusal(academy, "lake")
    assert told.startswith("command line:")
    assert "lakeside" in told
    assert "one-sheet" in told
    lesson = academy / "students" / "runa" / "session.yaml"
    lesson.write_text("lesson:\n  layout: ../layouts/lakeside\nthoughts: [Keep low]\n", "utf-8")
    told = refusal(academy)
    assert told.startswith("session.yaml:2:")
    assert "lesson.layout" in told


def test_links_and_huge_files_are_refused(academy, tmp_path):
    outside = tmp_path / "outside.yaml"
    outside.write_text(MINE, encoding="utf-8")
    (academy / "layouts" / "linked.yaml").symlink_to(outside)
    assert "is a link" in refusal(academy, "linked")
    write(academy, "huge", MINE + "# " + "x" * 70_000)
    assert "at most 65536 are read" in refusal(academy, "huge")
    assert "there is no file" in refusal(academy, str(academy / "layouts" / "gone.yaml"))
    write(academy, "base", MINE.replace("handout", "linked"))
    assert "is a link" in refusal(academy, "base")


def test_the_example_of_the_docs_builds(academy, tmp_path):
    (text,) = re.findall(r"```yaml\n(# layouts/.*?)```", (DOCS / "layouts.md").read_text("utf-8"),
                         re.DOTALL)  # fmt: skip
    name = re.match(r"# layouts/([a-z-]+)\.yaml", text)[1]
    write(academy, name, text)
    target = tmp_path / "handout.pdf"
    wanted = {"brand": None, "paper": "a4", "today": TODAY}
    lesson = academy / "students" / "runa" / "session.yaml"
    build_handout(lesson, output=target, layout=name, **wanted)
    plain = tmp_path / "plain.pdf"
    build_handout(lesson, output=plain, layout=None, **wanted)
    pages = [len(pypdf.PdfReader(path).pages) for path in (target, plain)]
    assert pages[0] > 0
    # It leaves out the record, and names itself in what travels inside.
    assert "Record" not in "".join(p.extract_text() for p in pypdf.PdfReader(target).pages)
    assert "Record" in "".join(p.extract_text() for p in pypdf.PdfReader(plain).pages)


def test_a_coach_types_it(academy):
    from click.testing import CliRunner

    from reporter.command_line import cli

    path = write(academy, "lakeside", MINE)
    lesson = str(academy / "students" / "runa" / "session.yaml")
    run = CliRunner().invoke(cli, ["build", lesson, "--layout", str(path)])
    assert run.exit_code == 0, run.output
    path.write_text(MINE.replace("type:", "tpye:"), encoding="utf-8")
    run = CliRunner().invoke(cli, ["build", lesson, "--layout", "lakeside", "--force"])
    assert run.exit_code == 3 or "lakeside.yaml:4" in str(run.exception)
