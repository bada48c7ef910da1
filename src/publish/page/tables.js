// Contacts, units, trust, problems, method.
const reviewRank = { shift: 0, doubtful: 1, supported: 2, untested: 3 };
/// Misplaced contacts first, those inferred from neighbouring contacts last among them; then those in doubt.
const doubtRank = c => elsewhere(c) ? c.review === "untested" ? 0.3 : 0 : disputeOf(c) ? 0.7 : c.review === "shift"
    ? 0.5 : reviewRank[c.review];
const verdictOf = c => disputeOf(c) ? "may not exist" : !elsewhere(c) ? reviewWords[c.review]
    : (elsewhere(c).length > 0.8 * c.length ? "misplaced" : "misplaced in part")
    + (c.review === "doubtful" ? ", in doubt" : c.review === "untested" ? ", inferred from neighbouring contacts" : "");
/// Misplaced contacts by the area between the drawn line and the contact, then the others by the evidence of the stops
/// against them.
function doubtOrder() {
  const swept = data.contacts.map(c => { const there = elsewhere(c); return there ? there.length * there.by : 0; });
  return data.contacts.map((c, i) => i).sort((a, b) => {
    const p = data.contacts[a], q = data.contacts[b];
    return doubtRank(p) - doubtRank(q) || swept[b] - swept[a] || (q.odds || 0) - (p.odds || 0) || a - b;
  });
}

/// Those that are misplaced, may not exist or are in doubt, in that order.
const contactsToLookAt = () => doubtOrder().filter(i => doubtRank(data.contacts[i]) < 2);

/// A table whose heads sort it. Columns: [head, value of a row (sorted by), cell of a row, kind].
function sortedTable(columns, rows, atMost, caption) {
  // there every row takes a third of the screen
  const most = matchMedia("(max-width: 640px)").matches ? Math.min(atMost, 6) : atMost;
  const body = el("tbody", {}), shown = { all: false };
  let order = rows.slice();
  const more = el("button", { type: "button", class: "noprint", onclick: () => { shown.all = true; fillIn(); } });
  const onPaperOnly = el("p", { class: "quiet paper" },
      `The first ${grouped(most)} of ${grouped(rows.length)}; results.gpkg holds them all.`);
  const fillIn = () => {
    const list = shown.all ? order : order.slice(0, most);
    body.replaceChildren(...list.map(r => {
      const tr = el("tr", {},
          columns.map(([head, , cell, kind]) => el("td", { class: kind || null, "data-label": head },
          el("span", {}, cell(r)))));
      tr.dataset.row = r;
      return tr;
    }));
    more.hidden = shown.all || order.length <= most;
    more.textContent = `Show all ${grouped(order.length)}`;
    onPaperOnly.hidden = more.hidden;
  };
  const heads = columns.map(([head, value, , kind]) => {
    const th = el("th", { scope: "col", class: kind || null, "data-head": value ? head : null });
    if (!value) { add(th, head); return th; }
    th.append(el("button", { type: "button", onclick: () => {
      const down = th.getAttribute("aria-sort") !== "descending";
      heads.forEach(other => other.removeAttribute("aria-sort"));
      th.setAttribute("aria-sort", down ? "descending" : "ascending");
      const known = v => v !== null && v !== undefined;
      order = rows.slice().sort((a, b) => {
        const p = value(a), q = value(b);
        if (known(p) !== known(q)) return known(p) ? -1 : 1;
        return (p < q ? -1 : p > q ? 1 : 0) * (down ? -1 : 1) || rows.indexOf(a) - rows.indexOf(b);
      });
      fillIn();
    } }, head));
    return th;
  });
  fillIn();
  return [el("div", { class: "wide" },
      el("table", { class: "stack" }, caption ? el("caption", { class: "quiet" }, caption) : null,
      el("thead", {}, el("tr", {}, heads)), body)), more, onPaperOnly];
}

