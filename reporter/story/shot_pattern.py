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
from reporter.speech import say
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
from reporter.story.wording import NO_BREAK, Lengths, half_up, listed, sentence

TITLE = "Your pattern"
ELLIPSE_SHARE = 0.90
MOST_DRAWN = 400
TOLD_FROM = (
    (FEWEST_FOR_ELLIPSE, "where the middle lies, and where the next shot lands 9 times in 10"),
    (FEWEST_FOR_ADVICE, "what to fix first, direction or spread, and what it would bring"),
    (FEWEST_FOR_TWO_WAY, "whether misses to both sides are two groups or one wide pattern"),
)
"""From how many shots on something is said."""
CHANGES = {
    "face": "face 2° further right",
    "path": "path 2° further right",
    "face and path": "both 2° further right",
}


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
    return Sheet("why", TITLE, tuple(blocks))


def without_pattern(sheet: Sheet | None, shots: Shots | None) -> Sheet | None:
    """Add to a sheet why no pattern is shown, where a table holds no usable shot."""
    if sheet is None or shots is None or shots.kept.count:
        return sheet
    reason = listed(list(shots.left_out)) or "it holds no usable shot"
    text = sentence(f"the shot table is not shown: {reason}")
    return replace(sheet, blocks=(*sheet.blocks, Paragraph((Run(text),), "note", "seen.shots")))


def _charts(seen: ShotsSeen) -> tuple[ShareChart, ...]:
    left, on, right = counts_of(seen)
    place = "the fairway" if seen.fairway else "the target line"
    rows = [
        _counted_row(f"left of {place}", left, seen.total),
        _counted_row(f"on {place}", on, seen.total),
        _counted_row(f"right of {place}", right, seen.total),
    ]
    if seen.shots.mishits.count:
        rows.append(_counted_row("mishits", seen.shots.mishits.count, seen.total))
    charts = [
        ShareChart("Counted", "and the range in the long run", tuple(rows), _alt("Counted", rows))
    ]
    computed = _computed_rows(seen)
    if computed:
        rows = [_counted_row("as it is now, counted", on, seen.total), *computed]
        heading = "On the fairway"
        charts.append(ShareChart(heading, "now, and computed", tuple(rows), _alt(heading, rows)))
    return tuple(charts)


def _alt(heading: str, rows: list[ShareRow]) -> str:
    told = [f"{row.name}: {row.counted}, {row.words}" for row in rows]
    return sentence(f"{heading}: {'; '.join(told)}")


def _counted_row(name: str, count: int, of: int) -> ShareRow:
    share = wilson_share(count, of)
    words = f"{_between(share.low, share.high)} of 100"
    return ShareRow(name, f"{count} of {of}", words, share.low, share.value, share.high, "before")


def _between(low: float, high: float) -> str:
    first, last = of_100(low), of_100(high)
    return str(first) if first == last else f"{first} to {last}"


def _computed_rows(seen: ShotsSeen) -> list[ShareRow]:
    """Return the shares with less spread, a better direction, and the wanted delivery."""
    shares = computed_shares(seen)
    if shares is None:
        return []
    rows = [
        _computed_row("with a quarter less spread", shares.less_spread, "after"),
        _computed_row("aimed at the target", shares.at_target, "after"),
    ]
    if shares.wanted is not None:
        rows.append(_computed_row("with the wanted delivery", shares.wanted, "wanted"))
    return rows


def _computed_row(name: str, share: Range, state: State) -> ShareRow:
    words = f"{_between(share[0], share[2])} of 100, computed"
    return ShareRow(name, f"{of_100(share[1])} of 100", words, *share, state)


