"""What a disk may hold after the power went: written calls done again, some never flushed lost.

A write lasts once its file was flushed, a name once its folder was (fsync(2)). Of the rest any
part may have reached the disk, in any order, and a write may be torn at a sector.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

SECTOR = 512


@dataclass(frozen=True)
class Call:
    """One call that changed the disk, or a line that was told in between."""

    name: str
    path: str
    source: str
    at: int
    data: bytes


def calls_in(log: bytes) -> Iterator[Call]:
    """Yield the calls of a log."""
    at = 0
    while at < len(log):
        end = log.index(b"\n", at)
        name, path, source, place, size = log[at:end].decode().split("\t")
        data = log[end + 1 : end + 1 + int(size)]
        yield Call(name, path, source, int(place), data)
        at = end + 1 + int(size)


@dataclass
class File:
    """A file's lasting bytes, and the writes and cuts that were not flushed."""

    lasting: bytearray = field(default_factory=bytearray)
    waiting: list[tuple[int, bytes | None]] = field(default_factory=list)

    def flush(self) -> None:
        for change in self.waiting:
            apply(self.lasting, *change)
        self.waiting.clear()


def apply(content: bytearray, at: int, data: bytes | None) -> None:
    """Write data at a place; None cuts the file there."""
    if data is None:
        content[:] = content[:at].ljust(at, b"\0")
        return
    if len(content) < at:
        content.extend(b"\0" * (at - len(content)))
    content[at : at + len(data)] = data


@dataclass
class Disk:
    """Lasting and waiting state; folders' changes wait per folder."""

    now: dict[str, File] = field(default_factory=dict)
    lasting: dict[str, File] = field(default_factory=dict)
    waiting: dict[str, list[tuple[str, File | None]]] = field(default_factory=dict)

    def name(self, path: str, file: File | None) -> None:
        """Give a file a name, or take the name away."""
        if file is None:
            self.now.pop(path, None)
        else:
            self.now[path] = file
        self.waiting.setdefault(str(PurePosixPath(path).parent), []).append((path, file))

    def do(self, call: Call) -> None:
        """Do a call."""
        if call.name in ("write", "truncate"):
            if call.path not in self.now:
                self.name(call.path, File())
            data = call.data if call.name == "write" else None
            self.now[call.path].waiting.append((call.at, data))
        elif call.name == "sync":
            if call.path in self.now:
                self.now[call.path].flush()
            for path, file in self.waiting.pop(call.path, []):
                self._last(path, file)
        elif call.name == "link":
            self.name(call.path, self.now[call.source])
        elif call.name == "rename":
            file = self.now[call.source]
            self.name(call.source, None)
            self.name(call.path, file)
        elif call.name == "unlink":
            self.name(call.path, None)

    def _last(self, path: str, file: File | None) -> None:
        if file is None:
            self.lasting.pop(path, None)
        else:
            self.lasting[path] = file

    def lose_power(self, made: random.Random) -> None:
        """Let some of what waits reach the disk, and forget the rest."""
        for changes in self.waiting.values():
            keep = made.random()
            for path, file in changes:
                if made.random() < keep:
                    self._last(path, file)
        for file in {id(file): file for file in self.lasting.values()}.values():
            keep = made.random()
            for at, data in file.waiting:
                if made.random() >= keep:
                    continue
                if data is not None and made.random() < 0.2:
                    whole = -(-len(data) // SECTOR)
                    data = data[: made.randrange(whole + 1) * SECTOR]
                apply(file.lasting, at, data)

    def write_out(self, source: str, folder: Path) -> None:
        """Write what lasts into a folder; names count from where the source lay."""
        for path, file in self.lasting.items():
            if path.endswith("-shm"):
                continue  # only memory that programs share; made anew by the first
            target = folder / PurePosixPath(path).relative_to(source)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.lasting)


def disk_of(folder: Path, named: str) -> Disk:
    """Return a disk on which the files of a folder last, under the name of another."""
    disk = Disk()
    for path in folder.rglob("*"):
        if path.is_file():
            name = str(PurePosixPath(named) / path.relative_to(folder).as_posix())
            disk.now[name] = disk.lasting[name] = File(bytearray(path.read_bytes()))
    return disk
