// The answer in words, and four figures that it does not name.
function overview() {
  document.title = (data.title ? data.title + ": " : "") + (firstMap ? "a first map from the stops" : "draft map judged by the soil");
  if (firstMap) {
    document.querySelector("header .kind").textContent = "A first map from rock seen and soil";
    byId("contacts-h").textContent = "Contacts of the first map";
    byId("map").setAttribute("aria-label", byId("map").getAttribute("aria-label").replace("the draft, the relocated contacts", "the first map, its contacts"));
  }
  if (data.title) byId("title").textContent = data.title;
  const doubtful = data.contacts.filter(c => c.review === "doubtful");
  const untested = data.contacts.filter(c => c.review === "untested" && !elsewhere(c));
  const conflicts = data.stops.filter(s => s.v === 1);
  const run = data.run || {}, shift = run.contact_shift || {}, skill = run.skill || {};
  // The first few by name, the rest by their number.
  const order = doubtOrder(), inDoubt = order.filter(i => data.contacts[i].review === "doubtful" && !elsewhere(data.contacts[i]));
  const bareLink = i => contactLink(i, contactName(data.contacts[i]));

  // What a tile below says is not said here.
  const said = [];
  const seen = data.stops.filter(s => s.se !== undefined).length;
  if (firstMap) {
    said.push(el("b", {}, "There is no draft: a first map was drawn"), ` from the rock seen at ${count(seen, "stop", "stops")} and the soil of all. `
      + "Between stops the map is a guess, and thin beds are missed.", run.first_map && run.first_map.caution ? el("span", { class: "warn" }, " " + run.first_map.caution) : null);
  } else {
    const e = data.elsewhere, largest = e.order.slice(0, 3), more = e.order.length - largest.length;
    said.push(el("b", {}, e.headline), ". ");
    if (largest.length) said.push("There the draft lies outside the ground that holds the contact with 90\u00a0%. ", more ? "Largest stretches: " : "",
      largest.map(([i, k], n) => [n ? ", " : "", bareLink(i), ` (${stretchWords(data.contacts[i].stretches[k])})`]), more ? ` and ${grouped(more)} more. ` : ". ",
      moveSurety() ? [el("a", { href: "#trust" }, "That they move at all"), ` is sure by ${moveSurety()} standard errors. `] : "");
    const crossings = data.traverses.flatMap(t => t.crossings), away = crossings.filter(c => c.status === "displaced" || c.status === "unmapped").length;
    if (!data.moved && away) said.push(el("a", { href: "#traverses" }, `${grouped(away)} of ${count(crossings.length, "crossing", "crossings")} along traverses`), " lie away from the draft, but together they foretell no shift. ");
    if (!shift.decided_by) said.push("It was not asked where they run. ");
    const disputes = data.disputed || [];
    if (disputes.length) said.push(el("b", {}, count(disputes.length, "patch of ground is", "patches of ground are") + " in dispute"), ": ", few(disputes.map((_, i) => i), i => {
      const d = disputes[i];
      return [patchLink(i), `, ${d.p > 0.8 ? "probably" : "perhaps"} ${code(d.like)} (${probability(d.p)})`];
    }, "#ground"), ". ");
  }
  add(byId("answer"), said);
  if (data.since) byId("answer").after(el("p", { id: "since" }, data.since + "."));

  const tile = (label, value, kind, more) => el("div", {}, el("p", { class: "value " + kind }, value), el("p", { class: "label" }, label), el("p", { class: "more" }, more));
  const trusted = skill.stops > 0;
  const byRock = skill.known_by === "rock seen", tested = rockTested(), [draftRight, draftStops] = draftTested();
  const rightTile = tile("soil right where rock was seen", tested === 0 ? "cannot say" : tested < 30 ? `${rockRight()} of ${tested}` : percent(rockRight() / tested), tested === 0 ? "words" : "", [
    tested === 0 ? "no stop has both; " : tested < 30 ? "too few to calibrate by; " : `of ${grouped(tested)} stops; `,
    !trusted ? "" : byRock ? (firstMap || !draftStops ? "" : `the draft at ${percent(draftRight / draftStops)}, `) + `the unit with most ground at ${percent(skill.share_accuracy)}`
      : `${percent(skill.accuracy)} of ${grouped(skill.stops)} where the draft stands for the answer`]);
  const moved = data.contacts.filter(c => elsewhere(c));
  const plural = (list, one, many) => list.length === 1 ? one : many;
  const worst = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1).sort((a, b) => data.stops[a].pm - data.stops[b].pm || a - b);
  if (firstMap) {
    add(byId("figures"), [
      tile(plural(data.contacts, "contact drawn", "contacts drawn"), grouped(data.contacts.length), "", `${grouped(data.contacts.filter(c => c.identity === "certain").length)} with rock of both units seen near by`),
      tile("stops fit one unit plainly", grouped(data.stops.filter(s => s.v === 8).length), "", `of ${grouped(data.stops.length)}, soil and the rock seen about them together` + (run.calibrated ? "" : "; uncalibrated")),
      tile("stops undecided", grouped(data.stops.filter(s => s.v === 3).length), "", "rock seen there or near by would tell most"),
      rightTile]);
  } else {
    const first = data.next_stops[0];
    add(byId("figures"), [
      moved.length === 0
        ? tile(plural(doubtful, "contact in doubt", "contacts in doubt"), grouped(doubtful.length), doubtful.length ? "warn" : "",
          [doubtful.length ? [few(inDoubt, bareLink, "#contacts"), "; "] : "", `of ${grouped(data.contacts.length)}, ${grouped(untested.length)} untested for want of stops`])
        : tile(plural(moved, "contact runs elsewhere", "contacts run elsewhere"), grouped(moved.length), "warn", [`of ${grouped(data.contacts.length)}, in whole or in part`,
          inDoubt.length ? [`; ${grouped(inDoubt.length)} more in doubt: `, few(inDoubt, bareLink, "#contacts")] : "", untested.length ? `; ${grouped(untested.length)} untested for want of stops` : ""]),
      tile(plural(conflicts, "stop conflicts with the draft", "stops conflict with the draft"), grouped(conflicts.length), conflicts.length ? "warn" : "",
        [conflicts.length ? [few(worst, stopLink, "#stops"), "; "] : "", `of ${grouped(data.stops.length)}, ` + (conflicts.length ? `false alarms among them: ${grouped(d3.sum(conflicts, s => s.pm)) === "0" ? "under 1" : "about " + grouped(d3.sum(conflicts, s => s.pm))}` : "none plainly") + (run.calibrated ? "" : ", uncalibrated")]),
      tile(plural(data.next_stops, "next stop", "next stops"), grouped(data.next_stops.length), "", !first ? "none would gain anything worth the walk"
        : [`together expected to put ${data.next_ha} of ${grouped(d3.sum(data.units, u => u.area) / 1e4)} ha right; the first at `, el("a", { href: "#next=1", class: first.contact === undefined ? null : unbroken(contactName(data.contacts[first.contact])) }, first.contact === undefined ? "ground without stops" : contactName(data.contacts[first.contact]))]),
      rightTile,
    ]);
  }
  byId("made").textContent = `Made by subcrop ${data.version} from ${run.survey || "a survey"}. The same results, for a GIS, stand in results.gpkg beside this page.`;
}
