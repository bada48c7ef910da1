"""A survey of 5,000 stops: the first paint comes within a second, the whole page within five, a stop's card opens at
once, and marks that would hide the map are small until it is enlarged."""
import time

from browser_page import Page, data_of, equal

# How many pixels of the map's canvas are painted within 5 of the place of a stop.
PAINTED = """const map = document.getElementById('map'), canvas = map.querySelector('canvas'),
    k = canvas.width / canvas.clientWidth, half = 5;
    const at = map.pixelOf(arguments[0]), frame = map.getBoundingClientRect(), own = canvas.getBoundingClientRect();
    const x = at.x + frame.left - own.left, y = at.y + frame.top - own.top;
    // read here, for Chromium complains of a second reading of the map's own
    const copy = document.createElement('canvas');
    copy.width = copy.height = 2 * k * half;
    const pen = copy.getContext('2d', { willReadFrequently: true });
    pen.drawImage(canvas, k * (half - x), k * (half - y));
    return pen.getImageData(0, 0, copy.width, copy.height).data.filter((v, i) => i % 4 === 3 && v > 127).length;"""
# The one of some stops that stands farthest from all others, and how far, pixels.
ALONE = """const map = document.getElementById('map'), [some, all] = arguments, at = all.map(id => map.pixelOf(id));
    let best = [null, 0];
    for (const id of some) {
        const p = map.pixelOf(id), gap = Math.min(...at.map(q => Math.hypot(q.x - p.x, q.y - p.y) || Infinity));
        if (gap > best[1] && p.x > 30 && p.y > 30 && p.x < map.clientWidth - 30 && p.y < map.clientHeight - 30)
            best = [id, gap];
    }
    return best;"""

data = data_of("large")
equal(len(data["stops"]), 5000)
with Page("large") as page:
    paint = page.js("return performance.getEntriesByName('first-contentful-paint')[0].startTime")
    whole = page.js("return performance.getEntriesByType('navigation')[0].loadEventEnd")
    print(f"first paint {paint:.0f} ms, loaded {whole:.0f} ms")
    assert paint < 1000, f"first paint after {paint:.0f} ms"
    assert whole < 5000, f"loaded after {whole:.0f} ms"
    begun = time.monotonic()
    page.js("location.hash = 'stop=' + encodeURIComponent(arguments[0])", data["stops"][2500]["id"])
    page.wait(lambda: "Stop " + data["stops"][2500]["id"] in page.text("#card h3"))
    assert time.monotonic() - begun < 1, "the card took longer than a second"
    page.shot("large")
with Page("large") as page:
    # Marks, nothing else drawn: one that has room of its own, before and after the map is enlarged.
    page.js("for (const box of document.querySelectorAll('#layers input:checked')) if (box.dataset.layer !== 'stops') "
        "box.click()")
    agree = [s["id"] for s in data["stops"] if s["v"] == 0]
    alone, gap = page.js(ALONE, agree, [s["id"] for s in data["stops"]])
    assert gap > 8, f"the most lonely stop has another {gap:.1f} px away"
    small = page.js(PAINTED, alone)
    for _ in range(6):
        page.js("document.querySelector('.leaflet-control-zoom-in').click()")
    page.go("stop=" + alone)  # brings it into view
    page.js("location.hash = ''")
    time.sleep(0.3)
    large = page.js(PAINTED, alone)
    print(f"a mark paints {small} pixels among 5,000 stops, {large} by itself")
    assert 0 < small < 0.6 * large, (small, large)