function contactSection() {
  const c = i => data.contacts[i];
  const columns = [
    ["Contact", i => contactName(c(i)), i => contactLink(i, contactLabel(i)), "nowrap"],
    firstMap ? null : ["Stops say", i => -doubtRank(c(i)), i => el("span", { class: doubtRank(c(i)) < 2 ? "warn" : "" },
        verdictOf(c(i)))],
    data.moved && !firstMap ? ["Misplaced, m", i => elsewhere(c(i)) ? elsewhere(c(i)).length : null,
        i => elsewhere(c(i)) ? grouped(elsewhere(c(i)).length) : "–", "number"] : null,
    data.moved && !firstMap ? ["Largest stretch", i => elsewhere(c(i)) ? largestStretch(c(i)).by : null,
        i => elsewhere(c(i)) ? stretchWords(largestStretch(c(i))) : "–", "stretch"] : null,
    data.moved && !firstMap ? ["Between, for it", i => c(i).given ? c(i).given[1] : null,
        i => c(i).given ? `${c(i).given[1]} of ${c(i).given[0]}` : "–", "number"] : null,
    firstMap ? null : ["Stops against", i => c(i).against, i => c(i).against, "number"],
    firstMap ? null : ["Stops for", i => c(i).for, i => c(i).for, "number"],
    [firstMap ? zoneName + ", ± m" : "Located to, ± m", i => c(i).half, i => grouped(c(i).half), "number"],
    ["Place", i => c(i).location, i => c(i).location],
    ["Length, m", i => c(i).length, i => grouped(c(i).length), "number"],
  ].filter(Boolean);
  const tested = data.contacts.length ? null
      : el("p", { class: "quiet" }, `The ${firstMap ? "first map" : "draft"} has no contact between two units.`);
  add(byId("contacts-body"),
      [firstMap && !tested ? el("p", { class: "quiet" },
      "These contacts were drawn from the stops, so the stops do not test them. In the doubtful zone about a contact the unit across still has a probability over 0.05. This is no 90 % zone: the true contact may lie outside, and the first map may lack it.") : tested ? null : [el("p", {}, data.elsewhere.because.replace(/^There the/, "Where a contact is misplaced, the")),
    el("p", { class: "quiet" },
        `Located to: half-width of the 90 % zone${data.moved ? "" : ". Here it is the error that the survey file states for the draft, not a result"}. In doubt: the stops beside it disagree. Choose a contact to see it on the map.${timesNamed.values().some(n => n > 1) ? " The number after a name is the contact's id in results.gpkg." : ""}`),
    data.moved ? el("p", { class: "quiet" },
        "Between: stops between the drawn line and the new one, and how many of them support the unit that the new line puts there. Inferred from neighbouring contacts: too few stops beside it, so it moves with those around it.") : null], contactPictures(), tested || sortedTable(columns, doubtOrder(), 25)]);
}

/// All stops of one verdict, those that conflict first of all.
function stopSection() {
  const s = i => data.stops[i], all = data.stops.map((_, i) => i), body = byId("stops-body");
  const kinds = [firstMap ? ["against the first map", i => againstFirstMap(s(i))] : null,
      ...[1, 4, 3, 2, 5, 6, 7, 0, 8].map(v => [signs[v].label, i => s(i).v === v])].filter(Boolean)
    .map(([label, takes]) => [label, all.filter(takes)]).filter(([, list]) => list.length > 0);
  if (!kinds.length) return;
  const holder = el("div", {}), columns = [
    ["Stop", i => s(i).id, i => [sign(s(i).v), "\u00a0", stopLink(i)], "nowrap"],
    firstMap ? ["On the first map", i => code(s(i).fm), i => code(s(i).fm)] : ["Drawn as", i => code(s(i).m),
        i => code(s(i).m)],
    firstMap ? null : ["Its probability", i => s(i).pm, i => s(i).pm === undefined ? "–" : probability(s(i).pm),
        "number"],
    ["Fits", i => code(s(i).f), i => code(s(i).f)],
    ["Its probability", i => s(i).pf, i => s(i).pf === undefined ? "–" : probability(s(i).pf), "number"],
    firstMap ? null : ["To a contact, m", i => s(i).cd, i => s(i).cd === undefined ? "–" : grouped(s(i).cd), "number"],
    ["Traverse", i => s(i).tr, i => s(i).tr || "–", "nowrap"],
    ["Why", null, i => s(i).r],
  ].filter(Boolean);
  const meanings = data.verdicts.map((v, i) => [i, v]).filter(([i]) => data.stops.some(t => t.v === i));
  const show = k => holder.replaceChildren(
      ...[sortedTable(columns, kinds[k][1].slice().sort((a, b) => (s(a).pm ?? 1) - (s(b).pm ?? 1) || a - b),
      12)].flat());
  add(body, [el("p", { class: "paper" },
      `${grouped(kinds[0][1].length)} of ${grouped(all.length)} stops: ${kinds[0][0]}. Choose the others on the page.`),
    el("p", { class: "noprint" }, el("label", { for: "stop-kind" }, "Stops of one kind: "),
        el("select", { id: "stop-kind", onchange: event => show(event.target.value) },
    kinds.map(([label, list], k) => el("option", { value: k }, `${label} (${grouped(list.length)})`)))),
    el("details", { class: "noprint" }, el("summary", {}, "What the kinds mean"),
        el("ul", { class: "stops-near" },
        meanings.map(([i, v]) => el("li", {}, sign(i), el("span", { class: "nowrap" }, signs[i].label),
        el("span", {}, v[1] + "."))))), holder]);
  show(0);
}

