"""Open the pictures a lesson names: one loader for the whole program, upright, sRGB, 8 bit.

Nothing of a picture's file but its pixels leaves this module: location, serial number, comment,
thumbnail and colour profile stay behind.
"""

import contextlib
import hashlib
import io
import math
import re
import threading
import warnings
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from PIL import Image, ImageFile, ImageStat, UnidentifiedImageError

from reporter.errors import ExtraMissingError, InputRefusedError, Problem
from reporter.safe_open import open_inside, read_inside
from reporter.session.colour import to_srgb
from reporter.session.heic import HeicRefusedError, open_heic
from reporter.units import shown

LARGEST_FILE_BYTES = 64 * 1024 * 1024
MOST_PIXELS = 50_000_000
SHORTEST_SIDE = 64
LARGEST_SIDE_RATIO = 8.0
JPEG_QUALITY = 85

_ORIENTATION_TAG = 0x0112  # EXIF 2.32, table 4
_LOCATION_TAG = 0x8825
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_ENDINGS = {
    "JPEG": (".jpg", ".jpeg", ".jpe", ".jfif"),
    "MPO": (".jpg", ".jpeg", ".jpe", ".mpo"),  # a JPEG with further pictures behind it
    "PNG": (".png",),
    "HEIF": (".heic", ".heif", ".hif"),
}
_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_OTHER_KINDS: tuple[tuple[bytes, str], ...] = (
    (rb"GIF8", "a GIF picture"),
    (rb"RIFF....WEBP", "a WebP picture"),
    (rb"II\*\0|MM\0\*", "a TIFF or camera raw picture"),
    (rb"BM", "a BMP picture"),
    (rb"....ftypavif", "an AVIF picture"),
    (rb"....ftyp", "a video"),
    (rb"%PDF", "a PDF"),
    (rb"\s*<(?:!|html|svg|\?xml)", "a web page or drawing"),
    (rb"PK\x03\x04", "a ZIP archive"),
)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture, decoded.

    Attributes
    ----------
    image : PIL.Image.Image
        Upright, mode RGB in sRGB, 8 bit; without any metadata. May be smaller than `size` by a
        factor of 2, 4 or 8 when a smaller one was asked for.
    size : tuple of int
        Width and height of the whole upright picture in pixels; marked points refer to it.
    digest : str
        SHA-256 of the file.
    notes : tuple of str
        What was noticed and mended, in plain words.
    """

    image: Image.Image
    size: tuple[int, int]
    digest: str
    notes: tuple[str, ...] = ()


class PictureRefusedError(InputRefusedError):
    """A file that is no usable picture.

    Attributes
    ----------
    reason : str
        What is wrong and what to do, without a place; the caller knows the line.
    """

    def __init__(self, name: str, reason: str) -> None:
        self.reason = reason
        super().__init__([Problem(name, 0, 0, "", reason)])


def open_frame(
    folder: Path,
    relative_name: str,
    *,
    at_least_px: int | None = None,
    blur: Sequence[tuple[float, float, float, float]] = (),
) -> Picture:
    """Open one picture of a lesson.

    Parameters
    ----------
    folder : Path
        The lesson's folder.
    relative_name : str
        The file as the lesson names it.
    at_least_px : int, optional
        If the longer side of the picture need not be longer than this many pixels, a JPEG is
        decoded at a half, a quarter or an eighth of its size, which is faster and smaller.
    blur : sequence of four float
        Left, top, right, bottom in pixels of the whole upright picture: each region becomes one
        even tone, see `blur_regions`.

    Returns
    -------
    Picture
        Wholly decoded.

    Raises
    ------
    ReferenceRefusedError
        The name leads outside the folder or to no file.
    PictureRefusedError
        Not a picture we read, cut off, too large, too small or too thin.
    ExtraMissingError
        A HEIC picture, and the part that reads them is not installed.
    """
    data = read_inside(folder, relative_name, LARGEST_FILE_BYTES)
    notes: list[str] = []
    image = _open_header(io.BytesIO(data), data[:32], relative_name, pixels=True)
    _note_ending(image, relative_name, notes)
    try:
        turn, has_location = _orientation(image, notes)
        if has_location:
            notes.append("the picture held a location; it is left out of the handout")
        full_size = image.size
        if at_least_px is not None:
            _ask_for_less(image, at_least_px)
        ImageFile.LOAD_TRUNCATED_IMAGES = False
        image.load()
        upright = to_srgb(image, notes)
    except Exception as error:  # a decoder fed a damaged file may raise nearly anything
        raise PictureRefusedError(relative_name, _damaged(relative_name, error)) from None
    if turn is not None:
        upright = upright.transpose(turn)
        if turn in _QUARTER_TURNS:
            full_size = full_size[::-1]
    upright.info.clear()  # a comment left here would be written out again
    blur_regions(upright, full_size, blur)
    return Picture(upright, full_size, hashlib.sha256(data).hexdigest(), tuple(notes))


_QUARTER_TURNS = frozenset(_TURNS[number] for number in (5, 6, 7, 8))


def blur_regions(
    image: Image.Image,
    full_size: tuple[int, int],
    regions: Sequence[tuple[float, float, float, float]],
) -> None:
    """Fill each region of an image with its own average colour, in place.

    Parameters
    ----------
    image : PIL.Image.Image
        Mode RGB; changed.
    full_size : tuple of int
        Width and height that the regions refer to [px]; the image may be smaller.
    regions : sequence of four float
        Left, top, right, bottom [px]; pixels that are touched only in part count as inside.

    Notes
    -----
    One colour is all that is left of a region. A mosaic of small squares, or a soft blur, keeps
    enough of a face for it to be told again (McPherson, Shokri and Shmatikov 2016,
    arXiv:1609.00408). What surrounds a face may tell who it is all the same.
    """
    across, down = image.width / full_size[0], image.height / full_size[1]
    for left, top, right, bottom in regions:
        box = (
            max(math.floor(left * across), 0),
            max(math.floor(top * down), 0),
            min(math.ceil(right * across), image.width),
            min(math.ceil(bottom * down), image.height),
        )
        average = ImageStat.Stat(image.crop(box)).mean
        image.paste(tuple(round(channel) for channel in average), box)


def picture_size(folder: Path, relative_name: str) -> tuple[int, int]:
    """Return width and height of the upright picture in pixels, reading its header only.

    Raises what `open_frame` raises; damage behind the header goes unnoticed.
    """
    return picture_header(folder, relative_name)[0]


def picture_header(folder: Path, relative_name: str) -> tuple[tuple[int, int], tuple[str, ...]]:
    """Return the size of the upright picture in pixels, and what was noticed; see picture_size."""
    notes: list[str] = []
    with open_inside(folder, relative_name, LARGEST_FILE_BYTES) as opened:
        start = opened.read(32)
        opened.seek(0)
        image = _open_header(opened, start, relative_name)
        _note_ending(image, relative_name, notes)
        turn, _ = _orientation(image, notes)
        width, height = image.size
    size = (height, width) if turn in _QUARTER_TURNS else (width, height)
    return size, tuple(notes)


def file_digest(folder: Path, relative_name: str) -> str:
    """Return the SHA-256 of a picture's file."""
    return hashlib.sha256(read_inside(folder, relative_name, LARGEST_FILE_BYTES)).hexdigest()


