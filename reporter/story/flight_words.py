"""The flight in finished words: why the ball flew so, what is wanted, and what it rests on."""

from reporter.flight import Explanation
from reporter.flight.explanation import ExplainedFlight
from reporter.flight.uncertainty import Band
from reporter.session.schema import Session
from reporter.story.hold_words import hazard_block, hold_sentence
from reporter.story.report import (
    Block,
    Chain,
    ChainLink,
    Curve,
    FlightPicture,
    Paragraph,
    Region,
    Run,
    Sheet,
)
from reporter.story.wording import (
    NO_BREAK,
    PLUS_MINUS,
    Lengths,
    degrees,
    half_up,
    listed,
    sentence,
    side_of,
)

NINE_SHAPES = (
    "Number 1 starts left and bends further left",
    "Number 2 starts left and flies straight",
    "Number 3 starts left and bends right",
    "Number 4 starts on line and bends left",
    "Number 5 starts on line and flies straight",
    "Number 6 starts on line and bends right",
    "Number 7 starts right and bends left",
    "Number 8 starts right and flies straight",
    "Number 9 starts right and bends further right",
)


def half_width(band: Band) -> float:
    """Return the larger side of a band about its nominal value."""
    return max(band.high - band.nominal, band.nominal - band.low)


def direction(value: float) -> str:
    """Return a direction against the target, such as 2° left."""
    side = side_of(value)
    return f"{degrees(value)} {side}" if side else "at the target"


def shifted(metres: float, lengths: Lengths, *, none: str) -> str:
    """Return a distance to a side, such as 12 m right."""
    number = lengths.number(metres)
    if not number:
        return none
    return f"{lengths.amount(metres)} {'right' if number > 0 else 'left'}"


def lead_sentence(session: Session, explanation: Explanation | None) -> str:
    """Return one sentence that says why the ball went where it went."""
    if explanation is None or explanation.now is None:
        return ""
    now, lengths = explanation.now, Lengths(session.student.units)
    start = side_of(now.start_deg.nominal)
    many = explanation.seen is not None and explanation.seen.shots > 1
    usually = "usually " if many else ""
    flew = f"set off {degrees(now.start_deg.nominal)} {start}" if start else "set off on line"
    if now.shape.bend_side == "none":
        flew += " and flew nearly straight"
    else:
        bend = lengths.amount(now.curve_m.nominal)
        flew += f" and {'bent' if start else 'then bent'} {bend} to the {now.shape.bend_side}"
    reason = _reason(now)
    because = f", because {reason}" if reason else ""
    return sentence(f"your {explanation.club} {usually}{flew}{because}")


def _reason(now: ExplainedFlight) -> str:
    """Return what face and path say, no more than their bands bear."""
    if now.face_deg is None:
        return ""
    if now.path_deg is None or now.face_to_path_deg is None:
        side = side_of(now.face_deg.nominal)
        return f"the face pointed {direction(now.face_deg.nominal)}" if side else ""
    between = now.face_to_path_deg
    if between.low > 0 or between.high < 0:
        side = "right" if between.nominal > 0 else "left"
        path_side = side_of(now.path_deg.nominal)
        ran = f"ran {direction(now.path_deg.nominal)}" if path_side else "ran at the target"
        return f"the face pointed to the {side} of a path that {ran}"
    if now.shape.start_side != "on line":
        return f"face and path both pointed {now.shape.start_side}"
    return "face and path pointed nearly the same way"


def finding(now: ExplainedFlight) -> str:
    """Return the title of the sheet: cause and effect in one sentence."""
    start, bend = now.shape.start_side, now.shape.bend_side
    started = "started on line" if start == "on line" else f"started {start}"
    bent = "flew nearly straight" if bend == "none" else f"bent {bend}"
    between = now.face_to_path_deg
    if between is None or now.path_deg is None or now.face_deg is None:
        return sentence(f"the ball {started} and {bent}")
    if between.low > 0 or between.high < 0:
        side = "left" if between.nominal > 0 else "right"
        both = side_of(now.face_deg.nominal)
        path = side_of(now.path_deg.nominal)
        if path == side and both == side:
            cause = f"the path ran further {side} than the face"
        elif path == side:
            cause = f"the path ran {side} of where the face pointed"
        else:
            cause = (
                f"the face pointed further {'right' if side == 'left' else 'left'} than the path"
            )
        return sentence(f"{cause}, so the ball {started} and {bent}")
    return sentence(f"face and path lay close together, so the ball {started} and {bent}")


