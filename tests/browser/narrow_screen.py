"""On a telephone of 360 px nothing runs out of the side, and a chosen stop's card is brought into view."""
import urllib.parse

from browser_page import Page, data_of

WIDE = """return [...document.querySelectorAll('body *')].filter(e => {
  if (e.closest('#map, .wide, .skip, script, style') || e.closest('table.stack thead')) return false;
  const r = e.getBoundingClientRect(); return r.width > 0 && r.right > innerWidth + 1; }).map(e => e.tagName + '.' + e.className + ': ' + e.textContent.slice(0, 40))"""
for name in ("sample", "moved", "hostile"):
    data = data_of(name)
    stop = next(s for s in data["stops"] if s["v"] == 1)
    with Page(name, width=360, height=740) as page:
        page.js("[...document.querySelectorAll('.traverse')].forEach(t => t.draw())")
        assert page.js("return document.documentElement.scrollWidth") <= 360, (name, page.js(WIDE))
        page.shot(name + "_narrow")
        page.js("location.hash = 'stop=' + encodeURIComponent(arguments[0])", stop["id"])
        page.wait(lambda: page.js("return Math.abs(document.getElementById('card').getBoundingClientRect().top) < 740"))
        assert page.js("return document.documentElement.scrollWidth") <= 360, (name, page.js(WIDE))
        page.js("document.getElementById('card').scrollIntoView({behavior: 'instant'})")
        page.shot(name + "_narrow_card")
    with Page(name, width=360, height=740, fragment="#stop=" + urllib.parse.quote(stop["id"])) as page:  # a link that was sent opens on the card
        assert abs(page.js("return document.getElementById('card').getBoundingClientRect().top")) < 200, name
