"""Surfaces outdoors: the film of wind, the cold of the sky, the panel under both."""

from __future__ import annotations

from typing import overload

import numpy as np
from numpy.typing import ArrayLike

from curewindow.physics.elementwise import (
    STEFAN_BOLTZMANN,
    ZERO_C_IN_K,
    FloatArray,
    as_floats,
    handed_back,
    within,
)

_COLDEST_SKY_DEW_C = -0.56e-2 / (2.0 * 0.73e-4)  # where the clear-sky parabola is least
_DAMPEST_SKY_DEW_C = 35.0


@overload
def external_resistance(
    wind_ms: float, mean_temp_c: float = ..., emissivity: float = ...
) -> float: ...
@overload
def external_resistance(
    wind_ms: ArrayLike, mean_temp_c: ArrayLike = ..., emissivity: ArrayLike = ...
) -> FloatArray: ...
def external_resistance(
    wind_ms: ArrayLike, mean_temp_c: ArrayLike = 0.0, emissivity: ArrayLike = 0.9
) -> float | FloatArray:
    """Outer surface resistance in wind.

    Parameters
    ----------
    wind_ms : array_like
        Wind at the surface, m/s, 0 to 60.
    mean_temp_c : array_like
        Mean temperature of surface and surroundings, °C, -60 to 60.
    emissivity : array_like
        Long-wave emissivity of the surface, 0 to 1.

    Returns
    -------
    float or ndarray
        Resistance, m²K/W, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.

    References
    ----------
    ISO 6946:2007, annex A: Rse = 1/(hc + hr), hc = 4 + 4 v, hr = 4 ε σ Tm³.
    """
    mean_k = within("mean temperature", mean_temp_c, -60.0, 60.0, "°C") + ZERO_C_IN_K
    radiant = 4.0 * _emissivity(emissivity) * STEFAN_BOLTZMANN * mean_k**3
    return handed_back(1.0 / (_wind_film(wind_ms) + radiant))


def _wind_film(wind_ms: ArrayLike) -> FloatArray:
    return 4.0 + 4.0 * within("wind", wind_ms, 0.0, 60.0, "m/s")


def _emissivity(emissivity: ArrayLike) -> FloatArray:
    return within("emissivity", emissivity, 0.0, 1.0, "")


@overload
def sky_emissivity(dew_point_c: float, cloud_frac: float) -> float: ...
@overload
def sky_emissivity(dew_point_c: ArrayLike, cloud_frac: ArrayLike) -> FloatArray: ...
def sky_emissivity(dew_point_c: ArrayLike, cloud_frac: ArrayLike) -> float | FloatArray:
    """Emissivity of the sky as a whole, against the air temperature near the ground.

    Parameters
    ----------
    dew_point_c : array_like
        Dew point of the air, °C, -60 to 45. Below -38 °C, where the relation
        turns up again, its least value 0.60 is held; above 35 °C, damper than any
        air near the ground has been, the value there.
    cloud_frac : array_like
        Share of the sky under cloud, 0 to 1. Low, dense cloud is assumed; high
        thin cloud shields less.

    Returns
    -------
    float or ndarray
        Emissivity, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.

    Notes
    -----
    Published relations for the clear sky differ by 0.05 to 0.1, worth 1 to 3 K
    on a still night; this one is among the colder ones, which is the safe side.
    Its small swing between day and night (±0.013) is left out.

    References
    ----------
    Clear sky: Berdahl and Martin (1984), Solar Energy 32, 663-664, fitted for dew
    points of -20..30 °C: 0.711 + 0.56 (Td/100) + 0.73 (Td/100)². Cloud: Martin and
    Berdahl (1984), Solar Energy 33, 321-336, with the factor 0.784 for low cloud
    as in the California Residential Alternative Calculation Method (2013), eq. 76.
    """
    given = within("dew point", dew_point_c, -60.0, 45.0, "°C")
    dew = np.clip(given, _COLDEST_SKY_DEW_C, _DAMPEST_SKY_DEW_C)
    clear = 0.711 + 0.56e-2 * dew + 0.73e-4 * dew**2
    cloud = within("cloud", cloud_frac, 0.0, 1.0, "of the sky")
    return handed_back(clear + 0.784 * (1.0 - clear) * cloud)


