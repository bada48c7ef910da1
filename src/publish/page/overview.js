// The answer in words and four figures.
function overview() {
  document.title = (data.title ? data.title + ": " : "") + "draft map judged by the soil";
  if (data.title) byId("title").textContent = data.title;
  const moving = data.contacts.filter(c => c.review === "shift");
  const doubtful = data.contacts.filter(c => c.review === "doubtful");
  const untested = data.contacts.filter(c => c.review === "untested");
  const conflicts = data.stops.filter(s => s.v === 1);
  const run = data.run || {}, shift = run.contact_shift || {}, skill = run.skill || {};
  const shifts = moving.map(c => Math.abs(c.shift)).sort((a, b) => a - b);
  const span = shifts.length === 0 ? "" : Math.round(shifts[0]) === Math.round(shifts[shifts.length - 1]) ? metres(shifts[0])
    : Math.round(shifts[0]) + " to " + metres(shifts[shifts.length - 1]);

  const said = [];
  if (moving.length > 0) {
    said.push(el("b", {}, `${grouped(moving.length)} of ${count(data.contacts.length, "contact", "contacts")} should move`),
      `, by ${span} on average along each. `);
  } else if (data.moved) {
    said.push(el("b", {}, "The draft shifts as a whole, but no contact surely by more than its stated accuracy"), ` of ${metres(data.contact_sd)}. `);
  } else {
    said.push(el("b", {}, "No contact is moved"), shift.decided_by
      ? `: no smooth shift of the draft fits the ${shift.decided_by === "rock seen" ? "rock seen" : "soil"} kept back better than the draft as it stands. `
      : ". ");
  }
  said.push(doubtful.length === 0 ? "None is in doubt by the stops beside it. "
    : `${grouped(doubtful.length)} ${doubtful.length === 1 ? "is" : "are"} in doubt: stops beside ${doubtful.length === 1 ? "it" : "them"} fit the other side better. `);
  said.push(conflicts.length === 0 ? "No stop conflicts with the draft." :
    `At ${count(conflicts.length, "stop", "stops")} the draft is probably wrong.`);
  add(byId("answer"), said);

  const tile = (label, value, kind, more) => el("div", {}, el("p", { class: "label" }, label),
    el("p", { class: "value " + kind }, value), el("p", { class: "more" }, more));
  const trusted = skill.stops > 0;
  const byRock = skill.known_by === "rock seen";
  add(byId("figures"), [
    tile("Contacts that should move", moving.length > 0 ? grouped(moving.length) : "none", moving.length ? "warn" : "",
      moving.length > 0 ? [`by ${span}; 90 % ground ${Math.round(d3.min(moving, c => c.half))} to ${Math.round(d3.max(moving, c => c.half))} m to either side`]
        : data.moved ? `the field moves the draft by less than its stated accuracy` : "they stay where they were drawn"),
    tile("Contacts in doubt", doubtful.length > 0 ? grouped(doubtful.length) : "none", doubtful.length ? "warn" : "",
      `of ${grouped(data.contacts.length)}; ${grouped(untested.length)} untested for want of stops`),
    tile("Stops that conflict", grouped(conflicts.length), conflicts.length ? "warn" : "",
      `of ${grouped(data.stops.length)}; of those flagged, ${percent((run.settings || {}).false_discovery_rate || 0)} false ones are accepted by setting` +
      (run.calibrated ? "" : ", not assured: uncalibrated")),
    tile("Right where rock was seen", rockTested() === 0 ? "cannot say" : rockTested() < 30 ? `${rockRight()} of ${rockTested()}` : percent(rockRight() / rockTested()), rockTested() === 0 ? "words" : "", [
      rockTested() === 0 ? "No stop has both rock seen and soil noted. " : `soil alone, the rock kept back, n = ${grouped(rockTested())}` + (rockTested() < 30 ? ", too few to calibrate by. " : ". "),
      !trusted ? "" : byRock ? `Always naming the commonest unit: ${percent(skill.share_accuracy)}.`
        : `At ${grouped(skill.stops)} ${String(skill.known_by).replace(/^stops /, "stops ")}, where the draft stands for the answer, it named the drafted unit in ${percent(skill.accuracy)} (commonest unit: ${percent(skill.share_accuracy)}).`]),
  ]);
  byId("made").textContent = `Made by subcrop ${data.version} from ${run.survey || "a survey"}. The same results, for a GIS, stand in results.gpkg beside this page.`;
}
