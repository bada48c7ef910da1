"""A survey of 5,000 stops: the first paint comes within a second, the whole page within five, and a stop's card opens at once."""
import time

from browser_page import Page, data_of, equal

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
