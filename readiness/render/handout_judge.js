// The judging of readiness/arrival/judging.py in closed forms: same circle, same error budget, same words for outcomes.
// No page in here: tests run this file by itself beside the Python. Lengths in metres, right and up positive.
"use strict";

const SAME_DISTANCE = 0.01;
const METRES = { in: 0.0254, cm: 0.01, yd: 0.9144, ft: 0.3048, mm: 0.001, m: 1 };
const PASS = "pass", FAIL = "fail", CANNOT_TELL = "cannot tell";

// F with 2 and dof degrees of freedom: the value below which it falls with probability p, and its upper tail.
const f2Quantile = (p, dof) => 0.5 * dof * (Math.pow(1 - p, -2 / dof) - 1);
const f2Tail = (f, dof) => Math.pow(1 + (2 * f) / dof, -0.5 * dof);

// Upper tail of F where dof1 is even, as every camp group's is: the incomplete beta function is then a finite sum.
function fTail(f, dof1, dof2) {
  const x = dof2 / (dof2 + dof1 * f);
  let term = 1, sum = 0;
  for (let i = 0; i < dof1 / 2; i++) {
    sum += term;
    term *= ((0.5 * dof2 + i) / (i + 1)) * (1 - x);
  }
  return Math.pow(x, 0.5 * dof2) * sum;
}

const circle = (spread, factor, rules) =>
  spread.sigma * Math.sqrt(2 * f2Quantile(rules.confidence, spread.dof) * factor);

// A distance as a log writes it, `20 yd`; NaN for what this page cannot read.
function distanceOf(text) {
  const match = /^([0-9]+\.?[0-9]*) ?(yd|m|ft|in|cm|mm)$/.exec(text.toLowerCase().replace(/ ?(yards?|yds)$/, " yd").replace(/ ?met(er|re)s?$/, " m"));
  return match ? Number(match[1]) * METRES[match[2]] : NaN;
}

// The records that stand: what an undo names is left out, and the undo itself.
function standing(records) {
  const undone = new Set(records.filter((r) => r.record === "undo").map((r) => r.undoes));
  return records.filter((r) => r.record !== "undo" && !undone.has(r.id));
}

// What was shot at a place since the last change to the bow.
function eveningOf(records, place) {
  let sets = [], changed = null, sightMoved = false;
  for (const record of standing(records)) {
    if (record.record === "change") {
      sets = [];
      changed = record.what;
      sightMoved = isSightMoved(changed, sightMoved);
    } else if (record.record === "shots" && record.at === place) sets.push(record);
  }
  const warm = sets.some((set) => set.temperature !== undefined);
  const parts = sets.flatMap(coldApart);
  const groups = (cold) => grouped(parts.filter((set) => Boolean(set.cold) === cold));
  return { groups: groups(false), cold: groups(true), warm, changed, sightMoved };
}

// A set that began with the first cold arrow of the day: that arrow, and the others.
function coldApart(set) {
  if (!set.cold) return [set];
  const rest = { ...set, cold: false, shots: set.shots.slice(1) };
  return [{ ...set, shots: set.shots.slice(0, 1) }, ...(rest.shots.length ? [rest] : [])];
}

// What a change's words take it for: see arrival/changes.py.
const hasWord = (what, words) => new RegExp(`(^|[^\\p{L}\\p{N}_])(?:${words})(?![\\p{L}\\p{N}_])`, "u").test(what.toLowerCase());
const isOfSight = (what) => hasWord(what, "sight|peep|pins?|scale|windage|elevation") &&
  !hasWord(what, "strings?|cables?|cams?|limbs?|bolts?|timing|rest|nocks?|loop|weight|press|arrows?|heads?");

// Whether the sight stands, after a change, moved on purpose away from the recorded zeros.
function isSightMoved(what, before) {
  if (isOfSight(what) && hasWord(what, "back")) return false;
  return before || (isOfSight(what) && hasWord(what, "re-?sight(?:ed)?|moved|corrected|adjusted|re-?set|dialled"));
}

