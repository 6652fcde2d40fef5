"""The flight in finished words: why the ball flew so, what is wanted, and what it rests on."""

from reporter.flight import Explanation
from reporter.flight.explanation import ExplainedFlight
from reporter.flight.uncertainty import Band
from reporter.session.schema import Session
from reporter.speech import later, say, say_as, say_count
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
    across,
    between,
    degrees,
    half_up,
    metres_per_second_words,
    placed_at,
    sentence,
    side_of,
    speed_words,
    turned_to,
)

NINE_SHAPES = (
    later("Number 1 starts left and bends further left"),
    later("Number 2 starts left and flies straight"),
    later("Number 3 starts left and bends right"),
    later("Number 4 starts on line and bends left"),
    later("Number 5 starts on line and flies straight"),
    later("Number 6 starts on line and bends right"),
    later("Number 7 starts right and bends left"),
    later("Number 8 starts right and flies straight"),
    later("Number 9 starts right and bends further right"),
)
SHAPE_NAMES = {
    "straight": later("a straight ball"),
    "draw": later("a draw"),
    "fade": later("a fade"),
    "hook": later("a hook"),
    "slice": later("a slice"),
    "pull": later("a pull"),
    "pull-draw": later("a pull-draw"),
    "pull-fade": later("a pull-fade"),
    "pull-hook": later("a pull-hook"),
    "pull-slice": later("a pull-slice"),
    "push": later("a push"),
    "push-draw": later("a push-draw"),
    "push-fade": later("a push-fade"),
    "push-hook": later("a push-hook"),
    "push-slice": later("a push-slice"),
}
FLEW = {
    (True, True, False): later("your {club} set off {start} and bent {bend}"),
    (True, False, False): later("your {club} set off {start} and flew nearly straight"),
    (False, True, False): later("your {club} set off on line and then bent {bend}"),
    (False, False, False): later("your {club} set off on line and flew nearly straight"),
    (True, True, True): later("your {club} usually set off {start} and bent {bend}"),
    (True, False, True): later("your {club} usually set off {start} and flew nearly straight"),
    (False, True, True): later("your {club} usually set off on line and then bent {bend}"),
    (False, False, True): later("your {club} usually set off on line and flew nearly straight"),
}
"""Started to a side, bent, seen more than once."""
ACROSS_PATH = {
    ("right", True): later(
        "{flew}, because the face pointed to the right of a path that ran {path}"
    ),
    ("left", True): later("{flew}, because the face pointed to the left of a path that ran {path}"),
    ("right", False): later(
        "{flew}, because the face pointed to the right of a path that ran at the target"
    ),
    ("left", False): later(
        "{flew}, because the face pointed to the left of a path that ran at the target"
    ),
}
"""Side of the face against the path, and whether the path ran to a side itself."""
BOTH_POINTED = {
    "right": later("{flew}, because face and path both pointed right"),
    "left": later("{flew}, because face and path both pointed left"),
}
BALL_FLEW = {
    ("left", "left"): later("the ball started left and bent left"),
    ("left", "none"): later("the ball started left and flew nearly straight"),
    ("left", "right"): later("the ball started left and bent right"),
    ("on line", "left"): later("the ball started on line and bent left"),
    ("on line", "none"): later("the ball started on line and flew nearly straight"),
    ("on line", "right"): later("the ball started on line and bent right"),
    ("right", "left"): later("the ball started right and bent left"),
    ("right", "none"): later("the ball started right and flew nearly straight"),
    ("right", "right"): later("the ball started right and bent right"),
}
PATH_FURTHER = {
    "left": later("the path ran further left than the face, so {flight}"),
    "right": later("the path ran further right than the face, so {flight}"),
}
PATH_BESIDE = {
    "left": later("the path ran left of where the face pointed, so {flight}"),
    "right": later("the path ran right of where the face pointed, so {flight}"),
}
FACE_FURTHER = {
    "left": later("the face pointed further left than the path, so {flight}"),
    "right": later("the face pointed further right than the path, so {flight}"),
}


def half_width(band: Band) -> float:
    """Return the larger side of a band about its nominal value."""
    return max(band.high - band.nominal, band.nominal - band.low)


def direction(value: float) -> str:
    """Return a direction against the target, such as 2° left."""
    return turned_to(degrees(value), value) if side_of(value) else say("at the target")


def shifted(metres: float, lengths: Lengths, *, none: str) -> str:
    """Return a distance to a side, such as 12 m right."""
    number = lengths.number(metres)
    return placed_at(lengths.amount(metres), number) if number else none


