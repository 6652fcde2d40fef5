"""The desk command: what it prints, and what it says when something is in the way."""

import os
import signal
import socket
import subprocess
import sys

import pytest

from reporter.command_line import run
from reporter.errors import ExitCode

CLIP = b"\0\0\0\x18ftypisom\0\0\0\0isomiso2"


def test_a_folder_that_is_missing_is_told(tmp_path, capsys):
    assert run(["desk", str(tmp_path / "nowhere")]) is ExitCode.INPUT_REFUSED
    assert "no such folder" in capsys.readouterr().err


def test_a_port_that_is_taken_is_told(tmp_path, capsys):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        code = run(["desk", str(tmp_path), "--no-browser", "--port", str(port)])
    assert code is ExitCode.CANNOT_WRITE
    assert f"port {port} cannot be used" in capsys.readouterr().err


def test_it_prints_the_address_and_says_that_no_browser_is_there(tmp_path):
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    command = [sys.executable, "-m", "reporter", "desk", str(tmp_path)]
    with subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
        text=True,
        # A test run in the background ignores Ctrl-C, and its children would too.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as running:
        try:
            address = running.stdout.readline()
            said = [running.stderr.readline(), running.stderr.readline()]
            running.send_signal(signal.SIGINT)
            rest = running.communicate(timeout=30)[1]
        finally:
            running.kill()
    assert address.startswith("http://127.0.0.1:")
    assert "?token=" in address
    assert "this computer alone" in said[0]
    if sys.platform.startswith("linux"):
        assert "no browser was found" in said[1]
    assert "Traceback" not in rest
    assert running.returncode == ExitCode.INTERRUPTED
    assert list(tmp_path.iterdir()) == []


def test_without_the_video_part_pictures_work_alone(tmp_path, monkeypatch):
    from tests.desk.conftest import served

    (tmp_path / "swing.mp4").write_bytes(CLIP)
    monkeypatch.setitem(sys.modules, "av", None)
    with served(tmp_path) as server:
        listed = server.desk._view()["clips"]
        assert [clip["file"] for clip in listed] == ["swing.mp4"]
        answer = server.desk.get("/clips/0", {})
    assert answer.status == 422
    assert b"lesson-reporter[video]" in answer.data


@pytest.mark.parametrize("language", ["en", "es", "de", "xx"])
def test_the_words_come_in_every_language_or_in_english(tmp_path, language):
    import json

    from tests.desk.conftest import served

    with served(tmp_path) as server:
        words = json.loads(server.desk.get("/words", {"in": language}).data)
    assert len(words) > 200
    assert "{number}" in words["clip.where"]


def test_a_clip_that_is_no_clip_is_told(tmp_path):
    pytest.importorskip("av", reason="the part that reads video is not installed")
    from tests.desk.conftest import served

    (tmp_path / "cut.mp4").write_bytes(CLIP)
    with served(tmp_path) as server:
        server.desk._view()
        answer = server.desk.get("/clips/0", {})
        assert answer.status == 422
        assert "cut.mp4" in answer.data.decode()
        for address in ("/clips/7", "/clips/0/3", "/clips/0/proposals"):
            assert server.desk.get(address, {}).status == 422