const gainHectares = n => n.gain.toFixed(2);
const gainWords = n => `about ${gainHectares(n)} ha expected to be corrected`;
const halfWords = n => n.half && `from ± ${metres(n.half[0])} to ± ${metres(n.half[1])}, as expected`;

function nextSection() {
  const body = byId("next-body"), n = i => data.next_stops[i];
  if (data.next_stops.length === 0) {
    body.append(el("p", { class: "quiet" }, firstMap && (data.run || {}).first_map
        && data.run.first_map.range_m === null
        ? "No next stop can be suggested: near stops are no more alike than far ones. Observe bedrock at more stops, some of them near one another."
      : "No next stop is suggested: none was asked for, or none is worth the walk."));
    return;
  }
  // What to see at a contact of the same two units is the same: said once.
  const told = new Map();
  const what = i => {
    const at = n(i).purpose.indexOf(": see ");
    if (firstMap || n(i).contact === undefined || at < 0) return n(i).purpose;
    const task = n(i).purpose.slice(at + 2), first = told.get(task);
    if (first === undefined) told.set(task, i);
    return first === undefined || first === i ? task[0].toUpperCase() + task.slice(1) : `As at ${n(first).rank}.`;
  };
  add(body, [el("p", {}, `Places where one more stop is expected to correct most of the ${firstMap ? "first map" : "map"}`
      + ", the best first. Each is ranked as if those before it had been visited. "
    + (data.tracks ? "Of the terrain only the tracks and no-go areas of the survey file are considered."
        : "Roads, slopes and fences are not considered.")),
  data.next_worth ? el("p", {}, data.next_worth) : null,
  (data.disputed || []).length ? el("p", {},
      "Bedrock observed in disputed areas would settle more: ",
      few(data.disputed.map((_, i) => i), patchLink, "#ground"), ".") : null,
  sortedTable([
    ["Rank", i => -n(i).rank, i => el("a", { href: "#next=" + n(i).rank }, String(n(i).rank)), "number"],
    ["In a walk", i => -n(i).walk, i => n(i).walk, "number"],
    ["Corrected, ha", i => n(i).gain, i => gainHectares(n(i)), "number"],
    firstMap ? null : ["Contact", i => n(i).contact === undefined ? null : contactName(data.contacts[n(i).contact]),
        i => n(i).contact !== undefined ? contactLink(n(i).contact, contactLabel(n(i).contact))
          : n(i).units ? n(i).units.map(code).join(" or ") : "–", "nowrap"],
    firstMap ? null : ["Located to, ± m", i => n(i).half ? n(i).half[0] : null,
        i => n(i).half ? `${grouped(n(i).half[0])}, then ${grouped(n(i).half[1])}` : "–", "number"],
    ["East, north", null, i => `${Math.round(data.origin[0] + n(i).x)}, ${Math.round(data.origin[1] + n(i).y)}`],
    ["What to see there", null, i => what(i)],
  ].filter(Boolean), data.next_stops.map((_, i) => i), 25)]);
}

