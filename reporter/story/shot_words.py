"""The sentences on a pattern of shots: counts first, then where the middle lies and what to fix."""

from reporter.flight.pattern import FEWEST_FOR_ADVICE
from reporter.story.shot_shares import ShotsSeen, counts_of
from reporter.story.wording import NO_BREAK, Lengths, half_up


def counts_sentence(seen: ShotsSeen) -> str:
    """Return where the shots landed, most first."""
    left, on, right = counts_of(seen)
    place = "the fairway" if seen.fairway else "the target line"
    groups = [(right, "right of"), (on, "on"), (left, "left of")]
    found = sorted((group for group in groups if group[0]), key=lambda group: -group[0])
    total, mishits = seen.total, seen.shots.mishits.count
    apart = f"; {mishits}{NO_BREAK}mishit{' is' if mishits == 1 else 's are'} counted apart"
    apart = apart if mishits else ""
    if total == 1:
        return f"The one {seen.noun} in the table landed {found[0][1]} {place}."
    if len(found) == 1:
        drives = f"{seen.noun}s"
        lead = f"Of {total} {drives}, {found[0][0]}" if mishits else f"All {total} {drives}"
        return f"{lead} landed {found[0][1]} {place}{apart}."
    first, *others = found
    rest = [f"{count} {where} it" for count, where in others]
    tail = f", {rest[0]} and {rest[1]}" if len(rest) == 2 else f" and {rest[0]}"
    return f"Of {total} {seen.noun}s, {first[0]} landed {first[1]} {place}{tail}{apart}."


def advice(seen: ShotsSeen) -> tuple[str, str]:
    """Return what to fix first in bold, and why."""
    pattern, count = seen.pattern, len(seen.offsets)
    two_way = _two_way_words(seen)
    if seen.two_groups:
        return two_way, "Two groups are not one pattern, so no single remedy is weighed here."
    if count < FEWEST_FOR_ADVICE:
        text = f"What to fix first can be told from {FEWEST_FOR_ADVICE} shots on."
        return "Too few to tell.", f"{two_way} {text}".strip()
    middle = f"The middle of the shots lies {middle_words(seen)}."
    if pattern.sd_offset_m <= 0.0:
        return middle, "All landed in one place, so there is no spread to weigh."
    if seen.fairway is None:
        return middle, f"{two_way} Without the width of a fairway no share is counted.".strip()
    advice = {
        "direction": "Fix the direction first.",
        "spread": "Fix the spread first.",
        "either": "Direction or spread: either helps about as much.",
        "neither": "Nothing needs fixing first: nearly all would stay on the fairway.",
    }[pattern.fix_first]
    centred, tighter = of_100(pattern.share_without_bias), of_100(pattern.share_with_less_spread)
    gain = (
        f"Aimed at the target with the same spread about {centred} of 100 would land on the "
        f"fairway; with a quarter less spread alone about {tighter}. Computed, not measured."
    )
    return advice, " ".join(part for part in (middle, gain, two_way) if part)


def _two_way_words(seen: ShotsSeen) -> str:
    """Return the verdict on a miss to both sides, where the shots carry one."""
    verdict = seen.pattern.two_way
    left, _, right = counts_of(seen)
    if verdict.verdict == "both sides seen, too few to tell" and left and right:
        return (
            "Both sides were seen, too few to tell whether that is one wide pattern or two misses."
        )
    if verdict.centres_m is None or verdict.counts is None:
        return ""
    groups = [
        f"{count} around {beside(centre, seen.lengths)}"
        for count, centre in zip(verdict.counts, verdict.centres_m, strict=True)
    ]
    kind = "Two groups"
    if verdict.verdict == "two-way" and left and right:
        kind = "A miss to both sides"
    elif verdict.verdict == "two groups on one side":
        kind = "Two groups on one side"
    return f"{kind}: {groups[0]}, {groups[1]}, and little between."


def beside(metres: float, lengths: Lengths) -> str:
    """Return a distance beside the target line."""
    number = lengths.number(metres)
    if not number:
        return "the target line"
    return f"{lengths.amount(metres)} {'right' if number > 0 else 'left'}"


def middle_words(seen: ShotsSeen) -> str:
    """Return where the middle of the shots lies, with its range and the count."""
    pattern, lengths = seen.pattern, seen.lengths
    text = f"{beside(pattern.median_offset_m, lengths)} of the target line".replace(
        "the target line of the target line", "on the target line"
    )
    if pattern.median_interval_m is None:
        return text
    low, high = pattern.median_interval_m
    span = f"{_span(low, high, lengths)}, " if low < high else ""
    return f"{text} ({span}{len(seen.offsets)} shots)"


def _span(low: float, high: float, lengths: Lengths) -> str:
    """Return a range with its side or sides."""
    first, last = lengths.number(low), lengths.number(high)
    span = lengths.span(low, high)
    if first < 0 < last or not (first or last):
        return span
    return f"{span} {'right' if last > 0 else 'left'}"


def of_100(share: float | None) -> int:
    """Return a share as so many of a hundred."""
    return half_up(100.0 * (share or 0.0))
