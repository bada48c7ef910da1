"""The table of contacts: the most doubtful first, sorted by any head, and shown on the map."""
from browser_page import Page, data_of, equal

data = data_of("sample")
rank = {"shift": 0, "doubtful": 1, "supported": 2, "untested": 3}
ROWS = "return [...document.querySelectorAll('#contacts-body tbody tr')].map(r => [...r.cells].map(c => c.textContent))"
with Page("sample") as page:
    rows = page.js(ROWS)
    words = {"should move": 0, "in doubt": 1, "supported": 2, "too few stops to test": 3}
    order = [words[row[1]] for row in rows]
    equal(order, sorted(order), "doubt first")
    page.js("[...document.querySelectorAll('#contacts-body button')].at(-1).click()")  # show all
    equal(len(page.js(ROWS)), len(data["contacts"]), "all contacts")
    equal(len({row[0] for row in page.js(ROWS)}), len(data["contacts"]), "no two contacts are told alike")
    heads = page.js("return [...document.querySelectorAll('#contacts-body th')].map(t => t.textContent)")
    length = heads.index("Length, m")
    button = page.all("#contacts-body th")[length].find_element("css selector", "button")
    page.js("arguments[0].scrollIntoView({block: 'center'})", button)
    button.click()
    lengths = [int(row[length].replace("\u2009", "").replace(" ", "").replace("\u202f", "").replace("\u00a0", ""))
        for row in page.js(ROWS)]
    equal(lengths, sorted(lengths, reverse=True), "longest first")
    equal(page.all("#contacts-body th")[length].get_attribute("aria-sort"), "descending")
    button.click()
    lengths = [int("".join(ch for ch in row[length] if ch.isdigit())) for row in page.js(ROWS)]
    equal(lengths, sorted(lengths), "shortest first")
    first = page.js("return Number(document.querySelector('#contacts-body tbody tr').dataset.row)")
    page.js("document.querySelector('#contacts-body tbody tr a').click()")
    equal(page.js("return location.hash"), f"#contact={first + 1}")
    names = [data["units"][data["contacts"][first][side]]["code"] for side in "ab"]
    # brought into view
    page.wait(lambda: 0 <= page.js("return document.getElementById('card').getBoundingClientRect().top") < 500)
    equal(page.text("#card h3").replace("\u00a0", " "), "Contact " + " | ".join(names) + f" no. {first + 1}",
        "its number, for others part the same units")
