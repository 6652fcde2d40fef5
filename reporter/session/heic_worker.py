"""Decode HEIC pictures in a process of its own, asked by `reporter.session.heic` over its pipes.

The decoder is native code that a damaged file can bring down; only this process falls with it. It
imports nothing of the program, so that it starts fast and runs wherever the libraries are.
"""

import contextlib
import io
import json
import struct
import sys
import warnings
from typing import Any, BinaryIO

MOST_BYTES_OF_MEMORY = 2 * 2**30
REQUEST = struct.Struct(">?QQ")
"""Whether pixels are wanted, how many pixels at most, and how many bytes the file has."""
LENGTH = struct.Struct(">Q")


def answer_all(asked: BinaryIO, told: BinaryIO) -> None:
    """Answer requests until there are no more."""
    while len(head := asked.read(REQUEST.size)) == REQUEST.size:
        wants_pixels, most_pixels, length = REQUEST.unpack(head)
        facts, parts = decode(asked.read(length), most_pixels, wants_pixels=wants_pixels)
        facts["parts"] = [len(part) for part in parts]
        line = json.dumps(facts).encode()
        told.write(LENGTH.pack(len(line)) + line)
        for part in parts:
            told.write(part)
        told.flush()


def decode(
    data: bytes, most_pixels: int, *, wants_pixels: bool
) -> tuple[dict[str, Any], tuple[bytes, ...]]:
    """Return facts of a picture, and its EXIF, colour profile and pixels; or why it is refused."""
    from PIL import Image, UnidentifiedImageError

    Image.MAX_IMAGE_PIXELS = most_pixels
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data), formats=["HEIF"])
        width, height = image.size
        if width * height > most_pixels:
            return {"refused": "pixels"}, ()
        exif = image.info.get("exif") or b""
        profile = image.info.get("icc_profile") or b""
        if wants_pixels:
            image.load()
            if image.size != (width, height):
                return {"refused": "damaged"}, ()
        pixels = image.tobytes() if wants_pixels else b""
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        return {"refused": "pixels"}, ()
    except UnidentifiedImageError:
        return {"refused": "unknown"}, ()
    except Exception as error:  # a decoder fed a damaged file may raise nearly anything
        return {"refused": "truncated" if "truncated" in str(error) else "damaged"}, ()
    return {"mode": image.mode, "size": [width, height]}, (exif, profile, pixels)


def keep_small() -> None:
    """Give this process a ceiling of memory, where the system has one."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        most = resource.getrlimit(resource.RLIMIT_AS)[1]
        own = MOST_BYTES_OF_MEMORY
        allowed = own if most == resource.RLIM_INFINITY else min(most, own)
        resource.setrlimit(resource.RLIMIT_AS, (allowed, most))


def main() -> None:
    """Serve until the pipe is closed."""
    import pi_heif

    keep_small()
    pi_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
    answer_all(sys.stdin.buffer, sys.stdout.buffer)


if __name__ == "__main__":
    main()
