"""Printed to PDF: every part is there, traverses drawn though never scrolled to, and not more pages than the matter asks for."""
import base64
import os
import re
import subprocess

from browser_page import Page, data_of, folder

data = data_of("moved")
with Page("moved") as page:
    printed = page.driver.execute_cdp_cmd("Page.printToPDF", {"printBackground": False, "paperWidth": 8.27, "paperHeight": 11.69})
    strips = page.js("return document.querySelectorAll('.traverse svg').length")
assert strips == len(data["traverses"]), f"{strips} of {len(data['traverses'])} traverses drawn"
path = os.path.join(folder, "moved.pdf")
with open(path, "wb") as file:
    file.write(base64.b64decode(printed["data"]))
pages = len(re.findall(rb"/Type\s*/Page\b", open(path, "rb").read()))
assert 3 <= pages <= 16, f"{pages} pages"
