// Cards: what is known of one stop, contact or unit.
function neighbours(index, most) {
  const s = data.stops[index];
  return data.stops.map((t, i) => ({ i, d: Math.hypot(t.x - s.x, t.y - s.y) })).filter(n => n.i !== index)
    .sort((a, b) => a.d - b.d || a.i - b.i).slice(0, most);
}
/// The notes of a stop support the drawn unit, though with the stops around it another fits.
const byItself = s => s.o !== undefined && s.o === s.m && s.et < -0.02;
const nearList = list => el("ul", { class: "stops-near" }, list.map(n => {
  const t = data.stops[n.i];
  return el("li", {}, sign(t.v), stopLink(n.i), el("span", {}, signs[t.v].label), el("span", { class: "quiet" },
    `${metres(n.d)} away` + (firstMap ? "" : `, drawn as ${code(t.m)}`)
        + (t.f !== undefined && t.f !== t.m ? `, fits ${code(t.f)}` : "") + (byItself(t) ? `, by itself ${code(t.m)}`
        : "")));
}));

/// The first map shows another unit than the observed bedrock, or than soil that clearly fits one.
const againstFirstMap = s => s.fm !== undefined && shownUnit(s) !== undefined && shownUnit(s) !== s.fm;

function stopCard(index) {
  const s = data.stops[index], verdict = data.verdicts[s.v];
  const step = by => data.stops[(index + by + data.stops.length) % data.stops.length];
  const triangleFigure = triangle(s), bars = evidenceBars(s);
  return [
    el("h3", {}, sign(s.v, 22), " Stop ", s.id),
    el("p", { class: s.v === 1 ? "warn" : "" }, verdict[1] + "."),
    el("p", { class: "says" }, s.r),
    el("div", { class: "step" }, el("a", { href: "#stop=" + encodeURIComponent(step(-1).id) }, "stop before it"),
      el("a", { href: "#stop=" + encodeURIComponent(step(1).id) }, "stop after it")),
    facts([
      ["Drawn as", firstMap ? null : s.m === undefined ? "outside the draft"
          : [unitLink(s.m), ` ${unit(s.m).name || ""}, probability ${probability(s.pm)}`]],
      ["Best fit", s.f === undefined ? "none"
          : [unitLink(s.f), ` ${unit(s.f).name || ""}, probability ${probability(s.pf)}`]],
      ["On the first map", s.fm === undefined ? null : againstFirstMap(s) ? el("span", { class: "warn" },
          unitLink(s.fm), ", against this stop") : unitLink(s.fm)],
      ["Observed bedrock", s.se === undefined ? null : unitLink(s.se)],
      ["Nearest contact", s.cd === undefined ? null
          : [metres(s.cd) + " away", s.n === undefined ? "" : [", with ", unitLink(s.n)]]],
      ["Position", `${Math.round(data.origin[0] + s.x)} east, ${Math.round(data.origin[1] + s.y)} north, standard error ${s.sd}\u00a0m`],
      ["Traverse", s.tr], ["Date", s.da], ["Landform", s.lf], ["Slope", s.sl === undefined ? null : s.sl + "°"],
      ["Parent material", s.pk && s.pk !== "unknown" ? s.pk : null],
      ["Transported soil", `probability ${probability(s.pt)} (alluvium, till and the like; not creep)`],
      ["Creep", s.up === undefined ? null : ["about ", percent(s.up[2]), " of the soil from ", unitLink(s.up[0]),
          `, drawn ${metres(s.up[1])} upslope`]],
      ["Unusual", s.ty < 0.05 ? `rarer than ${percent(1 - s.ty)} of the unit's own stops` : null],
      ["Plants", s.pl], ["Notes", s.no],
    ]),
    s.ph && [el("h4", {}, "Photographs"), el("div", { class: "photos" }, s.ph.map(p => el("figure", {},
      el("img", { src: p.a, alt: "Photograph " + p.n }),
      el("figcaption", { class: "quiet" }, p.n + (p.d === undefined ? "" : `, looking ${bearing(p.d)} (${p.d}°)`)
          + (p.w ? `, ${p.w}` : "")))))],
    el("h4", {}, "Profile, in the colours of its Munsell chips"), profileColumn(s),
    bars && [el("h4", {}, `Evidence for ${code(s.f)} against ${code(s.o)}`
        + (s.o === s.m ? " (as drawn)" : " (second best)")),
      el("p", { class: "quiet" },
          `2 to 1 for ${code(s.f)}: twice as probable over ${code(s.f)} as over ${code(s.o)}. Each bar begins where the last one ended: 2 to 1 and 3 to 1 make 6 to 1. The probabilities above also use the ${firstMap ? "observed bedrock around" : s.pd ? "draft and the stops around, which dispute the draft" : data.moved ? "draft with its contacts moved" : "draft"}.`), bars],
    triangleFigure && [el("h4", {}, "Grain size of the fine earth"), triangleFigure],
    el("h4", {}, "Stops nearby"), nearList(neighbours(index, 5)),
  ];
}

