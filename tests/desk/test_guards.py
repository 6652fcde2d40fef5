"""Only this computer's own page, with the token, is answered: asked by raw sockets."""

import json
import socket

import pytest

from reporter.desk.guards import LARGEST_BODY_BYTES, refusal
from reporter.errors import CannotWriteError
from tests.desk.conftest import served

EDIT = {
    "edits": [{"do": "put", "path": ["student", "name"], "value": "Nobody", "was": "Runa"}],
    "revision": "",
}


def exchange(port: int, request: bytes, patience: float = 8.0) -> tuple[int, dict, bytes]:
    """Send bytes as they are; return status, headers and body."""
    with socket.create_connection(("127.0.0.1", port), timeout=patience) as connection:
        connection.sendall(request)
        data = b""
        while block := connection.recv(65_536):
            data += block
            head, found, body = data.partition(b"\r\n\r\n")
            lengths = [
                int(line.split(b":")[1]) for line in head.split(b"\r\n")
                if line.lower().startswith(b"content-length")
            ]  # fmt: skip
            if found and lengths and len(body) >= lengths[0]:
                break
    head, _, body = data.partition(b"\r\n\r\n")
    lines = head.decode("latin-1").split("\r\n")
    headers = dict(line.lower().split(": ", 1) for line in lines[1:])
    return int(lines[0].split()[1]), headers, body


def asked(server, method="GET", target="/lesson", body=None, **changed) -> bytes:
    """Return a request that is answered, unless something is changed; None leaves a header out."""
    own = f"127.0.0.1:{server.port}"
    headers = {"Host": own, "Cookie": f"desk-{server.port}={server.token}"}
    data = b""
    if method == "POST":
        data = json.dumps(body if body is not None else EDIT).encode()
        headers |= {
            "Origin": f"http://{own}",
            "Sec-Fetch-Site": "same-origin",
            "Content-Type": "application/json",
            "Content-Length": str(len(data)),
        }
    headers |= {name.replace("_", "-"): value for name, value in changed.items()}
    lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items() if value is not None)
    return f"{method} {target} HTTP/1.1\r\n{lines}\r\n".encode() + data


def test_what_is_allowed_is_answered(desk):
    status, headers, body = exchange(desk.port, asked(desk))
    assert status == 200
    assert json.loads(body)["values"]["student"]["name"] == "Runa"
    # W3C Content Security Policy 3, Fetch Metadata, and the Fetch standard name these headers.
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["cache-control"] == "no-store"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    status, _, _ = exchange(desk.port, asked(desk, "POST", "/edit"))
    assert status == 200


def test_the_address_lets_in_once_and_hides_the_token(desk):
    path = desk.address.split(str(desk.port), 1)[1]
    status, headers, body = exchange(desk.port, asked(desk, target=path, Cookie=None))
    assert (status, headers["location"], body) == (303, "/", b"")
    assert "httponly" in headers["set-cookie"]
    assert "samesite=strict" in headers["set-cookie"]
    assert len(desk.token) >= 43  # 256 bits in base64


OTHER = "x" * 43
MATRIX = {
    "foreign host": (421, dict(Host="lesson.example:80")),
    "foreign host with our port": (421, lambda port: dict(Host=f"lesson.example:{port}")),
    "host without port": (421, dict(Host="127.0.0.1")),
    "no host": (421, dict(Host=None)),
    "foreign origin": (403, dict(Origin="http://lesson.example")),
    "no origin on a change": (403, dict(Origin=None)),
    "null origin": (403, dict(Origin="null")),
    "origin of another port": (403, dict(Origin="http://127.0.0.1:1")),
    "cross-site": (403, dict(Sec_Fetch_Site="cross-site")),
    "same-site": (403, dict(Sec_Fetch_Site="same-site")),
    "typed into the address bar": (403, dict(Sec_Fetch_Site="none")),
    "no token": (403, dict(Cookie=None)),
    "wrong token": (403, lambda port: dict(Cookie=f"desk-{port}={OTHER}")),
    "token not of text": (403, lambda port: dict(Cookie=f"desk-{port}=\xff\xfe")),
    "token of another port": (403, lambda port: dict(Cookie=f"desk-{port + 1}={OTHER}")),
    "a form": (415, dict(Content_Type="application/x-www-form-urlencoded")),
    "plain text": (415, dict(Content_Type="text/plain")),
    "huge body": (413, dict(Content_Length=str(LARGEST_BODY_BYTES + 1))),
    "endless body": (413, dict(Content_Length="999999999999")),
    "no length": (411, dict(Content_Length=None)),
    "negative length": (411, dict(Content_Length="-1")),
    "in pieces": (411, dict(Transfer_Encoding="chunked")),
}