/// Wilson's 90 % interval (1927) of a share.
const wilson = (k, n) => {
  const z = 1.645, p = k / n, m = (p + z * z / (2 * n)) / (1 + z * z / n),
      h = z / (1 + z * z / n) * Math.sqrt(p * (1 - p) / n + z * z / (4 * n * n));
  return [m - h, m + h];
};
/// How often soil alone was right at the probability it gave, at stops with observed bedrock, with 90 % intervals.
function calibrationFigure() {
  const bins = data.calibration.filter(b => b[2] > 0), width = 330, high = 210, left = 44, bottom = 40, top = 10;
  const x = d3.scale.linear().domain([0, 1]).range([left, width - 10]), y = d3.scale.linear().domain([0, 1])
      .range([high - bottom, top]);
  const parts = [svg("path", { class: "axis", d: `M${left},${top}V${high - bottom}H${width - 10}` }),
      svg("path", { d: `M${x(0)},${y(0)}L${x(1)},${y(1)}`, style: "stroke: var(--quiet); stroke-dasharray: 3 3" })];
  for (const t of [0, 0.5, 1]) {
    parts.push(svg("text", { x: t === 1 ? width : x(t), y: high - bottom + 15, "text-anchor": t === 1 ? "end"
        : "middle", class: "quiet" }, t * 100 + " %"),
      svg("text", { x: left - 6, y: y(t) + 4, "text-anchor": "end", class: "quiet" }, t * 100 + " %"));
  }
  for (const [, , n, p, k] of bins) {
    const [low, up] = wilson(k, n);
    parts.push(svg("path", { d: `M${x(p)},${y(low)}V${y(up)}`, style: "stroke: var(--calm); stroke-width: 2" }),
        svg("circle", { cx: x(p), cy: y(k / n), r: 4, style: "fill: var(--calm)" }));
  }
  parts.push(svg("text", { x: (left + width) / 2, y: high - 6, "text-anchor": "middle" },
      "probability given to the most probable unit"));
  return el("figure", { class: "calibration" },
    svg("svg", { viewBox: `0 0 ${width} ${high}`, style: "max-width: 360px", role: "img",
        "aria-label": "Share right by probability given; the table beside it holds the same figures" }, parts),
    el("div", { class: "wide" },
        el("table", {}, el("thead", {},
        el("tr", {}, ["Probability given", "Stops", "Right",
        "Share"].map((h, i) => el("th", { scope: "col", class: i ? "number" : null }, h)))),
      el("tbody", {}, bins.map(([low, up, n, , k]) => el("tr", {}, el("td", {}, `${percent(low)} to ${percent(up)}`),
          el("td", { class: "number" }, n), el("td", { class: "number" }, k),
          el("td", { class: "number" }, percent(k / n))))))));
}

/// The pair that the soil alone confuses most often, of units known at five stops or more.
function confusedWords() {
  const share = u => u.taken[0] / u.taken[1], known = data.units.map((_, i) => i)
      .filter(i => data.units[i].mistaken !== undefined && data.units[i].taken[1] >= 5);
  const worst = known.sort((a, b) => share(data.units[b]) - share(data.units[a]) || a - b)[0];
  if (worst === undefined) return null;
  const u = data.units[worst];
  return el("p", {}, "Most easily confused: ", unitLink(worst), ". Soil alone named it ", unitLink(u.mistaken),
      ` at ${u.taken[0]} of ${u.taken[1]} stops ${knownWhere}. `, apartWords(worst));
}
// Names of the codes: texture, Soil Survey Manual (USDA Handbook 18, 2017); effervescence, Field Book for Describing
// and Sampling Soils (NRCS, version 3.0, 2012).
const textureNames = { S: "sand", LS: "loamy sand", SL: "sandy loam", L: "loam", SIL: "silt loam", SI: "silt",
    SCL: "sandy clay loam", CL: "clay loam", SICL: "silty clay loam", SC: "sandy clay", SIC: "silty clay", C: "clay" };
const reactionNames = { NE: "none", VS: "very slight", SL: "slight", ST: "strong", VE: "violent" };
function codeWords() {
  const used = (names, texts) => Object.keys(names)
      .filter(name => texts.some(text => (text || "").split(/[^A-Z]+/).includes(name)))
      .map(name => `${name} ${names[name]}`).join(", ");
  const textures = used(textureNames, data.units.map(u => u.textures)),
      reactions = used(reactionNames, data.units.map(u => u.reaction)),
      plants = data.units.some(u => /IndVal/.test(u.plants || ""));
  return [textures || reactions ? el("p", { class: "quiet" }, textures && `Texture: ${textures}. `,
      reactions && `Reaction to acid: ${reactions}.`) : null,
      plants ? el("p", { class: "quiet" },
      "IndVal: 1 if a plant grows at every stop of the unit and nowhere else. p: probability that chance alone gives as much. Corrected: p that allows for the number of taxa tried.") : null];
}

