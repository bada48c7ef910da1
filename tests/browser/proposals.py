"""Proposals come first, each with a picture of the area it is about; decisions stay in the browser until they are
saved as decisions.csv; the program reads that file, and the page of the next run knows them."""
import csv
import json
import os
import re
import shutil
import subprocess
import time

from browser_page import Page, data_of, equal, folder
from selenium.webdriver.common.keys import Keys

FIGURES = """return [...document.querySelectorAll('#proposals-body article')].map(a =>
    ({ id: a.dataset.id, words: a.textContent,
    warn: [...a.querySelectorAll('svg path')].filter(p => p.style.strokeWidth === '1.6').map(p => p.getAttribute('d')),
    bar: a.querySelector('svg > path:last-of-type').getAttribute('d'),
    length: a.querySelector('svg > text:last-of-type').textContent,
    chosen: a.querySelector('input:checked').value, high: a.querySelector('svg').getBoundingClientRect().height }))"""


def choose(page, identifier, decision, where="#proposals-body"):
    page.js(f"document.querySelector('{where} input[data-of=\"{identifier}\"][value={decision}]').click()")


def area_of(path):
    total = 0
    for ring in path.split("Z"):
        corners = [tuple(map(float, pair.split(","))) for pair in re.findall(r"-?[\d.]+,-?[\d.]+", ring)]
        total += sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, corners[1:] + corners[:1])) / 2
    return abs(total)


def in_metres(text):
    number, unit = re.fullmatch(r"([\d.]+)\s(k?m)", text).groups()
    return float(number) * (1000 if unit == "km" else 1)


data = data_of("many")
proposals = data["proposals"]
assert len(proposals) > 6, len(proposals)
equal(data["to_decide"]["open"], sum(p["decision"] == "open" for p in proposals))
with Page("many") as page:
    sections = page.js("return [...document.querySelectorAll('main > section')].map(s => s.id)")
    equal(sections[:3], ["ground", "proposals", "contacts"], "proposals are the first list")
    figures = page.js(FIGURES)
    equal([f["id"] for f in figures], [p["id"] for p in proposals[:6]], "in the order of the layer")
    # What is hatched is as large as the proposal says, wherever the picture holds all of it.
    whole = 0
    for figure, p in zip(figures, proposals):
        assert p["what"] in figure["words"] and figure["chosen"] == "open" and figure["high"] > 100, figure
        per_metre = (float(re.fullmatch(r"M8,\d+V\d+H([\d.]+)V\d+", figure["bar"])[1]) - 8) / in_metres(
            figure["length"])
        drawn = sum(area_of(path) for path in figure["warn"]) / per_metre ** 2 / 1e4
        assert drawn <= 1.03 * p["ha"] + 0.2, (drawn, p["id"], p["ha"])
        whole += abs(drawn - p["ha"]) < 0.03 * p["ha"]
    assert whole >= 2, "of too few pictures the area could be compared"
    page.js("document.querySelector('#proposals-body > button').click()")
    equal(len(page.js(FIGURES)), data["to_decide"]["open"], "all open ones on request")
    first = proposals[0]["id"]
    page.js("document.querySelector('#proposals-body article a').click()")
    page.wait(lambda: page.text("#card h3") == "Proposal " + first)
    choose(page, first, "later", "#card")
    equal(page.js(FIGURES)[0]["chosen"], "later", "the card and the list say the same")
    assert "1 decision is not saved yet" in page.text("#decisions-bar"), page.text("#decisions-bar")
    choose(page, first, "open")
    equal(page.js("return document.getElementById('decisions-bar').hidden"), True, "nothing is left to save")
    # By keyboard: the buttons are radio buttons, their focus can be seen.
    page.js(f"document.querySelector('#proposals-body input[data-of=\"{first}\"]:checked').focus()")
    page.press(Keys.ARROW_RIGHT)
    equal(page.js(FIGURES)[0]["chosen"], "accepted")
    outline = page.js("return getComputedStyle(document.activeElement.nextElementSibling).outlineStyle")
    assert outline != "none", "the focus cannot be seen"
    page.js("document.querySelector('#proposals').scrollIntoView()")
    page.shot("proposals")
with Page("many", width=390, height=844) as page:
    sideways = page.js("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert sideways <= 0, f"the page is {sideways} px too wide"
    small = page.js("return [...document.querySelectorAll('.decide label')].map(l => l.getBoundingClientRect().height)")
    assert min(small) >= 24, f"buttons {min(small)} px high"

# Round by round on a survey of its own: decide in the page, save, run, look again.
own = os.path.join(folder, "decided")
shutil.rmtree(own, ignore_errors=True)
shutil.copytree(os.path.join(folder, "moved"), own)
saved = os.path.join(own, "downloads")
os.makedirs(saved)
program = os.environ["SUBCROP_PROGRAM"]
survey = os.path.join(own, "survey.json")
subprocess.run([program, "run", survey, "--quiet"], check=True)
before = data_of("decided")["proposals"]
assert len(before) >= 2, before
one, two = before[0]["id"], before[1]["id"]
why = 'shaly chips, "loose", at the gate'
with Page("decided") as page:
    page.driver.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": saved})
    choose(page, one, "accepted")
    choose(page, two, "rejected")
    page.js("const w = document.querySelector(`#proposals-body .why[data-of=\"${arguments[0]}\"]`); w.value = "
        "arguments[1];"
            "w.dispatchEvent(new Event('change'))", two, why)
    page.driver.refresh()
    page.wait(lambda: page.js("return document.documentElement.dataset.drawn === 'yes'"))
    chosen = {f["id"]: f["chosen"] for f in page.js(FIGURES)}
    equal((chosen[one], chosen[two]), ("accepted", "rejected"), "kept by the browser")
    assert "2 decisions are not saved yet" in page.text("#decisions-bar")
    page.js("document.querySelector('#decisions-bar button').click()")
    page.wait(lambda: os.path.exists(os.path.join(saved, "decisions.csv")))
    page.wait(lambda: "2 decisions saved" in page.text("#decisions-bar"))
    time.sleep(0.2)
    with open(os.path.join(saved, "decisions.csv"), encoding="utf-8", newline="") as file:
        rows = {row["id"]: row for row in csv.DictReader(file)}
    equal({i: (r["decision"], r["why"]) for i, r in rows.items()}, {one: ("accepted", ""), two: ("rejected", why)})
    listed = json.loads(subprocess.run([program, "decide", survey, "--from", os.path.join(saved, "decisions.csv"),
        "--json"], check=True,
                                       capture_output=True).stdout)
    equal(listed["taken"], 2, "decisions that the program took")
    subprocess.run([program, "run", survey, "--quiet"], check=True)
    page.driver.refresh()
    page.wait(lambda: page.js("return document.documentElement.dataset.drawn === 'yes'"))
    equal(page.js("return document.getElementById('decisions-bar').hidden"), True,
        "the run knows them: nothing is left to save")
    table = page.text("#proposals-body table")
    assert why in table and one in table and two in table, table
after = {p["id"]: p for p in data_of("decided")["proposals"]}
equal((after[one]["decision"], after[two]["decision"], after[two]["why"]), ("accepted", "rejected", why))