def lead_sentence(session: Session, explanation: Explanation | None) -> str:
    """Return one sentence that says why the ball went where it went."""
    if explanation is None or explanation.now is None:
        return ""
    now, lengths = explanation.now, Lengths(session.student.units)
    many = explanation.seen is not None and explanation.seen.shots > 1
    beside = bool(side_of(now.start_deg.nominal))
    bends = now.shape.bend_side != "none"
    flew = say(
        FLEW[beside, bends, many],
        club=say_as("club after your", explanation.club),
        start=direction(now.start_deg.nominal),
        bend=_bent_by(now, lengths),
    )
    return sentence(_with_reason(flew, now))


def _bent_by(now: ExplainedFlight, lengths: Lengths) -> str:
    """Return the bend with the side of its shape, which is told even where it rounds to 0."""
    size = abs(now.curve_m.nominal)
    amount = lengths.amount(size)
    if now.shape.bend_side == "right":
        return say("{amount} to the right", amount=amount)
    return say("{amount} to the left", amount=amount)


def _with_reason(flew: str, now: ExplainedFlight) -> str:
    """Return what flew with what face and path say to it, no more than their bands bear."""
    if now.face_deg is None:
        return flew
    if now.path_deg is None or now.face_to_path_deg is None:
        if not side_of(now.face_deg.nominal):
            return flew
        face = direction(now.face_deg.nominal)
        return say("{flew}, because the face pointed {face}", flew=flew, face=face)
    apart = now.face_to_path_deg
    if apart.low > 0 or apart.high < 0:
        side = "right" if apart.nominal > 0 else "left"
        beside = bool(side_of(now.path_deg.nominal))
        return say(ACROSS_PATH[side, beside], flew=flew, path=direction(now.path_deg.nominal))
    if now.shape.start_side != "on line":
        return say(BOTH_POINTED[now.shape.start_side], flew=flew)
    return say("{flew}, because face and path pointed nearly the same way", flew=flew)


def finding(now: ExplainedFlight) -> str:
    """Return the title of the sheet: cause and effect in one sentence."""
    flight = say(BALL_FLEW[now.shape.start_side, now.shape.bend_side])
    apart = now.face_to_path_deg
    if apart is None or now.path_deg is None or now.face_deg is None:
        return sentence(flight)
    if apart.low > 0 or apart.high < 0:
        side = "left" if apart.nominal > 0 else "right"
        path = side_of(now.path_deg.nominal)
        if path == side and side_of(now.face_deg.nominal) == side:
            cause = PATH_FURTHER[side]
        elif path == side:
            cause = PATH_BESIDE[side]
        else:
            cause = FACE_FURTHER["right" if side == "left" else "left"]
        return sentence(say(cause, flight=flight))
    return sentence(say("face and path lay close together, so {flight}", flight=flight))


def chain(session: Session, explanation: Explanation, now: ExplainedFlight) -> Chain:
    """Return the four links from the club to the landing."""
    lengths = Lengths(session.student.units)
    seen = explanation.seen
    how = _how_known(explanation)
    landing_seen = seen is not None and seen.landing_offset_m is not None
    club_lines, known = [], []
    if now.face_deg is not None:
        club_lines.append(say("face {direction}", direction=direction(now.face_deg.nominal)))
        known.append(degrees_range(now.face_deg))
    if now.path_deg is not None:
        club_lines.append(say("path {direction}", direction=direction(now.path_deg.nominal)))
        known.append(degrees_range(now.path_deg))
    note = say("worked back: {ranges}", ranges=", ".join(known))
    if now.path_deg is None and explanation.path_reason is not None:
        note = say("{note}; path: cannot tell", note=note)
    curve = now.curve_m
    bend_lines: tuple[str, ...] = (say("hardly at all"),)
    if lengths.number(curve.nominal):
        to_side = say("to the right") if curve.nominal > 0 else say("to the left")
        bend_lines = (lengths.amount(curve.nominal), to_side)
    bend_range = _range(curve, lengths)
    landed = now.landing_offset_m
    landed_range = _length_range(landed, lengths, sided=True)
    carry_range = _length_range(now.carry_m, lengths, sided=False)
    started: tuple[str, ...] = (say("on line"),)
    if side_of(now.start_deg.nominal):
        started = (direction(now.start_deg.nominal), say("of the target"))
    return Chain(
        (
            ChainLink(say("The club at the strike"), tuple(club_lines), note),
            ChainLink(
                say("The ball started"),
                started,
                say("{range}, {how}", range=degrees_range(now.start_deg), how=how),
            ),
            ChainLink(
                say("It curved"),
                bend_lines,
                say("{range}, worked back", range=bend_range)
                if landing_seen
                else say("{range}, {how}", range=bend_range, how=how),
            ),
            ChainLink(
                say("It landed"),
                (
                    shifted(landed.nominal, lengths, none=say("on line")),
                    say("{distance} out", distance=lengths.amount(now.carry_m.nominal)),
                ),
                say(
                    "{beside}, {how}; {out}, computed",
                    beside=landed_range,
                    how=how,
                    out=carry_range,
                )
                if landing_seen
                else say("{beside}, {out}, computed", beside=landed_range, out=carry_range),
            ),
        )
    )


