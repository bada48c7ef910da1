// The map: metres east and north of the origin on a plane, drawn on one canvas. No tiles.
const ground = { layers: {}, order: [], choose: () => {} };

const StopMark = L.CircleMarker.extend({
  // Leaflet's canvas asks each path to draw itself.
  _updatePath() {
    const renderer = this._renderer;
    if (!renderer._drawing || this._empty()) return;
    const c = renderer._ctx, s = this.options.sign;
    c.save();
    c.translate(this._point.x, this._point.y);
    c.globalAlpha = 1;
    const size = markSize(ground.map);
    if (size < 1) c.scale(s.edge ? 0.5 * (1 + size) : size, s.edge ? 0.5 * (1 + size) : size);
    if (s.d) { c.fillStyle = ground.colours[s.colour]; c.fill(s.filled); }
    if (s.s) { c.strokeStyle = ground.colours[s.edge || s.colour]; c.lineWidth = s.edge ? 1 : 1.5; c.stroke(s.drawn); }
    c.restore();
  },
});

/// Half of the stops have another no farther than this, metres: by the first few hundred where there are many.
const usualSpacing = (() => {
  const step = Math.ceil(data.stops.length / 300), nearest = [];
  for (let i = 0; i < data.stops.length; i += step) {
    let best = Infinity;
    for (let j = 0; j < data.stops.length; ++j) {
      const dx = data.stops[i].x - data.stops[j].x, dy = data.stops[i].y - data.stops[j].y, d = dx * dx + dy * dy;
      if (d < best && j !== i) best = d;
    }
    nearest.push(best);
  }
  return Math.sqrt(d3.median(nearest) || Infinity);
})();
/// Marks shrink where they would cover one another and hide the map, and grow as it is enlarged.
const markSizeAt = pixelsPerMetre => Math.max(0.5, Math.min(1, usualSpacing * pixelsPerMetre / 11));
const markSize = map => markSizeAt(map.options.crs.scale(map.getZoom()));

/// Leaflet takes a tooltip's string for markup; an element it takes as it is.
const tip = words => () => el("span", {}, words());

/// CSS pixels that an A4 sheet holds between its margins, and the map's colours there: the script hears of a print
/// before its style holds.
const paperWidth = 684;
const onPaper = { ink: "#000", paper: "#fff", quiet: "#444", warn: "#a3320c", calm: "#3f7396", sand: "#7a5a14",
    odd: "#5d3480", open: "#555", zone: "#5a4a9c", map: "#fff" };
let inPrint = false;

function readTheme() {
  ground.colours = {};
  for (const name of ["ink", "paper", "quiet", "warn", "calm", "sand", "odd", "open", "zone", "map"]) ground.colours[
      name] = inPrint ? onPaper[name] : themed(name);
}

const place = (x, y) => L.latLng(y, x);
function path(flat) {  // grid steps to places
  const places = [];
  for (let i = 0; i < flat.length; i += 2) places.push(place(flat[i] * data.step, flat[i + 1] * data.step));
  return places;
}
const polygonPlaces = rings => rings.map(path);

