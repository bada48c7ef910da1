"""The contacts to look at stand side by side as small maps: the first six of the table, each to the scale that its bar says."""
import math
import re

from browser_page import Page, data_of, equal

PICTURES = """return [...document.querySelectorAll('#contacts-body .pictures figure')].map(f => ({ link: f.querySelector('a').hash, words: f.querySelector('figcaption').textContent,
    now: [...f.querySelectorAll('path')].filter(p => p.style.strokeWidth === '3').map(p => p.getAttribute('d')), bar: f.querySelector('svg > path:last-of-type').getAttribute('d'),
    length: f.querySelector('svg > text:last-of-type').textContent, marks: f.querySelectorAll('g').length, drawn: f.querySelector('svg').getBoundingClientRect().height }))"""
ROWS = "return [...document.querySelectorAll('#contacts-body tbody tr')].map(r => ({ link: r.cells[0].querySelector('a').hash, cells: [...r.cells].map(c => c.textContent) }))"


def points(path):
    return [tuple(map(float, pair.split(","))) for pair in re.findall(r"[\d.-]+,[\d.-]+", path)]


def in_metres(text):
    number, unit = re.fullmatch(r"([\d.]+)\s(k?m)", text).groups()
    return float(number) * (1000 if unit == "km" else 1)


data = data_of("many")
with Page("many") as page:
    pictures, rows = page.js(PICTURES), page.js(ROWS)
    equal(len(pictures), 6)
    equal([p["link"] for p in pictures], [r["link"] for r in rows][:len(pictures)], "the first of the table")
    compared = 0
    for picture, row in zip(pictures, rows):
        contact = data["contacts"][int(picture["link"].split("=")[1]) - 1]
        assert picture["drawn"] > 100 and picture["marks"] > 0, picture
        if not contact.get("stretches"):
            assert not picture["now"]
            continue
        largest = max(contact["stretches"], key=lambda s: s["length"] * s["by"])
        assert any(cell in picture["words"] for cell in row["cells"] if " by " in cell), (picture["words"], row)
        # The new line, end to end, in the picture and on the ground.
        flat = largest["now"]
        ground = data["step"] * math.hypot(flat[-2] - flat[0], flat[-1] - flat[1])
        ends = [(points(path)[0], points(path)[-1]) for path in picture["now"]]
        bar = re.fullmatch(r"M8,\d+V\d+H([\d.]+)V\d+", picture["bar"])
        per_metre = (float(bar[1]) - 8) / in_metres(picture["length"])
        assert any(abs(math.dist(a, b) / per_metre / ground - 1) < 0.03 for a, b in ends), (ends, per_metre, ground)
        compared += 1
    assert compared >= 2, compared
    page.js("document.querySelector('#contacts-body .pictures a').click()")
    page.wait(lambda: page.text("#card h3").startswith("Contact "))
    page.js("document.querySelectorAll('#contacts-body .pictures svg')[3].dispatchEvent(new MouseEvent('click'))")
    page.wait(lambda: page.js("return location.hash") == pictures[3]["link"])
    page.js("document.querySelector('.pictures').scrollIntoView()")
    page.shot("contact_pictures")
with Page("many", width=390, height=844) as page:
    equal(len(page.js(PICTURES)), 6)
    sideways = page.js("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert sideways <= 0, f"the page is {sideways} px too wide"
    assert page.js("return document.querySelector('.pictures').getBoundingClientRect().height") < 340, "pictures stand in one row on a phone"
