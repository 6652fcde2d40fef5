"""Serve the worksheet on this computer alone: a fixed table of addresses behind the guards."""

import contextlib
import json
import secrets
import socket
import threading
import time
from collections.abc import Callable, Mapping
from email.message import Message
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from reporter import __version__
from reporter.desk.assets import Asset, page_assets
from reporter.desk.guards import (
    Refusal,
    body_length,
    cookie_name,
    refusal,
    token_typed,
)
from reporter.desk.lesson_desk import Answer, LessonDesk
from reporter.errors import CannotWriteError

ADDRESS = "127.0.0.1"
PATIENCE_SECONDS = 5.0
IDLE_SECONDS = 2 * 3_600.0
MOST_AT_ONCE = 32

_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
    "font-src 'self'; connect-src 'self'; frame-src 'self'; object-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)
_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": _POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "SAMEORIGIN",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}


class DeskServer(ThreadingHTTPServer):
    """The server of one worksheet.

    Attributes
    ----------
    token : str
        Random, 256 bits; only who knows it is answered.
    desk : LessonDesk
        What it answers with.
    """

    daemon_threads = True
    allow_reuse_address = True
    request_queue_size = 64

    def __init__(self, desk: LessonDesk, port: int) -> None:
        self.desk = desk
        self.token = secrets.token_urlsafe(32)
        self.last_asked = time.monotonic()
        self.assets = page_assets()
        self._places = threading.BoundedSemaphore(MOST_AT_ONCE)
        try:
            super().__init__((ADDRESS, port), DeskHandler)
        except (OSError, OverflowError) as error:
            reason = getattr(error, "strerror", None) or "no such port"
            message = (
                f"port {port} cannot be used ({reason.lower()}); leave --port out, and a free one "
                "is taken"
            )
            raise CannotWriteError(message) from None

    @property
    def port(self) -> int:
        """Return the port it listens on."""
        return int(self.server_address[1])

    @property
    def address(self) -> str:
        """Return what to type into the browser."""
        return f"http://{ADDRESS}:{self.port}/?token={self.token}"

    def server_close(self) -> None:
        """Give the port back, and let go of the clips."""
        super().server_close()
        self.desk.close()

    def process_request(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Answer in a thread of its own, as long as there are not too many."""
        if not self._places.acquire(timeout=PATIENCE_SECONDS):
            self.shutdown_request(request)
            return
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Answer one connection."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self._places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:  # noqa: ANN401
        """Pass over a connection that broke; nothing of it is worth a word."""

    def serve_until_idle(self) -> None:
        """Serve until nobody has asked for anything for two hours, or the user stops it."""
        watch = threading.Thread(target=self._watch, daemon=True)
        watch.start()
        self.serve_forever(poll_interval=0.2)

    def _watch(self) -> None:
        while time.monotonic() - self.last_asked < IDLE_SECONDS:
            time.sleep(min(5.0, IDLE_SECONDS))
        self.shutdown()


class DeskHandler(BaseHTTPRequestHandler):
    """Judges a request, finds it in the table and answers."""

    server: DeskServer
    protocol_version = "HTTP/1.1"
    timeout = PATIENCE_SECONDS
    server_version = f"lesson-reporter/{__version__}"
    sys_version = ""
    disable_nagle_algorithm = True

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002, ANN401
        """Write no log: addresses carry the token."""

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """Answer a request that is no HTTP, or of another method."""
        status = 405 if code == 501 else code
        self._refuse(Refusal(status, "not answered"))

    def do_GET(self) -> None:
        """Answer a question."""
        if self._is_refused():
            return
        if token_typed(self.path) is not None:
            self._let_in()
            return
        path, _, query = self.path.partition("?")
        asset = self.server.assets.get(path)
        if asset is not None:
            self._send_asset(asset)
            return
        self._answer(lambda: self.server.desk.get(path, _asked(query)))

    def do_POST(self) -> None:
        """Do what was asked."""
        if self._is_refused():
            return
        length = body_length(self._given())
        body = self.rfile.read(length)
        if len(body) != length:
            self._refuse(Refusal(400, "the change is cut off"))
            return
        try:
            content = json.loads(body)
        except (ValueError, RecursionError):
            self._refuse(Refusal(400, "this is not JSON"))
            return
        path, _, query = self.path.partition("?")
        if not isinstance(content, dict):
            self._refuse(Refusal(400, "one JSON object is needed"))
            return
        self._answer(lambda: self.server.desk.post(path, content, _asked(query)))

    def _given(self) -> Mapping[str, list[str]]:
        headers: Message = self.headers
        return {name.lower(): list(headers.get_all(name, [])) for name in headers}

    def _is_refused(self) -> bool:
        found = refusal(
            self.command, self.path, self._given(), port=self.server.port, token=self.server.token
        )
        if found is not None:
            self._refuse(found)
            return True
        self.server.last_asked = time.monotonic()
        return False

    def _refuse(self, found: Refusal) -> None:
        """Say why not, and end the connection: what follows of the request is not read."""
        self.close_connection = True
        data = json.dumps({"refused": found.words}).encode()
        self._send(found.status, "application/json", data, {"Connection": "close"})
        with contextlib.suppress(OSError):
            # What is under way must be read, or the answer would be lost with the connection.
            self.connection.shutdown(socket.SHUT_WR)
            self.connection.settimeout(0.5)
            for _ in range(64):
                if not self.connection.recv(65_536):
                    break

    def _let_in(self) -> None:
        """Keep the token in the browser and take it out of the address."""
        port = self.server.port
        cookie = f"{cookie_name(port)}={self.server.token}; Path=/; HttpOnly; SameSite=Strict"
        self._send(303, "text/plain", b"", {"Location": "/", "Set-Cookie": cookie})

    def _answer(self, ask: Callable[[], Answer]) -> None:
        try:
            answer = ask()
        except Exception as error:  # the last line of defence: a fault must not end the worksheet
            words = f"internal fault ({type(error).__name__}); nothing was changed"
            answer = Answer(500, "application/json", json.dumps({"refused": words}).encode())
        self._send(answer.status, answer.kind, answer.data, {})

    def _send_asset(self, asset: Asset) -> None:
        self._send(200, asset.kind, asset.data, {})

    def _send(self, status: int, kind: str, data: bytes, more: Mapping[str, str]) -> None:
        with contextlib.suppress(ConnectionError, TimeoutError):
            self.send_response(status)
            for name, value in {**_HEADERS, **more}.items():
                self.send_header(name, value)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(data)))
            self.end_headers()
            self.wfile.write(data)


def _asked(query: str) -> dict[str, str]:
    """Return the names and values behind the question mark."""
    pairs = (part.partition("=") for part in query.split("&") if part)
    return {name: value for name, _, value in pairs}
