"""The flight in finished words: why the ball flew so, what is wanted, and what it rests on."""

from reporter.flight import Explanation
from reporter.flight.explanation import ExplainedFlight
from reporter.flight.uncertainty import Band
from reporter.session.schema import Session
from reporter.speech import later, say, say_as, say_count
from reporter.story.report import Chain, ChainLink
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
