// The page, behind handout_judge.js: ticks, arrows and the log, kept in this browser. Whatever comes from the trip or a file is put in as text.
const data = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);
const METRES_PER_UNIT = METRES[data.unit];
const FARTHEST = data.unit === "in" ? 118 : 300;
const KEY = `readiness:${data.key}`;
const LAST = "Put it back to its marks first; the sight last.";
const empty = () => ({ entries: [], draft: [], packed: {}, form: null, open: {}, look: "auto", place: 0 });
let state = empty();

// ---- words and small makers

function element(name, attributes, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

function drawn(name, attributes, text) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

// Put new content in only where it differs: a screen reader hears what is new and nothing else, and a button stays
// under the finger that presses it.
function show(id, ...children) {
  const fresh = element("div", {}, ...children);
  if (byId(id).innerHTML !== fresh.innerHTML) byId(id).replaceChildren(...fresh.childNodes);
}

const plural = (n, word) => `${n} ${word}${n === 1 ? "" : "s"}`;
const inUnit = (metres) => `${(metres / METRES_PER_UNIT).toFixed(1)} ${data.unit}`;

function where(right, up) {
  const part = (value, plus, minus) => {
    const size = inUnit(Math.abs(value));
    return Number.parseFloat(size) === 0 ? "" : `${size} ${value > 0 ? plus : minus}`;
  };
  return [part(right, "right", "left"), part(up, "high", "low")].filter(Boolean).join(", ") || "no offset";
}

const clean = (text) => text.replace(/[\u0000-\u001f\u007f-\u009f]+/g, " ").trim().slice(0, 380);
const plain = (text) =>
  text.replace(/[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]/g, (c) => `[U+${c.charCodeAt(0).toString(16).toUpperCase().padStart(4, "0")}]`);
const labelOf = (text) => (data.distances.find((d) => d.text === text) ?? { label: text }).label;

// ---- what is kept

function load() {
  try {
    const kept = { ...empty(), ...JSON.parse(localStorage.getItem(KEY) ?? "{}") };
    if (Array.isArray(kept.entries) && Array.isArray(kept.draft)) state = kept;
    localStorage.setItem(`${KEY}:try`, "1");
    localStorage.removeItem(`${KEY}:try`);
    show("memory", "Ticks and arrows are kept in this browser, and nowhere else.");
  } catch {
    forgetful();
  }
  if (!data.places[state.place]) state.place = 0;
  weigh();
}

function forgetful() {
  show("memory", "This browser keeps nothing for this page: all is lost when it closes. Save the log before that.");
}

function store() {
  try {
    localStorage.setItem(KEY, JSON.stringify(state));
  } catch {
    forgetful();
  }
}

function changed() {
  store();
  render();
}

const records = () => state.entries.map((entry) => entry.record);
const here = () => data.places[state.place];

function stamped(kind, at, rest) {
  const bytes = crypto.getRandomValues(new Uint8Array(6));
  const id = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return { record: kind, id, time: localTime(new Date()), version: data.version, setup: data.setup, at, ...rest };
}

function localTime(date) {
  const east = -date.getTimezoneOffset(), two = (n) => String(Math.floor(n)).padStart(2, "0");
  const local = new Date(date.getTime() + east * 60000).toISOString().slice(0, 19);
  return `${local}${east < 0 ? "-" : "+"}${two(Math.abs(east) / 60)}:${two(Math.abs(east) % 60)}`;
}

const today = () => localTime(new Date()).slice(0, 10);
const keep = (record) => state.entries.push({ record, saved: false });

// Take a record back: one that never left this page goes; one that was saved is undone by a record of its own.
function takeBack(id) {
  const entry = state.entries.find((one) => one.record.id === id);
  if (!entry.saved) state.entries = state.entries.filter((one) => one !== entry);
  else keep(stamped("undo", entry.record.at, { undoes: id }));
}

// ---- steps, read off the page

const steps = {};
const boxes = [...document.querySelectorAll(".step")];
for (const box of boxes) {
  const [expect, ifNot] = [...box.querySelectorAll("p>i")].map((word) => word.nextSibling?.textContent ?? "");
  const title = [...box.querySelector("h3, h4").childNodes].find((node) => node.nodeType === Node.TEXT_NODE)?.textContent.trim() ?? box.id;
  steps[box.id] = { title, expect, ifNot, stop: box.classList.contains("stop"), stage: box.closest(".stage").id.slice(6) };
}

function stepParts(box) {
  const [so, not] = box.querySelectorAll("[type=checkbox]");
  return { so, not, now: box.querySelector("label:last-child input") };
}

// What the log says of each place, and what of it is to be looked at again here: weighed anew whenever it may differ.
let held = [], judged = null, due = [];

function weigh() {
  held = data.places.map((place) => answersOf(records(), place.name, today()));
  const evening = eveningOf(records(), here().name);
  judged = { evening, ...judge(here(), evening, data.rules) };
  due = [];
  due = dueAgain(judged.verdicts, held[state.place].since, data.speed).filter((id) => reading(id) !== FAIL);
}

const isOfCamp = (id) => data.camp.includes(steps[id].stage);
const placeAt = (id) => (isOfCamp(id) ? state.place : 0);
const placeOfStep = (id) => data.places[placeAt(id)].name;

const answersTo = (id) =>
  standing(records()).filter((r) => r.record === "step" && r.step === id && r.at === placeOfStep(id));

// The answer that holds. A change to the bow ends those of camp and those to stop steps, not what was ticked at home.
function answerTo(id) {
  const { answers, kept } = held[placeAt(id)], { stop } = steps[id];
  if (due.includes(id)) return "";
  if (!stop && !isOfCamp(id)) return answersTo(id).at(-1)?.value ?? "";
  return answers[id] ?? (stop && kept[id] ? kept[id] : "");
}

function reading(id) {
  const value = answerTo(id);
  return value ? readingOf(value, steps[id].expect) : null;
}

function answer(id, value) {
  if (value === answerTo(id)) return;
  for (const old of answersTo(id)) if (!value || !state.entries.find((e) => e.record === old).saved) takeBack(old.id);
  if (value) keep(stamped("step", placeOfStep(id), { step: id, value }));
  changed();
}

function bindStep(box) {
  const { so, not, now } = stepParts(box);
  now.maxLength = 300;
  now.autocomplete = "off";
  const group = so.closest("div");
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", `${steps[box.id].title}, ${box.id}`);
  const told = () => {
    const word = so.checked ? "pass" : not?.checked ? "fail" : "";
    answer(box.id, [word, clean(now.value)].filter(Boolean).join(": "));
  };
  so.addEventListener("change", () => { if (so.checked && not) not.checked = false; told(); });
  not?.addEventListener("change", () => { if (not.checked) so.checked = false; told(); });
  now.addEventListener("change", told);
}

function renderStep(box) {
  const { so, not, now } = stepParts(box), value = answerTo(box.id), read = reading(box.id);
  const [, word, note] = /^(pass|fail)(?:: |$)(.*)$/s.exec(value) ?? [null, read === CANNOT_TELL ? "" : read, value];
  so.checked = word === "pass";
  if (not) not.checked = word === "fail";
  if (document.activeElement !== now) now.value = note ?? "";
  box.classList.toggle("failed", read === FAIL);
  let doubt = box.querySelector(".doubt");
  if (!doubt) box.querySelector("[role=group]").after((doubt = element("p", { class: "doubt" })));
  const stop = steps[box.id].stop && read === FAIL;
  doubt.classList.toggle("stop-now", stop);
  const taken = word === "pass" && read !== PASS ? "What you wrote takes this back: it counts as unanswered." : "";
  const again = due.includes(box.id) ? "Look again: the arrows are low." : taken;
  doubt.textContent = stop ? `STOP, no further shot. ${steps[box.id].ifNot}` : again;
}

const failedStops = () => boxes.map((b) => b.id).filter((id) => steps[id].stop && reading(id) === FAIL);
const openStops = () =>
  [...data.raised, ...boxes.map((b) => b.id).filter((id) => steps[id].stop && steps[id].stage === "arrival")].filter((id) => !reading(id)?.match(/pass|fail/));
const raisedStops = () => data.raised.filter((id) => reading(id) !== PASS);
const failedClose = () => {
  const step = steps[data.close_up.step];
  return step && reading(data.close_up.step) === FAIL ? `${step.title} (${data.close_up.step}) failed. ${step.ifNot}` : "";
};
const stepLink = (id) => element("a", { href: `#${id}` }, steps[id].title.toLowerCase());
const listed = (ids) => ids.flatMap((id, i) => [i ? ", " : "", stepLink(id)]);

function renderSteps() {
  boxes.forEach(renderStep);
  const done = (all) => `${all.filter((box) => reading(box.id) === PASS).length} of ${all.length}`;
  const stop = failedStops().length + due.length ? "alarm" : raisedStops().length ? "raised" : "";
  show("progress", `${done(boxes)} steps`, ...(stop ? [" ", element("a", { href: `#${stop}` }, "STOP")] : []));
  for (const stage of document.querySelectorAll(".stage")) {
    const inside = boxes.filter((box) => stage.contains(box));
    stage.querySelector(".count").textContent = done(inside);
  }
  const ticks = [...document.querySelectorAll("[data-pack]")];
  for (const tick of ticks) tick.checked = Boolean(state.packed[tick.dataset.pack]);
  byId("pack").querySelector(".count").textContent = `${ticks.filter((t) => t.checked).length} of ${ticks.length}`;
  for (const place of document.querySelectorAll("[data-state]")) {
    place.textContent = { pass: " [so]", fail: " [NOT SO: STOP]" }[reading(place.dataset.state)] ?? " [open]";
  }
}

function renderGates() {
  const failed = failedStops(), open = openStops(), raised = raisedStops(), bare = failedClose();
  const words = [];
  if (failed.length) {
    const because = failed.map((id) => `${steps[id].title.toLowerCase()} (${id})`).join(", ");
    words.push(`STOP, no further shot: ${because} failed. ${steps[failed[0]].ifNot}`);
  } else if (due.length) {
    words.push("STOP, no further shot: low groups can be a limb, a string or a cam giving way. Look again, and answer: ", ...listed(due), ".");
  }
  show("alarm", ...words, words.length && bare ? " " : "", bare);
  byId("alarm").hidden = !words.length && !bare;
  if (byId("raised")) byId("raised").hidden = raised.length === 0;
  document.querySelectorAll(".shoot").forEach((part) => { part.hidden = failed.length + raised.length + due.length > 0; });
  if (failed.length) show("unanswered", "STOP, no further shot before this is solved: ", ...listed(failed), ".");
  else if (open.length) show("unanswered", "No shot before these stop steps are answered: ", ...listed(open), ".");
  else show("unanswered", "The stop steps of the arrival are answered.");
  show("here", `Place: ${here().label}. `, ...(data.places.length > 1 ? [element("a", { href: "#place" }, "Another place")] : []));
  const marks = data.marks.filter((id) => steps[id] && reading(id) !== PASS);
  show("order", element("b", {}, "Put the bow back to its marks first. The sight comes last."), ...(marks.length ? [" Marks not ticked yet: ", ...listed(marks), "."] : []));
  byId("unanswered").classList.toggle("stop-now", failed.length + open.length > 0);
}

// ---- arrows

const kindChosen = () => {
  const value = byId("kind").value, head = value.startsWith("head") ? data.heads[value.slice(4)].name : null;
  return head === null ? { kind: value } : { kind: "broadhead", head };
};
const distanceChosen = () => data.distances[byId("distance").value].text;
const kindWords = (set) => (set.head === undefined ? (set.kind === "bare" ? "bare shaft" : set.kind) : plain(set.head));

function addShot(shot) {
  const number = byId("arrow"), set = { distance: distanceChosen(), ...kindChosen() };
  if (number.value && !/^[1-9][0-9]{0,2}$/.test(number.value)) return say("The number on an arrow is 1 to 999.", number);
  if (isBarred(set.kind, distanceOf(set.distance))) return say("Not taken: see above.", byId("kind"));
  if (state.draft.length >= 100) return say("These are 100 arrows: finish them first.", byId("finish"));
  if (Math.max(Math.abs(shot.right ?? 0), Math.abs(shot.up ?? 0)) > FARTHEST) {
    return say("That is over 3 m from the aim: such an arrow is outside the butt.", byId("right"));
  }
  const full = number.value ? { ...shot, arrow: Number(number.value) } : shot;
  state.draft.push({ ...set, cold: byId("cold").checked, shot: full });
  number.value = byId("right").value = byId("up").value = "";
  byId("cold").checked = false;
  changed();
  say(`Arrow ${state.draft.length}: ${shotWords(full)}.`);
}

function say(text, field) {
  show("draft-note", text);
  field?.focus();
}

function shotWords(shot) {
  const at = shot.outside ? "outside the butt" : where(shot.right * METRES_PER_UNIT, shot.up * METRES_PER_UNIT);
  return shot.arrow ? `${at} (number ${shot.arrow})` : at;
}

function addTyped(event) {
  event.preventDefault();
  const [right, up] = ["right", "up"].map((id) => {
    const value = byId(id).value === "" ? NaN : Number(byId(id).value);
    return Math.round(value * Number(byId(`${id}-side`).value) * 100) / 100 + 0;
  });
  if (Number.isNaN(right)) return say("How far sideways? 0 if it is in line with the aim.", byId("right"));
  if (Number.isNaN(up)) return say("How far high or low? 0 if it is level with the aim.", byId("up"));
  addShot({ right, up });
}

// One record for each distance, kind and head: a record is a look at the same question.
function finish() {
  if (state.draft.length === 0) return say("There is no arrow to judge yet: tap the picture where it stuck.");
  const sets = new Map();
  for (const { shot, ...set } of state.draft) {
    const key = JSON.stringify(set);
    sets.set(key, [...(sets.get(key) ?? []), shot]);
  }
  for (const [key, shots] of sets) {
    const { cold, ...set } = JSON.parse(key);
    keep(stamped("shots", here().name, { ...set, ...(cold ? { cold } : {}), unit: data.unit, shots }));
  }
  state.draft = [];
  changed();
  say("");
  byId("says").scrollIntoView();
  byId("says").focus();
}

function renderDraft() {
  const line = (one, i) => {
    const remove = element("button", { type: "button", "aria-label": `Remove arrow ${i + 1}` }, "Remove");
    remove.addEventListener("click", () => { state.draft.splice(i, 1); changed(); say("Removed."); byId("target").focus(); });
    return element("li", {}, `${i + 1}: ${labelOf(one.distance)}, ${one.cold ? "cold, " : ""}${kindWords(one)}: ${shotWords(one.shot)} `, remove);
  };
  show("draft", ...state.draft.map(line));
  byId("finish").textContent = `Finish: judge ${state.draft.length === 1 ? "this arrow" : `these ${state.draft.length || ""} arrows`.replace("  ", " ")}`;
  renderPicture();
}

// After a bare shaft that failed close up nothing is taken from farther off; before one passed no bare shaft is.
const isBarred = (kind, metres) => Boolean((kind === "bare" || failedClose()) && barredFrom(metres));

function barredFrom(metres) {
  const { step, within, caution } = data.close_up, read = steps[step] ? reading(step) : null;
  if (metres <= within + SAME_DISTANCE || read === PASS) return null;
  if (read === FAIL) return [failedClose()];
  return [`CAUTION ${caution} None from farther off before this is answered: `, steps[step] ? stepLink(step) : step, "."];
}

function kindNote() {
  const metres = distanceOf(distanceChosen());
  if (isBarred(kindChosen().kind, metres)) return barredFrom(metres);
  if (kindChosen().kind !== "bare") return [];
  const beyond = data.bare && metres > data.bare.distance * 1.0001;
  return beyond ? ["Beyond the distance of its reference nothing says where a bare shaft lands."] : [];
}

// ---- pictures

let cross = null;
const tenth = (value) => Math.round(value * 10) / 10 + 0;

function tapped(pad, half, event) {
  const box = pad.firstChild.getBoundingClientRect(), scale = (2 * half) / box.width;
  return { right: tenth((event.clientX - box.left) * scale - half), up: tenth(half - (event.clientY - box.top) * scale) };
}

function picture(half, ...inside) {
  const svg = drawn("svg", { viewBox: `${-half} ${-half} ${2 * half} ${2 * half}`, "aria-hidden": "true", focusable: "false" });
  svg.append(...inside);
  return svg;
}

const text = (x, y, size, words) =>
  drawn("text", { x, y, "font-size": size, "stroke-width": size / 6, "text-anchor": "middle", "dominant-baseline": "central" }, words);
const ring = (x, y, r, kind) => drawn("circle", { cx: x, cy: y, r, class: kind });
const line = (x1, y1, x2, y2, kind) => drawn("path", { d: `M${x1} ${y1}L${x2} ${y2}`, class: kind });
const plus = (x, y, r, kind) => [line(x - r, y, x + r, y, kind), line(x, y - r, x, y + r, kind)];

function renderPicture() {
  const half = Number(byId("zoom").value), step = half / 3, at = distanceChosen(), { kind, head } = kindChosen();
  const parts = [1, 2, 3].map((n) => ring(0, 0, n * step * 0.999, "ring"));
  parts.push(...plus(0, 0, half, "ring"), ...plus(0, 0, half / 12, "axis"));
  parts.push(...[1, 2].map((n) => text(0, -n * step, half / 8, String(n * step))));
  state.draft.forEach((one, i) => {
    if (one.distance !== at || one.shot.outside) return;
    const own = one.kind === kind && (one.head ?? null) === (head ?? null);
    parts.push(ring(one.shot.right, -one.shot.up, half / 28, own ? "shot" : "other"));
    parts.push(text(one.shot.right + half / 11, -one.shot.up - half / 11, half / 11, String(i + 1)));
  });
  if (cross) parts.push(...plus(cross.right, -cross.up, half / 8, "cross"));
  byId("target").replaceChildren(picture(half, ...parts));
}

const ARROW_KEYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

function targetKey(event) {
  const way = ARROW_KEYS[event.key], size = event.shiftKey ? 1 : 0.1;
  if (!way && event.key !== "Enter" && event.key !== " ") return;
  event.preventDefault();
  cross ??= { right: 0, up: 0 };
  if (!way) addShot({ ...cross });
  else {
    cross = { right: tenth(cross.right + way[0] * size), up: tenth(cross.up + way[1] * size) };
    say(`Cross: ${where(cross.right * METRES_PER_UNIT, cross.up * METRES_PER_UNIT)}.`);
  }
  renderPicture();
}

const CLOCK_FIELDS = ["hour", "minutes", "offset"];
const clockHalf = () => {
  const reach = Math.hypot(data.bare.right, data.bare.up) + data.bare.tolerance;
  return Math.max(data.unit === "in" ? 2 : 5, Math.ceil((1.5 * reach) / METRES_PER_UNIT));
};

function clockRead() {
  const [hour, minutes, offset] = CLOCK_FIELDS.map((id) => (byId(id).value === "" ? NaN : Number(byId(id).value)));
  if (!(hour >= 1 && hour <= 12 && (Number.isNaN(minutes) || (minutes >= 0 && minutes < 60)) && offset >= 0)) return null;
  return fromClock(hour, minutes || 0, offset);
}

function renderClock() {
  if (!data.bare) return;
  const half = clockHalf(), at = clockRead(), inOwn = (metres) => metres / METRES_PER_UNIT, parts = [];
  for (let hour = 1; hour <= 12; hour++) {
    const { right, up } = fromClock(hour, 0, half);
    parts.push(line(right * 0.72, -up * 0.72, right * 0.8, -up * 0.8, "axis"), text(right * 0.9, -up * 0.9, half / 9, String(hour)));
  }
  parts.push(...plus(0, 0, half / 12, "axis"), ring(inOwn(data.bare.right), -inOwn(data.bare.up), inOwn(data.bare.tolerance), "wanted"));
  if (at) parts.push(ring(at.right, -at.up, half / 22, "shot"));
  byId("clock").replaceChildren(picture(half, ...parts));
  const said = at && (barredFrom(data.bare.distance) ?? [clockWords(at)]);
  show("clock-says", ...(said ?? ["Dashed: the circle in which an unmoved bow's bare shaft lands 95 times in 100."]));
}

function clockWords(at) {
  const right = at.right * METRES_PER_UNIT, up = at.up * METRES_PER_UNIT, { bare } = data;
  const off = Math.hypot(right - bare.right, up - bare.up), inside = off <= bare.tolerance;
  const verdict = inside ? "INSIDE" : "OUTSIDE";
  return `${where(right, up)} of the fletched middle, ${inUnit(off)} from its baseline: ${verdict} this trip's circle of ${inUnit(bare.tolerance)}.${inside ? "" : ` ${LAST}`}`;
}

function setClock(right, up) {
  const { hour, minutes, offset } = toClock(right, up);
  byId("hour").value = hour;
  byId("minutes").value = minutes;
  byId("offset").value = tenth(offset);
  renderClock();
}

function clockKey(event) {
  const way = ARROW_KEYS[event.key];
  if (!way) return;
  event.preventDefault();
  const now = (Number(byId("hour").value) % 12) * 4 + Math.round(Number(byId("minutes").value) / 15);
  const quarters = (now + way[0] + 48) % 48;
  byId("hour").value = Math.floor(quarters / 4) || 12;
  byId("minutes").value = (quarters % 4) * 15;
  byId("offset").value = tenth(Math.max(0, Number(byId("offset").value) + way[1] * 0.1));
  renderClock();
}

// ---- what the arrows say

function renderVerdicts() {
  const { evening, verdicts, notShot, checks } = judged;
  const any = evening.groups.length + evening.cold.length > 0;
  const missing = notShot.map(({ check, missing: what }) => `${check.label} (missing ${what})`).join("; ");
  const notes = [];
  if (evening.changed) notes.push(`Since the last change (${plain(evening.changed)}); what was shot before it is judged no more. The sight counts as ${evening.sightMoved ? "moved on purpose" : "where it was set at home"}.`);
  if (any && missing) notes.push(`Not shot, so not known: ${missing}.`);
  if (any) notes.push(`One error budget of 5 % for the ${plural(checks, "check")} of the place; each look at a check is counted.`);
  if (evening.warm) notes.push("A temperature was logged: readiness assess takes it into account, this page does not.");
  const known = (group) => data.distances.some((d) => Math.abs(distanceOf(d.text) - group.distance) < SAME_DISTANCE);
  if (!evening.groups.every(known)) notes.push("Some arrows were shot at a distance that this page has no number for: readiness assess judges them.");
  const lines = notes.map((note) => element("p", {}, plain(note)));
  show("verdicts", ...(any ? [...verdicts.map((v) => verdictBox(v, verdicts.some(isOff))), element("p", {}, LAST), ...lines] : [element("p", {}, "No arrow yet."), ...lines]));
}

function verdictBox(v, othersOff) {
  const of = v.check.pair ? "its baseline" : "where it should be";
  const seen = `${where(v.right, v.up)}${where(v.right, v.up) === "no offset" ? " from" : " of"} ${of}`;
  const wide = v.wider ? " These groups are wider than home's by more than chance, so their own width counts." : "";
  const lost = v.outside ? ` ${v.outside} outside the butt: counted, but without a place.` : "";
  return element("div", { class: "verdict" },
    element("p", {}, element("b", {}, v.outcome), ` ${plain(v.check.label)}: ${seen}${v.circle === null ? "" : `; circle of an unmoved bow ${inUnit(v.circle)}`}.`),
    element("p", {}, `${meaning(v, othersOff)}${lost}${wide}`));
}

function meaning(v, othersOff) {
  const kind = v.check.pair ? "pair" : "arrow";
  if (v.outcome === PASS) return othersOff ? "This check passes; another is off." : "It shoots as it did.";
  if (v.outcome === FAIL) {
    const times = Number((1 / v.spent).toPrecision(2)).toLocaleString("en");
    const odds = v.spent < 1e-4 ? "less than 1 time in 10,000" : `about 1 time in ${times}`;
    return `By chance an unmoved bow does this ${odds}, looks counted. ${LAST}`;
  }
  if (v.reason === "no group recorded") return "No group is recorded for this distance, so nobody can tell your width from a shift.";
  if (v.reason === "groups too wide") return "Inside its circle, but the groups are so wide that it shows little: take a break, and shoot again.";
  if (v.reason === "outside the butt") return "Inside as far as the others go. Find the lost arrow first: no pass without it.";
  if (v.reason === "too few arrows") {
    return v.needed === null ? "The baseline itself is too few arrows: no number at camp settles it." : `Too few to tell: shoot ${plural(v.needed - v.arrows, `more ${kind}`)}.`;
  }
  return `Outside its circle, which chance does now and then with several checks. Shoot another set of ${kind}s before you believe it.`;
}

function renderGroups() {
  const sets = standing(records()).filter((r) => r.at === here().name && (r.record === "shots" || r.record === "change"));
  const line = (r) => {
    const back = element("button", { type: "button", "aria-label": `Take back what was logged at ${r.time.slice(11, 16)}` }, "Take back");
    back.addEventListener("click", () => { takeBack(r.id); changed(); byId("groups").closest("section").querySelector("h2 button").focus(); });
    const shots = r.record === "shots" ? `${labelOf(r.distance)}, ${r.cold ? "cold, " : ""}${kindWords(r)}, ${plural(r.shots.length, "arrow")}` : `Changed: ${plain(r.what)}`;
    return element("li", { "data-id": r.id }, `${r.time.slice(11, 16)}, ${shots} `, back);
  };
  show("groups", ...sets.map(line));
}

// ---- the return form

const fields = () => [...byId("return").querySelectorAll("[name]")];
const lastForm = () => standing(records()).filter((r) => r.record === "form").sort((a, b) => Date.parse(a.time) - Date.parse(b.time)).at(-1);
const typedForm = () => Object.fromEntries(fields().filter((f) => f.value).map((f) => [f.name, f.value]));
const fillForm = (valueOf) => fields().forEach((f) => { if (f !== document.activeElement) f.value = valueOf(f) ?? ""; });

// What the fields say as a record's values; a group of which a part is missing stays out.
function formValues() {
  const values = {};
  for (const { name, value, type, dataset } of fields()) {
    const [key, part] = name.split(".");
    const said = type === "number" ? Number(value) : clean(value).slice(0, 200);
    if (value === "" || said === "") continue;
    const full = dataset.unit ? `${said} ${dataset.unit}` : said;
    if (part) (values[key] ??= {})[part] = full;
    else values[key] = full;
  }
  const half = ["near_group", "far_group"].filter((key) => values[key] && Object.keys(values[key]).length < 3);
  for (const key of half) delete values[key];
  return { values, half: half.length > 0 };
}

function wrongField(day = today()) {
  byId("return").querySelector("[type=date]").max = day;
  return fields().find((field) => !field.validity.valid);
}

// The draft: what is in the fields is kept with each key, and put into the log when a field is left.
function formTyped() {
  state.form = typedForm();
  show("form-saved");
  store();
}

// A form that was saved stays in the log, and a new one follows it; one that was not is replaced.
function formChanged() {
  state.form = typedForm();
  if (!wrongField()) {
    let last = lastForm();
    if (last && !state.entries.find((e) => e.record === last).saved) {
      takeBack(last.id);
      last = lastForm();
    }
    const { values } = formValues(), client = data.client === undefined ? {} : { client: data.client };
    if (!Object.keys(values).length) for (let form; (form = lastForm());) takeBack(form.id);
    else if (!last || !sameData(JSON.stringify(last.values), values)) keep(stamped("form", here().name, { ...client, values }));
  }
  changed();
}

function renderForm() {
  fillForm(state.form ? (field) => state.form[field.name] : formIn(lastForm()));
  const wrong = wrongField();
  const why = wrong ? `Not in the log yet: ${wrong.closest("label").textContent} ${wrong.validationMessage}`
    : formValues().half ? "A group counts with its arrows, width and distance." : "";
  show("form-note", why);
}

const formIn = (r) => (field) => {
  const [key, part] = field.name.split("."), value = part ? r?.values[key]?.[part] : r?.values[key];
  return String(value ?? "").replace(field.dataset.unit ? ` ${field.dataset.unit}` : "", "");
};

// The fields themselves tell whether a form from outside is one that they could have written.
function formFault(r) {
  if (r.client !== undefined && r.client !== data.client) return "is the return form of another client";
  if (!r.values || typeof r.values !== "object") return "is no record of a log";
  fillForm(formIn(r));
  const { values } = formValues();
  const sound = !wrongField(r.time.slice(0, 10)) && Object.keys(values).length && sameData(JSON.stringify(r.values), values);
  renderForm();
  return sound ? "" : "holds a return form that this page cannot show";
}

// ---- the log, out and in

const logText = () => records().map((record) => `${JSON.stringify(record)}\n`).join("");

function unfinished() {
  const form = wrongField() ? " The return form is not in it: a value there cannot be right." : "";
  return state.draft.length ? `${form} ${plural(state.draft.length, "arrow")} not judged yet: finish them, then save again.` : form;
}

// A note by its button, in view: on a phone it would else lie under the edge of the screen.
function tell(id, text) {
  show(id, text);
  byId(id).scrollIntoView({ block: "nearest" });
}

function logToGo(note) {
  formChanged();
  if (state.entries.length === 0) {
    tell(note, `Nothing is logged yet, so no file was saved. Enter something first.${unfinished()}`);
    return "";
  }
  for (const entry of state.entries) entry.saved = true;
  if (!wrongField() && !formValues().half) state.form = null;
  changed();
  byId("text").value = logText();
  return byId("text").value;
}

function exportLog(note) {
  const log = logToGo(note);
  if (!log) return;
  try {
    const address = URL.createObjectURL(new Blob([log], { type: "application/x-ndjson" }));
    const link = element("a", { href: address, download: data.file, hidden: "" }, "log");
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(address), 10000);
    tell(note, `Saved as ${data.file}. Where no file appears, copy the text in "Carry it home".${unfinished()}`);
  } catch {
    tell(note, `This browser saves no file: copy the text in "Carry it home".${unfinished()}`);
  }
}

