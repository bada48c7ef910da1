"""The page opens without an error or a request, in the light and in the dark, and says the answer first."""
from browser_page import Page, data_of, equal

for name in ("sample", "moved"):
    data = data_of(name)
    with Page(name) as page:
        equal(page.text("h1"), data["title"])
        conflicts = sum(stop["v"] == 1 for stop in data["stops"])
        figures = [figure.text for figure in page.all("#figures .value")]
        equal(figures[2], str(conflicts), "stops that conflict")
        doubtful = sum(contact["review"] == "doubtful" for contact in data["contacts"])
        equal(figures[1], str(doubtful), "contacts in doubt")
        # the first paint, as the browser itself has measured it
        paint = page.js("return performance.getEntriesByName('first-contentful-paint')[0].startTime")
        assert paint < 1000, f"first paint after {paint:.0f} ms"
        bottom = page.js("return document.getElementById('map').getBoundingClientRect().top")
        assert bottom < 620, f"the map begins {bottom:.0f} px down, out of sight"
        bottom = page.js("return document.getElementById('map').getBoundingClientRect().bottom")
        assert bottom <= 900, f"the map ends {bottom:.0f} px down, below the first screen"
        page.shot(name)
with Page("sample", dark=True) as page:
    equal(page.js("return getComputedStyle(document.body).backgroundColor"), "rgb(21, 25, 28)", "dark ground")
    page.shot("sample_dark")
