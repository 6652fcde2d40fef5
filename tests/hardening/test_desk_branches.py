"""Every branch of the worksheet's server, and what single small changes of it would break."""

import contextlib
import io
import json
import socket
import threading
from types import SimpleNamespace

import pytest

from reporter.desk import guards, server
from reporter.desk.guards import refusal
from reporter.desk.server import DeskHandler, DeskServer
from reporter.errors import CannotWriteError
from tests.desk.conftest import served
from tests.desk.test_guards import asked, exchange


@pytest.fixture
def desk(tmp_path):
    from PIL import Image

    Image.new("RGB", (64, 64), "green").save(tmp_path / "face-on-before-top.jpg")
    (tmp_path / "session.yaml").write_bytes(b"student: {name: Runa}\nthoughts: [x]\n")
    with served(tmp_path) as server:
        yield server


def test_the_page_s_own_files_are_sent(desk):
    for target, kind in (("/", "text/html"), ("/page/start.js", "javascript")):
        status, headers, body = exchange(desk.port, asked(desk, target=target))
        assert status == 200
        assert kind in headers["content-type"]
        assert len(body) == int(headers["content-length"]) > 100


def test_a_change_that_is_cut_off_is_refused(desk):
    request = asked(desk, "POST", "/edit", Content_Length="5000")
    with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
        connection.sendall(request)
        connection.shutdown(socket.SHUT_WR)
        data = b""
        while block := connection.recv(65_536):
            data += block
    assert data.startswith(b"HTTP/1.1 400")
    assert b"cut off" in data


def test_a_fault_of_ours_does_not_end_the_worksheet(desk, monkeypatch):
    def broken(*_args):
        raise KeyError("Vilmorquest")

    monkeypatch.setattr(desk.desk, "get", broken)
    status, _, body = exchange(desk.port, asked(desk))
    assert status == 500
    assert json.loads(body) == {"refused": "internal fault (KeyError); nothing was changed"}
    monkeypatch.undo()
    assert exchange(desk.port, asked(desk))[0] == 200


def test_one_connection_too_many_is_let_go(desk, monkeypatch):
    monkeypatch.setattr("reporter.desk.server.PATIENCE_SECONDS", 0.05)
    desk._places = threading.BoundedSemaphore(1)
    desk._places.acquire()
    with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
        connection.sendall(asked(desk))
        with contextlib.suppress(ConnectionResetError):
            assert connection.recv(100) == b""
    desk._places.release()
    for _ in range(3):  # and each answered connection gives its place back
        assert exchange(desk.port, asked(desk))[0] == 200


def test_who_is_refused_cannot_send_for_ever():
    """What follows a refused request is read for a while, and no longer."""
    read, patience, ended = [], [], []
    endless = SimpleNamespace(
        shutdown=ended.append,
        settimeout=patience.append,
        recv=lambda most: read.append(most) or b"x" * most,
        sendall=lambda data: None,
    )
    handler = DeskHandler.__new__(DeskHandler)
    handler.connection, handler.wfile = endless, io.BytesIO()
    handler.request_version, handler.requestline = "HTTP/1.1", "PUT / HTTP/1.1"
    handler.command, handler.close_connection = "PUT", False
    handler.send_error(501)
    assert handler.wfile.getvalue().startswith(b"HTTP/1.1 405")
    assert handler.close_connection
    assert 10 < len(read) <= 64
    assert patience == [0.5]
    assert ended == [socket.SHUT_WR], "who asked sees where the answer ends"


def test_who_ends_the_worksheet_lets_go_of_its_clips_and_its_port(tmp_path):
    from reporter.desk.lesson_desk import LessonDesk

    desk, closed = LessonDesk(tmp_path, "", lambda: None), []
    desk.close = lambda: closed.append(True)
    with DeskServer(desk, 0) as server:
        port = server.port
    assert closed == [True]
    DeskServer(desk, port).server_close()