function take(source) {
  const fresh = [], known = new Map(records().map((r) => [r.id, JSON.stringify(r)]));
  const wrong = (number, why) => tell("carry-note", `Nothing was taken in: line ${number} ${why}.`);
  for (const [i, raw] of source.replace(/^\ufeff/, "").split("\n").entries()) {
    if (!raw.trim()) continue;
    let record = null;
    try {
      record = JSON.parse(raw);
    } catch {
      return wrong(i + 1, "is no record of a log");
    }
    const fault = faultOf(record, known);
    if (fault) return wrong(i + 1, fault);
    if (!known.has(record.id)) fresh.push(record);
    else if (known.get(record.id) !== JSON.stringify(record) && !sameData(known.get(record.id), record)) return wrong(i + 1, "has the id of another record");
    known.set(record.id, JSON.stringify(record));
  }
  for (const record of fresh) state.entries.push({ record, saved: true });
  if (fresh.some((r) => r.record === "form" || r.record === "undo") && lastForm()) state.form = null;
  changed();
  tell("carry-note", `Taken in: ${plural(fresh.length, "new record")}.`);
}

function sameData(text, record) {
  const sorted = (value) => JSON.stringify(value, (_, v) => (v && typeof v === "object" && !Array.isArray(v) ? Object.fromEntries(Object.entries(v).sort()) : v));
  return sorted(JSON.parse(text)) === sorted(record);
}

