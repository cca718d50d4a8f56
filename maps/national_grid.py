"""
The national grid: eastings and northings of Great Britain turned into WGS84 degrees and back.

Eastings and northings are metres (OSGB36); ``lng`` comes before ``lat``.  A seven-parameter shift between the two
ellipsoids, good to about 5 m, which is finer than a postcode is.  Formulas and constants: Ordnance Survey, "A guide to
coordinate systems in Great Britain", annexes A to C.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# Airy 1830 and WGS84 ellipsoids, metres.
AIRY = (6_377_563.396, 6_356_256.909)
WGS84 = (6_378_137.0, 6_356_752.3142)
# National grid projection: scale on the central meridian, true origin, false origin.
F0, LAT0, LNG0, E0, N0 = 0.999_601_271_7, np.radians(49.0), np.radians(-2.0), 400_000.0, -100_000.0
# WGS84 to OSGB36: metres, parts per million, arc seconds.
SHIFT, SCALE_PPM, ROTATION_ARCSEC = (-446.448, 125.157, -542.060), 20.4894, (-0.1502, -0.2470, -0.8421)


def _meridian_arc(lat: Floats) -> Floats:
    a, b = AIRY
    n = (a - b) / (a + b)
    down, up = lat - LAT0, lat + LAT0
    return np.asarray(
        b
        * F0
        * (
            (1 + n + 5 / 4 * n**2 + 5 / 4 * n**3) * down
            - (3 * n + 3 * n**2 + 21 / 8 * n**3) * np.sin(down) * np.cos(up)
            + (15 / 8 * n**2 + 15 / 8 * n**3) * np.sin(2 * down) * np.cos(2 * up)
            - 35 / 24 * n**3 * np.sin(3 * down) * np.cos(3 * up)
        )
    )


def _curvatures(lat: Floats) -> tuple[Floats, Floats, Floats]:
    """Return nu, rho and eta squared of the Airy ellipsoid at a latitude."""
    a, b = AIRY
    e2 = 1 - (b / a) ** 2
    bend = 1 - e2 * np.sin(lat) ** 2
    nu, rho = a * F0 / np.sqrt(bend), a * F0 * (1 - e2) / bend**1.5
    return nu, rho, nu / rho - 1


def project(lng: Floats, lat: Floats) -> tuple[Floats, Floats]:
    """Return easting and northing of OSGB36 longitudes and latitudes in degrees."""
    phi, off = np.radians(lat), np.radians(lng) - LNG0
    nu, rho, eta2 = _curvatures(phi)
    sin, cos, tan2 = np.sin(phi), np.cos(phi), np.tan(phi) ** 2
    northing = (
        _meridian_arc(phi)
        + N0
        + nu / 2 * sin * cos * off**2
        + nu / 24 * sin * cos**3 * (5 - tan2 + 9 * eta2) * off**4
        + nu / 720 * sin * cos**5 * (61 - 58 * tan2 + tan2**2) * off**6
    )
    easting = (
        E0
        + nu * cos * off
        + nu / 6 * cos**3 * (nu / rho - tan2) * off**3
        + nu / 120 * cos**5 * (5 - 18 * tan2 + tan2**2 + 14 * eta2 - 58 * tan2 * eta2) * off**5
    )
    return easting, northing


def unproject(easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
    """Return OSGB36 longitude and latitude in degrees of grid metres."""
    aim = np.asarray(northing, dtype=np.float64) - N0
    phi = LAT0 + aim / (AIRY[0] * F0)
    for _ in range(8):  # each round gains about three digits
        phi = phi + (aim - _meridian_arc(phi)) / (AIRY[0] * F0)
    nu, rho, eta2 = _curvatures(phi)
    off, tan, sec = np.asarray(easting, dtype=np.float64) - E0, np.tan(phi), 1 / np.cos(phi)
    lat = (
        phi
        - tan / (2 * rho * nu) * off**2
        + tan / (24 * rho * nu**3) * (5 + 3 * tan**2 + eta2 - 9 * tan**2 * eta2) * off**4
        - tan / (720 * rho * nu**5) * (61 + 90 * tan**2 + 45 * tan**4) * off**6
    )
    lng = (
        LNG0
        + sec / nu * off
        - sec / (6 * nu**3) * (nu / rho + 2 * tan**2) * off**3
        + sec / (120 * nu**5) * (5 + 28 * tan**2 + 24 * tan**4) * off**5
        - sec / (5040 * nu**7) * (61 + 662 * tan**2 + 1320 * tan**4 + 720 * tan**6) * off**7
    )
    return np.degrees(lng), np.degrees(lat)


def _to_space(lng: Floats, lat: Floats, ellipsoid: tuple[float, float]) -> tuple[Floats, Floats, Floats]:
    a, b = ellipsoid
    phi, lam, e2 = np.radians(lat), np.radians(lng), 1 - (b / a) ** 2
    nu = a / np.sqrt(1 - e2 * np.sin(phi) ** 2)
    return nu * np.cos(phi) * np.cos(lam), nu * np.cos(phi) * np.sin(lam), (1 - e2) * nu * np.sin(phi)


def _from_space(x: Floats, y: Floats, z: Floats, ellipsoid: tuple[float, float]) -> tuple[Floats, Floats]:
    a, b = ellipsoid
    e2, flat = 1 - (b / a) ** 2, np.hypot(x, y)
    phi = np.arctan2(z, flat * (1 - e2))
    for _ in range(5):
        phi = np.arctan2(z + e2 * a / np.sqrt(1 - e2 * np.sin(phi) ** 2) * np.sin(phi), flat)
    return np.degrees(np.arctan2(y, x)), np.degrees(phi)


def _shifted(x: Floats, y: Floats, z: Floats, sign: int) -> tuple[Floats, Floats, Floats]:
    tx, ty, tz = (sign * part for part in SHIFT)
    rx, ry, rz = (sign * np.radians(part / 3600) for part in ROTATION_ARCSEC)
    s = 1 + sign * SCALE_PPM * 1e-6
    return tx + s * x - rz * y + ry * z, ty + rz * x + s * y - rx * z, tz - ry * x + rx * y + s * z


def to_lng_lat(easting: Floats, northing: Floats) -> tuple[Floats, Floats]:
    """Return WGS84 longitude and latitude in degrees of grid metres; within about 5 m of the definitive grid."""
    return _from_space(*_shifted(*_to_space(*unproject(easting, northing), AIRY), -1), WGS84)


def from_lng_lat(lng: Floats, lat: Floats) -> tuple[Floats, Floats]:
    """Return easting and northing, in metres, of WGS84 degrees; within about 5 m of the definitive grid."""
    return project(*_from_space(*_shifted(*_to_space(np.asarray(lng), np.asarray(lat), WGS84), 1), AIRY))
