"""Each layer goes and comes back, and what lies above it stays above it."""
import re

from browser_page import Page, data_of, equal

PIXELS = "return document.querySelector('#map canvas').toDataURL()"


def settled(page):
    page.js("return new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, "
        "60))))")


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

# Whoever is shown the map reads below it what its codes stand for, each beside the colour that the map has; too many
# for a legend are a link.
data = data_of("sample")
for dark in (False, True):
    with Page("sample", dark=dark) as page:
        legend = page.js("return [...document.querySelectorAll('#legend-units > span')].map(s => [s.textContent, "
            "getComputedStyle(s.querySelector('.swatch')).backgroundColor])")
        equal([words for words, _ in legend],
            [unit["code"] + unit["name"] for unit in data["units"] if unit["area"] > 0])
        equal(len({colour for _, colour in legend}), len(legend), "colours")
        shown = page.js("""const canvas = document.querySelector('#map canvas'),
                pixels = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data, seen = new Set();
            const ground = getComputedStyle(document.getElementById('map'))
                .backgroundColor.match(/[\\d.]+/g).map(Number);
            for (let i = 0; i < pixels.length; i += 4) { const a = pixels[i + 3] / 255;
                seen.add([0, 1, 2].map(k => Math.round((pixels[i + k] * a + ground[k] * (1 - a)) / 4)).join()); }
            return [...seen]""")
        shown = {tuple(map(int, one.split(","))) for one in shown}
        for words, colour in legend:
            channels = [float(part) * (255 if colour.startswith("color(") else 1) for part in re.findall(r"[\d.]+",
                colour)][:3]
            near = min(max(abs(4 * s - c) for s, c in zip(one, channels)) for one in shown)
            assert near <= 4, f"{words}: no ground on the map has the legend's {colour}"