@pytest.mark.parametrize("name", MATRIX)
def test_a_change_from_elsewhere_is_refused(desk, demo_folder, name):
    expected, changes = MATRIX[name]
    changes = changes(desk.port) if callable(changes) else changes
    before = (demo_folder / "session.yaml").read_bytes()
    request = asked(desk, "POST", "/edit", **changes)
    status, headers, body = exchange(desk.port, request)
    assert status == expected
    assert "refused" in json.loads(body)
    assert headers["connection"] == "close"
    assert (demo_folder / "session.yaml").read_bytes() == before


ASKED_ELSEWHERE = (
    "foreign host", "no host", "foreign origin", "cross-site", "same-site", "no token",
    "wrong token",
)  # fmt: skip


@pytest.mark.parametrize("name", ASKED_ELSEWHERE)
@pytest.mark.parametrize("target", ["/", "/lesson", "/page/start.js", "/stills/0", "/drills"])
def test_a_question_from_elsewhere_is_refused(desk, name, target):
    expected, changes = MATRIX[name]
    changes = changes(desk.port) if callable(changes) else changes
    status, _, body = exchange(desk.port, asked(desk, target=target, **changes))
    assert status == expected
    assert b"Runa" not in body


def test_two_hosts_are_none(desk):
    request = asked(desk).replace(b"\r\nCookie", b"\r\nHost: lesson.example\r\nCookie")
    assert exchange(desk.port, request)[0] == 421


METHODS = ("PUT", "DELETE", "PATCH", "OPTIONS", "HEAD", "TRACE", "CONNECT", "BREW")


@pytest.mark.parametrize("method", METHODS)
def test_another_method_is_refused(desk, method):
    request = asked(desk, method)
    with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
        connection.sendall(request)
        assert connection.recv(4096).startswith(b"HTTP/1.1 405")


@pytest.mark.parametrize(
    "target",
    [
        "/../session.yaml", "/page/../../session.yaml", "/page/%2e%2e/words.py", "//etc/passwd",
        "/page//etc/passwd", "/etc/passwd", "/session.yaml", "/frames/face-on-before-top.jpg",
        "/stills/../session.yaml", "/stills/frames/face-on-before-top.jpg", "/page\\..\\x",
        "/clips/../0", "/clips/-1", "/clips/0/999999999999", "/pages/0", "/page/",
        "/page/start.js/",
        "http://lesson.example/", "/lesson?in=../../x", "/%00", "/stills/" + "a" * 400, "*",
    ],
)  # fmt: skip
def test_no_path_leads_to_a_file(desk, target):
    status, _, body = exchange(desk.port, asked(desk, target=target))
    assert status in (400, 404, 422)
    assert b"Runa" not in body
    assert b"root:" not in body


@pytest.mark.parametrize("body", [b"", b"{", b"[1]", b'{"edits": NaN', b"[" * 30_000, b'"x"'])
def test_what_is_no_object_is_refused(desk, body):
    request = asked(desk, "POST", "/edit", Content_Length=str(len(body)))
    request = request.partition(b"\r\n\r\n")[0] + b"\r\n\r\n" + body
    assert exchange(desk.port, request)[0] == 400


def test_what_is_no_http_is_refused(desk):
    for junk in (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n", b"GET\r\n\r\n"):
        with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
            connection.sendall(junk)
            assert b"200" not in connection.recv(4096).split(b"\r\n")[0]


def test_a_slow_client_is_let_go(desk, monkeypatch):
    from reporter.desk.server import DeskHandler

    monkeypatch.setattr(DeskHandler, "timeout", 0.3)
    with socket.create_connection(("127.0.0.1", desk.port), timeout=8) as connection:
        connection.sendall(b"GET /lesson HTTP/1.1\r\nHost: ")
        assert connection.recv(4096) == b""


def test_it_listens_on_this_computer_alone(desk):
    assert desk.socket.getsockname()[0] == "127.0.0.1"


def test_a_port_that_is_taken_is_told(desk, demo_folder):
    told = rf"port {desk.port} .*in use.*leave --port out"
    with pytest.raises(CannotWriteError, match=told), served(demo_folder, desk.port):
        pass


def test_it_ends_when_nobody_asks(demo_folder, monkeypatch):
    import reporter.desk.server as module

    monkeypatch.setattr(module, "IDLE_SECONDS", 0.2)
    with served(demo_folder) as ready:
        desk = ready.desk
    with module.DeskServer(desk, 0) as server:
        server.serve_until_idle()  # comes back by itself


def test_two_tokens_are_never_the_same(demo_folder):
    with served(demo_folder) as one, served(demo_folder) as two:
        assert one.token != two.token
        headers = {"host": [f"127.0.0.1:{one.port}"], "cookie": [f"desk-{one.port}={two.token}"]}
        found = refusal("GET", "/lesson", headers, port=one.port, token=one.token)
        assert found is not None
        assert found.status == 403
