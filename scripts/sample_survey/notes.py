"""How observers write down what they see: chips of a colour book, classes by feel, words spelt in several ways."""
import numpy as np

from . import soil

HUES = {10.0: "10R", 12.5: "2.5YR", 15.0: "5YR", 17.5: "7.5YR", 20.0: "10YR", 22.5: "2.5Y", 25.0: "5Y"}
# Highest chroma of each value on the pages from 2.5YR to 10YR, on 2.5Y and on 5Y.
HIGHEST = {"YR": {2.5: 2, 3: 4, 4: 6, 5: 8, 6: 8, 7: 8, 8: 4}, "2.5Y": {2.5: 1, 3: 3, 4: 4, 5: 6, 6: 8, 7: 8, 8: 8},
           "5Y": {2.5: 2, 3: 2, 4: 4, 5: 6, 6: 8, 7: 8, 8: 8}}

OBSERVERS = {  # invented; bias of hue (half a page is 1.25), value, chroma and of the two grain-size coordinates
    "KO": dict(hue=0.6, value=-0.3, chroma=0.4, ilr1=0.10, ilr2=-0.12, receiver=5, writes="code"),
    "TB": dict(hue=-0.7, value=0.4, chroma=-0.3, ilr1=-0.15, ilr2=0.10, receiver=8, writes="name"),
    "VE": dict(hue=0.1, value=0.1, chroma=-0.4, ilr1=0.05, ilr2=0.15, receiver=15, writes="mixed"),
}
ACID = ["NE", "VS", "SL", "ST", "VE"]
ACID_WORDS = ["none", "very slight", "slight", "strong", "violent"]


def chip(hue, value, chroma):
    page = min(HUES, key=lambda h: abs(h - hue))
    name = HUES[page]
    value = min([2.5, 3, 4, 5, 6, 7, 8], key=lambda v: abs(v - value))
    table = HIGHEST[name] if name in HIGHEST else HIGHEST["YR"]
    chroma = min([c for c in (1, 2, 3, 4, 6, 8) if c <= table[value]], key=lambda c: abs(c - chroma))
    if value == 2.5 and name == "10YR":
        value = 2
    return f"{name} {value:g}/{chroma}"


def texture_class(sand, silt, clay):
    """Code of the class by the limits of the Soil Survey Manual (Soil Science Division Staff 2017)."""
    if silt + 1.5 * clay < 15:
        return "S"
    if silt + 2 * clay < 30:
        return "LS"
    if (7 <= clay < 20 and sand > 52) or (clay < 7 and silt < 50):
        return "SL"
    if 7 <= clay < 27 and 28 <= silt < 50 and sand <= 52:
        return "L"
    if (silt >= 50 and 12 <= clay < 27) or (50 <= silt < 80 and clay < 12):
        return "SIL"
    if silt >= 80 and clay < 12:
        return "SI"
    if 20 <= clay < 35 and silt < 28 and sand > 45:
        return "SCL"
    if 27 <= clay < 40 and 20 < sand <= 45:
        return "CL"
    if 27 <= clay < 40 and sand <= 20:
        return "SICL"
    if clay >= 35 and sand > 45:
        return "SC"
    if clay >= 40 and silt >= 40:
        return "SIC"
    return "C" if clay >= 40 else "SL"


NAMES = {"S": "sand", "LS": "loamy sand", "SL": "sandy loam", "L": "loam", "SIL": "silt loam", "SI": "silt",
         "SCL": "sandy clay loam", "CL": "clay loam", "SICL": "silty clay loam", "SC": "sandy clay", "SIC": "silty clay",
         "C": "clay"}


def write_texture(rng, code, style, fragments):
    if style == "name" or (style == "mixed" and rng.uniform() < 0.3):
        word = NAMES[code]
        if fragments >= 35 and rng.uniform() < 0.6:
            word = "very gravelly " + word
        return word
    if style == "mixed":
        return {"SIL": "SiL", "SICL": "SiCL", "SIC": "SiC"}.get(code, code)
    return f"GRV-{code}" if fragments >= 35 and rng.uniform() < 0.5 else code


