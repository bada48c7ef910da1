"""Traverses along tracks that look for easy ground, and the stops clustered along them."""
import heapq

import numpy as np
from scipy import ndimage

from .ground import HEIGHT, OFFSETS, SOUTH, WEST, WIDTH, smooth_field

CELL = 40.0
SHAPE = (int(HEIGHT / CELL), int(WIDTH / CELL))


def cheapest_path(cost, start, end):
    ny, nx = cost.shape
    best = np.full(cost.shape, np.inf)
    best[start] = 0
    origin = {}
    heap = [(0.0, start)]
    while heap:
        spent, (r, c) = heapq.heappop(heap)
        if (r, c) == end:
            break
        if spent > best[r, c]:
            continue
        for dr, dc in OFFSETS:
            i, j = r + dr, c + dc
            if 0 <= i < ny and 0 <= j < nx:
                total = spent + np.hypot(dr, dc) * (cost[r, c] + cost[i, j]) / 2
                if total < best[i, j]:
                    best[i, j] = total
                    origin[i, j] = (r, c)
                    heapq.heappush(heap, (total, (i, j)))
    path = [end]
    while path[-1] != start:
        path.append(origin[path[-1]])
    return np.array(path[::-1], float)


def make_tracks(rng, ground, count):
    """`count` tracks as rows of (x, y) about 10 m apart: six tenths cross the valley, the others keep to a height."""
    x = WEST + (np.arange(SHAPE[1]) + 0.5) * CELL + np.zeros(SHAPE)
    y = SOUTH + HEIGHT - (np.arange(SHAPE[0])[:, None] + 0.5) * CELL + np.zeros(SHAPE)
    slope = ground.sample(ground.slope, x.ravel(), y.ravel()).reshape(SHAPE)
    z = ground.sample(ground.z, x.ravel(), y.ravel()).reshape(SHAPE)
    above = ground.sample(ground.height_above_stream, x.ravel(), y.ravel()).reshape(SHAPE)
    soft = np.where(above < 5, 2.5, 1.0)  # wet ground
    ny, nx = SHAPE
    crossing = max(1, round(0.6 * count))
    tracks = []
    for k in range(count):
        whim = soft * np.exp(0.5 * smooth_field(rng, SHAPE, CELL, 400))
        if k < crossing:
            column = int((k + 0.5 + rng.uniform(-0.25, 0.25)) / crossing * nx)
            start = (5, int(np.clip(column + rng.integers(-8, 9), 5, nx - 6)))
            end = (ny - 6, int(np.clip(column + rng.integers(-8, 9), 5, nx - 6)))
            cost = (1 + (slope / 0.2) ** 2) * whim
        else:
            row = int((k - crossing + 0.5 + rng.uniform(-0.2, 0.2)) / (count - crossing) * ny)
            start, end = (row, 6), (int(np.clip(row + rng.integers(-10, 11), 5, ny - 6)), nx - 7)
            level = np.linspace(z[start], z[end], nx)[None, :]
            cost = (1 + ((z - level) / 25) ** 2 + (slope / 0.3) ** 2) * whim
        cost[[*range(4), *range(-4, 0)]] *= 6  # keep off the edge of the map
        cost[:, [*range(4), *range(-4, 0)]] *= 6
        path = ndimage.gaussian_filter1d(cheapest_path(cost, start, end), 1.2, axis=0, mode="nearest")
        line = np.column_stack([WEST + (path[:, 1] + 0.5) * CELL, SOUTH + HEIGHT - (path[:, 0] + 0.5) * CELL])
        along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        places = np.arange(0, along[-1], 10.0)
        tracks.append(np.column_stack([np.interp(places, along, line[:, i]) for i in (0, 1)]))
    return tracks


def place_stops(rng, track, count):
    """Chainages (10 m steps of the track) of `count` stops: bunches with longer gaps between."""
    gaps = []
    while len(gaps) < count:
        bunch = int(rng.integers(3, 8))
        gaps += list(rng.uniform(0.35, 1.0, bunch - 1)) + [rng.uniform(1.5, 3.2)]
    places = np.cumsum(gaps[:count])
    return np.rint((places - places[0] * rng.uniform(0.2, 1)) / places[-1] * (len(track) - 1)).astype(int)
