"""Where contacts are misplaced the page says so first: along how much of them, by how far, how sure; and draws it.
The truth of the survey: both contacts 120 m east. Outside judge of the length: GEOS (through GDAL), by the part of
the drafted lines outside the zones of results.gpkg."""
import json
import os
import re

from osgeo import ogr

from browser_page import Page, data_of, equal, folder

ogr.UseExceptions()
data = data_of("moved")
assert data["moved"], "the field moved nothing: this survey was made to move"
file = ogr.Open(os.path.join(folder, "moved", "results.gpkg"))
zones = {row["contact"]: row.GetGeometryRef().Clone() for row in file.GetLayerByName("contact_zones")}
outside = drafted = told = 0
for row in file.GetLayerByName("contact_review"):
    drafted += row.GetGeometryRef().Length()
    outside += row.GetGeometryRef().Difference(zones[row.GetFID()]).Length()
    told += row["elsewhere_m"]
    assert 60 < row["elsewhere_by_m"] < 180, f"a shift of 120 m was told as {row['elsewhere_by_m']}"
# The zone has round ends and its width is taken across the moved line, not across the draft.
assert outside > 0.5 * drafted and abs(told - outside) < 0.06 * outside, (told, outside, drafted)
assert abs(data["elsewhere"]["length"] - told) < 1 and abs(data["elsewhere"]["of"] - drafted) < 1, (data["elsewhere"],
    told, drafted)

with open(os.path.join(folder, "moved", "summary.json"), encoding="utf-8") as text:
    summary = json.load(text)  # what `subcrop run --json` said
equal(data["elsewhere"]["headline"], summary["headline"], "page and screen")
with Page("moved") as page:
    equal(page.text("#answer b"), summary["headline"])
    assert re.fullmatch(r"Contacts are misplaced along \d\.\d of 4\.0 km, by \d+ m on average \(\d+ to \d+ m\)",
        page.text("#answer b")), page.text("#answer")
    assert "There the drawn line lies outside the 90\u00a0% zone" in page.text("#answer")
    links = page.js("return [...document.querySelectorAll('#answer a')].map(a => a.hash)")
    largest = data["elsewhere"]["order"][:3]
    equal(links[:len(largest)], [f"#contact={contact + 1}" for contact, _ in largest], "the largest stretches first")
    for contact in data["contacts"]:
        assert contact["now"] and contact["zone"] and all(part["arrows"] for part in contact["stretches"]
            if part["length"] > 500)
    assert page.one('input[data-layer="relocated"]').is_selected()
    page.one("#answer a").click()
    page.wait(lambda: page.text("#card h3").startswith("Contact "))
    card = page.text("#card").replace("\u00a0", " ")
    stretch = data["contacts"][largest[0][0]]["stretches"][largest[0][1]]
    assert f"{stretch['by']} ± {stretch['half']} m to the east" in card and "Misplaced along" in card, card
    assert re.search(r"Mean shift\d+ m to the east \(± \d+ m\)", card), card
    # The drafted line stands 120 m too far west and bedrock was observed at every third stop: nearly all stops between
    # the two lines support the western unit.
    told = re.search(r"Stops in between(\d+) of (\d+) between the drawn line and the new one support", card)
    assert told and int(told[1]) > 0.6 * int(told[2]) > 3, card
    assert "false" not in card and "undefined" not in card and "null" not in card, card
    page.shot("moved_contact")
with Page("sample") as page:  # nothing moves: said plainly
    equal(page.text("#answer b"), "No contact needs to move, as far as these stops can tell")
data = data_of("many")
in_parts = 0
with Page("many", width=1280) as page:
    # Beside the map stands the sum over a contact's stretches; where that is not the headline's largest one, it says
    # so.
    listed = page.js("return [...document.querySelectorAll('#card a[href^=\"#contact=\"]')].map(a => "
        "[Number(a.hash.split('=')[1]) - 1, a.nextSibling.textContent])")
    assert listed
    for contact, words in listed:
        parts = data["contacts"][contact].get("stretches") or []
        if not parts:
            assert words.startswith("may not exist" if "disputed" in data["contacts"][contact] else "in doubt: "), words
        equal(re.findall(r" in (\d+) parts", words), [str(len(parts))] if len(parts) > 1 else [], words)
        in_parts += len(parts) > 1
    assert in_parts, "no contact here is misplaced in several parts"
    # The tile counts those contacts, the rest of them are in doubt.
    whole = [i for i, c in enumerate(data["contacts"]) if c.get("stretches")]
    doubt = [i for i, c in enumerate(data["contacts"]) if c["review"] == "doubtful" and i not in whole]
    tile = page.all("#figures > div")[0].text
    assert tile.startswith(f"{len(whole)}\n") and f"{len(doubt)} more in doubt" in tile, tile
    shown = int(re.search(r"and (\d+) more", page.text("#card"))[1]) + 8
    equal(shown, len(whole) + len(doubt), "contacts to look at")
    # What a contact's stretches say is not said again as a mean over its whole length, where they may cancel.
    several = next(i for i in whole if len(data["contacts"][i]["stretches"]) > 1)
    page.go(f"contact={several + 1}")
    assert "Mean shift" not in page.text("#card") and "Misplaced along" in page.text("#card")
    note = page.text("#contacts-body > p").replace("\u00a0", " ")
    assert note.startswith("Where a contact is misplaced, the drawn line lies outside"), note
    # The largest stretch stands on one line, and the table needs no scrolling sideways.
    tall = page.js("return [...document.querySelectorAll('td.stretch')].map(d => { const r = document.createRange(); "
        "r.selectNodeContents(d); return new Set([...r.getClientRects()].map(b => Math.round(b.top))).size; })")
    assert len(tall) > 5 and max(tall) == 1, tall
    wide = page.js("const w = document.querySelector('#contacts-body .wide'); return w.scrollWidth - w.clientWidth")
    assert wide <= 0, f"the table of contacts is {wide} px too wide"
