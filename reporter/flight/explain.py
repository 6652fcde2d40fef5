"""One call from what was seen and wanted to everything a page says about the flight."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import club_named
from reporter.flight.corridor import gains_of
from reporter.flight.describe import (
    Case,
    Solved,
    corridor_around,
    delivery_region,
    describe,
    why_no_path,
)
from reporter.flight.explanation import MODEL_VERSION, ExplainedFlight, Explanation, Note
from reporter.flight.hold import HeldFlight, Hold, hold_flight
from reporter.flight.impact import Delivery, strike
from reporter.flight.impossible import ImpossibleDelivery, refuse_topped
from reporter.flight.inverse import polish, side_noise, solve_delivery, why_not
from reporter.flight.notes import notes_for, reason
from reporter.flight.observation import SeenFlight, WantedFlight
from reporter.flight.off_centre import OffCentre, struck_off_centre
from reporter.flight.shapes import Handedness, check_handedness
from reporter.flight.trajectory import TIME_STEP_S
from reporter.flight.uncertainty import (
    Worlds,
    fly_in,
    launch_in,
    nominal_and_spread,
    sample_step_s,
)

LEAST_WORLDS = 0.5
"""A flight that fewer than this share of the possible worlds allow is refused [-]."""

NOMINAL_TIME_STEP_S = 0.2
"""Step of the nominal flight: landing within a tenth of a millimetre where the wind is smooth."""


def explain(
    seen: SeenFlight | None,
    club: str,
    head_speed_m_per_s: float | None = None,
    handedness: Handedness = "right",
    wanted: WantedFlight | None = None,
    air: Air | None = None,
    fairway_width_m: float | None = None,
    *,
    delivered_loft_deg: float | None = None,
    attack_deg: float | None = None,
    hold: Hold | None = None,
    model: AirModel = BOTH_LABORATORIES,
) -> Explanation:
    """Explain a flight that was seen, and the one that is wanted.

    Parameters
    ----------
    seen : SeenFlight or None
        What was seen; None when only a wanted flight is asked about.
    club : str
        Name of the club, such as "driver" or "7-iron".
    head_speed_m_per_s : float or None
        The player's head speed [m/s]; None takes a typical one and says so.
    handedness : {"right", "left"}
        The player's hand; numbers stay right positive for both.
    wanted : WantedFlight or None
        The flight to be had.
    air : Air or None
        Air and wind; None is 20 C at sea level and calm.
    fairway_width_m : float or None
        Full width of the fairway [m] for the strip of face and path.
    delivered_loft_deg, attack_deg : float or None
        The player's own loft and angle of attack at contact [deg]; None takes those usual with
        the club and says so.
    hold : Hold or None
        A hazard that the wanted flight shall stay on one side of; without a wanted flight, a
        straight one.
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    Explanation
        Where the flight cannot be worked back, `now` is None and `face_reason` says why.

    Raises
    ------
    ImpossibleDelivery
        When an input is impossible, the wanted flight cannot be made, or nothing is asked.
    """
    if seen is None and wanted is None and hold is None:
        raise ImpossibleDelivery(["neither a flight that was seen nor one that is wanted is given"])
    case = _case(
        club, head_speed_m_per_s, delivered_loft_deg, attack_deg, handedness, air, model
    )
    held = _held(case, hold, wanted)
    wanted = wanted if held is None else held.wanted
    code = None if seen is None else why_not(seen, case.air)
    now = aimed = None
    if code is None:
        try:
            now, aimed = _solve_both(case, seen, wanted)
        except ImpossibleDelivery:
            # Either flight may be at fault.  The wanted one is tried again by itself below, so
            # that an impossible wish is refused and an impossible sight only explained.
            code = "impossible-flight"
    if code is not None and wanted is not None:
        _, aimed = _solve_both(case, None, wanted)

    now_flight = None if now is None else describe(case, now)
    face_reason = None if code is None else reason(code)
    path_reason = face_reason
    region: tuple[tuple[float, float], ...] = ()
    if now is not None and now_flight is not None:
        path_reason = why_no_path(case, now_flight)
        if path_reason is None:
            region = delivery_region(now)
        else:
            now_flight = replace(now_flight, path_deg=None, face_to_path_deg=None)
    return _answer(
        case, seen, wanted, (now, aimed), now_flight, face_reason, path_reason, region,
        fairway_width_m, speed_stated=head_speed_m_per_s is not None,
        loft_stated=delivered_loft_deg is not None, held=held,
    )  # fmt: skip


def explain_delivery(
    delivery: Delivery,
    club: str,
    handedness: Handedness = "right",
    wanted: WantedFlight | None = None,
    air: Air | None = None,
    fairway_width_m: float | None = None,
    *,
    speed_stated: bool = True,
    loft_stated: bool = True,
    off_centre: OffCentre | None = None,
    hold: Hold | None = None,
    model: AirModel = BOTH_LABORATORIES,
) -> Explanation:
    """Explain the flight of a delivery that was measured or typed.

    Parameters
    ----------
    delivery : Delivery
        The club at the ball, in single numbers; `Club.deliver` fills in the usual loft and
        attack.
    club : str
        Name of the club.
    handedness, wanted, air, fairway_width_m, hold, model
        As in `explain`.
    speed_stated, loft_stated : bool
        False where head speed or loft is merely usual for the club: wider bands, and a note.
    off_centre : OffCentre or None
        Where a driver met the ball; None is near the middle.  The wanted flight and the strip of
        face and path are for a strike in the middle.

    Returns
    -------
    Explanation
        Face and path are taken as exact; the bands are those of ball, strike and air.

    Raises
    ------
    ImpossibleDelivery
        When an input is impossible, the ball is topped, or the wanted flight cannot be made.
    """
    check_handedness(handedness)
    chosen = club_named(club)
    launched = np.atleast_1d(strike(delivery).launch_deg)
    refuse_topped(float(launched[0]), "the launch of this loft and attack")
    worlds = nominal_and_spread(
        chosen,
        float(delivery.delivered_loft_deg),
        handedness,
        speed_stated=speed_stated,
        loft_stated=loft_stated,
    )
    worlds = _with_stated_shares(worlds, delivery)
    here = Air() if air is None else air
    gains = gains_of(delivery, worlds, here, model)
    case = Case(chosen, delivery, worlds, gains, here, model, handedness)
    face = np.full(worlds.count, float(delivery.face_deg))
    path = np.full(worlds.count, float(delivery.path_deg))
    struck = worlds
    if off_centre is not None:
        struck = struck_off_centre(worlds, off_centre, delivery, chosen, handedness)
    launches = launch_in(struck, delivery, face, path)
    struck_up = float(np.atleast_1d(launches.launch_deg)[0])
    refuse_topped(struck_up, "the launch of this loft and attack")
    flight = fly_in(struck, launches, here, model, time_step_s=sample_step_s(here))
    first = struck.only(slice(0, 1))
    nominal = launch_in(first, delivery, face[:1], path[:1])
    drawn = fly_in(first, nominal, here, model, keep_positions=True)
    now = Solved(struck, face, path, flight, drawn)
    held = _held(case, hold, wanted)
    wanted = wanted if held is None else held.wanted
    aimed = None if wanted is None else _solve_both(case, None, wanted)[1]
    return _answer(
        case, None, wanted, (now, aimed), describe(case, now), None, None, (), fairway_width_m,
        speed_stated=speed_stated, loft_stated=loft_stated, held=held, off_centre=off_centre,
    )  # fmt: skip


def _held(case: Case, hold: Hold | None, wanted: WantedFlight | None) -> HeldFlight | None:
    if hold is None:
        return None
    return hold_flight(hold, wanted, case.delivery, case.worlds, case.air, case.model)


def _case(
    club: str,
    head_speed_m_per_s: float | None,
    delivered_loft_deg: float | None,
    attack_deg: float | None,
    handedness: Handedness,
    air: Air | None,
    model: AirModel,
) -> Case:
    check_handedness(handedness)
    chosen = club_named(club)
    stated = head_speed_m_per_s is not None
    speed = chosen.typical_speed_m_per_s() if head_speed_m_per_s is None else head_speed_m_per_s
    delivery = chosen.deliver(
        speed, attack_deg=attack_deg, delivered_loft_deg=delivered_loft_deg
    )
    worlds = nominal_and_spread(
        chosen,
        float(delivery.delivered_loft_deg),
        handedness,
        speed_stated=stated,
        loft_stated=delivered_loft_deg is not None,
    )
    here = Air() if air is None else air
    gains = gains_of(delivery, worlds, here, model)
    return Case(chosen, delivery, worlds, gains, here, model, handedness)


def _with_stated_shares(worlds: Worlds, delivery: Delivery) -> Worlds:
    """Centre the shares on those a delivery states itself."""
    changes = {}
    for name in ("face_share", "loft_share"):
        stated = getattr(delivery, name)
        if stated is not None:
            values = getattr(worlds, name)
            changes[name] = np.clip(values - values[0] + float(stated), 0.3, 1.0)
    return replace(worlds, **changes) if changes else worlds


def _solve_both(
    case: Case, seen: SeenFlight | None, wanted: WantedFlight | None
) -> tuple[Solved | None, Solved | None]:
    """Work back the seen and the wanted flight in one batch, then polish the nominal ones."""
    asked = []
    for observation in (seen, wanted):
        if observation is None or observation.start_deg is None or observation.side is None:
            continue
        kind, value = observation.side
        starts = np.full(case.worlds.count, float(observation.start_deg))
        values = np.full(case.worlds.count, float(value))
        if isinstance(observation, SeenFlight):
            noise = side_noise(observation, kind, float(case.gains.carry_m[0]))
            starts += observation.start_sd_deg * case.worlds.start_score
            shared = observation.start_side_correlation
            values += noise * (
                shared * case.worlds.start_score
                + math.sqrt(1.0 - shared * shared) * case.worlds.side_score
            )
        asked.append((kind, starts, values))
    kinds = tuple(kind for kind, _, _ in asked)
    all_starts = np.concatenate([starts for _, starts, _ in asked])
    all_values = np.concatenate([values for _, _, values in asked])
    worlds = case.worlds.repeated(len(asked))
    rough = solve_delivery(
        all_starts, kinds, all_values, case.delivery, worlds, case.gains, case.air, case.model,
        time_step_s=sample_step_s(case.air), tolerance=0.02,
    )  # fmt: skip
    count = case.worlds.count
    nominal = slice(None, None, count)
    fine = polish(
        rough.face_to_path_deg[nominal], all_starts[nominal], kinds, all_values[nominal],
        case.delivery, worlds.only(nominal), case.air, case.model,
        time_step_s=_nominal_step_s(case.air),
    )  # fmt: skip
    solved: list[Solved | None] = []
    for number in range(len(asked)):
        kept = np.zeros(worlds.count, dtype=np.bool_)
        kept[number * count : (number + 1) * count] = True
        kept &= rough.solved
        if kept.sum() < LEAST_WORLDS * count:
            complaint = (
                f"a start of {all_starts[number * count]:+.1f} deg with {kinds[number]} "
                f"{all_values[number * count]:+.1f} is more than most balls can do"
            )
            raise ImpossibleDelivery([complaint])
        face, path = rough.face_deg[kept], rough.path_deg[kept]
        face[0], path[0] = fine.face_deg[number], fine.path_deg[number]
        alone = np.arange(len(asked)) == number
        solved.append(
            Solved(
                worlds.where(kept),
                face,
                path,
                rough.flight.only(kept),
                fine.flight.only(alone),
            )
        )
    if seen is None:
        solved.insert(0, None)
    if wanted is None:
        solved.append(None)
    return solved[0], solved[1]


def _nominal_step_s(air: Air) -> float:
    """Give the step of the nominal flight; wind that changes with height needs the finer one."""
    return TIME_STEP_S if air.wind.profile == "log" else NOMINAL_TIME_STEP_S


def _answer(
    case: Case,
    seen: SeenFlight | None,
    wanted_input: WantedFlight | None,
    solved: tuple[Solved | None, Solved | None],
    now: ExplainedFlight | None,
    face_reason: Note | None,
    path_reason: Note | None,
    region: tuple[tuple[float, float], ...],
    fairway_width_m: float | None,
    *,
    speed_stated: bool,
    loft_stated: bool,
    held: HeldFlight | None,
    off_centre: OffCentre | None = None,
) -> Explanation:
    delivery = case.delivery
    wanted = None if solved[1] is None else describe(case, solved[1])
    drawn = [one.drawn for one in solved if one is not None]
    return Explanation(
        club=case.club.name,
        handedness=case.handedness,
        head_speed_m_per_s=float(delivery.head_speed_m_per_s),
        head_speed_stated=speed_stated,
        air=case.air,
        seen=seen,
        wanted_input=wanted_input,
        now=now,
        wanted=wanted,
        face_reason=face_reason,
        path_reason=path_reason,
        corridor=corridor_around(case, fairway_width_m, now, wanted),
        now_region=region,
        notes=notes_for(
            case.club,
            case.air,
            case.model,
            drawn,
            head_speed_m_per_s=float(delivery.head_speed_m_per_s),
            speed_stated=speed_stated,
            loft_stated=loft_stated,
            delivered_loft_deg=float(delivery.delivered_loft_deg),
            attack_deg=float(delivery.attack_deg),
            seen=seen,
            off_centre=off_centre,
        ),
        model_name=case.model.name,
        model_version=MODEL_VERSION,
        held=held,
    )