function unitSection() {
  add(byId("units-body"),
      [el("p", { class: "quiet noprint" },
      "Choose a unit for its grain size, contacts, plants and conflicting stops. A white or black dot marks the middle colour. units.csv holds the same figures."),
    confusedWords(), codeWords(),
    el("div", { class: "unit-list" },
        data.units.map((u, i) =>
        el("article", {}, el("h3", {}, unitSwatch(i), el("a", { href: "#unit=" + encodeURIComponent(u.code) }, u.code),
        " ", u.name || ""),
      chipRow(u.moist, "moist subsoil"), chipRow(u.dry, "dry subsoil"), facts([
        ["Stops", count(u.stops, "stop", "stops") + (firstMap ? "" : `: ${u.agree} agree, ${u.conflict} conflict`)
            + `; bedrock observed at ${u.seen}`],
        ["Texture", u.textures], ["Reaction", u.reaction], ["Depth to rock", depthWords(u.depth)],
        ["Mistaken for", u.mistaken === undefined ? nothingMistaken(u) : [unitLink(u.mistaken),
            ` at ${u.taken[0]} of ${u.taken[1]}` + (u.apart ? `; best distinguished by ${u.apart}` : "")]]]),
      el("details", { class: "inwords" }, el("summary", {}, "In words, for a legend or a memoir"),
          inParagraphs(u.text)))))]);
}

/// How often the draft shows the observed bedrock.
function draftLine() {
  const [right, all] = draftTested();
  return firstMap || all === 0 ? ""
      : ` The draft shows the observed unit at ${grouped(right)} of ${count(all, "stop", "stops")}, but it may have been drawn from them.`;
}
/// Where the probabilities given were off by more than chance, and the units that were not tested.
function calibrationWords() {
  const off = data.calibration.filter(b => b[2] > 0)
      .map(b => ({ low: b[0], high: b[1], n: b[2], p: b[3], k: b[4], bounds: wilson(b[4], b[2]) }))
      .filter(b => b.p < b.bounds[0] || b.p > b.bounds[1]);
  const bare = data.units.map((_, i) => i).filter(i => data.units[i].taken[1] === 0);
  return [off.map(b =>
      ` Where it gave ${percent(b.low)} to ${percent(b.high)} it was right at ${grouped(b.k)} of ${grouped(b.n)}, ${b.k / b.n > b.p ? "more" : "less"} often than it said.`),
    bare.length && !firstMap ? [" Not tested, because no bedrock was observed: ", few(bare, unitLink, "#units"), "."]
        : ""];
}
/// How clearly moving contacts improves predictions.
function moveLine() {
  return moveSurety() && el("p", {},
      `Contacts were moved because this predicts ${data.run.contact_shift.decided_by} at hidden stops better than the draft does. The gain is ${moveSurety()} times its standard error.`);
}
function trialLine() {
  const t = data.trial;
  if (!t || !Array.isArray(t.warped) || !t.warped.length
      || !t.warped.every(w => Number.isFinite(w.found) && Number.isFinite(w.found_by_distance))) return null;
  return el("p", {}, `In a trial of ${grouped(t.stops)} stops the draft was made wrong on purpose. Average precision of wrong stops, from 0 to 1 (by distance to a contact alone): `
    + t.warped.map(w => `${w.found.toFixed(2)} (${w.found_by_distance.toFixed(2)}) where it was warped by ${metres(w.warp_m)}`).join(", ")
    + `. ${grouped(t.warped.reduce((n, w) => n + w.false_conflicts, 0))} of ${grouped(t.warped.reduce((n, w) => n + w.conflicts, 0))} conflicts were false. Real errors of the draft blur these figures.`);
}
/// "1.4 times" of a difference in log likelihood, nats.
const timesWords = (nats, decimals) => (Math.exp(nats) < 9.95 ? Math.exp(nats).toFixed(decimals)
    : grouped(Math.exp(nats))) + "\u00a0times";
