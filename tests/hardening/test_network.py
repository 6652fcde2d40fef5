"""Zero connections, ever: under a guard in every test, and counted by the system for a command."""

import os
import re
import shutil
import socket
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from tests.hardening.network_guard import ReachedOutError, child_folder, guarded, stays_here

ROOT = Path(__file__).resolve().parents[2]
FAR = "192.0.2.1"  # RFC 5737: an address for documents, that nobody has


@pytest.mark.parametrize(
    "reach",
    [
        lambda: socket.create_connection((FAR, 80), timeout=1),
        lambda: socket.getaddrinfo("example.org", 80),
        lambda: socket.gethostbyname("example.org"),
        lambda: socket.socket().connect((FAR, 80)),
        lambda: socket.socket().connect_ex((FAR, 80)),
        lambda: socket.socket(socket.AF_INET, socket.SOCK_DGRAM).sendto(b"x", (FAR, 9)),
        lambda: urllib.request.urlopen("http://example.org/x"),
    ],
)
def test_the_guard_refuses_what_leaves_this_machine(reach):
    # The guard of tests/conftest.py stands around this test too; an inner one notes for itself.
    with guarded() as refused, pytest.raises(ReachedOutError):
        reach()
    assert refused


def test_the_guard_lets_this_machine_talk_to_itself():
    with socket.create_server(("127.0.0.1", 0)) as server:
        with socket.create_connection(server.getsockname(), timeout=5):
            pass
        assert socket.getaddrinfo("localhost", 80)
    assert stays_here("::1")
    assert stays_here("127.9.9.9")
    assert not stays_here("10.0.0.1")
    assert not stays_here("localhost.example.org")


def test_a_swallowed_refusal_still_fails_the_test(pytester_like_run):
    """A handler that swallows everything must not hide a connection; judged by a real run."""
    outcome = pytester_like_run(
        "import socket\n"
        "def test_it():\n"
        "    try:\n"
        f"        socket.create_connection(({FAR!r}, 80))\n"
        "    except BaseException:\n"
        "        pass\n"
    )
    assert outcome.returncode == 1, outcome.stdout + outcome.stderr
    assert FAR in outcome.stdout


@pytest.fixture
def pytester_like_run(tmp_path):
    """Return a function that runs one test under the whole suite's own conftest."""

    def run(text: str) -> "subprocess.CompletedProcess[str]":
        (tmp_path / "test_inner.py").write_text(text, encoding="utf-8")
        return subprocess.run(
            [sys.executable, "-m", "pytest", "-q", "-p", "tests.conftest", "-p", "no:cacheprovider",
             "--rootdir", str(tmp_path), "-c", os.devnull, str(tmp_path / "test_inner.py")],
            cwd=ROOT, capture_output=True, text=True, check=False,
        )  # fmt: skip

    return run


COMMANDS = (
    ("demo", "lesson", "-q"),
    ("check", "lesson/session.yaml", "--json"),
    ("measure", "lesson/session.yaml", "--json"),
    ("proof", "lesson/junior/session.yaml", "--json"),
    ("build", "lesson/session.yaml", "-o", "record.pdf", "--record"),
    ("build", "lesson/session.yaml", "-o", "dated.pdf", "--calendar", "--force"),
    ("build", "lesson/session.yaml", "-o", "recap.pdf", "--recap"),
    ("flight", "--club", "driver", "--seen", "starts 2 deg left, bends 12 m right"),
    ("drills", "--fault", "slice"),
    ("schema",),
)


def typed(*words: str, folder: Path, guard: Path | None = None, traced: Path | None = None):
    """Run a command as a coach types it, under the guard or under the system's own trace."""
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    paths = [str(ROOT)]
    if guard is not None:
        paths.insert(0, str(guard))
    environment["PYTHONPATH"] = os.pathsep.join(paths)
    program = [sys.executable, "-m", "reporter", *words]
    if traced is not None:
        program = ["strace", "-f", "-qq", "-e", "trace=%network", "-o", str(traced), *program]
    return subprocess.run(
        program, cwd=folder, env=environment, capture_output=True, text=True, check=False
    )


def test_the_commands_as_typed_reach_nobody(tmp_path):
    guard = child_folder(tmp_path / "guard")
    proof = subprocess.run(
        [sys.executable, "-c", f"import socket; socket.create_connection(({FAR!r}, 80))"],
        env=os.environ | {"PYTHONPATH": str(guard)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert "ReachedOutError" in proof.stderr
    for words in COMMANDS:
        done = typed(*words, folder=tmp_path, guard=guard)
        assert done.returncode == 0, (words, done.stderr)
        assert "ReachedOut" not in done.stderr


def sockets_in(trace: str) -> list[str]:
    """Return the calls of a trace that make or use a socket of a network family."""
    return [
        line for line in trace.splitlines() if re.search(r"\bAF_(INET6?|PACKET|NETLINK)\b", line)
    ]


def test_the_system_counts_no_socket(tmp_path, need_program):
    need_program("strace")
    trace = tmp_path / "trace"
    for words in (COMMANDS[0], COMMANDS[2], COMMANDS[4], COMMANDS[6]):
        done = typed(*words, folder=tmp_path, traced=trace)
        if "ptrace" in done.stderr.lower():
            pytest.skip("this machine lets nobody trace")
        assert done.returncode == 0, (words, done.stderr)
        told = trace.read_text(encoding="utf-8", errors="replace")
        assert "socket" not in told, (words, told[:2_000])


def test_the_system_counts_no_network_socket_in_a_batch(tmp_path, need_program):
    """Worker processes talk over sockets of this machine's own kind (AF_UNIX), never by address."""
    need_program("strace")
    for name in ("one", "two"):
        (tmp_path / "in" / name).mkdir(parents=True)
        (tmp_path / "in" / name / "session.yaml").write_text("thoughts: [x]\n", encoding="utf-8")
    trace = tmp_path / "trace"
    done = typed("batch", "in", "-o", "out", "-q", folder=tmp_path, traced=trace)
    if "ptrace" in done.stderr.lower():
        pytest.skip("this machine lets nobody trace")
    assert done.returncode == 0, done.stderr
    assert sockets_in(trace.read_text(encoding="utf-8", errors="replace")) == []


def test_the_count_counts(tmp_path, need_program):
    """The trace tells of a socket where there is one, so that its silence means something."""
    need_program("strace")
    trace = tmp_path / "trace"
    subprocess.run(
        ["strace", "-f", "-qq", "-e", "trace=%network", "-o", str(trace), sys.executable, "-c",
         "import socket; socket.socket()"],
        capture_output=True, check=False,
    )  # fmt: skip
    if not trace.exists() or not trace.read_text():
        pytest.skip("this machine lets nobody trace")
    assert sockets_in(trace.read_text())


def test_without_a_network_the_demo_is_built_all_the_same(tmp_path):
    """In a network namespace without any device, where the system lets one be made."""
    if shutil.which("unshare") is None:
        pytest.skip("unshare is not installed")
    alone = ["unshare", "--map-root-user", "--net"]
    if subprocess.run([*alone, "true"], capture_output=True, check=False).returncode:
        pytest.skip("this machine lets nobody make a network namespace")
    done = subprocess.run(
        [*alone, sys.executable, "-m", "reporter", "demo", str(tmp_path / "lesson")],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
