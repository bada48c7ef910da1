"""Next stops: in the table by rank, numbered on the map, with a card whose address can be sent, and the trust in the
answer beside its count."""
import re

from browser_page import Page, data_of, equal

data = data_of("sample")
assert len(data["next_stops"]) == 10
with Page("sample") as page:
    ranks = page.js("return [...document.querySelectorAll('#next-body tbody tr')].map(r => r.cells[0].textContent)")
    equal(ranks, [str(i + 1) for i in range(10)], "ranks")
    gains = [float(text) for text in page.js(
        "return [...document.querySelectorAll('#next-body tbody tr')].map(r => r.cells[2].textContent)")]
    equal(gains, sorted(gains, reverse=True), "the greatest gain first")
    # Each gain is rounded to 0.01 ha, the sum to 0.1 ha.
    told = re.search(r"All 10 together are expected to correct ([\d.]+) of the map's (\d+) ha\.",
        page.text("#next-body"))
    assert told and abs(float(told[1]) - sum(gains)) < 0.11, (page.text("#next-body")[:400], gains)
    area = sum(unit["area"] for unit in data["units"]) / 1e4
    assert abs(int(told[2]) - area) < 1
    # A thousandth of the map is little for a walk, and said to be.
    if abs(sum(gains) / area - 0.001) > 1e-5:
        equal("That is little for a walk." in page.text("#next-body"), sum(gains) < area / 1000, "little")
    labels = page.js("return [...document.querySelectorAll('#map .rank-label')].map(r => [r.textContent, "
        "r.getBoundingClientRect().toJSON()])")
    equal(sorted((text for text, _ in labels), key=int), ranks, "numbers on the map")
    frame = page.js("return document.getElementById('map').getBoundingClientRect().toJSON()")
    for i, (text, a) in enumerate(labels):  # none covers another or is cut by the map's edge
        assert frame["left"] < a["left"] and a["right"] < frame["right"] and frame["top"] < a["top"] and a[
            "bottom"] < frame["bottom"], (text, a, frame)
        for other, b in labels[:i]:
            assert a["left"] >= b["right"] or b["left"] >= a["right"] or a["top"] >= b["bottom"] or b["top"] >= a[
                "bottom"], (text, other)
    codes = page.js("return [...document.querySelectorAll('#map .unit-label span')].map(r => [r.textContent, "
        "r.getBoundingClientRect().toJSON()])")
    assert len(codes) > len(data["units"]), codes
    # nor does the code of a unit cover one of them, another code or a stop that conflicts
    for i, (text, a) in enumerate(codes):
        for other, b in labels + codes[:i]:
            assert a["left"] >= b["right"] or b["left"] >= a["right"] or a["top"] + 2 >= b["bottom"] or b[
                "top"] + 2 >= a["bottom"], (text, other)
        for stop in (s["id"] for s in data["stops"] if s["v"] == 1):
            x, y = page.js("const p = document.getElementById('map').pixelOf(arguments[0]); return [p.x, p.y]", stop)
            assert not (a["left"] < frame["left"] + x < a["right"] and a["top"] < frame["top"] + y < a["bottom"]), (
                text, stop)
    equal(page.js("return [...document.querySelectorAll('#card ol a')].map(a => a.hash)"),
        [f"#next={i + 1}" for i in range(10)], "the list beside the map")
    equal(page.text("#card .more-stops summary"), "6 more")
    page.one("#card .more-stops summary").click()
    assert page.one("#card .more-stops li:last-child a").is_displayed()
    page.js("document.querySelectorAll('#next-body tbody tr')[2].cells[0].querySelector('a').click()")
    equal(page.js("return location.hash"), "#next=3")
    assert data["next_stops"][2]["purpose"] in page.text("#card")
    seen = sum(bin[2] for bin in data["calibration"])
    right = sum(bin[4] for bin in data["calibration"])
    equal(seen, sum("se" in stop and "e" in stop for stop in data["stops"]),
        "stops with observed bedrock and soil noted")
    equal(page.all("#figures .value")[3].text, f"{right} of {seen}")
    assert f"named the right unit at {right} of them" in page.text("#trust-body")
    equal(sum(int(n) for n in page.js(
        "return [...document.querySelectorAll('.calibration tbody tr')].map(r => r.cells[1].textContent)")), seen,
        "counts of the curve")
    assert "stops with the map hidden" in page.text("#figures")
    page.shot("next_stops")
with Page("sample", width=360, height=740) as page:
    labels = page.js("return [...document.querySelectorAll('#map .rank-label')].map(r => [r.textContent, "
        "r.getBoundingClientRect().toJSON()])")
    equal(sorted((text for text, _ in labels), key=int), ranks, "numbers on a narrow map")
    frame = page.js("return document.getElementById('map').getBoundingClientRect().toJSON()")
    for i, (text, a) in enumerate(labels):
        assert frame["left"] < a["left"] and a["right"] < frame["right"] and frame["top"] < a["top"] and a[
            "bottom"] < frame["bottom"], (text, a, frame)
        for other, b in labels[:i]:
            assert a["left"] >= b["right"] or b["left"] >= a["right"] or a["top"] >= b["bottom"] or b["top"] >= a[
                "bottom"], (text, other)
with Page("sample", fragment="#next=3") as page:
    assert data["next_stops"][2]["purpose"] in page.text("#card")
