"""One coverage-guided search: `python -m tests.fuzz BOUNDARY [--seconds N] [--tries N]`.

Needs the fuzz extra, and Linux or macOS on an ordinary processor. It ends with 1 when something
was found; the find is kept below `finds/`, which makes it a test.
"""

import argparse
import os
import shutil
import sys
import tempfile
from pathlib import Path

from tests.fuzz import FINDS

LIBRARIES = ("pypdf",)
"""Written in Python, and as much part of a reader as the program itself: they guide too."""


def main() -> None:
    """Read the command line and search."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("boundary")
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--tries", type=int, default=-1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, help="keeps interesting inputs from run to run")
    asked = parser.parse_args()
    try:
        import atheris
    except ImportError:
        print('!! SKIPPED: atheris is missing: pip install -e ".[fuzz]"; nothing was searched !!')
        return
    # Only what is imported in here is counted, and so guides: the boundaries bring the program in.
    with atheris.instrument_imports(include=["reporter", *LIBRARIES]):
        from tests.hardening.boundaries import BY_NAME
        from tests.hardening.trial import attempt, ceiling

        if asked.boundary not in BY_NAME:
            parser.error(f"{asked.boundary} is no boundary; known are {', '.join(BY_NAME)}")
        boundary = BY_NAME[asked.boundary]
        root = Path(tempfile.mkdtemp(prefix="fuzz-"))
        folder = root / "a" / "b" / "c" / "lesson"
        folder.mkdir(parents=True)
        boundary.prepare(folder)
        for data in boundary.seeds():
            attempt(boundary, data, folder)
    seeds = root / "seeds"
    seeds.mkdir()
    for number, data in enumerate(boundary.seeds()):
        (seeds / str(number)).write_bytes(data)
    words = root / "words"
    quoted = ("".join(f"\\x{byte:02x}" for byte in word) for word in boundary.words if word)
    words.write_text("".join(f'"{word}"\n' for word in quoted), encoding="ascii")
    corpus = asked.corpus or root / "corpus"
    corpus.mkdir(parents=True, exist_ok=True)
    sys.stdout.flush()

    def one(data: bytes) -> None:
        found = attempt(boundary, data, folder)
        if found is None:
            return
        kept = FINDS / boundary.name / found.digest
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(data)
        print(f"found {kept.name}: {found.how}", flush=True)
        shutil.rmtree(root, ignore_errors=True)
        os._exit(1)

    atheris.Setup(
        [
            sys.argv[0], str(corpus), str(seeds), f"-dict={words}", f"-seed={asked.seed}",
            f"-max_total_time={asked.seconds}", f"-runs={asked.tries}", "-max_len=40000",
            "-rss_limit_mb=3000", "-timeout=30", "-verbosity=0", "-print_final_stats=1",
        ],
        one,
    )  # fmt: skip
    with ceiling():
        atheris.Fuzz()


if __name__ == "__main__":
    main()