def chain(session: Session, explanation: Explanation, now: ExplainedFlight) -> Chain:
    """Return the four links from the club to the landing."""
    lengths = Lengths(session.student.units)
    seen = explanation.seen
    how = "typed delivery"
    if seen is not None:
        how = "measured" if seen.how == "measured" else "seen by eye"
        how += f", {seen.shots} shots" if seen.shots > 1 else ""
    landing_seen = seen is not None and seen.landing_offset_m is not None
    club_lines, known = [], []
    if now.face_deg is not None:
        club_lines.append(f"face {direction(now.face_deg.nominal)}")
        known.append(degrees_range(now.face_deg))
    if now.path_deg is not None:
        club_lines.append(f"path {direction(now.path_deg.nominal)}")
        known.append(degrees_range(now.path_deg))
    note = f"worked back: {', '.join(known)}"
    if now.path_deg is None and explanation.path_reason is not None:
        note += "; path: cannot tell"
    start = side_of(now.start_deg.nominal)
    curve = now.curve_m
    bend_lines = (
        (
            lengths.amount(curve.nominal),
            f"to the {side_of(curve.nominal / lengths.metres_per_unit)}",
        )
        if lengths.number(curve.nominal)
        else ("hardly at all",)
    )
    landed = now.landing_offset_m
    return Chain(
        (
            ChainLink("The club at the strike", tuple(club_lines), note),
            ChainLink(
                "The ball started",
                (f"{degrees(now.start_deg.nominal)} {start}", "of the target")
                if start
                else ("on line",),
                f"{degrees_range(now.start_deg)}, {how}",
            ),
            ChainLink(
                "It curved",
                bend_lines,
                f"{_range(curve, lengths)}, {'worked back' if landing_seen else how}",
            ),
            ChainLink(
                "It landed",
                (
                    shifted(landed.nominal, lengths, none="on line"),
                    f"{lengths.amount(now.carry_m.nominal)} out",
                ),
                f"{_length_range(landed, lengths, sided=True)}, "
                + (f"{how}; " if landing_seen else "")
                + f"{_length_range(now.carry_m, lengths, sided=False)}, computed",
            ),
        )
    )


def is_skewed(band: Band) -> bool:
    """Tell whether the two sides of a band differ by more than a third of the larger one.

    One plus-or-minus for both would then state more, or less, than the numbers bear.
    """
    sides = sorted((band.nominal - band.low, band.high - band.nominal))
    return sides[1] - sides[0] > sides[1] / 3.0


def degrees_range(band: Band) -> str:
    """Return the range of a direction: one plus-or-minus, or both ends where it is skewed."""
    sides = {max(half_up(side), 1) for side in (band.nominal - band.low, band.high - band.nominal)}
    if not is_skewed(band) or len(sides) == 1:
        return f"{PLUS_MINUS}{max(sides)}°"
    first, last = half_up(band.low), half_up(band.high)
    if first < 0 < last:
        return f"{-first}° left to {last}° right"
    small, large = sorted((abs(first), abs(last)))
    return f"{small} to {large}° {'right' if last > 0 else 'left'}"


def _length_range(band: Band, lengths: Lengths, *, sided: bool) -> str:
    """Return the range of a length: one plus-or-minus, or both ends where it is skewed."""
    sides = {lengths.number(band.nominal - band.low), lengths.number(band.high - band.nominal)}
    if not is_skewed(band) or len(sides) == 1:
        return f"{PLUS_MINUS}{lengths.amount(half_width(band))}"
    first, last = lengths.number(band.low), lengths.number(band.high)
    span = lengths.span(band.low, band.high)
    if not sided or first < 0 < last:
        return span
    return f"{span} {'right' if last > 0 else 'left'}"


def _range(band: Band, lengths: Lengths) -> str:
    return lengths.span(band.low, band.high)


