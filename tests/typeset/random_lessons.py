"""Random lessons: the demo's frames and points, with as many pairs and words as asked for."""

import copy
import datetime
import random
from functools import lru_cache

import yaml

from reporter.session.load import LoadedSession, load_text
from tests.conftest import DEMO

LETTERS = "aaabcdeeeefghiiijklmnnooopqrrrsssttttuuvwxyzäöüßéñ"
MEASURES = {
    "face-on": [
        "spine-side-bend",
        "shoulder-line-tilt",
        "pelvis-line-tilt",
        "pelvis-shift",
        "shaft-lean",
    ],
    "down-the-line": ["spine-forward-bend", "shaft-to-ground"],
}
DRILLS = ["start-line-gate", "headcover-outside", "slow-pauses", "towel-behind", "pump"]
LONGEST_LONG, LONGEST_SHORT = 3_900, 190


@lru_cache(maxsize=1)
def demo() -> dict:
    """Return the demo lesson with every value as text, as it was written."""
    return yaml.load(DEMO.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)


def word(chance: random.Random, long_words: bool) -> str:
    """Return a made-up word; one in twelve is 20 to 60 letters long where asked for."""
    count = chance.randint(20, 60) if long_words and chance.random() < 1 / 12 else None
    length = count or min(max(int(chance.gauss(5, 3)), 1), 14)
    return "".join(chance.choice(LETTERS) for _ in range(length))


def text(chance: random.Random, words: int, long_words: bool, longest: int) -> str:
    """Return so many words, fewer where the field is shorter; never empty."""
    said = " ".join(word(chance, long_words) for _ in range(max(words, 1)))
    return said[:longest].strip() or "x"


def _add_link_and_tests(chance: random.Random, lesson: dict, long_words: bool) -> None:
    """Give about every second lesson a link to its clips, and counts since the last lesson."""
    if chance.random() < 0.6:
        path = "".join(chance.choice("abcxyz0189-/") for _ in range(chance.randint(1, 170)))
        lesson["lesson"]["video_link"] = f"https://video.example/{path.strip('-/') or 'a'}"
    if chance.random() < 0.6:
        day = datetime.date.fromisoformat(lesson["lesson"]["date"])
        lesson["practised"] = []
        for number in range(chance.randint(1, 9)):
            tries = chance.choice([5, 10, 20, 100])
            row = {
                "date": (day - datetime.timedelta(days=20 - 2 * number)).isoformat(),
                "cold_test": [str(chance.randint(0, tries)), str(tries)],
            }
            if chance.random() < 0.4:
                row["note"] = text(chance, chance.randint(1, 20), long_words, LONGEST_SHORT)
            lesson["practised"].append(row)
        lesson["last_lesson"] = {
            "date": (day - datetime.timedelta(days=21)).isoformat(),
            "cold_test": text(chance, chance.randint(1, 12), long_words, LONGEST_SHORT),
        }


def random_lesson(
    seed: int, *, frames: int, words: int, long_words: bool = False, flight: bool = True
) -> LoadedSession:
    """Return a lesson.

    Parameters
    ----------
    seed : int
        The same seed gives the same lesson.
    frames : int
        How many frames, 0 to 40, two or one to a pair.
    words : int
        About how many words the coach writes.
    """
    chance = random.Random(seed)
    lesson = copy.deepcopy(demo())
    sources = lesson.pop("frames")
    lesson["frames"], lesson["pairs"] = [], []
    if not flight:
        del lesson["seen"], lesson["wanted"]
    left = words

    def some(share: float, longest: int = LONGEST_LONG) -> str:
        nonlocal left
        count = int(words * share * chance.uniform(0.4, 1.6))
        count = max(min(count, left, longest // 4), 1)
        left -= count
        return text(chance, count, long_words, longest)

    while len(lesson["frames"]) < frames:
        number = len(lesson["frames"])
        start = 2 * chance.randrange(len(sources) // 2)
        both = chance.random() < 0.85 and frames - number >= 2
        names = []
        for offset in range(2 if both else 1):
            frame = copy.deepcopy(sources[start + offset])
            frame["id"] = f"frame-{number + offset}"
            names.append(frame["id"])
            lesson["frames"].append(frame)
        view = "face-on" if "face-on" in sources[start]["id"] else "down-the-line"
        known = MEASURES[view]
        pair = {
            "before": names[0],
            "measures": chance.sample(known, chance.randint(0, len(known))),
        }
        if both:
            pair["after"] = names[1]
        if chance.random() < 0.8:
            pair["heading"] = text(chance, chance.randint(1, 12), long_words, LONGEST_SHORT)
        if chance.random() < 0.8:
            pair["sentence"] = some(0.6 / max(frames / 2, 1))
        lesson["pairs"].append(pair)
    short = LONGEST_SHORT
    lesson["thoughts"] = [
        {
            "say": text(chance, chance.choice([4, 6, 6, 9, 20]), long_words, short),
            **({"because": some(0.02, short)} if chance.random() < 0.7 else {}),
        }
        for _ in range(chance.choice([1, 2, 2, 2, 3, 5]))
    ]
    drills: list = chance.sample(DRILLS, chance.randint(0, 4))
    if chance.random() < 0.5:
        drills.append(
            {
                "name": text(chance, 3, long_words, 60),
                "set_up": some(0.03, short),
                "do": some(0.06),
                "self_check": some(0.02, short),
                "caution": some(0.02, short),
                "tally": ["3", "10"],
            }
        )
    lesson["drills"] = drills
    lesson["plan"]["if_then"] = [
        {"when": some(0.01, short), "then": some(0.01, short)} for _ in range(chance.randint(0, 3))
    ]
    lesson["notes"] = some(0.25)
    if chance.random() < 0.5:
        lesson["student_words"] = some(0.1)
    # An own source of chance, so that the rest of a seed's lesson does not depend on these.
    _add_link_and_tests(random.Random(seed + 1_000_000), lesson, long_words)
    if not drills and chance.random() < 0.5:
        del lesson["plan"]
    data = yaml.safe_dump(lesson, allow_unicode=True, sort_keys=False)
    return load_text(data.encode(), DEMO)
