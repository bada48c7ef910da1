// The answer in words and four figures.
function overview() {
  document.title = (data.title ? data.title + ": " : "") + (firstMap ? "a first map from the stops" : "draft map judged by the soil");
  if (firstMap) {
    document.querySelector("header .kind").textContent = "A first map from rock seen and soil";
    byId("contacts-h").textContent = "Contacts of the first map";
    byId("map").setAttribute("aria-label", byId("map").getAttribute("aria-label").replace("the draft, the relocated contacts", "the first map, its contacts"));
  }
  if (data.title) byId("title").textContent = data.title;
  const doubtful = data.contacts.filter(c => c.review === "doubtful");
  const untested = data.contacts.filter(c => c.review === "untested");
  const conflicts = data.stops.filter(s => s.v === 1);
  const run = data.run || {}, shift = run.contact_shift || {}, skill = run.skill || {};
  // The first few by name, the rest by their number.
  const few = (list, words) => [list.slice(0, 3).map((one, i) => [i ? ", " : "", words(one)]), list.length > 3 ? ` and ${grouped(list.length - 3)} more` : ""];
  const order = doubtOrder(), byDoubt = review => order.filter(i => data.contacts[i].review === review);
  const contactLink = i => el("a", { href: "#contact=" + (i + 1) }, contactName(data.contacts[i]));

  const said = [];
  const seen = data.stops.filter(s => s.se !== undefined).length;
  if (firstMap) {
    const plain = data.stops.filter(s => s.v === 8).length;
    said.push(el("b", {}, "There is no draft: a first map was drawn"), ` from the rock seen at ${count(seen, "stop", "stops")} and the soil of all. `
      + `${grouped(plain)} of ${count(data.stops.length, "stop", "stops")} fit one unit plainly. Between stops the map is a guess, and thin beds are missed.`, run.first_map && run.first_map.caution ? el("span", { class: "warn" }, " " + run.first_map.caution) : null);
  } else {
    const e = data.elsewhere, largest = e.order.slice(0, 3), more = e.order.length - largest.length;
    said.push(el("b", {}, e.headline), ". ");
    if (largest.length) said.push(more ? "Largest: " : "", largest.map(([i, k], n) => [n ? ", " : "", contactLink(i), ` (${stretchWords(data.contacts[i].stretches[k])})`]),
      more ? ` and ${count(more, "stretch", "stretches")} more. ` : ". ");
    if (!shift.decided_by) said.push("It was not asked where they run. ");
  }
  if (!firstMap) said.push(doubtful.length === 0 ? "" : [`${count(doubtful.length, "contact is", "contacts are")} in doubt: `, few(byDoubt("doubtful"), contactLink), ". "]);
  const worst = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1).sort((a, b) => data.stops[a].pm - data.stops[b].pm || a - b);
  if (!firstMap) said.push(conflicts.length === 0 ? "No stop conflicts with the draft." :
    [`At ${count(conflicts.length, "stop", "stops")} the draft is probably wrong`, conflicts.length > 3 ? "." : [": ", few(worst, i => [stopLink(i), ` (drafted ${code(data.stops[i].m)}, fits ${code(data.stops[i].f)})`]), "."]]);
  add(byId("answer"), said);

  const tile = (label, value, kind, more) => el("div", {}, el("p", { class: "value " + kind }, value), el("p", { class: "label" }, label), el("p", { class: "more" }, more));
  const trusted = skill.stops > 0;
  const byRock = skill.known_by === "rock seen", tested = rockTested();
  const rightTile = tile("soil right where rock was seen", tested === 0 ? "cannot say" : tested < 30 ? `${rockRight()} of ${tested}` : percent(rockRight() / tested), tested === 0 ? "words" : "", [
    tested === 0 ? "no stop has both; " : tested < 30 ? "too few to calibrate by; " : `of ${grouped(tested)} stops; `,
    !trusted ? "" : byRock ? `by the commonest unit ${percent(skill.share_accuracy)}`
      : `${percent(skill.accuracy)} of ${grouped(skill.stops)} where the draft stands for the answer`]);
  if (firstMap) {
    add(byId("figures"), [
      tile("contacts drawn", grouped(data.contacts.length), "", `${grouped(data.contacts.filter(c => c.identity === "certain").length)} with rock of both units seen near by`),
      tile("stops fit one unit", grouped(data.stops.filter(s => s.v === 8).length), "", `of ${grouped(data.stops.length)}, soil and the rock seen about them together` + (run.calibrated ? "" : "; uncalibrated")),
      tile("stops undecided", grouped(data.stops.filter(s => s.v === 3).length), "", "rock seen there or near by would tell most"),
      rightTile]);
  } else {
    const e = data.elsewhere, far = m => m < 1000 ? metres(m) : (m / 1000).toFixed(1) + " km";
    add(byId("figures"), [
      tile("of contact runs elsewhere", e.length > 0 ? far(e.length) : "0 km", e.length > 0 ? "warn" : "",
        e.length > 0 ? `of ${far(e.of)} drafted; there the draft lies outside the ground that holds it with 90 %` : `of ${far(e.of)} drafted, so far as the stops show`),
      tile(doubtful.length === 1 ? "contact in doubt" : "contacts in doubt", grouped(doubtful.length), doubtful.length ? "warn" : "",
        `of ${grouped(data.contacts.length)}; ${grouped(untested.length)} untested for want of stops`),
      tile(conflicts.length === 1 ? "stop conflicts" : "stops conflict", grouped(conflicts.length), conflicts.length ? "warn" : "",
        `of ${grouped(data.stops.length)}; ${percent((run.settings || {}).false_discovery_rate || 0)} false alarms allowed` + (run.calibrated ? "" : ", uncalibrated")),
      rightTile,
    ]);
  }
  byId("made").textContent = `Made by subcrop ${data.version} from ${run.survey || "a survey"}. The same results, for a GIS, stand in results.gpkg beside this page.`;
}
