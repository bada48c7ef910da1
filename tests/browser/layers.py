"""Each layer goes and comes back, and what lies above it stays above it."""
from browser_page import Page, data_of, equal

PIXELS = "return document.querySelector('#map canvas').toDataURL()"


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
        marks = {"labels": ".unit-label", "next": ".rank-label"}.get(name)  # those that are no part of the canvas
        labels = len(page.all("#map " + (marks or ".unit-label")))
        switch = page.one(f'input[data-layer="{name}"]')
        switch.click()
        settled(page)
        if marks:
            assert labels > 0
            equal(len(page.all("#map " + marks)), 0, f"{name} left")
        else:
            assert page.js(PIXELS) != before, f"switching {name} off changed nothing"
        switch.click()
        settled(page)
        assert page.js(PIXELS) == before, f"{name} off and on again is not as it was"
        equal(len(page.all("#map " + (marks or ".unit-label"))), labels, name)
