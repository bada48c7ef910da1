"""A report open in headless Chromium. Leaving the `with` fails where the page wrote an error to the console or asked
any network for anything."""
import json
import os
import sys
import tempfile
import time

from selenium import webdriver
from selenium.webdriver.chrome.service import Service

folder = os.environ["SUBCROP_BROWSER_FOLDER"]


def report(name):
    return os.path.join(folder, name, "report.html")


def data_of(name):
    """The data of a report, read from the file and not through the page."""
    text = open(report(name), encoding="utf-8").read()
    begin = text.index('id="data">') + len('id="data">')
    return json.loads(text[begin:text.index("</script", begin)])


class Page:
    def __init__(self, name, width=1366, height=900, fragment="", dark=False, file="report.html"):
        self.file = file
        self.profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        options = webdriver.ChromeOptions()
        for argument in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                         "--disable-background-networking", "--disable-component-update", "--disable-sync",
                         "--disable-dev-shm-usage", f"--window-size={width},{height}",
                         "--user-data-dir=" + self.profile.name):
            options.add_argument(argument)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        self.driver = webdriver.Chrome(service=Service("/usr/bin/chromedriver"), options=options)
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                                    {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600})
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [
            {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
            # no smooth scrolling: places can be measured at once
            {"name": "prefers-reduced-motion", "value": "reduce"}]})
        self.driver.get_log("performance")  # what the browser asked for on its own
        self.driver.get("file://" + os.path.join(os.path.dirname(report(name)), file) + fragment)
        if file == "report.html":  # a chapter has no script
            self.wait(lambda: self.js("return document.documentElement.dataset.drawn === 'yes'"))

    def __enter__(self):
        return self

    def __exit__(self, kind, value, trace):
        try:
            if kind is None:
                self.check_quiet()
        finally:
            self.driver.quit()
            self.profile.cleanup()

    def check_quiet(self):
        said = [entry["message"] for entry in self.driver.get_log("browser")]
        assert not said, f"the console says: {said}"
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                url = message["params"]["request"]["url"]
                own = url.startswith("data:") or url.startswith("file://" + folder) and self.file in url
                assert own, f"the page asked for {url}"

    def js(self, script, *arguments):
        return self.driver.execute_script(script, *arguments)

    def one(self, css):
        return self.driver.find_element("css selector", css)

    def all(self, css):
        return self.driver.find_elements("css selector", css)

    def text(self, css):
        return self.js("return document.querySelector(arguments[0]).textContent", css)

    def wait(self, done, seconds=8):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if done():
                return
            time.sleep(0.03)
        raise AssertionError("waited in vain")

    def go(self, fragment):
        self.js("location.hash = arguments[0]", fragment)
        time.sleep(0.1)

    def shot(self, name):
        pictures = os.path.join(folder, "screenshots")
        os.makedirs(pictures, exist_ok=True)
        self.driver.save_screenshot(os.path.join(pictures, name + ".png"))

    def press(self, *keys):
        webdriver.ActionChains(self.driver).send_keys(*keys).perform()

    def click_at(self, x, y):
        for kind in ("mouseMoved", "mousePressed", "mouseReleased"):
            self.driver.execute_cdp_cmd("Input.dispatchMouseEvent",
                                        {"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1})
        time.sleep(0.15)


def equal(found, wanted, what=""):
    if found != wanted:
        sys.exit(f"{what}: found {found!r}, wanted {wanted!r}")
