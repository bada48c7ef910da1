// What is chosen stands in the address after '#': a link to it can be kept and sent.
function go(kind, id) { location.hash = kind + "=" + encodeURIComponent(id); }
/// What is pressed on the map is seen already: the map stays as it is.
let picked = null;
function pick(kind, id) {
  go(kind, id);
  picked = location.hash;
}
/// What the map shows of one place: where that was chosen in a list, the ground in which its neighbours are told apart.
function viewOf(at) {
  const reach = Math.max(6 * (isFinite(usualSpacing) ? usualSpacing : 0), 5 * data.contact_sd);
  const box = L.latLngBounds([at.lat - reach, at.lng - reach], [at.lat + reach, at.lng + reach]);
  return location.hash === picked || ground.map.getZoom() >= closeZoom(box) ? [L.latLngBounds([at, at]), false]
      : [box, true];
}

/// Away from a card, to the lists of what to look at.
function back() {
  if (!location.hash.includes("=")) return;
  history.pushState(null, "", "#");
  choose();
  byId("card").focus({ preventScroll: true });
}

function choose() {
  // On a narrow screen the map makes room for an open card, before anything is placed on it.
  byId("card").parentElement.classList.toggle("open", location.hash.includes("="));
  ground.map.invalidateSize({ animate: false });
  const [kind, text] = location.hash.slice(1).split("=");
  if (text === undefined) {
    if (kind === "") { byId("card").replaceChildren(); add(byId("card"), startCard()); markOnMap([]); }
    return;
  }
  let id = "";
  try { id = decodeURIComponent(text); } catch (_) { return; }
  const stroke = { interactive: false, color: ground.colours.ink, fill: false };
  let card = null;
  if (kind === "stop" && stopIndex.has(id)) {
    const s = data.stops[stopIndex.get(id)], at = place(s.x, s.y);
    card = stopCard(stopIndex.get(id));
    markOnMap([L.circleMarker(at, { ...stroke, radius: 12, weight: 3 }),
        L.circleMarker(at, { ...stroke, radius: 14.5, weight: 2, color: ground.colours.paper })], ...viewOf(at));
  } else if (kind === "contact" && data.contacts[id - 1]) {
    const c = data.contacts[id - 1],
        line = L.polyline(path(c.line), { ...stroke, weight: elsewhere(c) ? 2.2 : 4, dashArray: "8 5" });
    const largest = largestStretch(c);  // what the card speaks of first
    card = contactCard(id - 1);
    markOnMap([line], largest ? L.latLngBounds(path(largest.draft).concat(path(largest.now))) : line.getBounds(), true);
  } else if (kind === "unit") {
    const index = data.units.findIndex(u => u.code === id);
    if (index >= 0) {
      const rings = data.polygons.filter(([u]) => u === index)
          .map(([, r]) => L.polygon(polygonPlaces(r), { ...stroke, weight: 3 }));
      card = unitCard(index);
      markOnMap(rings, null);
    }
  } else if (kind === "ground" && data.disputed && data.disputed[id - 1]) {
    const d = data.disputed[id - 1], rings = L.polygon(d.ground.map(polygonPlaces), { ...stroke, weight: 2.5 });
    card = disputedCard(id - 1);
    markOnMap([rings], d.ground.length ? rings.getBounds() : null, true);
  } else if (kind === "next" && data.next_stops && data.next_stops[id - 1]) {
    const n = data.next_stops[id - 1], at = place(n.x, n.y);
    card = nextCard(id - 1);
    markOnMap([L.circleMarker(at, { ...stroke, radius: 14, weight: 3 })], ...viewOf(at));
  } else if (kind === "proposal" && proposalIndex.has(id)) {
    const i = proposalIndex.get(id), p = data.proposals[i], rings = L.polygon(p.areas.map(([, r]) => polygonPlaces(r)),
        { ...stroke, weight: 2.5 });
    card = proposalCard(i);
    markOnMap([rings], p.areas.length ? rings.getBounds() : null, true);
  }
  if (!card) card = [el("p", {}, `Nothing here is called '${id}'.`), startCard()];
  byId("card").replaceChildren();
  add(byId("card"), [el("p", { class: "back noprint" }, el("button", { type: "button", class: "plain", onclick: back },
      "← Back to the lists"), el("span", { class: "quiet" }, " (Esc)")), card]);
  byId("card").scrollTop = 0;
  if (choose.ready) showCard();
}
/// Brings the card into view: beside the map where there is room, else by itself.
function showCard(behavior) {
  const narrow = matchMedia("(max-width: 900px)").matches, at = byId("card").getBoundingClientRect();
  if (narrow) byId("card").scrollIntoView({ block: "start", behavior });
  else if (at.top < 0 || at.top > innerHeight - 360) byId("ground").scrollIntoView({ behavior });
}
function disputedCard(i) {
  const d = data.disputed[i];
  const within = s => d.ground.some(rings =>
      rings.reduce((inside, ring) => inside !== inRing(ring, s.x / data.step, s.y / data.step), false));
  const near = data.stops.map((s, k) => ({ i: k, d: Math.hypot(s.x - d.x, s.y - d.y) }))
      .filter(n => within(data.stops[n.i])).sort((a, b) => a.d - b.d || a.i - b.i);
  const edges = data.contacts.map((c, k) => k).filter(k => data.contacts[k].disputed === i);
  return [el("h3", {}, "Disputed area"), d.reason ? el("p", { class: "says" }, d.reason) : null,
    facts([["Drawn as", [unitLink(d.drafted), ` ${unit(d.drafted).name || ""}`]],
        ["Looks like", [unitLink(d.like), ` ${unit(d.like).name || ""}`]],
        ["Area", d.area > 0 ? hectares(d.area) : null],
      ["Stops", `${d.fit} of ${d.stops} fit ${code(d.like)} better by their notes`],
          ["Bedrock of it observed", `at ${count(d.seen, "stop", "stops")}`],
          ["Drawn wrong", `probability ${probability(d.p)}`],
      ["What would settle it",
          `${d.seen ? "more bedrock observed, surely in place and not loose" : "bedrock observed in it"}; middle at ${Math.round(data.origin[0] + d.x)} east, ${Math.round(data.origin[1] + d.y)} north`],
      ["Then does not exist",
          edges.length ? ["contact ", edges.map((k, n) => [n ? ", " : "", contactLink(k, contactLabel(k))])] : null]]),
    near.length ? [el("h4", {}, `Stops in it, from the middle outwards`), nearList(near.slice(0, 30))] : null];
}
/// Whether a place lies in a ring; both in grid steps.
function inRing(ring, x, y) {
  let inside = false;
  for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2)
    if ((ring[i + 1] > y) !== (ring[j + 1] > y) && x < (ring[j] - ring[i])
        * (y - ring[i + 1]) / (ring[j + 1] - ring[i + 1]) + ring[i]) inside = !inside;
  return inside;
}
function nextCard(i) {
  const n = data.next_stops[i];
  return [el("h3", {}, "Next stop ", n.rank), el("p", { class: "says" }, n.purpose),
    facts([["Expected gain", gainWords(n)], [zoneName, halfWords(n)],
        ["In a walk", `number ${n.walk} of ${data.next_stops.length}`],
      ["Contact", n.contact === undefined ? null : contactLink(n.contact, contactLabel(n.contact))],
          ["Position", `${Math.round(data.origin[0] + n.x)} east, ${Math.round(data.origin[1] + n.y)} north`]])];
}

overview();
buildMap();
choose();
choose.ready = true;
addEventListener("hashchange", () => { choose(); picked = null; });
addEventListener("keydown", event => { if (event.key === "Escape" && !/INPUT|SELECT/.test(event.target.tagName)) back();
    });
byId("find").addEventListener("submit", event => {
  event.preventDefault();
  const wanted = byId("find-stop").value.trim();
  if (wanted) { go("stop", wanted); byId("card").focus({ preventScroll: true }); }
});
// What lies below the first screen waits until that is drawn.
setTimeout(() => {
  proposalSection();
  contactSection();
  stopSection();
  nextSection();
  traverseSection();
  unitSection();
  trustSection();
  problemSection();
  methodSection();
  wordSection();
  if (data.stops.length <= 2000) byId("stop-ids").append(...data.stops.map(s => el("option", { value: s.id })));
  addEventListener("beforeprint", () => document.querySelectorAll("#units-body details")
      .forEach(d => { d.open = true; }));
  addEventListener("afterprint", () => document.querySelectorAll("#units-body details")
      .forEach(d => { d.open = false; }));
  if (location.hash.includes("=")) showCard("instant");  // a link that was sent
  document.documentElement.dataset.drawn = "yes";
}, 0);
