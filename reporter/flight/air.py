"""The air a ball flies through: density, viscosity and wind."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from reporter.flight.impossible import ImpossibleDelivery, refuse_outside

STANDARD_PRESSURE_PA = 101_325.0
"""Sea-level pressure of the US Standard Atmosphere 1976 (ISO 2533)."""

_ZERO_CELSIUS_K = 273.15
_SEA_LEVEL_TEMPERATURE_K = 288.15
_LAPSE_K_PER_M = 0.0065
_PRESSURE_EXPONENT = 5.255876
_EARTH_RADIUS_M = 6_356_766.0  # effective radius, US Standard Atmosphere 1976
_GAS_CONSTANT = 8.314472  # J/(mol K), the value CIPM-2007 is written with
_MOLAR_MASS_DRY_AIR = 28.96546e-3  # kg/mol, CIPM-2007 with x_CO2 = 400 ppm
_ALLOWED = {
    "temperature_c": (-30.0, 55.0, "C"),
    "pressure_pa": (50_000.0, 110_000.0, "Pa"),
    "relative_humidity": (0.0, 1.0, ""),
}


@dataclass(frozen=True, slots=True)
class Wind:
    """A steady wind, told by its parts along and across the target line.

    Parameters
    ----------
    tail_m_per_s : float
        Part that blows toward the target [m/s]; a headwind is negative.
    to_right_m_per_s : float
        Part that blows from left to right [m/s]; positive is toward the right of the target,
        for left-handed players too.
    profile : {"uniform", "log"}
        The same at every height, or rising with the logarithm of height.
    reference_height_m : float
        Height at which a log profile has the stated speed [m]; 10 m is the height of
        weather-station masts.
    roughness_m : float
        Roughness length of the ground for the log profile [m]; 0.03 m is open grass.

    Notes
    -----
    Log profile: u(z) = u_ref ln(1 + z/z0) / ln(1 + z_ref/z0).  The usual ln(z/z0) has a kink
    and changes sign at z0; adding 1 moves the profile by one roughness length (3 cm) and
    keeps it smooth down to the ground.

    References
    ----------
    World Meteorological Organization, Guide to Instruments and Methods of Observation
    (WMO-No. 8), part I, chapter 5: 10 m standard height, roughness 0.03 m for open terrain
    [from memory].
    """

    tail_m_per_s: float = 0.0
    to_right_m_per_s: float = 0.0
    profile: Literal["uniform", "log"] = "uniform"
    reference_height_m: float = 10.0
    roughness_m: float = 0.03

    def __post_init__(self) -> None:
        """Refuse winds nobody plays in, and unknown profiles."""
        refuse_outside(
            {
                "wind.tail_m_per_s": self.tail_m_per_s,
                "wind.to_right_m_per_s": self.to_right_m_per_s,
                "wind.reference_height_m": self.reference_height_m,
                "wind.roughness_m": self.roughness_m,
            },
            {
                "wind.tail_m_per_s": (-40.0, 40.0, "m/s"),
                "wind.to_right_m_per_s": (-40.0, 40.0, "m/s"),
                "wind.reference_height_m": (0.5, 100.0, "m"),
                "wind.roughness_m": (1e-4, 2.0, "m"),
            },
        )
        if self.profile not in ("uniform", "log"):
            complaint = f'wind.profile is "{self.profile}", allowed is "uniform" or "log"'
            raise ImpossibleDelivery([complaint])

    @property
    def speed_m_per_s(self) -> float:
        """Speed of the wind at its reference height [m/s]."""
        return math.hypot(self.tail_m_per_s, self.to_right_m_per_s)


CALM = Wind()
"""No wind."""


@dataclass(frozen=True, slots=True)
class Air:
    """Air at the place of play.

    Parameters
    ----------
    temperature_c : float
        Temperature [degrees Celsius].
    pressure_pa : float
        Pressure at the place of play, not reduced to sea level [Pa].
    relative_humidity : float
        Relative humidity, 0 to 1 [-].
    wind : Wind
        The wind.

    Raises
    ------
    ImpossibleDelivery
        When a value is not finite or outside -30..55 C, 50..110 kPa, 0..1.
    """

    temperature_c: float = 20.0
    pressure_pa: float = STANDARD_PRESSURE_PA
    relative_humidity: float = 0.5
    wind: Wind = CALM

    def __post_init__(self) -> None:
        """Refuse air that is not found where golf is played."""
        refuse_outside(
            {
                "temperature_c": self.temperature_c,
                "pressure_pa": self.pressure_pa,
                "relative_humidity": self.relative_humidity,
            },
            _ALLOWED,
        )

    @classmethod
    def at_altitude(
        cls,
        altitude_m: float,
        temperature_c: float = 20.0,
        relative_humidity: float = 0.5,
        wind: Wind = CALM,
    ) -> Air:
        """Make air from an altitude instead of a pressure.

        Parameters
        ----------
        altitude_m : float
            Height of the course above sea level [m].
        temperature_c : float
            Temperature there [degrees Celsius].
        relative_humidity : float
            Relative humidity, 0 to 1 [-].
        wind : Wind
            The wind.

        Returns
        -------
        Air
            With the pressure of the standard atmosphere at that altitude.
        """
        return cls(temperature_c, pressure_at_altitude(altitude_m), relative_humidity, wind)

    @property
    def density_kg_per_m3(self) -> float:
        """Density of the moist air [kg/m3]."""
        return moist_air_density(self.temperature_c, self.pressure_pa, self.relative_humidity)

    @property
    def kinematic_viscosity_m2_per_s(self) -> float:
        """Kinematic viscosity [m2/s]."""
        return dynamic_viscosity(self.temperature_c) / self.density_kg_per_m3


def pressure_at_altitude(altitude_m: float) -> float:
    """Give the pressure of the standard atmosphere at an altitude.

    Parameters
    ----------
    altitude_m : float
        Height of the place above sea level, -500 to 5500 [m].

    Returns
    -------
    float
        Pressure [Pa].

    Raises
    ------
    ImpossibleDelivery
        When the altitude is outside the stated range.

    References
    ----------
    US Standard Atmosphere 1976, equations 18 and 33a (the same as ISO 2533).
    """
    refuse_outside({"altitude_m": altitude_m}, {"altitude_m": (-500.0, 5500.0, "m")})
    geopotential_m = altitude_m * _EARTH_RADIUS_M / (_EARTH_RADIUS_M + altitude_m)
    ratio = 1.0 - _LAPSE_K_PER_M * geopotential_m / _SEA_LEVEL_TEMPERATURE_K
    return float(STANDARD_PRESSURE_PA * ratio**_PRESSURE_EXPONENT)


def moist_air_density(
    temperature_c: float, pressure_pa: float, relative_humidity: float
) -> float:
    """Give the density of moist air by the CIPM-2007 formula.

    Parameters
    ----------
    temperature_c : float
        Temperature [degrees Celsius].
    pressure_pa : float
        Pressure [Pa].
    relative_humidity : float
        Relative humidity, 0 to 1 [-].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    rho = p M_a / (Z R T) (1 - 0.3780 x_v) with the mole fraction of vapour
    x_v = h f p_sv / p, the enhancement factor f and the compressibility Z.  The formula is
    stated for 15..27 C and 60..110 kPa; beyond that it is still closer than the ball's own
    spread.

    References
    ----------
    Picard, Davis, Glaeser, Fujii 2008, Metrologia 45, 149-155, equations 1, A1.1, A1.2, A1.4
    (coefficients from memory, checked against computed densities only).
    """
    kelvin = temperature_c + _ZERO_CELSIUS_K
    saturation_pa = math.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6.3431645e3 / kelvin
    )
    enhancement = 1.00062 + 3.14e-8 * pressure_pa + 5.6e-7 * temperature_c**2
    vapour = relative_humidity * enhancement * saturation_pa / pressure_pa
    compressibility = (
        1.0
        - pressure_pa
        / kelvin
        * (
            1.58123e-6
            - 2.9331e-8 * temperature_c
            + 1.1043e-10 * temperature_c**2
            + (5.707e-6 - 2.051e-8 * temperature_c) * vapour
            + (1.9898e-4 - 2.376e-6 * temperature_c) * vapour**2
        )
        + (pressure_pa / kelvin) ** 2 * (1.83e-11 - 0.765e-8 * vapour**2)
    )
    dry = pressure_pa * _MOLAR_MASS_DRY_AIR / (compressibility * _GAS_CONSTANT * kelvin)
    return dry * (1.0 - 0.3780 * vapour)


def dynamic_viscosity(temperature_c: float) -> float:
    """Give the dynamic viscosity of air by Sutherland's law.

    Parameters
    ----------
    temperature_c : float
        Temperature [degrees Celsius].

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    References
    ----------
    US Standard Atmosphere 1976, equation 51: 1.458e-6 T^1.5 / (T + 110.4) [from memory].
    """
    kelvin = temperature_c + _ZERO_CELSIUS_K
    return float(1.458e-6 * kelvin**1.5 / (kelvin + 110.4))
