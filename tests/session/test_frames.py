"""Pictures open upright, in sRGB and whole, or are refused; OpenCV and Pillow are the judges."""

import io
import random
import struct
import sys
import time
import warnings
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFilter, ImageOps, PngImagePlugin

from reporter.errors import ExitCode, ExtraMissingError, InputRefusedError
from reporter.session import frames
from reporter.session.frames import (
    MOST_PIXELS,
    PictureRefusedError,
    clean_jpeg,
    open_frame,
    picture_header,
    picture_size,
)

PICTURES = Path(__file__).parent / "pictures"


def colours(width: int = 96, height: int = 128) -> Image.Image:
    """Four quarters of different colours, so that every turn and flip can be told."""
    quarters = [[(220, 30, 30), (30, 200, 40)], [(40, 60, 210), (235, 225, 60)]]
    array = np.repeat(np.repeat(np.array(quarters, np.uint8), height // 2, 0), width // 2, 1)
    return Image.fromarray(array)


def saved(folder: Path, image: Image.Image, name: str, **options) -> str:
    image.save(folder / name, **options)
    return name


@pytest.mark.parametrize("name", ["a.jpg", "a.png"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_row_16_turned_upright_once(tmp_path, orientation, name):
    exif = Image.Exif()
    exif[0x0112] = orientation  # EXIF 2.32, table 4
    saved(tmp_path, colours(), name, exif=exif)
    picture = open_frame(tmp_path, name)
    # ImageOps.exif_transpose is another implementation of the same table.
    expected = ImageOps.exif_transpose(Image.open(tmp_path / name)).convert("RGB")
    assert picture.size == picture_size(tmp_path, name) == expected.size
    assert np.array_equal(np.asarray(picture.image), np.asarray(expected))
    if name.endswith(".jpg"):
        by_opencv = cv2.cvtColor(cv2.imread(str(tmp_path / name)), cv2.COLOR_BGR2RGB)
        difference = np.abs(by_opencv.astype(int) - np.asarray(picture.image))
        assert difference.mean() < 2


@pytest.mark.parametrize("orientation", [0, 9, 200])
def test_row_16_an_invalid_orientation_is_noted_and_taken_as_upright(tmp_path, orientation):
    exif = Image.Exif()
    exif[0x0112] = orientation
    saved(tmp_path, colours(), "a.jpg", exif=exif)
    picture = open_frame(tmp_path, "a.jpg")
    assert picture.size == (96, 128)
    assert any("orientation" in note for note in picture.notes)
    assert "orientation" in picture_header(tmp_path, "a.jpg")[1][0]


def test_row_16_heic_is_turned_once():
    # The file holds a red rectangle in its upper left and EXIF orientation 6 (a quarter turn to
    # the right), so upright the red is in the upper right.
    pytest.importorskip("pi_heif")
    picture = open_frame(PICTURES, "turned.heic")
    assert picture.size == picture_size(PICTURES, "turned.heic") == (96, 128)
    red, green, _ = picture.image.getpixel((90, 5))
    assert red > 150 > green
    red, green, _ = picture.image.getpixel((5, 5))
    assert green > red
    assert b"CANARY" not in clean_jpeg(picture, 48, 64)


def test_heic_without_its_part_names_the_install_line(monkeypatch):
    monkeypatch.setitem(sys.modules, "pi_heif", None)
    with pytest.raises(ExtraMissingError, match=r'pip install "lesson-reporter\[heic\]"') as caught:
        open_frame(PICTURES, "turned.heic")
    assert caught.value.exit_code == ExitCode.EXTRA_MISSING == 10


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.jpg", b"", "is empty"),
        ("a.jpg", b"just text", "not a picture"),
        ("a.jpg", b"<!doctype html><p>x", "a web page"),
        ("a.jpg", b"GIF89a" + b"\0" * 50, "a GIF picture"),
        ("a.jpg", b"RIFF\0\0\0\0WEBPVP8 ", "a WebP picture"),
        ("a.tif", b"II*\0" + b"\0" * 50, "TIFF"),
        ("a.jpg", b"\0\0\0\x18ftypmp42" + b"\0" * 50, "a video"),
        ("a.jpg", b"\0\0\0\x18ftypavif" + b"\0" * 50, "an AVIF picture"),
        ("a.jpg", b"%PDF-1.7", "a PDF"),
        ("a.jpg", b"\xff\xd8\xff\xe0", "damaged|not a picture|cut"),
        ("a.png", b"\x89PNG\r\n\x1a\n", "damaged|not a picture|cut"),
    ],
)
def test_what_is_no_picture_is_named(tmp_path, name, content, words):
    (tmp_path / name).write_bytes(content)
    for read in (open_frame, picture_size):
        with pytest.raises(PictureRefusedError) as caught:
            read(tmp_path, name)
        assert any(word in caught.value.reason for word in words.split("|"))


def test_row_15_the_contents_decide_and_it_is_said(tmp_path):
    colours().save(tmp_path / "a.png", "JPEG")
    assert any("JPEG" in note for note in open_frame(tmp_path, "a.png").notes)
    assert open_frame(tmp_path, saved(tmp_path, colours(), "b.JPG")).notes == ()


def png_of_size(width: int, height: int) -> bytes:
    """A picture whose header claims a size; its one data block is a run of zeros."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(
            ">I", zlib.crc32(kind + data))  # fmt: skip

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(
        b"IDAT", zlib.compress(bytes(1_000_000))) + chunk(b"IEND", b"")  # fmt: skip


@pytest.mark.parametrize("size", [(12_000, 12_000), (20_000, 20_000), (7_072, 7_072)])
def test_row_13_a_bomb_is_refused_by_its_header(tmp_path, monkeypatch, size):
    (tmp_path / "a.png").write_bytes(png_of_size(*size))
    monkeypatch.setattr(Image.Image, "load", lambda self: pytest.fail("it was decoded"))
    started = time.perf_counter()
    with pytest.raises(PictureRefusedError, match="million"):
        open_frame(tmp_path, "a.png")
    assert time.perf_counter() - started < 2
    assert size[0] * size[1] > MOST_PIXELS


@pytest.mark.parametrize(
    ("size", "words"),
    [((1, 1), "too small"), ((1, 20_000), "too small"), ((63, 300), "too small"),
     ((64, 513), "too thin"), ((3_000, 100), "too thin")],
)  # fmt: skip
def test_row_31_too_small_or_thin(tmp_path, size, words):
    Image.new("RGB", size).save(tmp_path / "a.png")
    with pytest.raises(PictureRefusedError, match=words):
        picture_size(tmp_path, "a.png")


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_row_14_a_thousand_cuts(tmp_path, kind):
    noise = np.random.default_rng(11).integers(0, 255, (128, 96, 3), np.uint8)
    written = io.BytesIO()
    Image.fromarray(noise).filter(ImageFilter.BoxBlur(2)).save(written, kind)
    data = written.getvalue()
    (tmp_path / "a").write_bytes(data)
    whole = np.asarray(open_frame(tmp_path, "a").image)
    generator = random.Random(7)
    refused = 0
    for _ in range(500):
        (tmp_path / "a").write_bytes(data[: generator.randrange(len(data))])
        try:
            picture = open_frame(tmp_path, "a")
        except PictureRefusedError:
            refused += 1
        else:  # only what comes after the last pixel may be missing
            assert np.array_equal(np.asarray(picture.image), whole)
    assert refused > 480


def test_row_14_flipped_bytes_never_raise_anything_else(tmp_path):
    written = io.BytesIO()
    colours().save(written, "PNG")
    exif = Image.Exif()
    exif[0x8825] = {1: "N"}
    other = io.BytesIO()
    colours().save(other, "JPEG", exif=exif)
    generator = random.Random(5)
    for data in (written.getvalue(), other.getvalue()):
        for _ in range(300):
            changed = bytearray(data)
            for _ in range(generator.randrange(1, 8)):
                changed[generator.randrange(len(changed))] = generator.randrange(256)
            (tmp_path / "a").write_bytes(bytes(changed))
            for read in (open_frame, picture_header):
                try:
                    read(tmp_path, "a")
                except InputRefusedError:
                    continue


def test_row_17_nothing_but_pixels_gets_out(tmp_path):
    exif = Image.Exif()
    exif[0x010F], exif[0xA431], exif[0x9C9C] = "CANARY maker", "CANARY serial", b"CANARY"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[29] = "N", "CANARY date"
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    saved(tmp_path, colours(), "a.jpg", exif=exif, comment=b"CANARY comment",
          xmp=b"<x:xmpmeta>CANARY</x:xmpmeta>", icc_profile=profile)  # fmt: skip
    with (tmp_path / "a.jpg").open("ab") as opened:
        opened.write(b"CANARY behind the picture")
    text = PngImagePlugin.PngInfo()
    text.add_text("Author", "CANARY")
    text.add_itxt("XML:com.adobe.xmp", "CANARY")
    saved(tmp_path, colours(), "a.png", pnginfo=text, exif=exif)
    for name in ("a.jpg", "a.png"):
        assert (tmp_path / name).read_bytes().count(b"CANARY") >= 3
        picture = open_frame(tmp_path, name)
        assert any("location" in note for note in picture.notes)
        assert picture.image.info == {}
        cleaned = clean_jpeg(picture, 48, 64)
        assert b"CANARY" not in cleaned
        for marker in (b"Exif", b"ICC_PROFILE", b"http://ns.adobe.com"):
            assert marker not in cleaned


def test_row_18_sixteen_bit_is_scaled_not_clipped(tmp_path):
    ramp = np.linspace(0, 65_535, 96 * 128).reshape(128, 96).astype(np.uint16)
    cv2.imwrite(str(tmp_path / "a.png"), ramp)
    colour = np.dstack([ramp, ramp[::-1], ramp[:, ::-1]])
    cv2.imwrite(str(tmp_path / "b.png"), colour)
    for name in ("a.png", "b.png"):
        mine = np.asarray(open_frame(tmp_path, name).image).astype(int)
        by_opencv = cv2.cvtColor(cv2.imread(str(tmp_path / name)), cv2.COLOR_BGR2RGB).astype(int)
        assert np.abs(mine - by_opencv).max() <= 1
        assert 120 < mine.mean() < 135


def test_row_18_transparent_parts_become_white(tmp_path):
    for mode in ("RGBA", "LA", "P"):
        image = Image.new("RGBA", (96, 128), (200, 0, 0, 0))
        image.paste((0, 0, 0, 255), (0, 0, 48, 128))
        if mode == "P":
            image = image.convert("P")
            image.info["transparency"] = image.getpixel((90, 5))
        else:
            image = image.convert(mode)
        picture = open_frame(tmp_path, saved(tmp_path, image, f"{mode}.png"))
        assert picture.image.mode == "RGB"
        assert picture.image.getpixel((90, 5)) == (255, 255, 255)
        assert picture.image.getpixel((5, 5)) == (0, 0, 0)


@pytest.mark.parametrize("mode", ["1", "L", "P", "CMYK"])
def test_row_18_every_mode_becomes_rgb(tmp_path, mode):
    name = "a.jpg" if mode == "CMYK" else "a.png"
    image = colours().quantize(4) if mode == "P" else colours().convert(mode)
    assert image.mode == mode
    picture = open_frame(tmp_path, saved(tmp_path, image, name))
    assert picture.image.mode == "RGB"
    if mode in ("P", "CMYK"):
        difference = np.abs(np.asarray(picture.image).astype(int) - np.asarray(colours()))
        assert difference.mean() < 12


def test_row_18_a_colour_profile_is_applied(tmp_path):
    # A picture stored in CIE Lab's mid grey: L* = 50 is sRGB 119 (IEC 61966-2-1, by the formula
    # ((50+16)/116)^3 = 0.1842, then 1.055 * 0.1842^(1/2.4) - 0.055 = 0.466, times 255).
    lab = ImageCms.createProfile("LAB", colorTemp=5000)
    srgb = ImageCms.createProfile("sRGB")
    grey = Image.new("LAB", (96, 128), (128, 128, 128))
    back = ImageCms.profileToProfile(grey, lab, srgb, outputMode="RGB")
    assert abs(back.getpixel((5, 5))[0] - 119) <= 2
    # A profile that says nothing of use is noted, and the picture still opens.
    saved(tmp_path, colours(), "a.png", icc_profile=b"no profile at all")
    picture = open_frame(tmp_path, "a.png")
    assert any("colour profile" in note for note in picture.notes)
    assert np.array_equal(np.asarray(picture.image), np.asarray(colours()))


def swapped_profile() -> bytes:
    """An sRGB profile whose red and green are exchanged: its effect cannot be missed."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = struct.unpack(">I", data[128:132])[0]
    # ICC.1:2022, 7.3: the tag table begins at byte 128; twelve bytes a tag.
    at = {bytes(data[132 + 12 * i : 136 + 12 * i]): 132 + 12 * i for i in range(count)}
    red, green = at[b"rXYZ"], at[b"gXYZ"]
    data[red : red + 4], data[green : green + 4] = b"gXYZ", b"rXYZ"
    data = bytearray(bytes(data).replace(b"s\0R\0G\0B", b"o\0t\0h\0r"))
    return bytes(data)


def test_row_18_another_profile_changes_the_colours(tmp_path):
    red = Image.new("RGB", (96, 128), (255, 0, 0))
    picture = open_frame(tmp_path, saved(tmp_path, red, "a.png", icc_profile=swapped_profile()))
    across = picture.image.getpixel((5, 5))
    assert across[1] > 200 > 60 > across[0]


def test_a_smaller_decoding_keeps_the_full_size(tmp_path):
    saved(tmp_path, colours(800, 1_600), "a.jpg", quality=95)
    picture = open_frame(tmp_path, "a.jpg", at_least_px=300)
    assert picture.size == (800, 1_600)
    assert picture.image.size == (200, 400)
    part = (400, 0, 800, 800)
    small = Image.open(io.BytesIO(clean_jpeg(picture, 100, 200, part)))
    full = Image.open(io.BytesIO(clean_jpeg(open_frame(tmp_path, "a.jpg"), 100, 200, part)))
    assert np.abs(np.asarray(small).astype(int) - np.asarray(full)).mean() < 3


def test_a_crop_is_that_part_of_the_picture(tmp_path):
    noise = np.random.default_rng(3).integers(0, 255, (32, 24, 3), np.uint8)
    image = Image.fromarray(noise).resize((480, 640), Image.Resampling.BICUBIC)
    picture = open_frame(tmp_path, saved(tmp_path, image, "a.png"))
    left, top, right, bottom = 120, 160, 360, 480
    data = clean_jpeg(picture, 120, 160, (left, top, right, bottom), quality=95)
    result = Image.open(io.BytesIO(data))
    assert result.size == (120, 160)
    assert result.mode == "RGB"
    part = np.asarray(image)[top:bottom, left:right]
    by_opencv = cv2.resize(part, (120, 160), interpolation=cv2.INTER_AREA)
    assert np.abs(by_opencv.astype(int) - np.asarray(result)).mean() < 3


def test_colour_is_not_subsampled(tmp_path):
    picture = open_frame(tmp_path, saved(tmp_path, colours(), "a.png"))
    data = clean_jpeg(picture, 96, 128)
    # ITU-T T.81, B.2.2: in the frame header (FFC0) the sampling factors of all parts are 1x1.
    start = data.index(b"\xff\xc0")
    assert [data[start + 11 + 3 * part] for part in range(3)] == [0x11] * 3


@pytest.mark.parametrize("crop", [(-1, 0, 50, 50), (0, 0, 97, 50), (50, 0, 50, 50), (9, 9, 2, 2)])
def test_a_crop_outside_is_the_callers_fault(tmp_path, crop):
    picture = open_frame(tmp_path, saved(tmp_path, colours(), "a.png"))
    with pytest.raises(ValueError, match="does not lie within"):
        clean_jpeg(picture, 10, 10, crop)


def test_a_file_over_the_cap(tmp_path, monkeypatch):
    saved(tmp_path, colours(), "a.png")
    monkeypatch.setattr(frames, "LARGEST_FILE_BYTES", 100)
    with pytest.raises(InputRefusedError, match="at most 100"):
        open_frame(tmp_path, "a.png")


def test_pictures_can_be_opened_by_several_threads(tmp_path):
    from concurrent.futures import ThreadPoolExecutor

    before = list(warnings.filters)
    for number in range(24):
        saved(tmp_path, colours(), f"{number}.jpg", exif=Image.Exif())
    with ThreadPoolExecutor(8) as pool:
        pictures = list(pool.map(lambda n: open_frame(tmp_path, f"{n % 24}.jpg"), range(96)))
    assert {picture.size for picture in pictures} == {(96, 128)}
    assert warnings.filters == before


def test_a_blurred_region_is_one_average_and_nothing_else(tmp_path):
    # Average by numpy, independent of the loader; the picture is noise, so nothing is even.
    noise = np.random.default_rng(4).integers(0, 256, (160, 120, 3), dtype=np.uint8)
    name = saved(tmp_path, Image.fromarray(noise), "a.png")
    left, top, right, bottom = 20, 30, 70, 90
    picture = open_frame(tmp_path, name, blur=[(left, top, right, bottom)])
    found = np.asarray(picture.image)
    inside = found[top:bottom, left:right]
    assert len(np.unique(inside.reshape(-1, 3), axis=0)) == 1
    average = noise[top:bottom, left:right].reshape(-1, 3).mean(axis=0)
    assert np.abs(inside[0, 0] - average).max() <= 0.5
    outside = np.ones(found.shape[:2], dtype=bool)
    outside[top:bottom, left:right] = False
    assert (found[outside] == noise[outside]).all()


def test_two_faces_with_one_average_cannot_be_told_apart(tmp_path):
    # What two pictures have in common afterwards is all of the region: nothing of either is left.
    rng = np.random.default_rng(5)
    first = rng.integers(0, 256, (160, 120, 3), dtype=np.uint8)
    second = first.copy()
    part = first[30:90, 20:70].reshape(-1, 3)
    second[30:90, 20:70] = rng.permutation(part).reshape(60, 50, 3)
    pictures = [
        open_frame(tmp_path, saved(tmp_path, Image.fromarray(one), f"{i}.png"),
                   blur=[(20, 30, 70, 90)])
        for i, one in enumerate((first, second))
    ]  # fmt: skip
    assert not np.array_equal(first, second)
    assert np.array_equal(np.asarray(pictures[0].image), np.asarray(pictures[1].image))
    assert clean_jpeg(pictures[0], 40, 50) == clean_jpeg(pictures[1], 40, 50)


@pytest.mark.parametrize("at_least_px", [None, 200, 60])
def test_a_region_is_blurred_before_the_picture_is_made_smaller(tmp_path, at_least_px):
    # A white face on black: were it blurred after the rest, a bright rim would be left.
    image = Image.new("RGB", (480, 640), "black")
    rng = np.random.default_rng(6)
    face = rng.integers(0, 256, (160, 160, 3), dtype=np.uint8)
    image.paste(Image.fromarray(face), (160, 160))
    name = saved(tmp_path, image, "a.jpg", quality=95)
    region = (152, 152, 328, 328)  # whole blocks of 8: the decoder's ringing stays inside
    picture = open_frame(tmp_path, name, at_least_px=at_least_px, blur=[region])
    scale = picture.image.width / 480
    box = [round(edge * scale) for edge in region]
    inside = np.asarray(picture.image)[box[1] : box[3], box[0] : box[2]]
    assert len(np.unique(inside.reshape(-1, 3), axis=0)) == 1
    outside = np.asarray(picture.image).astype(int)
    outside[box[1] : box[3], box[0] : box[2]] = 0
    assert outside.max() <= 8


def test_a_region_in_fractions_of_pixels_takes_whole_pixels(tmp_path):
    noise = np.random.default_rng(7).integers(0, 256, (160, 120, 3), dtype=np.uint8)
    name = saved(tmp_path, Image.fromarray(noise), "a.png")
    found = np.asarray(open_frame(tmp_path, name, blur=[(20.9, 30.9, 40.1, 50.1)]).image)
    assert len(np.unique(found[30:51, 20:41].reshape(-1, 3), axis=0)) == 1
    assert (found[:30] == noise[:30]).all()


def test_a_turned_picture_is_blurred_where_it_stands_upright(tmp_path):
    noise = np.random.default_rng(8).integers(0, 256, (120, 160, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32: turn a quarter clockwise
    name = saved(tmp_path, Image.fromarray(noise), "a.png", exif=exif)
    picture = open_frame(tmp_path, name, blur=[(0, 0, 30, 20)])
    found = np.asarray(picture.image)
    assert picture.size == (120, 160)
    assert len(np.unique(found[:20, :30].reshape(-1, 3), axis=0)) == 1
    assert (found[20:] == np.rot90(noise, -1)[20:]).all()
