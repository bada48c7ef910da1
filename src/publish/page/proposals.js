// What the answer would change in the draft, to accept or reject. A page without a server writes no file by itself:
// choices are kept in the browser and leave it as decisions.csv.
const decisionWords = { open: "Open", accepted: "Accept", rejected: "Reject", later: "Later" };
const proposalIndex = new Map((data.proposals || []).map((p, i) => [p.id, i]));
const proposalLink = (i) =>
  el("a", { href: "#proposal=" + encodeURIComponent(data.proposals[i].id), class: "nowrap" }, data.proposals[i].id);

/// Decisions made here that the run does not know: id to { decision, why, on, saved }.
const choices = (() => {
  const key = "subcrop decisions of " + (data.title || (data.run || {}).survey || "a survey");
  const made = new Map();
  let kept = true;
  try {
    for (const [id, choice] of Object.entries(JSON.parse(localStorage.getItem(key) || "{}"))) {
      const p = data.proposals[proposalIndex.get(id)];
      // The run read it, or a later one.
      if (p && decisionWords[choice.decision] && !(p.on && p.on >= choice.on)) made.set(id, choice);
    }
  } catch (_) {
    kept = false;
  }
  const keep = () => {
    try {
      localStorage.setItem(key, JSON.stringify(Object.fromEntries(made)));
    } catch (_) {
      kept = false;
    }
  };
  return {
    made,
    keep,
    isKept: () => kept,
    of: (p) => made.get(p.id) || { decision: p.decision, why: p.why || "", on: p.on },
    set(p, decision, why) {
      if (decision === p.decision && why === (p.why || "")) made.delete(p.id);
      else made.set(p.id, { decision, why, on: new Date().toISOString().replace(/\.\d+/, "") });
      keep();
    },
  };
})();

