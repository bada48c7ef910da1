"""The codes of the field sheet, read from the printed pages by zbarimg: each is its stop's place, and wide enough."""
import json
import os
import re
import shutil
import subprocess
import sys

program, survey, folder = sys.argv[1:]
DOTS = 254  # to the inch: ten to the millimetre
if shutil.which("zbarimg") is None:
    print("zbarimg is not installed (Debian package zbar-tools)")
    sys.exit(77)
versions = subprocess.run([program, "--version"], capture_output=True, text=True, check=True).stdout
if "no QR codes" in versions:
    print("built without libqrencode")
    sys.exit(77)


def widths(page):
    """Of the codes of a page, in dots: the outer edges of their upper squares, each 7 of 25 modules wide."""
    data = open(page, "rb").read()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", data)
    across, down = int(head[1]), int(head[2])
    found = set()
    for row in range(down):
        line = data[head.end() + across * row:head.end() + across * (row + 1)]
        squares = [run for run in re.finditer(rb"[\x00-\x60]+", line) if 38 <= run.end() - run.start() <= 60]
        for left, right in zip(squares, squares[1:]):
            whole, square = right.end() - left.start(), right.end() - right.start()
            if abs(whole * 7 / 25 - square) <= 2 and abs(left.end() - left.start() - square) <= 1:
                found.add(whole)
    return found


said = json.loads(subprocess.run([program, "field", survey, "-o", folder, "--from", "05-05", "--json"],
    capture_output=True, text=True, check=True).stdout)
subprocess.run(["pdftoppm", "-r", str(DOTS), "-gray", os.path.join(folder, "sheet.pdf"), os.path.join(folder, "code")],
    check=True)
expected = [f"geo:{stop['latitude']:.6f},{stop['longitude']:.6f}" for stop in said["stops"]]
found = []
for name in sorted(name for name in os.listdir(folder) if re.fullmatch(r"code-\d+\.pgm", name)):
    page = os.path.join(folder, name)
    run = subprocess.run(["zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", page], capture_output=True,
        text=True)
    assert run.returncode in (0, 4), run.stderr  # 4: no code on this page
    codes = run.stdout.split()
    found += codes
    wide = widths(page)
    assert (not codes) == (not wide), (name, codes, wide)
    assert all(150 <= width <= 170 for width in wide), f"{name}: codes of {sorted(wide)} tenths of a millimetre"
assert len(expected) >= 2 and sorted(found) == sorted(expected), (found, expected)