function trustSection() {
  const run = data.run || {}, skill = run.skill || {}, body = byId("trust-body"),
      byObserved = skill.known_by === "observed bedrock";
  const seen = data.stops.filter(s => s.se !== undefined).length;
  add(body, [
    skill.stops > 0
      ? [el("p", {}, `Tested with the ${byObserved ? "observed bedrock" : "map"} hidden: soil alone named the ${byObserved ? "observed" : "mapped"} unit at ${percent(skill.accuracy)} of ${grouped(skill.stops)} stops${skill.known_by.startsWith("stops ") ? skill.known_by.slice(5) : ""} (guessing the commonest unit: ${percent(skill.share_accuracy)}).` + draftLine()),
        el("p", {}, `Each stop was judged without its own block of stops (${metres(run.held_out_block_m || 0)} wide). On average the right unit got ${timesWords(skill.share_log_loss - skill.log_loss, 1)} the probability that its share of the area gives.`)]
      : el("p", {}, "At no stop was the right unit known, so the soil could not be tested here."),
    el("p", {}, run.calibrated
      ? `Bedrock was observed at ${count(seen, "stop", "stops")}, enough to check the probabilities: the weights of the evidence were learnt there.`
      : `Use the probabilities only to rank stops: bedrock was observed at too few stops (${seen}; 30 needed) to check them.`),
    moveLine(),
    trialLine(),
    skill.stops > 0 && !byObserved ? el("p", {},
        "The mapped unit far from contacts counts as the right one. Where the draft is wrong there, this figure is wrong too.") : null,
  ]);
  if (rockTested() > 0) {
    add(body, [el("h3", {}, "Right at stops with observed bedrock"),
      el("p", {}, `At ${count(rockTested(), "stop", "stops")} bedrock was observed and soil noted. Soil alone named the right unit at ${rockRight()} of them, with the bedrock and the whole block hidden.`
        + " If dots lie on the dashed line, the probabilities are right."
            + (rockTested() < 30 ? " With so few stops the 90 % bars are too long to tell."
            : " Bars are 90 % intervals.")), calibrationWords().flat(3).some(Boolean) ? el("p", {}, calibrationWords())
            : null,
      calibrationFigure()]);
  }
  const channels = (run.channels || []).filter(c => c.stops > 0);
  if (channels.length) {
    const c = i => channels[i], used = i => !unusedEvidence.has(c(i).channel),
        gain = i => c(i).uniform_log_loss - c(i).held_out_log_loss;
    add(body, [el("h3", {}, "What each kind of evidence is worth here"),
      el("p", { class: "quiet" },
          "For the right unit: probability by this evidence alone, divided by its share of the area (mean over hidden stops). Counted: the weight of this evidence, below 100 % because kinds of evidence overlap."),
      sortedTable([
        ["Evidence", i => c(i).channel, i => c(i).channel],
        ["Stops", i => c(i).stops, i => grouped(c(i).stops), "number"],
        ["For the right unit", i => used(i) ? gain(i) : null, i => used(i) ? timesWords(gain(i), 2)
            : "not used: no help at hidden stops", "number"],
        ["Counted", i => c(i).weight, i => used(i) ? percent(c(i).weight) : "–", "number"],
      ], channels.map((_, i) => i).sort((a, b) => used(b) - used(a) || gain(b) - gain(a) || a - b), 100)]);
  }
}

function problemSection() {
  const body = byId("problems-body");
  if (data.problems.length === 0) { body.append(el("p", {}, "None: every record was read as written.")); return; }
  const p = i => data.problems[i], rank = { error: 2, warning: 1, note: 0 };
  // A problem's place is its stop's, where one stop alone stands there.
  const placed = new Map(), at = (x, y) => x.toFixed(1) + " " + y.toFixed(1);
  data.stops.forEach((s, i) => placed.set(at(s.x, s.y), placed.has(at(s.x, s.y)) ? undefined : i));
  const stopOf = i => p(i).at && placed.get(at(...p(i).at));
  const cell = (i, key) => p(i)[key] === undefined ? "" : String(p(i)[key]);
  add(body, sortedTable([
    ["Severity", i => rank[p(i).severity], i => el("span", { class: p(i).severity === "error" ? "warn" : "" },
        p(i).severity)],
    ["Source", i => p(i).source, i => p(i).source],
    ["Row", i => p(i).row, i => cell(i, "row"), "number"],
    placed.size ? ["Stop", i => stopOf(i) === undefined ? null : data.stops[stopOf(i)].id,
        i => stopOf(i) === undefined ? "" : stopLink(stopOf(i)), "nowrap"] : null,
    ["Field", i => p(i).field, i => cell(i, "field")],
    ["Value", i => p(i).value, i => cell(i, "value")],
    ["What is wrong, and what to do", null, i => p(i).message + (p(i).remedy ? ". " + p(i).remedy : ".")],
  ].filter(Boolean), data.problems.map((_, i) => i), 40));
}

