"""Each layer goes and comes back, and what lies above it stays above it."""
from browser_page import Page, data_of, equal

PIXELS = """const c = document.querySelector('#map canvas'), d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
let sum = 0; for (let i = 0; i < d.length; i += 4) sum = (sum * 31 + d[i] + 3 * d[i + 1] + 7 * d[i + 2] + 11 * d[i + 3]) % 1000000007;
return sum;"""


def settled(page):
    page.js("return new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 60))))")


with Page("moved") as page:
    page.js("document.getElementById('map').scrollIntoView()")
    settled(page)
    names = page.js("return [...document.querySelectorAll('#layers input')].map(i => i.dataset.layer)")
    for wanted in ("units", "labels", "zones", "traverses", "draft", "relocated", "stops"):
        assert wanted in names, f"no switch for {wanted}"
    for name in names:
        before = page.js(PIXELS)
        labels = len(page.all("#map .unit-label"))
        switch = page.one(f'input[data-layer="{name}"]')
        switch.click()
        settled(page)
        if name == "labels":
            assert labels > 0
            equal(len(page.all("#map .unit-label")), 0, "unit codes left")
        else:
            assert page.js(PIXELS) != before, f"switching {name} off changed nothing"
        switch.click()
        settled(page)
        equal(page.js(PIXELS), before, f"{name} off and on again")
        equal(len(page.all("#map .unit-label")), labels, "unit codes")
