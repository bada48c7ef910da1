"""Where contacts move, the page says so, how far, and draws it. The truth of the survey: both contacts 120 m east."""
import re

from browser_page import Page, data_of, equal

data = data_of("moved")
assert data["moved"], "the field moved nothing: this survey was made to move"
with Page("moved") as page:
    moving = [contact for contact in data["contacts"] if contact["review"] == "shift"]
    equal(page.text("#figures .value"), str(len(moving)))
    assert f"{len(moving)} of {len(data['contacts'])} contacts should move" in page.text("#answer"), page.text("#answer")
    for contact in moving:
        assert 60 < abs(contact["shift"]) < 180, f"a shift of 120 m was told as {contact['shift']}"
        assert contact["arrows"] and contact["now"] and contact["zone"]
    assert page.one('input[data-layer="relocated"]').is_selected()
    index = data["contacts"].index(moving[0])
    page.go(f"contact={index + 1}")
    card = page.text("#card")
    told = re.search(r"Mean shift(\d+) m to the east, standard error (\d+) m", card)
    assert told, card
    equal(told[1], str(round(abs(moving[0]["shift"]))))
    page.shot("moved_contact")