// What is wrong with a record that came from outside. One that the log at home refuses must not get in here: a page
// that had taken it in could give back no file that is taken.
const STAMP = { record: /^(shots|change|step|undo|form)$/, id: /^[0-9a-f]{12}$/, time: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(Z|[-+]\d\d:\d\d)$/, version: /^.{1,40}$/, setup: /^[0-9a-f]{16}$/, at: /^.{1,200}$/ };
const KEYS = {
  shots: { distance: /./, kind: /^(fletched|bare|broadhead)$/, unit: /^(in|cm)$/, shots: null },
  change: { what: /^.{1,400}$/ },
  step: { step: /^[A-Z]{2,5}-[0-9]{3}$/, value: /^.{1,400}$/ },
  undo: { undoes: /^[0-9a-f]{12}$/ },
  form: {},
};

function faultOf(r, known) {
  if (!r || typeof r !== "object" || !fits(r, STAMP) || !fits(r, KEYS[r.record])) return "is no record of a log";
  const allowed = new Set([...Object.keys(STAMP), ...Object.keys(KEYS[r.record]), ...({ shots: ["head", "cold", "temperature"], form: ["client", "values"] }[r.record] ?? [])]);
  if (Object.keys(r).some((key) => !allowed.has(key))) return "holds more than a record does";
  if (r.setup !== data.setup) return "was shot with another set-up of the bow";
  if (!data.places.some((place) => place.name === r.at)) return `speaks of a place that this trip does not have: ${plain(r.at)}`;
  if (r.record === "undo" && !known.has(r.undoes)) return "takes back a record that is not there";
  return r.record === "shots" ? shotsFault(r) : r.record === "form" ? formFault(r) : "";
}

