"""Imports point one way, and each heavy library stays in its own parts of the program."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "reporter"
GROUND = {
    "errors", "units", "yaml_source", "complaints", "bundled", "safe_open", "publish"
}  # fmt: skip
STAGES_BEFORE_BUILD = GROUND | {
    "session", "measure", "flight", "flight_input", "story", "typeset", "draw", "pdf"
}  # fmt: skip

# What each part may use besides itself.
ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "units": {"errors"},
    "yaml_words": {"errors"},
    "yaml_source": {"errors", "yaml_words"},
    "complaints": {"errors", "units", "yaml_source"},
    "bundled": {"errors"},
    "safe_open": {"errors", "units"},
    "publish": {"errors"},
    "session": GROUND,
    "measure": GROUND | {"session"},
    "flight": {"errors", "units", "bundled"},
    "flight_input": GROUND | {"session", "flight"},
    "story": GROUND | {"session", "measure", "flight"},
    # Marks travel from measure to the page unchanged: only their type is used.
    "typeset": GROUND | {"story", "measure"},
    "draw": {"errors", "units", "typeset"},
    "pdf": {"errors"},
    "picture_quality": {"errors"},
    "print_pictures": {"errors", "session", "story", "typeset", "picture_quality"},
    "formula_safe": set(),
    "handed_on": {"yaml_source", "session", "story"},
    "ink_variants": {"typeset"},
    "file_form": {"errors", "picture_quality", "ink_variants"},
    "find_brand": GROUND | {"typeset"},
    "find_drills": GROUND | {"session", "story", "typeset"},
    "drill_list": {"errors", "story", "find_drills"},
    "refusals": {"errors", "session", "measure", "story", "typeset", "find_drills"},
    "lesson_advice": {"errors", "flight_input", "session", "measure", "story"},
    "practice_calendar": {"session", "story"},
    "carried_files": {"safe_open", "session", "measure", "story", "draw"}
    | {"find_drills", "formula_safe", "handed_on", "measure_list", "picture_quality"},
    "build": STAGES_BEFORE_BUILD
    | {"print_pictures", "find_brand", "find_drills"}
    | {"carried_files", "file_form", "ink_variants", "picture_quality"}
    | {"refusals", "lesson_advice", "practice_calendar"},
    "check": {"session", "measure", "story", "find_drills", "refusals", "lesson_advice", "build"},
    "recap": STAGES_BEFORE_BUILD | {"find_brand", "find_drills", "refusals", "build"},
    "proof_raster": {"bundled", "typeset"},
    "proof_page": {"typeset", "ink_variants", "proof_raster"},
    "proof": {"session", "measure", "typeset", "find_brand", "find_drills", "refusals"}
    | {"print_pictures", "file_form", "ink_variants", "proof_page", "build"},
    "measure_list": {"session", "measure"},
    "flight_phrases": {"units", "flight"},
    "flight_options": {"errors", "units", "flight_phrases"},
    "flight_table": {"units"},
    "flight_listing": {"flight"},
    "typed_flight": {"errors", "units", "flight"}
    | {"flight_phrases", "flight_options", "flight_listing"},
    "typed_shots": {"errors", "units", "safe_open", "session", "flight", "flight_options"},
    "screen": {"errors"},
    "command_line": GROUND
    | {"session", "measure", "flight", "build", "check", "measure_list", "typed_flight"}
    | {"drill_list", "recap", "file_form", "picture_quality", "proof"}
    | {"flight_options", "flight_table", "typed_shots", "screen"},
    "__init__": {"errors", "session", "build"},
    "__main__": {"command_line"},
}
# The package itself: its version.
ANYONE_MAY_IMPORT = {"__version__"}
AT_HOME = {
    "yaml": {"yaml_source"},
    "pydantic": {"session", "story", "typeset"},
    "cv2": {"session", "measure", "draw"},
    "scipy": {"flight"},
    "reportlab": {"typeset", "draw"},
    "uharfbuzz": {"typeset"},
    "pyphen": {"typeset"},
    "matplotlib": {"draw"},
    "pypdf": {"pdf"},
}


def part_of(module: Path, package: Path = PACKAGE) -> str:
    inside = module.relative_to(package).parts
    return inside[0] if len(inside) > 1 else module.stem


def offences(module: Path, package: Path = PACKAGE) -> list[str]:
    """Every import of a module, at its top or inside a function, that the tables forbid."""
    part = part_of(module, package)
    found: list[str] = []
    imported: list[tuple[str, str]] = []
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                top, _, rest = alias.name.partition(".")
                imported.append((top, rest.partition(".")[0]))
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                found.append(f"{module.name}:{node.lineno}: a relative import")
                continue
            top, _, rest = (node.module or "").partition(".")
            for alias in node.names:
                imported.append((top, rest.partition(".")[0] or alias.name))
    for top, inner in imported:
        if top == "reporter" and inner and inner not in ANYONE_MAY_IMPORT:
            if inner != part and inner not in ALLOWED.get(part, set()):
                found.append(f"{part} must not use {inner}")
        elif top in AT_HOME and part not in AT_HOME[top]:
            found.append(f"{top} does not belong in {part}")
    return found


MODULES = sorted(PACKAGE.rglob("*.py"))


def test_there_is_something_to_check():
    assert len(MODULES) > 20
    assert {"errors", "session", "command_line"} <= {part_of(module) for module in MODULES}


def test_every_part_has_a_line_in_the_table():
    assert {part_of(module) for module in MODULES} <= set(ALLOWED)


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.relative_to(PACKAGE).as_posix())
def test_imports_point_one_way(module):
    assert offences(module) == []


def test_the_table_has_no_circle():
    placed: set[str] = set()
    while len(placed) < len(ALLOWED):
        ready = {p for p, needs in ALLOWED.items() if p not in placed and needs <= placed}
        assert ready, f"a circle among {sorted(set(ALLOWED) - placed)}"
        placed |= ready


@pytest.mark.parametrize(
    ("part", "line"),
    [
        ("flight", "from reporter.session.schema import Session"),
        ("story", "import reportlab.pdfgen"),
        ("typeset", "def f():\n    from reporter.draw import draw_pages"),
        ("pdf", "from reporter import session"),
        ("session", "from .load import load_session"),
        ("draw", "import yaml"),
    ],
)
def test_an_offence_is_found(part, line, tmp_path):
    module = tmp_path / "reporter" / part / "planted.py"
    module.parent.mkdir(parents=True)
    module.write_text(line + "\n", encoding="utf-8")
    assert offences(module, tmp_path / "reporter")


FORBIDDEN_CALLS = {
    r"(?<![\w.])eval\(": "runs text as code",
    r"(?<![\w.])exec\(": "runs text as code",
    r"rl_safe_eval": "runs text as code",
    r"yaml\.(?:load|full_load|unsafe_load|safe_load)\(": "reads YAML past the guards",
    r"(?:^|\s)(?:import|from) pickle": "runs code on reading",
    r"shell\s*=\s*True": "hands text to a shell",
    r"VideoCapture\(": "would open addresses",
    r"cv2\.imread\(": "reads pictures past the one loader",
}


@pytest.mark.parametrize("pattern", FORBIDDEN_CALLS, ids=list(FORBIDDEN_CALLS.values()))
def test_row_11_no_dangerous_calls(pattern):
    hits = [
        module.name
        for module in MODULES
        if re.search(pattern, module.read_text(encoding="utf-8"), re.MULTILINE)
    ]
    assert hits == []