def wanted_text(session: Session, explanation: Explanation) -> str:
    """Return what is wanted instead, and the face and path that make it."""
    wanted = explanation.wanted
    if wanted is None:
        return ""
    lengths = Lengths(session.student.units)
    start = side_of(wanted.start_deg.nominal)
    starts = f"{degrees(wanted.start_deg.nominal)} {start}" if start else "on line"
    text = f"a ball that starts {starts}"
    if lengths.number(wanted.curve_m.nominal):
        text += (
            f" and bends {lengths.amount(wanted.curve_m.nominal)} "
            f"{side_of(wanted.curve_m.nominal / lengths.metres_per_unit)}"
        )
    else:
        text += " and flies straight"
    makes = []
    if wanted.face_deg is not None:
        makes.append(f"the face {direction(wanted.face_deg.nominal)}")
    if wanted.path_deg is not None and explanation.path_reason is None:
        makes.append(f"the path {direction(wanted.path_deg.nominal)}")
    text += f". That takes {listed(makes)}" if makes else ""
    now = explanation.now
    if now is not None and now.path_deg is not None and wanted.path_deg is not None:
        move = wanted.path_deg.nominal - now.path_deg.nominal
        if half_up(move):
            text += f": a path {degrees(move)} further {side_of(move)} than now"
    return sentence(text)


def flight_picture(session: Session, explanation: Explanation) -> FlightPicture | None:
    """Return the drawings' data with their finished labels."""
    now, wanted = explanation.now, explanation.wanted
    first = now or wanted
    if first is None:
        return None
    lengths = Lengths(session.student.units)
    curves = []
    regions = []
    if now is not None:
        curves.append(Curve("before", "now", now.line))
        if now.face_deg is not None and now.path_deg is not None:
            regions.append(_region("before", "now", now, explanation.now_region))
    if wanted is not None:
        curves.append(Curve("wanted", "wanted", wanted.line))
        if wanted.face_deg is not None and wanted.path_deg is not None and regions:
            regions.append(
                Region(
                    "wanted", "wanted", wanted.path_deg.nominal, wanted.face_deg.nominal, 0.0, 0.0
                )
            )
    corridor = explanation.corridor
    width = corridor.fairway_width_m if corridor is not None else 0.0
    apexes = {lengths.number(flight.apex_m.nominal) for flight in (now, wanted) if flight}
    both = ", both" if len(curves) > 1 and len(apexes) == 1 else ""
    shape = first.shape.number if now is not None else None
    start = side_of(first.start_deg.nominal)
    curve = shifted(first.curve_m.nominal, lengths, none="no bend")
    landed = shifted(first.landing_offset_m.nominal, lengths, none="on line")
    return FlightPicture(
        curves=tuple(curves),
        start_degrees=first.start_deg.nominal,
        start_label=f"starts {degrees(first.start_deg.nominal)} {start}"
        if start
        else "starts on line",
        curve_label=lengths.amount(first.curve_m.nominal),
        apex_label=f"{lengths.amount(first.apex_m.nominal)} high{both}",
        fairway_width=width,
        fairway_label=f"fairway {lengths.amount(width)} wide" if width else "",
        unit=lengths.unit,
        unit_length=lengths.metres_per_unit,
        regions=tuple(regions),
        corridor=corridor.polygon if corridor is not None else (),
        shape=shape,
        shape_text=_shape_text(session, first) if now is not None else "",
        alt_above=(
            f"Flight from above, target up: the ball starts {direction(first.start_deg.nominal)}, "
            f"bends {curve}, lands {landed} "
            f"after {lengths.amount(first.carry_m.nominal)}."
        ),
        alt_face_path=_alt_face_path(explanation),
        alt_side=f"Flight from the side: {lengths.amount(first.apex_m.nominal)} high.",
        alt_shapes=(
            f"The nine plain flights; number {shape} is this one."
            if shape
            else "The nine plain flights."
        ),
        right_handed=session.student.plays == "right",
        hazard=hazard_block(session, explanation),
    )