// The answers to steps at a place: those since the last change to the bow; kept are those of before a change to the
// sight alone, which hold for stop steps; since are the steps answered after the last shots. See arrival/evening.py.
function answersOf(records, place, today) {
  let answers = {}, kept = {}, since = [], days = {};
  for (const record of standing(records)) {
    if (record.record === "change") {
      kept = isOfSight(record.what) ? { ...kept, ...answers } : {};
      answers = {};
      since = [];
    } else if (record.at !== place) continue;
    else if (record.record === "shots") since = [];
    else if (record.record === "step") {
      answers[record.step] = record.value;
      days[record.step] = record.time.slice(0, 10);
      since.push(record.step);
    }
  }
  const yesterday = new Date(Date.parse(today) - 864e5).toISOString().slice(0, 10);
  for (const held of [answers, kept]) {
    for (const id in held) if (days[id] < yesterday && readingOf(held[id], "") !== FAIL) delete held[id];
  }
  return { answers, kept, since };
}

// The steps to be looked at again before another arrow. Low fletched groups can be a limb, a string or a cam giving
// way: arrival/gates.py weighs the causes first; this page cannot, so here every zero low outside its circle asks for
// it, failed or not told yet. One arrow alone may be a bad shot.
const isOff = (v) => v.outcome === FAIL || v.reason === "outside its circle";

function dueAgain(verdicts, since, steps) {
  const isLow = (v) => isOff(v) && v.arrows > 1 && v.check.name.includes("zero") && v.up < 0;
  return verdicts.some(isLow) ? steps.filter((id) => !since.includes(id)) : [];
}

function grouped(sets) {
  const groups = [];
  for (const set of sets) {
    const distance = distanceOf(set.distance), head = set.head ?? null, scale = METRES[set.unit];
    let group = find(groups, set.kind, distance, head);
    if (!group) groups.push((group = { distance, kind: set.kind, head, shots: [], outside: 0, sets: 0 }));
    group.sets += 1;
    for (const shot of set.shots) {
      if (shot.outside) group.outside += 1;
      else group.shots.push({ right: shot.right * scale, up: shot.up * scale });
    }
  }
  for (const group of groups) measure(group);
  const key = (g) => [g.distance, g.kind, g.head ?? ""];
  return groups.sort((a, b) => compare(key(a), key(b)));
}

function compare(a, b) {
  const i = a.findIndex((value, at) => value !== b[at]);
  return i < 0 ? 0 : a[i] < b[i] ? -1 : 1;
}

function find(groups, kind, distance, head) {
  return groups.find((g) => g.kind === kind && g.head === head && Math.abs(g.distance - distance) < SAME_DISTANCE);
}

// The middle of a group, and the squared distances of its arrows from it.
function measure(group) {
  const n = (group.arrows = group.shots.length);
  const mean = (axis) => group.shots.reduce((sum, shot) => sum + shot[axis], 0) / n;
  group.right = n ? mean("right") : 0;
  group.up = n ? mean("up") : 0;
  group.squares = group.shots.reduce((sum, s) => sum + (s.right - group.right) ** 2 + (s.up - group.up) ** 2, 0);
  group.dof = n ? 2 * (n - 1) : 0;
}

// The checks of a place, and one more for each other distance with fletched arrows, in the order of the Python.
function checksOf(place, evening) {
  const near = (a, b) => Math.abs(a.distance - b.distance) < SAME_DISTANCE;
  const at = (names) => place.checks.filter((check) => names.includes(check.name));
  if (evening.sightMoved) return [...at(["bare shaft"]), ...at(["broadhead"])]; // the recorded zeros hold no longer
  const zeros = at(["near zero", "far zero"]);
  for (const group of evening.groups) {
    if (group.kind !== "fletched" || zeros.some((zero) => near(zero, group))) continue;
    const zero = place.zeros.find((one) => near(one, group));
    if (zero) zeros.push(zero);
  }
  return [...at(["bare shaft"]), ...zeros, ...at(["broadhead"]), ...at(["first cold arrow"])];
}