/// A place inside a polygon far from its edges, and how far: the best of ever finer grids. `spots` begins with it;
/// others, farther and farther out, follow.
function innermost(rings) {
  const ring = rings[0];
  let minX = Infinity, minY = Infinity, maxX = -Infinity, maxY = -Infinity;
  for (let i = 0; i < ring.length; i += 2) {
    minX = Math.min(minX, ring[i]); maxX = Math.max(maxX, ring[i]);
    minY = Math.min(minY, ring[i + 1]); maxY = Math.max(maxY, ring[i + 1]);
  }
  const clearance = (x, y) => {
    let inside = false, nearest = Infinity;
    for (const r of rings) {
      for (let i = 0, j = r.length - 2; i < r.length; j = i, i += 2) {
        const ax = r[j], ay = r[j + 1], bx = r[i], by = r[i + 1];
        if ((by > y) !== (ay > y) && x < (ax - bx) * (y - by) / (ay - by) + bx) inside = !inside;
        const dx = bx - ax, dy = by - ay, l = dx * dx + dy * dy;
        const t = l > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / l)) : 0;
        const ex = ax + t * dx - x, ey = ay + t * dy - y;
        nearest = Math.min(nearest, ex * ex + ey * ey);
      }
    }
    return (inside ? 1 : -1) * Math.sqrt(nearest);
  };
  let best = { x: (minX + maxX) / 2, y: (minY + maxY) / 2, r: -Infinity };
  const tried = [];
  let cx = best.x, cy = best.y, w = (maxX - minX) / 2, h = (maxY - minY) / 2;
  for (let round = 0; round < 5; ++round) {
    for (let i = -4; i <= 4; ++i) {
      for (let j = -4; j <= 4; ++j) {
        const x = cx + i * w / 4.5, y = cy + j * h / 4.5, r = clearance(x, y);
        if (round === 0 && r > 0) tried.push({ x, y, r });
        if (r > best.r) best = { x, y, r };
      }
    }
    cx = best.x; cy = best.y; w /= 3; h /= 3;
  }
  const spots = [best];
  for (const at of tried.sort((p, q) => q.r - p.r)) {
    if (spots.length < 8 && spots.every(s => Math.hypot(s.x - at.x, s.y - at.y) > 0.7 * best.r)) spots.push(at);
  }
  return { ...best, spots };
}

