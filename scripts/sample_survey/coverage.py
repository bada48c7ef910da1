"""A raster of labels as polygons that share their edges to the last bit: every boundary between two regions is one arc,
smoothed once and used by both."""
import numpy as np
from osgeo import gdal, ogr
from scipy import ndimage


def tidy(labels, least_cells):
    """Drops specks and cells that touch only at a corner, so that no node joins four arcs."""
    driver = gdal.GetDriverByName("MEM")
    data = driver.Create("", labels.shape[1], labels.shape[0], 1, gdal.GDT_Int32)
    data.GetRasterBand(1).WriteArray(labels.astype(np.int32))
    gdal.SieveFilter(data.GetRasterBand(1), None, data.GetRasterBand(1), least_cells, 4)
    labels = data.GetRasterBand(1).ReadAsArray().astype(int)
    while True:
        a, b, c, d = labels[:-1, :-1], labels[:-1, 1:], labels[1:, :-1], labels[1:, 1:]
        crossed = np.argwhere((a != b) & (b != d) & (d != c) & (c != a))
        if len(crossed) == 0:
            return labels
        for r, c in crossed:
            labels[r, c] = labels[r, c + 1]
            labels[r + 1, c] = labels[r + 1, c + 1]


def regions_of(labels):
    """Connected regions numbered from 1, and the label of each (index 0: outside)."""
    regions = np.zeros(labels.shape, int)
    names = [-1]
    for value in np.unique(labels):
        part, count = ndimage.label(labels == value)
        regions[part > 0] = part[part > 0] + len(names) - 1
        names += [int(value)] * count
    return regions, names


def trace(regions):
    """Arcs between nodes: (corners as (row, col) rows, closed, region on the left, region on the right)."""
    ny, nx = regions.shape
    cells = np.pad(regions, 1)
    neighbours = {}

    def join(p, q):
        neighbours.setdefault(p, []).append(q)
        neighbours.setdefault(q, []).append(p)

    for r, c in np.argwhere(cells[:-1, 1:-1] != cells[1:, 1:-1]).tolist():
        join((r, c), (r, c + 1))
    for r, c in np.argwhere(cells[1:-1, :-1] != cells[1:-1, 1:]).tolist():
        join((r, c), (r + 1, c))
    frame = {(0, 0), (0, nx), (ny, 0), (ny, nx)}
    nodes = {p for p, q in neighbours.items() if len(q) != 2} | frame

    def sides(p, q):
        (r, c), (s, d) = p, q
        if s == r:
            up, down = int(cells[r, min(c, d) + 1]), int(cells[r + 1, min(c, d) + 1])
            return (up, down) if d > c else (down, up)
        left, right = int(cells[min(r, s) + 1, c]), int(cells[min(r, s) + 1, c + 1])
        return (left, right) if s < r else (right, left)

    used = set()
    arcs = []

    def walk(start, following):
        path = [start, following]
        used.add(frozenset(path))
        while path[-1] not in nodes and path[-1] != start:
            a, b = neighbours[path[-1]]
            path.append(b if a == path[-2] else a)
            used.add(frozenset(path[-2:]))
        arcs.append((np.array(path, float), path[-1] == start and start not in nodes, *sides(path[0], path[1])))

    for node in sorted(nodes):
        for following in sorted(neighbours[node]):
            if frozenset((node, following)) not in used:
                walk(node, following)
    for corner in sorted(neighbours):
        for following in sorted(neighbours[corner]):
            if frozenset((corner, following)) not in used:
                walk(corner, following)
    return arcs


def smooth_arc(points, closed, sigma):
    middle = (points[1:] + points[:-1]) / 2
    if closed:
        ring = ndimage.gaussian_filter1d(middle, sigma, axis=0, mode="wrap")
        return np.vstack([ring, ring[:1]])
    path = np.vstack([points[:1], middle, points[-1:]])
    n = min(len(path) - 1, int(4 * sigma) + 1)
    before = 2 * path[0] - path[1:n + 1][::-1]
    after = 2 * path[-1] - path[-n - 1:-1][::-1]
    soft = ndimage.gaussian_filter1d(np.vstack([before, path, after]), sigma, axis=0)[n:-n]
    soft[0], soft[-1] = path[0], path[-1]
    return soft


def thin(points, tolerance):
    """Douglas-Peucker."""
    keep = np.zeros(len(points), bool)
    keep[[0, -1]] = True
    if np.array_equal(points[0], points[-1]):  # a ring needs two more corners to stand on
        keep[[len(points) // 3, 2 * len(points) // 3]] = True
    fixed = np.flatnonzero(keep)
    todo = list(zip(fixed[:-1], fixed[1:]))
    while todo:
        a, b = todo.pop()
        if b - a < 2:
            continue
        along = points[b] - points[a]
        rest = points[a + 1:b] - points[a]
        off = np.abs(along[0] * rest[:, 1] - along[1] * rest[:, 0]) / max(np.hypot(*along), 1e-9)
        k = int(np.argmax(off))
        if off[k] > tolerance:
            keep[a + 1 + k] = True
            todo += [(a, a + 1 + k), (a + 1 + k, b)]
    return points[keep]


def signed_area(ring):
    x, y = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    return 0.5 * float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def polygon_of(rings):
    polygon = ogr.Geometry(ogr.wkbPolygon)
    for ring in sorted(rings, key=signed_area, reverse=True):
        line = ogr.Geometry(ogr.wkbLinearRing)
        for x, y in ring.tolist():
            line.AddPoint_2D(x, y)
        polygon.AddGeometry(line)
    return polygon


def polygonise(labels, west, north, cell, sigma=2.2, tolerance=1.2):
    """[(label, OGR polygon)] of a tidy raster; where smoothing would make a polygon cross itself its arcs stay rougher."""
    regions, names = regions_of(labels)
    arcs = trace(regions)
    strength = [sigma] * len(arcs)
    for _ in range(8):
        lines = []
        for (points, closed, left, right), s in zip(arcs, strength):
            soft = smooth_arc(points, closed, s) if s > 0.1 else points
            soft = np.column_stack([west + soft[:, 1] * cell, north - soft[:, 0] * cell])
            lines.append(np.round(thin(soft, tolerance if s > 0.1 else 0), 2))
        parts = {}
        for line, (points, closed, left, right) in zip(lines, arcs):
            parts.setdefault(left, []).append(line)
            parts.setdefault(right, []).append(line[::-1])
        result, bad = [], set()
        for region in range(1, len(names)):
            polygon = polygon_of(chain(parts[region]))
            if not polygon.IsValid():
                bad.add(region)
            result.append((names[region], polygon))
        if not bad:
            return result
        strength = [s / 2 if left in bad or right in bad else s for s, (_, _, left, right) in zip(strength, arcs)]
    raise RuntimeError("polygons stay invalid however little they are smoothed")


def chain(lines):
    """Directed arcs of one region, region on the left, joined to rings."""
    rings = [line for line in lines if np.array_equal(line[0], line[-1])]
    starts = {tuple(line[0]): line for line in lines if not np.array_equal(line[0], line[-1])}
    while starts:
        first, line = next(iter(starts.items()))
        ring = [line]
        del starts[first]
        while tuple(ring[-1][-1]) != first:
            ring.append(starts.pop(tuple(ring[-1][-1])))
        rings.append(np.vstack([ring[0]] + [line[1:] for line in ring[1:]]))
    return rings