// The archer's spread at a check's distance this evening: home and camp pooled; the camp's alone where it is wider
// than chance allows, or where no group was recorded at home.
function spreadThere(check, evening, rules) {
  const home = check.home && { sigma: check.home[0], dof: check.home[1] };
  const near = evening.groups.filter((g) => Math.abs(g.distance - check.distance) < SAME_DISTANCE);
  const dof = near.reduce((sum, g) => sum + g.dof, 0);
  if (dof === 0) return { spread: home, wider: false };
  const here = { sigma: Math.sqrt(near.reduce((sum, g) => sum + g.squares, 0) / dof), dof };
  if (!home) return { spread: here.sigma > 0 ? here : null, wider: false };
  if (fTail((here.sigma / home.sigma) ** 2, dof, home.dof) < rules.wider) return { spread: here, wider: true };
  const both = home.dof + dof;
  const sigma = Math.sqrt((home.dof * home.sigma ** 2 + dof * here.sigma ** 2) / both);
  return { spread: { sigma, dof: both }, wider: false };
}

// The groups that a check compares, or what has to be shot first.
function groupsOf(check, evening) {
  const shot = (group) => group && group.arrows > 0;
  if (check.name === "first cold arrow") {
    const cold = find(evening.cold, "fletched", check.distance, null);
    return shot(cold) ? [cold] : "the first arrow of a day";
  }
  const fletched = find(evening.groups, "fletched", check.distance, null);
  const lost = (group, missing) => (group && group.outside ? "an arrow in the butt: all missed it" : missing);
  if (!check.pair) return shot(fletched) ? [fletched] : lost(fletched, "fletched arrows");
  const kind = check.name === "bare shaft" ? "bare" : "broadhead";
  const second = find(evening.groups, kind, check.distance, check.head);
  if (!shot(second)) return lost(second, kind === "bare" ? "a bare shaft" : "this head");
  return shot(fletched) ? [second, fletched] : lost(fletched, "fletched arrows beside it");
}

// Every check of a place judged: { verdicts, notShot }.
function judge(place, evening, rules) {
  const verdicts = [], notShot = [], checks = checksOf(place, evening);
  for (const check of checks) {
    const parts = groupsOf(check, evening);
    if (typeof parts === "string") notShot.push({ check, missing: parts });
    else verdicts.push(measured(check, parts, evening, rules));
  }
  withinBudget(verdicts, checks.length, rules);
  return { verdicts, notShot, checks: checks.length };
}

function measured(check, parts, evening, rules) {
  const [judged, fletched] = parts;
  const right = judged.right - (fletched ? fletched.right : 0) - check.right;
  const up = judged.up - (fletched ? fletched.up : 0) - check.up;
  const verdict = {
    check, outcome: CANNOT_TELL, reason: "", right, up, circle: null, p: null, spent: null, needed: null,
    arrows: Math.min(...parts.map((g) => g.arrows)), outside: parts.reduce((sum, g) => sum + g.outside, 0),
  };
  const off = (verdict.off = Math.hypot(right, Math.max(0, Math.abs(up) - check.slack)));
  const { spread, wider } = spreadThere(check, evening, rules);
  if (!spread) return Object.assign(verdict, { reason: "no group recorded" });
  const factor = parts.reduce((sum, g) => sum + 1 / g.arrows, 0) + check.variance;
  const own = circle(spread, factor, rules);
  verdict.wider = wider;
  verdict.circle = own + check.slack;
  verdict.p = f2Tail(off ** 2 / (2 * spread.sigma ** 2 * factor), spread.dof);
  verdict.spent = Math.min(1, verdict.p * 2 ** Math.max(...parts.map((g) => g.sets)));
  if (off > own) verdict.reason = "outside its circle";
  else if (verdict.outside) verdict.reason = "outside the butt";
  else if (isEnough(check, spread, factor, verdict.arrows, rules)) {
    if (wider && own > Math.max(check.plan_circle, check.wanted)) verdict.reason = "groups too wide";
    else verdict.outcome = PASS;
  } else Object.assign(verdict, { reason: "too few arrows", needed: neededFor(check, spread, verdict.arrows, rules) });
  return verdict;
}

