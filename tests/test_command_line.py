"""What a coach types: exit codes, streams, and that nothing heavy is imported early."""

import datetime
import json
import subprocess
import sys
import types
from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from reporter import command_line
from reporter.command_line import run
from reporter.errors import (
    CannotWriteError,
    ConsentError,
    ExitCode,
    ExtraMissingError,
    InputRefusedError,
    LimitError,
    Problem,
)

ROOT = Path(__file__).resolve().parents[1]
HEAVY = {"reportlab", "matplotlib", "cv2", "scipy", "pypdf", "pydantic", "numpy", "PIL", "yaml",
         "rich", "babel"}  # fmt: skip


@dataclass
class Built:
    path: Path
    pages: int = 6
    warnings: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    silenced: tuple[str, ...] = ()
    calendar: Path | None = None
    told: str = ""


@dataclass
class Advice:
    id: str = "many-drills"
    field: str = "drills"
    message: str = "four drills; one to three are practised"
    reason: str = "few are remembered"
    kind: str = "warning"
    offer: str = ""


@pytest.fixture
def lesson(tmp_path):
    (tmp_path / "frames").mkdir()
    for name in ("before", "after"):
        Image.new("RGB", (120, 160)).save(tmp_path / "frames" / f"{name}-face-on-top.png")
    return tmp_path


@pytest.fixture
def stage(monkeypatch, tmp_path):
    """Stand-ins for the functions behind the commands; the commands alone are tested here."""
    from reporter.handout.lesson_advice import LessonAdvice
    from reporter.session.load import load_session

    calls: list[tuple[str, object]] = []
    module = types.ModuleType("reporter.handout.build")
    module.calls = calls
    module.warnings = ()
    module.advice = ()

    def build_handout(file, **options):
        calls.append(("build", (file, options)))
        return Built(options["output"] or file.parent / "handout.pdf", warnings=module.warnings)

    def measure_lesson(file):
        return [
            {"id": "shaft-to-ground", "frame": "f1", "view": "face-on", "position": "top",
             "value": 12.34, "unit": "deg", "plus_minus": 1.5, "class": "measured", "reason": ""},
            {"id": "stance-width", "frame": "f1", "view": "face-on", "position": "top",
             "value": None, "unit": "cm", "plus_minus": None, "class": "measured",
             "reason": "no ground reference"},
        ]  # fmt: skip

    module.build_handout = build_handout
    checking = types.ModuleType("reporter.handout.check")
    measuring = types.ModuleType("reporter.handout.measure_list")
    checking.check_lesson = lambda file, **options: types.SimpleNamespace(
        loaded=load_session(file), advice=LessonAdvice(module.advice), ease=(), ease_lines=tuple
    )
    measuring.measure_lesson = measure_lesson
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))  # for the log of a fault
    for stand_in in (module, checking, measuring):
        monkeypatch.setitem(sys.modules, stand_in.__name__, stand_in)
    return module


def test_help_imports_nothing_heavy():
    program = (
        "import sys; from reporter.command_line import run\n"
        "code = run(['--help'])\n"
        "print(sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    loaded = set(done.stderr.replace("'", "").strip("[]\n ").split(", "))
    assert "click" in loaded
    assert loaded & HEAVY == set()
    for command in command_line.cli.commands:
        assert command in done.stdout


@pytest.mark.parametrize("command", [[], *([name] for name in command_line.cli.commands)])
def test_every_command_explains_itself(capsys, command):
    assert run([*command, "--help"]) == 0
    assert "Usage:" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [["nope"], ["check"], ["build", "x", "--paper", "a3"], ["build", "x", "--nope"],
     ["check", "a", "b"], ["flight", "--spin"]],
)  # fmt: skip
def test_a_command_typed_wrongly_ends_with_2(capsys, arguments):
    assert run(arguments) == ExitCode.USAGE == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Error:" in err


def test_as_a_module_and_its_real_exit_codes(tmp_path):
    for arguments, code in ((["--version"], 0), (["nope"], 2), (["flight", "--spin", "5"], 3)):
        done = subprocess.run(
            [sys.executable, "-m", "reporter", *arguments], cwd=ROOT, capture_output=True,
            text=True, check=False,
        )  # fmt: skip
        assert done.returncode == code
        assert bool(done.stdout) == (code == 0)
        assert "Traceback" not in done.stderr


