"""Soil over each unit: what it tends to be, how it varies over the ground, and how it creeps down the slope."""
from dataclasses import dataclass

import numpy as np

from .ground import smooth_field
from .rock import COVER, grid_at

# Names are invented. Hue counts 5YR as 15, 7.5YR as 17.5, 10YR as 20, 2.5Y as 22.5. Magnetic susceptibility in 1e-5 SI.
UNITS = {
    0: dict(code="Ha", name="Hesk Alluvium", age=1, lithology="silt, sand and rounded gravel", colour="#e6dfc4",
            hue=20.6, value=3.9, chroma=2.5, sand=38, silt=44, clay=18, fragments=6, depth=200, acid=0.3, mag=25,
            kinds=["mixed"], minerals=["mica", "quartz"]),
    1: dict(code="Kb", name="Korrin Basalt", age=2, lithology="basalt lava", colour="#4b3f66",
            hue=17.0, value=3.5, chroma=3.6, sand=30, silt=42, clay=28, fragments=16, depth=62, acid=0.1, mag=170,
            kinds=["basalt", "basalt", "greywacke"], minerals=["magnetite", "olivine"]),
    2: dict(code="Os", name="Ormsa Sandstone", age=3, lithology="quartz sandstone", colour="#d8a548",
            hue=18.6, value=4.7, chroma=4.9, sand=62, silt=24, clay=14, fragments=18, depth=70, acid=0.1, mag=14,
            kinds=["sandstone", "sandstone", "quartz"], minerals=["quartz", "feldspar"]),
    3: dict(code="Pm", name="Pellow Mudstone", age=4, lithology="mudstone, shaly", colour="#7f8f8a",
            hue=21.0, value=4.5, chroma=3.1, sand=20, silt=47, clay=33, fragments=11, depth=88, acid=0.3, mag=22,
            kinds=["mudstone", "slate", "mudstone", "sandstone"], minerals=["clay films", "pyrite"]),
    4: dict(code="Ll", name="Lethe Limestone", age=5, lithology="limestone, thick-bedded", colour="#93bcd9",
            hue=17.9, value=4.0, chroma=4.2, sand=23, silt=44, clay=33, fragments=18, depth=58, acid=2.0, mag=20,
            kinds=["limestone", "limestone", "mudstone"], minerals=["calcite"]),
    5: dict(code="Gg", name="Gannoch Greywacke", age=6, lithology="greywacke with slate partings", colour="#a65f3f",
            hue=19.8, value=4.5, chroma=4.0, sand=42, silt=38, clay=20, fragments=21, depth=72, acid=0.1, mag=32,
            kinds=["greywacke", "slate", "sandstone", "greywacke"], minerals=["quartz", "chlorite"]),
    6: dict(code="Ss", name="Sulvey Schist", age=7, lithology="mica schist", colour="#4f7a5c",
            hue=20.4, value=4.3, chroma=3.6, sand=48, silt=38, clay=14, fragments=18, depth=66, acid=0.1, mag=45,
            kinds=["schist", "quartz", "slate", "schist"], minerals=["mica", "garnet"]),
}
CODES = {k: u["code"] for k, u in UNITS.items()}

# Spread within a unit and reach (m) of its likeness over the ground.
SPREAD = dict(hue=(1.5, 400), value=(0.55, 350), chroma=(0.8, 400), ilr1=(0.42, 450), ilr2=(0.34, 350),
              fragments=(0.55, 300), depth=(0.35, 300), acid=(0.6, 350), mag=(0.75, 500))
SHARED = 0.75  # part of the standard deviation that neighbours share

PLANTS = ["heather", "bell heather", "bilberry", "bog-myrtle", "purple moor-grass", "soft rush", "meadowsweet", "bracken",
          "tormentil", "wavy hair-grass", "birch", "rowan", "hazel", "juniper", "wood sorrel", "dog's mercury",
          "wild thyme", "common rock-rose", "lady's-mantle", "hard fern", "sheep's fescue", "foxglove"]
LAND = {
    "heath": ["heather", "bell heather", "bilberry", "tormentil", "wavy hair-grass", "sheep's fescue", "juniper", "hard fern"],
    "mire": ["bog-myrtle", "purple moor-grass", "soft rush", "heather", "meadowsweet", "tormentil"],
    "wood": ["birch", "rowan", "hazel", "wood sorrel", "bracken", "hard fern", "foxglove", "dog's mercury"],
    "rock slope": ["juniper", "sheep's fescue", "wild thyme", "bell heather", "common rock-rose", "lady's-mantle", "rowan"],
}
# Change of log odds over a unit.
LIKES = {
    0: {"meadowsweet": 1.5, "soft rush": 1.3, "bog-myrtle": 0.8, "bell heather": -1.5, "bilberry": -1},
    1: {"lady's-mantle": 1.6, "hazel": 0.9, "foxglove": 0.5, "heather": -0.6, "common rock-rose": 0.5},
    2: {"heather": 1.0, "wavy hair-grass": 1.2, "bilberry": 0.7, "bracken": 0.6, "dog's mercury": -2},
    3: {"soft rush": 1.0, "purple moor-grass": 0.9, "meadowsweet": 0.4, "bell heather": -0.8},
    4: {"wild thyme": 1.8, "common rock-rose": 1.9, "dog's mercury": 1.5, "hazel": 1.2, "heather": -1.6, "bilberry": -1.6},
    5: {"bilberry": 0.7, "foxglove": 0.7, "bracken": 0.5, "sheep's fescue": 0.4},
    6: {"hard fern": 0.8, "wood sorrel": 0.7, "bell heather": 0.8, "juniper": 0.4},
}


