"""Makes the reports and chapters that the browser tests open: make_reports.py SUBCROP SOURCE_FOLDER OUT_FOLDER

sample   the sample survey
many     the sample survey of 1,200 stops
moved    three strips of ground whose two contacts the draft has 120 m too far west; rock seen at every third stop
first    the sample survey without its draft
large    5,000 stops over 40 strips of ground
hostile  names, notes and codes that are markup and script"""
import json
import os
import random
import shutil
import subprocess
import sys

subcrop, source, out = sys.argv[1:4]


def write(folder, survey, stops, units, legend):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "stops.csv"), "w", encoding="utf-8") as file:
        for row in stops:
            file.write(",".join('"' + str(cell).replace('"', '""') + '"' for cell in row) + "\n")
    with open(os.path.join(folder, "legend.csv"), "w", encoding="utf-8") as file:
        for row in legend:
            file.write(",".join('"' + str(cell).replace('"', '""') + '"' for cell in row) + "\n")
    features = [{"type": "Feature", "properties": {"unit": code},
                 "geometry": {"type": "Polygon", "coordinates": [[[w, s], [e, s], [e, n], [w, n], [w, s]]]}}
                for code, (w, s, e, n) in units]
    with open(os.path.join(folder, "map.geojson"), "w", encoding="utf-8") as file:
        json.dump({"type": "FeatureCollection", "features": features,
                   "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}}}, file)
    with open(os.path.join(folder, "survey.json"), "w", encoding="utf-8") as file:
        json.dump({"stops": {"source": "stops.csv", "x": "x", "y": "y", "crs": "EPSG:32633"},
                   "map": {"source": "map.geojson", "contact_sd_m": 60}, "legend": {"source": "legend.csv"},
                   "results": ".", **survey}, file)
    run(os.path.join(folder, "survey.json"), folder)


def run(survey, folder):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "summary.json"), "w", encoding="utf-8") as said:
        subprocess.run([subcrop, "run", survey, "--results", folder, "--quiet", "--json"], check=True, stdout=said)


def first():
    folder, sample = os.path.join(out, "first"), os.path.join(source, "sampledata")
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(sample, "survey.json"), encoding="utf-8") as file:
        survey = json.load(file)
    del survey["map"]
    for name in ("stops.csv", "horizons.csv", "legend.csv", "terrain.tif"):
        shutil.copy(os.path.join(sample, name), folder)
    with open(os.path.join(folder, "survey.json"), "w", encoding="utf-8") as file:
        json.dump(survey, file)
    run(os.path.join(folder, "survey.json"), folder)


def moved():
    draw = random.Random(5)
    soils = {"SND": ("10YR 5/6", "SL", "heather"), "LIM": ("5YR 4/4", "CL", "thyme"),
        "MUD": ("2.5Y 5/2", "SIC", "rush")}
    stops = [["stop", "traverse", "seq", "x", "y", "position_sd_m", "colour_moist", "texture", "plants", "unit_seen"]]
    for i in range(400):
        x, y = draw.uniform(0, 3000), 200 * (i % 10) + draw.uniform(60, 140)
        unit = "SND" if x < 1120 else "LIM" if x < 2120 else "MUD"
        told = unit if draw.random() < 0.9 else draw.choice(list(soils))
        stops.append([f"{i % 10 + 1}-{i // 10 + 1:02d}", f"T{i % 10 + 1}", round(x), 500000 + round(x, 1),
            5600000 + round(y, 1), 8,
                      *soils[told], unit if i % 3 == 0 else ""])
    write(os.path.join(out, "moved"), {"title": "Three strips"}, stops,
          [("SND", (500000, 5600000, 501000, 5602000)), ("LIM", (501000, 5600000, 502000, 5602000)),
           ("MUD", (502000, 5600000, 503000, 5602000))],
          [["unit", "name"], ["SND", "Brown sandstone"], ["LIM", "Red limestone"], ["MUD", "Grey mudstone"]])


