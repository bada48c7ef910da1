// The answer in words and four figures.
function overview() {
  document.title = (data.title ? data.title + ": " : "") + (firstMap ? "a first map from the stops" : "draft map judged by the soil");
  if (firstMap) {
    document.querySelector("header .kind").textContent = "A first map from rock seen and soil";
    byId("contacts-h").textContent = "Contacts of the first map";
    byId("map").setAttribute("aria-label", byId("map").getAttribute("aria-label").replace("the draft, the relocated contacts", "the first map, its contacts"));
  }
  if (data.title) byId("title").textContent = data.title;
  const moving = data.contacts.filter(c => c.review === "shift");
  const doubtful = data.contacts.filter(c => c.review === "doubtful");
  const untested = data.contacts.filter(c => c.review === "untested");
  const conflicts = data.stops.filter(s => s.v === 1);
  const run = data.run || {}, shift = run.contact_shift || {}, skill = run.skill || {};
  const shifts = moving.map(c => Math.abs(c.shift)).sort((a, b) => a - b);
  // The first few by name, the rest by their number.
  const few = (list, words) => [list.slice(0, 3).map((one, i) => [i ? ", " : "", words(one)]), list.length > 3 ? ` and ${grouped(list.length - 3)} more` : ""];
  const order = doubtOrder(), byDoubt = review => order.filter(i => data.contacts[i].review === review);
  const contactLink = i => el("a", { href: "#contact=" + (i + 1) }, contactName(data.contacts[i]));
  const span = shifts.length === 0 ? "" : Math.round(shifts[0]) === Math.round(shifts[shifts.length - 1]) ? metres(shifts[0])
    : Math.round(shifts[0]) + " to " + metres(shifts[shifts.length - 1]);

  const said = [];
  const seen = data.stops.filter(s => s.se !== undefined).length;
  if (firstMap) {
    const plain = data.stops.filter(s => s.v === 8).length;
    said.push(el("b", {}, "There is no draft: a first map was drawn"), ` from the rock seen at ${count(seen, "stop", "stops")} and the soil of all. `
      + `${grouped(plain)} of ${count(data.stops.length, "stop", "stops")} fit one unit plainly. Between stops the map is a guess, and thin beds are missed.`, run.first_map && run.first_map.caution ? el("span", { class: "warn" }, " " + run.first_map.caution) : null);
  } else if (moving.length > 0) {
    said.push(el("b", {}, `${grouped(moving.length)} of ${count(data.contacts.length, "contact", "contacts")} should move`),
      ": ", few(byDoubt("shift"), i => [contactLink(i), ` ${Math.abs(data.contacts[i].shift) < data.contact_sd ? "" : "by "}${shortShift(data.contacts[i])}`]), ". ");
  } else if (data.moved) {
    said.push(el("b", {}, "The draft shifts as a whole, but no contact surely by more than its stated accuracy"), ` of ${metres(data.contact_sd)}. `);
  } else {
    said.push(el("b", {}, "No contact is moved"), shift.decided_by
      ? `: no smooth shift of the draft fits the ${shift.decided_by} kept back better than the draft as it stands. `
      : ". ");
  }
  if (!firstMap) said.push(doubtful.length === 0 ? "None is in doubt by the stops beside it. "
    : [`${grouped(doubtful.length)} ${doubtful.length === 1 ? "is" : "are"} in doubt, stops beside ${doubtful.length === 1 ? "it" : "them"} fitting the other side better: `, few(byDoubt("doubtful"), contactLink), ". "]);
  const worst = data.stops.map((s, i) => i).filter(i => data.stops[i].v === 1).sort((a, b) => data.stops[a].pm - data.stops[b].pm || a - b);
  if (!firstMap) said.push(conflicts.length === 0 ? "No stop conflicts with the draft." :
    [`At ${count(conflicts.length, "stop", "stops")} the draft is probably wrong: `, few(worst, i => [stopLink(i), ` (drafted ${code(data.stops[i].m)}, fits ${code(data.stops[i].f)})`]), "."]);
  add(byId("answer"), said);

  const tile = (label, value, kind, more) => el("div", {}, el("p", { class: "label" }, label),
    el("p", { class: "value " + kind }, value), el("p", { class: "more" }, more));
  const trusted = skill.stops > 0;
  const byRock = skill.known_by === "rock seen";
  const rightTile = tile("Soil right where rock was seen", rockTested() === 0 ? "cannot say" : rockTested() < 30 ? `${rockRight()} of ${rockTested()}` : percent(rockRight() / rockTested()), rockTested() === 0 ? "words" : "", [
    rockTested() === 0 ? "No stop has both rock seen and soil noted. " : rockTested() < 30 ? "stops, the rock kept back; too few to calibrate by. " : `of ${grouped(rockTested())} stops, the rock kept back. `,
    !trusted ? "" : byRock ? `Always naming the commonest unit: ${percent(skill.share_accuracy)}.`
      : `Far from contacts, where the draft stands for the answer: the drafted unit at ${percent(skill.accuracy)} of ${grouped(skill.stops)} stops.`]);
  if (firstMap) {
    add(byId("figures"), [
      tile("Contacts drawn", grouped(data.contacts.length), "", `${grouped(data.contacts.filter(c => c.identity === "certain").length)} with rock of both units seen near by`),
      tile("Stops that fit one unit", grouped(data.stops.filter(s => s.v === 8).length), "", `of ${grouped(data.stops.length)}, soil and the rock seen about them together` + (run.calibrated ? "" : "; uncalibrated")),
      tile("Stops undecided", grouped(data.stops.filter(s => s.v === 3).length), "", "rock seen there or near by would tell most"),
      rightTile]);
  } else add(byId("figures"), [
    tile("Contacts that should move", moving.length > 0 ? grouped(moving.length) : "none", moving.length ? "warn" : "",
      moving.length > 0 ? [`by ${span} averaged along each; ± is the standard error. 90 % ground ${Math.round(d3.min(moving, c => c.half))} to ${Math.round(d3.max(moving, c => c.half))} m to either side`]
        : data.moved ? `the field moves the draft by less than its stated accuracy` : "they stay where they were drawn"),
    tile("Contacts in doubt", doubtful.length > 0 ? grouped(doubtful.length) : "none", doubtful.length ? "warn" : "",
      `of ${grouped(data.contacts.length)}; ${grouped(untested.length)} untested for want of stops`),
    tile("Stops that conflict", grouped(conflicts.length), conflicts.length ? "warn" : "",
      `of ${grouped(data.stops.length)}; of those flagged, ${percent((run.settings || {}).false_discovery_rate || 0)} false ones are accepted by setting` +
      (run.calibrated ? "" : ", not assured: uncalibrated")),
    rightTile,
  ]);
  byId("made").textContent = `Made by subcrop ${data.version} from ${run.survey || "a survey"}. The same results, for a GIS, stand in results.gpkg beside this page.`;
}