// As many arrows as the plan asks for; or three, in a circle no wider than the figure of common practice.
function isEnough(check, spread, factor, arrows, rules) {
  const planned = (check.pair ? 2 : 1) / check.arrows + check.variance;
  const tight = arrows >= rules.fewest && circle(spread, factor, rules) <= check.wanted;
  return tight || factor <= planned * (1 + 1e-9);
}

function neededFor(check, spread, arrows, rules) {
  for (let n = arrows + 1; n < arrows + rules.most_more; n++) {
    if (isEnough(check, spread, (check.pair ? 2 : 1) / n + check.variance, n, rules)) return n;
  }
  return null;
}

// Holm's step-down over all checks of the place: the smallest p-value first, until one is kept.
function withinBudget(verdicts, checks, rules) {
  const ranked = verdicts.filter((v) => v.spent !== null).sort((a, b) => a.spent - b.spent);
  for (const [rank, verdict] of ranked.entries()) {
    if (verdict.spent > rules.budget / (checks - rank)) break;
    if (verdict.arrows < rules.fewest_to_fail && verdict.check.name !== "first cold arrow") continue;
    Object.assign(verdict, { outcome: FAIL, reason: "", needed: null });
  }
}

// How a written answer reads beside what its step expects: see readiness/arrival/answers.py.
function readingOf(value, expect) {
  const letter = "[\\p{L}\\p{N}_]";
  const alone = (words) => new RegExp(`(^|[^\\p{L}\\p{N}_])(?:${words})(?!${letter})`, "gu"); // older phones cannot look behind
  const start = (words) => new RegExp(`^(?:${words})(?!${letter})`, "u");
  const plain = (text) =>
    text.toLowerCase().split(/\s+/u).filter(Boolean).join(" ").replace(/^[ .,;:!–—-]+|[ .,;:!–—-]+$/gu, "");
  const text = plain(value);
  let rest = text, repeated = 0;
  const clauses = expect.split(/[;:]|[.,](?!\d)/).map((c) => plain(c).replace(/^[ '"]+|[ '"]+$/g, "")).filter(Boolean);
  for (const clause of clauses.sort((a, b) => b.length - a.length)) {
    const exact = clause.replace(/[\\^$.*+?()[\]{}|/-]/g, "\\$&").replace(/\\-/g, "\\x2d");
    rest = rest.replace(alone(exact), (_, before) => (repeated++, `${before} `));
  }
  const back = alone("but|except|apart from|however|though|although|fail(?:ed|s|ure)?|bad");
  if (start("pass(?:ed|es)?|ok|okay|yes|good|sound|as expected|as recorded").test(text)) {
    return back.test(rest) ? CANNOT_TELL : PASS;
  }
  const small = alone("and|is|are|was|were|it|its|all|the|a|seen|found|looks|still|both|each|there");
  if (repeated && !new RegExp(letter, "u").test(rest.replace(small, "$1 "))) return PASS;
  const no = new RegExp(`^no(?!['’]|${letter})(?=\\s*(?:[^\\p{L}\\p{N}_\\s]|$))`, "u");
  return start("fail(?:ed|s|ure)?|not|bad").test(text) || no.test(text) ? FAIL : CANNOT_TELL;
}

// A clock position, the direction of an hour hand, and its offset: right and up, and back to the nearest quarter hour.
function fromClock(hour, minutes, offset) {
  const angle = ((hour + minutes / 60) * Math.PI) / 6;
  return { right: offset * Math.sin(angle), up: offset * Math.cos(angle) };
}

function toClock(right, up) {
  const hours = ((Math.atan2(right, up) * 6) / Math.PI + 12) % 12;
  const quarters = Math.round(hours * 4) % 48;
  return { hour: Math.floor(quarters / 4) || 12, minutes: (quarters % 4) * 15, offset: Math.hypot(right, up) };
}
