"""A PostgreSQL server of the tests' own: private, in a temporary folder, on a socket alone."""

import functools
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import psycopg

from reporter.archive.place import Place

_DEBIAN = "/usr/lib/postgresql"
_SETTINGS = {
    "listen_addresses": "",
    "shared_buffers": "32MB",
    "autovacuum": "off",
    "log_min_messages": "fatal",
}


@functools.cache
def programs() -> Path | None:
    """Return the folder of the server's programs, the newest; None where there are none."""
    known = shutil.which("initdb")
    if known:
        return Path(known).parent
    found = sorted(Path(_DEBIAN).glob("*/bin/initdb"), key=lambda p: float(p.parts[-3]))
    return found[-1].parent if found else None


@dataclass
class Server:
    """A running server."""

    folder: Path
    prefix: tuple[str, ...]
    count: int = 0
    databases: dict[Path, str] = field(default_factory=dict)

    def control(self, *typed: str) -> None:
        """Call pg_ctl."""
        command = [*self.prefix, str(programs() / "pg_ctl"), "-D", str(self.folder / "data"), "-w"]
        log = str(self.folder / "log")
        subprocess.run(
            [*command, "-l", log, *typed],
            check=True, cwd="/", stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip

    def address(self, database: str, user: str = "academy") -> str:
        return f"postgresql://{user}@/{database}?host={self.folder}"

    def superuser(self, database: str = "postgres") -> psycopg.Connection:
        return psycopg.connect(self.address(database, "chief"), autocommit=True)

    def new_place(self, folder: Path) -> Place:
        """Make an empty database; return a shelf's place with it and a folder."""
        self.count += 1
        name = f"shelf{self.count}"
        with self.superuser() as connection:
            connection.execute(f"CREATE DATABASE {name} OWNER academy TEMPLATE template0")
        self.databases[folder] = name
        return Place(folder, self.address(name))

    def files_of(self, folder: Path) -> Path:
        """Return where the server keeps the database of a shelf, everything written out."""
        with self.superuser(self.databases[folder]) as connection:
            connection.execute("CHECKPOINT")
            found = connection.execute(
                "SELECT oid FROM pg_database WHERE datname = current_database()"
            ).fetchone()
        return self.folder / "data" / "base" / str(found[0])

    def forget(self, folder: Path) -> None:
        """Remove a shelf's database."""
        with self.superuser() as connection:
            connection.execute(f"DROP DATABASE {self.databases.pop(folder)} WITH (FORCE)")


@contextmanager
def running_server(on_disk: Path | None = None) -> Iterator[Server]:
    """Start a server and stop it at the end; it never runs as the system's own superuser.

    Its data lie in memory where that can be, or below `on_disk`.
    """
    prefix: tuple[str, ...] = ()
    quick = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    with tempfile.TemporaryDirectory(prefix="pg-", dir=on_disk or quick) as name:
        folder = Path(name)
        if os.geteuid() == 0:
            prefix = ("runuser", "-u", "postgres", "--")
            shutil.chown(folder, "postgres")
        folder.chmod(0o700)
        subprocess.run(
            [*prefix, str(programs() / "initdb"), "-D", str(folder / "data"), "-U", "chief",
             "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8", "--no-sync"],
            check=True, cwd="/", stdout=subprocess.DEVNULL,
        )  # fmt: skip
        server = Server(folder, prefix)
        options = [f"-c {key}='{value}'" for key, value in _SETTINGS.items()]
        (folder / "options").write_text(" ".join([*options, f"-k {folder}"]))
        server.control("start", "-o", (folder / "options").read_text())
        try:
            with server.superuser() as connection:
                connection.execute("CREATE ROLE academy LOGIN PASSWORD 'hush-99'")
            yield server
        finally:
            server.control("stop", "-m", "immediate")
