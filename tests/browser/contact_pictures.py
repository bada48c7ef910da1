"""The contacts to look at stand side by side as small maps: the first six of the table, each to the scale that its
bar says."""
import math
import re

from browser_page import Page, data_of, equal

PICTURES = """return [...document.querySelectorAll('#contacts-body .pictures figure')].map(f =>
    ({ link: f.querySelector('a').hash, words: f.querySelector('figcaption').textContent,
    now: [...f.querySelectorAll('path')].filter(p => p.style.strokeWidth === '3').map(p => p.getAttribute('d')),
    bar: f.querySelector('svg > path:last-of-type').getAttribute('d'),
    length: f.querySelector('svg > text:last-of-type').textContent, marks: f.querySelectorAll('g').length,
    drawn: f.querySelector('svg').getBoundingClientRect().height }))"""
ROWS = ("return [...document.querySelectorAll('#contacts-body tbody tr')].map(r => ({ "
    "link: r.cells[0].querySelector('a').hash, cells: [...r.cells].map(c => c.textContent) }))")


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
        # The new line, or what of its corners the picture has, end to end in the picture and on the ground.
        flat = largest["now"]
        corners = [(data["step"] * flat[i], data["step"] * flat[i + 1]) for i in range(0, len(flat), 2)]
        bar = re.fullmatch(r"M8,\d+V\d+H([\d.]+)V\d+", picture["bar"])
        per_metre = (float(bar[1]) - 8) / in_metres(picture["length"])
        for path in picture["now"]:
            seen = points(path)
            fits = [k for k in range(len(corners) - len(seen) + 1)
                    if all(abs(math.dist(seen[i], seen[i + 1]) - per_metre * math.dist(corners[k + i],
                        corners[k + i + 1])) < 0.2 for i in range(len(seen) - 1))
                    and abs(math.dist(seen[0], seen[-1]) / per_metre / math.dist(corners[k],
                        corners[k + len(seen) - 1]) - 1) < 0.02]
            if math.dist(seen[0], seen[-1]) > 50 and len(fits) == 1:
                compared += 1
                break
        else:
            raise AssertionError((picture, per_metre))
    assert compared >= 4, compared
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
    assert page.js("return document.querySelector('.pictures').getBoundingClientRect().height") < 340, (
        "pictures stand in one row on a phone")
