"""Contacts of the true map of an invented survey."""
from itertools import combinations

from osgeo import ogr


def true_contacts(path):
    """By their two units (frozenset of codes) the lines where polygons of different units meet."""
    file = ogr.Open(path)
    polygons = [(row["unit"], row.GetGeometryRef().Clone()) for row in file.GetLayer(0)]
    found = {}
    for (a, p), (b, q) in combinations(polygons, 2):
        if a != b and p.Intersects(q):
            pair, line = frozenset((a, b)), p.Intersection(q)
            found[pair] = found[pair].Union(line) if pair in found else line
    return found
