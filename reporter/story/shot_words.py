"""The sentences on a pattern of shots: counts first, then where the middle lies and what to fix."""

from reporter.flight.pattern import FEWEST_FOR_ADVICE
from reporter.speech import later, say, say_count
from reporter.story.shot_shares import ShotsSeen, counts_of
from reporter.story.wording import Lengths, half_up, placed_at

FAIRWAY, TARGET_LINE = "fairway", "target line"
DRIVES, SHOTS = "drives", "shots"
ONE_SHOT = {
    (DRIVES, FAIRWAY, "right"): later("The one drive in the table landed right of the fairway."),
    (DRIVES, FAIRWAY, "on"): later("The one drive in the table landed on the fairway."),
    (DRIVES, FAIRWAY, "left"): later("The one drive in the table landed left of the fairway."),
    (DRIVES, TARGET_LINE, "right"): later(
        "The one drive in the table landed right of the target line."
    ),
    (DRIVES, TARGET_LINE, "on"): later("The one drive in the table landed on the target line."),
    (DRIVES, TARGET_LINE, "left"): later(
        "The one drive in the table landed left of the target line."
    ),
    (SHOTS, FAIRWAY, "right"): later("The one shot in the table landed right of the fairway."),
    (SHOTS, FAIRWAY, "on"): later("The one shot in the table landed on the fairway."),
    (SHOTS, FAIRWAY, "left"): later("The one shot in the table landed left of the fairway."),
    (SHOTS, TARGET_LINE, "right"): later(
        "The one shot in the table landed right of the target line."
    ),
    (SHOTS, TARGET_LINE, "on"): later("The one shot in the table landed on the target line."),
    (SHOTS, TARGET_LINE, "left"): later(
        "The one shot in the table landed left of the target line."
    ),
}
ALL_SHOTS = {
    (DRIVES, FAIRWAY, "right"): later("All {total} drives landed right of the fairway"),
    (DRIVES, FAIRWAY, "on"): later("All {total} drives landed on the fairway"),
    (DRIVES, FAIRWAY, "left"): later("All {total} drives landed left of the fairway"),
    (DRIVES, TARGET_LINE, "right"): later("All {total} drives landed right of the target line"),
    (DRIVES, TARGET_LINE, "on"): later("All {total} drives landed on the target line"),
    (DRIVES, TARGET_LINE, "left"): later("All {total} drives landed left of the target line"),
    (SHOTS, FAIRWAY, "right"): later("All {total} shots landed right of the fairway"),
    (SHOTS, FAIRWAY, "on"): later("All {total} shots landed on the fairway"),
    (SHOTS, FAIRWAY, "left"): later("All {total} shots landed left of the fairway"),
    (SHOTS, TARGET_LINE, "right"): later("All {total} shots landed right of the target line"),
    (SHOTS, TARGET_LINE, "on"): later("All {total} shots landed on the target line"),
    (SHOTS, TARGET_LINE, "left"): later("All {total} shots landed left of the target line"),
}
SOME_SHOTS = {
    (DRIVES, FAIRWAY, "right"): later("Of {total} drives, {count} landed right of the fairway"),
    (DRIVES, FAIRWAY, "on"): later("Of {total} drives, {count} landed on the fairway"),
    (DRIVES, FAIRWAY, "left"): later("Of {total} drives, {count} landed left of the fairway"),
    (DRIVES, TARGET_LINE, "right"): later(
        "Of {total} drives, {count} landed right of the target line"
    ),
    (DRIVES, TARGET_LINE, "on"): later("Of {total} drives, {count} landed on the target line"),
    (DRIVES, TARGET_LINE, "left"): later(
        "Of {total} drives, {count} landed left of the target line"
    ),
    (SHOTS, FAIRWAY, "right"): later("Of {total} shots, {count} landed right of the fairway"),
    (SHOTS, FAIRWAY, "on"): later("Of {total} shots, {count} landed on the fairway"),
    (SHOTS, FAIRWAY, "left"): later("Of {total} shots, {count} landed left of the fairway"),
    (SHOTS, TARGET_LINE, "right"): later(
        "Of {total} shots, {count} landed right of the target line"
    ),
    (SHOTS, TARGET_LINE, "on"): later("Of {total} shots, {count} landed on the target line"),
    (SHOTS, TARGET_LINE, "left"): later("Of {total} shots, {count} landed left of the target line"),
}
OTHERS = {
    "right": later("{count} right of it"),
    "on": later("{count} on it"),
    "left": later("{count} left of it"),
}
"""Where shots landed: drives or shots, beside the fairway or the target line, on which side."""
FIX_FIRST = {
    "direction": later("Fix the direction first."),
    "spread": later("Fix the spread first."),
    "either": later("Direction or spread: either helps about as much."),
    "neither": later("Nothing needs fixing first: nearly all would stay on the fairway."),
}
GROUPS = {
    "two-way": later("A miss to both sides: {first}, {second}, and little between."),
    "two groups on one side": later(
        "Two groups on one side: {first}, {second}, and little between."
    ),
    "two groups": later("Two groups: {first}, {second}, and little between."),
}


