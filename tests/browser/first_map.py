"""Without a draft: next stops say which units the first map hesitates between and what area they correct; nothing
tells of a drawn contact."""
from browser_page import Page, data_of, equal

data = data_of("first")
assert data["run"]["without_draft"] and len(data["next_stops"]) == 10
codes = [unit["code"] for unit in data["units"]]
grouped = lambda number: f"{number:,.0f}".replace(",", "\u202f")
with Page("first") as page:
    heads = page.js("return [...document.querySelectorAll('#next-body th')].map(t => t.textContent)")
    equal(heads, ["Rank", "In a walk", "Corrected, ha", "East, north", "What to see there"])
    hectares = [float(text)
        for text in page.js(
        "return [...document.querySelectorAll('#next-body tbody tr')].map(r => r.cells[2].textContent)")]
    equal(hectares, sorted(hectares, reverse=True), "the greatest gain first")
    listed = page.js("return [...document.querySelectorAll('#card ol li span')].map(s => s.textContent)")
    equal(listed, [f"{codes[n['units'][0]]} or {codes[n['units'][1]]}, about {n['gain']:.2f} ha expected to be "
        f"corrected" for n in data["next_stops"]], "the list beside the map")
    card = page.text("#card")
    for unit in data["units"]:
        if unit["area"] > 0:
            assert (f"{unit['code']}{grouped(unit['area'] / 1e4)}\u00a0ha; "
                f"bedrock observed at {unit['seen']} stop") in card, (unit["code"], card)
    lacking = [unit["code"] for unit in data["units"] if not unit["area"]]
    assert lacking and "Not on it, because no bedrock was observed: " + ", ".join(lacking) + "." in card, card
    equal(len(page.all("#map .rank-label")), 10, "numbers on the map")
    page.go("next=2")
    assert data["next_stops"][1]["purpose"] in page.text("#card") and "ha expected to be corrected" in page.text(
        "#card"), page.text("#card")
    assert "draft" not in page.text("#card"), page.text("#card")
    page.shot("first_map")