function layerGroups() {
  const interactive = { interactive: true, bubblingMouseEvents: false };
  const groups = {};
  groups.units = data.polygons.map(([u, rings]) => L.polygon(polygonPlaces(rings),
    { ...interactive, stroke: false, fillColor: fill(u), fillOpacity: unitStrength })
        .on("click", () => pick("unit", code(u))));
  groups.revised = data.revised.map(r => L.polygon(polygonPlaces(r.rings),
    { ...interactive, color: ground.colours.ink, weight: 1, fillColor: fill(r.unit), fillOpacity: 0.85,
        themed: ["color", "ink"] })
    .on("click", () => pick("unit", code(r.unit)))
    .bindTooltip(tip(() =>
        `Revised map: ${code(r.unit)}, probability ${r.p}; ${r.changed} ha of it changed. ${r.source}`)));
  groups.zones = data.contacts.flatMap(c => (c.zone || []).map(rings => L.polygon(polygonPlaces(rings),
    { interactive: false, stroke: false, fillColor: ground.colours.zone, fillOpacity: firstMap ? 0.3 : elsewhere(c)
        || c.review === "doubtful" ? 0.24 : 0.12, themed: ["fillColor", "zone"] })));
  groups.disputed = (data.disputed || []).map((d, i) => L.polygon(d.ground.map(polygonPlaces),
    { ...interactive, color: ground.colours.warn, weight: 2, dashArray: "2 4", fillColor: ground.colours.warn,
        fillOpacity: 0.12, themed: ["color", "warn"] })
    .on("click", () => pick("ground", i + 1))
        .bindTooltip(tip(() => `Disputed area: drawn as ${code(d.drafted)}, looks like ${code(d.like)}`)));
  groups.traverses = data.traverses.map(t => L.polyline(t.stops.map(i => place(data.stops[i].x, data.stops[i].y)),
    { interactive: false, color: ground.colours.quiet, weight: 1, opacity: 0.8, dashArray: "1 4",
        themed: ["color", "quiet"] }));
  groups.doubt = data.contacts.flatMap(doubtfulParts).map(p => L.polyline(path(p.line),
    { interactive: false, color: ground.colours.warn, weight: 8, opacity: 0.4, lineCap: "butt",
        themed: ["color", "warn"] }));
  groups.draft = firstMap ? [] : data.contacts.map((c, i) => L.polyline(path(c.line),
    { ...interactive, color: ground.colours[data.moved ? "quiet" : "ink"], weight: 1, opacity: 0.8,
        themed: ["color", data.moved ? "quiet" : "ink"] })
    .on("click", () => pick("contact", i + 1)).bindTooltip(tip(() => contactName(c) + ", " + reviewWords[c.review]),
        { sticky: true }));
  groups.relocated = data.contacts.flatMap((c, i) => !c.now ? [] : [L.polyline(path(c.now),
    { ...interactive, color: ground.colours.ink, weight: firstMap ? 1.8 : 1.2, themed: ["color", "ink"] })
        .on("click", () => pick("contact", i + 1))
    .bindTooltip(tip(() => contactName(c) + (firstMap ? ", first map" : ", " + reviewWords[c.review])),
        { sticky: true })]);
  // Where a contact is misplaced: the area that changes unit, and the line where it should be.
  const stretches = firstMap ? [] : data.contacts.flatMap((c, i) => (c.stretches || []).map(part => ({ i, part })));
  groups.swept = stretches.map(({ i, part }) => L.polygon(path(part.draft).concat(path(part.now).reverse()),
    { ...interactive, stroke: false, fillColor: ground.colours.warn, fillOpacity: 0.45, themed: ["fillColor", "warn"] })
        .on("click", () => pick("contact", i + 1)));
  groups.elsewhere = stretches.map(({ i, part }) => L.polyline(path(part.now),
    { ...interactive, color: ground.colours.warn, weight: 3, themed: ["color", "warn"] })
        .on("click", () => pick("contact", i + 1))
    .bindTooltip(tip(() => `${contactName(data.contacts[i])} should be here: misplaced along ${stretchWords(part)}`),
        { sticky: true }));
  groups.arrows = stretches.map(({ part }) => part.arrows);  // laid out anew at each zoom
  // Those that matter most are drawn last, and so lie on top.
  const drawn = data.stops.map((s, i) => i).sort((a, b) => (data.stops[a].v === 1) - (data.stops[b].v === 1));
  groups.stops = drawn.map(i => {
    const s = data.stops[i];
    return new StopMark(place(s.x, s.y), { ...interactive, radius: s.v === 1 ? 8 : 5, sign: signs[s.v] })
      .on("click", () => pick("stop", s.id))
          .bindTooltip(tip(() => `${s.id}: ${signs[s.v].label}`
          + (s.f !== undefined && s.f !== s.m ? firstMap ? `, ${code(s.f)}` : `, looks like ${code(s.f)}` : "")));
  });
  groups.next = data.next_stops;  // laid out anew at each zoom
  return groups;
}

/// Arrows from draft to contact, once they are long enough to be seen.
function shiftArrows(map, all) {
  const group = L.layerGroup(), shortest = 12, most = 400;
  const refresh = () => {
    group.clearLayers();
    const scale = map.options.crs.scale(map.getZoom()), view = map.getBounds().pad(0.1);
    let shown = 0;
    for (const arrows of all) {
      for (let i = 0; i < arrows.length && shown < most; i += 4) {
        const [x1, y1, x2, y2] = arrows.slice(i, i + 4).map(v => v * data.step);
        const dx = x2 - x1, dy = y2 - y1, end = place(x2, y2), long = Math.hypot(dx, dy);
        if (long * scale < shortest || !view.contains(end)) continue;
        const k = Math.min(0.32, 9 / (long * scale)), wing = side => place(x2 - k * (dx - side * dy * 0.6),
            y2 - k * (dy + side * dx * 0.6));
        group.addLayer(L.polyline([[place(x1, y1), end], [wing(1), end, wing(-1)]],
            { interactive: false, color: ground.colours.warn, weight: 1.6, themed: ["color", "warn"] }));
        ++shown;
      }
    }
    if (group._map) keepOrder();
  };
  map.on("moveend zoomend", refresh);
  group.refresh = refresh;
  return group;
}