def counts_sentence(seen: ShotsSeen) -> str:
    """Return where the shots landed, most first."""
    left, on, right = counts_of(seen)
    what = DRIVES if seen.explanation.club == "driver" else SHOTS
    place = FAIRWAY if seen.fairway else TARGET_LINE
    groups = [(right, "right"), (on, "on"), (left, "left")]
    found = sorted((group for group in groups if group[0]), key=lambda group: -group[0])
    total, mishits = seen.total, seen.shots.mishits.count
    first, *others = found
    if total == 1:
        return say(ONE_SHOT[what, place, first[1]])
    if not others and not mishits:
        told = say(ALL_SHOTS[what, place, first[1]], total=total)
    else:
        told = say(SOME_SHOTS[what, place, first[1]], total=total, count=first[0])
    rest = [say(OTHERS[where], count=count) for count, where in others]
    if len(rest) == 2:
        told = say("{told}, {second} and {third}", told=told, second=rest[0], third=rest[1])
    elif rest:
        told = say("{told} and {second}", told=told, second=rest[0])
    if mishits:
        told = say_count(
            "{told}; {number}\N{NO-BREAK SPACE}mishit is counted apart",
            "{told}; {number}\N{NO-BREAK SPACE}mishits are counted apart",
            mishits,
            told=told,
        )
    return f"{told}."


def advice(seen: ShotsSeen) -> tuple[str, str]:
    """Return what to fix first in bold, and why."""
    pattern, count = seen.pattern, len(seen.offsets)
    two_way = _two_way_words(seen)
    if seen.two_groups:
        return two_way, say("Two groups are not one pattern, so no single remedy is weighed here.")
    if count < FEWEST_FOR_ADVICE:
        text = say("What to fix first can be told from {count} shots on.", count=FEWEST_FOR_ADVICE)
        return say("Too few to tell."), f"{two_way} {text}".strip()
    middle = say("The middle of the shots lies {place}.", place=middle_words(seen))
    if pattern.sd_offset_m <= 0.0:
        return middle, say("All landed in one place, so there is no spread to weigh.")
    if seen.fairway is None:
        text = say("Without the width of a fairway no share is counted.")
        return middle, f"{two_way} {text}".strip()
    gain = say(
        "Aimed at the target with the same spread about {centred} of 100 would land on the "
        "fairway; with a quarter less spread alone about {tighter}. Computed, not measured.",
        centred=of_100(pattern.share_without_bias),
        tighter=of_100(pattern.share_with_less_spread),
    )
    first = say(FIX_FIRST[pattern.fix_first])
    return first, " ".join(part for part in (middle, gain, two_way) if part)


def _two_way_words(seen: ShotsSeen) -> str:
    """Return the verdict on a miss to both sides, where the shots carry one."""
    verdict = seen.pattern.two_way
    left, _, right = counts_of(seen)
    if verdict.verdict == "both sides seen, too few to tell" and left and right:
        return say(
            "Both sides were seen, too few to tell whether that is one wide pattern or two misses."
        )
    if verdict.centres_m is None or verdict.counts is None:
        return ""
    first, second = (
        say("{count} around {place}", count=count, place=beside(centre, seen.lengths))
        for count, centre in zip(verdict.counts, verdict.centres_m, strict=True)
    )
    kind = "two groups"
    if (verdict.verdict == "two-way" and left and right) or (
        verdict.verdict == "two groups on one side"
    ):
        kind = verdict.verdict
    return say(GROUPS[kind], first=first, second=second)


def beside(metres: float, lengths: Lengths) -> str:
    """Return a distance beside the target line."""
    number = lengths.number(metres)
    return placed_at(lengths.amount(metres), number) if number else say("the target line")


def middle_words(seen: ShotsSeen) -> str:
    """Return where the middle of the shots lies, with its range and the count."""
    pattern, lengths = seen.pattern, seen.lengths
    number = lengths.number(pattern.median_offset_m)
    if not number:
        text = say("on the target line")
    else:
        amount = lengths.amount(pattern.median_offset_m)
        text = (
            say("{amount} right of the target line", amount=amount)
            if number > 0
            else say("{amount} left of the target line", amount=amount)
        )
    if pattern.median_interval_m is None:
        return text
    low, high = pattern.median_interval_m
    count = len(seen.offsets)
    if low >= high:
        return say("{place} ({count} shots)", place=text, count=count)
    span = _span(low, high, lengths)
    return say("{place} ({range}, {count} shots)", place=text, range=span, count=count)


def _span(low: float, high: float, lengths: Lengths) -> str:
    """Return a range with its side or sides."""
    first, last = lengths.number(low), lengths.number(high)
    span = lengths.span(low, high)
    if first < 0 < last or not (first or last):
        return span
    return placed_at(span, 1 if last > 0 else -1)


def of_100(share: float | None) -> int:
    """Return a share as so many of a hundred."""
    return half_up(100.0 * (share or 0.0))
