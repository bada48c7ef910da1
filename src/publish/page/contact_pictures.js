// Small maps of contacts and proposals, side by side, on the screen and on paper.
const pictureWide = 300, pictureHigh = 200;

/// The place half way along a line, grid steps.
function halfWay(flat) {
  const lengths = [];
  for (let i = 2; i < flat.length; i += 2) lengths.push(Math.hypot(flat[i] - flat[i - 2], flat[i + 1] - flat[i - 1]));
  let rest = d3.sum(lengths) / 2, k = 0;
  while (k + 1 < lengths.length && rest > lengths[k]) rest -= lengths[k++];
  const t = lengths[k] > 0 ? rest / lengths[k] : 0;
  return [0, 1].map(d => flat[2 * k + d] + t * (flat[2 * k + 2 + d] - flat[2 * k + d]));
}

/// A window of the picture's shape about flat lists of grid steps; where all would be too much about `centre` (metres),
/// or half way along the first. Tells where a place
/// falls in it, and what of a line or ring lies within.
function pictureWindow(lines, leastWide, mostWide, centre_m) {
  const xs = lines.flatMap(flat => flat.filter((_, i) => i % 2 === 0)),
      ys = lines.flatMap(flat => flat.filter((_, i) => i % 2 === 1));
  const [west, east] = d3.extent(xs), [south, north] = d3.extent(ys), margin = 1.5;
  const all = margin * data.step * Math.max(east - west, (north - south) * pictureWide / pictureHigh),
      metresWide = Math.max(leastWide, Math.min(mostWide, all));
  const scale = pictureWide / metresWide, middle = all > mostWide && centre_m ? centre_m
      : (all > mostWide ? halfWay(lines[0]) : [(west + east) / 2, (south + north) / 2]).map(steps => data.step * steps);
  const at = (x, y) => [pictureWide / 2 + (x - middle[0]) * scale, pictureHigh / 2 - (y - middle[1]) * scale];
  // Most of a large map lies outside: left out before anything is made of it.
  const halfWide = metresWide / 2 / data.step, halfHigh = halfWide * pictureHigh / pictureWide,
      centre = middle.map(m => m / data.step);
  const touches = flat => {
    let left = Infinity, right = -Infinity, below = Infinity, above = -Infinity;
    for (let i = 0; i < flat.length; i += 2) {
      if (flat[i] < left) left = flat[i];
      if (flat[i] > right) right = flat[i];
      if (flat[i + 1] < below) below = flat[i + 1];
      if (flat[i + 1] > above) above = flat[i + 1];
    }
    return right >= centre[0] - halfWide && left <= centre[0] + halfWide && above >= centre[1] - halfHigh
        && below <= centre[1] + halfHigh;
  };
  const points = flat => {
    const result = [];
    for (let i = 0; i < flat.length; i += 2) result.push(at(flat[i] * data.step, flat[i + 1] * data.step));
    return result;
  };
  const frame = d3.geom.polygon([[0, 0], [0, pictureHigh], [pictureWide, pictureHigh], [pictureWide, 0]]);
  const clipped = flat => flat.length < 6 || !touches(flat) ? [] : frame.clip(points(flat));
  /// The parts of a line that cross the window, a little beyond its edge.
  const parts = flat => {
    const all = touches(flat) ? points(flat) : [], result = [];
    let open = false;
    for (let i = 1; i < all.length; ++i) {
      const [p, q] = [all[i - 1], all[i]];
      const crosses = Math.max(p[0], q[0]) >= 0 && Math.min(p[0], q[0]) <= pictureWide && Math.max(p[1], q[1]) >= 0
          && Math.min(p[1], q[1]) <= pictureHigh;
      if (crosses && !open) result.push([p]);
      if (crosses) result[result.length - 1].push(q);
      open = crosses;
    }
    return result;
  };
  return { at, scale, clipped, parts };
}
/// A flat list of places from its end to its beginning.
function backwards(flat) {
  const result = [];
  for (let i = flat.length - 2; i >= 0; i -= 2) result.push(flat[i], flat[i + 1]);
  return result;
}
const drawn = points => points.map(([x, y], i) => (i ? "L" : "M") + x.toFixed(1) + "," + y.toFixed(1)).join("");

/// 1, 2 or 5 times a power of ten, the longest that is not longer than `most`.
function roundLength(most) {
  const ten = Math.pow(10, Math.floor(Math.log10(most)));
  return ten * (most / ten >= 5 ? 5 : most / ten >= 2 ? 2 : 1);
}

