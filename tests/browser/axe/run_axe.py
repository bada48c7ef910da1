"""Runs axe-core over reports, in the light and in the dark, wide and narrow, and with a card open, and over
chapters: run_axe.py AXE.js REPORT... Ends with 1 where anything is wrong. Not part of the tests: axe-core is not in
Debian."""
import json
import os
import sys

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
axe, reports = open(sys.argv[1], encoding="utf-8").read(), [os.path.abspath(path) for path in sys.argv[2:]]
os.environ["SUBCROP_BROWSER_FOLDER"] = os.path.dirname(os.path.dirname(reports[0]))
import browser_page  # noqa: E402

RUN = """const done = arguments[arguments.length - 1];
axe.run(document, { resultTypes: ["violations"] }).then(
    r => done(r.violations.map(v => [v.id, v.help,
    v.nodes.slice(0, 4).map(n => n.target.join(" ") + " | " + (n.any[0] ? n.any[0].message : ""))])))
  .catch(e => done([["axe failed", String(e), []]]))"""
wrong = 0
for path in reports:
    browser_page.report = lambda _name, path=path: path
    chapter = os.path.basename(path) == "chapter.html"
    data = None if chapter else browser_page.data_of("")
    stop = None if chapter else next((s["id"] for s in data["stops"] if s["v"] == 1), data["stops"][0]["id"])
    for dark in (False, True):
        for width in (1280, 360):
            for fragment in ("",) if chapter else ("", "#stop=" + stop, "#unit=" + data["units"][-1]["code"],
                "#contact=1", "#next=1"):
                page = browser_page.Page("", width=width, dark=dark, fragment=fragment, file=os.path.basename(path))
                page.js("[...document.querySelectorAll('.traverse')].forEach(t => t.draw && t.draw())")
                page.driver.set_script_timeout(60)
                page.js(axe)
                for rule, words, places in page.driver.execute_async_script(RUN):
                    wrong += 1
                    print(f"{os.path.basename(os.path.dirname(path))} {'dark' if dark else 'light'} {width} "
                        f"{fragment or '(start)'}: {rule}: {words}")
                    for place in places:
                        print("    " + place)
                page.driver.quit()
print(f"{wrong} findings")
sys.exit(1 if wrong else 0)
