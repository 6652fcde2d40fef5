"""Damaged bytes at every boundary: a value or a refusal, soon and small, and nothing else.

Zero failures in N tries bound the rate of failing at about 3 / N with 95 % confidence (rule of
three: Hanley and Lippman-Hand 1983, JAMA 249, 1743), so that these tries stand beside the
exhaustive sweeps of other tests. `python -m tests.release` runs far more of them.
"""

import os
import subprocess
import sys

import pytest

from tests.fuzz import FINDS, kept_finds
from tests.hardening.boundaries import BOUNDARIES, BY_NAME, LARGEST_WIDTH
from tests.hardening.trial import Find, attempt, damaged, search, with_checksums

TRIES = int(os.environ.get("LESSON_REPORTER_TRIES", "5000"))
SEED = int(os.environ.get("LESSON_REPORTER_SEED", "20270413"))


@pytest.fixture
def folder(tmp_path):
    """A folder deep enough that nothing above it counts as an academy's."""
    made = tmp_path / "a" / "b" / "c" / "lesson"
    made.mkdir(parents=True)
    return made


@pytest.mark.parametrize("boundary", BOUNDARIES, ids=lambda one: one.name)
def test_some_seed_is_read(boundary, folder):
    """A search that begins with refused bytes would stop at the door."""
    boundary.prepare(folder)
    assert boundary.read(next(iter(boundary.seeds())), folder) is not None


@pytest.mark.parametrize("boundary", BOUNDARIES, ids=lambda one: one.name)
def test_damaged_bytes_give_a_value_or_a_refusal(boundary, folder):
    tries = max(int(TRIES * boundary.share), 20)
    found = list(search(boundary, folder, tries, SEED))
    assert [(one.how, one.digest) for one in found] == []


@pytest.mark.parametrize("path", kept_finds(), ids=lambda path: f"{path.parent.name}-{path.name}")
def test_what_was_found_once_stays_mended(path, folder):
    boundary = BY_NAME[path.parent.name]
    boundary.prepare(folder)
    data = path.read_bytes()
    assert Find(boundary.name, data, "").digest == path.name, "the name is the digest"
    assert attempt(boundary, data, folder) is None


def test_there_are_kept_finds():
    assert len(kept_finds()) >= 5
    assert FINDS.is_dir()


def test_a_search_finds_what_is_wrong(folder):
    """The judge itself: a foreign exception, a hang and a large allocation are all told."""
    import time
    from dataclasses import replace

    def foreign(data, folder):
        raise KeyError(data)

    def hangs(data, folder):
        while True:
            time.sleep(0.01)

    def eats(data, folder):
        held = bytearray(700 * 2**20)
        held[::4096] = b"x" * len(held[::4096])

    brand = BY_NAME["brand"]
    told = {}
    for read in (foreign, hangs, eats):
        seconds = 0.05 if read is hangs else brand.seconds
        found = attempt(replace(brand, read=read, seconds=seconds), b"x", folder)
        told[read.__name__] = found.how if found else ""
    assert "KeyError" in told["foreign"]
    assert "longer than 0.2 s by the clock" in told["hangs"]
    assert "MiB" in told["eats"]


SEARCH = """
import contextlib, sys


@contextlib.contextmanager
def instrument_imports(include):
    print("uncounted:", [name for name in sys.modules if name.split(".")[0] in include])
    yield
    print("counted:", "reporter.safe_open" in sys.modules)


def Setup(arguments, one):
    one(b"frames/top.jpg")


def Fuzz():
    print("searched")
"""


def test_a_search_counts_everything_of_the_program(tmp_path):
    """What was imported before the counting began would guide no search."""
    (tmp_path / "atheris.py").write_text(SEARCH)
    done = subprocess.run(
        [sys.executable, "-m", "tests.fuzz", "path"], cwd=FINDS.parents[2], text=True,
        capture_output=True, check=True, env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )  # fmt: skip
    assert done.stdout.split("\n")[:3] == ["uncounted: []", "counted: True", "searched"]


def test_the_same_seed_tries_the_same(folder):
    import random

    for name in ("lesson", "png"):
        boundary = BY_NAME[name]
        seeds = list(boundary.seeds())
        one, other = (
            [damaged(boundary, seeds, chance) for _ in range(20)]
            for chance in (random.Random(7), random.Random(7))
        )
        assert one == other
        assert len(set(one)) > 10


def test_damage_gets_past_the_checksums_of_a_png():
    """With checksums put right, the damage reaches the decoder; checked by Pillow itself."""
    import io

    from PIL import Image

    data = BY_NAME["png"].seeds()[1]
    changed = bytearray(data)
    at = data.index(b"IDAT") + 4
    changed[at + 2] ^= 0xFF
    assert with_checksums(data) == data
    with pytest.raises(SyntaxError, match="broken PNG|bad header checksum"):
        Image.open(io.BytesIO(bytes(changed))).verify()
    Image.open(io.BytesIO(with_checksums(bytes(changed)))).verify()


@pytest.mark.parametrize("name", ["jpeg", "png"])
def test_fuzzed_pictures_are_small(name):
    import io

    from PIL import Image

    for data in BY_NAME[name].seeds():
        assert Image.open(io.BytesIO(data)).width <= LARGEST_WIDTH


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_ten_pictures_of_a_phone_s_size_cut_anywhere(kind, folder):
    """Five of each kind, wide as a phone's: cut or flipped, none is printed half."""
    import io
    import random

    from PIL import Image

    held = io.BytesIO()
    Image.effect_noise((1_200, 900), 60).convert("RGB").save(held, kind)
    whole, chance = held.getvalue(), random.Random(3)
    boundary = BY_NAME[kind.lower()]
    for _ in range(5):
        assert attempt(boundary, whole[: chance.randrange(1, len(whole) - 1_000)], folder) is None
