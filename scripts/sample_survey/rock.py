"""Bedrock as beds cut by the ground, the truth map, and a draft that is wrong in known ways."""
from dataclasses import dataclass, field

import numpy as np
from scipy import ndimage

from . import coverage
from .ground import HEIGHT, SOUTH, WEST, WIDTH, smooth_field

CELL = 10.0
SHAPE = (int(HEIGHT / CELL), int(WIDTH / CELL))
X = WEST + (np.arange(SHAPE[1]) + 0.5) * CELL + np.zeros(SHAPE)
Y = SOUTH + HEIGHT - (np.arange(SHAPE[0])[:, None] + 0.5) * CELL + np.zeros(SHAPE)

# Shares of the bedrock from the oldest unit (6) to the youngest (1), which is the rare one.
SHARES = {6: 0.19, 5: 0.20, 4: 0.18, 3: 0.20, 2: 0.18, 1: 0.05}
COVER = 0


def bed_surface(rng, shape):
    """Height of one marker bed, metres; any other bed lies a constant height above or below it."""
    east, north = X - WEST, Y - SOUTH
    if shape == "folds":
        strike = np.radians(35)
        across = east * np.cos(strike) - north * np.sin(strike) + 160 * smooth_field(rng, SHAPE, CELL, 1500)
        along = east * np.sin(strike) + north * np.cos(strike)
        amplitude = 115 * (1 + 0.2 * smooth_field(rng, SHAPE, CELL, 2000))
        return (amplitude * np.sin(2 * np.pi * across / 2500 + 0.7) + np.tan(np.radians(4)) * across
                + np.tan(np.radians(2.5)) * along + 10 * smooth_field(rng, SHAPE, CELL, 900))
    if shape == "faulted":
        azimuth = np.radians(rng.uniform(0, 360))
        surface = (np.tan(np.radians(8)) * (east * np.sin(azimuth) + north * np.cos(azimuth))
                   + 12 * smooth_field(rng, SHAPE, CELL, 1500))
        for k, (angle, place) in enumerate([(20, 0.3), (35, 0.68), (110, 0.5)]):
            a = np.radians(angle + rng.uniform(-8, 8))
            side = (east - place * WIDTH) * np.cos(a) - (north - HEIGHT / 2) * np.sin(a)
            side += 60 * smooth_field(rng, SHAPE, CELL, 1800)
            surface += (side > 0) * rng.uniform(80, 150) * (-1) ** k
        return surface
    if shape == "dipping":
        azimuth = np.radians(rng.uniform(0, 360))
        return (np.tan(np.radians(20)) * (east * np.sin(azimuth) + north * np.cos(azimuth))
                + 5 * smooth_field(rng, SHAPE, CELL, 1500))
    dip = np.radians(1.2)
    return np.tan(dip) * (0.6 * east + 0.8 * north) + 5 * smooth_field(rng, SHAPE, CELL, 1200)


@dataclass
class Rock:
    truth: np.ndarray      # unit at the surface, cover included
    bedrock: np.ndarray    # unit below any cover
    beds: np.ndarray       # height of one bed, metres
    truth_polygons: list = field(default_factory=list)


def grid_at(grid, x, y):
    r = np.clip(((SOUTH + HEIGHT - np.asarray(y)) / CELL).astype(int), 0, SHAPE[0] - 1)
    c = np.clip(((np.asarray(x) - WEST) / CELL).astype(int), 0, SHAPE[1] - 1)
    return grid[r, c]


def polygons(labels):
    return coverage.polygonise(labels, WEST, SOUTH + HEIGHT, CELL)


def make_rock(rng, ground, shape):
    z = ground.sample(ndimage.gaussian_filter(ground.z, 1.0, mode="nearest"), X.ravel(), Y.ravel()).reshape(SHAPE)
    beds = bed_surface(rng, shape)
    height = z - beds
    above = ground.sample(ground.height_above_stream, X.ravel(), Y.ravel()).reshape(SHAPE)
    cover = ndimage.gaussian_filter((above < 4.5).astype(float), 3) > 0.5
    bounds = np.quantile(height[~cover], np.cumsum(list(SHARES.values()))[:-1])
    bedrock = coverage.tidy(6 - np.digitize(height, bounds), 120)
    truth = coverage.tidy(np.where(cover, COVER, bedrock), 150)
    bedrock = np.where(truth == COVER, bedrock, truth)
    return Rock(truth, bedrock, beds, polygons(truth))


def ramp(t):
    t = np.clip(t, 0, 1)
    return t * t * (3 - 2 * t)


def shifted(rng, labels, size, reach):
    """Labels seen through a smooth displacement of `size` metres (root mean square of its length) in the western part."""
    mask = 1 - ramp((X - WEST - 0.48 * WIDTH) / (0.12 * WIDTH))
    east, north = (smooth_field(rng, SHAPE, CELL, reach) * mask for _ in range(2))
    scale = size / np.sqrt((east ** 2 + north ** 2)[mask > 0.5].mean())
    return coverage.tidy(grid_at(labels, X + scale * east, Y + scale * north), 100), mask


def inside(ring):
    """Cells whose centre lies in a closed ring (even-odd)."""
    within = np.zeros(SHAPE, bool)
    rows = slice(max(int((SOUTH + HEIGHT - ring[:, 1].max()) / CELL), 0), int((SOUTH + HEIGHT - ring[:, 1].min()) / CELL) + 1)
    columns = slice(max(int((ring[:, 0].min() - WEST) / CELL), 0), int((ring[:, 0].max() - WEST) / CELL) + 1)
    x, y, odd = X[rows, columns], Y[rows, columns], within[rows, columns]
    for (x0, y0), (x1, y1) in zip(ring[:-1], ring[1:]):
        if y0 != y1:
            odd ^= ((y0 > y) != (y1 > y)) & (x < (x1 - x0) * (y - y0) / (y1 - y0) + x0)
    return within


