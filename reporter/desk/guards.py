"""Who may ask the worksheet for anything: this computer's own browser, with the token, and how."""

import hmac
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie

LARGEST_BODY_BYTES = 64 * 1024
METHODS = ("GET", "POST")
LOOPBACK = ("127.0.0.1", "localhost")
_TARGET = re.compile(r"/[A-Za-z0-9._/-]*(?:\?[A-Za-z0-9._&=-]*)?")


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a request is not answered.

    Attributes
    ----------
    status : int
        The number of RFC 9110 that fits.
    words : str
        In one plain line.
    """

    status: int
    words: str


def refusal(
    method: str, target: str, headers: Mapping[str, Sequence[str]], *, port: int, token: str
) -> Refusal | None:
    """Return why a request is refused, None if it may be answered.

    Parameters
    ----------
    method, target : str
        As they stand in the request's first line.
    headers : mapping of str to sequence of str
        Lower-case names; each with every value it was sent with.
    port : int
        On which the worksheet is served.
    token : str
        What the printed address carries.

    Notes
    -----
    A page of another site can make a browser send requests here. The name in ``Host`` tells a
    name that was bent to this computer; ``Origin`` and ``Sec-Fetch-Site`` tell who asks (Fetch
    standard, W3C Fetch Metadata); the token keeps out other programs and users of the computer.
    """
    if method not in METHODS:
        return Refusal(405, f"only {' and '.join(METHODS)} are answered")
    if not _TARGET.fullmatch(target) or ".." in target or "//" in target or len(target) > 300:
        return Refusal(400, "no such address")
    host = _single(headers, "host")
    if host not in {f"{name}:{port}" for name in LOOPBACK}:
        return Refusal(421, "this is a worksheet on one computer; open the address it printed")
    site = headers.get("sec-fetch-site", ())
    own = ("same-origin", "none") if method == "GET" else ("same-origin",)
    if any(value not in own for value in site):
        return Refusal(403, "asked by another page")
    origin = headers.get("origin", ())
    if any(value != f"http://{host}" for value in origin):
        return Refusal(403, "asked by another page")
    if method == "POST" and len(origin) != 1:
        return Refusal(403, "a change must name the page it comes from")
    if not _has_token(target, headers, port=port, token=token):
        return Refusal(403, "open the address that the command printed")
    return _body_refusal(headers) if method == "POST" else None


def body_length(headers: Mapping[str, Sequence[str]]) -> int:
    """Return how many bytes follow a request that was not refused."""
    return int(headers.get("content-length", ("0",))[0])


def cookie_name(port: int) -> str:
    """Return the name under which a browser keeps the token; one a port."""
    return f"desk-{port}"


def token_typed(target: str) -> str | None:
    """Return the token that an address carries, None if it carries none."""
    found = re.fullmatch(r"/\?token=([A-Za-z0-9_-]*)", target)
    return found[1] if found else None


def same(found: str, token: str) -> bool:
    """Compare two tokens in a time that does not tell how far they agree."""
    return hmac.compare_digest(found.encode("utf-8", "replace"), token.encode())


def _single(headers: Mapping[str, Sequence[str]], name: str) -> str:
    values = headers.get(name, ())
    return values[0] if len(values) == 1 else ""


def _has_token(target: str, headers: Mapping[str, Sequence[str]], *, port: int, token: str) -> bool:
    typed = token_typed(target)
    if typed is not None:
        return same(typed, token)
    try:
        cookies = SimpleCookie("; ".join(headers.get("cookie", ())))
    except CookieError:
        return False
    kept = cookies.get(cookie_name(port))
    return kept is not None and same(kept.value, token)


def _body_refusal(headers: Mapping[str, Sequence[str]]) -> Refusal | None:
    if headers.get("transfer-encoding"):
        return Refusal(411, "a change must tell its length")
    length = _single(headers, "content-length")
    if not re.fullmatch(r"[0-9]{1,12}", length):
        return Refusal(411, "a change must tell its length")
    if int(length) > LARGEST_BODY_BYTES:
        return Refusal(413, f"at most {LARGEST_BODY_BYTES} bytes at once")
    kind = _single(headers, "content-type").partition(";")[0].strip().lower()
    if kind != "application/json":
        return Refusal(415, "only JSON is read")
    return None
