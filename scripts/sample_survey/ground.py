"""Invented terrain: a drained valley with tributaries, and what runs on it."""
import heapq
from dataclasses import dataclass

import numpy as np
from scipy import ndimage

CRS = "EPSG:32631"
WEST, SOUTH = 540000.0, 6230000.0  # open sea on a real map: nobody takes the valley for a real one
WIDTH, HEIGHT = 6000.0, 5000.0
MARGIN = 400.0  # the terrain reaches beyond the map, so that slopes and flow paths are whole at its edge

OFFSETS = [(-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1)]


def fractal(rng, shape, cell, beta, longest):
    """Random surface of spectral slope `beta`, flat beyond the wavelength `longest`; mean 0, standard deviation 1."""
    ky = np.fft.fftfreq(shape[0], cell)[:, None]
    kx = np.fft.rfftfreq(shape[1], cell)[None, :]
    k = np.maximum(np.hypot(kx, ky), 1 / longest)
    spectrum = np.fft.rfft2(rng.standard_normal(shape)) * k ** (-beta / 2)
    spectrum[0, 0] = 0
    surface = np.fft.irfft2(spectrum, shape)
    return surface / surface.std()


def smooth_field(rng, shape, cell, length):
    """Gaussian random field of Gaussian correlation exp(-d^2 / length^2); mean 0, standard deviation 1."""
    pad = int(3 * length / cell)
    noise = rng.standard_normal((shape[0] + 2 * pad, shape[1] + 2 * pad))
    sigma = length / 2 / cell
    field = ndimage.gaussian_filter(noise, sigma, mode="wrap") * (2 * sigma * np.sqrt(np.pi))
    return field[pad:-pad, pad:-pad]


def fill(z, outlets, step=1e-3):
    """Raises hollows until every cell drains to an outlet (priority flood: Barnes, Lehman and Mulla 2014)."""
    ny, nx = z.shape
    filled = z.copy()
    seen = np.zeros(z.shape, bool)
    heap = []
    for r, c in outlets:
        seen[r, c] = True
        heapq.heappush(heap, (filled[r, c], r, c))
    while heap:
        level, r, c = heapq.heappop(heap)
        for dr, dc in OFFSETS:
            i, j = r + dr, c + dc
            if 0 <= i < ny and 0 <= j < nx and not seen[i, j]:
                seen[i, j] = True
                filled[i, j] = max(filled[i, j], level + step)
                heapq.heappush(heap, (filled[i, j], i, j))
    return filled


def receivers(z, cell):
    """Flat index of the steepest lower neighbour of each cell (itself where there is none), and the distance to it."""
    ny, nx = z.shape
    padded = np.pad(z, 1, constant_values=np.inf)
    best = np.zeros(z.shape)
    index = np.arange(z.size).reshape(z.shape)
    receiver, distance = index.copy(), np.full(z.shape, cell)
    for dr, dc in OFFSETS:
        length = cell * np.hypot(dr, dc)
        drop = (z - padded[1 + dr:1 + dr + ny, 1 + dc:1 + dc + nx]) / length
        better = drop > best
        best[better] = drop[better]
        receiver[better] = (index + dr * nx + dc)[better]
        distance[better] = length
    return receiver.ravel(), distance.ravel()


def accumulate(z, receiver, cell):
    """Area in square metres that drains through each cell, and the cells from low to high."""
    low_to_high = np.argsort(z.ravel(), kind="stable")
    area = [cell * cell] * z.size
    to = receiver.tolist()
    for i in reversed(low_to_high.tolist()):
        if to[i] != i:
            area[to[i]] += area[i]
    return np.array(area), low_to_high


