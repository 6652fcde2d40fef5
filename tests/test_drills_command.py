"""The list of drills: searched by hand, with an academy's own, refused with the nearest word."""

import json
from pathlib import Path

import pytest
import yaml

from reporter.command_line import run
from reporter.errors import ExitCode, InputRefusedError
from reporter.handout.find_drills import find_drills
from reporter.handout.refusals import check_references
from reporter.session.load import load_session

DATA = Path(__file__).resolve().parents[1] / "reporter" / "story" / "data"
RAW = yaml.safe_load((DATA / "drills.yaml").read_text("utf-8"))["drills"]
OWN = """\
drills:
  - id: two-coins
    name: Two coins
    aim: Start the putt on its line
    acts_on: [face-angle]
    faults: [putts-off-line]
    space: home
    balls: yes
    minutes: 6
    equipment: [two coins]
    set_up: Two coins a ball's width apart, one metre ahead.
    do: Roll the ball between them.
    dose: 2 × 5, in turn with something else
    self_check: 4 of 5 touch no coin.
    easier: Coins half a metre ahead.
    harder: Coins two metres ahead.
    care: Nobody barefoot near; pick the coins up afterwards.
    focus: Roll it over the gap
    tally: {sets: 2, of: 5}
    avoid_if: [back]
    sketch:
      view: from-above
      frame: [-30, -20, 30, 110]
      items:
        - ball: [0, 0]
"""


