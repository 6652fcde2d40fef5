"""Drill data: complete, printable on a card, safe in words, and drawn inside its frame."""

import copy
import dataclasses
import re
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml

from reporter.errors import InputRefusedError
from reporter.story import drill_words
from reporter.story import drills as module
from reporter.story import sketch as shapes
from reporter.story.drill_words import ACTS_ON, AVOID, FAULTS
from reporter.story.drills import (
    Drill,
    DrillDataError,
    bundled_drills,
    bundled_poses,
    contradicting_pairs,
    find_drills,
    load_drills,
    nearest,
    read_drills,
)
from reporter.story.practice_patterns import bundled_patterns, load_patterns
from reporter.yaml_source import read_yaml

DATA = Path(module.__file__).parent / "data" / "drills.yaml"
ESTABLISHED = """gate-two-tees start-line-gate towel-behind stick-in-front line-brush feet-together
    step-through step-in pump lead-hand trail-hand slow-pauses nine-to-three split-grip
    headcover-outside headcover-inside wall-pelvis club-across-chest finish-hold foot-back
    tee-height-ladder face-mark-check distance-ladder putt-gate clock-chips called-shape
    tempo-count"""
PATTERNS = """three-thirds rising-mix one-ball-routine ten-minute-home test-first ladder-week
    on-course-nine contrast speed-safe junior-games senior-short pre-round"""
# Bodies and places a drill must warn about; common practice, no source.
MUST_AVOID = {
    "gate-two-tees": {"wrist"},
    "towel-behind": {"wrist", "elbow"},
    "feet-together": {"balance"},
    "step-through": {"knee", "hip", "slippery-ground"},
    "step-in": {"knee", "ankle"},
    "pump": {"shoulder"},
    "lead-hand": {"wrist", "elbow", "shoulder", "junior"},
    "trail-hand": {"elbow", "wrist"},
    "slow-pauses": {"back"},
    "split-grip": {"wrist"},
    "wall-pelvis": {"hip", "back"},
    "club-across-chest": {"back"},
    "finish-hold": {"knee"},
    "foot-back": {"hip"},
    "start-line-gate": {"crowded-range"},
    "called-shape": {"beginner"},
    "putt-gate": {"back"},
}
CHARACTER_MILLIMETRES = 1.6
"""Mean advance of a letter at 8.5 pt: half an em of 3.0 mm, a little rounded up."""


@pytest.fixture(scope="module")
def raw() -> dict[str, Any]:
    tree: dict[str, Any] = yaml.load(DATA.read_bytes(), Loader=yaml.BaseLoader)
    return tree


@pytest.fixture(scope="module")
def drills(raw: dict[str, Any]) -> tuple[Drill, ...]:
    return load_drills(raw)


def texts(drill: Drill) -> dict[str, str]:
    fields = ("name", "aim", "set_up", "do", "dose", "self_check", "easier", "harder", "care")
    return {name: getattr(drill, name) for name in (*fields, "focus")}


def points_of(item: object) -> list[tuple[float, float]]:
    """Every coordinate pair of a sketch item, found by its field names."""
    found: list[tuple[float, float]] = []
    for field in dataclasses.fields(item):  # type: ignore[arg-type]
        value = getattr(item, field.name)
        if field.name in ("at", "start", "end", "heel", "toe", "handle", "head"):
            found.append(value)
        elif field.name == "points":
            found.extend(value)
        elif field.name == "joints":
            found.extend(getattr(value, joint.name) for joint in dataclasses.fields(value))
    return found


def test_every_established_drill_is_there_once(drills: tuple[Drill, ...]) -> None:
    ids = [drill.id for drill in drills]
    assert len(ids) == len(set(ids))
    assert set(ids) >= set(ESTABLISHED.split())
    assert len(ids) >= 27