const fits = (r, keys) => Object.entries(keys).every(([key, pattern]) => (pattern ? typeof r[key] === "string" && pattern.test(r[key]) : Array.isArray(r[key])));

function shotsFault(r) {
  const number = (n) => typeof n === "number" && Math.abs(n) <= (r.unit === "in" ? 118.11 : 300);
  const arrow = (n) => n === undefined || (Number.isInteger(n) && n >= 1 && n <= 999);
  const sound = (s) => s && typeof s === "object" && arrow(s.arrow) && (s.outside === true ? s.right === undefined && s.up === undefined : number(s.right) && number(s.up));
  const metres = distanceOf(r.distance);
  if (!(metres >= 1.8288 && metres <= 182.88)) return "has no distance that this page can read";
  if (r.kind === "broadhead" ? !data.heads.some((head) => head.name === r.head) : r.head !== undefined) return "has a head that this trip does not have";
  if (r.cold !== undefined && r.cold !== true) return "is no record of a log";
  return r.shots.length >= 1 && r.shots.length <= 100 && r.shots.every(sound) ? "" : "has an arrow without a place";
}

let clearing = false;
function clearAll() {
  if (!clearing) {
    clearing = true;
    byId("clear").textContent = "Press again to clear";
    return tell("carry-note", "What is not saved is lost: ticks, arrows, answers. Press again to clear them.");
  }
  state = { ...empty(), open: state.open, look: state.look, place: state.place };
  clearing = false;
  byId("clear").textContent = "Clear everything here";
  changed();
  byId("text").value = "";
  tell("carry-note", "Cleared.");
}