def test_new_writes_a_lesson_that_check_accepts(lesson, stage, capsys):
    assert run(["new", str(lesson)]) == 0
    written = (lesson / "session.yaml").read_text("utf-8")
    assert "before-face-on-top" in written
    assert run(["check", str(lesson / "session.yaml")]) == 0
    assert run(["check", str(lesson / "session.yaml"), "--strict"]) == 1
    assert "placeholder" in capsys.readouterr().err
    assert run(["new", str(lesson)]) == ExitCode.CANNOT_WRITE
    assert "not overwritten" in capsys.readouterr().err
    assert (lesson / "session.yaml").read_text("utf-8") == written


def test_new_gives_every_lesson_its_own_id_and_carries_the_students(lesson, tmp_path_factory):
    from reporter.session.load import load_session

    later = tmp_path_factory.mktemp("later")
    assert run(["new", str(lesson)]) == 0
    assert run(["new", str(later), "--after", str(lesson / "session.yaml")]) == 0
    first, second = load_session(lesson).session, load_session(later).session
    assert first.lesson.id != second.lesson.id
    assert first.student.id == second.student.id


@pytest.mark.parametrize("why", ["no-folder", "bad-last", "bad-picture"])
def test_new_that_cannot_be_written_writes_nothing(lesson, capsys, why):
    arguments = ["new", str(lesson)]
    if why == "no-folder":
        arguments = ["new", str(lesson / "nothing")]
    elif why == "bad-last":
        arguments += ["--after", str(lesson / "frames")]
    else:
        (lesson / "frames" / "after-face-on-top.png").write_bytes(b"broken")
    assert run(arguments) in (ExitCode.INPUT_REFUSED, ExitCode.CANNOT_WRITE)
    assert not list(lesson.glob("**/session.yaml"))
    assert capsys.readouterr().err.count("\n") == 1


def test_check_shows_twenty_problems_and_counts_the_rest(tmp_path, stage, capsys):
    (tmp_path / "session.yaml").write_text("thoughts: [x]\n" + "".join(
        f"unknown_{n}: 1\n" for n in range(33)))  # fmt: skip
    assert run(["check", str(tmp_path / "session.yaml")]) == ExitCode.INPUT_REFUSED == 3
    out, err = capsys.readouterr()
    assert out == ""
    lines = err.splitlines()
    assert len(lines) == 21
    assert lines[0].startswith("session.yaml:2:1: unknown_0: unknown field")
    assert lines[-1] == "... and 13 more problems"


