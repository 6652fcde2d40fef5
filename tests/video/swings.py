"""Propose moments on random swings whose moments are known, and count how often they are right.

``python -m tests.video.swings`` runs the check; ``--first 1000`` the swings used while the method
was made, which must not be quoted.
"""

import argparse
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from reporter.video import open_video
from reporter.video.propose import Proposals, propose
from tests.video.swing_film import Swing, random_swing, write_film

CHECK_SEEDS = range(3301, 3601)
DEVELOPMENT_SEEDS = range(1000, 1120)
WITHOUT_SWING = 40
WITHIN_FRAMES = 2
SURE = 0.8


@dataclass(frozen=True)
class Judged:
    """One film and what was proposed: errors in pictures, None where nothing was."""

    swing: Swing
    proposals: Proposals

    def error(self, moment: str) -> int | None:
        one = self.proposals.of(moment)
        if one is None:
            return None
        return one.index - self.swing.frame_of(getattr(self.swing, moment))

    def right(self, moment: str) -> bool:
        error = self.error(moment)
        return error is not None and abs(error) <= WITHIN_FRAMES

    def stands_still(self, moment: str) -> bool:
        """Whether setup lies before the way up, finish after the way through."""
        one = self.proposals.of(moment)
        if one is None:
            return False
        if moment == "setup":
            return self.swing.takeaway - 1.0 <= one.seconds <= self.swing.takeaway + 0.12
        return one.seconds >= self.swing.still - 0.15


def judged(seed: int, folder: Path, *, swings: bool = True) -> Judged:
    """Film one swing, or somebody who does not swing, and look for the moments."""
    swing = random_swing(seed, swings=swings)
    path = folder / f"{'s' if swings else 'n'}{seed}.mp4"
    if not path.exists():
        write_film(swing, path)
    with open_video(path) as video:
        return Judged(swing, propose(video))


def summary(found: list[Judged], without: list[Judged]) -> dict[str, object]:
    """Count."""
    sure = [
        (one, proposal)
        for one in found
        for proposal in one.proposals.found
        if proposal.moment in ("top", "impact") and proposal.confidence > SURE
    ]
    wrong = [pair for pair in sure if not pair[0].right(pair[1].moment)]
    return {
        "swings": len(found),
        "both": sum(one.right("top") and one.right("impact") for one in found),
        "top": sum(one.right("top") for one in found),
        "impact": sum(one.right("impact") for one in found),
        "impact_ball_hidden": [
            sum(one.right("impact") for one in found if not one.swing.ball_seen),
            sum(not one.swing.ball_seen for one in found),
        ],
        "nothing_found": sum(not one.proposals.found for one in found),
        "nothing_found_and_said": sum(
            not one.proposals.found and bool(one.proposals.notes) for one in found
        ),
        "sure": len(sure),
        "sure_wrong": len(wrong),
        "setup": sum(one.stands_still("setup") for one in found),
        "finish": sum(one.stands_still("finish") for one in found),
        "without_swing": len(without),
        "without_swing_silent": sum(not one.proposals.found for one in without),
        "without_swing_sure": sum(
            proposal.confidence > SURE for one in without for proposal in one.proposals.found
        ),
    }


def main() -> None:
    """Run the check and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=CHECK_SEEDS.start)
    parser.add_argument("--count", type=int, default=len(CHECK_SEEDS))
    parser.add_argument("--without", type=int, default=WITHOUT_SWING)
    parser.add_argument("--keep", type=Path, help="a folder to keep the films in")
    parser.add_argument("--each", action="store_true", help="print each swing that went wrong")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as spare:
        folder = asked.keep or Path(spare)
        found = []
        for seed in range(asked.first, asked.first + asked.count):
            one = judged(seed, folder)
            found.append(one)
            if asked.each and not (one.right("top") and one.right("impact")):
                sys.stdout.write(f"{_told(one)}\n")
            if asked.keep is None:
                (folder / f"s{seed}.mp4").unlink()
        without = [
            judged(seed, folder, swings=False)
            for seed in range(asked.first, asked.first + asked.without)
        ]
    for name, value in summary(found, without).items():
        sys.stdout.write(f"{name:24} {value}\n")


def _told(one: Judged) -> str:
    s = one.swing
    parts = [
        f"{moment} {one.error(moment)} ({one.proposals.of(moment).confidence:.2f})"
        if one.proposals.of(moment)
        else f"{moment} -"
        for moment in ("top", "impact")
    ]
    return (
        f"seed {s.seed}: {s.rate:g}/s {s.view} ball {s.ball_seen} shake {s.shake_px:g}"
        f" grain {s.grain:.1f}: {', '.join(parts)}"
    )


if __name__ == "__main__":
    sys.exit(main())
