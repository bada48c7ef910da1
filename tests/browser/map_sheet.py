"""The map sheet as a printed page (headless Chromium, poppler): one page of the stated paper, and lengths on it are
true. Measured twice: between the labels of the grid, and along the frame as drawn."""
import json
import os
import re
import subprocess

from browser_page import folder
from osgeo import ogr

ogr.UseExceptions()
program, sample = os.environ["SUBCROP_PROGRAM"], os.environ["SUBCROP_SAMPLEDATA"]
DOTS = 254  # to the inch: ten to the millimetre
POINT_MM = 25.4 / 72
draft = ogr.Open(os.path.join(sample, "draft_map.gpkg"))
west, east, south, north = draft.GetLayer("units").GetExtent()


def text_of(*command):
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def by_labels(pdf, scale):
    """Millimetres to the kilometre, from the places of neighbouring labels."""
    words = [(float(a), float(b), float(c), float(d), text) for a, b, c, d, text in re.findall(
        r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">([^<]+)</word>',
        text_of("pdftotext", "-bbox", pdf, "-"))]
    found = {"E": {}, "N": {}}
    for number, letter in zip(words, words[1:]):
        if letter[4] in found and re.fullmatch(r"\d{5,8}", number[4]):
            middle = ((min(number[0], letter[0]) + max(number[2], letter[2])) / 2 if letter[4] == "E"
                else (min(number[1], letter[1]) + max(number[3], letter[3])) / 2)
            found[letter[4]][int(number[4])] = middle * POINT_MM
    for axis, places in found.items():
        assert len(places) >= 3, (axis, places)
        values = sorted(places)
        for one, other in zip(values, values[1:]):
            kilometre = abs(places[other] - places[one]) / (other - one) * 1000
            assert abs(kilometre - 1e6 / scale) < 0.1, (axis, one, other, kilometre)


def by_frame(pdf, scale):
    """The lower edge of the map's frame, as dark dots."""
    name = os.path.join(folder, "map_sheet_page")
    subprocess.run(["pdftoppm", "-r", str(DOTS), "-gray", "-singlefile", pdf, name], check=True)
    data = open(name + ".pgm", "rb").read()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    width, height = int(head[1]), int(head[2])
    longest = max((run.end() - run.start() for row in range(height)
        for run in re.finditer(rb"[\x00-\x60]{600,}", data[head.end() + width * row:head.end() + width * (row + 1)])),
        default=0)
    expected = (east - west) * 1000 / scale * 10 + 4  # the line itself is 0.4 mm wide
    assert abs(longest - expected) <= 4, (longest, expected)


def check(pdf, scale, paper_mm):
    said = text_of("pdfinfo", pdf)
    assert re.search(r"^Pages: +1$", said, re.M), said
    size = [float(n) * POINT_MM for n in re.search(r"^Page size: +([\d.]+) x ([\d.]+) pts", said, re.M).groups()]
    assert all(abs(a - b) < 0.5 for a, b in zip(size, paper_mm)), (size, paper_mm)
    by_labels(pdf, scale)
    by_frame(pdf, scale)


svg = open(os.path.join(folder, "sample", "map_sheet.svg"), encoding="utf-8").read()
check(os.path.join(folder, "sample", "map_sheet.pdf"), int(re.search(r"Scale 1:([\d,]+)", svg)[1].replace(",", "")),
    (420, 297))  # A3, ISO 216

bytes_of = []
for name in ("larger", "again"):
    target = os.path.join(folder, "map_sheet", name)
    said = json.loads(text_of(program, "chapter", os.path.join(sample, "survey.json"), "--scale", "10000", "--results",
        target, "--json"))
    assert said["scale"] == 10000 and said["paper"] == "A1" and said["why_no_pdf"] == "", said
    bytes_of.append(open(os.path.join(target, "map_sheet.pdf"), "rb").read())
assert bytes_of[0] == bytes_of[1], "the same sheet printed twice differs"
check(os.path.join(folder, "map_sheet", "larger", "map_sheet.pdf"), 10000, (841, 594))