def clean_jpeg(
    picture: Picture,
    width_px: int,
    height_px: int,
    crop: tuple[float, float, float, float] | None = None,
    quality: int = JPEG_QUALITY,
    *,
    grey: bool = False,
    ink_share: float = 1.0,
) -> bytes:
    """Return a part of a picture as a JPEG of the asked size that holds nothing but pixels.

    Parameters
    ----------
    picture : Picture
        As `open_frame` returns it.
    width_px, height_px : int
        Size of the result in pixels.
    crop : tuple of float, optional
        Left, top, right, bottom in pixels of the whole upright picture (`Picture.size`); the
        whole picture if left out.
    quality : int
        JPEG quality, 1 to 95.
    grey : bool
        Keep the brightness only.
    ink_share : float
        Share of the ink that each pixel keeps, 0 to 1; less makes the picture lighter.

    Returns
    -------
    bytes
        Baseline JPEG, colour not subsampled (4:4:4), no EXIF, profile, comment or thumbnail.

    Raises
    ------
    ValueError
        If the crop leaves the picture or has no area: a fault of the caller.

    Notes
    -----
    Smaller sizes average over the area each new pixel covers, so that thin lines do not break up.
    """
    whole_width, whole_height = picture.size
    left, top, right, bottom = crop if crop is not None else (0.0, 0.0, whole_width, whole_height)
    if not (0 <= left < right <= whole_width and 0 <= top < bottom <= whole_height):
        message = f"crop {crop} does not lie within {picture.size}"
        raise ValueError(message)
    across = picture.image.width / whole_width
    down = picture.image.height / whole_height
    box = (left * across, top * down, right * across, bottom * down)
    shrinks = box[2] - box[0] > width_px or box[3] - box[1] > height_px
    resized = picture.image.resize(
        (width_px, height_px),
        resample=Image.Resampling.HAMMING if shrinks else Image.Resampling.BICUBIC,
        box=box,
        reducing_gap=2.0 if shrinks else None,
    )
    resized.info.clear()
    if grey:
        resized = resized.convert("L")
    if ink_share < 1:
        resized = resized.point(lambda light: round(255 - ink_share * (255 - light)))
    written = io.BytesIO()
    resized.save(written, "JPEG", quality=quality, subsampling=0)
    return written.getvalue()