def _how_known(explanation: Explanation) -> str:
    """Return how the flight is known, with the number of shots if there were several."""
    seen = explanation.seen
    if seen is None:
        return say("typed delivery")
    if seen.how == "measured":
        if seen.shots > 1:
            return say("measured, {count} shots", count=seen.shots)
        return say("measured")
    if seen.shots > 1:
        return say("seen by eye, {count} shots", count=seen.shots)
    return say("seen by eye")


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
        return across(f"{-first}°", f"{last}°")
    small, large = sorted((abs(first), abs(last)))
    return turned_to(between(str(small), f"{large}°"), 1 if last > 0 else -1)


def _length_range(band: Band, lengths: Lengths, *, sided: bool) -> str:
    """Return the range of a length: one plus-or-minus, or both ends where it is skewed."""
    sides = {lengths.number(band.nominal - band.low), lengths.number(band.high - band.nominal)}
    if not is_skewed(band) or len(sides) == 1:
        return f"{PLUS_MINUS}{lengths.amount(half_width(band))}"
    first, last = lengths.number(band.low), lengths.number(band.high)
    span = lengths.span(band.low, band.high)
    if not sided or first < 0 < last:
        return span
    return placed_at(span, 1 if last > 0 else -1)


def _range(band: Band, lengths: Lengths) -> str:
    return lengths.span(band.low, band.high)


def wanted_text(session: Session, explanation: Explanation) -> str:
    """Return what is wanted instead, and the face and path that make it."""
    wanted = explanation.wanted
    if wanted is None:
        return ""
    lengths = Lengths(session.student.units)
    beside = bool(side_of(wanted.start_deg.nominal))
    start = direction(wanted.start_deg.nominal)
    curve = wanted.curve_m.nominal
    if lengths.number(curve):
        bend = turned_to(lengths.amount(curve), curve)
        ball = (
            say("a ball that starts {start} and bends {bend}.", start=start, bend=bend)
            if beside
            else say("a ball that starts on line and bends {bend}.", bend=bend)
        )
    else:
        ball = (
            say("a ball that starts {start} and flies straight.", start=start)
            if beside
            else say("a ball that starts on line and flies straight.")
        )
    return f"{ball} {_makes(explanation)}".rstrip()


