"""A click on a stop opens its card and leaves a link; the bars add up to their total, which is that of the results."""
import math
import re

from browser_page import Page, data_of, equal

data = data_of("sample")
stop = next(s for s in data["stops"] if s["v"] == 1)
with Page("sample", height=1000) as page:
    page.js("document.getElementById('map').scrollIntoView()")
    spot = page.js("const m = document.getElementById('map'), p = m.pixelOf(arguments[0]), r = "
        "m.getBoundingClientRect();"
                   "return [r.left + p.x, r.top + p.y]", stop["id"])
    page.click_at(*spot)
    equal(page.js("return decodeURIComponent(location.hash)"), "#stop=" + stop["id"])
    card = page.text("#card")
    assert card.startswith("Stop " + stop["id"]) or " Stop " + stop["id"] in card, card[:80]
    assert stop["r"] in card, "the reason is missing"
    # "4 to 1 for Kb": the odds multiply to those of all together, and those are the results'
    codes = {data["units"][stop[side]]["code"]: sign for side, sign in (("f", 1), ("o", -1))}

    def log10_odds(text):
        if text == "even":
            return 0.0
        odds, unit = re.fullmatch(r"([\d.]+) to 1 for (.+)", text).groups()
        return codes[unit] * math.log10(float(odds))
    numbers = [log10_odds(text)
        for text in page.js(
        "return [...document.querySelectorAll('.evidence .row:not(.unused) .number')].map(n => n.textContent)")]
    assert abs(sum(numbers[:-1]) - numbers[-1]) < 0.02 * len(numbers), f"{numbers[:-1]} do not add up to {numbers[-1]}"
    assert abs(numbers[-1] - stop["et"]) < 0.02, (numbers[-1], stop["et"])
    # what has no weight is not drawn as if it spoke
    unused = [channel["channel"] for channel in data["run"]["channels"] if channel["stops"]
        and channel["weight"] < 0.005]
    assert unused, "the sample has a kind of evidence that says nothing"
    with_unused = next(s for s in data["stops"] if any(part[0] in unused for part in s.get("e", [])))
    page.go("stop=" + with_unused["id"])
    rows = page.js("return [...document.querySelectorAll('.evidence .unused')].map(r => [r.textContent, "
        "r.querySelectorAll('.track').length])")
    equal(len(rows), sum(part[0] in unused for part in with_unused["e"]), "kinds of evidence not used")
    for text, tracks in rows:
        assert text.startswith(tuple(unused)) and text.endswith(
            "not used: no help at hidden stops") and tracks == 0, text
    table = page.js("return [...document.querySelectorAll('#trust-body tbody tr')].map(r => r.textContent).filter(t => "
        "t.includes('not used'))")
    equal(len(table), len(unused), "the table of evidence")
    assert not re.search("log loss|log10|nats", page.text("#trust-body") + page.text("#card"), re.I)
    assert "log loss" in page.text("#method-body")
    page.go("stop=" + stop["id"])
    # the last bar begins at zero and ends where the one before it ended
    ends = page.js("return [...document.querySelectorAll('.evidence .row:not(.unused) .track i')].map(i => "
        "[i.offsetLeft, i.offsetLeft + i.offsetWidth])")
    assert min(abs(a - b) for a in ends[-1] for b in ends[-2]) <= 2, ends
    # the profile is painted in the colours of the chips
    painted = page.js("return [...document.querySelectorAll('#card svg rect')].map(r => r.style.fill)")
    chips = [data["colours"][0][h["m"]][1] for h in stop["h"] if "m" in h]
    for chip in chips:
        red, green, blue = (int(chip[i:i + 2], 16) for i in (1, 3, 5))
        assert f"rgb({red}, {green}, {blue})" in painted, (chip, painted)
    equal(len(page.all("#card .stops-near li")), 5, "stops near by")
    page.shot("stop_card")
    # creep and transported soil are two facts, each in words of its own
    crept = next(s for s in data["stops"] if "up" in s)
    page.go("stop=" + crept["id"])
    unit, metres, share = crept["up"]
    assert (f"about {round(100 * share)}\u00a0% of the soil from {data['units'][unit]['code']}, "
        f"drawn {metres}\u00a0m upslope") in page.text("#card")
    assert re.search(r"Transported soil\s*probability [\w.\u00a0]+ \(alluvium, till and the like; not creep\)",
        page.text("#card"))
    assert "carried" not in page.text("#card")
    page.go("stop=" + stop["id"])
    address = page.driver.current_url
with Page("sample", fragment="#" + address.split("#")[1]) as page:  # the link opens the same card
    assert stop["r"] in page.text("#card")
    page.go("unit=" + data["units"][0]["code"])
    assert re.search(r"\d+ agree, \d+ conflict", page.text("#card"))
    page.go("stop=no%20such%20stop")
    assert "Nothing here is called 'no such stop'" in page.text("#card")