const quoted = (text) => (/[",\r\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text);
function decisionTable() {
  const rows = [
    ["id", "decision", "why", "decided_on"],
    ...[...choices.made].map(([id, c]) => [id, c.decision, c.why, c.on]),
  ];
  return rows.map((row) => row.map(quoted).join(",") + "\r\n").join("");
}
function saveDecisions() {
  const link = el("a", {
    href: URL.createObjectURL(new Blob([decisionTable()], { type: "text/csv" })),
    download: "decisions.csv",
  });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  choices.made.forEach((choice) => {
    choice.saved = true;
  });
  choices.keep();
  proposalsChanged();
}

/// Buttons to decide on one proposal, and a line for the reason. Several on the page may be of one proposal.
let controlsMade = 0;
function decisionControl(p) {
  const name = "decision-" + ++controlsMade,
    chosen = choices.of(p);
  const why = el("input", {
    type: "text",
    class: "why",
    "data-of": p.id,
    "aria-label": `Why, for ${p.id}`,
    placeholder: "Why (kept with the decision)",
    value: chosen.why || null,
  });
  const radios = Object.entries(decisionWords).map(([decision, words]) =>
    el(
      "label",
      {},
      el("input", {
        type: "radio",
        name,
        value: decision,
        "data-of": p.id,
        checked: chosen.decision === decision,
        onchange: () => {
          choices.set(p, decision, why.value.trim());
          proposalsChanged();
        },
      }),
      el("span", {}, words),
    ),
  );
  why.addEventListener("change", () => {
    choices.set(p, choices.of(p).decision, why.value.trim());
    proposalsChanged();
  });
  return el(
    "fieldset",
    { class: "decide" },
    el("legend", { class: "unseen" }, `Decision on ${p.id}`),
    el("span", { class: "choice" }, radios),
    why,
  );
}

/// Brings all controls and the line above them up to what was chosen.
function proposalsChanged() {
  document.querySelectorAll(".decide input[data-of]").forEach((input) => {
    const chosen = choices.of(data.proposals[proposalIndex.get(input.dataset.of)]);
    if (input.type === "radio") input.checked = input.value === chosen.decision;
    else if (input !== document.activeElement) input.value = chosen.why || "";
  });
  const bar = byId("decisions-bar"),
    fresh = [...choices.made.values()].filter((c) => !c.saved).length,
    all = choices.made.size;
  if (!bar) return;
  bar.hidden = all === 0;
  if (all === 0) return;
  bar.replaceChildren();
  add(bar, [
    el("button", { type: "button", onclick: saveDecisions }, "Save decisions.csv"),
    el(
      "span",
      {},
      fresh === 0
        ? `${count(all, "decision", "decisions")} saved. Put the file beside the survey file; the next run reads it.`
        : `${count(fresh, "decision is", "decisions are")} not saved yet. This page cannot write ${fresh === 1 ? "it" : "them"} by itself.`,
    ),
    choices.isKept()
      ? null
      : el("span", { class: "warn" }, " This browser keeps nothing between visits: save before you close the page."),
  ]);
}

/// Over an area it is the mean: its middle may be surer than its edge.
const probabilityWords = (p) =>
  p.p === undefined ? null : probability(p.p) + (p.stop === undefined ? ", mean over the area" : "");
const proposalGain = (p) => `${p.gain < 0.1 ? "under 0.1" : p.gain.toFixed(1)}\u00a0ha`;
const proposalFacts = (p) =>
  [
    p.p === undefined ? null : `Probability ${probabilityWords(p)}`,
    p.gain ? `expected to correct ${proposalGain(p)}` : null,
    p.stops.length
      ? count(p.stops.length, "stop bears on it", "stops bear on it")
      : p.near === undefined
        ? null
        : `nearest stop ${metres(p.near)} away`,
  ]
    .filter(Boolean)
    .join("; ");

/// The area that changes, in the colour of the unit it goes to.
function proposalPicture(i) {
  const p = data.proposals[i],
    rings = p.areas.flatMap(([, r]) => r),
    c = data.contacts[p.contact];
  const frame = rings.length ? rings : c ? [c.line] : null;
  if (!frame) return null;
  const spread = p.areas.length > 0 ? 60 : 30;
  return smallMap({
    frame,
    least: 8 * data.contact_sd,
    most: spread * data.contact_sd,
    centre: [p.x, p.y],
    words: "Small map of proposal " + p.id,
    onclick: () => go("proposal", p.id),
    below: (area, within) =>
      p.areas.map(([to, r]) =>
        to === null
          ? area(within(r), "fill: var(--zone); fill-opacity: .3")
          : [
              area(within(r), `fill: ${fill(to)}`),
              area(within(r), "fill: none; stroke: var(--warn); stroke-width: 1.6"),
            ],
      ),
    above: (line) => (p.kind === "doubtful_contact" && c ? line(c.line, "stroke: var(--warn); stroke-width: 3") : []),
    codesOf: (within) => p.areas.filter(([to]) => to !== null).map(([to, r]) => [code(to), within(r)]),
  });
}
function proposalFigure(i) {
  const p = data.proposals[i],
    picture = proposalPicture(i);
  return el(
    "article",
    { class: "proposal", "data-id": p.id },
    picture,
    el("p", {}, el("b", {}, proposalLink(i)), " ", p.what),
    el("p", { class: "quiet" }, proposalFacts(p), "."),
    p.note ? el("p", { class: "warn" }, p.note) : null,
    decisionControl(p),
  );
}

function proposalSection() {
  const body = byId("proposals-body"),
    all = data.proposals.map((_, i) => i),
    first = 6;
  if (all.length === 0) {
    add(
      body,
      el(
        "p",
        {},
        firstMap
          ? "There is no draft to change. To take this first map as the draft: subcrop adopt, then the survey file."
          : "The answer proposes no change to the draft.",
      ),
    );
    return;
  }
  const open = all.filter((i) => data.proposals[i].decision === "open"),
    decided = all.filter((i) => data.proposals[i].decision !== "open");
  const beyond = data.to_decide.open - open.length;
  add(body, [
    el(
      "p",
      {},
      open.length
        ? `${count(data.to_decide.open, "change stands", "changes stand")} open, those that correct most area first. Decide here, save the file and put it beside the survey file. The next run reads it, and 'subcrop adopt' draws the next draft from what is accepted.`
        : "All proposals are decided. 'subcrop adopt' draws the next draft from what is accepted.",
    ),
    el(
      "p",
      { class: "noprint quiet" },
      "In a terminal: 'subcrop decide', then the survey file, '--from' and the saved file.",
    ),
    el("p", { id: "decisions-bar", class: "noprint", role: "status", hidden: true }),
  ]);
  const grid = el("div", { class: "proposals" }),
    shown = open.slice(0, first);
  add(grid, shown.map(proposalFigure));
  add(body, grid);
  if (open.length > first) {
    const more = el(
      "button",
      {
        type: "button",
        class: "noprint",
        onclick: () => {
          add(grid, open.slice(first).map(proposalFigure));
          more.remove();
        },
      },
      `Show all ${grouped(open.length)}`,
    );
    add(body, [
      more,
      el(
        "p",
        { class: "quiet paper" },
        `The first ${grouped(first)} of ${grouped(open.length)}; results.gpkg holds them all.`,
      ),
    ]);
  }
  if (beyond > 0)
    add(
      body,
      el("p", { class: "quiet" }, `${grouped(beyond)} more are only in the layer 'proposals' of results.gpkg.`),
    );
  if (decided.length) {
    const p = (i) => data.proposals[i];
    add(body, [
      el("h3", {}, "Decided before"),
      sortedTable(
        [
          ["Proposal", (i) => p(i).id, (i) => proposalLink(i), "nowrap"],
          ["Decision", (i) => p(i).decision, (i) => p(i).decision],
          ["What", null, (i) => [p(i).what, p(i).note ? el("span", { class: "warn" }, " " + p(i).note) : ""]],
          ["Why", (i) => p(i).why, (i) => p(i).why || "–"],
          ["On", (i) => p(i).on, (i) => (p(i).on || "–").slice(0, 10), "nowrap"],
        ],
        decided,
        12,
      ),
    ]);
  }
  proposalsChanged();
}

function proposalCard(i) {
  const p = data.proposals[i],
    stops = p.stops.filter((id) => stopIndex.has(id));
  return [
    el("h3", {}, "Proposal ", p.id),
    el("p", { class: "says" }, p.what),
    p.note ? el("p", { class: "warn" }, p.note) : null,
    decisionControl(p),
    facts([
      ["Probability", probabilityWords(p)],
      ["Area", p.ha === undefined ? null : p.ha < 0.1 ? "under 0.1 ha" : hectares(1e4 * p.ha)],
      ["Expected gain", p.gain ? `${proposalGain(p)} corrected` : null],
      ["Contact", p.contact === undefined ? null : contactLink(p.contact, contactLabel(p.contact))],
      ["Stop", p.stop && stopIndex.has(p.stop) ? stopLink(stopIndex.get(p.stop)) : null],
      ["Middle", `${Math.round(data.origin[0] + p.x)} east, ${Math.round(data.origin[1] + p.y)} north`],
      ["Nearest stop", p.near === undefined ? null : p.near === 0 ? "inside" : metres(p.near) + " away"],
      ["Decided on", p.on ? p.on.slice(0, 10) : null],
    ]),
    stops.length
      ? [
          el("h4", {}, "Stops that bear on it"),
          nearList(
            stops
              .slice(0, 30)
              .map((id) => stopIndex.get(id))
              .map((k) => ({ i: k, d: Math.hypot(data.stops[k].x - p.x, data.stops[k].y - p.y) }))
              .sort((a, b) => a.d - b.d || a.i - b.i),
          ),
        ]
      : null,
  ];
}