def carve(rng, shape, cell, rounds=80):
    """Rivers cut an uplifted fractal surface (stream power law, solved as in Braun and Willett 2013)."""
    ny, nx = shape
    rows = np.arange(ny)[:, None] / ny
    z = 6 * fractal(rng, shape, cell, 3.0, 3000) + 30 * (1 - np.arange(nx)[None, :] / nx) + 40 * np.abs(rows - 0.5)
    outlets = [(r, nx - 1) for r in range(ny // 2 - 1, ny // 2 + 2)]
    fixed = {r * nx + c for r, c in outlets}
    hardness = np.exp(0.35 * smooth_field(rng, shape, cell, 900)).ravel()
    for r, c in outlets:
        z[r, c] = z.min() - 5
    for _ in range(rounds):
        z = fill(z, outlets)
        to, distance = receivers(z, cell)
        area, order = accumulate(z, to, cell)
        factor = (0.16 / hardness * np.sqrt(area) / distance).tolist()
        new, target = (z.ravel() + 4.0).tolist(), to.tolist()
        for i in order.tolist():
            if i in fixed:
                new[i] -= 4.0
            elif target[i] != i:
                new[i] = (new[i] + factor[i] * new[target[i]]) / (1 + factor[i])
        z = ndimage.gaussian_filter(np.array(new).reshape(shape), 0.6, mode="nearest")
    return z, outlets


@dataclass
class Ground:
    """Terrain on cells of 20 m with a margin round the map; row 0 is the northern one."""
    z: np.ndarray
    cell: float
    west: float
    north: float
    height_above_stream: np.ndarray
    receiver: np.ndarray
    slope: np.ndarray   # tangent
    aspect: np.ndarray  # degrees clockwise from north, downslope

    def rowcol(self, x, y):
        return (self.north - np.asarray(y)) / self.cell - 0.5, (np.asarray(x) - self.west) / self.cell - 0.5

    def sample(self, grid, x, y):
        return ndimage.map_coordinates(grid, self.rowcol(x, y), order=1, mode="nearest")

    def nearest(self, grid, x, y):
        r, c = self.rowcol(x, y)
        return grid[np.clip(np.rint(r).astype(int), 0, grid.shape[0] - 1),
                    np.clip(np.rint(c).astype(int), 0, grid.shape[1] - 1)]

    def upslope_path(self, x, y, length, step=10.0):
        """Points from (x, y) up the gradient, `step` metres apart, until `length` or a crest."""
        gr, gc = self.gradient
        points = [(x, y)]
        for _ in range(int(length / step)):
            r, c = self.rowcol(x, y)
            dx = ndimage.map_coordinates(gc, [[r], [c]], order=1, mode="nearest")[0]
            dy = -ndimage.map_coordinates(gr, [[r], [c]], order=1, mode="nearest")[0]
            steep = np.hypot(dx, dy)
            if steep < 0.02:
                break
            x, y = x + step * dx / steep, y + step * dy / steep
            if not (WEST < x < WEST + WIDTH and SOUTH < y < SOUTH + HEIGHT):
                break
            points.append((x, y))
        return points


def make_ground(rng, relief=270.0):
    coarse, cell = 40.0, 20.0
    shape = (int((HEIGHT + 2 * MARGIN) / coarse), int((WIDTH + 2 * MARGIN) / coarse))
    z, outlets = carve(rng, shape, coarse)
    z = ndimage.gaussian_filter(z, 1.6, mode="nearest")
    z = (z - z.min()) * relief / np.ptp(z) + 35
    z = ndimage.zoom(z, coarse / cell, order=3, mode="nearest", grid_mode=True)
    z += 0.9 * fractal(rng, z.shape, cell, 2.4, 400)
    mouths = [(2 * r + k, z.shape[1] - 1) for r, c in outlets for k in (0, 1)]
    for _ in range(2):
        z = fill(z, mouths, 1e-2)
        to, _ = receivers(z, cell)
        area, order = accumulate(z, to, cell)
        stream = area > 1.6e6
        level = z.ravel().copy()
        for i in order.tolist():
            if not stream[i] and to[i] != i:
                level[i] = level[to[i]]
        above = (z.ravel() - level).reshape(z.shape)
        # floods level the valley floor
        z = np.where(above < 20, z - 0.6 * above * (1 - above / 20), z)
    z = np.round(fill(z, mouths, 0.1), 1)
    gr, gc = np.gradient(ndimage.gaussian_filter(z, 1.0, mode="nearest"), cell)
    ground = Ground(z, cell, WEST - MARGIN, SOUTH + HEIGHT + MARGIN, ndimage.gaussian_filter(above, 1.2),
                    to, np.hypot(gr, gc), np.degrees(np.arctan2(-gc, gr)) % 360)
    ground.gradient = (gr, gc)
    return ground
