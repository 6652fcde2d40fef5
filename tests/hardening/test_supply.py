"""What the program is made of is locked, listed and licensed, as far as files can tell."""

import re

import pytest

from tests import supply

LOCK = supply.LOCK.read_text("utf-8")


def test_every_line_of_the_lock_has_a_version_and_a_hash_and_no_address():
    lines = [line for line in LOCK.splitlines() if not line.startswith("#")]
    assert len(lines) > 40
    for line in lines:
        assert re.fullmatch(r"[a-z0-9-]+==[0-9][\w.+!-]* --hash=sha256:[0-9a-f]{64}", line), line
    assert "://" not in LOCK
    assert len(supply.locked()) == len(lines)


def test_everything_asked_for_is_locked():
    """A new dependency wants `python -m tests.supply lock`."""
    missing = [name for name in supply.direct(*supply.LOCKED_EXTRAS) if name not in supply.locked()]
    assert missing == [], "run python -m tests.supply lock"


def test_what_is_locked_is_allowed_by_the_project():
    from packaging.requirements import Requirement

    for one in supply.project()["dependencies"]:
        wanted = Requirement(one)
        version = supply.locked()[supply.plain(wanted.name)]
        assert wanted.specifier.contains(version), one


def test_every_package_asked_for_has_its_licence_on_the_page():
    page = supply.LICENCES.read_text("utf-8")
    table = supply.project()
    for name in supply.direct(*table["optional-dependencies"]):
        found = re.search(rf"^\| `{re.escape(name)}` \| .+ \| (.+) \|$", page, re.MULTILINE)
        assert found, f"{name}: run python -m tests.supply licences"
        assert found[1] != "not installed here", name


@pytest.mark.parametrize(("where", "what", "licence"), supply.BUNDLED)
def test_bundled_data_is_where_the_page_says(where, what, licence):
    for place in where.split(", "):
        assert (supply.ROOT / place).is_dir()
    assert f"| `{where}` | {what} | {licence} |" in supply.LICENCES.read_text("utf-8")


def test_every_bundled_typeface_carries_its_licence():
    folders = [path for path in (supply.ROOT / "layouts" / "typefaces").iterdir() if path.is_dir()]
    assert folders
    for folder in folders:
        text = (folder / "LICENSE").read_text("utf-8")
        assert "SIL Open Font License, Version 1.1" in " ".join(text.split())
        assert f"layouts/typefaces/{folder.name}" in supply.LICENCES.read_text("utf-8")


def test_every_lower_bound_is_a_version_that_can_be_tried():
    for one in supply.project()["dependencies"]:
        assert re.search(r">=[0-9]", one), one


def test_optional_parts_are_not_loaded_by_the_command_line():
    """`--help` answers without any heavy or optional package."""
    import subprocess
    import sys

    program = (
        "import sys; from reporter.command_line import run; run(['--help']);"
        "print([m for m in ('numpy','PIL','cv2','scipy','reportlab','pypdf','pydantic','yaml',"
        "'pebble','distributed','pi_heif','rich','av') if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=supply.ROOT, capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "[]"


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ([{"name": "a", "version": "1", "vulns": []}], ([], [], 1)),
        ([{"name": "a", "version": "1", "vulns": [{"id": "X-1"}]}], (["a 1: X-1"], [], 1)),
        ([{"name": "a", "skip_reason": "x"}], ([], ["a"], 0)),
    ],
)
def test_an_audit_that_audited_nothing_is_told_from_one_that_found_nothing(told, expected):
    """The tool itself ends with 0 after an audit of nothing, unless it is told to be strict."""
    assert supply.judged({"dependencies": told}) == expected