// ---- the page as a whole

function fold(section) {
  const title = section.querySelector("h2"), body = section.querySelector(".body");
  body.id = `${section.id}-body`;
  const button = element("button", { type: "button", "aria-controls": body.id }, element("span", {}, title.textContent), element("span", { class: "count" }));
  title.replaceChildren(button);
  button.addEventListener("click", () => { state.open[section.id] = section.classList.contains("closed"); changed(); });
}

// Before anyone chose: the first stage whose days are not over is open. No morning before the arrival is answered.
function openFirst() {
  const dated = [...document.querySelectorAll("[data-to]")];
  const { id } = dated.find((stage) => stage.dataset.to >= today()) ?? dated.at(-1);
  return id === "stage-morning" && openStops().length ? "stage-arrival" : id;
}

function openFor(id) {
  const section = byId(id)?.closest(".fold");
  if (section && section.classList.contains("closed")) {
    state.open[section.id] = true;
    changed();
  }
}

function render() {
  weigh();
  document.documentElement.dataset.look = byId("look").value = state.look;
  byId("place").value = String(state.place);
  for (const section of document.querySelectorAll(".fold")) {
    const open = state.open[section.id] ?? section.id === firstOpen;
    section.classList.toggle("closed", !open);
    section.querySelector("h2 button").setAttribute("aria-expanded", String(open));
  }
  renderSteps();
  renderGates();
  renderDraft();
  renderVerdicts();
  renderGroups();
  renderClock();
  renderForm();
  const note = kindNote();
  show("kind-note", ...note);
  byId("kind-note").classList.toggle("stop-now", note.length > 0);
}