def straightened(labels, truth, mask, spacing=700.0):
    """One stretch of contact between two bedrock units drawn as straight lines between outcrops `spacing` metres apart."""
    regions, names = coverage.regions_of(truth)
    best = None
    for points, closed, left, right in coverage.trace(regions):
        pair = {names[left], names[right]}
        if -1 in pair or COVER in pair:
            continue
        line = coverage.smooth_arc(points, closed, 2.2)
        line = np.column_stack([WEST + line[:, 1] * CELL, SOUTH + HEIGHT - line[:, 0] * CELL])
        length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        for start in np.arange(0, max(length[-1] - 1200, 1), 200):
            stretch = (length >= start) & (length <= start + 3 * spacing)
            piece, along = line[stretch], length[stretch]
            if along[-1] - along[0] < 1200 or grid_at(mask, piece[:, 0], piece[:, 1]).max() > 0.02:
                continue
            legs = int(round((along[-1] - along[0]) / spacing))
            kept = np.searchsorted(along, np.linspace(along[0], along[-1], legs + 1)).clip(0, len(along) - 1)
            ring = np.vstack([piece, piece[kept][::-1]])
            between = inside(np.vstack([ring, ring[:1]])) & np.isin(truth, list(pair))
            area = between.sum() * CELL * CELL
            if area < 0.3e6 and (best is None or area > best[0]):
                best = area, between, sorted(pair)
    if best is None:
        return labels, np.zeros(SHAPE, bool)
    _, between, (a, b) = best
    return coverage.tidy(np.where(between, np.where(labels == a, b, a), labels), 100), between


def relabelled(rng, labels, truth, spoilt, stops_xy, radius=300.0):
    """One patch inside a unit taken for the next one, where there are stops to find it."""
    edge = np.zeros(SHAPE, bool)
    edge[:, 1:] |= truth[:, 1:] != truth[:, :-1]
    edge[1:] |= truth[1:] != truth[:-1]
    edge[[0, -1]] = edge[:, [0, -1]] = True
    free = np.where(edge | spoilt | (truth == COVER), 0, 1)
    room = ndimage.distance_transform_edt(free) * CELL
    best = None
    for x, y in stops_xy:
        score = (np.hypot(stops_xy[:, 0] - x, stops_xy[:, 1] - y) < radius).sum() + min(grid_at(room, x, y), radius) / 12
        if grid_at(free, x, y) and (best is None or score > best[0]):
            best = score, x, y
    _, x, y = best
    angle = np.arctan2(Y - y, X - x)
    phase = rng.uniform(0, 2 * np.pi, 3)
    outline = radius * (1 + 0.12 * np.sin(2 * angle + phase[0]) + 0.08 * np.sin(3 * angle + phase[1]))
    unit = int(grid_at(truth, x, y))
    patch = (np.hypot(X - x, Y - y) < outline) & (truth == unit) & (labels == unit)
    patch &= ~ndimage.binary_dilation(spoilt, iterations=8)
    patch = ndimage.binary_opening(patch, iterations=4)
    part, _ = ndimage.label(patch)
    patch = part == grid_at(part, x, y) if grid_at(part, x, y) else patch
    other = unit - 2 if unit > 3 else unit + 2
    return coverage.tidy(np.where(patch, other, labels), 100), patch


def drawn_from_outcrops(rng, ground, bed, count, stretch=3.0, softness=60.0):
    """The map that a geologist draws from `count` outcrops: every place is given to the nearest outcrop. Along the line in
    which the beds meet the land surface at the outcrop, a metre counts for 1/stretch. Lines are smoothed over `softness` metres.
    Outcrops are more frequent on steep slopes. A body that has none is missing. Alluvium is known from the landform."""
    z = ndimage.gaussian_filter(ground.z, 2, mode="nearest")
    down, right = np.gradient(z, ground.cell)
    slope = ground.sample(np.hypot(down, right), X.ravel(), Y.ravel()).reshape(SHAPE)
    weight = np.where(bed.truth == COVER, 0, 0.05 + slope).ravel()
    chosen = rng.choice(weight.size, count, replace=False, p=weight / weight.sum())
    height = ground.sample(z, X.ravel(), Y.ravel()).reshape(SHAPE) - bed.beds  # of the land surface above one bed
    north, east = np.gradient(ndimage.gaussian_filter(height, 10, mode="nearest"), CELL)
    north = -north
    nearest = np.full(SHAPE, np.inf)
    labels = np.zeros(SHAPE, int)
    for place in chosen:
        r, c = np.unravel_index(place, SHAPE)
        steep = max(np.hypot(north[r, c], east[r, c]), 1e-9)
        across = ((X - X[r, c]) * east[r, c] + (Y - Y[r, c]) * north[r, c]) / steep
        along = ((Y - Y[r, c]) * east[r, c] - (X - X[r, c]) * north[r, c]) / steep
        distance = across ** 2 + (along / stretch) ** 2
        nearer = distance < nearest
        nearest[nearer], labels[nearer] = distance[nearer], bed.bedrock[r, c]
    units = sorted(SHARES)
    soft = [ndimage.gaussian_filter((labels == unit).astype(float), softness / CELL, mode="nearest") for unit in units]
    labels = np.array(units)[np.argmax(soft, axis=0)]
    return coverage.tidy(np.where(bed.truth == COVER, COVER, labels), 150)