SPELLINGS = {"bog-myrtle": ["bog-myrtle", "bog myrtle", "Bog-myrtle"], "bell heather": ["bell heather", "Bell Heather"],
             "purple moor-grass": ["purple moor-grass", "purple moor grass"],
             "lady's-mantle": ["lady's-mantle", "lady's mantle"], "heather": ["heather", "Heather", "heather"],
             "bracken": ["bracken", "Bracken"], "wild thyme": ["wild thyme", "Wild thyme"]}
AMOUNTS = ["", "", "", "", "some ", "a little ", "much "]


def write_plants(rng, plants):
    if not plants:
        return "none" if rng.uniform() < 0.5 else ""
    words = []
    for plant in [plants[i] for i in rng.permutation(len(plants))]:
        spellings = SPELLINGS.get(plant, [plant])
        words.append(AMOUNTS[int(rng.integers(len(AMOUNTS)))] + spellings[int(rng.integers(len(spellings)))])
    if rng.uniform() < 0.2:
        words[0] += " (dominant)"
    joint = "; " if rng.uniform() < 0.25 else ", "
    if len(words) > 1 and rng.uniform() < 0.2:
        return joint.join(words[:-1]) + " and " + words[-1]
    return joint.join(words)


def write_acid(rng, level, style):
    rank = int(np.clip(np.rint(level), 0, 4))
    return ACID_WORDS[rank] if style == "name" else ACID[rank]


def describe(rng, maker, pit, unit, observer, dry, rock_seen):
    """Rows of the horizon table for one pit, top down, and the depth to rock if it was reached."""
    bias = OBSERVERS[observer]
    alluvial, wet = unit == soil.COVER, pit.land == "mire"
    to_rock = 400.0 if alluvial else float(np.exp(pit.layers["depth"]))
    if rock_seen:
        to_rock = min(to_rock, rng.uniform(15, 55))
    dug = float(np.clip(rng.normal(72, 18), 30, 115))
    bottom = min(dug, to_rock)
    plan = []
    top = 0.0
    if pit.land in ("wood", "mire") and rng.uniform() < 0.6:
        thick = rng.integers(2, 7) if pit.land == "wood" else rng.integers(6, 19)
        plan.append(("Oe" if pit.land == "wood" else "Oa", float(thick)))
    ends = rng.integers(8, 19)
    plan.append(("A", float(ends)))
    if pit.layers["ilr1"] > 0.45 and pit.land in ("heath", "wood") and rng.uniform() < 0.6:
        plan.append(("E", float(rng.integers(5, 12))))
        plan.append(("Bs", float(rng.integers(18, 35))))
    elif wet or alluvial:
        plan.append(("Bg" if rng.uniform() < 0.7 else "Bw", float(rng.integers(18, 38))))
    else:
        plan.append(("Bt" if pit.layers["ilr2"] < 0.3 and rng.uniform() < 0.6 else "Bw", float(rng.integers(18, 38))))
    if pit.carried:
        plan.append(("2C", 60.0))
    else:
        plan.append(("Cg" if (wet or alluvial) and rng.uniform() < 0.6 else "BC" if rng.uniform() < 0.3 else "C", 200.0))
    rows = []
    for name, thick in plan:
        if bottom - top < 4:
            break
        end = min(top + round(thick), round(bottom))
        rows.append(horizon(rng, maker, pit, name, top, end, bias, dry))
        top = end
    reached = to_rock <= dug
    if reached:
        rows.append(dict(top_cm=f"{top:.0f}", designation="R" if rng.uniform() < 0.6 or rock_seen else "Cr"))
        if rows[-1]["designation"] == "Cr":
            rows[-1]["bottom_cm"] = f"{top + 10:.0f}"
    return rows, reached