/// Boxes are left, top, right, bottom in pixels of the map.
const apart = (a, b, gap) => a[0] >= b[2] + gap || a[2] <= b[0] - gap || a[1] >= b[3] + gap || a[3] <= b[1] - gap;
const boxAbout = (p, wide, high) => [p.x - wide / 2, p.y - high / 2, p.x + wide / 2, p.y + high / 2];
/// The map's own controls, which no label may cover.
function controlBoxes(map) {
  const frame = map.getContainer().getBoundingClientRect();
  return [...map.getContainer().querySelectorAll(".leaflet-control")].map(c => c.getBoundingClientRect())
    .map(r => [r.left - frame.left, r.top - frame.top, r.right - frame.left, r.bottom - frame.top]);
}
/// How much a label hides: a stop that conflicts as much as eight others. Of very many stops the rest are not asked.
function hiddenStops(map) {
  const size = map.getSize(), many = data.stops.length > 5000;
  const marks = data.stops.filter(s => s.v === 1 || !many)
      .map(s => ({ p: map.latLngToContainerPoint(place(s.x, s.y)), worth: s.v === 1 ? 1 : 0.12,
      r: s.v === 1 ? 6 : 2.5 }))
    .filter(({ p }) => p.x >= 0 && p.y >= 0 && p.x <= size.x && p.y <= size.y);
  return b => d3.sum(marks, ({ p, worth, r }) => p.x + r > b[0] && p.x - r < b[2] && p.y + r > b[1] && p.y - r < b[3]
      ? worth : 0);
}

/// Codes of units, each where it hides least and covers no other label.
function unitLabels(map) {
  const labels = data.polygons.map(([u, rings]) => ({ u, ...innermost(rings) })).filter(l => l.u !== null && l.r > 0)
    .sort((a, b) => b.r - a.r).slice(0, 1500);
  const group = L.layerGroup();
  const refresh = () => {
    group.clearLayers();
    const scale = map.options.crs.scale(map.getZoom()) * data.step, view = map.getBounds(), hides = hiddenStops(map);
    const taken = controlBoxes(map).concat(ground.rankBoxes || []);
    let shown = 0;
    for (const l of labels) {
      if (l.r * scale < 9 || shown >= 200) break;
      let best = null;
      l.spots.forEach((spot, i) => {
        const at = place(spot.x * data.step, spot.y * data.step);
        if (spot.r * scale < 9 || !view.contains(at)) return;
        const box = boxAbout(map.latLngToContainerPoint(at), 6 + 8.5 * code(l.u).length, 15);
        if (!taken.every(t => apart(box, t, 1))) return;
        const cost = hides(box) + 0.1 * i;
        if (!best || cost < best.cost) best = { at, box, cost };
      });
      if (!best) continue;
      ++shown;
      taken.push(best.box);
      group.addLayer(L.marker(best.at, { interactive: false, keyboard: false,
        icon: L.divIcon({ className: "unit-label", iconSize: [60, 16], html: el("span", {}, code(l.u)) }) }));
    }
  };
  map.on("moveend", refresh);
  group.refresh = refresh;
  return group;
}

