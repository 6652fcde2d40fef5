"""What the program is made of: lock, audit, list of parts, licences, oldest and newest versions.

    python -m tests.supply lock        # .ci/locked.txt: every package of the suite, by its hash
    python -m tests.supply audit       # known weaknesses of what is locked; strict
    python -m tests.supply parts FILE  # a list of all parts as CycloneDX JSON
    python -m tests.supply licences    # docs/licences.md anew
    python -m tests.supply lowest      # the oldest versions that pyproject.toml allows, at work
    python -m tests.supply pythons     # every Python from 3.11 to 3.13 that is found here

What cannot be had on a machine is skipped in capitals, never silently.
"""

import argparse
import importlib.metadata
import json
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LOCK = ROOT / ".ci" / "locked.txt"
LICENCES = ROOT / "docs" / "licences.md"
PYTHONS = ("3.11", "3.12", "3.13")
LOCKED_EXTRAS = ("test", "check")


def project() -> dict:
    """Return the project's own table."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


def plain(requirement: str) -> str:
    """Return a package's name as the registries compare it (PEP 503)."""
    name = re.match(r"[A-Za-z0-9._-]+", requirement)[0]
    return re.sub(r"[-_.]+", "-", name).lower()


def direct(*extras: str) -> list[str]:
    """Return the names of what the project asks for itself."""
    table = project()
    wanted = list(table["dependencies"])
    for extra in extras:
        wanted += table["optional-dependencies"][extra]
    return sorted({plain(one) for one in wanted})


def locked() -> dict[str, str]:
    """Return version by name of what is locked."""
    found = re.findall(r"^([a-z0-9-]+)==(\S+)", LOCK.read_text("utf-8"), re.MULTILINE)
    return dict(found)


def machine() -> str:
    """Return what a lock holds for: hashes are of files built for one machine and one Python."""
    version = f"{sys.version_info[0]}.{sys.version_info[1]}"
    return f"{sys.implementation.name} {version} {sys.platform} {platform.machine()}"


