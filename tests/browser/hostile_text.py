"""Text that is markup or script is shown as text, wherever it stands: nothing of it runs."""
from browser_page import Page, data_of, equal

data = data_of("hostile")
raw = open(__import__("browser_page").report("hostile"), encoding="utf-8").read()
begin = raw.index('id="data">') + 10
block = raw[begin:raw.index("</script", begin)]
for sign in "<>&\u2028\u2029":
    assert sign not in block, f"{sign!r} stands in the data unescaped"
with Page("hostile") as page:
    equal(page.text("h1"), "</title><script>window.hurt=8</script>")
    for index, stop in enumerate(data["stops"]):
        page.go("stop=" + __import__("urllib.parse").parse.quote(stop["id"])) if index < 14 else None
        if index < 14:
            assert "Stop " + stop["id"] in page.text("#card"), stop["id"]
    for unit in data["units"]:
        page.go("unit=" + __import__("urllib.parse").parse.quote(unit["code"]))
        assert unit["code"] in page.text("#card h3")
    page.go("contact=1")
    page.js("[...document.querySelectorAll('.traverse')].forEach(t => t.draw())")
    # tooltips, for every path on the map: the cursor is led over its middle
    page.js("document.getElementById('map').scrollIntoView()")
    for stop in data["stops"][:14]:
        x, y = page.js("const m = document.getElementById('map'), p = m.pixelOf(arguments[0]), r = "
            "m.getBoundingClientRect();"
                       "return [r.left + p.x, r.top + p.y]", stop["id"])
        page.driver.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": "mouseMoved", "x": x, "y": y})
    assert page.js("return window.hurt === undefined"), "a text of the survey has run"
    equal(page.js(
        "return document.querySelectorAll('#card img, #card script, main img, main script, #map img').length"), 0,
        "elements made of text")
    equal(page.js("return getComputedStyle(document.body).display"), "block", "a unit's colour is no style sheet")
    page.shot("hostile")