@overload
def sky_temperature(air_c: float, dew_point_c: float, cloud_frac: float) -> float: ...
@overload
def sky_temperature(
    air_c: ArrayLike, dew_point_c: ArrayLike, cloud_frac: ArrayLike
) -> FloatArray: ...
def sky_temperature(
    air_c: ArrayLike, dew_point_c: ArrayLike, cloud_frac: ArrayLike
) -> float | FloatArray:
    """Temperature of a black sky that radiates as much as this one.

    Parameters
    ----------
    air_c : array_like
        Air temperature near the ground, °C, -60 to 60.
    dew_point_c, cloud_frac : array_like
        As in `sky_emissivity`.

    Returns
    -------
    float or ndarray
        Sky temperature, °C, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.
    """
    air_k = within("air temperature", air_c, -60.0, 60.0, "°C") + ZERO_C_IN_K
    emissivity = as_floats(sky_emissivity(dew_point_c, cloud_frac))
    return handed_back(air_k * np.sqrt(np.sqrt(emissivity)) - ZERO_C_IN_K)


@overload
def outdoor_surface_temp(
    air_c: float,
    dew_point_c: float,
    wind_ms: float,
    cloud_frac: float,
    sun_w_m2: float,
    absorptance: float,
    emissivity: float = ...,
    sky_view: float = ...,
) -> float: ...
@overload
def outdoor_surface_temp(
    air_c: ArrayLike,
    dew_point_c: ArrayLike,
    wind_ms: ArrayLike,
    cloud_frac: ArrayLike,
    sun_w_m2: ArrayLike,
    absorptance: ArrayLike,
    emissivity: ArrayLike = ...,
    sky_view: ArrayLike = ...,
) -> FloatArray: ...
def outdoor_surface_temp(
    air_c: ArrayLike,
    dew_point_c: ArrayLike,
    wind_ms: ArrayLike,
    cloud_frac: ArrayLike,
    sun_w_m2: ArrayLike,
    absorptance: ArrayLike,
    emissivity: ArrayLike = 0.9,
    sky_view: ArrayLike = 1.0,
) -> float | FloatArray:
    """Temperature of a thin panel outdoors with nothing warm behind it.

    Parameters
    ----------
    air_c, dew_point_c : array_like
        Air temperature and dew point, °C.
    wind_ms : array_like
        Wind at the panel, m/s.
    cloud_frac : array_like
        Share of the sky under cloud, 0 to 1.
    sun_w_m2 : array_like
        Sunlight on the panel's face, W/m², 0 to 1500.
    absorptance : array_like
        Share of it taken up: about 0.3 for white paint, 0.9 for dark (common
        practice, no source).
    emissivity : array_like
        Long-wave emissivity: 0.9 for paint, varnish, gelcoat and wood; bright
        bare metal far less.
    sky_view : array_like
        Share of what the panel sees that is sky: 1 for a deck, 0.5 for an
        upright side. The rest is taken to be as warm as the air.

    Returns
    -------
    float or ndarray
        Surface temperature, °C, broadcast over all arguments.

    Raises
    ------
    ValueError
        A value outside its range.

    Notes
    -----
    Steady balance hc (T - Ta) + ε σ (T⁴ - F Tsky⁴ - (1 - F) Ta⁴) = α G, with hc
    from ISO 6946, annex A, and the sky of `sky_emissivity`. The heat of falling
    dew and a warm cabin behind the panel are left out: at night the surface is
    called somewhat too cold, which is the safe side. In sun a thick panel lags.
    """
    air_k = within("air temperature", air_c, -60.0, 60.0, "°C") + ZERO_C_IN_K
    sun = within("sunlight", sun_w_m2, 0.0, 1500.0, "W/m²")
    share = within("absorptance", absorptance, 0.0, 1.0, "")
    view = within("view of the sky", sky_view, 0.0, 1.0, "")
    film = _wind_film(wind_ms)
    radiant = STEFAN_BOLTZMANN * _emissivity(emissivity)
    from_sky = view * as_floats(sky_emissivity(dew_point_c, cloud_frac)) + (1.0 - view)
    gain = share * sun + radiant * from_sky * air_k**4 + film * air_k
    film, radiant, gain, air_k = np.broadcast_arrays(film, radiant, gain, air_k)
    # film T + radiant T⁴ = gain rises and bends upwards, so Newton settles from
    # anywhere warm; from the air temperature it takes three or four steps.
    t_k = np.array(air_k)
    for _step in range(20):
        cubed = t_k**3
        step = (film * t_k + radiant * cubed * t_k - gain) / (film + 4.0 * radiant * cubed)
        t_k = t_k - step
        if np.fmax.reduce(np.abs(step), axis=None, initial=0.0) < 1e-7:
            break
    else:
        raise ValueError("the outdoor surface balance did not settle; check the weather values")
    return handed_back(t_k - ZERO_C_IN_K)