/// Next stops by their rank. A label that would cover another, hide stops or be cut by the map's edge stands off with a
/// line to a dot at its place; where
/// there is no room for one at all the dot stands alone.
function nextLabels(map) {
  const group = L.layerGroup(), high = 18, gap = 2;
  const offsets = [[0, 0, 0]];
  for (const r of [21, 34, 48]) for (let k = 0; k < 12;
      ++k) offsets.push([r * Math.sin(k * Math.PI / 6), -r * Math.cos(k * Math.PI / 6), r]);
  const refresh = () => {
    group.clearLayers();
    const size = map.getSize(), taken = controlBoxes(map), hides = hiddenStops(map);
    ground.rankBoxes = [];
    const places = data.next_stops.map(n => map.latLngToContainerPoint(place(n.x, n.y)));
    data.next_stops.forEach((n, i) => {
      const p = places[i], text = String(n.rank), wide = Math.max(high, 8 + 7 * text.length);
      const inView = p.x >= 0 && p.y >= 0 && p.x <= size.x && p.y <= size.y;
      const box = ([dx, dy]) => boxAbout({ x: p.x + dx, y: p.y + dy }, wide, high);
      const whole = b => !inView || (b[0] >= gap && b[1] >= gap && b[2] <= size.x - gap && b[3] <= size.y - gap);
      let spot = null, least = Infinity;
      for (const o of offsets) {
        const b = box(o), cost = o[2] ? 0.4 + o[2] / 60 : 0;
        if (cost >= least || !whole(b) || !taken.every(t => apart(b, t, gap))) continue;
        // nor over the place of another next stop
        const all = cost + hides(b) + places.filter((q, j) => j !== i && q.x > b[0] - 3 && q.x < b[2] + 3 && q.y > b[1]
            - 3 && q.y < b[3] + 3).length;
        if (all < least) { least = all; spot = o; }
      }
      const words = () => `Next stop ${text}: ${n.purpose || ""}`, at = place(n.x, n.y),
          ink = { color: ground.colours.ink, weight: 1.2, themed: ["color", "ink"] };
      if (spot !== offsets[0]) {
        const ends = spot && [at, map.containerPointToLatLng([p.x + spot[0], p.y + spot[1]])];
        if (ends) group.addLayer(L.polyline(ends, { ...ink, interactive: false }));
        // a stop may lie below it
        const dot = L.circleMarker(at, { ...ink, radius: 3, fill: true, fillOpacity: 1, interactive: !spot,
            bubblingMouseEvents: false });
        group.addLayer(spot ? dot : dot.on("click", () => pick("next", i + 1)).bindTooltip(tip(words)));
        ground.rankBoxes.push(boxAbout(p, 8, 8));
      }
      if (!spot) return;
      taken.push(box(spot));
      ground.rankBoxes.push(box(spot));
      group.addLayer(L.marker(map.containerPointToLatLng([p.x + spot[0], p.y + spot[1]]),
        { keyboard: false, icon: L.divIcon({ className: "rank-label", iconSize: [wide, high],
            html: el("span", {}, text) }) })
        .on("click", () => pick("next", i + 1)).bindTooltip(tip(words)));
    });
  };
  map.on("moveend", refresh);
  group.refresh = refresh;
  return group;
}

const layerNames = [["units", "units"], ["revised", "revised map"], ["labels", "unit codes"],
    ["zones", zoneName.replace("D", "d")], ["disputed", "disputed areas"],
  ["traverses", "traverses"], ["draft", "drawn contacts"], ["relocated", "moved contacts"], ["stops", "stops"],
      ["next", "next stops"]];

