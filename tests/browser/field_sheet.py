"""The field sheet as printed pages (headless Chromium, pdftoppm): lengths are true on the paper, and marks stand
where the grid says."""
import json
import os
import re
import subprocess
import sys

program, survey, folder = sys.argv[1:]
DOTS = 254  # to the inch: ten to the millimetre


def field(*more):
    run = subprocess.run([program, "field", survey, "-o", folder, "--from", "05-05", "--json", *more],
        capture_output=True, text=True, check=True)
    return json.loads(run.stdout)


def grey(page):
    """A page as rows of grey bytes."""
    name = os.path.join(folder, f"page{page}")
    subprocess.run(["pdftoppm", "-r", str(DOTS), "-gray", "-singlefile", "-f", str(page), "-l", str(page),
        os.path.join(folder, "sheet.pdf"), name], check=True)
    data = open(name + ".pgm", "rb").read()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    width, height = int(head[1]), int(head[2])
    return [data[head.end() + width * row:head.end() + width * (row + 1)] for row in range(height)], width, height


def runs(rows):
    """Lengths of dark horizontal lines, in dots."""
    found = set()
    for row in rows:
        for run in re.finditer(rb"[\x00-\x60]{600,}", row):
            found.add(run.end() - run.start())
    return found


def measure(paper_mm):
    rows, width, height = grey(2)
    assert abs(width / 10 - paper_mm[0]) < 1 and abs(height / 10 - paper_mm[1]) < 1, (width, height)
    lines = runs(rows)
    # a line's own width is 4 dots
    assert any(abs(length - 1000) <= 5 for length in lines), f"no line of 100 mm among {sorted(lines)}"
    assert any(abs(length - 1640) <= 5 for length in lines), f"no map 164 mm wide among {sorted(lines)}"


said = field()
assert said["why_no_pdf"] == "" and os.path.join(folder, "sheet.pdf") in said["files"], said["why_no_pdf"]
first = open(os.path.join(folder, "sheet.pdf"), "rb").read()
measure((210, 297))
field()
assert open(os.path.join(folder, "sheet.pdf"), "rb").read() == first, "the same sheet printed twice differs"
field("--paper", "letter")
measure((215.9, 279.4))

# Each map by its own ruler: the labels of the grid say where the rings of the stops lie.
html = open(os.path.join(folder, "sheet.html"), encoding="utf-8").read()
places = [(stop["east"], stop["north"]) for stop in said["stops"]]
seen = set()
for svg in re.findall(r'<svg class="map".*?</svg>', html, re.S):
    scale = int(re.search(r">1:([\d,]+);", svg)[1].replace(",", ""))
    assert scale in (5000, 10000), scale
    east = [(float(x), int(e))
        for x, e in re.findall(r'<text x="([\d.]+)" y="[\d.]+" font-size="2.40" text-anchor="middle">(\d+)<', svg)]
    north = [(float(y) - 0.8, int(n))
        for y, n in re.findall(r'<text x="16.00" y="([\d.]+)" font-size="2.40" text-anchor="end">(\d+)<', svg)]
    assert len(east) >= 8 and len(north) >= 6
    for (x, e), (x2, e2) in zip(east, east[1:]):
        assert abs((e2 - e) * 1000 / scale - (x2 - x)) < 0.02, "grid lines are not as far apart as the scale says"
    bar = re.search(r'class="bar" d="M[\d.]+ [\d.]+v2M[\d.]+ [\d.]+h([\d.]+)M', svg)
    assert float(bar[1]) == 100
    for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="2.4"', svg):
        at = (east[0][1] + (float(x) - east[0][0]) * scale / 1000,
            north[0][1] - (float(y) - north[0][0]) * scale / 1000)
        near = [k for k, p in enumerate(places) if abs(p[0] - at[0]) < 0.2 and abs(p[1] - at[1]) < 0.2]
        assert near, f"no stop at {at}"
        seen.update(near)
assert seen == set(range(len(places))), "stops without a mark on any map"
