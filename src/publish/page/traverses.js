// Each traverse as a strip: the draft, what the stops make of it, the stops' profiles and the crossings.
function traverseStrip(t, width) {
  const left = 8, right = 8, length = Math.max(t.chainage[t.chainage.length - 1], 1);
  const x = d3.scale.linear().domain([0, length]).range([left, width - right]);
  const parts = [svg("defs", {}, hatch("bare-" + t.index))], above = [];  // words, over all lines
  const label = (text, y) => above.push(svg("text", { x: left, y, class: "quiet halo" }, text));
  const first = data.stops[t.stops[0]].m;

  label("draft", 11);
  const band = (from, to, u) => {
    if (x(to) - x(from) < 0.5) return;
    parts.push(svg("rect", { x: x(from), y: 16, width: x(to) - x(from), height: 20,
        style: `fill: ${fill(u)}; stroke: var(--paper); stroke-width: 1` }));
    if (x(to) - x(from) > 8 + 7 * code(u).length && u !== null && u !== undefined) {
      parts.push(svg("text", { x: (x(from) + x(to)) / 2, y: 30, "text-anchor": "middle",
          style: `fill: ${inkOn(fill(u))}; font-weight: 600` }, code(u)));
    }
  };
  let at = 0, now = t.mapped.length ? t.mapped[0][1] : first;
  for (const [chainage, , to] of t.mapped) { band(at, chainage, now); at = chainage; now = to; }
  band(at, length, now);

  const top = 56, high = 84;
  label("probability of each unit, all stops and the draft together", top - 6);
  const y = d3.scale.linear().domain([0, 1]).range([top + high, top]);
  let base = t.chainage.map(() => 0);
  data.units.forEach((u, k) => {
    const p = t.probability.map(row => row[k]);
    if (d3.max(p) < 0.005) return;
    const upper = base.map((b, i) => b + p[i]), lower = base;
    const area = d3.svg.area().x((d, i) => x(t.chainage[i])).y0((d, i) => y(lower[i]))
        .y1((d, i) => y(Math.min(1, upper[i])));
    parts.push(svg("path", { d: area(p), style: `fill: ${u.fill}; stroke: var(--paper); stroke-width: .8` }));
    const best = p.indexOf(d3.max(p));
    if (p[best] > 0.3) {
      parts.push(svg("text", { x: Math.max(left + 10, Math.min(width - right - 10, x(t.chainage[best]))),
          y: y(lower[best] + p[best] / 2) + 4, "text-anchor": "middle",
        style: `fill: ${inkOn(u.fill)}; font-weight: 600` }, u.code));
    }
    base = upper;
  });
  parts.push(svg("rect", { x: left, y: top, width: width - left - right, height: high,
      style: "fill: none; stroke: var(--quiet); stroke-width: .7" }));

  const soil = top + high + 26, deep = 58;
  const gap = d3.min(t.chainage.slice(1).map((c, i) => x(c) - x(t.chainage[i]))) || 20,
      wide = Math.max(3, Math.min(16, gap * 0.7));
  const deepest = Math.max(100, d3.max(t.stops, i => d3.max(laidOut(data.stops[i]), h => h.bottom) || 0));
  label(`profiles, ${grouped(deepest)} cm from top to bottom; hatched: no colour noted`, soil - 8);
  const depth = d3.scale.linear().domain([0, deepest]).range([0, deep]);
  // Names where there is room, those of stops that conflict before others.
  const named = new Map(), taken = [];
  for (const conflicting of [true, false]) {
    t.stops.forEach((i, k) => {
      const s = data.stops[i], half = 3.2 * s.id.length + 3,
          cx = Math.max(left + half, Math.min(width - right - half, x(t.chainage[k])));
      if ((s.v === 1) !== conflicting || taken.some(other => Math.abs(other[0] - cx) < other[1] + half)) return;
      taken.push([cx, half]);
      named.set(i, cx);
    });
  }
  t.stops.forEach((i, k) => {
    const s = data.stops[i], cx = x(t.chainage[k]);
    const column = laidOut(s)
        .map(h => svg("rect", { x: cx - wide / 2, y: soil + depth(h.top), width: wide,
        height: Math.max(1, depth(h.bottom) - depth(h.top)),
      style: `fill: ${(paint(h) || [])[1] || `url(#bare-${t.index})`}; stroke: var(--quiet); stroke-width: .4` }));
    const sg = signs[s.v];
    const mark = svg("g", { transform: `translate(${cx},${soil + deep + 12})` },
        sg.d && svg("path", { d: sg.d, style: `fill: var(--${sg.colour})` }),
      sg.s && svg("path", { d: sg.s, style: `fill: none; stroke: var(--${sg.edge || sg.colour}); stroke-width: 1.4` }));
    const group = svg("a", { href: "#stop=" + encodeURIComponent(s.id), "aria-label": `Stop ${s.id}, ${sg.label}` },
        svg("title", {}, `${s.id}: ${sg.label}`),
      svg("rect", { x: cx - Math.max(wide, 6) / 2, y: soil, width: Math.max(wide, 6), height: deep + 20,
          style: "fill: transparent" }), column, mark);
    if (named.has(i)) group.append(svg("text", { x: named.get(i), y: soil + deep + 34, "text-anchor": "middle",
        class: "quiet" }, s.id));
    parts.push(group);
  });

  const rows = [];
  let below = soil + deep + 50;
  if (t.crossings.length) {
    const lines = brokenLines(
        "crossings: bracket, 90 % interval from the soil; dotted line, the draft; confirmed: a narrow bracket holds the draft; not contradicted: a wide one does", (width - left - right) / 5.4);
    lines.forEach((text, i) => label(text, below + 13 * i));
    below += 13 * (lines.length - 1);
  }
  below += 8;
  for (const c of t.crossings) {
    const found = c.at !== null, from = x(found ? c.low : c.mapped), to = x(found ? c.high : c.mapped),
        text = crossingWords(c, t);
    const middle = x(found ? c.at : c.mapped), wideText = 6.1 * text.length,
        begin = Math.max(left, Math.min(middle - wideText / 2, width - right - wideText));
    let row = rows.findIndex(end => end < Math.min(begin, from) - 8);
    if (row < 0) row = rows.push(0) - 1;
    rows[row] = Math.max(begin + wideText, to);
    const cy = below + row * 34 + 8, colour = c.status === "confirmed" ? "ink" : c.status === "not_found" ? "quiet"
        : "warn";
    if (c.mapped !== null) parts.push(svg("path",
        { d: `M${x(c.mapped)},36V${cy + 5}`,
        style: "stroke: var(--ink); stroke-width: .7; stroke-dasharray: 2 3; fill: none" }));
    if (found) {
      parts.push(svg("path", { d: `M${from},${cy - 5}V${cy}H${to}V${cy - 5}`,
          style: `fill: none; stroke: var(--${colour}); stroke-width: 1.8` }),
        svg("circle", { cx: middle, cy, r: 3, style: `fill: var(--${colour})` }));
    } else {
      parts.push(svg("path", { d: `M${middle - 4},${cy - 4}l8,8m0,-8l-8,8`,
          style: `fill: none; stroke: var(--${colour}); stroke-width: 1.6` }));
    }
    above.push(svg("text", { x: begin, y: cy + 17, class: "halo", style: `fill: var(--${colour})` }, text));
  }
  const axis = below + Math.max(rows.length, 0) * 34 + 14;
  parts.push(svg("path", { class: "axis", d: `M${left},${axis}H${width - right}` }));
  x.ticks(Math.max(2, Math.floor(width / 130)))
      .forEach(tick => parts.push(svg("path", { class: "axis", d: `M${x(tick)},${axis}v5` }),
    svg("text", { x: x(tick), y: axis + 17, "text-anchor": tick === 0 ? "start" : x(tick) > width - 30 ? "end"
        : "middle", class: "quiet" }, grouped(tick) + " m")));
  return svg("svg", { width, height: axis + 24, viewBox: `0 0 ${width} ${axis + 24}`, role: "group",
    "aria-label": `Traverse ${t.name}: ` + (t.crossings.map(c => crossingWords(c, t)).join("; ") || "no crossing") },
        parts, above);
}
/// The unit of the draft's strip beside a crossing in which no stop stands, so that no stop could find it; undefined
/// where both sides have one.
function bareStrip(c, t) {
  const i = t.mapped.findIndex(([at]) => Math.abs(at - c.mapped) < 0.06);
  const ends = [0, ...t.mapped.map(([at]) => at), t.chainage[t.chainage.length - 1]],
      stood = k => t.chainage.some(at => at >= ends[k] && at <= ends[k + 1]);
  return i < 0 ? undefined : !stood(i + 1) ? c.to : !stood(i) ? c.from : undefined;
}
/// A bracket wider than the ground in which the draft itself states its contacts, with 90 %, tells less than the draft:
/// it confirms nothing.
const wideBracket = c => c.high - c.low > 2 * 1.645 * data.contact_sd;
/// A sentence in lines of so many characters.
function brokenLines(text, most) {
  const lines = [""];
  for (const word of text.split(" ")) {
    if (lines.at(-1) && (lines.at(-1) + " " + word).length > most) lines.push("");
    lines[lines.length - 1] += (lines.at(-1) ? " " : "") + word;
  }
  return lines;
}
function crossingWords(c, t) {
  const pair = `${code(c.from)} to ${code(c.to)}`;
  if (c.status === "not_found") {
    const bare = bareStrip(c, t);
    return bare === undefined ? `${pair}: not found` : `${pair}: no stop in ${code(bare)}`;
  }
  if (c.status === "unmapped") return `${pair}: not in the draft`;
  if (c.status !== "confirmed") return `${pair}: displaced ${signed(c.offset, 0)} m`;
  return wideBracket(c) ? `${pair}: not contradicted within ${grouped(c.high - c.low)} m`
      : `${pair}: confirmed (${signed(c.offset, 0)} m)`;
}

function traverseSection() {
  const body = byId("traverses-body");
  if (data.traverses.length === 0) {
    body.append(el("p", { class: "quiet" },
        firstMap ? "Traverses are not followed, because the first map was drawn from these stops."
        : !data.followed ? "The settings of the survey file switch this off."
        : "No traverse has two stops or more. Fill in the columns traverse and seq to see strips here."));
    return;
  }
  body.append(el("p", { class: "quiet" },
      "Offsets are measured along the traverse, from the drawn contact to where the stops find it. Each stop is weighed together with its neighbours. A stop that differs from both sides therefore counts less here than on its own card."));
  data.traverses.forEach((t, i) => { t.index = i; });
  const frames = [];
  const frame = t => {
    const box = el("div", { class: "traverse", id: "traverse-" + t.index }, el("h3", {}, "Traverse ", t.name),
        el("div", { class: "strip" }));
    box.lastChild.style.minHeight = "260px";
    box.draw = width => { const strip = box.lastChild; strip.style.minHeight = "";
        strip.replaceChildren(traverseStrip(t, width || Math.max(280, Math.min(1160, body.clientWidth))));
        box.drawn = body.clientWidth; };
    frames.push(box);
    return box;
  };
  // Drawn when they come into view, so that the page stands at once.
  const watcher = new IntersectionObserver(entries =>
      entries.forEach(e => { if (e.isIntersecting && e.target.drawn !== body.clientWidth) e.target.draw(); }),
      { rootMargin: "600px" });
  if (data.traverses.length <= 16) {
    data.traverses.forEach(t => { const box = frame(t); body.append(box); watcher.observe(box); });
  } else {
    const holder = el("div", {});
    const select = el("select",
        { id: "traverse-choice", onchange: () => { watcher.disconnect(); frames.length = 0;
        holder.replaceChildren(frame(data.traverses[select.value])); watcher.observe(frames[0]); } },
      data.traverses.map((t, i) => el("option", { value: i }, t.name)));
    body.append(el("p", { class: "quiet paper" },
        `One of ${grouped(data.traverses.length)} traverses; choose the others on the page.`),
        el("p", { class: "noprint" },
        el("label", { for: "traverse-choice" }, `One of ${grouped(data.traverses.length)} traverses: `), select),
        holder);
    holder.append(frame(data.traverses[0]));
    watcher.observe(frames[0]);
  }
  new ResizeObserver(() => frames.forEach(f => { if (!inPrint && f.drawn && f.drawn !== body.clientWidth) f.draw(); }))
      .observe(body);
  addEventListener("beforeprint", () => frames.forEach(f => f.draw(1.2 * paperWidth)));
  addEventListener("afterprint", () => frames.forEach(f => f.draw()));
}
