"""Everything by keyboard: find a stop, go on to the next, switch a layer, zoom, sort; the focus can always be seen."""
import time

from browser_page import Page, data_of, equal
from selenium.webdriver.common.keys import Keys

data = data_of("sample")
FOCUS = "const a = document.activeElement; return [a.id, a.tagName, a.textContent.slice(0, 40), a.dataset.layer || '']"


def tab_to(page, wanted, most=60):
    for _ in range(most):
        page.press(Keys.TAB)
        at = page.js(FOCUS)
        style = page.js("const s = getComputedStyle(document.activeElement); return [s.outlineStyle, s.outlineWidth]")
        assert style[0] != "none" and style[1] != "0px", f"the focus on {at} cannot be seen"
        if wanted(at):
            return at
    raise AssertionError("not reached by Tab")


with Page("sample") as page:
    tab_to(page, lambda at: at[3] == "zones")
    page.press(Keys.SPACE)
    equal(page.js("return document.activeElement.checked"), False, "layer switched by the space bar")
    tab_to(page, lambda at: at[0] == "find-stop")
    wanted = data["stops"][40]["id"]
    page.press(wanted, Keys.ENTER)
    page.wait(lambda: "Stop " + wanted in page.text("#card"))
    equal(page.js(FOCUS)[0], "card", "focus after finding a stop")
    tab_to(page, lambda at: at[2] == "stop after it")
    page.press(Keys.ENTER)
    page.wait(lambda: "Stop " + data["stops"][41]["id"] in page.text("#card h3"))
    page.press(Keys.ESCAPE)  # back to the lists
    page.wait(lambda: "Stops that conflict" in page.text("#card") and "Stop "
        + data["stops"][41]["id"] not in page.text("#card h3"))
    equal(page.js("return location.hash + document.activeElement.id"), "card", "the focus goes to the lists")
    page.js("document.getElementById('map').focus({preventScroll: true})")
    width = page.js("return document.querySelector('.leaflet-control-scale-line').textContent")
    for _ in range(3):
        page.press("+")
        time.sleep(0.1)
    assert page.js("return document.querySelector('.leaflet-control-scale-line').textContent") != width, (
        "plus does not zoom")
    tab_to(page, lambda at: at[1] == "BUTTON" and at[2] == "Stops for", most=120)
    page.press(Keys.ENTER)
    equal(page.js("return document.activeElement.closest('th').getAttribute('aria-sort')"), "descending")
