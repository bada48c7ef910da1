"""Printed to PDF: every part is there, traverses drawn though never scrolled to, and not more pages than the matter
asks for."""
import base64
import os
import re
import subprocess

from browser_page import Page, data_of, folder

SHEET = 688  # CSS pixels between the margins of A4: 210 mm less twice 14 mm, at 96 to the inch
data = data_of("moved")
with Page("moved") as page:
    printed = page.driver.execute_cdp_cmd("Page.printToPDF",
        {"printBackground": False, "paperWidth": 8.27, "paperHeight": 11.69})
    strips = page.js("return document.querySelectorAll('.traverse svg').length")
    width = page.js("return document.getElementById('map').clientWidth")
    assert width > SHEET, f"after the print the map is {width} px wide"
for name in ("moved", "sample"):  # what is wider than the sheet makes the browser shrink all of it
    with Page(name, width=SHEET, dark=True) as page:
        page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia",
            {"media": "print", "features": [{"name": "prefers-color-scheme", "value": "dark"}]})
        page.js("dispatchEvent(new Event('beforeprint'))")
        wide = page.js("return [...document.querySelectorAll('main *, header *')].filter(e => !e.closest('svg, #map') "
            "&& e.getBoundingClientRect().right > innerWidth + 1)"
                       ".map(e => e.tagName + '.' + e.className)")
        assert not wide, (name, wide[:5])
        colours = page.js("const s = getComputedStyle(document.body); return [s.backgroundColor, s.color]")
        assert colours == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"], colours
        page.shot(name + "_printed")
assert strips == len(data["traverses"]), f"{strips} of {len(data['traverses'])} traverses drawn"
path = os.path.join(folder, "moved.pdf")
with open(path, "wb") as file:
    file.write(base64.b64decode(printed["data"]))
pages = len(re.findall(rb"/Type\s*/Page\b", open(path, "rb").read()))
assert 3 <= pages <= 16, f"{pages} pages"