// On a narrow screen each row of a table is a card: the roles are said aloud, and each cell carries its title.
function cards(table) {
  const heads = [...table.querySelectorAll("thead th")].map((head) => head.textContent);
  const role = (selector, name) => table.querySelectorAll(selector).forEach((part) => part.setAttribute("role", name));
  table.setAttribute("role", "table");
  role("thead, tbody", "rowgroup");
  role("tr", "row");
  role("thead th", "columnheader");
  role("tbody th", "rowheader");
  role("td", "cell");
  for (const row of table.tBodies[0].rows) [...row.cells].forEach((cell, i) => { cell.dataset.th = heads[i]; });
}

function bind() {
  const on = (id, event, act) => byId(id)?.addEventListener(event, act);
  boxes.forEach(bindStep);
  for (const tick of document.querySelectorAll("[data-pack]")) {
    tick.addEventListener("change", () => { state.packed[tick.dataset.pack] = tick.checked; changed(); });
  }
  on("look", "change", () => { state.look = byId("look").value; changed(); });
  on("place", "change", () => { state.place = Number(byId("place").value); changed(); });
  for (const id of ["distance", "kind", "zoom"]) on(id, "change", render);
  on("entry", "submit", addTyped);
  on("outside", "click", () => addShot({ outside: true }));
  on("undo", "click", () => { const gone = state.draft.pop(); changed(); say(gone ? "The last arrow is taken off." : "There is no arrow to take off."); });
  on("finish", "click", finish);
  on("target", "click", (event) => addShot(tapped(byId("target"), Number(byId("zoom").value), event)));
  on("target", "keydown", targetKey);
  on("target", "blur", () => { cross = null; renderPicture(); });
  on("clock", "click", (event) => { const { right, up } = tapped(byId("clock"), clockHalf(), event); setClock(right, up); });
  on("clock", "keydown", clockKey);
  on("clock-form", "submit", (event) => event.preventDefault());
  for (const id of CLOCK_FIELDS) on(id, "input", renderClock);
  on("change", "submit", (event) => {
    event.preventDefault();
    const what = clean(byId("what").value);
    if (!what) return byId("what").focus();
    keep(stamped("change", here().name, { what }));
    byId("what").value = "";
    changed();
  });
  on("export", "click", () => exportLog("carry-note"));
  on("return", "input", formTyped);
  on("return", "change", formChanged);
  on("return", "submit", (event) => { event.preventDefault(); exportLog("form-saved"); });
  on("show-text", "click", () => { if (logToGo("carry-note")) tell("carry-note", `This is the log: copy all of it.${unfinished()}`); });
  on("take-text", "click", () => take(byId("text").value));
  on("import", "change", async (event) => { const [file] = event.target.files; if (file) take(await file.text()); event.target.value = ""; });
  on("clear", "click", clearAll);
  document.addEventListener("click", (event) => { const link = event.target.closest('a[href^="#"]'); if (link) openFor(link.hash.slice(1)); });
  window.addEventListener("storage", (event) => { if (event.key === KEY) { load(); render(); } });
}

byId("no-script").hidden = true;
document.documentElement.classList.add("js");
document.querySelectorAll("table").forEach(cards);
document.querySelectorAll(".fold").forEach(fold);
load();
const firstOpen = openFirst();
bind();
render();
openFor(location.hash.slice(1));
if (location.hash) byId(location.hash.slice(1))?.scrollIntoView();