/// Distance from a place to a line in grid steps.
function distanceTo(flat, x, y) {
  let best = Infinity;
  for (let i = 2; i < flat.length; i += 2) {
    const ax = flat[i - 2] * data.step, ay = flat[i - 1] * data.step, dx = flat[i] * data.step - ax,
        dy = flat[i + 1] * data.step - ay;
    const l = dx * dx + dy * dy, t = l > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / l)) : 0;
    best = Math.min(best, Math.hypot(ax + t * dx - x, ay + t * dy - y));
  }
  return best;
}
function shiftWords(c) {
  if (c.shift === undefined) return null;
  const there = elsewhere(c);
  // by stretches above
  if (disputeOf(c) || there && (c.stretches.length > 1 || Math.abs(c.shift) < 0.5 * there.by)) return null;
  if (Math.abs(c.shift) < 0.5) return `none (± ${metres(1.645 * c.shift_sd)})`;
  const towards = c.azimuth === null ? "" : " to the " + bearing(c.azimuth);
  return `${metres(Math.abs(c.shift))}${towards} (± ${metres(1.645 * c.shift_sd)})`;
}

const placeWords = { accurate: "accurate: bedrock of both units observed close by",
    approximate: "approximate: bedrock of both units observed nearby",
  inferred: "inferred from soil and draft; not observed",
      concealed: "concealed: most stops near it stand on transported soil" };
const oddsAgainst = odds => Math.abs(odds) < 0.05 ? "even"
    : (Math.abs(odds) > 3 ? "over 1000" : Math.pow(10, Math.abs(odds)).toFixed(Math.abs(odds) < 1 ? 1 : 0)) + " to 1 "
    + (odds > 0 ? "for the units across" : "for the units as drawn");

/// What the stops say of a contact stretch by stretch, and where to dig to settle each.
function partList(c) {
  const named = (list, one, many) => list && [" ", list.slice(0, 6).map((i, k) => [k ? ", " : "", stopLink(i)]),
      list.length > 6 ? ` and ${list.length - 6} more` : "", ` ${list.length === 1 ? one : many}.`];
  const word = p => p.review === "shift"
      ? `should move ${metres(p.by)}${p.azimuth === null ? "" : " to the " + bearing(p.azimuth)} `
          + `(±\u00a0${metres(p.half)})`
      : reviewWords[p.review];
  return [c.parts.length > 1 ? el("h4", {}, "Stretch by stretch") : null,
      el("ol", { class: "stretches" }, c.parts.map(p => el("li", {},
      el("b", {}, `${metres(p.length)}: ${word(p)}.`),
      p.review === "shift" ? named(p.against, "contradicts the drawn line", "contradict the drawn line")
          : [named(p.against, "contradicts it", "contradict it"), named(p.for, "supports it", "support it")],
      p.crossed && p.review === "doubtful" ? " A traverse crosses it away from the drawn line." : "",
      p.dig ? " " + p.dig : "")))];
}

