// The answer in words, and four figures that it does not name.
function overview() {
  document.title = (data.title ? data.title + ": " : "") + (firstMap ? "a first map from the stops"
      : "draft map checked against the stops");
  if (firstMap) {
    document.querySelector("header .kind").textContent = "A first map from observed bedrock and soil";
    byId("contacts-h").textContent = "Contacts of the first map";
    byId("map").setAttribute("aria-label", byId("map").getAttribute("aria-label")
        .replace("the draft, the moved contacts", "the first map, its contacts"));
  }
  if (data.title) byId("title").textContent = data.title;
  const doubtful = data.contacts.filter(c => c.review === "doubtful");
  const untested = data.contacts.filter(c => c.review === "untested" && !elsewhere(c));
  const conflicts = data.stops.filter(s => s.v === 1);
  const run = data.run || {}, shift = run.contact_shift || {}, skill = run.skill || {};
  // The first few by name, the rest by their number.
  const order = doubtOrder(),
      inDoubt = order.filter(i => data.contacts[i].review === "doubtful" && !elsewhere(data.contacts[i]));
  const bareLink = i => contactLink(i, contactName(data.contacts[i]));

  // One sentence first, then short paragraphs. What a tile below says is not said here.
  const said = [], say = (...words) => said.push(el("p", {}, words));
  const seen = data.stops.filter(s => s.se !== undefined).length;
  if (firstMap) {
    say(el("b", {}, "There is no draft, so a first map was drawn"),
        ` from bedrock observed at ${count(seen, "stop", "stops")} and the soil at all stops. `
      + "Between stops the map is a guess, and thin beds are missed.",
          run.first_map && run.first_map.caution ? el("span", { class: "warn" }, " " + run.first_map.caution) : null);
  } else {
    const e = data.elsewhere, largest = e.order.slice(0, 3), more = e.order.length - largest.length;
    say(el("b", {}, e.headline), ".");
    if (largest.length) say("There the drawn line lies outside the 90\u00a0% zone. ", more ? "Largest: " : "",
      largest.map(([i, k], n) => [n ? ", " : "", bareLink(i), ` (${stretchWords(data.contacts[i].stretches[k])})`]),
          more ? ` and ${grouped(more)} more.` : ".");
    if (largest.length && moveSurety()) say(el("a", { href: "#trust" }, "Moving them"),
        ` improves predictions at hidden stops by ${moveSurety()} standard errors.`);
    const crossings = data.traverses.flatMap(t => t.crossings),
        away = crossings.filter(c => c.status === "displaced" || c.status === "unmapped").length;
    if (!data.moved && away) say(el("a", { href: "#traverses" },
        `${grouped(away)} of ${count(crossings.length, "crossing", "crossings")} along traverses`),
        " lie away from the draft, but moving contacts did not improve predictions at hidden stops. ");
    if (!shift.decided_by) say("Whether they are misplaced was not asked. ");
    const disputes = data.disputed || [];
    if (disputes.length) say(el("b", {}, count(disputes.length, "area is", "areas are") + " disputed"), ": ",
        few(disputes.map((_, i) => i), i => {
      const d = disputes[i];
      return [patchLink(i), `, ${d.p > 0.8 ? "probably" : "perhaps"} ${code(d.like)} (${probability(d.p)})`];
    }, "#ground"), ". ");
  }
  const open = data.to_decide.open;
  if (open) say(el("a", { href: "#proposals" }, count(open, "change", "changes") + " to the draft"),
      ` ${open === 1 ? "stands" : "stand"} open for you to decide, expected to correct ${data.to_decide.gain.toFixed(1)} ha together.`);
  add(byId("answer"), said);
  if (data.since) byId("answer").after(el("p", { id: "since" }, data.since + "."));

  const tile = (label, value, kind, more) => el("div", {}, el("p", { class: "value " + kind }, value),
      el("p", { class: "label" }, label), el("p", { class: "more" }, more));
  const trusted = skill.stops > 0;
  const byRock = skill.known_by === "observed bedrock", tested = rockTested(), [draftRight, draftStops] = draftTested();
  const rightTile = tile("soil alone was right", tested === 0 ? "cannot say"
      : tested < 30 ? `${rockRight()} of ${tested}` : percent(rockRight() / tested), tested === 0 ? "words" : "", [
    tested === 0 ? "no stop has soil and observed bedrock; "
        : tested < 30 ? "stops with observed bedrock, too few to check probabilities; "
        : `of ${grouped(tested)} stops with observed bedrock; `,
    !trusted ? "" : byRock ? (firstMap || !draftStops ? "" : `the draft: ${percent(draftRight / draftStops)}; `)
        + `guessing the commonest unit: ${percent(skill.share_accuracy)}`
      : `${percent(skill.accuracy)} of ${grouped(skill.stops)} stops with the map hidden`]);
  const moved = data.contacts.filter(c => elsewhere(c));
  const plural = (list, one, many) => list.length === 1 ? one : many;
  const worst = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1)
      .sort((a, b) => data.stops[a].pm - data.stops[b].pm || a - b);
  if (firstMap) {
    add(byId("figures"), [
      tile(plural(data.contacts, "contact drawn", "contacts drawn"), grouped(data.contacts.length), "",
          `${grouped(data.contacts.filter(c => c.identity === "certain").length)} with bedrock of both units observed nearby`),
      tile("stops clearly fit one unit", grouped(data.stops.filter(s => s.v === 8).length), "",
          `of ${grouped(data.stops.length)}, by soil and nearby observed bedrock`
          + (run.calibrated ? "" : "; probabilities not checked")),
      tile("stops undecided", grouped(data.stops.filter(s => s.v === 3).length), "",
          "observed bedrock there or nearby would help most"),
      rightTile]);
  } else {
    const first = data.next_stops[0];
    add(byId("figures"), [
      moved.length === 0
        ? tile(plural(doubtful, "contact in doubt", "contacts in doubt"), grouped(doubtful.length),
            doubtful.length ? "warn" : "",
          [doubtful.length ? [few(inDoubt, bareLink, "#contacts"), "; "] : "",
              `of ${grouped(data.contacts.length)}; ${grouped(untested.length)} have too few stops nearby to test`])
        : tile(plural(moved, "contact is misplaced", "contacts are misplaced"), grouped(moved.length), "warn",
            [`of ${grouped(data.contacts.length)}, at least in part`,
          inDoubt.length ? [`; ${grouped(inDoubt.length)} more in doubt: `, few(inDoubt, bareLink, "#contacts")] : "",
              untested.length ? `; ${grouped(untested.length)} have too few stops nearby to test` : ""]),
      tile(plural(conflicts, "stop conflicts with the draft", "stops conflict with the draft"),
          grouped(conflicts.length), conflicts.length ? "warn" : "",
        [conflicts.length ? [few(worst, stopLink, "#stops"), "; "] : "",
            `of ${grouped(data.stops.length)}, `
            + (conflicts.length ? `expected false flags: ${grouped(d3.sum(conflicts, s => s.pm)) === "0" ? "under 1" : "about " + grouped(d3.sum(conflicts, s => s.pm))}` : "none clearly") + (run.calibrated ? "" : "; probabilities not checked")]),
      tile(plural(data.next_stops, "next stop", "next stops"), grouped(data.next_stops.length), "",
          !first ? "none is worth the walk"
        : [`together expected to correct ${data.next_ha} of ${grouped(d3.sum(data.units, u => u.area) / 1e4)} ha; the first at `, el("a", { href: "#next=1", class: first.contact === undefined ? null : unbroken(contactName(data.contacts[first.contact])) }, first.contact !== undefined ? contactName(data.contacts[first.contact]) : first.units ? first.units.map(code).join(" or ") : "an area without stops")]),
      rightTile,
    ]);
  }
  byId("made").textContent =
      `Made by subcrop ${data.version} from ${run.survey || "a survey"}. results.gpkg beside this page holds the same results for a GIS.`;
}
