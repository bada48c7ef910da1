"""On a telephone of 360 px nothing runs out of the side, and a chosen stop's card is brought into view."""
import urllib.parse

from browser_page import Page, data_of

WIDE = """return [...document.querySelectorAll('body *')].filter(e => {
  if (e.closest('#map, .wide, .skip, script, style') || e.closest('table.stack thead')) return false;
  const r = e.getBoundingClientRect(); return r.width > 0 && r.right > innerWidth + 1; })
    .map(e => e.tagName + '.' + e.className + ': ' + e.textContent.slice(0, 40))"""
for name in ("sample", "moved", "hostile"):
    data = data_of(name)
    stop = next(s for s in data["stops"] if s["v"] == 1)
    with Page(name, width=360, height=740) as page:
        page.js("[...document.querySelectorAll('.traverse')].forEach(t => t.draw())")
        assert page.js("return document.documentElement.scrollWidth") <= 360, (name, page.js(WIDE))
        page.shot(name + "_narrow")
        page.js("location.hash = 'stop=' + encodeURIComponent(arguments[0])", stop["id"])
        page.wait(lambda: page.js("return Math.abs(document.getElementById('card').getBoundingClientRect().top) < 740"))
        # the map stays in sight above the card, however far one reads in it
        for part in (0, 0.5):
            page.js("const c = document.getElementById('card').getBoundingClientRect(); scrollBy({top: c.top - "
                "innerHeight * 0.4 + c.height * arguments[0], behavior: 'instant'})", part)
            at = page.js("const r = document.getElementById('map').getBoundingClientRect(); return [r.top, r.bottom, "
                "innerHeight]")
            assert -1 <= at[0] < 40 and 100 < at[1] < 0.5 * at[2], (name, part, at)
        assert page.js("return document.documentElement.scrollWidth") <= 360, (name, page.js(WIDE))
        page.js("document.getElementById('card').scrollIntoView({behavior: 'instant'})")
        page.shot(name + "_narrow_card")
    # a link that was sent opens on the card
    with Page(name, width=360, height=740, fragment="#stop=" + urllib.parse.quote(stop["id"])) as page:
        top = page.js("return document.getElementById('card').getBoundingClientRect().top")
        assert 0 < top < 0.6 * 740, (name, top)