function contactCard(index) {
  const c = data.contacts[index];
  const near = data.stops.map((s, i) => ({ i, d: distanceTo(c.line, s.x, s.y) }))
      .filter(n => n.d <= 4 * data.contact_sd)
    .sort((a, b) => a.d - b.d || a.i - b.i).slice(0, 12);
  const there = elsewhere(c);
  return [
    el("h3", {}, "Contact ", contactLabel(index)),
    there && el("p", { class: "warn" },
        el("b", {}, `Misplaced along ${grouped(Math.min(there.length, c.length))} of ${metres(c.length)}`),
        c.stretches.length > 1 ? "." : `: by ${stretchWords(c.stretches[0]).split(" by ")[1]}.`),
    disputeOf(c) && el("p", { class: "warn" }, el("b", {}, "May not exist.")),
    firstMap || there ? null
        : el("p", { class: c.review === "doubtful" ? "warn" : "" }, reviewSentence(c), "."),
    firstMap || !c.parts ? null : partList(c),
    facts([
      ["Between", [unitLink(c.a), ` ${unit(c.a).name || ""} and `, unitLink(c.b), ` ${unit(c.b).name || ""}`]],
      ["Mean shift", firstMap ? null : shiftWords(c)],
      ["Misplaced by over " + metres(data.contact_sd), firstMap || disputeOf(c) || c.p === undefined ? null
          : `probability ${probability(c.p)}`],
      [zoneName, `± ${metres(c.half)}`],
      ["Stops in between", !there || c.given === undefined ? null
          : `${c.given[1]} of ${c.given[0]} between the drawn line and the new one ${c.given[1] === 1 ? "supports" : "support"} the unit that the new line puts there`],
      ["Stops beside it", firstMap ? null : c.for + c.against === 0 ? "none"
          : `${c.for} fit the unit on their own side of the drawn line, ${c.against} the unit across`
          + (there ? "" : `; together ${oddsAgainst(c.odds)}`)],
      ["Bedrock of both units", !firstMap ? null : c.identity === "certain" ? "observed nearby"
          : "not both observed nearby"],
      ...(firstMap ? [] : [["Place", placeWords[c.location] || c.location], ["That it exists", c.existence],
          ["These two units", c.identity]]), ["Length", metres(c.length)],
    ]),
    el("h4", {}, `Stops within ${metres(4 * data.contact_sd)}`),
    near.length ? nearList(near) : el("p", { class: "quiet" }, "None: a stop here would tell."),
  ];
}

const interval = d => d[0] === null || d[5] === null ? ""
    : d[6] === null ? ` (90 % interval from ${d[5]} cm, no upper limit)` : ` (90 % interval ${d[5]} to ${d[6]} cm)`;
const depthWords = d => d && (d[3] === 0 ? `not reached in ${count(d[4], "hole", "holes")}`
  : d[3] === 1 ? `one hole: ${d[1]} cm` + (d[4] ? `; deeper than the hole in ${grouped(d[4])}` : "")
  : (d[0] === null ? "" : `median ${d[0]} cm${interval(d)}; `)
      + `reached at ${d[1] === d[2] ? d[1] : d[1] + " to " + d[2]} cm in ${count(d[3], "hole", "holes")}`
      + (d[4] ? `; deeper than the hole in ${grouped(d[4])}` : ""));

/// Where it is known which unit lies below: observed bedrock, else the draft far from its contacts.
const knownWhere = (data.run && data.run.skill && data.run.skill.known_by === "observed bedrock")
    ? "with its bedrock observed" : "far from contacts, drawn as it";
/// Of a unit that the soil alone took for no other.
const nothingMistaken = u => u.taken[1] === 0 ? "not tested: its bedrock was not observed"
    : `none: named at ${u.taken[1] === 1 ? "the one stop" : u.taken[1] === 2 ? "both stops" : `all ${u.taken[1]} stops`} ${knownWhere}` + (u.taken[1] < 5 ? ", too few to tell" : "");

/// What was noted over a unit that tells it from others, by the kind of evidence; null where the page has no summary of
/// it.
function notedOver(u, kind) {
  const chips = c => c && c[2].slice(0, 3).map(([name]) => name).join(", ");
  const commonest = text => text && text.split(", ").slice(0, 3).join(", ")
      .replace(/ \(((?:under )?\d+) %(?: of (?:about |under )?\d+)?\)/g, " $1\u00a0%");
  return { "kind of fragments": commonest(u.kinds), "reaction to acid": commonest(u.reaction),
      "subsoil texture": commonest(u.textures), "moist subsoil colour": chips(u.moist),
      "dry subsoil colour": chips(u.dry),
    plants: u.plants && u.plants.replace(/ \(IndVal [^)]*\)/g, ""),
        fragments: u.fragments && `median ${u.fragments[0]} %` }[kind] || null;
}
/// "Told apart best by kind of fragments: limestone, mudstone, slate over Ll; quartz, schist, slate over Ss." or null.
function apartWords(index) {
  const u = data.units[index], other = unit(u.mistaken);
  const over = [u, other].map(one => [one, u.apart && notedOver(one, u.apart)]).filter(([, noted]) => noted)
      .map(([one, noted]) => `${noted} over ${one.code}`);
  return over.length === 0 ? null
      : `${u.apart[0].toUpperCase() + u.apart.slice(1)} distinguishes ${u.code} from ${other.code} best: ${over.join("; ")}.`;
}

