"""Every field, column, command and option is written up."""

import re
from pathlib import Path

import click
import pytest

from reporter.command_line import cli
from reporter.errors import ExitCode
from reporter.session.schema import LINE_NAMES, POINT_NAMES, Session
from reporter.session.shots import QUANTITIES

DOCS = Path(__file__).resolve().parents[1] / "docs"
SESSION_FILE = (DOCS / "session-file.md").read_text("utf-8")
COMMANDS = (DOCS / "commands.md").read_text("utf-8")


def models(schema: dict) -> dict[str, list[str]]:
    """Field names by model, from the JSON Schema of the lesson file."""
    found = {"Session": list(schema["properties"])}
    for name, definition in schema["$defs"].items():
        for form in definition.get("anyOf", [definition]):
            if "properties" in form:
                found[name] = list(form["properties"])
    return found


FIELDS = [(m, f) for m, names in models(Session.model_json_schema()).items() for f in names]


def test_there_are_fields_to_check():
    assert len(FIELDS) > 80
    assert ("GroundPoint", "ground") in FIELDS


@pytest.mark.parametrize(("model", "field"), FIELDS)
def test_every_field_is_written_up(model, field):
    assert re.search(rf"`{field}[`:]|^    {field}:", SESSION_FILE, re.MULTILINE)


def test_every_allowed_word_is_written_up():
    words = {
        word
        for definition in Session.model_json_schema()["$defs"].values()
        for form in definition.get("anyOf", [definition])
        for value in form.get("properties", {}).values()
        for word in value.get("enum", [])
        if isinstance(word, str)
    }
    assert {"face-on", "lead-arm-level", "60-plus", "by eye"} <= words
    assert sorted(word for word in words if f"`{word}`" not in SESSION_FILE) == []


def test_every_point_line_and_column_is_written_up():
    stems = {name.removeprefix("lead_").removeprefix("trail_") for name in POINT_NAMES}
    names = [*stems, *LINE_NAMES, *QUANTITIES]
    assert sorted(name for name in names if f"`{name}`" not in SESSION_FILE) == []


@pytest.mark.parametrize("name", sorted(cli.commands))
def test_every_command_and_option_is_written_up(name):
    chapter = re.search(rf"^## {name}\b.*?(?=^## |\Z)", COMMANDS, re.MULTILINE | re.DOTALL)
    assert chapter, name
    general = COMMANDS.split("\n## ")[0]
    for parameter in cli.commands[name].params:
        if isinstance(parameter, click.Option):
            for option in parameter.opts:
                assert re.search(rf"`{option}(?: [A-Z]+)?`", chapter[0] + general), option
        else:
            assert parameter.human_readable_name in chapter[0]


def test_every_exit_code_is_written_up():
    assert [code for code in ExitCode if f"| {int(code)} |" not in COMMANDS] == []


def test_the_examples_of_the_lesson_file_are_valid():
    from reporter.session.load import load_text

    blocks = re.findall(r"```yaml\n(.*?)```", SESSION_FILE, re.DOTALL)
    assert len(blocks) == 2
    path = DOCS / "session.yaml"
    assert load_text(blocks[0].encode(), path).session.thoughts
    from reporter.session.schema import Frame
    from reporter.yaml_source import read_yaml

    points = read_yaml(blocks[1].encode(), "points").value["points"]
    frame = {"id": "f", "take": "t", "position": "top", "file": "f.jpg", "points": points}
    assert Frame.model_validate(frame).points["lead_knee"].again[0] == (431.0, 822.0)
