"""Every stop of a verdict in one table with its reason, those that conflict first; the list and the tile beside the
map lead there."""
import csv
import os
import re

from browser_page import Page, data_of, equal

ROWS = ("return [...document.querySelectorAll('#stops-body tbody tr')].map(r => "
    "[...r.cells].map(c => c.textContent.trim()))")
data = data_of("many")
verdict = {}
for stop in data["stops"]:
    verdict.setdefault(stop["v"], []).append(stop)
conflicts = verdict[1]
assert len(conflicts) > 50
with Page("many", width=1280) as page:
    equal(page.js("return [...document.querySelectorAll('#figures a, #card a')].filter(a => a.hash === '#stops').map(a "
        "=> a.textContent)"),
          [f"{len(conflicts) - 3} more", f"and {len(conflicts) - 8} more"], "ways to the table")
    equal(page.js("return [...document.querySelectorAll('#stop-kind option')].map(o => o.textContent)")[0],
        f"conflicts ({len(conflicts)})")
    equal(len(page.js(ROWS)), 12)
    page.js("document.querySelector('#stops-body button[type=button].noprint').click()")
    rows = page.js(ROWS)
    equal(sorted(row[0] for row in rows), sorted(stop["id"] for stop in conflicts), "all stops that conflict")
    reasons = {stop["id"]: stop["r"] for stop in conflicts}
    assert all(row[-1] == reasons[row[0]] for row in rows)
    drafted = [next(s for s in conflicts if s["id"] == row[0])["pm"] for row in rows]
    equal(drafted, sorted(drafted), "the plainest first")
    wide = page.js("const w = document.querySelector('#stops-body .wide'); return w.scrollWidth - w.clientWidth")
    assert wide <= 0, f"the table of stops is {wide} px too wide"
    # Another kind, chosen.
    page.js("const s = document.getElementById('stop-kind'); s.value = [...s.options].findIndex(o => "
        "o.textContent.startsWith('near a contact')); s.dispatchEvent(new Event('change'))")
    equal([row[0] for row in page.js(ROWS)][:12], [s["id"] for s in sorted(verdict[2], key=lambda s: s["pm"])][:12],
        "another kind")
    page.shot("stops_table")
    # The sentence and the bars give a kind of evidence the same odds.
    compared = 0
    for stop in conflicts[:6]:
        page.go("stop=" + stop["id"])
        bars = page.js("return [...document.querySelectorAll('.evidence .row:not(.unused):not(.total)')].map(r => "
            "[r.querySelector('.name').textContent.replace(': ', ' '), r.querySelector('.number').textContent])")
        for name, odds in bars:
            said = re.search(re.escape(name) + r" \(([\d.]+) to 1\)", stop["r"])
            if said:
                compared += 1
                equal(odds.split(" to 1")[0], said[1], f"{stop['id']}: {name}")
    assert compared >= 6, compared
    # Chosen away from the map a stop is brought so near that its neighbours are told apart.
    APART = ("const [p, q] = [...arguments].map(id => document.getElementById('map').pixelOf(id)); "
        "return Math.hypot(p.x - q.x, p.y - q.y)")
    with Page("many", width=1280) as fresh:
        ends = [conflicts[0]["id"], conflicts[-1]["id"]]
        before = fresh.js(APART, *ends)
        fresh.go("stop=" + ends[0])
        assert fresh.js(APART, *ends) > 2 * before, "the map was not enlarged"
        near = fresh.js(APART, *ends)
        fresh.go("stop=" + ends[1])
        assert abs(fresh.js(APART, *ends) - near) < 2, "the next one moves the map and does not enlarge it again"
    # A problem of a stop leads to the stop.
    linked = page.js("return [...document.querySelectorAll('#problems-body tbody tr')].map(r => [...r.cells].map(c => "
        "c.textContent)).filter(c => c[3])")
    assert linked, "no problem names its stop"
    with open(os.path.join(os.environ["SUBCROP_SAMPLEDATA"], "many_stops", "stops.csv"), encoding="utf-8",
        newline="") as file:
        written = [row["stop"] for row in csv.DictReader(file)]
    for row in linked:
        if row[1] == "stops.csv":
            # the headings are row 1
            equal(row[3], written[int(row[2].replace("\u202f", "")) - 2], "the stop of a problem's row")
with Page("sample") as page:
    equal(page.js("return document.querySelectorAll('#stops-body tbody tr').length"),
        min(12, sum(s["v"] == 1 for s in data_of("sample")["stops"])))
