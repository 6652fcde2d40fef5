"""Typical deliveries of the clubs in a bag, for lessons that do not state their own."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Literal

import numpy as np

from reporter.flight.impact import Delivery
from reporter.flight.impossible import ImpossibleDelivery, Numbers

TYPICAL_DRIVER_SPEED_M_PER_S = 42.0
"""Driver head speed assumed when a lesson states no speed (common practice, no source)."""

LOFT_PER_SPEED_DEG_PER_M_PER_S = 0.3
"""Loft lost as the head gets faster than typical [deg per m/s] (common practice, no source)."""

Kind = Literal["driver", "wood", "hybrid", "iron", "wedge"]


@dataclass(frozen=True, slots=True)
class Club:
    """One club and the delivery that is usual with it.

    Attributes
    ----------
    name : str
        The name a lesson uses, such as "7-iron".
    kind : str
        driver, wood, hybrid, iron or wedge.
    speed_share : float
        Head speed over that of the same player's driver [-].
    delivered_loft_deg, attack_deg : float
        Usual loft and attack at contact [deg] at the typical speed.
    head_mass_kg : float
        Mass of the head [kg].
    restitution : float or None
        Restitution of a springy face [-]; None for a solid face.
    spin_factor : float
        Spin over that of a rolling ball [-].
    origin : str
        Where the numbers come from.
    """

    name: str
    kind: Kind
    speed_share: float
    delivered_loft_deg: float
    attack_deg: float
    head_mass_kg: float
    restitution: float | None
    spin_factor: float
    origin: str = "common practice, no source"

    def typical_speed_m_per_s(self) -> float:
        """Head speed when nothing is stated [m/s]."""
        return TYPICAL_DRIVER_SPEED_M_PER_S * self.speed_share

    def loft_at(self, head_speed_m_per_s: float) -> float:
        """Delivered loft of a player of this head speed [deg]; slower players deliver more."""
        faster = head_speed_m_per_s - self.typical_speed_m_per_s()
        change = LOFT_PER_SPEED_DEG_PER_M_PER_S * min(max(faster, -12.0), 12.0)
        return self.delivered_loft_deg - change

    def deliver(
        self,
        head_speed_m_per_s: Numbers,
        face_deg: Numbers = 0.0,
        path_deg: Numbers = 0.0,
        *,
        attack_deg: Numbers | None = None,
        delivered_loft_deg: Numbers | None = None,
    ) -> Delivery:
        """Deliver this club.

        Parameters
        ----------
        head_speed_m_per_s : float or ndarray
            Head speed [m/s].
        face_deg, path_deg : float or ndarray
            Face and path [deg], right of target positive.
        attack_deg, delivered_loft_deg : float, ndarray or None
            Attack and delivered loft [deg]; None takes the usual ones.

        Returns
        -------
        Delivery
            With this club's head.
        """
        if delivered_loft_deg is None:
            delivered_loft_deg = self.loft_at(float(np.mean(head_speed_m_per_s)))
        return Delivery(
            head_speed_m_per_s=head_speed_m_per_s,
            face_deg=face_deg,
            path_deg=path_deg,
            attack_deg=self.attack_deg if attack_deg is None else attack_deg,
            delivered_loft_deg=delivered_loft_deg,
            head_mass_kg=self.head_mass_kg,
            restitution=self.restitution,
            spin_factor=self.spin_factor,
        )


_DRIVER_ORIGIN = (
    "loft, attack and speed share: common practice, no source; head mass: Proceedings 2020, "
    "49(1), 47; restitution and spin factor: from the R&A/USGA distance report 2015 "
    "(113.2 mph head, 167.7 mph ball, 10.8 deg, 2599 rpm)"
)

CLUBS: tuple[Club, ...] = (
    Club("driver", "driver", 1.00, 15.5, 0.0, 0.204, 0.862, 0.76, _DRIVER_ORIGIN),
    Club("3-wood", "wood", 0.96, 17.0, -1.0, 0.212, 0.840, 0.82),
    Club("5-wood", "wood", 0.94, 19.5, -1.5, 0.220, 0.835, 0.86),
    Club("7-wood", "wood", 0.92, 22.0, -2.0, 0.228, 0.830, 0.90),
    Club("3-hybrid", "hybrid", 0.92, 19.5, -2.0, 0.232, 0.825, 0.92),
    Club("4-hybrid", "hybrid", 0.90, 21.5, -2.5, 0.238, 0.820, 0.94),
    Club("5-hybrid", "hybrid", 0.88, 23.5, -2.5, 0.244, 0.815, 0.96),
    Club("3-iron", "iron", 0.91, 18.0, -2.0, 0.240, None, 0.95),
    Club("4-iron", "iron", 0.89, 19.5, -2.5, 0.248, None, 0.97),
    Club("5-iron", "iron", 0.87, 21.5, -3.0, 0.255, None, 1.0),
    Club("6-iron", "iron", 0.85, 23.5, -3.5, 0.262, None, 1.0),
    Club("7-iron", "iron", 0.83, 25.5, -4.0, 0.270, None, 1.0),
    Club("8-iron", "iron", 0.81, 29.0, -4.0, 0.276, None, 1.0),
    Club("9-iron", "iron", 0.79, 33.0, -4.5, 0.282, None, 1.0),
    Club("pitching-wedge", "wedge", 0.77, 37.5, -5.0, 0.288, None, 1.0),
    Club("gap-wedge", "wedge", 0.76, 41.5, -5.0, 0.294, None, 1.0),
    Club("sand-wedge", "wedge", 0.75, 45.5, -5.0, 0.300, None, 1.0),
    Club("lob-wedge", "wedge", 0.74, 49.0, -5.0, 0.300, None, 1.0),
)
"""The bag; every number without another origin is common practice, no source."""

_BY_NAME = {club.name: club for club in CLUBS}
_OTHER_NAMES = {
    "wedge": "gap-wedge",
    "approach-wedge": "gap-wedge",
    "pw": "pitching-wedge",
    "gw": "gap-wedge",
    "aw": "gap-wedge",
    "sw": "sand-wedge",
    "lw": "lob-wedge",
    "1-wood": "driver",
    "10-iron": "pitching-wedge",
    "iron": "7-iron",
    "hybrid": "4-hybrid",
}
_SHORT_KINDS = {"i": "iron", "w": "wood", "h": "hybrid"}


def club_named(name: str) -> Club:
    """Find a club by the name a lesson uses.

    Parameters
    ----------
    name : str
        "driver", "7-iron", "7 iron", "7i", "sand wedge", "SW"; upper and lower case alike.

    Returns
    -------
    Club
        The club.

    Raises
    ------
    ImpossibleDelivery
        When no club has that name, with the nearest one that does.
    """
    plain = "-".join(name.strip().lower().replace("_", " ").replace("-", " ").split())
    if len(plain) == 2 and plain[0].isdigit() and plain[1] in _SHORT_KINDS:
        plain = f"{plain[0]}-{_SHORT_KINDS[plain[1]]}"
    if len(plain) > 4 and plain[0].isdigit() and plain[1] != "-":
        plain = f"{plain[0]}-{plain[1:]}"
    plain = _OTHER_NAMES.get(plain, plain)
    if plain in _BY_NAME:
        return _BY_NAME[plain]
    close = difflib.get_close_matches(plain, _BY_NAME, n=1)
    hint = f'; did you mean "{close[0]}"?' if close else ""
    allowed = ", ".join(_BY_NAME)
    raise ImpossibleDelivery([f'club "{name}" is not one of {allowed}{hint}'])
