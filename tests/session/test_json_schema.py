"""The shipped JSON Schema is that of the program, and editors can use it."""

import json
from pathlib import Path

import pytest
import yaml

from reporter.bundled import lesson_schema as shipped
from reporter.session.json_schema import lesson_schema

jsonschema = pytest.importorskip("jsonschema")
ROOT = Path(__file__).resolve().parents[2]


def test_the_shipped_schema_is_the_generated_one():
    # To renew it: python -c "from reporter.session.json_schema import lesson_schema as s;
    # print(s(), end='')" > reporter/session/data/lesson.schema.json
    assert shipped().decode("utf-8") == lesson_schema()


@pytest.fixture(scope="module")
def judge():
    schema = json.loads(lesson_schema())
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


class AsAnEditorReads(yaml.SafeLoader):
    """YAML 1.2: dates and yes/no stay text, as in editors that use the schema."""


AsAnEditorReads.yaml_implicit_resolvers = {
    first: [
        (tag, pattern)
        for tag, pattern in resolvers
        if tag not in ("tag:yaml.org,2002:timestamp", "tag:yaml.org,2002:bool")
    ]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
AsAnEditorReads.add_implicit_resolver(
    "tag:yaml.org,2002:bool", yaml.resolver.re.compile("^(?:true|false)$"), list("tf")
)


def read(text: str):
    return yaml.load(text, Loader=AsAnEditorReads)


def test_a_sound_lesson_is_valid(judge, lesson_text):
    assert [error.message for error in judge.iter_errors(read(lesson_text))] == []


@pytest.mark.parametrize("name", ["session.yaml", "junior/session.yaml"])
def test_the_demo_lessons_are_valid(judge, name):
    text = (ROOT / "demo_session" / name).read_text("utf-8")
    assert [error.message for error in judge.iter_errors(read(text))] == []


@pytest.mark.parametrize(
    ("sound", "broken"),
    [
        ("plays: right", "plays: rigth"),
        ("name: Wren", "nmae: Wren"),
        ("photos: yes", "photos: on"),
        ("head_speed: 93 mph", "head_speed: 93"),
        ("lead_knee: hidden", "lead_knee: hiden"),
        ("visits_per_week: 3", "visits_per_week: three"),
        ("visits_per_week: 3", "visits_per_week: 9"),
        ("tally: [3, 8]", "tally: [3]"),
        ("bend: a lot right", "bend: slice"),
        ("date: 2026-11-20, coach", "date: 20.11.2026, coach"),
        ("size: [120, 160]", "size: [0, 160]"),
    ],
)
def test_faults_are_seen(judge, lesson_text, sound, broken):
    assert sound in lesson_text
    assert list(judge.iter_errors(read(lesson_text.replace(sound, broken))))
