// Elements, numbers and colours. Text of the data reaches the page as text nodes only, so nothing of it is ever markup.
const data = JSON.parse(document.getElementById("data").textContent);
/// There was no draft: what the page shows as the map was drawn from the stops.
const firstMap = !!(data.run && data.run.without_draft);
const zoneName = firstMap ? "Doubtful zone" : "90 % zone";
/// The unit a stop stands for: observed bedrock, else the drawn unit, without a draft the one it clearly fits.
const shownUnit = s => s.se !== undefined ? s.se : firstMap ? (s.v === 8 ? s.f : undefined) : s.m;
const byId = id => document.getElementById(id);

function el(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  add(element, children);
  return element;
}
function add(element, children) {
  for (const child of [children].flat(Infinity)) {
    if (child !== null && child !== undefined && child !== "" && child !== false) element.append(child);
  }
}
function svg(tag, attributes, ...children) {
  const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value !== null && value !== undefined) element.setAttribute(name, value);
  }
  add(element, children);
  return element;
}

// no number is broken over two lines
const grouped = n => String(Math.round(n)).replace(/\B(?=(\d{3})+(?!\d))/g, "\u202f");
const count = (n, one, many) => grouped(n) + " " + (n === 1 ? one : many);
const percent = share => Math.round(share * 100) + "\u00a0%";
const metres = m => grouped(m) + "\u00a0m";
const hectares = m2 => (m2 < 1e5 ? (m2 / 1e4).toFixed(1) : grouped(m2 / 1e4)) + "\u00a0ha";
const signed = (n, decimals) => (n > 0 ? "+" : n < 0 ? "−" : "") + Math.abs(n).toFixed(decimals);
/// Never says certain: the sums behind a probability are not that sure of themselves.
const probability = p => p > 0.995 ? "over\u00a00.99" : p < 0.005 ? "under\u00a00.01" : p.toFixed(2);
function bearing(azimuth) {
  const names = ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
  return names[Math.round(azimuth / 45) % 8];
}

// Unit colours: the legend's, else a muted set that colour-blind readers tell apart (Paul Tol's technical note, 2021).
const spare = ["#88ccee", "#ddcc77", "#cc6677", "#117733", "#aa4499", "#44aa99", "#999933", "#882255", "#332288"];
data.units.forEach((unit, i) => {
  unit.fill = /^#[0-9a-f]{6}$/i.test(unit.colour || "") ? unit.colour : spare[i % spare.length];
});
const unit = index => index === null || index === undefined ? null : data.units[index];
const code = index => index === null || index === undefined ? "none" : data.units[index].code;
const fill = index => index === null || index === undefined ? "transparent" : data.units[index].fill;
function inkOn(colour) {
  const channel = i => Math.pow(parseInt(colour.slice(i, i + 2), 16) / 255, 2.2);
  return 0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5) > 0.22 ? "#111" : "#fff";
}
const themed = name => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();

// A sign for each verdict, told apart by shape as well as by colour. `d` is filled, `s` drawn as a line.
const circle = (r, x = 0, y = 0) => `M${x + r},${y}A${r},${r} 0 1 1 ${x - r},${y}A${r},${r} 0 1 1 ${x + r},${y}Z`,
    agreeingRadius = 3.6;
const signs = [
  { label: "agrees", colour: "calm", d: circle(agreeingRadius), s: "" },
  { label: "conflicts", colour: "warn", d: "M0,-8L7,0L0,8L-7,0Z", s: "M0,-8L7,0L0,8L-7,0Z", edge: "ink" },
  { label: "near a contact", colour: "open", d: "M0,-4.4A4.4,4.4 0 0 1 0,4.4Z", s: circle(4.4) },
  { label: "undecided", colour: "open", d: "", s: circle(3.8) },
  { label: "unlike any unit", colour: "odd", d: "M-4.5,-4.5H4.5V4.5H-4.5Z", s: "" },
  { label: "transported soil", colour: "sand", d: "", s: "M-4.8,-3.6H4.8L0,4.6Z" },
  { label: "no evidence", colour: "open", d: "", s: "M-4,0H4" },
  { label: "off the map", colour: "open", d: "", s: "M-4,-4L4,4M4,-4L-4,4" },
  { label: "fits one unit", colour: "calm", d: circle(3.6), s: circle(6) },
];
function sign(verdict, size) {
  const s = signs[verdict], side = size || 16;
  return svg("svg", { class: "mark", width: side, height: side, viewBox: "-9 -9 18 18", role: "img",
      "aria-label": s.label },
    s.d && svg("path", { d: s.d, style: `fill: var(--${s.colour})` }),
    s.s && svg("path", { d: s.s, style: `fill: none; stroke: var(--${s.edge || s.colour}); stroke-width: 1.6` }));
}
const stopIndex = new Map(data.stops.map((stop, i) => [stop.id, i]));
/// The first three in words, and a way to all.
const few = (list, words, all) => [list.slice(0, 3).map((one, i) => [i ? ", " : "", words(one)]),
    list.length > 3 ? [" and ", el("a", { href: all }, `${grouped(list.length - 3)} more`)] : ""];