def _makes(explanation: Explanation) -> str:
    """Return what face and path make the wanted flight, as far as it can be told."""
    now, wanted = explanation.now, explanation.wanted
    assert wanted is not None
    face = direction(wanted.face_deg.nominal) if wanted.face_deg is not None else ""
    path = ""
    if wanted.path_deg is not None and explanation.path_reason is None:
        path = direction(wanted.path_deg.nominal)
    if face and path:
        makes = say("That takes the face {face} and the path {path}.", face=face, path=path)
    elif face:
        makes = say("That takes the face {face}.", face=face)
    elif path:
        makes = say("That takes the path {path}.", path=path)
    else:
        return ""
    if now is None or now.path_deg is None or wanted.path_deg is None:
        return makes
    move = wanted.path_deg.nominal - now.path_deg.nominal
    if not half_up(move):
        return makes
    told = makes.removesuffix(".")
    if move > 0:
        return say("{told}: a path {angle} further right than now.", told=told, angle=degrees(move))
    return say("{told}: a path {angle} further left than now.", told=told, angle=degrees(move))


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
        curves.append(Curve("before", say("now"), now.line))
        if now.face_deg is not None and now.path_deg is not None:
            regions.append(_region("before", say("now"), now, explanation.now_region))
    if wanted is not None:
        curves.append(Curve("wanted", say("wanted"), wanted.line))
        if wanted.face_deg is not None and wanted.path_deg is not None and regions:
            path, face = wanted.path_deg.nominal, wanted.face_deg.nominal
            regions.append(Region("wanted", say("wanted"), path, face, 0.0, 0.0))
    corridor = explanation.corridor
    width = corridor.fairway_width_m if corridor is not None else 0.0
    apexes = {lengths.number(flight.apex_m.nominal) for flight in (now, wanted) if flight}
    apex = lengths.amount(first.apex_m.nominal)
    both = len(curves) > 1 and len(apexes) == 1
    shape = first.shape.number if now is not None else None
    start = direction(first.start_deg.nominal)
    landed = shifted(first.landing_offset_m.nominal, lengths, none=say("on line"))
    curve = first.curve_m.nominal
    carry = lengths.amount(first.carry_m.nominal)
    return FlightPicture(
        curves=tuple(curves),
        start_degrees=first.start_deg.nominal,
        start_label=say("starts {start}", start=start)
        if side_of(first.start_deg.nominal)
        else say("starts on line"),
        curve_label=lengths.amount(curve),
        apex_label=say("{height} high, both", height=apex)
        if both
        else say("{height} high", height=apex),
        fairway_width=width,
        fairway_label=say("fairway {width} wide", width=lengths.amount(width)) if width else "",
        unit=lengths.unit,
        unit_length=lengths.metres_per_unit,
        regions=tuple(regions),
        corridor=corridor.polygon if corridor is not None else (),
        shape=shape,
        shape_text=_shape_text(session, first) if now is not None else "",
        alt_above=say(
            "Flight from above, target up: the ball starts {start}, bends {bend}, lands {place} "
            "after {carry}.",
            start=start,
            bend=turned_to(lengths.amount(curve), curve)
            if lengths.number(curve)
            else say("no bend"),
            place=landed,
            carry=carry,
        ),
        alt_face_path=_alt_face_path(explanation),
        alt_side=say("Flight from the side: {height} high.", height=apex),
        alt_shapes=say("The nine plain flights; number {number} is this one.", number=shape)
        if shape
        else say("The nine plain flights."),
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
    text = say(
        "Face against path: now the face points {face} and the path {path}.",
        face=direction(face.nominal),
        path=direction(path.nominal),
    )
    wanted_face, wanted_path = explanation.wanted_face_deg, explanation.wanted_path_deg
    if wanted_face is None or wanted_path is None:
        return text
    return say(
        "{now}; wanted are {face} and {path}.",
        now=text.removesuffix("."),
        face=direction(wanted_face.nominal),
        path=direction(wanted_path.nominal),
    )


def _shape_text(session: Session, flight: ExplainedFlight) -> str:
    shape = say(NINE_SHAPES[flight.shape.number - 1])
    name = say(SHAPE_NAMES[flight.shape.name])
    if session.student.plays == "left":
        return say("{shape}; for a left-hander the trade calls it {name}.", shape=shape, name=name)
    return say("{shape}; for a right-hander the trade calls it {name}.", shape=shape, name=name)


def basis(session: Session, explanation: Explanation) -> str:
    """Return what was computed from what, in one small paragraph."""
    seen, air = explanation.seen, explanation.air
    speed, unit = session.seen.head_speed, session.student.speed_units
    used = explanation.head_speed_m_per_s
    parts = []
    if seen is not None and explanation.now is not None and seen.how == "by eye":
        parts.append(
            say_count("one shot watched by eye", "{number} shots watched by eye", seen.shots)
        )
    elif seen is not None and explanation.now is not None:
        parts.append(say_count("one shot measured", "{number} shots measured", seen.shots))
    if explanation.head_speed_stated and speed is not None:
        parts.append(say("head speed {speed}", speed=speed_words(speed, unit)))
    elif explanation.head_speed_stated:
        told = metres_per_second_words(used, unit)
        parts.append(say("head speed {speed}, the middle one of the shots", speed=told))
    else:
        told = metres_per_second_words(used, unit)
        parts.append(say("a head speed usual for the club ({speed}), none was given", speed=told))
    warmth = f"{half_up(air.temperature_c)}{NO_BREAK}°C"
    parts.append(
        say("wind as given, {temperature}", temperature=warmth)
        if air.wind.speed_m_per_s
        else say("still air, {temperature}", temperature=warmth)
    )
    parts.append(say("level ground, centred strike, ball unknown"))
    return say(
        "Computed, not measured, from {parts}. Ranges hold 19 times in 20. The record says what "
        "is left out.",
        parts="; ".join(parts),
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
        title = say("Why the ball flew so: cannot tell from what was noted.")
        blocks.append(Paragraph((Run(title),), "title", "seen"))
        blocks.append(Paragraph((Run(reason),), "body", "seen"))
    wanted = wanted_text(session, explanation)
    if wanted:
        runs = [Run(say("Wanted instead: "), bold=True), Run(wanted)]
        held = hold_sentence(session, explanation)
        runs += [Run(f" {held}")] if held else []
        blocks.append(Paragraph(tuple(runs), "body", "wanted"))
    if now is not None and explanation.path_reason is not None:
        blocks.append(Paragraph((Run(explanation.path_reason.text),), "body", "seen"))
    picture = flight_picture(session, explanation)
    if picture is not None:
        blocks.append(picture)
    blocks.append(Paragraph((Run(basis(session, explanation)),), "note", "seen"))
    return Sheet("why", say("Why the ball flew so"), tuple(blocks))
