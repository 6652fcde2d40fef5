"""Imports point one way, and each heavy library stays in its own parts of the program."""

import ast
import re
from collections.abc import Sequence
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "reporter"
GROUND = {
    "errors", "units", "yaml_source", "complaints", "bundled", "safe_open", "publish", "speech"
}  # fmt: skip
STAGES_BEFORE_BUILD = GROUND | {
    "session", "measure", "flight", "handout.flight_input", "story", "typeset", "draw", "pdf"
}  # fmt: skip

# Folders whose modules are parts of their own: the table names them one by one.
FOLDERS_OF_PARTS = {"handout", "flight_command", "commands"}

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
    "speech": set(),
    "session": GROUND,
    "measure": GROUND | {"session"},
    "flight": {"errors", "units", "bundled", "speech"},
    "video": {"errors", "units", "bundled", "safe_open", "publish"},
    "handout.flight_input": GROUND | {"session", "flight"},
    "story": GROUND | {"session", "measure", "flight"},
    # Marks travel from measure to the page unchanged: only their type is used.
    "typeset": GROUND | {"story", "measure"},
    "draw": {"errors", "units", "typeset"},
    "pdf": {"errors", "safe_open"},
    # It reads finished records back and looks after them; it makes no page.
    "archive": GROUND | {"session", "measure", "flight", "story", "pdf"} | {"handout.formula_safe"},
    "handout.picture_quality": {"errors"},
    "handout.print_pictures": {"errors", "session", "story", "typeset", "handout.picture_quality"},
    "handout.formula_safe": set(),
    "handout.handed_on": {"yaml_source", "session", "story"},
    "handout.ink_variants": {"typeset"},
    "handout.file_form": {"errors", "safe_open", "handout.picture_quality", "handout.ink_variants"},
    "handout.house_folder": {"session"},
    "handout.find_brand": GROUND | {"session", "typeset", "handout.house_folder"},
    "handout.find_layout": GROUND | {"session", "typeset", "handout.house_folder"},
    "handout.find_drills": GROUND | {"session", "story", "typeset"},
    "handout.drill_list": {"errors", "story", "handout.find_drills"},
    "handout.refusals": {"errors", "session", "measure", "story", "typeset", "handout.find_drills"},
    "handout.measured": {"errors", "session", "measure", "story"},
    "handout.lesson_advice": {"errors", "handout.flight_input", "session", "measure", "story"}
    | {"handout.measured"},
    "handout.practice_calendar": {"errors", "safe_open", "speech", "session", "story"},
    "handout.carried_files": {"safe_open", "speech", "session", "measure", "story", "draw"}
    | {
        "handout.find_drills",
        "handout.formula_safe",
        "handout.handed_on",
        "handout.measure_list",
        "handout.picture_quality",
    },
    "handout.build": STAGES_BEFORE_BUILD
    | {"handout.print_pictures", "handout.find_brand", "handout.find_drills"}
    | {"handout.find_layout"}
    | {
        "handout.carried_files",
        "handout.file_form",
        "handout.ink_variants",
        "handout.picture_quality",
    }
    | {"handout.refusals", "handout.lesson_advice", "handout.practice_calendar"}
    | {"handout.measured"},
    "handout.check": {
        "speech",
        "session",
        "measure",
        "story",
        "handout.find_drills",
        "handout.refusals",
        "handout.lesson_advice",
        "handout.measured",
        "handout.build",
    },
    "handout.recap": STAGES_BEFORE_BUILD
    | {"handout.find_brand", "handout.find_drills", "handout.refusals", "handout.build"}
    | {"handout.measured"},
    "handout.shelf_pages": STAGES_BEFORE_BUILD
    | {"handout.find_brand", "handout.build", "handout.recap"},
    "handout.proof_raster": {"bundled", "typeset"},
    "handout.proof_page": {"typeset", "handout.ink_variants", "handout.proof_raster"},
    "handout.proof": {
        "session",
        "measure",
        "typeset",
        "handout.find_brand",
        "handout.find_drills",
        "handout.refusals",
    }
    | {
        "handout.print_pictures",
        "handout.file_form",
        "handout.ink_variants",
        "handout.proof_page",
        "handout.build",
    },
    "handout.measure_list": {"session", "measure", "handout.measured"},
    # One page from a folder to a built handout: it asks every stage, and nothing asks it.
    "desk": GROUND
    | {"session", "measure", "story", "video", "handout.build", "handout.file_form"}
    | {"handout.find_drills", "handout.lesson_advice", "handout.print_pictures"}
    | {"handout.refusals", "handout.measured"},
    "handout.lesson_edit": {"errors", "publish", "safe_open", "session", "yaml_source"},
    "handout.pulled_frames": {"errors", "publish", "units", "yaml_source"}
    | {"session", "video", "handout.lesson_edit"},
    "handout.proposed": {"errors", "units", "yaml_source"}
    | {"session", "measure", "handout.lesson_edit"},
    "handout.watched_files": {"errors", "safe_open", "session", "yaml_source"}
    | {"handout.find_brand", "handout.find_drills", "handout.find_layout"},
    "flight_command.phrases": {"units", "session", "flight"},
    "flight_command.options": {"errors", "units", "session", "flight_command.phrases"},
    "flight_command.table": {"units"},
    "flight_command.listing": {"flight"},
    "flight_command.typed_flight": {"errors", "units", "flight"}
    | {"flight_command.phrases", "flight_command.options", "flight_command.listing"},
    "flight_command.typed_shots": {
        "errors",
        "units",
        "safe_open",
        "session",
        "flight",
        "flight_command.options",
    },
    "commands.screen": {"errors"},
    "batch": {"errors", "safe_open", "publish", "pdf", "session", "archive"}
    | {"handout.build", "handout.file_form", "handout.find_drills", "handout.refusals"}
    | {"handout.find_brand", "handout.find_layout"},
    "commands.batch": {"errors", "archive", "batch", "commands.options", "commands.screen"}
    | {"commands.shelf_options"}
    | {"handout.file_form"},
    "commands.options": {"errors", "speech", "commands.screen"},
    "commands.lesson": {"errors", "bundled", "publish", "safe_open", "session"}
    | {"commands.options", "commands.screen", "handout.check", "handout.measure_list"},
    "commands.handout": {"errors", "bundled", "publish", "commands.options", "commands.screen"}
    | {"handout.build", "handout.file_form", "handout.picture_quality", "commands.shelf_options"}
    | {"handout.proof", "handout.recap"},
    "commands.flight": {"commands.options", "commands.screen"}
    | {"flight_command.options", "flight_command.table"}
    | {"flight_command.typed_flight", "flight_command.typed_shots"},
    "commands.desk": {"errors", "session", "desk", "commands.options", "commands.screen"},
    "commands.video": {"errors", "publish", "units", "commands.options", "commands.screen", "video"}
    | {"handout.pulled_frames"},
    "commands.propose": {"commands.options", "commands.screen", "handout.proposed", "measure"},
    "commands.watch": {"errors", "commands.options", "commands.screen"}
    | {"handout.build", "handout.watched_files"},
    "commands.shelf_options": {"errors", "session", "story", "archive", "commands.options"}
    | {"handout.shelf_pages"},
    "commands.shelf_booklet": {"archive", "handout.shelf_pages"}
    | {"commands.options", "commands.screen", "commands.shelf_options"},
    "commands.shelf_keeping": {"errors", "safe_open", "archive"}
    | {"commands.options", "commands.screen", "commands.shelf_options"},
    "commands.shelf_rights": {"errors", "publish", "archive", "handout.shelf_pages"}
    | {"commands.options", "commands.screen", "commands.shelf_options"},
    "commands.shelf": {"errors", "units", "complaints", "safe_open", "measure", "story", "archive"}
    | {"handout.formula_safe", "commands.options", "commands.screen", "commands.shelf_options"}
    | {"commands.shelf_keeping", "commands.shelf_rights", "commands.shelf_booklet"}
    | {"handout.shelf_pages"},
    "commands.drills": {"commands.options", "commands.screen", "handout.drill_list"},
    "command_line": {"errors", "commands.screen"}
    | {"commands.lesson", "commands.handout", "commands.batch"}
    | {"commands.flight", "commands.drills", "commands.shelf"}
    | {"commands.video", "commands.watch", "commands.desk", "commands.propose"},
    "__init__": {"errors", "session", "handout.build"},
    "__main__": {"command_line"},
}
# The package itself: its version.
ANYONE_MAY_IMPORT = {"__version__"}
AT_HOME = {
    "yaml": {"yaml_source"},
    "pydantic": {"session", "story", "typeset"},
    "cv2": {"session", "measure", "draw", "video"},
    "av": {"video"},
    "scipy": {"flight"},
    "reportlab": {"typeset", "draw"},
    "uharfbuzz": {"typeset"},
    "fontTools": {"typeset"},
    "pyphen": {"typeset"},
    "matplotlib": {"draw"},
    "pypdf": {"pdf"},
    "sqlite3": {"archive"},
    "psycopg": {"archive"},
    "pebble": {"batch"},
    "distributed": {"batch"},
}


