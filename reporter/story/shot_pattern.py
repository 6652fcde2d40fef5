"""The student's shots in finished words: counts first, then the pattern and what to fix first."""

import math
from dataclasses import replace
from statistics import median

from reporter.flight import Explanation
from reporter.flight.pattern import (
    FEWEST_FOR_ADVICE,
    FEWEST_FOR_ELLIPSE,
    pattern_of,
    wilson_share,
)
from reporter.flight.player import Range
from reporter.flight.sensitivity import what_degrees_do
from reporter.flight.two_way import FEWEST_FOR_TWO_WAY
from reporter.flight.uncertainty import Band
from reporter.session.schema import Session
from reporter.speech import later, say, say_as, say_count
from reporter.story.report import (
    XY,
    Block,
    DegreesTable,
    Paragraph,
    Run,
    ShareChart,
    ShareRow,
    Sheet,
    ShotPicture,
    State,
)
from reporter.story.shot_shares import (
    Shots,
    ShotsSeen,
    computed_shares,
    counts_of,
    down_the_line,
)
from reporter.story.shot_words import advice, beside, counts_sentence, middle_words, of_100
from reporter.story.wording import (
    Lengths,
    between,
    club_words,
    decimal,
    half_up,
    listed,
    metres_per_second_words,
    sentence,
    speed_words,
)

TITLE = later("Your pattern")
ELLIPSE_SHARE = 0.90
MOST_DRAWN = 400
TOLD_FROM = (
    (
        FEWEST_FOR_ELLIPSE,
        later("where the middle lies, and where the next shot lands 9 times in 10"),
    ),
    (
        FEWEST_FOR_ADVICE,
        later("what to fix first, direction or spread, and what it would bring"),
    ),
    (
        FEWEST_FOR_TWO_WAY,
        later("whether misses to both sides are two groups or one wide pattern"),
    ),
)
"""From how many shots on something is said."""
CHANGES = {
    "face": later("face 2° further right"),
    "path": later("path 2° further right"),
    "face and path": later("both 2° further right"),
}
BESIDE_FAIRWAY = (
    later("left of the fairway"), later("on the fairway"), later("right of the fairway")
)  # fmt: skip
BESIDE_LINE = (
    later("left of the target line"),
    later("on the target line"),
    later("right of the target line"),
)


def pattern_sheet(
    session: Session, explanation: Explanation | None, shots: Shots | None
) -> Sheet | None:
    """Return the page on the student's pattern; None where no shot can be used.

    Parameters
    ----------
    session : Session
        The lesson.
    explanation : Explanation or None
        The explained flight, for club, speed and the wanted delivery.
    shots : Shots or None
        The usable shots of the lesson's table.
    """
    if explanation is None or shots is None or not shots.kept.count:
        return None
    offsets = tuple(value or 0.0 for value in shots.kept.columns["offline_m"])
    down = down_the_line(shots.kept)
    known = [value for value in down if value is not None]
    seen = ShotsSeen(
        session,
        explanation,
        offsets,
        shots.kept.columns["start_deg"],
        shots,
        pattern_of(
            offsets,
            known if len(known) == len(offsets) else None,
            session.wanted.fairway_width,
            ellipse_share=ELLIPSE_SHARE,
        ),
        what_degrees_do(
            explanation.club,
            explanation.head_speed_m_per_s if explanation.head_speed_stated else None,
            explanation.handedness,
            explanation.air,
        ),
    )
    blocks: list[Block] = [Paragraph((Run(counts_sentence(seen)),), "title", "seen.shots")]
    bold, rest = advice(seen)
    runs = (Run(f"{bold} ", bold=True), Run(rest)) if rest else (Run(bold, bold=True),)
    blocks.append(Paragraph(runs, "body", "seen.shots"))
    picture = _picture(seen, down)
    blocks += [picture, _degrees_table(seen)]
    basis = _basis(seen, computed=len(picture.charts) > 1)
    blocks.append(Paragraph((Run(basis),), "note", "seen.shots"))
    return Sheet("why", say(TITLE), tuple(blocks))


def without_pattern(sheet: Sheet | None, shots: Shots | None) -> Sheet | None:
    """Add to a sheet why no pattern is shown, where a table holds no usable shot."""
    if sheet is None or shots is None or shots.kept.count:
        return sheet
    reason = listed(list(shots.left_out)) or say("it holds no usable shot")
    text = sentence(say("the shot table is not shown: {reason}", reason=reason))
    return replace(sheet, blocks=(*sheet.blocks, Paragraph((Run(text),), "note", "seen.shots")))


