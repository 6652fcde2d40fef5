"""Open HEIC pictures through a process of its own, which a hostile file may bring down unharmed."""

import atexit
import contextlib
import importlib.util
import json
import os
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

from PIL import Image

from reporter.errors import ExtraMissingError
from reporter.session import heic_worker
from reporter.units import shown

MOST_SECONDS = 20.0
"""For one picture; fifty million pixels take about a third of it on a small computer."""


class HeicRefusedError(Exception):
    """A HEIC file that cannot be read; `kind` is pixels, unknown, truncated or damaged."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        super().__init__(kind)


def open_heic(data: bytes, name: str, most_pixels: int, *, pixels: bool) -> Image.Image:
    """Return a HEIC picture as its own rotation and crop make it.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        Its name, for a message.
    most_pixels : int
        More are refused before anything is decoded.
    pixels : bool
        Whether to decode; without, the image is blank and tells size and data about itself only.

    Raises
    ------
    HeicRefusedError
        If it cannot be read.
    ExtraMissingError
        If the part that reads such pictures is not installed.
    """
    if importlib.util.find_spec("pi_heif") is None:
        extra, purpose = "heic", f"the HEIC picture {shown(name)}"
        raise ExtraMissingError(extra, purpose)
    facts, (exif, profile, raw) = _WORKER.ask(data, most_pixels, pixels=pixels)
    size = (facts["size"][0], facts["size"][1])
    image = Image.frombytes(facts["mode"], size, raw) if pixels else Image.new("1", size)
    image.format = "HEIF"
    image.info = {"exif": exif} if exif else {}
    if profile:
        image.info["icc_profile"] = profile
    return image


class _Worker:
    """The process, begun when it is first needed and anew after it fell; one picture at a time."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._owner = 0

    def ask(
        self, data: bytes, most_pixels: int, *, pixels: bool
    ) -> tuple[dict[str, Any], tuple[bytes, bytes, bytes]]:
        with self._turn:
            process = self._running()
            alarm = threading.Timer(MOST_SECONDS, process.kill)
            alarm.start()
            try:
                return _talk(process, data, most_pixels, pixels=pixels)
            except HeicRefusedError:
                raise
            except (OSError, ValueError, EOFError):
                self.stop()
                kind = "damaged"
                raise HeicRefusedError(kind) from None
            except BaseException:
                self.stop()  # interrupted halfway: what is in the pipes belongs to no one
                raise
            finally:
                alarm.cancel()

    def _running(self) -> "subprocess.Popen[bytes]":
        process = self._process
        if process is None or process.poll() is not None or self._owner != os.getpid():
            # The file itself, and -P: no module that lies in a lesson's folder is ever imported.
            command = [sys.executable, "-P", str(Path(heic_worker.__file__))]
            process = subprocess.Popen(
                command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
            self._process, self._owner = process, os.getpid()
        return process

    def stop(self) -> None:
        """End the process, if it is ours."""
        process, self._process = self._process, None
        if process is None or self._owner != os.getpid():
            return
        process.kill()
        for pipe in filter(None, (process.stdin, process.stdout)):
            with contextlib.suppress(OSError):
                pipe.close()
        process.wait()


def _talk(
    process: "subprocess.Popen[bytes]", data: bytes, most_pixels: int, *, pixels: bool
) -> tuple[dict[str, Any], tuple[bytes, bytes, bytes]]:
    asked, told = process.stdin, process.stdout
    assert asked is not None
    assert told is not None

    def read(length: int) -> bytes:
        got = told.read(length)
        if len(got) < length:
            raise EOFError
        return got

    asked.write(heic_worker.REQUEST.pack(pixels, most_pixels, len(data)) + data)
    asked.flush()
    facts = json.loads(read(heic_worker.LENGTH.unpack(read(heic_worker.LENGTH.size))[0]))
    if "refused" in facts:
        raise HeicRefusedError(facts["refused"])
    exif, profile, raw = (read(length) for length in facts["parts"])
    return facts, (exif, profile, raw)


_WORKER = _Worker()
atexit.register(_WORKER.stop)