function unitFacts(u) {
  return facts([
    ["Area", hectares(u.area) + (firstMap ? " on the first map" : " in the draft")],
    ["Lithology", u.lithology],
    ["Described from", count(Math.round(u.described), "stop", "stops")
        + ((data.run || {}).units_described_by === "draft" ? " as drawn"
        : ", each counted by its probability of lying on the unit")],
    ["Stops", count(u.stops, "stop", "stops") + (firstMap ? "" : `: ${u.agree} agree, ${u.conflict} conflict`)],
    ["Bedrock observed", `at ${count(u.seen, "stop", "stops")}`],
    ["Moist subsoil", u.moist && chipRow(u.moist, "moist")], ["Dry subsoil", u.dry && chipRow(u.dry, "dry")],
    ["Texture", u.textures],
    ["Fragments", u.fragments ? (u.fragments[3] === 1 ? `one horizon: ${u.fragments[0]} %`
        : `median ${u.fragments[0]} %, ${u.fragments[1]} to ${u.fragments[2]} %, n = ${aboutCount(u.fragments[3])}`)
        + (u.kinds ? "; " + u.kinds : "") : u.kinds],
    ["Reaction to acid", u.reaction], ["Profile", u.profile],
    ["Depth to rock", depthWords(u.depth)], ["Weathered rock", u.weathered && u.weathered[3] ? depthWords(u.weathered)
        : null],
    ["Minerals", u.minerals], ["Landform", u.landforms], ["Plants", u.plants], ["Parent material", u.materials],
    ["Mistaken for", u.mistaken === undefined ? nothingMistaken(u)
        : [unitLink(u.mistaken),
        ` at ${u.taken[0]} of ${count(u.taken[1], "stop", "stops")} ${knownWhere}, by soil alone`
        + (u.apart ? `; best distinguished by ${u.apart}, ${u.apart_by} to 1` : "")]],
  ]);
}
function unitCard(index) {
  const u = data.units[index];
  const own = u.mistaken === undefined ? null : apartWords(index);
  const wrong = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1 && data.stops[i].m === index);
  const like = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1 && data.stops[i].f === index);
  const links = list => list.slice(0, 40).map((i, k) => [k ? ", " : "", stopLink(i)]);
  const contacts = doubtOrder().filter(i => data.contacts[i].a === index || data.contacts[i].b === index);
  const figure = unitTriangle(index);
  return [
    el("h3", {}, unitSwatch(index), u.code, " ", u.name || ""), unitFacts(u), own && el("p", {}, own),
        u.text ? el("details", { class: "inwords" }, el("summary", {}, "In words, for a legend or a memoir"),
        inParagraphs(u.text)) : null,
    wrong.length ? [el("h4", {}, `Drawn as ${u.code}, but conflicting`), el("p", {}, links(wrong))] : null,
    like.length ? [el("h4", {}, `Drawn as another unit, but like ${u.code}`), el("p", {}, links(like))] : null,
    figure && [el("h4", {}, "Grain size of the subsoil"), figure,
        el("p", { class: "quiet" },
        `Dots: horizons at stops where it was observed or ${firstMap ? "fits" : "is drawn"}. Ellipse: holds half of the horizons that describe the unit. A class by feel counts with its whole region.`)],
    contacts.length ? [el("h4", {}, firstMap ? "Its contacts" : "Its contacts, the most doubtful first"
        + (contacts.length > 12 ? `: 12 of ${contacts.length}` : "")),
        el("ul", { class: "stops-near" }, contacts.slice(0, 12).map(i => el("li", {},
      contactLink(i, contactLabel(i)),
          el("span", {}, `${firstMap ? "" : verdictOf(data.contacts[i]) + ", "}${data.contacts[i].location}, ${metres(data.contacts[i].length)}`))))] : null,
  ];
}
function unitSwatch(index) {
  const box = el("span", { class: "swatch", "aria-hidden": "true" });
  box.style.background = fill(index);
  return box;
}

