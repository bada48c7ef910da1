"""Days of walking: where the stops lie, who wrote them down, and what was left out."""
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from . import notes, soil, tracks
from .ground import HEIGHT, SOUTH, WEST, WIDTH
from .rock import COVER, grid_at


@dataclass
class Visit:
    x: float               # where it truly is
    y: float
    row: dict              # as written in the stop table
    horizons: list
    pit: soil.Pit
    unit: int              # at the surface, cover included
    bedrock: int
    read_x: float = 0.0    # where the receiver put it
    read_y: float = 0.0
    written: dict = field(default_factory=dict)


def places(rng, ground, traverses, stops):
    """[(traverse from 1, x, y, degrees of slope)] in walking order."""
    lines = tracks.make_tracks(rng, ground, traverses)
    shares = rng.dirichlet([25] * traverses)
    counts = np.maximum(np.floor(shares * stops).astype(int), 4)
    while counts.sum() != stops:
        counts[int(rng.integers(traverses))] += int(np.sign(stops - counts.sum()))
    result = []
    for k, (line, count) in enumerate(zip(lines, counts), 1):
        for at in tracks.place_stops(rng, line, count):
            x, y = line[at] + rng.normal(0, 8, 2)
            result.append((k, float(np.clip(x, WEST + 40, WEST + WIDTH - 40)),
                           float(np.clip(y, SOUTH + 40, SOUTH + HEIGHT - 40))))
    return result


def landform(ground, x, y, unit):
    slope = float(ground.sample(ground.slope, [x], [y])[0])
    above = float(ground.sample(ground.height_above_stream, [x], [y])[0])
    if unit == COVER:
        return "flood plain" if above < 2.5 else "stream terrace"
    if slope < 0.07 and above > 45:
        return "summit"
    if above < 20 and slope < 0.16:
        return "footslope"
    return "backslope" if slope > 0.13 else "shoulder"


def visit_all(rng, ground, rock, maker, spots, rock_share):
    traverses = max(k for k, _, _ in spots)
    who = [list(notes.OBSERVERS)[int(i)] for i in rng.integers(0, 3, traverses)]
    who[:3] = list(notes.OBSERVERS)
    season = max(40, traverses)  # a day for each
    days = [date(2023, 5, 8) + timedelta(days=int(d)) for d in np.sort(rng.choice(season, traverses, replace=False))]
    rainy = set(rng.choice(traverses, max(1, traverses // 4), replace=False).tolist())
    no_meter = set(rng.choice(traverses, max(1, traverses // 5), replace=False).tolist())
    complete = set(rng.choice(traverses, max(1, round(0.3 * traverses)), replace=False).tolist())
    exposed = []
    for _, x, y in spots:
        unit = int(grid_at(rock.truth, x, y))
        slope = float(ground.sample(ground.slope, [x], [y])[0])
        exposed.append(0.0 if unit == COVER else 0.15 + 3 * slope)
    seen = set(rng.choice(len(spots), round(rock_share * len(spots)), replace=False,
                          p=np.array(exposed) / sum(exposed)).tolist()) if rock_share > 0 else set()
    visits = []
    seq = {}
    for i, (k, x, y) in enumerate(spots):
        seq[k] = seq.get(k, 0) + 1
        observer = who[k - 1]
        unit, below = int(grid_at(rock.truth, x, y)), int(grid_at(rock.bedrock, x, y))
        pit = maker.pit(x, y)
        rows, _ = notes.describe(rng, maker, pit, unit, observer, (k - 1) not in rainy, i in seen)
        receiver = notes.OBSERVERS[observer]["receiver"]
        row = dict(stop=f"{k:02d}-{seq[k]:02d}", traverse=f"T{k:02d}", seq=str(seq[k]), date=days[k - 1].isoformat(),
                   observer=observer, position_sd_m=str(receiver))
        if rng.uniform() > 0.1:
            row["landform"] = landform(ground, x, y, unit)
        if rng.uniform() > 0.15:
            slope = np.degrees(np.arctan(float(ground.sample(ground.slope, [x], [y])[0]))) + rng.normal(0, 1)
            row["slope_deg"] = f"{max(slope, 0):.0f}"
        if i in seen:
            row["unit_seen"] = soil.CODES[unit]
        whole = (k - 1) in complete
        if whole or rng.uniform() > 0.15:
            noted = pit.plants if whole else [p for p in pit.plants if rng.uniform() < 0.75]
            row["plants"] = notes.write_plants(rng, noted)
        row["plants_complete"] = "yes" if whole else "no"
        if (k - 1) not in no_meter and rng.uniform() > 0.08:
            row["mag_sus"] = f"{np.exp(pit.layers['mag'] + rng.normal(0, 0.15)):.0f}"
        if pit.carried:
            row["notes"] = "upper part looks moved"
        elif (k - 1) in rainy and rng.uniform() < 0.15:
            row["notes"] = "heavy rain"
        elif rng.uniform() < 0.06:
            row["notes"] = ["auger stopped on a stone", "beside the track", "second pit, first one too wet"][int(rng.integers(3))]
        rx, ry = x + rng.normal(0, receiver), y + rng.normal(0, receiver)
        visits.append(Visit(x, y, row, rows, pit, unit, below, rx, ry))
    return visits
