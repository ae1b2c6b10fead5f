"use strict";
(() => {
const plan = JSON.parse(document.getElementById("plan").textContent);
const words = plan.words, unit = plan.units, page = document.getElementById("page");
const key = "gripbook.sheet." + unit + "." + plan.athlete;
const HANGS = ["athlete", "date", "session", "order", "exercise", "test", "grip", "hand", "edge_mm", "board",
  "added_" + unit, "scale_" + unit, "stand_" + unit, "force_" + unit, "hang_s", "rest_s", "reps",
  "reps_done", "failed_s", "stopped", "reserve_s", "reserve_reps", "note"];
const SESSIONS = ["athlete", "date", "session", "kind", "minutes", "effort", "note"];
const PAIN = ["athlete", "date", "when", "site", "side", "level", "sign"];
const BODY = ["athlete", "date", "body_mass_" + unit];
let state = null, store = null, kept = true, onDisk = 0, draft = null, asked = "", lastTap = -500;

// --- words and numbers
const say = (name, parts) => words[name].replace(/\{(\w+)\}/g, (all, k) => parts && k in parts ? parts[k] : all);
const shown = n => String(Math.round(n * 100) / 100).replace("-", "\u2212").replace(".", plan.decimal);
const grip = name => plan.gripNames[name] || name.replace(/_/g, " ");
const number = text => { const t = String(text).trim().replace(",", ".").replace("\u2212", "-"); return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(t) ? Number(t) : null; };
const load = kg => kg === null || kg === undefined ? say("no_load") : kg === 0 ? say("nothing_added") : (kg > 0 ? "+" : "") + shown(kg) + "\u00a0" + unit;
const hand = h => say({left: "left_hand", right: "right_hand", both: "both_hands"}[h]);
const two = n => String(n).padStart(2, "0");
// the phone's own day: in UTC an evening session would move to tomorrow
const today = () => { const d = new Date(); return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()); };
function pieces(kg) { // fewest plates that make a weight, null where they can't
  const aim = Math.round(Math.abs(kg) * 100);
  let made = new Map([[0, []]]);
  [...plan.plates].sort((a, b) => b - a).forEach(piece => {
    const more = new Map(made);
    made.forEach((used, sum) => {
      const with_it = sum + Math.round(piece * 100), known = more.get(with_it);
      if (with_it <= aim + 5 && (!known || known.length > used.length + 1)) more.set(with_it, [...used, piece]);
    });
    made = more;
  });
  // plates in pounds are rounded each: their sum may be a few hundredths off
  const near = [0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5].map(d => made.get(aim + d)).find(x => x);
  return near ? near.map(shown).join(" + ") : null;
}
function plates(kg) {
  if (!plan.plates.length || !number(kg)) return "";
  const made = pieces(number(kg));
  return made === null ? say("not_plates") : number(kg) < 0 ? say("pulley", {pieces: made}) : made;
}

// --- what is kept. localStorage reaches the disk late, so a killed browser would lose the last
// sets; IndexedDB with strict durability has them at once. The higher counter is the newer one.
// A session is kept with what was planned, so that rows outlive a newer sheet: those of a session
// that this sheet doesn't have are kept, counted and handed over with the others.
const empty = p => ({p, sets: p.sets.map(() => null), pain: null, minutes: "", effort: "", mass: "", note: "", date: "", board: plan.boards[0] || ""});
const fresh = () => ({v: 2, n: 0, open: Math.max(0, plan.sessions.findIndex(p => p.date === today())), view: "sets", s: plan.sessions.map(empty), old: []});
const filled = s => s.sets.some(w => w) || s.pain !== null || [s.minutes, s.effort, s.mass, s.note].some(x => x !== "");
const id = p => JSON.stringify([p.label, p.date, p.sets]);
function read(text) { // what was kept, fitted to this sheet; null where there is nothing
  let o = null;
  try { o = JSON.parse(text); } catch (e) { return null; }
  if (!o || o.v !== 2) return null;
  const had = [...o.s, ...o.old], ids = plan.sessions.map(id);
  const here = plan.sessions.map((p, i) => had.find(s => id(s.p) === ids[i]) || empty(p));
  const old = had.filter(s => filled(s) && !ids.includes(id(s.p)));
  const moved = o.s.length !== here.length || here.some((s, i) => s !== o.s[i]);
  return {v: 2, n: o.n, s: here, old, open: moved ? fresh().open : o.open, view: moved ? "sets" : o.view};
}
function join(mine, other) { // both were written to: no set of either is lost
  [...other.s, ...other.old].filter(filled).forEach(s => {
    const m = [...mine.s, ...mine.old].find(x => id(x.p) === id(s.p));
    if (!m) { mine.old.push(s); return; }
    m.sets = Array.from({length: Math.max(m.sets.length, s.sets.length)}, (_, k) => m.sets[k] || s.sets[k] || null);
    for (const k of ["pain", "minutes", "effort", "mass", "note", "date"]) if (m[k] === null || m[k] === "") m[k] = s[k];
  });
  mine.n = Math.max(mine.n, other.n);
}
function save() {
  state.n += 1;
  const text = JSON.stringify(state), n = state.n;
  let here = false;
  try { localStorage.setItem(key, text); here = localStorage.getItem(key) === text; } catch (e) { here = false; }
  const lost = () => { store = null; kept = here; draw(); };
  try {
    if (store) {
      const write = store.transaction("rows", "readwrite", {durability: "strict"});
      write.onabort = lost;
      write.oncomplete = () => { onDisk = Math.max(onDisk, n); tellKept(); };
      write.objectStore("rows").put(text, key);
    }
  } catch (e) { store = null; }
  kept = here || store !== null;
}
function boot() {
  let local = null;
  try { local = read(localStorage.getItem(key)); } catch (e) { local = null; }
  const begin = other => {
    if (state) { // the store was slow: what it holds joins what was tapped meanwhile
      const n = state.n;
      if (other && other.n > n && n === (local ? local.n : 0)) state = other;
      else if (other || n) { if (other) join(state, other); save(); }
    } else {
      state = other && (!local || other.n > local.n) ? other : local || fresh();
      if (store && onDisk < state.n) save();
    }
    if (!draft) draw();
  };
  const wait = setTimeout(() => begin(null), 1500);
  const done = other => { clearTimeout(wait); begin(other); };
  try {
    const ask = indexedDB.open("gripbook.sheet", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("rows");
    ask.onerror = () => done(null);
    ask.onsuccess = () => {
      const get = ask.result.transaction("rows").objectStore("rows").get(key);
      get.onsuccess = () => {
        const other = read(get.result);
        store = ask.result;
        onDisk = other ? other.n : 0;
        done(other);
      };
      get.onerror = () => done(null);
    };
  } catch (e) { done(null); }
}

// --- rows in log format
const cell = v => { const t = v === null || v === undefined ? "" : String(v); return /[",\r\n;\t]|^\s|\s$/.test(t) ? '"' + t.replace(/"/g, '""') + '"' : t; };
// a spreadsheet must not run a note as a formula
const plain = v => { const t = String(v || "").replace(/\s+/g, " ").trim(); return /^[=+\-@]/.test(t) ? "'" + t : t; };
function rows(kept) {
  const out = {hangs: [], sessions: [], pain: [], body: []};
  kept.forEach(s => {
    const p = s.p, date = s.date || p.date, id = {athlete: plan.athlete, date, session: p.label};
    let order = 0, pair = null;
    s.sets.forEach((w, k) => {
      if (!w) return;
      const g = k < p.sets.length ? p.sets[k] : w.g, rep = g.exercise === "repeater", ended = w.end !== "held";
      if (g.order !== pair) { order += 1; pair = g.order; }
      out.hangs.push({...id, order, exercise: g.exercise, test: g.test ? "yes" : "", grip: w.grip, hand: w.hand,
        edge_mm: w.edge, board: plain(s.board), ["added_" + unit]: w.kg, ["scale_" + unit]: w.scale, ["stand_" + unit]: w.stand,
        ["force_" + unit]: w.force, hang_s: w.hang, rest_s: rep ? g.rest : "", reps: rep ? w.reps : "",
        reps_done: rep && ended ? w.holds : "", failed_s: ended && g.exercise !== "pull" ? w.at : "",
        stopped: ended && w.end !== "opened" ? w.end : "", reserve_s: rep ? "" : w.left, reserve_reps: rep ? w.left : "", note: plain(w.note)});
    });
    if (s.minutes !== "" || s.effort !== "" || plain(s.note) !== "") out.sessions.push({...id, kind: "fingers", minutes: s.minutes, effort: s.effort, note: plain(s.note)});
    if (s.pain) (s.pain.length ? s.pain : [{site: "", side: "", level: 0, sign: ""}]).forEach(x => out.pain.push({athlete: plan.athlete, date, when: "during", ...x}));
    if (number(s.mass)) out.body.push({athlete: plan.athlete, date, ["body_mass_" + unit]: number(s.mass)});
  });
  return out;
}
const rowsOf = kept => Object.values(rows(kept)).reduce((n, r) => n + r.length, 0);
const count = () => rowsOf([...state.old, ...state.s]);
function text() {
  const r = rows([...state.old, ...state.s]), heads = {hangs: HANGS, sessions: SESSIONS, pain: PAIN, body: BODY};
  return Object.keys(heads).filter(k => r[k].length)
    .map(k => [heads[k], ...r[k].map(row => heads[k].map(c => row[c]))].map(l => l.map(cell).join(",")).join("\r\n") + "\r\n").join("\r\n");
}

// --- drawing: text is only ever set as text
function el(tag, props, ...inner) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(props || {})) {
    if (k === "tap") e.addEventListener("click", v);
    else if (k === "typed") e.addEventListener("input", v);
    else if (k === "cls") e.className = v;
    else if (k === "value") e.value = v;
    else if (v !== false && v !== undefined) e.setAttribute(k, v);
  }
  inner.flat().forEach(x => x !== null && x !== undefined && e.append(x));
  return e;
}
const button = (label, tap, more) => el("button", {type: "button", tap, ...more}, label);
const pick = (label, on, tap) => button(label, tap, {"aria-pressed": on ? "true" : "false"});
const change = f => { f(); save(); draw(); };
function once(f) { // the bounce of a thumb isn't a second set
  const now = performance.now();
  if (now - lastTap < 500) return;
  lastTap = now;
  change(f);
}
const session = () => plan.sessions[state.open], mine = () => state.s[state.open];
// a set more than planned is like the last one, behind it
const planned = () => { const p = session(), last = p.sets[p.sets.length - 1]; return mine().sets.map((w, k) => p.sets[k] || {...last, order: last.order + k}); };
const begun = s => { s.date = s.date || today(); };
const field = (label, value, typed, mode) => el("label", {}, label, el("input", {value: value === null || value === undefined ? "" : typeof value === "number" ? String(value).replace(".", plan.decimal) : value, typed: e => typed(e.target.value), inputmode: mode || "decimal", "aria-label": label}));
const asWas = g => ({grip: g.grip, hand: g.hand, edge: g.edge, kg: g.force === null ? g.kg : "", force: g.force === null ? "" : g.force, scale: "", stand: "", hang: g.hang, reps: g.reps, end: "", at: "", holds: "", left: "", note: ""});
const what = (g, w) => grip((w || g).grip) + ", " + hand(w ? w.hand : g.hand) + ((w || g).edge ? ", " + shown((w || g).edge) + "\u00a0mm" : "");
const weight = (g, w) => !w && g.says && g.kg === null && g.force === null ? g.says : g.exercise === "pull" && w ? (w.force !== "" ? shown(w.force) : shown(w.scale)) + "\u00a0" + unit : g.force !== null ? shown(w ? w.force : g.force) + "\u00a0" + unit : load(w ? w.kg : g.kg);
const dose = g => g.exercise === "repeater" ? g.reps + " \u00d7 " + shown(g.hang) + "/" + shown(g.rest) + "\u00a0s" : g.hang ? shown(g.hang) + "\u00a0s" : "";
// what of a set may be done once more: never how it ended, what was left or the note
const SAME = ["kg", "force", "edge", "hang", "reps"];
const same = w => Object.fromEntries(SAME.map(k => [k, w[k]]));
function next() { return mine().sets.findIndex(w => !w); }

// rows are told as kept only when they are on the disk
function tellKept() {
  const n = count(), e = document.getElementById("kept");
  if (!e) return;
  e.className = kept ? "" : "bad";
  e.textContent = !kept ? say("kept_lost") : store && onDisk < state.n ? say("writing") : n ? say("kept", {n}) : say("kept_none");
}
function top() {
  const p = session();
  return el("header", {}, el("h1", {}, plan.name),
    plan.sessions.length > 1 ? el("div", {cls: "row"}, plan.sessions.map((x, i) => pick(x.label, i === state.open, () => change(() => { state.open = i; state.view = "sets"; draft = null; })))) : null,
    p.date === (mine().date || today()) ? null : el("p", {}, say("planned_for", {day: p.day})),
    state.old.length ? el("p", {}, say("older", {n: rowsOf(state.old)})) : null,
    el("p", {role: "status", id: "kept"}));
}
function boards() { // another board is another edge to the log, so it is asked where there are several
  return plan.boards.length < 2 ? null : el("div", {cls: "row"}, plan.boards.map(x => pick(x || "\u2013", mine().board === x, () => change(() => { mine().board = x; }))));
}
const edit = (k, g) => change(() => { draft = {k, ...(mine().sets[k] || asWas(g))}; state.view = "one"; });
function sets() {
  const s = mine(), i = next(), all = planned(), list = all.map((g, k) => {
    const w = s.sets[k];
    return button([el("span", {}, (k + 1) + ". " + what(g, w)), el("span", {}, w ? weight(g, w) + (w.end === "held" ? "" : ", " + say(w.end)) : weight(g, null))],
      () => edit(k, g), {cls: "set" + (w ? " written" : k === i ? " now" : "")});
  });
  const foot = el("footer", {});
  if (i >= 0) {
    const g = all[i], made = plates(g.force === null ? g.kg : g.force);
    const write = more => once(() => { begun(s); s.sets[i] = {...asWas(g), end: "held", ...more, ...(i < session().sets.length ? {} : {g})}; if (next() < 0) state.view = "end"; });
    foot.append(el("b", {id: "now"}, what(g, null) + ", " + weight(g, null)), el("p", {}, say("set_of", {n: i + 1, all: all.length}) + " \u00b7 " + dose(g) + (g.test ? " \u00b7 " + say("test") : "") + (g.says && (g.kg !== null || g.force !== null) ? " \u00b7 " + g.says : "") + (g.leave ? " \u00b7 " + g.leave : "") + (made ? " \u00b7 " + made : "")));
    const sure = g.exercise !== "pull" && (g.kg !== null || g.force !== null), usual = asWas(g);
    const before = sure ? s.sets.slice(0, i).reverse().find((w, k) => w && w.grip === g.grip && w.hand === g.hand && all[i - 1 - k].exercise === g.exercise) : null;
    const other = before ? SAME.filter(k => before[k] !== usual[k]) : [];
    if (other.length) {
      const parts = [weight(g, before), other.includes("edge") ? shown(before.edge) + "\u00a0mm" : "", other.includes("hang") ? shown(before.hang) + "\u00a0s" : ""];
      foot.append(button(say("again", {load: parts.filter(x => x).join(", ")}), () => write(same(before)), {id: "again"}));
    }
    if (sure) {
      foot.append(el("p", {}, say("left")), el("div", {cls: "six"}, [0, 1, 2, 3, 4, 5].map(n => button(n === 5 ? "5+" : String(n), () => write({left: n})))));
      foot.append(button(say("other"), () => edit(i, g)));
      foot.append(button(say("done"), () => write({}), {cls: "main", id: "done"}));
    } else foot.append(button(say(g.exercise === "pull" ? "enter_reading" : "enter_load"), () => edit(i, g), {cls: "main", id: "enter"}));
  }
  const written = s.sets.some(w => w);
  if (i < 0 || written) foot.append(button(say("end"), () => change(() => { state.view = "end"; })));
  return [top(), el("p", {}, say("stop")), ...session().notes.map(x => el("p", {}, x)), boards(), ...list, foot];
}
function missing(g, d) {
  if (g.exercise === "pull") return d.scale !== "" || d.force !== "" ? "" : "need_reading";
  if (g.force !== null ? d.force === "" : d.kg === null || d.kg === "") return "need_load";
  if (d.end === "") return "need_how";
  if (d.end !== "held" && g.exercise === "repeater" && d.holds === "") return "need_holds";
  return d.end !== "held" && d.at === "" && g.exercise !== "repeater" ? "need_at" : "";
}
function one() {
  const s = mine(), g = planned()[draft.k], d = draft, pull = g.exercise === "pull", rep = g.exercise === "repeater";
  const go = button("", () => once(() => {
    const {k, ...w} = d;
    if (pull) w.end = "held";
    // feet on a scale with nothing hung on: without this the log would have to guess
    if (pull && w.scale !== "" && w.stand === "") w.kg = w.kg || 0;
    if (k >= session().sets.length) w.g = g;
    begun(s);
    s.sets[k] = w; draft = null; state.view = next() < 0 ? "end" : "sets";
  }), {cls: "main", id: "write"});
  const made = el("p", {id: "plates"});
  const tell = () => { const m = missing(g, d); go.textContent = say(m || "write"); go.disabled = !!m; made.textContent = pull ? "" : plates(g.force === null ? d.kg : d.force); };
  const set = (k, v) => { d[k] = v; draw(); }, num = k => v => { const n = number(v); d[k] = n === null ? "" : n; tell(); };
  const choose = (k, label, values, name) => el("label", {}, label, (() => { const e = el("select", {"aria-label": label}, values.map(v => el("option", {value: v}, name(v)))); e.value = d[k]; e.addEventListener("change", () => { d[k] = e.value; }); return e; })());
  const in_unit = name => say(name) + " (" + unit + ")";
  const parts = [el("h2", {}, what(g, null))];
  if (pull) {
    parts.push(field(in_unit("scale"), d.scale, num("scale")), field(in_unit("stand"), d.stand, num("stand")), field(in_unit("gauge"), d.force, num("force")));
  } else if (g.force !== null) parts.push(field(in_unit("gauge"), d.force, num("force")), made);
  else {
    const steps = unit === "lb" ? [-5, -1, 1, 5] : [-2.5, -0.5, 0.5, 2.5];
    parts.push(field(in_unit("load"), d.kg, num("kg"), "text"), made, el("div", {cls: "row"}, steps.map(x => button((x > 0 ? "+" : "") + shown(x), () => set("kg", Math.round(((d.kg || 0) + x) * 100) / 100)))));
  }
  if (!pull) {
    parts.push(el("h2", {}, say("how")), el("div", {cls: "many"}, ["held", "opened", "slip", "skin", "pain", "choice"].map(x => pick(say(x), d.end === x, () => set("end", x)))));
    if (d.end && d.end !== "held") {
      if (rep) parts.push(el("p", {}, say("holds")), el("div", {cls: "six"}, Array.from({length: d.reps}, (_, n) => pick(String(n), d.holds === n, () => set("holds", n)))));
      parts.push(field(say("at"), d.at, num("at")));
    } else parts.push(el("p", {}, say("more")), el("div", {cls: "six"}, [0, 1, 2, 3, 4, 5].map(n => pick(n === 5 ? "5+" : String(n), d.left === n, () => set("left", n)))));
  }
  parts.push(el("details", {}, el("summary", {}, say("edge") + ", " + say("grip") + ", " + say("hand")),
    field(say("edge"), d.edge, num("edge")), choose("grip", say("grip"), [...new Set([g.grip, ...Object.keys(plan.gripNames)])], grip), choose("hand", say("hand"), ["both", "left", "right"], hand),
    pull ? null : field(say("seconds"), d.hang, num("hang")), rep ? field(say("reps"), d.reps, num("reps")) : null,
    pull ? field(in_unit("load"), d.kg, num("kg"), "text") : null),
    field(say("note"), d.note, v => { d.note = v; }, "text"));
  if (s.sets[d.k]) parts.push(button(say("erase"), () => change(() => { if (d.k < session().sets.length) s.sets[d.k] = null; else s.sets.splice(d.k, 1); draft = null; state.view = "sets"; })));
  parts.push(button(say("back"), () => change(() => { draft = null; state.view = "sets"; })));
  tell();
  return [top(), ...parts, el("footer", {}, go)];
}
function end() {
  const s = mine(), keep = (k, v) => { begun(s); s[k] = v; save(); tell(); }, parts = [];
  const unsaid = () => (s.pain || []).some(x => x.level === "" && x.sign === "") ? "need_level" : "";
  const place = () => ({site: "", side: "", level: "", sign: ""});
  parts.push(el("h2", {}, say("ask_pain")), el("div", {cls: "row"}, pick(say("no_pain"), s.pain && !s.pain.length, () => change(() => { begun(s); s.pain = []; })), pick(say("yes_pain"), s.pain && s.pain.length, () => change(() => { begun(s); s.pain = s.pain && s.pain.length ? s.pain : [place()]; }))));
  (s.pain || []).forEach(x => {
    const sites = Object.keys(words).filter(k => k.startsWith("site_")).map(k => k.slice(5));
    parts.push(el("h2", {}, say("where")), el("div", {cls: "many"}, sites.map(v => pick(say("site_" + v), x.site === v, () => change(() => { x.site = v; })))),
      el("h2", {}, say("which")), el("div", {cls: "row"}, ["left", "right", "both"].map(v => pick(hand(v), x.side === v, () => change(() => { x.side = v; })))),
      el("h2", {}, say("how_much")), el("div", {cls: "six"}, Array.from({length: 11}, (_, v) => pick(String(v), x.level === v, () => change(() => { x.level = v; })))),
      el("h2", {}, say("sign")), el("div", {cls: "row"}, ["pop", "swelling", "stiff"].map(v => pick(say(v), x.sign === v, () => change(() => { x.sign = x.sign === v ? "" : v; })))));
    if (x.level >= plan.painLevel && x.level !== "" || x.sign === "pop" || x.sign === "swelling") parts.push(el("p", {cls: "bad"}, say("pain_note")));
  });
  if (s.pain && s.pain.length) parts.push(button(say("another"), () => change(() => { s.pain.push(place()); })));
  parts.push(el("h2", {}, say("minutes")), el("div", {cls: "six"}, [30, 40, 45, 60, 75, 90].map(v => pick(String(v), s.minutes === v, () => change(() => { begun(s); s.minutes = v; })))),
    field(say("minutes"), s.minutes, v => { const m = number(v); keep("minutes", m === null ? "" : m); }),
    el("h2", {}, say("effort")), el("div", {cls: "six"}, Array.from({length: 11}, (_, v) => pick(String(v), s.effort === v, () => change(() => { begun(s); s.effort = v; })))),
    field(say("mass") + " (" + unit + ")", s.mass, v => keep("mass", v)), field(say("board"), s.board, v => keep("board", v), "text"), field(say("note"), s.note, v => keep("note", v), "text"),
    el("label", {}, say("day"), el("input", {type: "date", value: s.date || today(), typed: e => keep("date", e.target.value), "aria-label": say("day")})),
    button(say("more_sets"), () => change(() => { s.sets.push(null); state.view = "sets"; })),
    el("p", {}, say("stays")), button(say("see"), () => change(() => { state.view = "rows"; })), button(say("sets"), () => change(() => { state.view = "sets"; })));
  const file = () => new File([text()], plan.athlete.replace(/[^\w-]+/g, "_") + "-" + today() + ".csv", {type: "text/csv"});
  let can = false;
  try { can = !!(navigator.canShare && navigator.canShare({files: [file()]})); } catch (e) { can = false; }
  const hand_over = () => {
    if (can) { navigator.share({files: [file()]}).catch(() => {}); return; }
    const a = el("a", {href: URL.createObjectURL(file()), download: file().name});
    document.body.append(a); a.click(); a.remove();
  };
  const go = button("", hand_over, {cls: "main", id: "share"});
  const tell = () => { const m = unsaid(); go.textContent = say(m || (can ? "share" : "save"), {n: count()}); go.disabled = !!m; };
  tell();
  return [top(), ...parts, el("footer", {}, go)];
}
function all() {
  const box = el("textarea", {cls: "rows", readonly: "", id: "rows", "aria-label": say("see"), value: text()});
  const clear = asked === "clear" ? button(say("sure", {n: count()}), () => change(() => { asked = ""; const n = state.n; state = fresh(); state.n = n; draft = null; }), {id: "sure"}) : button(say("clear"), () => { asked = "clear"; draw(); });
  return [top(), box, button(say("copy"), () => { box.select(); try { document.execCommand("copy"); } catch (e) { /* the text is selected to copy by hand */ } }), clear, button(say("back"), () => change(() => { asked = ""; state.view = "end"; }))];
}
function draw() {
  const at = page.dataset.view === state.view ? window.scrollY : 0;
  page.dataset.view = state.view;
  page.replaceChildren(...(state.view === "one" && draft ? one() : state.view === "end" ? end() : state.view === "rows" ? all() : sets()).filter(x => x));
  tellKept();
  window.scrollTo(0, at);
}
boot();
})();