def _picture(seen: ShotsSeen, down: list[float | None]) -> ShotPicture:
    pattern, lengths = seen.pattern, seen.lengths
    known = [(o, d) for o, d in zip(seen.offsets, down, strict=True) if d is not None]
    in_order = not known
    if in_order:
        known = [(offset, float(place)) for place, offset in enumerate(seen.offsets, start=1)]
    stride = math.ceil(len(known) / MOST_DRAWN)
    drawn = known[::stride]
    notes = ["a ring for each shot"]
    if stride > 1:
        notes = [f"a ring for one shot in {stride}"]
    elif len(known) < len(seen.offsets):
        notes.append(f"{len(seen.offsets) - len(known)} without a carry not drawn")
    if seen.shots.mishits.count:
        notes.append("mishits not drawn")
    one_pattern = not seen.two_groups and len(seen.offsets) >= FEWEST_FOR_ELLIPSE
    ellipse = pattern.ellipse.outline if pattern.ellipse is not None and one_pattern else ()
    middle = lengths.number(pattern.median_offset_m)
    where = beside(pattern.median_offset_m, lengths) if middle else "on the target line"
    width = seen.fairway or 0.0
    return ShotPicture(
        shots=tuple(drawn),
        in_order=in_order,
        centre=(pattern.median_offset_m, median(y for _, y in known))
        if one_pattern and not in_order
        else None,
        centre_label=f"middle of the shots, {where}"
        if pattern.sd_offset_m > 0.0
        else f"all {len(seen.offsets)} shots, {where}",
        ellipse=ellipse,
        ellipse_label="the next shot lands inside 9 times in 10",
        wanted=_moved_to_wanted(seen, ellipse),
        wanted_label="the same with the wanted delivery, computed",
        fairway_width=width,
        fairway_label=f"fairway {lengths.amount(width)} wide" if width else "",
        unit=lengths.unit,
        unit_length=lengths.metres_per_unit,
        heading="Where they landed",
        aside=", ".join(notes),
        charts=_charts(seen),
        more_heading="What more shots would tell",
        more=tuple(
            (f"from {least} on", text) for least, text in TOLD_FROM if least > len(seen.offsets)
        )
        if len(seen.offsets) < FEWEST_FOR_ADVICE
        else (),
        alt=(
            f"Landings from above, target up: {counts_sentence(seen)} "
            f"The middle of the shots lies {middle_words(seen)}."
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
    speed = seen.session.seen.head_speed
    if speed is not None:
        told = f"at {speed.text}"
    else:
        told = f"at {half_up(explanation.head_speed_m_per_s)}{NO_BREAK}m/s"
    club = seen.session.seen.club or explanation.club
    rows = tuple(
        (
            CHANGES[effect.changed],
            _start_words(effect.start_deg),
            _moved_words(effect.curve_m, lengths),
            _moved_words(effect.landing_offset_m, lengths),
        )
        for effect in seen.effects
        if effect.changed in CHANGES
    )
    return DegreesTable(
        heading="What two degrees do",
        aside=f"{club} {told}, the rest as it was; computed, not measured",
        columns=("change at the strike", "start", "bend", "landing"),
        rows=rows,
    )


def _start_words(band: Band) -> str:
    tenths = half_up(10.0 * band.nominal) / 10.0
    if not tenths:
        return "the same"
    return f"{abs(tenths):.1f}° {'right' if tenths > 0 else 'left'}"


def _moved_words(band: Band, lengths: Lengths) -> str:
    number = lengths.number(band.nominal)
    if not number:
        return "the same"
    side = "right" if number > 0 else "left"
    span = lengths.span(band.low, band.high).replace(f"{NO_BREAK}{lengths.unit}", "")
    return f"{lengths.amount(band.nominal)} {side} ({span})"


def _basis(seen: ShotsSeen, *, computed: bool) -> str:
    how = "measured" if seen.session.seen.how == "measured" else "watched by eye"
    first = f"{seen.total} {seen.noun}{'s' if seen.total != 1 else ''} {how}"
    text = f"From {first}. Landing means the first touch of the ground."
    if len(seen.offsets) > 1 and len(set(seen.offsets)) == 1:
        text += " " + say(
            "All {count} landings are identical, so the rows may be copies.",
            count=len(seen.offsets),
        )
    if seen.shots.left_out:
        text += f" Left out: {listed(list(seen.shots.left_out))}."
    if computed:
        text += (
            " Computed shares take one normal pattern with the student's own spread"
            f"{' without mishits' if seen.shots.mishits.count else ''}, still air, level ground."
        )
    return f"{text} Ranges hold 19 times in 20."
