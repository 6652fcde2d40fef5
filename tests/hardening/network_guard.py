"""No test, and no command, may reach beyond this machine: connections and name lookups are refused.

Loaded into every test by tests/conftest.py, and into a child process by putting the folder that
`child_folder` makes on its path.
"""

import ipaddress
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

_LOCAL_NAMES = {"localhost", "", None}


class ReachedOutError(BaseException):
    """Something wanted to leave this machine; no handler of exceptions may swallow it."""


def stays_here(host: Any) -> bool:
    """Tell whether a host is this machine, without asking anybody for it."""
    if isinstance(host, bytes):
        host = host.decode("ascii", "replace")
    if host in _LOCAL_NAMES:
        return True
    try:
        return ipaddress.ip_address(str(host).split("%")[0]).is_loopback
    except ValueError:
        return False


def judge(address: Any) -> None:
    """Refuse an address beyond this machine; a path is a socket of this machine."""
    host = address[0] if isinstance(address, tuple) and address else ""
    if not stays_here(host):
        message = f"a connection to {address!r} was asked for"
        raise ReachedOutError(message)


def judge_name(host: Any) -> None:
    """Refuse to look up any name but that of this machine."""
    own = (socket.gethostname(), "0.0.0.0", "::")
    if not stays_here(host) and host not in own:
        message = f"the name {host!r} was looked up"
        raise ReachedOutError(message)


@contextmanager
def guarded() -> Iterator[list[str]]:
    """Refuse what leaves this machine inside the block; yields what was refused, as it comes."""
    refused: list[str] = []
    real = {name: getattr(socket.socket, name) for name in ("connect", "connect_ex", "sendto")}
    lookups = {
        name: getattr(socket, name)
        for name in ("getaddrinfo", "gethostbyname", "gethostbyname_ex", "gethostbyaddr")
    }

    def note(check: Any, value: Any) -> None:
        try:
            check(value)
        except ReachedOutError as error:
            refused.append(str(error))
            raise

    def connect(self: socket.socket, address: Any) -> Any:
        note(judge, address)
        return real["connect"](self, address)

    def connect_ex(self: socket.socket, address: Any) -> Any:
        note(judge, address)
        return real["connect_ex"](self, address)

    def sendto(self: socket.socket, *arguments: Any) -> Any:
        note(judge, arguments[-1])
        return real["sendto"](self, *arguments)

    def looked_up(name: str) -> Any:
        def look(host: Any, *rest: Any, **named: Any) -> Any:
            note(judge_name, host)
            return lookups[name](host, *rest, **named)

        return look

    class Guarded(socket.socket):
        pass

    plain = socket.socket
    for name, function in (("connect", connect), ("connect_ex", connect_ex), ("sendto", sendto)):
        setattr(Guarded, name, function)
    for name in lookups:
        setattr(socket, name, looked_up(name))
    socket.socket = Guarded  # type: ignore[misc]
    try:
        yield refused
    finally:
        socket.socket = plain  # type: ignore[misc]
        for name, function in lookups.items():
            setattr(socket, name, function)


CHILD = """\
import sys
sys.path.insert(0, {root!r})
from tests.hardening import network_guard
sys.path.pop(0)
_block = network_guard.guarded()
_block.__enter__()
"""


def child_folder(folder: Path) -> Path:
    """Write a module that Python loads at its start, and return the folder for PYTHONPATH."""
    folder.mkdir(parents=True, exist_ok=True)
    root = str(Path(__file__).resolve().parents[2])
    (folder / "sitecustomize.py").write_text(CHILD.format(root=root), encoding="utf-8")
    return folder