/// Units, contacts and stops about `frame`, the lines and rings to be seen. `below` gives shapes under the contacts,
/// `above` shapes over them; `codesOf` gives further labels as [words, rings].
/// The contact `bold` is drawn thicker.
function smallMap({ frame, least, most, centre, words, onclick, below, above, codesOf, bold }) {
  const { at, scale, clipped, parts } = pictureWindow(frame, least, most, centre);
  const shapes = [], codes = [], within = rings => rings.map(clipped).filter(ring => ring.length > 2);
  const area = (inside, style) =>
      svg("path", { d: inside.map(ring => drawn(ring) + "Z").join(""), style: "fill-rule: evenodd; " + style });
  const label = (inside, text) => {
    if (!inside.length) return;
    const spot = innermost(inside.map(ring => ring.flat()));
    if (spot.r > 9) codes.push(svg("text", { x: spot.x, y: spot.y + 4, "text-anchor": "middle", class: "halo",
        style: "font: 600 12.5px var(--serif)" }, text));
  };
  for (const [u, rings] of data.polygons) {
    const inside = within(rings);
    if (!inside.length || u === null) continue;
    shapes.push(area(inside, `fill: ${fill(u)}; fill-opacity: ${unitStrength}`));
    label(inside, code(u));
  }
  const line = (flat, style) => parts(flat).map(part => svg("path", { d: drawn(part), style: "fill: none; " + style }));
  if (below) shapes.push(below(area, within));
  for (const other of data.contacts) shapes.push(line(other.line,
      `stroke: var(--${data.moved ? "quiet" : "ink"}); stroke-width: ${other === bold ? 1.5 : 0.8}`));
  if (above) shapes.push(above(line));
  const size = markSizeAt(scale), marks = [];
  let agreeing = "";  // one path: there may be thousands
  for (const s of data.stops) {
    const [x, y] = at(s.x, s.y), mark = signs[s.v];
    if (x < -8 || y < -8 || x > pictureWide + 8 || y > pictureHigh + 8) continue;
    if (s.v === 0) agreeing += circle(agreeingRadius * size, Math.round(10 * x) / 10, Math.round(10 * y) / 10);
    else marks.push(svg("g",
        { transform: `translate(${x.toFixed(1)},${y.toFixed(1)})scale(${(mark.edge ? 0.5 * (1 + size) : size).toFixed(2)})` }, mark.d && svg("path", { d: mark.d, style: `fill: var(--${mark.colour})` }),
      mark.s && svg("path",
          { d: mark.s, style: `fill: none; stroke: var(--${mark.edge || mark.colour}); stroke-width: 1.3` })));
  }
  if (agreeing) shapes.push(svg("path", { d: agreeing, style: "fill: var(--calm)" }));
  shapes.push(marks);
  for (const [text, inside] of codesOf ? codesOf(within) : []) label(inside, text);
  const bar = roundLength(0.3 * pictureWide / scale);
  shapes.push(codes, svg("path",
      { d: `M8,${pictureHigh - 13}V${pictureHigh - 8}H${(8 + bar * scale).toFixed(1)}V${pictureHigh - 13}`,
      style: "fill: none; stroke: var(--ink); stroke-width: 1.3" }),
    svg("text", { x: 13 + bar * scale, y: pictureHigh - 7, class: "halo" }, bar < 1000 ? metres(bar)
        : bar / 1000 + "\u00a0km"));
  return svg("svg", { viewBox: `0 0 ${pictureWide} ${pictureHigh}`, role: "img", "aria-label": words, onclick },
      shapes);
}

/// The largest stretch of a misplaced contact, all of another; of a long one the middle.
function contactPicture(index) {
  const c = data.contacts[index], there = elsewhere(c), largest = largestStretch(c);
  // A shift is drawn 15 pixels wide or more.
  const least = 8 * data.contact_sd, most = largest ? Math.max(largest.by * pictureWide / 15, least) : 5 * least;
  const picture = smallMap({ frame: largest ? [largest.now, largest.draft] : [c.line], least, most, bold: c,
      words: "Small map of contact " + contactLabel(index), onclick: () => go("contact", index + 1),
    below: (area, within) => [(c.zone || []).map(rings => area(within(rings), "fill: var(--zone); fill-opacity: .2")),
      largest ? area(within([largest.draft.concat(backwards(largest.now))]), "fill: var(--warn); fill-opacity: .45")
          : []],
    above: line => [there ? [] : line(c.line, "stroke: var(--warn); stroke-width: 8; stroke-opacity: .4"),
        there ? c.stretches.map(s => line(s.now, `stroke: var(--warn); stroke-width: ${s === largest ? 3 : 1.2}`))
        : []] });
  return el("figure", {}, picture, el("figcaption", {}, contactLink(index, contactLabel(index)), " ",
      largest ? stretchWords(largest) : verdictOf(c) + `: ${count(c.against, "stop", "stops")} against, ${c.for} for`));
}

/// The contacts to look at, the first six.
function contactPictures() {
  const chosen = firstMap ? [] : contactsToLookAt().slice(0, 6);
  return chosen.length === 0 ? null : el("div", { class: "pictures" }, chosen.map(contactPicture));
}
