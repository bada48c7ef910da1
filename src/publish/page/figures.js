// Pictures of soil: the profile column, the grain-size triangle and the sum of the evidence.
const zones = ["litter or moved by people", "topsoil", "subsoil", "parent material", "rock"];

/// The colour a horizon is painted in: its moist chip, else its dry one.
function paint(h) {
  if (h.m !== undefined) return data.colours[0][h.m];
  if (h.y !== undefined) return data.colours[1][h.y];
  return null;
}
/// Horizons with depths; those without are laid one below the other, 30 cm each.
function laidOut(stop) {
  let below = 0;
  return stop.h.map(h => {
    const top = h.t !== undefined ? h.t : below, bottom = h.b !== undefined ? Math.max(h.b, top) : top + 30;
    below = bottom;
    return { ...h, top, bottom, guessed: h.t === undefined || h.b === undefined };
  });
}

function hatch(id) {
  return svg("pattern", { id, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
    svg("path", { d: "M0,0V6", style: "stroke: var(--quiet); stroke-width: 1" }));
}

function profileColumn(stop) {
  const horizons = laidOut(stop);
  if (horizons.length === 0) return el("p", { class: "quiet" }, "No horizons were described here.");
  const deepest = Math.max(20, d3.max(horizons, h => h.bottom)), height = Math.max(150, 34 * horizons.length),
      width = 372;
  const y = d3.scale.linear().domain([0, deepest]).range([8, height + 8]);
  const parts = [svg("defs", {}, hatch("bare"))];
  for (const tick of y.ticks(5)) {
    parts.push(svg("path", { class: "axis", d: `M30,${y(tick)}H36` }),
        svg("text", { x: 26, y: y(tick) + 4, "text-anchor": "end", class: "quiet" }, tick));
  }
  let room = -Infinity;
  horizons.forEach(h => {
    const chip = paint(h), top = y(h.top), tall = Math.max(2, y(h.bottom) - top);
    parts.push(svg("rect", { x: 38, y: top, width: 64, height: tall,
        style: `fill: ${chip && chip[1] ? chip[1] : "url(#bare)"}; stroke: var(--ink); stroke-width: .7` }));
    if (h.m === undefined && h.y !== undefined) {
      parts.push(svg("text", { x: 70, y: top + tall / 2 + 4, "text-anchor": "middle",
          style: `fill: ${inkOn(chip[1] || "#ffffff")}` }, "dry"));
    }
    const at = Math.max(top + Math.min(tall / 2, 20) + 1, room + 16);
    room = at + 12;
    const colours = [h.m !== undefined && data.colours[0][h.m][0], h.y !== undefined && data.colours[1][h.y][0]
        + " dry"].filter(Boolean).join(", ");
    const rest = [h.x !== undefined && data.textures[h.x][0], h.f ? h.f + " % " + (h.k || "fragments") : h.k,
        h.e && "acid " + h.e].filter(Boolean).join(", ");
    parts.push(svg("text", { x: 112, y: at, style: "font-weight: 600" }, h.d || zones[h.z]),
      svg("text", { x: 166, y: at }, colours || "no colour"),
          svg("text", { x: 166, y: at + 13, class: "quiet" }, rest));
  });
  parts.push(svg("text", { x: 26, y: height + 22, "text-anchor": "end", class: "quiet" }, "cm"));
  return svg("svg", { viewBox: `0 0 ${width} ${Math.max(height + 26, room + 8)}`, role: "img",
    "aria-label": "Profile: "
        + horizons.map(h => `${h.top} to ${h.bottom} cm ${h.d || zones[h.z]} ${(paint(h) || [""])[0]} ${h.x !== undefined ? data.textures[h.x][0] : ""}`).join("; ") }, parts);
}

// Corners of the texture classes as sand and clay in percent (Soil Survey Manual, USDA Handbook 18, 2017).
const classes = { S: [100, 0, 85, 0, 90, 10], LS: [85, 0, 70, 0, 85, 15, 90, 10],
    SL: [70, 0, 50, 0, 43, 7, 52, 7, 52, 20, 80, 20, 85, 15],
  L: [43, 7, 23, 27, 45, 27, 52, 20, 52, 7], SIL: [50, 0, 20, 0, 8, 12, 0, 12, 0, 27, 23, 27, 43, 7],
      SI: [20, 0, 0, 0, 0, 12, 8, 12],
  SCL: [80, 20, 52, 20, 45, 27, 45, 35, 65, 35], CL: [45, 27, 20, 27, 20, 40, 45, 40],
      SICL: [20, 27, 0, 27, 0, 40, 20, 40],
  SC: [65, 35, 45, 35, 45, 55], SIC: [20, 40, 0, 40, 0, 60], C: [45, 40, 20, 40, 0, 60, 0, 100, 45, 55] };
const labelled = { S: [93, 4], LS: [81, 6], SL: [65, 11], L: [41, 18], SIL: [22, 14], SI: [7, 6], SCL: [59, 27],
    CL: [32, 33], SICL: [10, 33], SC: [51, 41], SIC: [7, 46], C: [22, 60] };

/// The grain-size triangle with its classes: where sand and clay lie in it, and its parts so far.
function triangleFrame() {
  const side = 250, high = side * Math.sqrt(3) / 2, left = 30, top = 12;
  const at = (sand, clay) => [left + side * ((100 - sand - clay) + clay / 2) / 100, top + high * (1 - clay / 100)];
  const outline = flat => {
    const points = [];
    for (let i = 0; i < flat.length; i += 2) points.push(at(flat[i], flat[i + 1]).map(v => v.toFixed(1)).join(","));
    return points.join(" ");
  };
  const parts = [];
  for (const [name, corners] of Object.entries(classes)) {
    parts.push(svg("polygon", { points: outline(corners), style: "fill: none; stroke: var(--rule); stroke-width: 1" }));
    const [x, y] = at(...labelled[name]);
    parts.push(svg("text", { x, y: y + 3, "text-anchor": "middle", class: "quiet", style: "font-size: 8.5px" }, name));
  }
  const bottom = top + high + 15;
  parts.push(svg("polygon", { points: outline([100, 0, 0, 0, 0, 100]), style: "fill: none; stroke: var(--ink)" }),
    svg("text", { x: left - 4, y: bottom, class: "quiet" }, "sand"),
        svg("text", { x: left + side, y: bottom, "text-anchor": "end", class: "quiet" }, "silt"),
    svg("text", { x: left + side / 2 + 10, y: top + 4, class: "quiet" }, "clay"));
  return { at, outline, parts, viewBox: `0 0 ${side + 2 * left} ${high + top + 22}` };
}

/// Where the subsoil of a unit lies in the triangle: half of its horizons within the ellipse.
function unitTriangle(index) {
  const u = data.units[index], { at, outline, parts, viewBox } = triangleFrame();
  if (!u.ellipse) return null;
  parts.push(svg("polygon",
      { points: outline(u.ellipse),
      style: `fill: ${u.fill}; fill-opacity: .45; stroke: var(--ink); stroke-width: 1.2` }));
  data.stops.forEach((s, i) => {
    if (shownUnit(s) !== index) return;
    for (const h of s.h) {
      if (h.x === undefined || h.z !== 2) continue;
      const t = data.textures[h.x], [x, y] = at(t[1], t[3]), [dx, dy] = scatter(i, t);
      parts.push(svg("circle", { cx: x + dx, cy: y + dy, r: 1.6, style: "fill: var(--ink); opacity: .5" }));
    }
  });
  return svg("svg", { viewBox, style: "max-width: 330px", role: "img",
      "aria-label": `Grain size of the subsoil over ${u.code}: ${u.textures}` }, parts);
}
/// Stops of one class share a place: a few steps apart, always the same, they can be seen as a cloud.
const scatter = (i, t) => t[4] ? [0, 0] : [(i * 7 % 13 - 6) * 0.9, (i * 5 % 11 - 5) * 0.9];

/// A sum of probabilities: "about 23"; as it is where it is whole.
const aboutCount = n => Number.isInteger(n) ? grouped(n) : n < 0.5 ? "under 1" : "about " + grouped(Math.round(n));

/// The commonest chips side by side, each as wide as its share, the middle one marked.
function chipRow(colour, state) {
  if (!colour) return null;
  const [middle, , chips, total] = colour, width = 320, shown = d3.sum(chips, c => c[2]);
  let x = 0;
  const parts = chips.flatMap(([name, paint, n]) => {
    const w = width * n / total, from = x;
    x += w;
    return [svg("rect", { x: from, y: 0, width: Math.max(1, w - 1), height: 22,
        style: `fill: ${paint}; stroke: var(--quiet); stroke-width: .5` },
        svg("title", {}, `${name}: ${percent(n / total)} of ${aboutCount(total)}`)),
      name === middle && svg("circle", { cx: from + w / 2, cy: 11, r: 3.5, style: `fill: ${inkOn(paint)}` })];
  });
  if (shown < total) parts.push(svg("rect", { x, y: 0.5, width: Math.max(1, width - x - 1), height: 21,
      style: "fill: none; stroke: var(--quiet); stroke-width: .7; stroke-dasharray: 2 3" },
      svg("title", {}, `other chips: ${percent((total - shown) / total)} of ${aboutCount(total)}`)));
  return el("figure", { class: "chips" },
      svg("svg", { viewBox: `0 0 ${width} 22`, role: "img", "aria-label": `${state}: `
      + chips.map(c => `${c[0]} ${percent(c[2] / total)}`).join(", ") + ` of ${aboutCount(total)}` }, parts),
    el("figcaption", { class: "quiet" }, `${state}, n = ${aboutCount(total)}: `,
        chips.slice(0, 3).map((c, i) => (i ? ", " : "") + c[0] + (c[0] === middle ? " (the middle)" : ""))));
}

function triangle(stop) {
  const own = stop.h.filter(h => h.x !== undefined);
  if (own.length === 0) return null;
  const { at, parts, viewBox } = triangleFrame();
  const of = stop.f !== undefined ? stop.f : stop.m;
  let others = 0;
  if (of !== undefined) {
    data.stops.forEach((s, i) => {
      if (s === stop || shownUnit(s) !== of) return;
      for (const h of s.h) {
        if (h.x === undefined || h.z !== 2) continue;
        const t = data.textures[h.x], [x, y] = at(t[1], t[3]), [dx, dy] = scatter(i, t);
        parts.push(svg("circle", { cx: x + dx, cy: y + dy, r: 1.8, style: "fill: var(--calm); opacity: .55" }));
        ++others;
      }
    });
  }
  own.forEach((h, i) => {
    const t = data.textures[h.x], [x, y] = at(t[1], t[3]);
    parts.push(svg("path", { d: "M0,-6L5.5,4H-5.5Z", transform: `translate(${x},${y})`,
        style: "fill: var(--warn); stroke: var(--paper); stroke-width: 1" }),
      svg("text", { x: x + 8, y: y + 4 + 11 * i * (i > 0 && own[i - 1].x === h.x ? 1 : 0),
          style: "font-weight: 600; paint-order: stroke; stroke: var(--paper); stroke-width: 3px" },
          h.d || zones[h.z]));
  });
  return el("div", {}, svg("svg", { viewBox, style: "max-width: 330px", role: "img",
    "aria-label": "Grain size: " + own.map(h => `${h.d || zones[h.z]} ${data.textures[h.x][0]}`).join(", ") }, parts),
    el("p", { class: "quiet" }, "Triangles: this stop. ", of === undefined ? ""
        : `Dots: subsoil at ${count(others, "stop", "stops")} over ${code(of)}, observed or ${firstMap ? "fitted" : "drawn"}. `,
      "A class by feel stands at the middle of its region."));
}

/// Kinds of evidence that say nothing at held-out stops and were given no weight.
const unusedEvidence = new Set(((data.run || {}).channels || []).filter(c => c.weight < 0.005).map(c => c.channel));

/// Bars one after the other, each beginning where the last ended, down to what they say together.
function evidenceBars(stop) {
  if (!stop.e) return null;
  const heard = stop.e.filter(([name]) => !unusedEvidence.has(name)),
      unused = stop.e.filter(([name]) => unusedEvidence.has(name));
  const parts = heard.map(([name, value, odds]) => ({ name: name || "allowance for transported soil", value, odds }))
    .sort((a, b) => Math.abs(b.odds) - Math.abs(a.odds));
  let low = 0, high = 0, run = 0;
  for (const p of parts) { p.from = run; run += p.odds; low = Math.min(low, run); high = Math.max(high, run); }
  const room = Math.max(high - low, 0.3), x = v => 100 * (v - low + room * 0.02) / (room * 1.04);
  const bar = (from, to) => {
    const i = el("i", { class: to < from ? "against" : "" });
    i.style.left = x(Math.min(from, to)) + "%";
    i.style.width = Math.abs(x(to) - x(from)) + "%";
    const zero = el("b", {});
    zero.style.left = x(0) + "%";
    return el("div", { class: "track", "aria-hidden": "true" }, i, zero);
  };
  const name = p => [p.name, p.value ? ": " + p.value : ""];
  return el("div", { class: "evidence" },
    el("div", { class: "ends" }, el("span", {}, "← for " + code(stop.o)), el("span", {}, "for " + code(stop.f) + " →")),
    parts.map(p => el("div", { class: "row" }, el("span", { class: "name" }, name(p)),
        el("span", { class: "number" }, oddsWords(stop, p.odds)), bar(p.from, p.from + p.odds))),
    el("div", { class: "row total" }, el("span", { class: "name" }, "All together"),
        el("span", { class: "number" }, oddsWords(stop, stop.et)), bar(0, stop.et)),
    unused.map(([kind, value]) => el("div", { class: "row unused" },
        el("span", { class: "name" }, name({ name: kind, value })),
        el("span", { class: "number" }, "not used: no help at hidden stops"))));
}
/// "4 to 1 for Kb" of log10 odds.
function oddsWords(stop, log10) {
  const odds = Math.pow(10, Math.abs(log10)), favoured = log10 >= 0 ? stop.f : stop.o;
  return odds < 1.05 ? "even"
      : `${odds > 1000 ? "over 1000" : odds < 9.95 ? odds.toFixed(1) : Math.round(odds)} to 1 for ${code(favoured)}`;
}