def listed(capsys, *arguments: str) -> list[dict]:
    assert run(["drills", *arguments, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["version"] == 1
    return answer["drills"]


@pytest.fixture(autouse=True)
def elsewhere(tmp_path, monkeypatch):
    """A folder with nothing of an academy's above it."""
    folder = tmp_path / "a" / "b" / "c" / "lesson"
    folder.mkdir(parents=True)
    monkeypatch.chdir(folder)
    return folder


def test_every_drill_of_the_file_is_listed(capsys):
    found = listed(capsys)
    assert [drill["id"] for drill in found] == [drill["id"] for drill in RAW]
    for drill, raw in zip(found, RAW, strict=True):
        for name in ("name", "aim", "set_up", "do", "self_check", "care", "space", "focus"):
            assert drill[name] == raw[name]
        assert drill["own"] is False


@pytest.mark.parametrize(
    ("options", "passes"),
    [
        (["--fault", "slice"], lambda d: "slice" in d["faults"]),
        (["--acts-on", "low-point"], lambda d: "low-point" in d["acts_on"]),
        (["--space", "home"], lambda d: d["space"] == "home"),
        (["--space", "green"], lambda d: d["space"] in ("green", "home")),
        (["--no-balls"], lambda d: not d["balls"]),
        (["--balls", "--fault", "fat"], lambda d: d["balls"] and "fat" in d["faults"]),
        (["--avoid", "back,knee"], lambda d: not {"back", "knee"} & set(d.get("avoid_if", ()))),
        (["--equipment", "towel"], lambda d: set(d.get("equipment", ())) <= {"towel"}),
        (["--equipment", "none"], lambda d: not d.get("equipment")),
        (["towel"], lambda d: "towel" in f"{d['id']} {d['name']} {d['aim']} {d['focus']}".lower()),
    ],
)
def test_filters_agree_with_the_file_read_by_another_reader(capsys, options, passes):
    # PyYAML with its usual types reads the same file here; the filters are written out by hand.
    expected = [drill["id"] for drill in RAW if passes(drill)]
    assert expected
    assert [drill["id"] for drill in listed(capsys, *options)] == expected


def test_one_id_shows_that_drill_whole(capsys):
    assert run(["drills", "towel-behind"]) == 0
    out = capsys.readouterr().out
    raw = next(drill for drill in RAW if drill["id"] == "towel-behind")
    for name in ("set_up", "do", "self_check", "easier", "harder", "care", "focus"):
        assert raw[name] in out
    assert [drill["id"] for drill in listed(capsys, "towel-behind")] == ["towel-behind"]


@pytest.mark.parametrize(
    ("arguments", "field", "meant"),
    [
        (["--fault", "slcie"], "fault", "slice"),
        (["--acts-on", "lowpoint"], "acts-on", "low-point"),
        (["--space", "rnage"], "space", "range"),
        (["--avoid", "back,kne"], "avoid", "knee"),
        (["--equipment", "towl"], "equipment", "towel"),
        (["towel-behnd"], "", "towel-behind"),
    ],
)
def test_an_unknown_word_is_refused_with_the_nearest(capsys, arguments, field, meant):
    assert run(["drills", *arguments]) == ExitCode.INPUT_REFUSED == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert f'did you mean "{meant}"?' in err
    assert f"command line: {field}" in err


def test_all_unknown_words_are_told_at_once(capsys):
    assert run(["drills", "--fault", "slcie", "--avoid", "bak", "--space", "hme"]) == 3
    assert capsys.readouterr().err.count("did you mean") == 3


def test_filters_that_nothing_passes_are_no_fault(capsys):
    assert run(["drills", "--fault", "slice", "--space", "home", "--no-balls"]) == 0
    assert listed(capsys, "--fault", "slice", "--space", "home", "--no-balls") == []


@pytest.mark.parametrize("levels", [0, 1, 3])
def test_an_academys_file_is_found_here_or_above(elsewhere, capsys, levels):
    place = (elsewhere, *elsewhere.parents)[levels]
    (place / "drills.yaml").write_text(OWN, encoding="utf-8")
    found = listed(capsys)
    assert len(found) == len(RAW) + 1
    assert [drill["id"] for drill in found if drill["own"]] == ["two-coins"]
    assert listed(capsys, "two-coins")[0]["care"].startswith("Nobody barefoot")


def test_four_folders_above_is_too_far(elsewhere, capsys):
    (elsewhere.parents[3] / "drills.yaml").write_text(OWN, encoding="utf-8")
    assert len(listed(capsys)) == len(RAW)


def test_a_file_can_be_named(elsewhere, capsys):
    other = elsewhere / "trial.yaml"
    other.write_text(OWN, encoding="utf-8")
    assert [d["id"] for d in listed(capsys, "--drills", str(other)) if d["own"]] == ["two-coins"]
    assert run(["drills", "--drills", str(elsewhere / "nothing.yaml")]) == 3
    assert "nothing.yaml" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("sound", "broken", "told"),
    [
        ("    care: Nobody barefoot near; pick the coins up afterwards.\n", "",
         "drills.yaml:2:5: drills.0.care: is missing"),
        ("minutes: 6", "minutes: six", "drills.yaml:9:14: drills.0.minutes"),
        ("id: two-coins", "id: pump", 'drills.yaml:2:9: drills.0.id: "pump" is used twice'),
        ("[putts-off-line]", "[putts-of-line]",
         'drills.yaml:6:14: drills.0.faults.0: "putts-of-line" is not known; did you mean'),
        ("    focus:", "    fokus:", "drills.0.fokus: unknown field"),
        ("Two coins\n", "Two \U0001fa99 coins\n", "drills.yaml:3:11: drills.0.name"),
    ],
)  # fmt: skip
def test_an_academys_mistake_is_refused_at_its_line(elsewhere, capsys, sound, broken, told):
    assert sound in OWN
    (elsewhere / "drills.yaml").write_text(OWN.replace(sound, broken, 1), encoding="utf-8")
    assert run(["drills"]) == 3
    assert told in capsys.readouterr().err


def test_a_lesson_may_name_an_academys_drill(elsewhere):
    (elsewhere.parent / "drills.yaml").write_text(OWN, encoding="utf-8")
    (elsewhere / "session.yaml").write_text(
        "thoughts: [Level head]\nlesson: {date: 2027-04-13}\ndrills: [two-coins, pump]\n",
        encoding="utf-8",
    )
    loaded = load_session(elsewhere)
    check_references(loaded)
    assert "two-coins" in {drill.id for drill in find_drills(loaded.folder)}
    (elsewhere.parent / "drills.yaml").unlink()
    with pytest.raises(InputRefusedError) as refused:
        check_references(loaded)
    assert 'session.yaml:3:10: drills.0: there is no drill "two-coins"' in str(refused.value)