function buildMap() {
  readTheme();
  signs.forEach(s => { s.filled = s.d && new Path2D(s.d); s.drawn = s.s && new Path2D(s.s); });
  const box = L.latLngBounds([]);
  data.polygons.forEach(([, rings]) => path(rings[0]).forEach(p => box.extend(p)));
  data.stops.forEach(s => box.extend(place(s.x, s.y)));
  ground.box = box.isValid() ? box.pad(0.02) : L.latLngBounds([[0, 0], [1, 1]]);
  const shape = (ground.box.getNorth() - ground.box.getSouth()) / Math.max(ground.box.getEast() - ground.box.getWest(),
      1e-9);
  byId("map").style.setProperty("--shape", shape.toFixed(3));  // on a narrow screen the map is as high as its area
  const map = L.map("map", { crs: L.CRS.Simple, minZoom: -12, maxZoom: 5, zoomSnap: 0.25, zoomDelta: 0.5,
      wheelPxPerZoomLevel: 100,
    attributionControl: false, renderer: L.canvas({ padding: 0.3, tolerance: L.Browser.mobile ? 8 : 3 }),
        zoomAnimation: false, fadeAnimation: false });
  ground.map = map;
  map.fitBounds(ground.box);
  map.setMaxBounds(ground.box.pad(1));
  L.control.scale({ imperial: false, maxWidth: 140 }).addTo(map);
  const north = L.control({ position: "topright" });
  north.onAdd = () => el("div", { class: "north" },
      svg("svg", { width: 18, height: 30, viewBox: "0 0 18 30", role: "img", "aria-label": "Grid north is up" },
    svg("path", { d: "M9,1L15,27L9,21L3,27Z", style: "fill: var(--ink)" }),
        svg("path", { d: "M9,4L9,20L5,24Z", style: "fill: var(--paper)" })), "N");
  north.addTo(map);

  const groups = layerGroups();
  groups.labels = null;
  const ranks = nextLabels(map), codes = unitLabels(map);  // in this order: codes make way for numbers
  for (const [name] of layerNames) {
    ground.layers[name] = name === "labels" ? codes : name === "next" ? ranks : L.layerGroup(groups[name]);
  }
  const arrows = shiftArrows(map, groups.arrows);
  ground.layers.relocated = L.layerGroup([groups.doubt, groups.swept, groups.relocated, groups.elsewhere].map(list =>
      L.layerGroup(list)).concat(arrows));
  for (const [name, words] of layerNames) {
    if (name !== "labels" && name !== "relocated" && groups[name].length === 0) continue;
    if (name === "relocated" && groups.relocated.length + groups.doubt.length === 0) continue;
    const label = name !== "relocated" ? words : firstMap ? "contacts of the first map" : data.moved ? words
        : "contacts in doubt";
    const shown = name !== "revised" && !(firstMap && name === "zones");  // these cover the units
    if (shown) ground.layers[name].addTo(map);
    const box = el("input", { type: "checkbox", checked: shown, "data-layer": name });
    box.addEventListener("change", () => {
      box.checked ? ground.layers[name].addTo(map) : ground.layers[name].remove();
      keepOrder();  // also draws anew what the layer lay over
    });
    byId("layers").append(el("label", {}, box, label));
  }
  ranks.refresh();
  codes.refresh();
  arrows.refresh();
  drawLegend(groups);
  map.on("click", () => { if (location.hash.includes("=")) { history.pushState(null, "", "#"); choose(); } });
  const repaint = () => {
    readTheme();
    map.eachLayer(layer => {
      if (layer.options.themed) layer.setStyle({ [layer.options.themed[0]]: ground.colours[layer.options.themed[1]] });
      else if (layer instanceof StopMark) layer.redraw();
    });
  };
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", repaint);
  // On paper the map takes the sheet's width, drawn in the colours of the light.
  const fit = () => { map.invalidateSize({ animate: false }); map.fitBounds(ground.box, { animate: false }); };
  let before = null;
  addEventListener("beforeprint", () => {
    before = [map.getCenter(), map.getZoom()];
    const size = map.getContainer().style;
    size.width = paperWidth + "px";
    size.height = Math.round(Math.max(260, Math.min(620, paperWidth * shape + 16))) + "px";
    inPrint = true;
    repaint();
    fit();
  });
  addEventListener("afterprint", () => {
    map.getContainer().style.width = map.getContainer().style.height = "";
    inPrint = false;
    repaint();
    map.invalidateSize({ animate: false });
    if (before) map.setView(before[0], before[1], { animate: false });
  });
  byId("map").pixelOf = id => { const s = data.stops[stopIndex.get(id)];
      return map.latLngToContainerPoint(place(s.x, s.y)); };
  new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(byId("map"));
}