def large():
    draw = random.Random(7)
    soils = [("10YR 5/6", "SL", "heather"), ("5YR 4/4", "CL", "thyme"), ("2.5Y 5/2", "SIC", "rush"),
        ("7.5YR 4/2", "L", "birch")]
    stops = [["stop", "traverse", "seq", "x", "y", "position_sd_m", "colour_moist", "texture", "plants", "unit_seen"]]
    for i in range(5000):
        x, y = (i // 50) * 100 + draw.uniform(10, 90), 200 * (i % 50) + draw.uniform(20, 180)
        unit = int((x + 60) / 250) % 4
        stops.append([f"{i % 50 + 1}-{i // 50 + 1:03d}", f"T{i % 50 + 1}", round(x), 500000 + round(x, 1),
            5600000 + round(y, 1), 8,
                      *soils[unit if draw.random() < 0.9 else draw.randrange(4)], f"U{unit}" if i % 11 == 0 else ""])
    write(os.path.join(out, "large"), {"title": "Forty strips"}, stops,
          [(f"U{k % 4}", (500000 + 250 * k, 5600000, 500250 + 250 * k, 5610000)) for k in range(40)],
          [["unit", "name"], *[[f"U{k}", f"Unit {k}"] for k in range(4)]])


HOSTILE = ["<script>window.hurt=1</script>", "</script><script>window.hurt=2</script>",
    "<img src=x onerror=window.hurt=3>",
           "'\"><svg onload=window.hurt=4>", "a\u2028b\u2029c", "<!--<script>", "javascript:window.hurt=5",
           "=cmd|'/c calc'!A0",
           "{{7*7}} ${window.hurt=6}", "\u202eright to left", "&lt;b&gt; &amp;", "]]>"]


def hostile():
    draw = random.Random(6)
    units = ["<b>A</b>", "\"><img src=x onerror=window.hurt=7>"]
    stops = [["stop", "traverse", "seq", "x", "y", "colour_moist", "texture", "plants", "notes", "landform",
        "unit_seen"]]
    for i in range(120):
        x, y = draw.uniform(0, 1000), draw.uniform(0, 1000)
        west = (x < 500) != (i % 20 == 7)
        stops.append([HOSTILE[i] if i < len(HOSTILE) else f"{HOSTILE[i % len(HOSTILE)]} {i}", HOSTILE[i % 3], i,
                      500000 + round(x, 1), 5600000 + round(y, 1), "10YR 4/3" if west else "2.5YR 4/6",
                      "SL" if west else HOSTILE[0] if i % 31 == 5 else "C", HOSTILE[i % 5], HOSTILE[i % 7], HOSTILE[i
                          % 4],
                      units[0 if west else 1] if i % 20 == 7 else ""])
    write(os.path.join(out, "hostile"), {"title": "</title><script>window.hurt=8</script>"}, stops,
          [(units[0], (500000, 5600000, 500500, 5601000)), (units[1], (500500, 5600000, 501000, 5601000))],
          [["unit", "name", "colour", "lithology"], [units[0], HOSTILE[2], "red;} body {display:none", HOSTILE[1]],
           [units[1], HOSTILE[1], "#884400", HOSTILE[4]]])


def chapter(survey, folder, *more):
    subprocess.run([subcrop, "chapter", survey, "--results", folder, "--quiet", *more], check=True)


run(os.path.join(source, "sampledata", "survey.json"), os.path.join(out, "sample"))
chapter(os.path.join(source, "sampledata", "survey.json"), os.path.join(out, "sample"))
run(os.path.join(source, "sampledata", "many_stops", "survey.json"), os.path.join(out, "many"))
first()
moved()
large()
hostile()
chapter(os.path.join(out, "hostile", "survey.json"), os.path.join(out, "hostile"), "--no-pdf")
chapter(os.path.join(out, "first", "survey.json"), os.path.join(out, "first"), "--no-pdf")
