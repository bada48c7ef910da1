"""An area that a cluster of stops disputes stands among the first things that the page tells. The truth lies beside
the survey: a patch of Ss that the draft has as Ll; GEOS (through GDAL) judges how much of what is disputed lies on
it."""
import json
import os

from osgeo import ogr

from browser_page import Page, data_of, equal, folder

ogr.UseExceptions()
data = data_of("many")
equal([(data["units"][d["drafted"]]["code"], data["units"][d["like"]]["code"]) for d in data["disputed"]],
    [("Ll", "Ss")])
truth = ogr.Open(os.path.join(os.environ["SUBCROP_SAMPLEDATA"], "many_stops", "truth", "errors.gpkg"))
patch = ogr.Geometry(ogr.wkbPolygon)
for row in truth.GetLayer(0):
    if row["kind"] == "relabelled":
        patch = patch.Union(row.GetGeometryRef().Buffer(0))
results = ogr.Open(os.path.join(folder, "many", "results.gpkg"))
found = results.GetLayerByName("disputed_area").GetNextFeature()
ground = found.GetGeometryRef()
assert ground.Intersection(patch).Area() > 0.85 * ground.Area(), "much of it is drawn rightly"
assert ground.Intersection(patch).Area() > 0.6 * patch.Area(), "little of the patch was found"
assert found["probability"] >= 0.9
p_words = "over\u00a00.99" if found["probability"] > 0.995 else f"{found['probability']:.2f}"

with open(os.path.join(folder, "many", "summary.json"), encoding="utf-8") as text:
    skill = json.load(text)["skill"]  # what `subcrop run --json` said
with Page("many") as page:
    listed = page.one("#card a[href='#ground=1']")
    equal(listed.text, "Ll")
    assert (f"like Ss at {data['disputed'][0]['fit']} of {found['stops']} stops, "
        f"probability {p_words}") in page.text("#card")
    listed.click()
    equal(page.js("return location.hash"), "#ground=1")
    assert found["reason"] in page.text("#card") and "Perhaps an unmapped body of Ss" in found["reason"]
    # It stands in the first sentence, and its own stops on its card.
    hectares = round(found["area_m2"] / 1e4)
    assert (f"1 area is disputed: {hectares}\u00a0ha drawn as Ll, probably Ss "
        f"({p_words}).") in page.text("#answer"), page.text("#answer")
    assert (f"Bedrock observed in disputed areas would settle more: {hectares}\u00a0ha drawn as Ll."
        in page.text("#next-body"))
    middle = page.text("#card")
    assert "Bedrock of it observed" in middle and "What would settle it" in middle
    inside = 0
    for stop in page.js(
        "return [...document.querySelectorAll('#card .stops-near a[href^=\"#stop=\"]')].map(a => a.textContent)"):
        row = next(s for s in data["stops"] if s["id"] == stop)
        place = ogr.CreateGeometryFromWkt(f"POINT({data['origin'][0] + row['x']} {data['origin'][1] + row['y']})")
        assert ground.Buffer(1).Contains(place), stop
        inside += 1
    assert inside >= 0.8 * found["stops"], inside
    # A stop in it whose own notes support the draft says that its neighbours outweigh them.
    outvoted = [s for s in data["stops"] if s.get("pd") and s["v"] == 1 and s["et"] < -0.02]
    assert outvoted and all("but the stops around it support Ss" in s["r"] for s in outvoted), outvoted
    assert all("but the stops around it" not in s["r"] for s in data["stops"] if not s.get("pd"))
    # How often the draft shows the observed bedrock stands beside how often the soil did.
    seen = [s for s in data["stops"] if "se" in s and "m" in s]
    share = round(100 * sum(s["se"] == s["m"] for s in seen) / len(seen))
    assert f"the draft: {share}\u00a0%" in page.text("#figures"), page.text("#figures")
    # Its edge with Ss is not there if the dispute is right: it is told so, not as a misplaced contact. GEOS judges that
    # it is that edge.
    edges = [i for i, c in enumerate(data["contacts"]) if c.get("disputed") == 0]
    assert edges
    drafted = {row.GetFID(): row.GetGeometryRef().Clone() for row in results.GetLayerByName("contact_review")}
    for i in edges:
        assert drafted[i + 1].Intersection(ground.Buffer(200)).Length() > 0.5 * drafted[i + 1].Length()
        equal(data["contacts"][i]["stretches"], [])
        equal(data["contacts"][i]["existence"], "questionable")
        assert f"#contact={i + 1}" in page.js(
            "return [...document.querySelectorAll('#card .facts a')].map(a => a.hash)")
    page.js("document.querySelector('#card .facts a[href^=\"#contact=\"]').click()")
    alike = sum({c["a"], c["b"]} == {data["contacts"][edges[0]]["a"], data["contacts"][edges[0]]["b"]}
        for c in data["contacts"])
    page.wait(lambda: page.text("#card h3").replace("\u00a0", " ") == "Contact Ll | Ss"
        + (f" no. {edges[0] + 1}" if alike > 1 else ""))
    assert "May not exist." in page.text("#card") and "it is Ss, as on the other side" in page.text("#card"), page.text(
        "#card")
    assert "Misplaced along" not in page.text("#card") and "Mean shift" not in page.text("#card")
    # Back to the lists by the button.
    page.one("#card .back button").click()
    equal(page.js("return location.hash"), "")
    assert "Contacts to look at" in page.text("#card")
    # Tile, chapter and screen count the same stops.
    equal(page.all("#figures .value")[3].text.replace("\u00a0", " "), f"{100 * skill['accuracy']:.0f} %")
    right = sum(bin[4] for bin in data["calibration"])
    equal(right, round(skill["accuracy"] * skill["stops"]))
    page.wait(lambda: f"named the right unit at {right} of them" in page.text("#trust-body"))
    page.shot("disputed_area")