def _charts(seen: ShotsSeen) -> tuple[ShareChart, ...]:
    counts = counts_of(seen)
    places = BESIDE_FAIRWAY if seen.fairway else BESIDE_LINE
    rows = [
        _counted_row(say(place), count, seen.total)
        for place, count in zip(places, counts, strict=True)
    ]
    if seen.shots.mishits.count:
        rows.append(_counted_row(say("mishits"), seen.shots.mishits.count, seen.total))
    heading, aside = say("Counted"), say("and the range in the long run")
    charts = [ShareChart(heading, aside, tuple(rows), _alt(heading, rows))]
    computed = _computed_rows(seen)
    if computed:
        rows = [_counted_row(say("as it is now, counted"), counts[1], seen.total), *computed]
        heading, aside = say("On the fairway"), say("now, and computed")
        charts.append(ShareChart(heading, aside, tuple(rows), _alt(heading, rows)))
    return tuple(charts)


def _alt(heading: str, rows: list[ShareRow]) -> str:
    told = [f"{row.name}: {row.counted}, {row.words}" for row in rows]
    return sentence(f"{heading}: {'; '.join(told)}")


def _counted_row(name: str, count: int, of: int) -> ShareRow:
    share = wilson_share(count, of)
    words = say("{count} of 100", count=_between(share.low, share.high))
    counted = say("{count} of {total}", count=count, total=of)
    return ShareRow(name, counted, words, share.low, share.value, share.high, "before")


def _between(low: float, high: float) -> str:
    first, last = of_100(low), of_100(high)
    return str(first) if first == last else between(str(first), str(last))


def _computed_rows(seen: ShotsSeen) -> list[ShareRow]:
    """Return the shares with less spread, a better direction, and the wanted delivery."""
    shares = computed_shares(seen)
    if shares is None:
        return []
    rows = [
        _computed_row(say("with a quarter less spread"), shares.less_spread, "after"),
        _computed_row(say("aimed at the target"), shares.at_target, "after"),
    ]
    if shares.wanted is not None:
        rows.append(_computed_row(say("with the wanted delivery"), shares.wanted, "wanted"))
    return rows


def _computed_row(name: str, share: Range, state: State) -> ShareRow:
    words = say("{count} of 100, computed", count=_between(share[0], share[2]))
    return ShareRow(name, say("{count} of 100", count=of_100(share[1])), words, *share, state)


def _picture(seen: ShotsSeen, down: list[float | None]) -> ShotPicture:
    pattern, lengths = seen.pattern, seen.lengths
    known = [(o, d) for o, d in zip(seen.offsets, down, strict=True) if d is not None]
    in_order = not known
    if in_order:
        known = [(offset, float(place)) for place, offset in enumerate(seen.offsets, start=1)]
    stride = math.ceil(len(known) / MOST_DRAWN)
    drawn = known[::stride]
    notes = [say("a ring for each shot")]
    if stride > 1:
        notes = [say("a ring for one shot in {count}", count=stride)]
    elif len(known) < len(seen.offsets):
        missing = len(seen.offsets) - len(known)
        notes.append(say("{count} without a carry not drawn", count=missing))
    if seen.shots.mishits.count:
        notes.append(say("mishits not drawn"))
    one_pattern = not seen.two_groups and len(seen.offsets) >= FEWEST_FOR_ELLIPSE
    ellipse = pattern.ellipse.outline if pattern.ellipse is not None and one_pattern else ()
    middle = lengths.number(pattern.median_offset_m)
    where = beside(pattern.median_offset_m, lengths) if middle else say("on the target line")
    width = seen.fairway or 0.0
    return ShotPicture(
        shots=tuple(drawn),
        in_order=in_order,
        centre=(pattern.median_offset_m, median(y for _, y in known))
        if one_pattern and not in_order
        else None,
        centre_label=say("middle of the shots, {place}", place=where)
        if pattern.sd_offset_m > 0.0
        else say("all {count} shots, {place}", count=len(seen.offsets), place=where),
        ellipse=ellipse,
        ellipse_label=say("the next shot lands inside 9 times in 10"),
        wanted=_moved_to_wanted(seen, ellipse),
        wanted_label=say("the same with the wanted delivery, computed"),
        fairway_width=width,
        fairway_label=say("fairway {width} wide", width=lengths.amount(width)) if width else "",
        unit=lengths.unit,
        unit_length=lengths.metres_per_unit,
        heading=say("Where they landed"),
        aside=", ".join(notes),
        charts=_charts(seen),
        more_heading=say("What more shots would tell"),
        more=tuple(
            (say("from {count} on", count=least), say(text))
            for least, text in TOLD_FROM
            if least > len(seen.offsets)
        )
        if len(seen.offsets) < FEWEST_FOR_ADVICE
        else (),
        alt=say(
            "Landings from above, target up: {counts} The middle of the shots lies {place}.",
            counts=counts_sentence(seen),
            place=middle_words(seen),
        ),
    )


