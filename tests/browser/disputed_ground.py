"""Ground that a bunch of stops disputes stands among the first things that the page tells. The truth lies beside the survey: a patch of Ss that the draft
has as Ll; GEOS (through GDAL) judges how much of what is disputed lies on it."""
import json
import os

from osgeo import ogr

from browser_page import Page, data_of, equal, folder

ogr.UseExceptions()
data = data_of("many")
equal([(data["units"][d["drafted"]]["code"], data["units"][d["like"]]["code"]) for d in data["disputed"]], [("Ll", "Ss")])
truth = ogr.Open(os.path.join(os.environ["SUBCROP_SAMPLEDATA"], "many_stops", "truth", "errors.gpkg"))
patch = ogr.Geometry(ogr.wkbPolygon)
for row in truth.GetLayer(0):
    if row["kind"] == "relabelled":
        patch = patch.Union(row.GetGeometryRef().Buffer(0))
results = ogr.Open(os.path.join(folder, "many", "results.gpkg"))
found = results.GetLayerByName("disputed_ground").GetNextFeature()
ground = found.GetGeometryRef()
assert ground.Intersection(patch).Area() > 0.85 * ground.Area(), "much of it is drafted rightly"
assert ground.Intersection(patch).Area() > 0.6 * patch.Area(), "little of the patch was found"
assert found["probability"] >= 0.9

with open(os.path.join(folder, "many", "summary.json"), encoding="utf-8") as text:
    skill = json.load(text)["skill"]  # what `subcrop run --json` said
with Page("many") as page:
    listed = page.one("#card a[href='#ground=1']")
    equal(listed.text, "Ll")
    assert f"like Ss at {found['stops']} stops, probability {found['probability']:.2f}" in page.text("#card")
    listed.click()
    equal(page.js("return location.hash"), "#ground=1")
    assert found["reason"] in page.text("#card") and "Perhaps an unmapped body of Ss" in found["reason"]
    # Tile, chapter and screen count the same stops.
    equal(page.all("#figures .value")[3].text.replace("\u00a0", " "), f"{100 * skill['accuracy']:.0f} %")
    right = sum(bin[4] for bin in data["calibration"])
    equal(right, round(skill["accuracy"] * skill["stops"]))
    page.wait(lambda: f"named the right unit at {right} of them" in page.text("#trust-body"))
    page.shot("disputed_ground")