_FILTERS = threading.Lock()


@contextlib.contextmanager
def _bombs_are_errors() -> Iterator[None]:
    """Make Pillow's warning of too many pixels an error, and silence its remarks on unused tags.

    The filters of warnings belong to the whole process, so threads take turns here.
    """
    with _FILTERS, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield


def _open_header(
    opened: BinaryIO, start: bytes, name: str, *, pixels: bool = False
) -> Image.Image:
    """Open a picture and judge its format and size; only of a HEIC are `pixels` decoded here."""
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    try:
        if start[4:8] == b"ftyp" and start[8:12] in _HEIF_BRANDS:
            image = open_heic(opened.read(), name, MOST_PIXELS, pixels=pixels)
        else:
            with _bombs_are_errors():
                image = Image.open(opened, formats=["JPEG", "PNG"])
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise PictureRefusedError(name, _too_many_pixels(name)) from None
    except HeicRefusedError as error:
        told = {
            "pixels": _too_many_pixels(name),
            "unknown": _not_a_picture(name, b"\0"),
            "truncated": _damaged(name, EOFError("truncated")),
        }
        raise PictureRefusedError(name, told.get(error.kind, _damaged(name, error))) from None
    except ExtraMissingError:
        raise
    except UnidentifiedImageError:
        raise PictureRefusedError(name, _not_a_picture(name, start)) from None
    except Exception as error:  # see open_frame
        raise PictureRefusedError(name, _damaged(name, error)) from None
    _judge_size(image.size, name)
    return image


def _too_many_pixels(name: str) -> str:
    return (
        f"{shown(name)} has more than {MOST_PIXELS // 1_000_000} million pixels; save it smaller"
    )


def _judge_size(size: tuple[int, int], name: str) -> None:
    width, height = size
    if width * height > MOST_PIXELS:
        reason = (
            f"{shown(name)} is {width} x {height} pixels; at most"
            f" {MOST_PIXELS // 1_000_000} million are read; save it smaller"
        )
    elif min(width, height) < SHORTEST_SIDE:
        reason = (
            f"{shown(name)} is {width} x {height} pixels, too small for a page;"
            f" each side needs at least {SHORTEST_SIDE}"
        )
    elif max(width, height) > LARGEST_SIDE_RATIO * min(width, height):
        reason = (
            f"{shown(name)} is {width} x {height} pixels, too thin for a page; the longer side"
            f" may be at most {LARGEST_SIDE_RATIO:g} times the shorter"
        )
    else:
        return
    raise PictureRefusedError(name, reason)


def _note_ending(image: Image.Image, name: str, notes: list[str]) -> None:
    """Note a file name that promises another kind of picture; the contents decide."""
    kind = image.format or ""
    if Path(name).suffix.lower() not in _ENDINGS.get(kind, ()):
        told = "JPEG" if kind == "MPO" else kind
        notes.append(f"the name does not say so, but the picture is a {told}; it was read as one")


def _orientation(image: Image.Image, notes: list[str]) -> tuple[Image.Transpose | None, bool]:
    """Return how to turn the picture upright, and whether it holds a location."""
    try:
        with _bombs_are_errors():
            exif = image.getexif()
            number: Any = exif.get(_ORIENTATION_TAG, 1)
            has_location = bool(exif.get_ifd(_LOCATION_TAG)) if _LOCATION_TAG in exif else False
    except Exception:  # broken EXIF must not stop a good picture
        notes.append("the picture's data about itself is damaged; taken as upright")
        return None, False
    if number not in range(1, 9):
        notes.append(f"the picture's orientation is {shown(number)}, not 1 to 8; taken as upright")
        return None, has_location
    return _TURNS.get(number), has_location


def _ask_for_less(image: Image.Image, at_least_px: int) -> None:
    """Let the JPEG decoder work at a fraction, keeping at least that many pixels."""
    longest = max(image.size)
    divisor = next((d for d in (8, 4, 2) if longest / d >= at_least_px), 1)
    if divisor > 1:
        width, height = image.size
        image.draft(None, (math.ceil(width / divisor), math.ceil(height / divisor)))


def _not_a_picture(name: str, start: bytes) -> str:
    """Say what a file is instead of a picture we read."""
    if not start:
        return f"{shown(name)} is empty"
    for pattern, kind in _OTHER_KINDS:
        if re.match(pattern, start, re.DOTALL):
            return f"{shown(name)} is {kind}; JPEG, PNG and HEIC pictures are read"
    return f"{shown(name)} is not a picture; JPEG, PNG and HEIC pictures are read"


def _damaged(name: str, error: Exception) -> str:
    if "truncated" in str(error).lower():
        return f"{shown(name)} is cut off: its end is missing; copy it again"
    return f"{shown(name)} is damaged and cannot be read; copy it again"