function wordSection() {
  add(byId("words-body"),
      el("dl", { class: "facts" },
      data.glossary.map(([term, meaning]) => [el("dt", {}, term), el("dd", {}, meaning)])));
}

function methodSection() {
  const run = data.run || {}, inputs = run.inputs || {}, skill = run.skill || {};
  add(byId("method-body"), [
    el("p", {}, "Each map unit gets a soil signature: the probability density of the notes over it (colour, grain size, reaction, fragments, plants, landform and the survey's own evidence). It is learnt from the stops: kernels around a Student t distribution."), el("p", {}, "Every stop is judged by signatures learnt without its own block. The weight of each kind of evidence is learnt by log loss at hidden stops."), el("p", {}, firstMap ? "Bayes' rule then combines soil with the observed bedrock around the stop (indicator kriging)." : "Bayes' rule then combines soil with the draft, whose contacts are blurred by their stated error."),
    firstMap ? el("p", {},
        "The first map shows the most probable unit on a grid. It is kriged from observed bedrock and from the soil of all stops, which enters as a measurement with its own error. One variogram model serves all units.")
      : el("p", {}, "Contacts move by one smooth displacement, and only if this improves predictions at hidden stops. The shaded zone holds the contact with 90 % probability. Crossings on traverses come from a hidden Markov chain over units."),
    el("h3", {}, "Sources"),
    facts(Object.entries(inputs)
        .map(([what, i]) => [what,
        Object.entries(i).map(([k, v]) => k === "source" ? v : `${k.replace(/_/g, " ")} ${v}`).join(", ")])),
    el("h3", {}, "Coordinates"),
    el("p", {}, `All results are in ${run.crs || "the working projection"}.`),
    facts((run.coordinate_operations || []).map(o => [o.source, o.from === o.to ? `${o.to}, not transformed`
      : `${o.from} to ${o.to} by ${o.operation}; ` + (o.ballpark ? "without the datum shift it needs"
          : o.accuracy_m === null ? "accuracy unknown" : o.accuracy_m === 0 ? "exact"
          : `accuracy ${o.accuracy_m} m`)])),
    el("h3", {}, "Settings"),
    facts(Object.entries(run.settings || {})
        .map(([k, v]) => [k, v && typeof v === "object" ? Object.entries(v).map(([name, value]) => `${name} ${value}`)
        .join(", ") : k === "block_m" && v === 0 ? `chosen: ${metres(run.held_out_block_m || 0)}` : v === true ? "yes"
        : v === false ? "no" : String(v)])),
    run.contact_shift && run.contact_shift.decided_by ? [el("h3", {}, "Displacement of contacts"),
        facts([["decided by", run.contact_shift.decided_by], ["amplitude (sd)", metres(run.contact_shift.amplitude_m)],
      ["correlation length", metres(run.contact_shift.reach_m)],
          ["gain over the draft at hidden stops (log likelihood)",
          `${run.contact_shift.gain.toFixed(1)} nats, standard error ${run.contact_shift.gain_error.toFixed(1)}`]])]
          : null,
    skill.stops > 0 ? [el("h3", {}, "How right soil alone is"),
        facts([["hidden stops", grouped(skill.stops)],
        ["probability given to the right unit (log loss)",
        `${skill.log_loss.toFixed(2)} nats a stop; ${skill.share_log_loss.toFixed(2)} by the units' shares of the area`],
      ["trial of drafts made wrong (how well wrong stops were found)", data.trial ? "quoted under How far to trust it"
          : null]])] : null,
  ]);
}