def horizon(rng, maker, pit, name, top, end, bias, dry):
    row = dict(top_cm=f"{top:.0f}", bottom_cm=f"{end:.0f}", designation=name)
    if name.startswith("O"):
        row["colour_moist"] = ["10YR 2/1", "7.5YR 2.5/1", "10YR 2/2"][int(rng.integers(3))]
        return row
    lower = name.startswith("2")
    s = pit.lower if lower else pit.layers
    shares = pit.below if lower else pit.shares
    zone = "A" if name in ("A", "E") else "B" if name.startswith("B") and name != "BC" else "C"
    value = s["value"] + {"A": -0.9, "B": 0, "C": 0.4}[zone] + rng.normal(0, 0.25)
    chroma = s["chroma"] * {"A": 0.6, "B": 1, "C": 0.9}[zone] + rng.normal(0, 0.4)
    hue = s["hue"] + {"A": 0.5, "B": 0, "C": 0.6}[zone] + rng.normal(0, 0.5)
    if name == "E":
        value, chroma = value + 2.2, 2.0
    if name == "Bs":
        hue, chroma = hue - 1.2, chroma + 1.0
    gleyed = name.endswith("g")
    seen = (hue + bias["hue"], value + bias["value"], chroma + bias["chroma"])
    if gleyed:
        seen = (max(seen[0], 21.5), seen[1] + 0.4, min(seen[2], 2))
        row["redox"] = ["few faint", "common distinct", "many prominent"][int(rng.integers(3))]
    row["colour_moist"] = (["N 5/", "10Y 5/1", "5GY 5/1", "N 4/"][int(rng.integers(4))]
                           if gleyed and rng.uniform() < 0.2 else chip(*seen))
    if dry and rng.uniform() < 0.6:
        row["colour_dry"] = chip(seen[0], seen[1] + rng.normal(1.3, 0.3), seen[2] - 0.3)
    a = s["ilr1"] + {"A": 0.05, "B": 0, "C": 0.15}[zone] + rng.normal(0, 0.12)
    b = s["ilr2"] + {"A": 0.15, "B": 0 if name != "Bt" else -0.25, "C": 0.1}[zone] + rng.normal(0, 0.12)
    fragments = np.exp(s["fragments"] + {"A": -0.4, "B": 0, "C": 0.4}[zone] + rng.normal(0, 0.25))
    fragments = min(5 * round(fragments / 5), 70) if fragments > 7 else round(fragments)
    how = rng.uniform()
    if how > 0.06:
        felt = soil.from_ilr(a + bias["ilr1"] + rng.normal(0, 0.12), b + bias["ilr2"] + rng.normal(0, 0.12))
        row["texture"] = write_texture(rng, texture_class(*felt), bias["writes"], fragments)
    kind = rng.uniform()
    if kind < 0.12:
        sand, silt, clay = soil.from_ilr(a + rng.normal(0, 0.04), b + rng.normal(0, 0.04))
        sand, clay = round(sand, 1), round(clay, 1)
        row |= dict(sand_pct=f"{sand:.1f}", silt_pct=f"{100 - sand - clay:.1f}", clay_pct=f"{clay:.1f}")
    elif kind < 0.26 and zone == "B":
        parts = soil.from_ilr(a - 0.1 + rng.normal(0, 0.1), b + 0.1 + rng.normal(0, 0.1)) * rng.uniform(0.4, 0.7)
        row |= {f"jar_{n}_mm": f"{max(p, 1):.0f}" for n, p in zip(("sand", "silt", "clay"), parts)}
    if rng.uniform() > 0.05:
        row["fragments_pct"] = f"{fragments}"
    if fragments >= 3 and rng.uniform() > 0.55:
        row["fragment_kind"] = maker.draw(shares, "kinds")
        rounded = row["fragment_kind"] == "mixed"
        row["fragment_shape"] = ("rounded" if rounded else
                                 ["angular", "subangular", "subrounded"][int(rng.choice(3, p=[0.5, 0.35, 0.15]))])
    if rng.uniform() > 0.12:
        row["effervescence"] = write_acid(rng, s["acid"] + {"A": -0.7, "B": -0.2, "C": 0.6}[zone] + rng.normal(0, 0.3),
                                          bias["writes"])
    if rng.uniform() < 0.25:
        row["minerals"] = maker.draw(shares, "minerals")
    return row