def test_a_method_or_a_cookie_of_another_form_is_refused():
    headers = {"host": ["127.0.0.1:8000"], "cookie": ["desk-8000=t"]}
    assert refusal("GET", "/lesson", headers, port=8000, token="t") is None
    assert refusal("PUT", "/lesson", headers, port=8000, token="t").status == 405
    longest = "/" + "a" * 299
    assert refusal("GET", longest, headers, port=8000, token="t") is None
    assert refusal("GET", longest + "a", headers, port=8000, token="t").status == 400
    for cookie in ("a,b=1; desk-8000=t", "desk-8000=u", "x"):
        spoilt = headers | {"cookie": [cookie]}
        assert refusal("GET", "/lesson", spoilt, port=8000, token="t").status == 403


def test_a_port_that_is_none_is_told(tmp_path):
    from reporter.desk.lesson_desk import LessonDesk

    with pytest.raises(CannotWriteError, match="no such port"):
        DeskServer(LessonDesk(tmp_path, "", lambda: None), 70_000)


def test_who_waits_for_nobody_looks_up_every_few_seconds(tmp_path, monkeypatch):
    """Two hours without a question, on a clock that runs as it is told."""
    from reporter.desk.lesson_desk import LessonDesk

    now, slept, ended = [100.0], [], []

    def sleep(seconds):
        slept.append(seconds)
        now[0] += seconds

    desk = DeskServer(LessonDesk(tmp_path, "", lambda: None), 0)
    monkeypatch.setattr(server, "time", SimpleNamespace(monotonic=lambda: now[0], sleep=sleep))
    monkeypatch.setattr(desk, "shutdown", lambda: ended.append(now[0]))
    desk.last_asked = now[0]
    desk._watch()
    assert ended == [100.0 + 7_200]
    assert set(slept) == {5.0}
    desk.server_close()


def test_who_serves_does_not_hold_the_program(tmp_path, monkeypatch):
    """A thread that only waits must not keep a program alive that is ended."""
    from reporter.desk.lesson_desk import LessonDesk

    seen = []
    desk = DeskServer(LessonDesk(tmp_path, "", lambda: None), 0)
    monkeypatch.setattr(desk, "_watch", lambda: seen.append(threading.current_thread().daemon))
    monkeypatch.setattr(desk, "serve_forever", lambda poll_interval: None)
    desk.serve_until_idle()
    for _ in range(200):
        if seen:
            break
        threading.Event().wait(0.02)
    assert seen == [True]
    desk.server_close()


def test_what_is_refused_is_refused_once_and_not_done(desk):
    """RFC 9110, 9.3: one answer to one request."""
    for method, target in (("GET", "/lesson"), ("POST", "/edit")):
        with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
            connection.sendall(asked(desk, method, target, Cookie=None))
            connection.shutdown(socket.SHUT_WR)
            data = b""
            while block := connection.recv(65_536):
                data += block
        assert data.count(b"HTTP/1.1 ") == 1
        assert data.startswith(b"HTTP/1.1 403")
        assert b"connection: close" in data.lower()


def test_names_and_values_behind_the_question_mark():
    assert server._asked("") == {}
    assert server._asked("small=&&in=de=x&late") == {"small": "", "in": "de=x", "late": ""}


def test_the_key_of_a_worksheet_has_256_bits(desk):
    """RFC 4648, 5: 32 bytes are 43 signs without padding."""
    assert len(desk.token) == 43
    assert desk.address == f"http://127.0.0.1:{desk.port}/?token={desk.token}"


def test_the_limits_are_what_they_are():
    """Docs name most of these; a limit that changes is a change for everybody."""
    assert guards.LARGEST_BODY_BYTES == 65_536
    assert (server.ADDRESS, server.PATIENCE_SECONDS) == ("127.0.0.1", 5)
    assert (server.IDLE_SECONDS, server.MOST_AT_ONCE) == (7_200, 32)
    assert DeskServer.request_queue_size == 64
    assert DeskServer.daemon_threads
    assert DeskServer.allow_reuse_address
    assert DeskHandler.timeout == 5
    assert DeskHandler.disable_nagle_algorithm


def test_a_refusal_cannot_be_changed():
    from dataclasses import FrozenInstanceError

    found = refusal("PUT", "/", {}, port=1, token="t")
    with pytest.raises(FrozenInstanceError):
        found.words = "x"
    assert not hasattr(found, "__dict__")
