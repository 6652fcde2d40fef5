"""One try at a boundary: damaged bytes go in, a value or a refusal may come out, soon and small."""

import contextlib
import random
import re
import signal
import struct
import sys
import time
import traceback
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from tests.hardening.boundaries import Boundary

MEBIBYTES = 512
PATIENCE = 4.0
"""Times that a try may take by the clock what it may take of the processor: others work too."""
MOST_MEBIBYTES = 3_000
"""A ceiling that protects the machine; growth above `MEBIBYTES` is a find of its own."""


class TookTooLongError(BaseException):
    """A reader was still at work after its time; no reader may catch it."""


@dataclass(frozen=True)
class Find:
    """Bytes that broke a promise, and how."""

    boundary: str
    data: bytes
    how: str

    @property
    def digest(self) -> str:
        """Name of the kept file."""
        return sha256(self.data).hexdigest()[:16]


def _late(*_: object) -> None:
    raise TookTooLongError


@contextlib.contextmanager
def alarm(seconds: float) -> Iterator[None]:
    """Interrupt the block after a time, where the system and the thread allow it."""
    try:
        before = signal.signal(signal.SIGALRM, _late)
    except (AttributeError, ValueError):
        yield
        return
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


@contextlib.contextmanager
def ceiling() -> Iterator[None]:
    """Keep a run-away reader from eating the machine."""
    if sys.platform != "linux":
        yield
        return
    import resource

    used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    before = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (used + MOST_MEBIBYTES * 2**20, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)


def peak_mebibytes() -> float:
    """Return the largest memory this process has had [MiB]."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1_024


def attempt(boundary: Boundary, data: bytes, folder: Path) -> Find | None:
    """Give bytes to a reader; return a find if anything but a value or a refusal came of it."""
    before, begun = peak_mebibytes(), time.process_time()
    try:
        with alarm(PATIENCE * boundary.seconds):
            boundary.read(data, folder)
    except boundary.refusals:
        pass
    except KeyboardInterrupt:
        raise
    except TookTooLongError:
        return Find(
            boundary.name, data, f"longer than {PATIENCE * boundary.seconds:g} s by the clock"
        )
    except BaseException as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        how = f"{type(error).__name__} at {Path(last.filename).name}:{last.lineno}: {error}"
        return Find(boundary.name, data, how[:300])
    if time.process_time() - begun > boundary.seconds:
        return Find(boundary.name, data, f"longer than {boundary.seconds:g} s")
    if peak_mebibytes() - before > MEBIBYTES:
        return Find(boundary.name, data, f"grew by {peak_mebibytes() - before:.0f} MiB")
    return None


def search(boundary: Boundary, folder: Path, tries: int, seed: int) -> Iterator[Find]:
    """Yield the finds among so many damaged inputs; the same seed tries the same."""
    chance = random.Random(f"{boundary.name} {seed}")
    seeds = [data for data in boundary.seeds() if data]
    boundary.prepare(folder)
    with ceiling():
        for number in range(tries):
            data = seeds[number] if number < len(seeds) else damaged(boundary, seeds, chance)
            found = attempt(boundary, data, folder)
            if found is not None:
                yield found


def damaged(boundary: Boundary, seeds: list[bytes], chance: random.Random) -> bytes:
    """Return one of the seeds with one to eight small damages."""
    data = bytearray(chance.choice(seeds))
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 5, 8))):
        _damage(data, boundary, seeds, chance)
    if boundary.name == "png" and chance.random() < 0.7:
        return with_checksums(bytes(data))
    return bytes(data)


def _damage(data: bytearray, boundary: Boundary, seeds: list[bytes], chance: random.Random) -> None:
    size = len(data)
    at = chance.randrange(size + 1)
    many = min(size - at, chance.choice((1, 1, 2, 4, 16, 64)))
    kind = chance.randrange(10)
    if kind == 0 and size:
        data[at % size] ^= 1 << chance.randrange(8)
    elif kind == 1:
        data[at : at + many] = chance.randbytes(many)
    elif kind == 2:
        del data[at : at + many]
    elif kind == 3:
        data[at:at] = data[at : at + many] * chance.choice((1, 1, 2, 30))
    elif kind in (4, 5) and boundary.words:
        data[at : at + chance.choice((0, many))] = chance.choice(boundary.words)
    elif kind == 6:
        other = chance.choice(seeds)
        there = chance.randrange(len(other) + 1)
        data[at : at + many] = other[there : there + chance.choice((1, 8, 80, 800))]
    elif kind == 7 and boundary.is_text:
        _damage_a_value(data, chance)
    elif kind == 8 and chance.random() < 0.3:
        del data[at:]
    elif size >= 4:
        place = chance.randrange(size - 3)
        edge = chance.choice((0, 1, 0x7F, 0xFF, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF))
        data[place : place + 4] = struct.pack(chance.choice((">L", "<L")), edge)


_VALUE = re.compile(rb"[-+]?[0-9][0-9.]*|[A-Za-z][\w-]+")
_VALUES = (
    b"0", b"-1", b"1e999", b"nan", b"99999999999", b"0.0000001", b"", b"null", b"[]", b"{}",
    b"yes", b"hidden", b"9" * 400, b"x" * 300, "\u00e4\u0301\U0001f3cc".encode(), b"2026-02-30",
    b"1 deg left", b"straight", b"../../x", b"'", b"- x",
)  # fmt: skip


def _damage_a_value(data: bytearray, chance: random.Random) -> None:
    """Put an odd value in the place of a word or number."""
    found = list(_VALUE.finditer(bytes(data)))
    if found:
        place = chance.choice(found)
        others = [chance.choice(found).group(), chance.choice(_VALUES)]
        data[place.start() : place.end()] = chance.choice(others)


def with_checksums(data: bytes) -> bytes:
    """Return a PNG whose chunks have the right checksums again, so that damage gets further in."""
    made, at = bytearray(data[:8]), 8
    while at + 12 <= len(data):
        (length,) = struct.unpack(">L", data[at : at + 4])
        if length > len(data) - at - 12:
            break
        body = data[at + 4 : at + 8 + length]
        made += data[at : at + 4] + body + struct.pack(">L", zlib.crc32(body))
        at += 12 + length
    return bytes(made + data[at:])
