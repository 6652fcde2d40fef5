"""The recipes of docs/batch.md do what they say, as far as this machine has the programs."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.batch.lessons import write_lessons

TEXT = (Path(__file__).parents[2] / "docs" / "batch.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```\w*\n(.*?)```", TEXT, re.DOTALL)


def block(word: str) -> str:
    found = [text for text in BLOCKS if word in text]
    assert len(found) == 1, word
    return found[0]


@pytest.mark.skipif(os.name == "nt", reason="needs a shell")
def test_the_nightly_script(tmp_path):
    script = tmp_path / "nightly.sh"
    script.write_text(block("#!/bin/sh"), encoding="utf-8")
    tool = tmp_path / "bin" / "lesson-reporter"
    tool.parent.mkdir()
    tool.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m reporter "$@"\n', encoding="utf-8")
    tool.chmod(0o755)
    lessons, out = tmp_path / "lessons", tmp_path / "new" / "handouts"
    planted = write_lessons(lessons, 8, 1, seed=2)
    environment = os.environ | {
        "PATH": f"{tool.parent}{os.pathsep}{os.environ['PATH']}",
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    done = subprocess.run(
        ["sh", str(script), str(lessons), str(out)],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 4, done.stderr
    assert next(iter(planted)) in (out / "failures.txt").read_text(encoding="utf-8")
    assert "some lessons failed" in done.stderr
    assert len(list(out.rglob("*.pdf"))) == 7


def test_the_units_are_good(tmp_path):
    """Judged by systemd's own checker, where there is one."""
    checker = shutil.which("systemd-analyze")
    service, timer = block("[Service]"), block("[Timer]")
    assert "OnCalendar=*-*-* 02:15:00" in timer
    if checker is None:
        pytest.skip("systemd-analyze is not installed")
    (tmp_path / "lesson-batch.service").write_text(service.replace("User=academy\n", ""))
    (tmp_path / "lesson-batch.timer").write_text(timer)
    done = subprocess.run(
        [checker, "verify", "--man=no", str(tmp_path / "lesson-batch.timer")],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "lesson-batch" not in done.stderr, done.stderr


def test_the_container_recipe_names_what_exists():
    assert "pip wheel --no-deps" in block("docker build")
    assert 'ENTRYPOINT ["lesson-reporter"]' in block("FROM python")
