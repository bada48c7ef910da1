// What is chosen stands in the address after '#': a link to it can be kept and sent.
function go(kind, id) { location.hash = kind + "=" + encodeURIComponent(id); }

function choose() {
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
    markOnMap([L.circleMarker(at, { ...stroke, radius: 12, weight: 3 }), L.circleMarker(at, { ...stroke, radius: 14.5, weight: 2, color: ground.colours.paper })], L.latLngBounds([at, at]));
  } else if (kind === "contact" && data.contacts[id - 1]) {
    const c = data.contacts[id - 1], line = L.polyline(path(c.line), { ...stroke, weight: elsewhere(c) ? 2.2 : 4, dashArray: "8 5" });
    const largest = elsewhere(c) && c.stretches.slice().sort((a, b) => b.length * b.by - a.length * a.by)[0];  // what the card speaks of first
    card = contactCard(id - 1);
    markOnMap([line], largest ? L.latLngBounds(path(largest.draft).concat(path(largest.now))) : line.getBounds(), true);
  } else if (kind === "unit") {
    const index = data.units.findIndex(u => u.code === id);
    if (index >= 0) {
      const rings = data.polygons.filter(([u]) => u === index).map(([, r]) => L.polygon(polygonPlaces(r), { ...stroke, weight: 3 }));
      card = unitCard(index);
      markOnMap(rings, null);
    }
  } else if (kind === "ground" && data.disputed && data.disputed[id - 1]) {
    card = disputedCard(id - 1);
  } else if (kind === "next" && data.next_stops && data.next_stops[id - 1]) {
    const n = data.next_stops[id - 1], at = place(n.x, n.y);
    card = nextCard(id - 1);
    markOnMap([L.circleMarker(at, { ...stroke, radius: 14, weight: 3 })], L.latLngBounds([at, at]));
  }
  if (!card) card = [el("p", {}, `Nothing here is called '${id}'.`), startCard()];
  byId("card").replaceChildren();
  add(byId("card"), card);
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
  return [el("h3", {}, "Disputed ground"), d.reason ? el("p", { class: "says" }, d.reason) : null, facts([["Drafted as", unitLink(d.drafted)], ["Looks like", unitLink(d.like)], ["Stops", d.stops], ["Probability", probability(d.p)]])];
}
function nextCard(i) {
  const n = data.next_stops[i];
  return [el("h3", {}, "Next stop ", n.rank), el("p", { class: "says" }, n.purpose),
    facts([["Gain", gainWords(n)], [zoneName, halfWords(n)], ["In a walk", `number ${n.walk} of ${data.next_stops.length}`],
      ["Contact", n.contact === undefined ? null : el("a", { href: "#contact=" + (n.contact + 1) }, contactName(data.contacts[n.contact]))], ["Position", `${Math.round(data.origin[0] + n.x)} east, ${Math.round(data.origin[1] + n.y)} north`]])];
}

overview();
buildMap();
contactSection();
choose();
choose.ready = true;
addEventListener("hashchange", choose);
byId("find").addEventListener("submit", event => {
  event.preventDefault();
  const wanted = byId("find-stop").value.trim();
  if (wanted) { go("stop", wanted); byId("card").focus({ preventScroll: true }); }
});
// What lies below the first screen waits until that is drawn.
setTimeout(() => {
  nextSection();
  traverseSection();
  unitSection();
  trustSection();
  problemSection();
  methodSection();
  if (data.stops.length <= 2000) byId("stop-ids").append(...data.stops.map(s => el("option", { value: s.id })));
  addEventListener("beforeprint", () => document.querySelectorAll("#units-body details").forEach(d => { d.open = true; }));
  addEventListener("afterprint", () => document.querySelectorAll("#units-body details").forEach(d => { d.open = false; }));
  if (location.hash.includes("=")) showCard("instant");  // a link that was sent
  document.documentElement.dataset.drawn = "yes";
}, 0);
