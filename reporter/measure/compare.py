"""Before against after: the change, its own error, and what may be said of it."""

import math
from collections.abc import Iterable, Sequence

from reporter.measure.camera import camera_untouched
from reporter.measure.catalogue import BY_ID
from reporter.measure.many import FOR_ONE_MEASURE, limit_among
from reporter.measure.measurement import Class, Comparison, Measurement, Verdict
from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Pair, Session
from reporter.speech import say, say_as


def compare(
    before: Measurement,
    after: Measurement,
    *,
    untouched: bool,
    among: int = 1,
    same_club: bool = True,
) -> Comparison:
    """Return what may be said of one measure before against after.

    Parameters
    ----------
    before, after : Measurement
        Two readings of one measure.
    untouched : bool
        The camera stood the same in both: its roll and its stand cancel in the change.
    among : int
        How many measures are spoken of together; the more, the larger a change must be.
    same_club : bool
        False where the clubs are known to differ.

    Returns
    -------
    Comparison
        Its `plus_minus` is always the 95 % interval of this one change; `smallest_change` holds
        for all measures together. A change between the two has *perhaps* happened.

    Notes
    -----
    Clicks and what a posture adds anew differ from picture to picture and add in quadrature.
    Roll and azimuth of the camera add only where the camera was set up again.
    """
    reason = _why_not(before, after, untouched=untouched, same_club=same_club)
    if reason or before.value is None or after.value is None:
        return Comparison(before, after, None, None, None, Verdict.CANNOT_TELL, untouched, reason)
    error = math.hypot(
        *(_own(reading) for reading in (before, after)),
        *(() if untouched else (_of_camera(reading) for reading in (before, after))),
    )
    change = after.value - before.value
    alone, smallest = FOR_ONE_MEASURE * error, limit_among(among) * error
    verdict = Verdict.NOT_SHOWN
    if abs(change) > alone:
        verdict = Verdict.CHANGED if abs(change) > smallest else Verdict.PERHAPS
    return Comparison(before, after, change, alone, smallest, verdict, untouched, among=among)


def compare_pair(
    session: Session,
    measurements: Iterable[Measurement],
    pair: Pair,
    *,
    among: int = 1,
    compared: Sequence[PairAlignment] = (),
) -> tuple[Comparison, ...]:
    """Return the comparisons of a pair of frames.

    Parameters
    ----------
    session : Session
        The lesson file.
    measurements : iterable of Measurement
        As `measure_session` returns them.
    pair : Pair
        Without both frames there is nothing to compare. Where it names no measures, every
        measure with a value on both frames is compared.
    among : int
        See `compare` and `told_together`.
    compared : sequence of PairAlignment
        What the pictures say of the cameras. Where a camera proves to have stayed, changes have
        the errors of an untouched one; where it moved, a label does not help.

    Returns
    -------
    tuple of Comparison
        In the order the pair names its measures, else of the catalogue.
    """
    if pair.before is None or pair.after is None:
        return ()
    readings: dict[str, dict[str, Measurement]] = {pair.before: {}, pair.after: {}}
    for reading in measurements:
        if reading.frame in readings:
            readings[reading.frame][reading.measure] = reading
    before, after = readings[pair.before], readings[pair.after]
    mine = _evidence(pair, compared)
    if mine is not None and mine.readings:
        after = {reading.measure: reading for reading in mine.readings}
    takes = [session.take_of(session.frame(name)) for name in (pair.before, pair.after)]
    clubs = {take.club for take in takes if take.club}
    return tuple(
        compare(
            before[name],
            after[name],
            untouched=camera_stayed(session, pair, compared),
            among=among,
            same_club=len(clubs) < 2 or not BY_ID[name].same_club,
        )
        for name in _names(pair.measures, before, after)
    )


def told_together(
    session: Session,
    measurements: Sequence[Measurement],
    compared: Sequence[PairAlignment] = (),
) -> int:
    """Return how many changes the pairs of a lesson can tell together.

    One measure of the same two frames counts once, however often it is shown. Parameters are those
    of `compare_pair`.
    """
    told = {
        (pair.before, pair.after, one.before.measure)
        for pair in session.pairs
        for one in compare_pair(session, measurements, pair, compared=compared)
        if one.change is not None
    }
    return len(told)


def camera_stayed(session: Session, pair: Pair, compared: Sequence[PairAlignment]) -> bool:
    """Return whether the camera is taken to have stayed in place between the frames of a pair.

    Parameters
    ----------
    session : Session
        The lesson file.
    pair : Pair
        With both frames.
    compared : sequence of PairAlignment
        What the pictures say; they decide where they tell, the camera label where they do not.
    """
    first, second = (session.frame(name or "").take for name in (pair.before, pair.after))
    mine = _evidence(pair, compared)
    if first != second and mine is not None and mine.verdict != "cannot tell":
        return mine.stayed
    takes = [session.take_of(session.frame(name or "")) for name in (pair.before, pair.after)]
    contradicted = any(
        one.verdict in ("moved", "turned or zoomed")
        for one in compared
        if (session.frame(one.before).take, session.frame(one.after).take) == (first, second)
    )
    return camera_untouched(*takes) and (first == second or not contradicted)


def _evidence(pair: Pair, compared: Sequence[PairAlignment]) -> PairAlignment | None:
    """Return what the pictures of just this pair say."""
    both = (pair.before, pair.after)
    return next((one for one in compared if (one.before, one.after) == both), None)


def _names(
    asked: Sequence[str], before: dict[str, Measurement], after: dict[str, Measurement]
) -> list[str]:
    if asked:
        return [name for name in asked if name in before and name in after]
    return [
        name
        for name, reading in before.items()
        if name in after and reading.value is not None and after[name].value is not None
    ]


def _own(reading: Measurement) -> float:
    """Return the standard error that no other picture shares [unit]."""
    return math.hypot(reading.standard_error_of_points, reading.standard_error_of_model)


def _of_camera(reading: Measurement) -> float:
    """Return the standard error that pictures of one camera set-up share [unit]."""
    return math.hypot(reading.standard_error_of_roll, reading.standard_error_of_azimuth)


def _why_not(before: Measurement, after: Measurement, *, untouched: bool, same_club: bool) -> str:
    """Return why two readings cannot be compared, empty if they can."""
    if before.value is None:
        return say("before: {reason}", reason=before.reason)
    if after.value is None:
        return say("after: {reason}", reason=after.reason)
    if before.unit != after.unit:
        return say(
            "read in {first} before and in {second} after",
            first=say(before.unit),
            second=say(after.unit),
        )
    if before.view != after.view:
        return say(
            "seen {first} before and {second} after",
            first=say_as("view", before.view),
            second=say_as("view", after.view),
        )
    if before.position != after.position and not (
        before.trust is Class.MEASURED and after.trust is Class.MEASURED
    ):
        return say(
            "read at {first} before and at {second} after",
            first=say_as("position", before.position),
            second=say_as("position", after.position),
        )
    if not same_club:
        return say("the clubs differ")
    if Class.CHANGE_ONLY in (before.trust, after.trust) and not untouched:
        return say("the camera was set up again, or has no label that says it was not")
    return ""