def test_check_as_json(tmp_path, stage, capsys):
    file = tmp_path / "session.yaml"
    file.write_text("thoughts: [x]\nstudent: {plays: rigth}\n")
    assert run(["check", str(file), "--json"]) == 3
    out, err = capsys.readouterr()
    answer = json.loads(out)
    assert err == ""
    assert answer["version"] == 1
    assert answer["problems"][0]["line"] == 2
    assert answer["problems"][0]["field"] == "student.plays"
    file.write_text("thoughts: [x]\ndrills: [a]\n")
    stage.advice = (Advice(),)
    assert run(["check", str(file), "--json", "--explain"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["problems"] == []
    assert answer["advice"][0] | {"line": 2, "id": "many-drills"} == answer["advice"][0]
    assert {"field": "thoughts.0.say", "value": '"x"', "file": "session.yaml", "line": 1} in (
        answer["origins"])  # fmt: skip


def test_check_tells_advice_and_origins(tmp_path, stage, capsys):
    file = tmp_path / "session.yaml"
    file.write_text("thoughts: [x]\ndrills: [a]\n")
    stage.advice = (Advice(),)
    assert run(["check", str(file), "--explain"]) == 0
    out, err = capsys.readouterr()
    assert "session.yaml:2:9: drills: advice many-drills: four drills" in err
    assert 'thoughts.0.say = "x"  (session.yaml:1)' in out
    assert run(["check", str(file), "--strict"]) == 1


def test_build_hands_everything_on(tmp_path, stage, capsys):
    from reporter.handout.file_form import FileForm

    file = tmp_path / "session.yaml"
    assert run(["build", str(file), "-o", "out.pdf", "--brand", "plain", "--layout", "x",
                "--paper", "letter", "--force", "--language", "de"]) == 0  # fmt: skip
    ((_, (given, options)),) = stage.calls
    assert given == file
    assert options == {
        "output": Path("out.pdf"), "brand": "plain", "layout": "x", "paper": "letter",
        "today": datetime.date.today(), "force": True,
        "calendar": False, "form": FileForm(), "language": "de", "judge_record": None,
        "progress": None,
    }  # fmt: skip
    out, err = capsys.readouterr()
    assert out == ""
    assert "out.pdf: 6 pages" in err


def test_a_reproducible_build_names_its_day(tmp_path, stage, monkeypatch):
    # 1 000 000 000 s after 1970-01-01 is 2001-09-09 (UTC), a known date of the Unix clock.
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1000000000")
    run(["build", str(tmp_path / "session.yaml")])
    assert stage.calls[0][1][1]["today"] == datetime.date(2001, 9, 9)


@pytest.mark.parametrize("place", ["before", "behind"])
def test_quiet_prints_nothing(tmp_path, stage, capsys, place):
    stage.warnings = ("a warning",)
    file = str(tmp_path / "session.yaml")
    assert run(["-q", "build", file] if place == "before" else ["build", file, "-q"]) == 0
    assert capsys.readouterr() == ("", "")
    assert run(["build", file, "--strict"]) == 1
    assert "a warning" in capsys.readouterr().err


def test_demo_copies_the_lesson_and_builds_it(tmp_path, stage, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(["demo"]) == 0
    folder = Path("demo-lesson")
    assert (folder / "session.yaml").read_bytes() == (
        ROOT / "demo_session" / "session.yaml").read_bytes()  # fmt: skip
    assert list((folder / "frames").iterdir())
    assert not (folder / "renderer").exists()
    assert stage.calls[0][1][1]["output"] == folder / "handout.pdf"
    assert run(["demo"]) == 0  # again over its own files
    (folder / "session.yaml").write_text("mine")
    assert run(["demo"]) == ExitCode.CANNOT_WRITE
    assert (folder / "session.yaml").read_text() == "mine"


def test_measure(tmp_path, stage, capsys):
    assert run(["measure", "x.yaml"]) == 0
    out, _ = capsys.readouterr()
    assert "12.3 deg" in out
    assert "+/- 1.5" in out
    assert "no ground reference" in out
    assert run(["measure", "x.yaml", "--json"]) == 0
    measures = json.loads(capsys.readouterr().out)["measures"]
    assert set(measures[0]) == {
        "id", "frame", "view", "position", "value", "unit", "plus_minus", "class", "reason"
    }  # fmt: skip


def test_schema_is_json(capsys):
    assert run(["schema"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "lesson file"


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (InputRefusedError([Problem("s.yaml", 1, 2, "a", "bad\x1b[31m")]), 3),
        (CannotWriteError("no space"), 5),
        (LimitError("too long"), 8),
        (ConsentError("no consent"), 9),
        (ExtraMissingError("heic", "x"), 10),
        (KeyboardInterrupt(), 130),
        (MemoryError(), 8),
        (ZeroDivisionError("secret name"), 70),
        (RuntimeError("secret name"), 70),
    ],
)
def test_every_error_is_one_line_and_a_code(stage, capsys, monkeypatch, error, code):
    def fail(*_args, **_kwargs):
        raise error

    monkeypatch.setattr(stage, "build_handout", fail)
    assert run(["build", "x.yaml"]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err.strip().count("\n") == 0
    assert "Traceback" not in err
    assert "secret" not in err
    assert "\x1b" not in err


def test_an_internal_fault_leaves_a_log_without_contents(stage, capsys, monkeypatch, tmp_path):

    def fail(*_args, **_kwargs):
        raise RuntimeError("Wren's secret")

    monkeypatch.setattr(stage, "build_handout", fail)
    for _ in range(2):
        assert run(["build", "x.yaml"]) == ExitCode.INTERNAL == 70
    (log,) = tmp_path.glob("lesson-reporter-*.log")
    assert log.stem.removeprefix("lesson-reporter-") in capsys.readouterr().err
    told = log.read_text()
    assert "RuntimeError" in told
    assert "command_line.py" in told
    assert "secret" not in told


def test_output_to_a_reader_that_has_gone():
    done = subprocess.run(
        f'"{sys.executable}" -m reporter schema | true', shell=True, cwd=ROOT,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr
