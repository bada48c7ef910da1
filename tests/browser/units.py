"""Units: each with its paragraph and the chips in their colours; the card has the ellipse of grain size and the
unit's contacts."""
from browser_page import Page, data_of, equal

data = data_of("sample")
unit = next(u for u in data["units"] if u.get("ellipse") and u["moist"])
with Page("sample") as page:
    articles = page.all("#units-body article")
    equal(len(articles), len(data["units"]))
    for article, one in zip(articles, data["units"]):
        # cut into paragraphs
        assert one["text"].replace(" ", "") in article.get_attribute("textContent").replace(" ", "")
        if one.get("apart"):  # what it is taken for, and how to tell the two apart, without opening anything
            assert (f"at {one['taken'][0]} of {one['taken'][1]}; "
                f"best distinguished by {one['apart']}") in article.text, article.text
    assert any(one.get("apart") for one in data["units"])
    page.go("unit=" + unit["code"])
    red, green, blue = (int(unit["moist"][1][i:i + 2], 16) for i in (1, 3, 5))
    painted = page.js("return [...document.querySelectorAll('#card .chips rect')].map(r => r.style.fill)")
    assert f"rgb({red}, {green}, {blue})" in painted, painted
    # the ellipse lies within the triangle
    points = page.js("const p = [...document.querySelectorAll('#card svg polygon')].at(-1).points; return [...p].map(q "
        "=> [q.x, q.y])")
    equal(len(points), len(unit["ellipse"]) // 2)
    frame = page.js("const p = [...document.querySelectorAll('#card svg polygon')].at(-2).points; return [...p].map(q "
        "=> [q.x, q.y])")
    assert min(p[1] for p in frame) - 1 <= min(p[1] for p in points) and max(p[1] for p in points) <= max(p[1]
        for p in frame) + 1
    own = [i for i, c in enumerate(data["contacts"]) if data["units"].index(unit) in (c["a"], c["b"])]
    equal(len(page.all("#card a[href^='#contact=']")), min(12, len(own)), "contacts of the unit")
    page.shot("unit_card")