def test_sentences_are_whole_and_neutral_for_both_hands(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        for name, text in texts(drill).items():
            assert not re.search(r"\b(left|right)\b(?! after)", text, re.I), (drill.id, name, text)
            assert text == text.strip()
            assert text[0].isupper() or text[0].isdigit(), (drill.id, name)
        for name in ("set_up", "do", "self_check", "easier", "harder", "care"):
            assert texts(drill)[name].endswith("."), (drill.id, name)


def test_no_sentence_promises_or_diagnoses(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        for text in texts(drill).values():
            assert not re.search(r"guarantee|always|never again|cure|perfect", text, re.I), text


def test_self_check_can_be_counted_or_seen_alone(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        counted = re.search(
            r"\b\d+ of (the )?\d+\b|count|ratio|guess|picture|tenth|8 of 10", drill.self_check, re.I
        )
        assert counted, drill.self_check


def test_tally_matches_the_dose_in_words(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        assert drill.dose.startswith(f"{drill.tally.sets} × {drill.tally.of}"), drill.id


def test_self_check_counts_within_one_set(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        for hits, tries in re.findall(r"(\d+) of (?:the )?(\d+)", drill.self_check):
            assert int(hits) <= int(tries) == drill.tally.of, drill.id


def test_cautions_for_body_and_place_are_kept(drills: tuple[Drill, ...]) -> None:
    by_id = {drill.id: drill for drill in drills}
    for name, tags in MUST_AVOID.items():
        assert tags <= set(by_id[name].avoid_if), name
    body = {"back", "neck", "shoulder", "elbow", "wrist", "hip", "knee"}
    for drill in drills:
        for tag in body.intersection(drill.avoid_if) - {"knee", "shoulder", "elbow", "neck"}:
            assert tag in drill.care.casefold() or "hurt" in drill.care or "leg" in drill.care, (
                drill.id,
                tag,
            )


def test_contradictions_are_told_from_both_sides_by_the_pair_finder(
    drills: tuple[Drill, ...],
) -> None:
    by_id = {drill.id: drill for drill in drills}
    pair = (by_id["headcover-outside"], by_id["headcover-inside"])
    assert contradicting_pairs(pair) == (("headcover-outside", "headcover-inside"),)
    assert contradicting_pairs(pair[::-1]) == (("headcover-inside", "headcover-outside"),)
    assert contradicting_pairs((by_id["foot-back"], by_id["headcover-inside"]))
    # One side is enough: only the step-in names the other.
    one_sided = (by_id["step-in"], by_id["feet-together"])
    assert "step-in" not in by_id["feet-together"].contradicts
    assert contradicting_pairs(one_sided) == (("step-in", "feet-together"),)
    assert contradicting_pairs(one_sided[::-1]) == (("feet-together", "step-in"),)
    assert contradicting_pairs((by_id["foot-back"], by_id["headcover-outside"])) == ()


def test_vocabularies_agree() -> None:
    assert set(get_args(drill_words.ActsOn)) == set(ACTS_ON)
    assert set(get_args(drill_words.Fault)) == set(FAULTS)
    assert set(get_args(drill_words.Avoid)) == set(AVOID)
    assert {tag for tags in FAULTS.values() for tag in tags} <= set(ACTS_ON)


def test_every_fault_and_every_tag_is_served(drills: tuple[Drill, ...]) -> None:
    assert {fault for drill in drills for fault in drill.faults} == set(FAULTS)
    assert {tag for drill in drills for tag in drill.acts_on} == set(ACTS_ON)
    for fault, tags in FAULTS.items():
        for drill in find_drills(drills, fault=fault):
            assert set(drill.acts_on) & set(tags), (drill.id, fault)


# -- drawings ------------------------------------------------------------------------------------


def test_everything_drawn_lies_inside_the_frame(drills: tuple[Drill, ...]) -> None:
    checked = 0
    for drill in drills:
        left, bottom, right, top = drill.sketch.frame
        for item in drill.sketch.items:
            for x, y in points_of(item):
                checked += 1
                assert left <= x <= right, (drill.id, item)
                assert bottom <= y <= top, (drill.id, item)
    assert checked > 500


def test_labels_fit_beside_their_point(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        left, _, right, _ = drill.sketch.frame
        centimetres = CHARACTER_MILLIMETRES / drill.sketch.scale(60, 60)
        for item in drill.sketch.items:
            if isinstance(item, shapes.Label):
                width = len(item.text) * centimetres
                start = item.at[0] - width * {"start": 0, "middle": 0.5, "end": 1}[item.align]
                assert left <= start, (drill.id, item.text)
                assert start + width <= right, (drill.id, item.text)


def test_labels_are_few_and_true_when_mirrored(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        labels = [item.text for item in drill.sketch.items if isinstance(item, shapes.Label)]
        assert len(labels) <= 4, drill.id
        assert not [text for text in labels if re.search(r"\b(left|right)\b", text)]


def test_numbered_tags_lie_inside_the_frame(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        left, bottom, right, top = drill.sketch.frame
        radius = 2.2 / drill.sketch.scale(60, 60)
        for item in drill.sketch.items:
            if isinstance(item, shapes.Step):
                assert left + radius <= item.at[0] <= right - radius, (drill.id, item)
                assert bottom + radius <= item.at[1] <= top - radius, (drill.id, item)


def test_scale_fits_a_square_of_sixty_millimetres(drills: tuple[Drill, ...]) -> None:
    for drill in drills:
        scale = drill.sketch.scale(60, 60)
        assert drill.sketch.width_centimetres * scale <= 60 + 1e-9
        assert drill.sketch.height_centimetres * scale <= 60 + 1e-9
        # A figure under 0.2 mm per cm would be a thumbnail: 175 cm on 35 mm.
        assert scale >= 0.22, drill.id


def test_right_hander_stands_left_of_the_ball_with_the_lead_foot_nearer_the_target(
    drills: tuple[Drill, ...],
) -> None:
    seen = 0
    for drill in drills:
        if drill.sketch.view != "from-above":
            continue
        feet = [item for item in drill.sketch.items if isinstance(item, shapes.Foot)]
        for foot in feet:
            seen += 1
            assert foot.heel[0] < foot.toe[0] < 0, drill.id
        solid = {foot.side: foot for foot in feet if not foot.faded}
        if feet:
            assert solid["lead"].toe[1] > solid["trail"].toe[1], drill.id
    assert seen >= 14


def test_limbs_have_human_lengths(drills: tuple[Drill, ...]) -> None:
    # Arms a tenth longer are let pass: a wrist joint is marked at the heel of the hand.
    # A body of 175 cm: thigh .245 and shank .246, upper arm .186 and forearm .146 of its height
    # (Drillis and Contini 1966 as tabulated by Winter, Biomechanics and Motor Control of Human
    # Movement, figure 4.1); from memory. Seen from one side a limb can only look shorter.
    longest = {
        ("hip", "knee"): 0.245, ("knee", "ankle"): 0.246,
        ("shoulder", "elbow"): 0.186, ("elbow", "wrist"): 0.146,
    }  # fmt: skip
    figures = 0
    for drill in drills:
        for item in drill.sketch.items:
            if not isinstance(item, shapes.Figure):
                continue
            figures += 1
            for side in ("lead", "trail"):
                for (upper, lower), share in longest.items():
                    a = getattr(item.joints, f"{side}_{upper}")
                    b = getattr(item.joints, f"{side}_{lower}")
                    length = ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5
                    assert length <= share * 175 * 1.12, (drill.id, side, upper, length)
    assert figures >= 10


# -- the loader ----------------------------------------------------------------------------------


def changed(raw: dict[str, Any], number: int, **fields: object) -> dict[str, Any]:
    tree = copy.deepcopy(raw)
    tree["drills"][number].update(fields)
    return tree


@pytest.mark.parametrize(
    ("field", "value", "place", "word"),
    [
        ("acts_on", ["swing-plane-magic"], ("acts_on", 0), "known are aim, balance"),
        ("space", "rnage", ("space",), "did you mean \"range\"?"),
        ("minutes", "0", ("minutes",), "greater than or equal to 1"),
        ("minutes", "nan", ("minutes",), "integer"),
        ("care", "", ("care",), "at least 3"),
        ("set_up", "x" * 111, ("set_up",), "at most 110"),
        ("balls", "perhaps", ("balls",), "boolean"),
        ("id", "Two Words", ("id",), "pattern"),
        ("colour", "red", ("colour",), "unknown field"),
        ("contradicts", ["no-such-drill"], ("contradicts", 0), "no drill is called"),
        ("tally", {"sets": "3", "of": "99"}, ("tally", "of"), "less than or equal to 20"),
    ],
)
def test_a_wrong_field_is_named_with_its_place(
    raw: dict[str, Any], field: str, value: object, place: tuple[str | int, ...], word: str
) -> None:
    with pytest.raises(DrillDataError) as caught:
        load_drills(changed(raw, 2, **{field: value}))
    assert [fault.path for fault in caught.value.faults] == [("drills", 2, *place)]
    assert word in caught.value.faults[0].reason


def test_all_faults_are_told_at_once(raw: dict[str, Any]) -> None:
    tree = changed(raw, 0, minutes="many", focus="x" * 60)
    del tree["drills"][1]["care"]
    tree["drils"] = []
    with pytest.raises(DrillDataError) as caught:
        load_drills(tree)
    places = {fault.path for fault in caught.value.faults}
    assert places == {
        ("drils",),
        ("drills", 0, "minutes"),
        ("drills", 0, "focus"),
        ("drills", 1, "care"),
    }


def test_an_id_used_twice_is_refused(raw: dict[str, Any], drills: tuple[Drill, ...]) -> None:
    with pytest.raises(DrillDataError, match="used twice"):
        load_drills(changed(raw, 3, id="pump", contradicts=[]))
    with pytest.raises(DrillDataError, match="used twice"):
        load_drills({**raw, "drills": raw["drills"][:1]}, known=drills)


@pytest.mark.parametrize(
    ("item", "place"),
    [
        ({"bal": ["0", "0"]}, ()),
        ({"ball": ["0", "0"], "tee": ["0", "0"]}, ()),
        ({"ball": {"at": ["0", "here"]}}, ("ball", "at", 1)),
        ({"ball": {"at": ["0", "0"], "glow": "yes"}}, ("ball", "glow")),
        ({"line": {"points": [["0", "0"]]}}, ("line", "points")),
        ({"figure": {"pose": "floating"}}, ("figure",)),
        ({"label": {"at": ["0", "0"], "text": "far too long for a label"}}, ("label", "text")),
    ],
)
def test_a_wrong_sketch_item_is_named_with_its_place(
    raw: dict[str, Any], item: dict[str, Any], place: tuple[str | int, ...]
) -> None:
    tree = copy.deepcopy(raw)
    tree["drills"][0]["sketch"]["items"][0] = item
    with pytest.raises(DrillDataError) as caught:
        load_drills(tree)
    assert caught.value.faults[0].path == ("drills", 0, "sketch", "items", 0, *place)


def test_an_academys_drill_may_contradict_and_pose_like_the_bundled_ones(
    raw: dict[str, Any], drills: tuple[Drill, ...]
) -> None:
    own = copy.deepcopy(raw["drills"][6])
    own.update(id="our-own-walk", contradicts=["pump"])
    loaded = load_drills({"drills": [own]}, known=drills, poses=raw["poses"])
    assert [drill.id for drill in loaded] == ["our-own-walk"]


def test_a_pose_can_be_changed_joint_by_joint(raw: dict[str, Any]) -> None:
    tree = copy.deepcopy(raw)
    moved = {"pose": "setup", "joints": {"lead_wrist": ["9", "81"]}}
    tree["drills"][0]["sketch"]["items"].append({"figure": moved})
    figure = load_drills(tree)[0].sketch.items[-1]
    assert isinstance(figure, shapes.Figure)
    assert figure.joints.lead_wrist == (9.0, 81.0)
    assert figure.joints.pelvis == tuple(map(float, raw["poses"]["setup"]["pelvis"]))


def test_the_bundled_data_reads_like_any_file(drills: tuple[Drill, ...]) -> None:
    assert bundled_drills() == drills


def test_an_academys_file_is_refused_by_line(drills: tuple[Drill, ...]) -> None:
    text = "\n".join(
        """drills:
  - id: our-mat-drill
    name: Our mat drill
    aim: Strike
    acts_on: [low-pint]
    faults: []
    space: range
    balls: true
    minutes: 5
    set_up: A mat.
    do: Hit it.
    dose: 1 × 5
    self_check: 3 of 5.
    easier: Slower.
    harder: Faster.
    focus: Hit the mat
    tally: {sets: 1, of: 5}
    avoid_if: [elbows]
    sketch: {view: from-above, frame: [-9, -9, 9, 9], items: [{ball: [0, no]}]}
    extra: 1""".splitlines()
    )
    with pytest.raises(InputRefusedError) as caught:
        read_drills(read_yaml(text.encode(), "own.yaml"), known=drills, poses=bundled_poses())
    assert [problem.line for problem in caught.value.problems] == [2, 5, 18, 19, 20]
    care, acts_on, avoid_if, ball, extra = caught.value.problems
    assert "missing" in care.message
    assert acts_on.field == "drills.0.acts_on.0"
    assert avoid_if.field == "drills.0.avoid_if.0"
    assert ball.field.startswith("drills.0.sketch.items.0.ball")
    assert extra.field == "drills.0.extra"
    with pytest.raises(InputRefusedError, match="begins with"):
        read_drills(read_yaml(b"- 1", "own.yaml"))


# -- patterns ------------------------------------------------------------------------------------


def test_the_established_patterns_are_there() -> None:
    ids = {pattern.id for pattern in bundled_patterns()}
    assert ids >= set(PATTERNS.split())


def test_patterns_with_full_swings_begin_with_movement() -> None:
    # Common practice: nobody starts cold; the exceptions swing slowly or are on the course.
    for pattern in bundled_patterns():
        if pattern.balls:
            first = pattern.parts[0]
            assert "ove" in first.do, pattern.id
            assert first.minutes, pattern.id
            assert 5 <= first.minutes <= 10, pattern.id


def test_wrong_patterns_are_named() -> None:
    part = {"do": "Swing", "minutes": "0"}
    tree = {"patterns": [{"id": "a", "name": "Name", "suits": "All.", "parts": [part]}], "x": 1}
    with pytest.raises(DrillDataError) as caught:
        load_patterns(tree)
    assert {fault.path for fault in caught.value.faults} == {
        ("x",),
        ("patterns", 0, "parts", 0, "minutes"),
    }
    part["minutes"] = "5"
    twice = {"patterns": [*tree["patterns"], *tree["patterns"]]}  # type: ignore[misc]
    with pytest.raises(DrillDataError, match="used twice"):
        load_patterns(twice)


# -- search --------------------------------------------------------------------------------------


def test_filters_narrow_together(drills: tuple[Drill, ...]) -> None:
    fat = {drill.id for drill in find_drills(drills, fault="fat")}
    assert {"towel-behind", "line-brush"} <= fat
    without = {drill.id for drill in find_drills(drills, fault="fat", avoid=("wrist",))}
    assert "towel-behind" not in without
    assert without < fat
    home = find_drills(drills, space="home")
    assert home
    assert all(drill.space == "home" and not drill.balls for drill in home)
    assert {drill.id for drill in find_drills(drills, text="TOWEL behind")} == {"towel-behind"}
    bare = find_drills(drills, equipment=())
    assert bare
    assert all(not drill.equipment for drill in bare)
    assert {d.id for d in find_drills(drills, equipment=("Headcover",))} >= {"headcover-outside"}
    assert find_drills(drills, acts_on="tempo", balls=False)[0].id == "tempo-count"


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("towel-behnd", "towel-behind"), ("Start-Line", "start-line-gate"), ("pmup", "pump")],
)
def test_nearest_id_is_offered(drills: tuple[Drill, ...], typed: str, meant: str) -> None:
    assert nearest(typed, [drill.id for drill in drills]) == meant


def test_nothing_is_offered_for_a_word_like_none(drills: tuple[Drill, ...]) -> None:
    assert nearest("qqqqqq", [drill.id for drill in drills]) is None