/// A short name stays on one line.
const unbroken = name => name.length < 16 ? "nowrap" : null;
const stopLink = i =>
    el("a", { href: "#stop=" + encodeURIComponent(data.stops[i].id), class: unbroken(data.stops[i].id) },
    data.stops[i].id);
const unitLink = index => index === null || index === undefined ? "none"
  : el("a", { href: "#unit=" + encodeURIComponent(code(index)) }, code(index));
const contactName = c => code(c.a) + " | " + code(c.b);
const timesNamed = d3.map();
data.contacts.forEach(c => timesNamed.set(contactName(c), (timesNamed.get(contactName(c)) || 0) + 1));
/// "Os | Pm", with its number in the layers where several contacts part the same two units.
const contactLabel = i => contactName(data.contacts[i])
    + (timesNamed.get(contactName(data.contacts[i])) > 1 ? `\u00a0no.\u00a0${i + 1}` : "");
const contactLink = (i, label) => el("a", { href: "#contact=" + (i + 1), class: unbroken(label) }, label);
/// "420 m by 58 ± 41 m to the east". Everywhere on the page ± is the 90 % half-width.
const stretchWords = s => `${metres(s.length)} by ${grouped(s.by)}\u00a0±\u00a0${metres(s.half)}`
    + (s.azimuth === null ? "" : " to the " + bearing(s.azimuth));
/// Along how much of it a contact is misplaced, and by how much, over all its stretches; null if nowhere.
function elsewhere(c) {
  const parts = firstMap ? [] : c.stretches || [], length = d3.sum(parts, s => s.length);
  return length > 0 ? { length, by: d3.sum(parts, s => s.length * s.by) / length } : null;
}
/// The stretch of a contact with the largest area between the drawn line and the contact.
const largestStretch = c => elsewhere(c) && c.stretches.slice().sort((a, b) => b.length * b.by - a.length * a.by)[0];
/// The area on one side of a contact is disputed and like the other side, so it may not exist.
const disputeOf = c => c.disputed === undefined ? null : data.disputed[c.disputed];
const disputeLink = c => el("a", { href: "#ground=" + (c.disputed + 1) }, "disputed");
const patchLink = i => el("a", { href: "#ground=" + (i + 1) },
    `${hectares(data.disputed[i].area)} drawn as ${code(data.disputed[i].drafted)}`);
/// By how many standard errors moving contacts improves predictions at hidden stops; null if none moves.
const moveSurety = () => {
  const shift = (data.run || {}).contact_shift || {};
  return data.moved && !(shift.stretches || []).length && shift.gain_error > 0 ? (shift.gain / shift.gain_error)
      .toFixed(1) : null;
};
/// The stretches of a contact that are in doubt.
const doubtfulParts = c => (c.parts || []).filter(p => p.review === "doubtful");
const onlyCrossed = c => doubtfulParts(c).every(p => !p.against && p.crossed);
/// Why a contact is in doubt; for others the sentence of the review.
const reviewSentence = c => disputeOf(c) ? [`The ${code(disputeOf(c).drafted)} on one side is `, disputeLink(c),
    `. With probability ${probability(disputeOf(c).p)} it is ${code(disputeOf(c).like)}, as on the other side. Then this contact does not exist`]
  : c.review === "supported" && c.against > 0 ? "Taken together, the stops beside it fit the unit on their own side"
  : c.review !== "doubtful" ? data.reviews[c.review] || c.review
  : `Along ${metres(d3.sum(doubtfulParts(c), p => p.length))} of it ${onlyCrossed(c)
      ? "a traverse crosses it away from the drawn line" : "the stops do not fit it as drawn"}`;
const reviewWords = { shift: "should move", doubtful: "in doubt", supported: "supported",
    untested: "too few stops to test" };
const rockTested = () => d3.sum(data.calibration, b => b[2]);
/// Stops with observed bedrock inside the draft: where the draft was right, and all.
const draftTested = () => { const seen = data.stops.filter(s => s.se !== undefined && s.m !== undefined);
    return [seen.filter(s => s.se === s.m).length, seen.length]; };
const rockRight = () => d3.sum(data.calibration, b => b[4]);
/// A long text as paragraphs of at most 60 words, cut between sentences.
function inParagraphs(text) {
  const words = t => t.split(" ").length, parts = [""];
  for (const sentence of text.split(/(?<=[.]) (?=[A-Z])/)) {
    if (parts.at(-1) && words(parts.at(-1)) + words(sentence) > 60) parts.push("");
    parts[parts.length - 1] += (parts.at(-1) ? " " : "") + sentence;
  }
  return parts.map(part => el("p", {}, part));
}
function facts(pairs) {
  const list = el("dl", { class: "facts" });
  for (const [term, value] of pairs) {
    if (value === null || value === undefined || value === "" || Array.isArray(value) && value.length === 0) continue;
    add(list, [el("dt", {}, term), el("dd", {}, value)]);
  }
  return list;
}
