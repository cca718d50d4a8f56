"""
Says what stands along a road, open country or city, from how thick the postcodes lie around it.

Postcodes in use are counted on a grid of 500 m squares and averaged over five by five of them.  Open country counts as
hill where most of the land for some five kilometres around is bare.
"""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from maps.base_map import coast
from maps.build.source_roads import RawRoads
from maps.crossings_met import inside
from maps.national_grid import to_lng_lat
from maps.postcodes import table
from maps.roads import Setting

CELL_M = 500
#: Postcodes in use a square kilometre from which a place counts as village, town and city.
FROM = {Setting.VILLAGE: 4.0, Setting.TOWN: 30.0, Setting.CITY: 110.0}
#: Below so many a square kilometre the country is hill or moor.
BARE = 0.7
#: Open country is hill where more than this share of the land in the 21 by 21 squares around it is bare.
HILL_FROM, HILL_SQUARES = 0.6, 21
#: Postcodes in use a square kilometre from which a city is counted as inner.
INNER_FROM = 300.0
#: Main roads wide enough to keep their speed over the hills.
WIDE = frozenset({"A1", "A9", "A30", "A38", "A66", "A69", "A75", "A90", "A96", "A303"})
#: A roads of one lane with passing places, or of bends all along: no quicker than B roads.
NARROW = frozenset({"A708", "A712", "A838", "A849", "A861", "A894", "A896", "A897"})
#: Roads of the curated table that run through their towns; the others, motorways apart, go round them.
THROUGH = frozenset({
    "A6", "A13", "A57", "A167(M)", "A194", "A316", "A406", "A456", "A580", "A647", "A650", "A690", "A4123", "A4174", "A5080",
    "A5103",
})  # fmt: skip


@lru_cache(maxsize=1)
def density_grid() -> npt.NDArray[np.float64]:
    """Return postcodes in use a square kilometre, index ``[easting // 500, northing // 500]``."""
    held = table()
    grid = np.zeros((1400, 2500))
    np.add.at(grid, (held.easting[held.is_live] // CELL_M, held.northing[held.is_live] // CELL_M), 1.0)
    sums = grid.cumsum(0).cumsum(1)
    padded = np.pad(sums, ((3, 2), (3, 2)), mode="edge")
    padded[:3] = 0
    padded[:, :3] = 0
    five = padded[5:, 5:] - padded[:-5, 5:] - padded[5:, :-5] + padded[:-5, :-5]
    return np.asarray(five[:1400, :2500] / (25 * (CELL_M / 1000) ** 2))


def nation_grid() -> npt.NDArray[np.uint8]:
    """Return the nation of the postcode last seen in each square of 2 km, spread over empty squares."""
    from scipy.ndimage import distance_transform_edt

    held = table()
    grid = np.full((350, 625), 255, dtype=np.uint8)
    grid[held.easting // 2000, held.northing // 2000] = held.nation
    _, (east, north) = distance_transform_edt(grid == 255, return_indices=True)
    return np.asarray(grid[east, north], dtype=np.uint8)


def density_at(xy: npt.NDArray[np.float64], grid: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return postcodes in use a square kilometre around points in grid metres."""
    east = np.clip(xy[..., 0] // CELL_M, 0, grid.shape[0] - 1).astype(np.int64)
    north = np.clip(xy[..., 1] // CELL_M, 0, grid.shape[1] - 1).astype(np.int64)
    return np.asarray(grid[east, north])


def land_grid() -> npt.NDArray[np.bool_]:
    """Return which squares of 500 m are land on the base map, a square kilometre at a time."""
    east, north = np.meshgrid(np.arange(700) * 1000.0 + 500, np.arange(1250) * 1000.0 + 500, indexing="ij")
    points = np.stack(to_lng_lat(east.ravel(), north.ravel()), axis=1)
    land = np.zeros(len(points), dtype=np.bool_)
    for (ring,) in coast()["coordinates"]:
        land ^= inside(points, np.array(ring))
    return land.reshape(east.shape).repeat(2, axis=0).repeat(2, axis=1)


@lru_cache(maxsize=1)
def setting_grid() -> npt.NDArray[np.uint8]:
    """Return the :class:`Setting` of each square of 500 m."""
    from scipy.ndimage import uniform_filter

    density, land = density_grid(), land_grid().astype(np.float64)
    bare = uniform_filter((density < BARE) * land, HILL_SQUARES) / np.maximum(uniform_filter(land, HILL_SQUARES), 1e-6)
    setting = np.searchsorted(np.array(list(FROM.values())), density, side="right")
    hill, inner = (setting == Setting.OPEN) & (bare > HILL_FROM), density >= INNER_FROM
    return np.select([hill, inner], [Setting.HILL, Setting.INNER], setting).astype(np.uint8)


def setting_at(xy: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    """Return the :class:`Setting` of points in grid metres."""
    east = np.clip(xy[..., 0] // CELL_M, 0, 1399).astype(np.int64)
    north = np.clip(xy[..., 1] // CELL_M, 0, 2499).astype(np.int64)
    return setting_grid()[east, north].astype(np.int64)


def along(roads: RawRoads) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.uint8], npt.NDArray[np.float64]]:
    """Return the percentages of each edge by setting, shape ``(edges, settings)``, the nation of its middle, its bare share."""
    grid, nations, xy = density_grid(), nation_grid(), roads.xy
    steps = (np.arange(20) + 0.5) / 20
    points = xy[roads.tail][:, None] + (xy[roads.head] - xy[roads.tail])[:, None] * steps[None, :, None]
    setting = setting_at(points)
    percent = np.stack([(setting == each).sum(axis=1) * 5 for each in Setting], axis=1).astype(np.uint8)
    middle = points[:, 10]
    nation = nations[np.clip(middle[:, 0] // 2000, 0, 349).astype(int), np.clip(middle[:, 1] // 2000, 0, 624).astype(int)]
    return percent, nation, (density_at(points, grid) < BARE).mean(axis=1)


def past_towns(percent: npt.NDArray[np.uint8], goes_round: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    """
    Return the percentages as they are for roads that go round the places they serve, one setting lighter on those.

    A town counts as its edge and a village as open country; cities have no way round.
    """
    moved, before = percent.copy(), percent[goes_round]
    moved[goes_round, Setting.OPEN] = before[:, Setting.OPEN] + before[:, Setting.VILLAGE]
    moved[goes_round, Setting.VILLAGE] = before[:, Setting.TOWN]
    moved[goes_round, Setting.TOWN] = 0
    return moved


def over_hills(percent: npt.NDArray[np.uint8], is_wide: npt.NDArray[np.bool_]) -> npt.NDArray[np.uint8]:
    """Return the percentages as they are for roads that are as good over the hills as elsewhere."""
    moved = percent.copy()
    moved[is_wide, Setting.OPEN] += percent[is_wide, Setting.HILL]
    moved[is_wide, Setting.HILL] = 0
    return moved


def to_bytes() -> bytes:
    """Return the bytes of ``maps/data/settings.npz``: settings on squares of 500 m, nations on squares of 2 km."""
    import io

    held = table()
    lived_in = np.zeros((350, 625), dtype=np.bool_)
    lived_in[held.easting // 2000, held.northing // 2000] = True
    buffer = io.BytesIO()
    np.savez_compressed(buffer, setting=setting_grid(), nation=nation_grid(), lived_in=np.packbits(lived_in))
    return buffer.getvalue()
