"""The figures of the flight's page: their data with finished labels and words in their place."""

from reporter.flight import Explanation
from reporter.flight.explanation import ExplainedFlight
from reporter.session.schema import Session
from reporter.speech import later, say
from reporter.story.flight_words import direction, half_width, shifted
from reporter.story.hold_words import hazard_block
from reporter.story.report import Curve, FlightPicture, Region
from reporter.story.wording import Lengths, side_of, turned_to

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