def part_of(module: Path, package: Path = PACKAGE) -> str:
    inside = module.relative_to(package).with_suffix("").parts
    return named_part(inside)


def named_part(inside: Sequence[str]) -> str:
    """Return the part of a module, given its name below the package, in pieces."""
    if len(inside) > 1 and inside[0] in FOLDERS_OF_PARTS:
        return inside[0] if inside[1] == "__init__" else f"{inside[0]}.{inside[1]}"
    return inside[0]


def offences(module: Path, package: Path = PACKAGE) -> list[str]:
    """Every import of a module, at its top or inside a function, that the tables forbid."""
    part = part_of(module, package)
    found: list[str] = []
    imported: list[tuple[str, ...]] = []
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            imported += [tuple(alias.name.split(".")) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                found.append(f"{module.name}:{node.lineno}: a relative import")
                continue
            named = tuple((node.module or "").split("."))
            imported += [(*named, alias.name) for alias in node.names]
    for top, *inner in imported:
        if top == "reporter" and inner and inner[0] not in ANYONE_MAY_IMPORT:
            used = named_part(inner)
            if used != part and used not in ALLOWED.get(part, set()):
                found.append(f"{part} must not use {used}")
        elif top in AT_HOME and part not in AT_HOME[top]:
            found.append(f"{top} does not belong in {part}")
    return found


MODULES = sorted(PACKAGE.rglob("*.py"))


def test_there_is_something_to_check():
    assert len(MODULES) > 20
    assert {"errors", "session", "command_line"} <= {part_of(module) for module in MODULES}


def test_every_part_has_a_line_in_the_table():
    assert {part_of(module) for module in MODULES} <= set(ALLOWED) | FOLDERS_OF_PARTS


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