def _region(
    state: str, label: str, flight: ExplainedFlight, outline: tuple[tuple[float, float], ...]
) -> Region:
    assert flight.path_deg is not None
    assert flight.face_deg is not None
    return Region(
        "before" if state == "before" else "wanted",
        label,
        flight.path_deg.nominal,
        flight.face_deg.nominal,
        max((abs(path - flight.path_deg.nominal) for path, _ in outline), default=0.0)
        or half_width(flight.path_deg),
        max((abs(face - flight.face_deg.nominal) for _, face in outline), default=0.0)
        or half_width(flight.face_deg),
        outline,
    )


def _alt_face_path(explanation: Explanation) -> str:
    face, path = explanation.face_deg, explanation.path_deg
    if face is None or path is None:
        return ""
    text = (
        f"Face against path: now the face points {direction(face.nominal)} and the path "
        f"{direction(path.nominal)}"
    )
    wanted_face, wanted_path = explanation.wanted_face_deg, explanation.wanted_path_deg
    if wanted_face is not None and wanted_path is not None:
        text += (
            f"; wanted are {direction(wanted_face.nominal)} and {direction(wanted_path.nominal)}"
        )
    return text + "."


def _shape_text(session: Session, flight: ExplainedFlight) -> str:
    hand = f"{session.student.plays}-hander"
    name = flight.shape.name
    article = "a " if name != "straight" else ""
    return sentence(
        f"{NINE_SHAPES[flight.shape.number - 1]}; for a {hand} the trade calls it "
        f"{article}{name if name != 'straight' else 'a straight ball'}"
    )


def basis(session: Session, explanation: Explanation) -> str:
    """Return what was computed from what, in one small paragraph."""
    seen, air = explanation.seen, explanation.air
    parts = []
    if seen is not None and explanation.now is not None:
        many = f"{seen.shots} shots" if seen.shots > 1 else "one shot"
        parts.append(f"{many} {'watched by eye' if seen.how == 'by eye' else 'measured'}")
    speed = session.seen.head_speed
    if explanation.head_speed_stated and speed is not None:
        parts.append(f"head speed {speed.text}")
    elif explanation.head_speed_stated:
        used = half_up(explanation.head_speed_m_per_s)
        parts.append(f"head speed {used}{NO_BREAK}m/s, the middle one of the shots")
    else:
        typical = half_up(explanation.head_speed_m_per_s)
        parts.append(f"a head speed usual for the club ({typical}{NO_BREAK}m/s), none was given")
    parts.append(
        f"{'still air' if not air.wind.speed_m_per_s else 'wind as given'}, "
        f"{half_up(air.temperature_c)}{NO_BREAK}°C"
    )
    parts.append("level ground, centred strike, ball unknown")
    return (
        f"Computed, not measured, from {'; '.join(parts)}. Ranges hold 19 times in 20. "
        "The record says what is left out."
    )


def why_sheet(session: Session, explanation: Explanation | None) -> Sheet | None:
    """Return the sheet that explains the flight; None where nothing was seen or wanted."""
    if explanation is None:
        return None
    now = explanation.now
    blocks: list[Block] = []
    if now is not None:
        blocks.append(Paragraph((Run(finding(now)),), "title", "seen"))
        blocks.append(chain(session, explanation, now))
    else:
        reason = explanation.face_reason.text if explanation.face_reason else ""
        title = "Why the ball flew so: cannot tell from what was noted"
        blocks.append(Paragraph((Run(sentence(title)),), "title", "seen"))
        blocks.append(Paragraph((Run(reason),), "body", "seen"))
    wanted = wanted_text(session, explanation)
    if wanted:
        runs = [Run("Wanted instead: ", bold=True), Run(wanted[0].lower() + wanted[1:])]
        held = hold_sentence(session, explanation)
        runs += [Run(f" {held}")] if held else []
        blocks.append(Paragraph(tuple(runs), "body", "wanted"))
    if now is not None and explanation.path_reason is not None:
        blocks.append(Paragraph((Run(explanation.path_reason.text),), "body", "seen"))
    picture = flight_picture(session, explanation)
    if picture is not None:
        blocks.append(picture)
    blocks.append(Paragraph((Run(basis(session, explanation)),), "note", "seen"))
    return Sheet("why", "Why the ball flew so", tuple(blocks))
