"""Where a printed letter was written: at its field, at a text like it, or nowhere."""

import pytest

from reporter.session.load import load_session

LESSON = """\
lesson: {id: l1, date: 2027-04-13, place: Żuraw meadow}
student: {name: Wren}
thoughts:
  - Turn, then swing.
  - Żwawo through the gate.
  - Hold it, Żwawo.
"""


@pytest.mark.parametrize(
    ("path", "letter", "text", "line"),
    [
        (("thoughts", 1), "Ż", "Żwawo through the gate.", 5),
        (("thoughts",), "Ż", "Hold it, Żwawo.", 6),  # of two below the field, the one that is shown
        ("", "Ż", "Żuraw meadow, 13 April", 1),  # a page shows it with more around it
        (("student", "name"), "Ż", "Żuraw meadow", 1),  # far from its field, known by its text
        (("student", "name"), "q", "q", 2),  # written nowhere: at the field
        (("coach", "name"), "q", "q", 0),  # nor is the field
    ],
)
def test_a_letter_is_put_where_it_was_written(tmp_path, path, letter, text, line):
    (tmp_path / "session.yaml").write_text(LESSON, encoding="utf-8")
    problem = load_session(tmp_path / "session.yaml").problem_of_letter(path, letter, text, "no")
    assert (problem.file, problem.line, problem.message) == ("session.yaml", line, "no")
