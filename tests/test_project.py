"""The house itself: what lies at the top, what the README promises, what the documents cover."""

import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from reporter.typeset.brand import BrandFile, Shape, Typefaces
from reporter.typeset.page_layout import PAPERS, STEPS, Margins, PageLayout

ROOT = Path(__file__).resolve().parents[1]
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "reporter",
    "layouts",
    "tests",
    "demo_session",
    "docs",
}
README = (ROOT / "README.md").read_text("utf-8")
LAYOUTS = (ROOT / "docs" / "layouts.md").read_text("utf-8")


def tracked() -> list[str]:
    """Return the files that belong to the project."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    ).stdout.split("\n")
    return [name for name in listed if name]


def test_the_top_level_holds_what_it_should():
    names = {name.split("/")[0] for name in tracked()}
    if not names:
        pytest.skip("not a checkout")
    assert {name for name in names if not name.startswith(".")} == TOP


def test_the_readme_opens_with_the_job_and_has_both_commands():
    first = README.split("\n\n")[1]
    assert "lesson" in first
    assert "handout" in first
    assert "pip install . &&" in README
    assert "-m pytest -n auto" in README
    assert "lesson-reporter demo" in README


def test_every_link_and_picture_of_the_documents_exists():
    checked = 0
    for document in [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]:
        for target in re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", document.read_text("utf-8")):
            if "://" in target:
                continue
            assert (document.parent / target).exists(), f"{document.name}: {target}"
            checked += 1
    assert checked > 15


@pytest.mark.parametrize("model", [BrandFile, Shape, Typefaces, PageLayout, Margins])
def test_every_brand_and_layout_key_is_written_up(model):
    for name in model.model_fields:
        assert f"`{name}`" in LAYOUTS, name


def test_every_step_sheet_and_paper_is_written_up():
    for word in (*STEPS, *PAPERS, "today", "why", "changed", "practise", "card", "record"):
        assert word in LAYOUTS, word


def test_every_dependency_says_what_it_is_for():
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    names = tomllib.loads(text)["project"]["dependencies"]
    assert names
    for name in names:
        line = next(line for line in text.splitlines() if f'"{name}"' in line)
        assert re.search(r'",\s+# \w+', line), line


def test_the_wheel_carries_layouts_and_demo_but_not_the_renderer(tmp_path):
    built = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    for needed in (
        "reporter/layouts/pages/handout.yaml",
        "reporter/layouts/brands/plain/brand.yaml",
        "reporter/layouts/typefaces/FiraSans/LICENSE",
        "reporter/demo_session/session.yaml",
        "reporter/demo_session/junior/session.yaml",
        "reporter/story/data/drills.yaml",
        "reporter/languages/es.mo",
        "reporter/languages/de.mo",
        "reporter/session/data/lesson.schema.json",
    ):
        assert needed in names
    assert not [name for name in names if "renderer" in name or name.startswith("tests")]