def lock() -> int:
    """Write down every package the suite needs, with the hash of its file."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told.json"
        subprocess.run(
            [sys.executable, "-m", "pip", "install", "--quiet", "--dry-run", "--ignore-installed",
             "--report", str(told), f"{ROOT}[{','.join(LOCKED_EXTRAS)}]", "hatchling"],
            check=True,
        )  # fmt: skip
        chosen = json.loads(told.read_text("utf-8"))["install"]
    lines = []
    for one in chosen:
        name, version = plain(one["metadata"]["name"]), one["metadata"]["version"]
        if name == plain(project()["name"]):
            continue
        digest = one["download_info"]["archive_info"]["hashes"]["sha256"]
        lines.append(f"{name}=={version} --hash=sha256:{digest}")
    head = (
        "# Every package of the suite by the hash of its file; written by"
        f" python -m tests.supply lock.\n# for: {machine()}\n"
    )
    LOCK.write_text(head + "\n".join(sorted(lines)) + "\n", "utf-8")
    print(f"{len(lines)} packages locked for {machine()}")
    return 0


def is_for_this_machine() -> bool:
    """Tell whether the lock was made for a machine like this."""
    return f"# for: {machine()}\n" in LOCK.read_text("utf-8")


def skipped(why: str) -> int:
    """Say loudly what was not done."""
    print(f"!! SKIPPED: {why} !!")
    return 0


def tool_in(folder: Path, *packages: str, python: str = sys.executable) -> Path | None:
    """Return the programs of a fresh environment with packages in it, or None without them."""
    subprocess.run([python, "-m", "venv", str(folder)], check=True)
    done = subprocess.run(
        [str(folder / "bin" / "python"), "-m", "pip", "install", "-q", *packages],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode:
        print(done.stderr.strip().splitlines()[-1][:200] if done.stderr else "")
        return None
    return folder / "bin"


def judged(told: dict) -> tuple[list[str], list[str], int]:
    """Return weaknesses, packages nobody knew of, and how many were audited."""
    weak, unknown, known = [], [], 0
    for one in told["dependencies"]:
        if "skip_reason" in one:
            unknown.append(one["name"])
            continue
        known += 1
        weak += [f"{one['name']} {one['version']}: {found['id']}" for found in one["vulns"]]
    return weak, unknown, known


def audit() -> int:
    """Ask for known weaknesses of everything that is locked; a package that is not known counts."""
    with tempfile.TemporaryDirectory() as folder:
        tools = tool_in(Path(folder) / "audit", "pip-audit")
        if tools is None:
            return skipped("pip-audit could not be fetched; nothing was audited")
        try:
            done = subprocess.run(
                [str(tools / "pip-audit"), "--disable-pip", "--require-hashes", "-f", "json",
                 "--progress-spinner", "off", "-r", str(LOCK)],
                capture_output=True, text=True, check=False, timeout=300,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return skipped("the source of advisories does not answer; nothing was audited")
    try:
        weak, unknown, known = judged(json.loads(done.stdout))
    except (ValueError, KeyError):
        return skipped("no source of advisories can be reached; nothing was audited")
    if not known:
        return skipped("the source that answers knows no advisories; nothing was audited")
    for told in (*weak, *(f"{name}: could not be audited" for name in unknown)):
        print(told)
    print(f"{known} packages audited, {len(weak)} weaknesses, {len(unknown)} unknown")
    return 1 if weak or unknown else 0


def parts(target: Path) -> int:
    """Write the list of all parts of this environment as CycloneDX JSON."""
    with tempfile.TemporaryDirectory() as folder:
        tools = tool_in(Path(folder) / "parts", "cyclonedx-bom")
        if tools is None:
            return skipped("cyclonedx-bom could not be fetched; no list of parts was made")
        subprocess.run(
            [str(tools / "cyclonedx-py"), "environment", "--output-reproducible", "--of", "JSON",
             "--pyproject", str(ROOT / "pyproject.toml"), "-o", str(target), sys.executable],
            check=True, capture_output=True,
        )  # fmt: skip
    listed = json.loads(target.read_text("utf-8"))
    print(f"{len(listed['components'])} parts, CycloneDX {listed['specVersion']}: {target}")
    return 0


def licence_of(name: str) -> str:
    """Return a package's licence as it tells it itself."""
    try:
        facts = importlib.metadata.metadata(name)
    except importlib.metadata.PackageNotFoundError:
        return "not installed here"
    if facts.get("License-Expression"):
        return facts["License-Expression"]
    told = [c.split(" :: ")[-1] for c in facts.get_all("Classifier", []) if c.startswith("License")]
    said = " ".join((facts.get("License") or "").split())
    return ", ".join(told) or (said if len(said) < 60 else said[:57] + "...") or "not told"


BUNDLED = (
    ("layouts/typefaces/FiraSans", "typeface of every page", "SIL Open Font License 1.1"),
    ("layouts/brands, layouts/pages", "brands and page layouts", "MIT, as the program"),
    ("reporter/story/data", "drills and their drawings", "MIT, as the program"),
    ("demo_session", "invented lessons with drawn frames", "MIT, as the program"),
    (
        "tests/reference",
        "numbers of published tables, each with its source",
        "facts, see the files",
    ),
)


def licence_page() -> str:
    """Return docs/licences.md."""
    lines = [
        "# Licences",
        "",
        "The program itself: MIT (`LICENSE`). Written by `python -m tests.supply licences`; a test",
        "holds that every package the program asks for stands here.",
        "",
        "## Bundled typefaces and data",
        "",
        "| where | what | licence |",
        "|---|---|---|",
        *(f"| `{where}` | {what} | {licence} |" for where, what, licence in BUNDLED),
        "",
        "## Packages",
        "",
        "| package | asked for by | licence, as the package tells it |",
        "|---|---|---|",
    ]
    table = project()
    groups = {"the program": table["dependencies"], **table["optional-dependencies"]}
    asked: dict[str, list[str]] = {}
    for group, wanted in groups.items():
        for one in wanted:
            asked.setdefault(plain(one), []).append(group)
    for name in sorted(asked):
        by = ", ".join(dict.fromkeys(asked[name]))
        lines.append(f"| `{name}` | {by} | {licence_of(name)} |")
    return "\n".join(lines) + "\n"


