"""The catalogue is whole, its words read well, and the page in docs is written from it."""

from pathlib import Path
from xml.etree import ElementTree

import pytest
from draw_measures import drawings

import reporter.measure
from reporter.measure import BY_ID, CATALOGUE, Class
from reporter.measure.reference_page import reference_page
from reporter.session.schema import POINT_NAMES

ROOT = Path(__file__).parents[2]
ASKED = {
    "shaft-to-ground",
    "spine-forward-bend",
    "spine-side-bend",
    "shoulder-line-tilt",
    "pelvis-line-tilt",
    "pelvis-shift",
    "lead-knee-flex",
    "trail-knee-flex",
    "shaft-lean",
    "knee-over-ankle",
    "heel-lift",
    "foot-flare-lead",
    "foot-flare-trail",
    "stance-width",
}


def test_the_asked_measures_are_there_once():
    assert set(BY_ID) >= ASKED
    assert len(BY_ID) == len(CATALOGUE)


def test_docs_are_written_from_the_catalogue():
    committed = (ROOT / "docs" / "measures.md").read_text(encoding="utf-8")
    assert committed == reference_page(), "write docs/measures.md anew; its head says how"


def test_every_row_of_the_simulation_page_has_a_way_and_back():
    page = (ROOT / "docs" / "measure-simulation.md").read_text(encoding="utf-8")
    rows = {
        tuple(cell.strip() for cell in line.split("|")[1:6])
        for line in page.splitlines()
        if line.startswith("| ") and "position" not in line.split("|")[3]
    }
    ways = {
        (measure.id, way.view, position, trust.value, way.unit)
        for measure in CATALOGUE
        for way in measure.ways
        for position in way.positions
        for trust in ({way.trust, Class.MEASURED} if way.straight else {way.trust})
        if not (measure.id == "shaft-to-ground" and way.trust is Class.IMAGE_ANGLE)
    }
    assert rows == ways


def test_every_measure_has_its_drawing_and_it_is_the_generators():
    committed = {
        path.name: path.read_text(encoding="utf-8")
        for path in (ROOT / "docs" / "measure-drawings").glob("*.svg")
    }
    assert committed == drawings(), "run python tests/measure/draw_measures.py"
    assert set(committed) == {f"{measure.id}.svg" for measure in CATALOGUE}
    assert sum(map(len, committed.values())) < 150_000
    for measure in CATALOGUE:
        text = committed[f"{measure.id}.svg"]
        root = ElementTree.fromstring(text)
        told = " ".join(root.itertext())
        assert measure.name in told
        names = {n for way in measure.ways for n in way.needs if not n.startswith("setup.")}
        assert any(name.replace("_", " ") in told for name in names)


@pytest.mark.parametrize("measure", CATALOGUE, ids=lambda m: m.id)
def test_each_entry_is_whole(measure):
    assert measure.name[0].isupper()
    assert measure.definition.endswith(".")
    assert measure.traps
    assert measure.source
    for way in measure.ways:
        named = {n.removeprefix("setup.") for n in way.needs}
        assert named <= {*POINT_NAMES, "held.0", "held.1"}
        assert {n for span in way.spans for n in span} <= set(way.needs)
        assert way.holds
        if way.trust is Class.MEASURED:
            assert way.interval
        if way.trust is Class.CHANGE_ONLY:
            assert way.interval is None
            assert way.change_interval
    seen = [(w.view, p, w.ground, w.reference) for w in measure.ways for p in w.positions]
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize("measure", CATALOGUE, ids=lambda m: m.id)
def test_signs_are_said_in_words(measure):
    unit = measure.ways[0].unit
    phrases = {measure.in_words(v, unit) for v in (7.3, -7.3, 0.2)}
    assert len(phrases) == 3
    assert sum("7" in phrase for phrase in phrases) == 2
    assert measure.change_in_words(3.0, unit) != measure.change_in_words(-3.0, unit)


def test_words_of_a_few_values():
    assert BY_ID["spine-side-bend"].in_words(-4.2, "deg") == "leans 4 degrees away from the target"
    assert BY_ID["spine-side-bend"].in_words(1.0, "deg") == "leans 1 degree toward the target"
    assert BY_ID["pelvis-shift"].in_words(12.4, "% of stance width") == (
        "12 % of stance width toward the target"
    )
    assert BY_ID["toe-line-aim"].in_words(-3.0, "deg") == "aims 3 degrees left of the target"
    assert BY_ID["shaft-lean"].change_in_words(0.3, "deg") == "no difference"


def test_the_exported_names_are_true():
    for name in reporter.measure.__all__:
        assert hasattr(reporter.measure, name)
    assert sorted(reporter.measure.__all__) == sorted(set(reporter.measure.__all__))


def test_heavy_libraries_stay_out():
    import subprocess
    import sys

    code = (
        "import sys, reporter.measure\n"
        "print([n for n in ('cv2', 'scipy', 'matplotlib', 'reportlab') if n in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "[]"