/// On one canvas what is added last lies on top; after switching a layer on, those above it are lifted again.
function keepOrder() {
  const lift = layer => { if (layer.eachLayer) layer.eachLayer(lift);
      else if (layer.bringToFront && layer._map) layer.bringToFront(); };
  for (const [name] of layerNames) if (ground.map.hasLayer(ground.layers[name])) lift(ground.layers[name]);
  if (ground.mark) lift(ground.mark);
}

/// As pale as the map has it.
const unitStrength = 0.38;
function mapSwatch(index) {
  const box = unitSwatch(index);
  box.style.background = `color-mix(in srgb, ${fill(index)} ${100 * unitStrength}%, var(--map))`;
  return box;
}

function drawLegend(groups) {
  const line = (width, colour, opacity, dash) => svg("svg", { width: 26, height: 12 },
    svg("path", { d: "M0,6H26",
        style: `stroke: var(--${colour}); stroke-width: ${width}; opacity: ${opacity}; stroke-dasharray: ${dash || "none"}` }));
  const items = [];
  signs.forEach((s, v) => {
    const n = data.stops.filter(stop => stop.v === v).length;
    if (n > 0) items.push(el("span", {}, sign(v, 18), s.label, el("span", { class: "count" }, grouped(n))));
  });
  if (firstMap) items.push(el("span", {}, line(1.8, "ink", 1), "contact of the first map"));
  else items.push(el("span", {}, line(1.2, data.moved ? "quiet" : "ink", 0.8), "drawn contact"));
  if (data.moved && !firstMap) items.push(el("span", {}, line(1.6, "ink", 1),
      "contact, from stops and draft together"));
  if (groups.elsewhere.length) items.push(el("span", {},
      svg("svg", { width: 26, height: 14 },
      svg("path", { d: "M0,3H26V12H0Z", style: "fill: var(--warn); opacity: .45" }),
      svg("path", { d: "M0,3H26", style: "stroke: var(--warn); stroke-width: 3" })), "misplaced: should be here"));
  if (groups.doubt.length) items.push(el("span", {}, line(8, "warn", 0.4), "contact in doubt"));
  if (groups.zones.length) items.push(el("span", {}, line(10, "zone", 0.25), firstMap ? "doubtful zone" : "90 % zone"));
  if (groups.traverses.length) items.push(el("span", {}, line(1, "quiet", 1, "1 3"), "traverse"));
  if (groups.next.length) items.push(el("span", {}, el("span", { class: "rank-label legend-rank" }, "1"),
      "next stop, by rank"));
  if (groups.disputed.length) items.push(el("span", {}, line(2, "warn", 1, "2 4"), "disputed area"));
  add(byId("legend"), items);
  // A map is shown to those who do not know its codes. A very long legend would push all else away: the list of units
  // has it.
  const most = 16, named = data.units.map((_, i) => i).filter(i => data.units[i].area > 0);
  add(byId("legend-units"),
      named.length <= most
      ? named.map(i => el("span", {}, mapSwatch(i), el("a", { href: "#unit=" + encodeURIComponent(code(i)) }, code(i)),
      unit(i).name || ""))
    : el("a", { href: "#units" }, `The ${grouped(named.length)} units by name`));
}

const closeZoom = bounds => Math.min(ground.map.getBoundsZoom(bounds.pad(0.35)),
    ground.map.getBoundsZoom(ground.box) + 2.5);
/// Rings what is chosen and brings it into view.
function markOnMap(layers, bounds, closeUp) {
  if (ground.mark) ground.mark.remove();
  ground.mark = layers.length ? L.layerGroup(layers).addTo(ground.map) : null;
  if (!bounds) return;
  if (closeUp) {
    ground.map.setView(bounds.getCenter(), closeZoom(bounds), { animate: false });
  } else if (!ground.map.getBounds().pad(-0.08).contains(bounds)) {
    ground.map.panTo(bounds.getCenter(), { animate: false });
  }
}
