"""The chapter: areas, lengths of contact and counts against those worked out from the draft by GEOS through OGR and
from units.csv, tables that add up, drawings true to their words, nothing asked of a network, nothing of a note taken
for markup."""
import csv
import os
import re

from browser_page import Page, folder
from osgeo import ogr, osr

ogr.UseExceptions()
sample = os.environ["SUBCROP_SAMPLEDATA"]


def draft():
    """Each unit's ground as one geometry, in the projection of the working system."""
    source = ogr.Open(os.path.join(sample, "draft_map.gpkg"))
    layer = source.GetLayer("units")
    working = osr.SpatialReference()
    working.ImportFromEPSG(32631)
    working.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
    units = {}
    for feature in layer:
        shape = feature.GetGeometryRef().Clone()
        assert layer.GetSpatialRef().IsSame(working) == 1
        code = feature.GetField("unit")
        units[code] = shape if code not in units else units[code].Union(shape)
    return units


def table_rows(page, caption):
    return page.js("""const table = [...document.querySelectorAll('table')]
        .find(t => t.caption.textContent.startsWith(arguments[0]));
        return [...table.tBodies[0].rows].map(r => [...r.cells].map(c => c.textContent))""", caption)


def metres(words):
    number, unit = words.split()
    return float(number) * (1000 if unit == "km" else 1)


ground = draft()
total = sum(shape.GetArea() for shape in ground.values())
with open(os.path.join(folder, "sample", "units.csv"), encoding="utf-8") as file:
    table = {row["unit"]: row for row in csv.DictReader(file)}
with open(os.path.join(sample, "legend.csv"), encoding="utf-8") as file:
    by_age = [row["unit"] for row in sorted(csv.DictReader(file), key=lambda row: float(row["age_order"]))]

with Page("sample", file="chapter.html") as page:
    headings = page.js("return [...document.querySelectorAll('h2')].map(h => h.id)")
    assert headings == ["unit-" + code for code in by_age] + ["correlation", "legend"], headings
    text = page.js("return document.querySelector('main').innerText")
    assert not re.search(r"\bnan\b|\binf\b|-0 |undefined", text), "a figure that is none"
    for code in by_age:
        own = text[text.rindex(f"({code})\n"):]
        own = own[:own.index("Type stops")]
        area, share = re.search(r"covers ([\d.]+) ha, ([\d.]+) % of the mapped area", own).groups()
        assert abs(float(area) - ground[code].GetArea() / 1e4) <= 0.5, (code, area)
        assert abs(float(share) - 100 * ground[code].GetArea() / total) <= 0.05, (code, share)
        meets = re.search(r"It meets (.*)\.\n", own).group(1)
        told = dict(re.findall(r"(\w+) along ([\d.]+ k?m)", meets))
        for other, shape in ground.items():
            shared = ground[code].Boundary().Intersection(shape.Boundary()).Length() if other != code else 0
            if shared > 100:
                assert abs(metres(told[other]) - shared) <= max(60, 0.01 * shared), (code, other, told[other], shared)
            elif shared < 1:
                assert other not in told, (code, other, shared)
        row = table[code]
        assert f"Described from about {round(float(row['described_stops']))} stops" in own, code
        for column in ("minerals", "landforms", "parent_materials", "profile"):
            # of landforms and parent materials the table writes "of about 12", the chapter "of about 12 stops"
            words = (row[column] if column in ("minerals", "profile") else
                re.sub(r" of ((?:about )?(\d+))\)", lambda m: f" of {m[1]} stop{'' if m[2] == '1' else 's'})",
                    row[column], count=1))
            assert words in own, (code, column)
        assert row["colour_moist"] + " (the middle of" in own and f"{row['stops']} stops stand on it" in own, code
        mean = re.search(r"Mean: sand (\d+) %, silt (\d+) %, clay (\d+) %", own).groups()
        assert all(abs(float(m) - float(row[c])) <= 0.55 for m, c in zip(mean, ("sand_pct", "silt_pct", "clay_pct"))), (
            code, mean)
        depths = {r[0]: r for r in table_rows(page, f"Depth to rock over {code},")}
        for name, prefix in (("first rock, weathered or fresh", "rock"), ("weathered rock (Cr)", "weathered"),
            ("fresh rock (R, or refusal)", "fresh")):
            wanted = row[f"{prefix}_depth_median_cm"]
            assert depths[name][3] == (str(round(float(wanted))) if wanted else "too few reached it"), (code, name,
                depths[name], wanted)
        low, high = row["rock_depth_low_cm"], row["rock_depth_high_cm"]
        interval = ("not given" if not low else f"{round(float(low))} to {round(float(high))}" if high
            else f"from {round(float(low))}, no upper limit")
        assert depths["first rock, weathered or fresh"][4] == interval, (code, depths, interval)
        told = f"The notes that tell {code} from"
        assert (told in own) != ("This was not tested: fewer than 3 stops" in own), code
        for apart in table_rows(page, told) if told in own else []:
            if apart[2]:
                right, known = map(int, apart[2].split(" of "))
                assert 0 <= right <= known and known >= 6 and float(apart[3]) >= 1, apart
        for stop in table_rows(page, f"Stops that show {code} well") if f"Stops that show {code} well" in text else []:
            assert float(stop[4].removeprefix("over ").split()[0]) >= 80, stop
    # which unit is taken for which: rows sum to 100, counts to the number of stops, and the sentence names the largest
    # pair
    rows = {r[0]: r for r in table_rows(page, "Rows: the unit that a stop is known to lie on")}
    p, n = {}, {}
    for code, row in rows.items():
        n[code] = int(row[1])
        if n[code] == 0:
            continue
        cells = [re.match(r"(\d+)(?: \((\d+)\))?$", cell).groups() for cell in row[2:]]
        assert abs(sum(int(c[0]) for c in cells) - 100) <= 4, row
        assert sum(int(c[1] or 0) for c in cells) == n[code], row
        p[code] = dict(zip(by_age, (int(c[0]) for c in cells)))
        assert str(n[code]) == table[code]["known_stops"], code
    pairs = {(a, b): (p[a][b] + p[b][a]) / 2 for a in p for b in p if a < b and n[a] >= 5 and n[b] >= 5}
    said = re.search(r"(\w+) and (\w+) are most easily confused\. .* probability of (\d+) % on average", text)
    assert abs(max(pairs.values()) - int(said.group(3))) <= 1.01 and pairs[tuple(sorted(said.groups()[:2]))] >= max(
        pairs.values()) - 1, (said.groups(), pairs)
    # drawings: each says in words what it shows
    for label, drawing in page.js(
        "return [...document.querySelectorAll('svg[role=img]')].map(s => "
        "[s.getAttribute('aria-label'), s.innerHTML.length])"):
        assert len(label) > 20 and drawing > 100, label
    assert page.js("return document.querySelectorAll('script').length") == 0
    wide = page.js("return [...document.querySelectorAll('main figure svg')].filter(s => "
        "s.getBoundingClientRect().right > innerWidth + 1).length")
    assert wide == 0
    page.shot("chapter")
with Page("sample", width=400, file="chapter.html") as page:
    assert page.js("return document.documentElement.scrollWidth <= innerWidth + 1")
with Page("hostile", file="chapter.html") as page:
    assert page.js("return window.hurt") is None
    assert page.js("return document.querySelectorAll('main img, script, main iframe').length") == 0
with Page("first", file="chapter.html") as page:
    assert "On the first map it covers" in page.text("main")
