"""Slips of the pen that every field book holds. Each returns a line for the README."""


def pick(rng, rows, wanted):
    fits = [i for i, row in enumerate(rows) if wanted(row) and not row.get("_slip")]
    i = fits[int(rng.integers(len(fits)))]
    rows[i]["_slip"] = True
    return i, rows[i]


def make(rng, stops, horizons):
    """Changes the rows in place; stops and horizons are lists of dicts of text. Returns [(table, row, what)], rows from 1."""
    told = []

    def tell(table, i, what):
        told.append([table, rows_of[table][i], what])

    rows_of = {"stops.csv": stops, "horizons.csv": horizons}

    def fractions(row):
        return "sand_pct" in row

    i, row = pick(rng, horizons, lambda h: h.get("colour_moist", "").startswith("10YR 5/"))
    row["colour_moist"] = row["colour_moist"].replace("10YR", "10XR")
    tell("horizons.csv", i, f"colour `{row['colour_moist']}`: there is no hue XR")
    for old, new in (("7.5YR", "7.5 yr"), ("10YR", "10yr")):
        i, row = pick(rng, horizons, lambda h: h.get("colour_moist", "").startswith(old + " 4/"))
        row["colour_moist"] = row["colour_moist"].replace(old, new).replace("10yr ", "10yr") + " m"
        tell("horizons.csv", i, f"colour written `{row['colour_moist']}` (readable)")
    for total in (93, 112):
        i, row = pick(rng, horizons, fractions)
        silt = float(row["silt_pct"]) + total - 100
        if silt < 0:
            row["sand_pct"], silt = f"{float(row['sand_pct']) + silt:.1f}", 0
        row["silt_pct"] = f"{silt:.1f}"
        tell("horizons.csv", i, f"sand, silt and clay sum to {total}")
    i, row = pick(rng, horizons, lambda h: h["stop"].startswith("0") and h["designation"][:1] == "B")
    row["stop"] = "O" + row["stop"][1:]
    tell("horizons.csv", i, f"stop `{row['stop']}` with a letter O for the zero: no such stop")
    i, row = pick(rng, horizons, lambda h: h["designation"][:1] == "B" and h.get("bottom_cm"))
    row["top_cm"], row["bottom_cm"] = row["bottom_cm"], row["top_cm"]
    tell("horizons.csv", i, f"top {row['top_cm']} cm lies below bottom {row['bottom_cm']} cm")
    i, row = pick(rng, horizons, lambda h: h.get("texture") and h["designation"][:1] in "BC")
    row["texture"] = "loamy silt"
    tell("horizons.csv", i, "texture `loamy silt` is no class")
    i, row = pick(rng, horizons, lambda h: h.get("fragments_pct") and h["designation"][:1] in "BC")
    row["fragments_pct"] = "140"
    tell("horizons.csv", i, "fragments 140 %")
    i, row = pick(rng, stops, lambda s: True)
    row["position_sd_m"] = ""
    tell("stops.csv", i, "no position error")
    i, row = pick(rng, stops, lambda s: s.get("slope_deg"))
    row["slope_deg"] = "n/a"
    tell("stops.csv", i, "slope `n/a`")
    rock = [s for s in stops if s.get("unit_seen")]
    if len(rock) > 3:
        i, row = pick(rng, stops, lambda s: s.get("unit_seen"))
        row["unit_seen"] = row["unit_seen"][0] + "q"
        tell("stops.csv", i, f"unit seen `{row['unit_seen']}` is not in the legend")
    i, row = pick(rng, stops, lambda s: not s.get("unit_seen"))
    row["lon"] = row["lat"] = ""
    tell("stops.csv", i, "no coordinates")
    i, row = pick(rng, stops, lambda s: not s.get("unit_seen"))
    stops.insert(i + 1, dict(row))
    tell("stops.csv", i + 1, f"stop `{row['stop']}` entered twice")
    for told_row in told:
        told_row[1] = 1 + next(k for k, r in enumerate(rows_of[told_row[0]]) if r is told_row[1])
    return told