/// The first few, the rest a press away.
function nextList() {
  const most = firstMap ? 10 : 4, list = data.next_stops;
  if (!list.length) return null;
  const some = part => el("ol", { class: "stops-near" },
      part.map(n => el("li", {}, el("a", { href: "#next=" + n.rank }, "Next stop " + n.rank),
    el("span", {}, n.units ? `${code(n.units[0])} or ${code(n.units[1])}, ${gainWords(n)}` : n.contact === undefined
        ? "area without stops" : contactName(data.contacts[n.contact]) + `, located to ± ${metres(n.half[0])}`))));
  return [el("h3", {}, "Where to look next"), some(list.slice(0, most)),
    list.length > most ? el("details", { class: "more-stops" },
        el("summary", {}, `${grouped(list.length - most)} more`), some(list.slice(most))) : null];
}

/// A list of a few, and a way to all of them.
const shortList = (title, list, row, all) => list.length === 0 ? null
    : [el("h3", {}, title), el("ul", { class: "stops-near" }, list.slice(0, 8).map(i => el("li", {}, row(i)))),
  list.length > 8 ? el("p", { class: "quiet" }, el("a", { href: all }, `and ${grouped(list.length - 8)} more`)) : null];

/// What the first map holds and lacks, and the stops that contradict it.
function firstMapLists() {
  const areas = data.units.map((_, i) => i).sort((a, b) => unit(b).area - unit(a).area);
  const lacking = (seen, words) => {
    const list = areas.filter(i => !(unit(i).area > 0) && unit(i).seen > 0 === seen);
    return list.length ? el("p", { class: "quiet" }, words, few(list, unitLink, "#units"), ".") : null;
  };
  return [
    shortList("On the first map", areas.filter(i => unit(i).area > 0),
        i => [unitLink(i), el("span", {},
        `${hectares(unit(i).area)}; bedrock observed at ${count(unit(i).seen, "stop", "stops")}`)], "#units"),
    lacking(false, "Not on it, because no bedrock was observed: "),
        lacking(true, "Not on it, though bedrock was observed: "),
    shortList("Stops against it", data.stops.map((_, i) => i).filter(i => againstFirstMap(data.stops[i])), i => {
      const s = data.stops[i];
      return [sign(s.v), stopLink(i),
          el("span", {}, `on ${code(s.fm)}, ${s.se !== undefined ? "observed" : "fits"} ${code(shownUnit(s))}`)];
    }, "#stops"),
  ];
}

function startCard() {
  const invitation = el("p", { class: "quiet noprint" },
      "Choose a stop, a contact or a unit on the map to read about it.");
  if (firstMap) return [firstMapLists(), nextList(), invitation];
  const conflicts = data.stops.map((_, i) => i).filter(i => data.stops[i].v === 1)
      .sort((a, b) => data.stops[a].pm - data.stops[b].pm || a - b);
  return [
    shortList("Contacts to look at", contactsToLookAt(), i => {
      const c = data.contacts[i], there = elsewhere(c);
      return [contactLink(i, contactName(c)),
          el("span", {}, there
          ? `misplaced: ${metres(there.length)}${c.stretches.length > 1 ? ` in ${grouped(c.stretches.length)} parts` : ""}, by ${metres(there.by)}`
        : disputeOf(c) ? "may not exist: the area beside it is disputed"
            : `in doubt: ${count(c.against, "stop", "stops")} against, ${c.for} for`)];
    }, "#contacts"),
    (data.disputed || []).length ? [el("h3", {}, "Disputed areas"),
        el("ul", { class: "stops-near" }, data.disputed.slice(0, 4).map((d, i) => el("li", {},
      el("a", { href: "#ground=" + (i + 1) }, code(d.drafted)),
          el("span", {}, `like ${code(d.like)} at ${d.fit} of ${count(d.stops, "stop", "stops")}, probability ${probability(d.p)}`))))] : null,
    shortList("Stops that conflict", conflicts,
        i => [sign(1), stopLink(i), el("span", {}, `drawn as ${code(data.stops[i].m)}, fits ${code(data.stops[i].f)}`)],
        "#stops"),
    nextList(), invitation,
  ];
}
