"""Next stops: in the table by rank, numbered on the map, with a card whose address can be sent, and the trust in the answer beside its count."""
from browser_page import Page, data_of, equal

data = data_of("sample")
assert len(data["next_stops"]) == 10
with Page("sample") as page:
    ranks = page.js("return [...document.querySelectorAll('#next-body tbody tr')].map(r => r.cells[0].textContent)")
    equal(ranks, [str(i + 1) for i in range(10)], "ranks")
    gains = [float(text) for text in page.js("return [...document.querySelectorAll('#next-body tbody tr')].map(r => r.cells[2].textContent)")]
    equal(gains, sorted(gains, reverse=True), "the greatest gain first")
    labels = page.js("return [...document.querySelectorAll('#map .rank-label')].map(r => [r.textContent, r.getBoundingClientRect().toJSON()])")
    equal(sorted((rank for text, _ in labels for rank in text.split(", ")), key=int), ranks, "numbers on the map")
    for i, (text, a) in enumerate(labels):  # none covers another
        for other, b in labels[:i]:
            assert a["left"] >= b["right"] or b["left"] >= a["right"] or a["top"] >= b["bottom"] or b["top"] >= a["bottom"], (text, other)
    page.js("document.querySelectorAll('#next-body tbody button')[2].click()")
    equal(page.js("return location.hash"), "#next=3")
    assert data["next_stops"][2]["purpose"] in page.text("#card")
    seen = sum(bin[2] for bin in data["calibration"])
    right = sum(bin[4] for bin in data["calibration"])
    equal(seen, sum("se" in stop and "e" in stop for stop in data["stops"]), "stops with rock seen and soil noted")
    equal(page.all("#figures .value")[3].text, f"{right} of {seen}")
    assert f"named the right unit at {right} of them" in page.text("#trust-body")
    equal(sum(int(n) for n in page.js("return [...document.querySelectorAll('.calibration tbody tr')].map(r => r.cells[1].textContent)")), seen, "counts of the curve")
    assert "where the draft stands for the answer" in page.text("#figures")
    page.shot("next_stops")
with Page("sample", fragment="#next=3") as page:
    assert data["next_stops"][2]["purpose"] in page.text("#card")
