"""The page opens without an error or a request, in the light and in the dark, and says the answer first."""
from browser_page import Page, data_of, equal

for name in ("sample", "moved"):
    data = data_of(name)
    with Page(name) as page:
        equal(page.text("h1"), data["title"])
        conflicts = sum(stop["v"] == 1 for stop in data["stops"])
        figures = [figure.text for figure in page.all("#figures .value")]
        equal(figures[1], str(conflicts), "stops that conflict")
        doubtful = sum(contact["review"] == "doubtful" for contact in data["contacts"])
        elsewhere = sum(bool(contact.get("stretches")) for contact in data["contacts"])
        equal(figures[0], str(elsewhere or doubtful), "misplaced contacts, or else those in doubt")
        equal(figures[2], str(len(data["next_stops"])), "next stops")
        # each thing is said once: the sentence names no figure of a tile, and no tile one of the sentence
        answer, tiles = page.text("#answer"), page.text("#figures")
        assert "in doubt" not in answer and "conflict" not in answer and " km" not in tiles and (
            "misplaced" in tiles) == (elsewhere > 0) and ("misplaced" in answer) == (elsewhere > 0), (answer, tiles)
        mapped = f"{round(sum(unit['area'] for unit in data['units']) / 1e4):,}".replace(",", "\u202f")
        assert (f"expected to correct {data['next_ha']} of {mapped} ha" in tiles
            and f"expected to correct {data['next_ha']} of" in page.text("#next-body")), tiles
        links = [link for link in page.js(
            "return [...document.querySelectorAll('#figures a')].map(a => decodeURIComponent(a.hash))")]
        shown = [link[6:] for link in links if link.startswith("#stop=")]
        assert len(shown) == min(3, conflicts) and set(shown) <= {s["id"] for s in data["stops"] if s["v"] == 1}, links
        # short: the headline has at most 20 words, no paragraph more than 60
        page.wait(lambda: page.js("return document.documentElement.dataset.drawn") == "yes")
        assert len(page.text("#answer b").split()) <= 20, page.text("#answer b")
        long = page.js("return [...document.querySelectorAll('p')].map(p => p.textContent.trim()).filter(t => "
            "t.split(/\\s+/).length > 60)")
        equal(long, [], "paragraphs of more than 60 words")
        # the words are explained
        equal(len(page.all("#words-body dt")), len(data["glossary"]))
        # no word of a program, on the page or in a card
        page.js("[...document.querySelectorAll('.traverse')].forEach(t => t.draw && t.draw())")
        for card in ["", *("unit=" + u["code"] for u in data["units"]), "contact=1", "next=1",
            "stop=" + data["stops"][0]["id"]]:
            page.go(card)
            stray = page.js("""return [...document.querySelectorAll('body *:not(script)')].flatMap(e =>
                [...e.attributes]
                .filter(a => a.name !== 'spellcheck' && /\\b(false|undefined|null|NaN)\\b/.test(a.value))
                .map(a => e.tagName + ' ' + a.name + '=' + a.value)
              .concat([...e.childNodes]
                .filter(n => n.nodeType === 3 && /\\b(false(?! flags)|undefined|null|NaN)\\b/.test(n.data))
                .map(n => e.tagName + ': ' + n.data)))""")
            equal(stray, [], "stray words at " + card)
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
