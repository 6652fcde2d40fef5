"""Loading a lesson: places by text or by parts, newer formats, what a house file may hold."""

import pytest

from reporter.errors import InputRefusedError
from reporter.session.load import LoadedSession, load_session, load_sources, load_text
from reporter.yaml_source import read_yaml
from tests.session.conftest import LESSON


@pytest.fixture
def loaded(tmp_path) -> LoadedSession:
    folder = tmp_path / "a" / "b" / "c" / "lesson"
    folder.mkdir(parents=True)
    text = "lesson: {id: x}\nthoughts:\n  - say: one\n  - two\n"
    return load_text(text.encode(), folder / "session.yaml")


def test_a_place_is_found_by_parts_and_by_text(loaded):
    assert loaded.place_of(("thoughts", 0, "say")) == ("session.yaml", 3, 10)
    assert loaded.place_of("thoughts.0.say") == ("session.yaml", 3, 10)
    assert loaded.place_of("thoughts.1") == ("session.yaml", 4, 5)
    assert loaded.place_of("nothing.at.all")[1:] == (1, 1)
    assert str(loaded.problem("lesson.id", "m")) == "session.yaml:1:14: lesson.id: m"
    assert loaded.source.name == "session.yaml"
    assert loaded.shots is None
    assert loaded.sizes == {}


@pytest.mark.parametrize(
    ("written", "newer"),
    [("2", True), ("999999999", True), ("1", False), ("0", False), ("x", False),
     ("9999999999", False), ("02", False), ("[2]", False)],
)  # fmt: skip
def test_a_newer_format_is_told_alone(tmp_path, written, newer):
    text = f"format: {written}\nthoughts: [x]\nnobody-knows: this\n"
    if written == "1":
        text = "format: 1\nthoughts: [x]\n"
        assert load_text(text.encode(), tmp_path / "session.yaml")
        return
    with pytest.raises(InputRefusedError) as caught:
        load_text(text.encode(), tmp_path / "session.yaml")
    messages = [problem.message for problem in caught.value.problems]
    assert any("a newer release" in message for message in messages) == newer
    assert any("unknown field" in message for message in messages) != newer


@pytest.mark.parametrize(
    ("text", "words"),
    [(b"", "the file is empty; a lesson needs at least thoughts"), (b"[x]", "made of fields"),
     (b"x", "made of fields"), (b"# nothing\n", "the file is empty")],
)  # fmt: skip
def test_what_is_no_group_of_fields_is_told(tmp_path, text, words):
    with pytest.raises(InputRefusedError, match=words) as caught:
        load_text(text, tmp_path / "session.yaml")
    assert (caught.value.problems[0].line, caught.value.problems[0].column) == (1, 1)


def test_faults_of_all_files_are_told_at_once(tmp_path):
    (tmp_path / "academy.yaml").write_text("lesson: {nobody: x}\nformat: 7\n", "utf-8")
    (tmp_path / "coach.yaml").write_text("plan: {minutes: many}\n", "utf-8")
    with pytest.raises(InputRefusedError) as caught:
        load_text(b"thoughts: [x]\nnobody: x\nseen: {shots: none.csv}\n", tmp_path / "session.yaml")
    told = {(problem.file, problem.field) for problem in caught.value.problems}
    assert told >= {
        ("academy.yaml", "format"), ("coach.yaml", "plan.minutes"), ("session.yaml", "nobody"),
    }  # fmt: skip


def test_a_house_file_that_is_no_yaml_is_told_with_the_lesson_s_own_faults(tmp_path):
    (tmp_path / "academy.yaml").write_text("lesson: {x", "utf-8")
    with pytest.raises(InputRefusedError) as caught:
        load_text(b"thoughts: [x]\nnobody: x\n", tmp_path / "session.yaml")
    assert {problem.file for problem in caught.value.problems} == {"academy.yaml", "session.yaml"}
    with pytest.raises(InputRefusedError) as caught:
        load_text(b"a: [", tmp_path / "session.yaml")
    assert {problem.file for problem in caught.value.problems} == {"academy.yaml", "session.yaml"}


def test_a_table_of_shots_is_read_or_told(tmp_path):
    (tmp_path / "shots.csv").write_bytes(b"carry_m\n150\n")
    text = b"thoughts: [x]\nseen: {shots: shots.csv}\n"
    loaded = load_text(text, tmp_path / "session.yaml")
    assert loaded.shots.columns == {"carry_m": (150.0,)}
    (tmp_path / "shots.csv").write_bytes(b"carry_m\nx\n")
    with pytest.raises(InputRefusedError) as caught:
        load_text(text, tmp_path / "session.yaml")
    assert (caught.value.problems[0].file, caught.value.problems[0].line) == ("shots.csv", 2)
    (tmp_path / "shots.csv").unlink()
    with pytest.raises(InputRefusedError, match=r"session.yaml:2:15: seen.shots: there is no file"):
        load_text(text, tmp_path / "session.yaml")


def test_a_lesson_is_found_by_file_or_folder(tmp_path):
    (tmp_path / "session.yaml").write_bytes(b"thoughts: [x]\n")
    (tmp_path / "other.yaml").write_bytes(b"thoughts: [y]\n")
    assert load_session(tmp_path).path == tmp_path / "session.yaml"
    assert load_session(tmp_path / "other.yaml").session.thoughts[0].say == "y"
    with pytest.raises(InputRefusedError, match="there is no file"):
        load_session(tmp_path / "missing.yaml")


def test_a_placeholder_is_a_warning_at_its_place(tmp_path):
    from reporter.session.schema import PLACEHOLDER_THOUGHT

    text = f"thoughts:\n  - x\n  - {PLACEHOLDER_THOUGHT!r}\n"
    (warning,) = load_text(text.encode(), tmp_path / "session.yaml").warnings
    assert warning.startswith("session.yaml:3:5: thoughts.1: the placeholder")


def test_sizes_are_by_the_frame_s_id(tmp_path):
    from PIL import Image

    (tmp_path / "frames").mkdir()
    for name, size in (("before", (120, 160)), ("after", (130, 170))):
        Image.new("RGB", size).save(tmp_path / "frames" / f"{name}.png")
    loaded = load_text(LESSON.encode(), tmp_path / "session.yaml")
    assert loaded.sizes == {"f1": (120, 160), "f2": (130, 170)}


def test_a_lesson_that_travelled_without_its_folder_is_typed_all_the_same():
    lesson = read_yaml(b"lesson: {id: x}\nthoughts: [one]\n", "session.yaml")
    house = read_yaml(b"lesson: {place: Lower Meadow}\n", "academy.yaml")
    assert load_sources(lesson, [house]).lesson.place == "Lower Meadow"


@pytest.mark.parametrize(
    ("written", "told"),
    [
        (b"format: 99\nthoughts: [x]\n", "format 99"),
        (b"thoughts: [x]\nnope: 1\n", "nope"),
        (b"thoughts: [x]\npairs: [{before: gone}]\n", "gone"),
    ],
)
def test_a_lesson_that_travelled_is_refused_as_any_other(written, told):
    with pytest.raises(InputRefusedError, match=told):
        load_sources(read_yaml(written, "session.yaml"), [])