def licences() -> int:
    """Write docs/licences.md; what is not installed here keeps the line it had."""
    before = {}
    if LICENCES.exists():
        for line in LICENCES.read_text("utf-8").splitlines():
            if found := re.match(r"\| `([^`]+)` \|.*\| (.*) \|$", line):
                before[found[1]] = found[2]
    page = licence_page()
    for name, told in before.items():
        page = re.sub(
            rf"^(\| `{re.escape(name)}` \| .* \| )not installed here \|$",
            lambda found, told=told: f"{found[1]}{told} |", page, flags=re.MULTILINE,
        )  # fmt: skip
    LICENCES.write_text(page, "utf-8")
    return 0


SMOKE = """\
import sys
from click.testing import CliRunner
from reporter.command_line import run
for words in (["demo", "lesson", "-q"], ["check", "lesson/session.yaml"],
              ["measure", "lesson/session.yaml"],
              ["build", "lesson/junior/session.yaml", "-q"],
              ["proof", "lesson/session.yaml", "--json"],
              ["build", "lesson/session.yaml", "--record", "--calendar", "-q"],
              ["flight", "--club", "driver", "--seen", "starts 2 deg left, bends 12 m right"]):
    code = run(words)
    assert code == 0, (words, code)
from pypdf import PdfReader
assert 5 <= len(PdfReader("lesson/handout.pdf").pages) <= 8
"""


def smoke(python: Path, folder: Path) -> int:
    """Let an environment do a lesson from demo to proof."""
    folder.mkdir()
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        [str(python), "-c", SMOKE], cwd=folder, env=environment, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    if done.returncode:
        print(done.stdout[-500:], done.stderr[-2_000:])
    return done.returncode


def lowest() -> int:
    """Install the oldest versions that are allowed, and let them do a lesson."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        tools = tool_in(folder / "tools", "uv")
        if tools is None:
            return skipped("uv could not be fetched; the oldest versions were not tried")
        subprocess.run([sys.executable, "-m", "venv", str(folder / "old")], check=True)
        python = folder / "old" / "bin" / "python"
        done = subprocess.run(
            [str(tools / "uv"), "pip", "install", "-q", "--python", str(python), "--resolution",
             "lowest-direct", f"{ROOT}[heic]"],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            print(done.stderr[-2_000:])
            return done.returncode
        told = subprocess.run(
            [str(python), "-m", "pip", "list", "--format", "freeze"],
            capture_output=True, text=True, check=True,
        ).stdout.split()  # fmt: skip
        names = direct("heic")
        print("oldest: " + ", ".join(one for one in told if plain(one.split("==")[0]) in names))
        return smoke(python, folder / "work")


def found_python(version: str) -> str | None:
    """Return a Python of a version, from the path or where version managers keep them."""
    homes = sorted(Path.home().glob(f".pyenv/versions/{version}.*/bin/python"))
    for candidate in (shutil.which(f"python{version}"), *map(str, homes)):
        if candidate is None:
            continue
        done = subprocess.run(
            [candidate, "-c", "import sys; print('%d.%d' % sys.version_info[:2])"],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.stdout.strip() == version:
            return candidate
    return None


def pythons(*wanted: str) -> int:
    """Let every Python that is here do a lesson with the newest versions that are allowed."""
    failed = 0
    for version in wanted or PYTHONS:
        python = found_python(version)
        if python is None:
            skipped(f"Python {version} is not installed; the program was not tried on it")
            continue
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            programs = tool_in(folder / "new", f"{ROOT}[heic]", python=python)
            if programs is None:
                skipped(f"the packages for Python {version} could not be had")
                continue
            code = smoke(programs / "python", folder / "work")
            print(f"Python {version}: {'a lesson from demo to proof' if code == 0 else 'FAILED'}")
            failed += bool(code)
    return failed


COMMANDS = {
    "lock": lock,
    "audit": audit,
    "licences": licences,
    "lowest": lowest,
    "is-for-this-machine": lambda: 0 if is_for_this_machine() else 1,
    "parts": lambda target="parts.json": parts(Path(target).absolute()),
    "pythons": pythons,
}


def main() -> None:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=sorted(COMMANDS))
    parser.add_argument("more", nargs="*")
    asked = parser.parse_args()
    sys.exit(COMMANDS[asked.what](*asked.more))


if __name__ == "__main__":
    main()