def ilr(sand, silt, clay):
    return np.log(sand / silt) / np.sqrt(2), np.log(sand * silt / clay ** 2) / np.sqrt(6)


def from_ilr(a, b):
    logs = np.array([a / np.sqrt(2) + b / np.sqrt(6), -a / np.sqrt(2) + b / np.sqrt(6), -2 * b / np.sqrt(6)])
    parts = np.exp(logs - logs.max())
    return 100 * parts / parts.sum()


def centre(unit):
    u = UNITS[unit]
    a, b = ilr(u["sand"], u["silt"], u["clay"])
    return dict(hue=u["hue"], value=u["value"], chroma=u["chroma"], ilr1=a, ilr2=b, fragments=np.log(u["fragments"]),
                depth=np.log(u["depth"]), acid=u["acid"], mag=np.log(u["mag"]))


@dataclass
class Pit:
    """The soil at one place as it is, before anybody looks."""
    shares: dict          # unit -> share of the soil that came from it
    below: dict           # the same for the lower material
    layers: dict          # property -> value of the upper soil
    lower: dict           # property -> value of the soil that comes from the rock right below
    carried: bool         # the upper soil came down the slope and lies on other material
    land: str
    plants: list


class SoilMaker:
    def __init__(self, rng, ground, rock, creep_m):
        self.rng, self.ground, self.rock, self.creep_m = rng, ground, rock, creep_m
        self.fields = {name: smooth_field(rng, ground.z.shape, ground.cell, reach)
                       for name, (_, reach) in SPREAD.items()}
        self.wet = smooth_field(rng, ground.z.shape, ground.cell, 500)
        self.wooded = smooth_field(rng, ground.z.shape, ground.cell, 700)

    def shares(self, x, y, reach_factor=1.0):
        """Units along the upslope path, weighted by an exponential whose length grows with the slope."""
        length = reach_factor * self.creep_m * min(float(self.ground.sample(self.ground.slope, [x], [y])[0]) / 0.2, 1.5)
        here = int(grid_at(self.rock.truth, x, y))
        if length < 3 or here == COVER:
            return {here: 1.0}
        total = {}
        for k, (px, py) in enumerate(self.ground.upslope_path(x, y, 4 * length)):
            unit = int(grid_at(self.rock.truth, px, py))
            total[unit] = total.get(unit, 0) + np.exp(-10 * k / length)
        weight = sum(total.values())
        return {unit: part / weight for unit, part in total.items()}

    def mixed(self, shares, place, own):
        centres = {unit: centre(unit) for unit in shares}
        result = {}
        for name, (spread, _) in SPREAD.items():
            mean = sum(part * centres[unit][name] for unit, part in shares.items())
            result[name] = mean + spread * (SHARED * place[name] + np.sqrt(1 - SHARED ** 2) * own[name])
        return result

    def land_at(self, x, y, unit):
        slope = float(self.ground.sample(self.ground.slope, [x], [y])[0])
        wet = float(self.ground.sample(self.wet, [x], [y])[0]) + (0.9 if unit in (COVER, 3) else 0) - 7 * slope
        if slope > 0.27:
            return "rock slope"
        if wet > 0.3:
            return "mire"
        return "wood" if float(self.ground.sample(self.wooded, [x], [y])[0]) > 0.25 else "heath"

    def plants_at(self, x, y, shares, land):
        aspect = float(self.ground.nearest(self.ground.aspect, x, y))
        sunny = np.cos(np.radians(aspect - 190))
        here = []
        for plant in PLANTS:
            odds = 0.1 if plant in LAND[land] else -3.2
            odds += sum(part * LIKES[unit].get(plant, 0) for unit, part in shares.items())
            odds += sunny * {"wild thyme": 0.8, "common rock-rose": 0.8, "bracken": 0.6, "bell heather": 0.5,
                             "hard fern": -0.9, "bilberry": -0.5, "wood sorrel": -0.6}.get(plant, 0)
            if self.rng.uniform() < 1 / (1 + np.exp(-odds)):
                here.append(plant)
        return here

    def pit(self, x, y):
        unit = int(grid_at(self.rock.truth, x, y))
        slope = float(self.ground.sample(self.ground.slope, [x], [y])[0])
        steep_above = max(float(self.ground.sample(self.ground.slope, [px], [py])[0])
                          for px, py in self.ground.upslope_path(x, y, 160)) if unit != COVER else 0
        carried = self.creep_m > 0 and slope < 0.15 and steep_above > 0.16 and self.rng.uniform() < 0.7
        place = {name: float(self.ground.sample(grid, [x], [y])[0]) for name, grid in self.fields.items()}
        own = {name: self.rng.standard_normal() for name in SPREAD}
        shares = self.shares(x, y, 3.0 if carried else 1.0)
        below = {unit: 1.0}
        land = self.land_at(x, y, unit)
        return Pit(shares, below, self.mixed(shares, place, own), self.mixed(below, place, own), carried, land,
                   self.plants_at(x, y, shares, land))

    def draw(self, shares, what):
        """One word of the list `what` of a unit drawn by its share; now and then a stray from anywhere."""
        units = list(shares)
        unit = units[int(self.rng.choice(len(units), p=np.array([shares[u] for u in units])))]
        if self.rng.uniform() < 0.45:
            unit = int(self.rng.integers(0, 7))
        words = UNITS[unit][what]
        return words[int(self.rng.integers(len(words)))]