def _moved_to_wanted(seen: ShotsSeen, ellipse: tuple[XY, ...]) -> tuple[XY, ...]:
    """Return the outline moved from the usual landing to the wanted one."""
    wanted, now = seen.explanation.wanted, seen.explanation.now
    pattern = seen.pattern
    if not ellipse or wanted is None or now is None or pattern.ellipse is None:
        return ()
    if seen.two_groups:
        return ()
    right = wanted.landing_offset_m.nominal - pattern.ellipse.centre[0]
    # The model's own carry may differ from the student's; only its change is taken from it.
    farther = wanted.line[-1][0] - now.line[-1][0]
    return tuple((x + right, y + farther) for x, y in ellipse)


def _degrees_table(seen: ShotsSeen) -> DegreesTable:
    explanation, lengths = seen.explanation, seen.lengths
    speed, unit = seen.session.seen.head_speed, seen.session.student.speed_units
    told = (
        speed_words(speed, unit)
        if speed is not None
        else metres_per_second_words(explanation.head_speed_m_per_s, unit)
    )
    club = club_words(seen.session.seen.club or explanation.club)
    rows = tuple(
        (
            say(CHANGES[effect.changed]),
            _start_words(effect.start_deg),
            _moved_words(effect.curve_m, lengths),
            _moved_words(effect.landing_offset_m, lengths),
        )
        for effect in seen.effects
        if effect.changed in CHANGES
    )
    return DegreesTable(
        heading=say("What two degrees do"),
        aside=say(
            "{club} at {speed}, the rest as it was; computed, not measured", club=club, speed=told
        ),
        columns=(say("change at the strike"), say("start"), say("bend"), say("landing")),
        rows=rows,
    )


def _start_words(band: Band) -> str:
    tenths = half_up(10.0 * band.nominal) / 10.0
    if not tenths:
        return say("the same")
    return _in_table(f"{decimal(abs(tenths), 1)}°", tenths)


def _moved_words(band: Band, lengths: Lengths) -> str:
    number = lengths.number(band.nominal)
    if not number:
        return say("the same")
    span = lengths.span(band.low, band.high, unit=False)
    return f"{_in_table(lengths.amount(band.nominal), number)} ({span})"


def _in_table(amount: str, value: float) -> str:
    """Return an amount with its side, as short as a cell of a table needs it."""
    if value > 0:
        return say_as("cell of a table", "{amount} right", amount=amount)
    return say_as("cell of a table", "{amount} left", amount=amount)


def _basis(seen: ShotsSeen, *, computed: bool) -> str:
    told = [_counted(seen), say("Landing means the first touch of the ground.")]
    if len(seen.offsets) > 1 and len(set(seen.offsets)) == 1:
        told.append(
            say(
                "All {count} landings are identical, so the rows may be copies.",
                count=len(seen.offsets),
            )
        )
    if seen.shots.left_out:
        told.append(say("Left out: {shots}.", shots=listed(list(seen.shots.left_out))))
    if computed and seen.shots.mishits.count:
        told.append(
            say(
                "Computed shares take one normal pattern with the student's own spread without "
                "mishits, still air, level ground."
            )
        )
    elif computed:
        told.append(
            say(
                "Computed shares take one normal pattern with the student's own spread, still "
                "air, level ground."
            )
        )
    return " ".join([*told, say("Ranges hold 19 times in 20.")])


def _counted(seen: ShotsSeen) -> str:
    """Return how many shots there are, and how they were seen."""
    drives, total = seen.explanation.club == "driver", seen.total
    if seen.session.seen.how == "measured":
        if drives:
            return say_count(
                "From {number} drive measured.", "From {number} drives measured.", total
            )
        return say_count("From {number} shot measured.", "From {number} shots measured.", total)
    if drives:
        return say_count(
            "From {number} drive watched by eye.", "From {number} drives watched by eye.", total
        )
    return say_count(
        "From {number} shot watched by eye.", "From {number} shots watched by eye.", total
    )
