"use strict";
(() => {
const plan = JSON.parse(document.getElementById("plan").textContent);
const words = plan.words, unit = plan.units, page = document.getElementById("page");
const key = "gripbook.sheet." + plan.athlete + "." + plan.start;
const HANGS = ["athlete", "date", "session", "order", "exercise", "test", "grip", "hand", "edge_mm",
  "added_" + unit, "scale_" + unit, "stand_" + unit, "force_" + unit, "hang_s", "rest_s", "reps",
  "reps_done", "failed_s", "stopped", "reserve_s", "reserve_reps", "note"];
const SESSIONS = ["athlete", "date", "session", "kind", "minutes", "effort", "note"];
const PAIN = ["athlete", "date", "when", "site", "side", "level", "sign"];
const BODY = ["athlete", "date", "body_mass_" + unit];
let state = null, store = null, kept = true, draft = null, asked = "", lastTap = 0;

// --- words and numbers
const say = (name, parts) => words[name].replace(/\{(\w+)\}/g, (all, k) => parts && k in parts ? parts[k] : all);
const shown = n => String(Math.round(n * 100) / 100).replace("-", "\u2212");
const number = text => { const t = String(text).trim().replace(",", ".").replace("\u2212", "-"); return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(t) ? Number(t) : null; };
const load = kg => kg === null || kg === undefined ? say("no_load") : kg === 0 ? say("nothing_added") : (kg > 0 ? "+" : "") + shown(kg) + "\u00a0" + unit;
const hand = h => say({left: "left_hand", right: "right_hand", both: "both_hands"}[h]);
const two = n => String(n).padStart(2, "0");
// the phone's own day: in UTC an evening session would move to tomorrow
const today = () => { const d = new Date(); return d.getFullYear() + "-" + two(d.getMonth() + 1) + "-" + two(d.getDate()); };
function pieces(kg) { // fewest plates that make a weight, null where they can't
  let best = null;
  const aim = Math.round(Math.abs(kg) * 100), all = plan.plates.map(p => Math.round(p * 100));
  (function go(i, left, used) {
    if (left === 0) { if (!best || used.length < best.length) best = used; return; }
    if (i === all.length || left < 0 || (best && used.length >= best.length)) return;
    go(i + 1, left - all[i], [...used, plan.plates[i]]);
    go(i + 1, left, used);
  })(0, aim, []);
  return best && best.sort((a, b) => b - a).map(shown).join(" + ");
}

// --- what is kept. localStorage reaches the disk late, so a killed browser would lose the last
// sets; IndexedDB with strict durability has them at once. The higher counter is the newer one.
const empty = p => ({sets: p.sets.map(() => null), pain: null, minutes: "", effort: "", mass: "", note: "", date: ""});
const fresh = () => ({v: 1, n: 0, open: 0, view: "sets", s: plan.sessions.map(empty)});
const read = text => { try { const o = JSON.parse(text); return o && o.v === 1 && o.s.length === plan.sessions.length ? o : null; } catch (e) { return null; } };
function save() {
  state.n += 1;
  const text = JSON.stringify(state);
  let here = false;
  try { localStorage.setItem(key, text); here = localStorage.getItem(key) === text; } catch (e) { here = false; }
  try {
    if (store) store.transaction("rows", "readwrite", {durability: "strict"}).objectStore("rows").put(text, key);
  } catch (e) { store = null; }
  kept = here || store !== null;
}
function boot() {
  let begun = false;
  const begin = text => {
    if (begun) return;
    begun = true;
    let local = null;
    try { local = read(localStorage.getItem(key)); } catch (e) { local = null; }
    const other = read(text);
    state = other && (!local || other.n > local.n) ? other : local || fresh();
    if (!state.n) {
      const i = plan.sessions.findIndex(p => p.date === today());
      state.open = Math.max(0, i);
    }
    draw();
  };
  setTimeout(() => begin(null), 1500);
  try {
    const ask = indexedDB.open("gripbook.sheet", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("rows");
    ask.onerror = () => begin(null);
    ask.onsuccess = () => {
      store = ask.result;
      const get = store.transaction("rows").objectStore("rows").get(key);
      get.onsuccess = () => begin(get.result);
      get.onerror = () => begin(null);
    };
  } catch (e) { begin(null); }
}

// --- rows in log format
const cell = v => { const t = v === null || v === undefined ? "" : String(v); return /[",\r\n;\t]|^\s|\s$/.test(t) ? '"' + t.replace(/"/g, '""') + '"' : t; };
// a spreadsheet must not run a note as a formula
const plain = v => { const t = String(v || "").replace(/\s+/g, " ").trim(); return /^[=+\-@]/.test(t) ? "'" + t : t; };
function rows() {
  const out = {hangs: [], sessions: [], pain: [], body: []};
  plan.sessions.forEach((p, i) => {
    const s = state.s[i], date = s.date || p.date, id = {athlete: plan.athlete, date, session: p.label};
    let order = 0, pair = null;
    s.sets.forEach((w, k) => {
      if (!w) return;
      const g = p.sets[k], rep = g.exercise === "repeater", ended = w.end !== "held";
      if (g.order !== pair) { order += 1; pair = g.order; }
      out.hangs.push({...id, order, exercise: g.exercise, test: g.test ? "yes" : "", grip: w.grip, hand: w.hand,
        edge_mm: w.edge, ["added_" + unit]: w.kg, ["scale_" + unit]: w.scale, ["stand_" + unit]: w.stand,
        ["force_" + unit]: w.force, hang_s: w.hang, rest_s: rep ? g.rest : "", reps: rep ? g.reps : "",
        reps_done: rep && ended ? w.holds : "", failed_s: ended && g.exercise !== "pull" ? w.at : "",
        stopped: ended && w.end !== "opened" ? w.end : "", reserve_s: rep ? "" : w.left, reserve_reps: rep ? w.left : "", note: plain(w.note)});
    });
    if (s.minutes !== "" || s.effort !== "" || plain(s.note)) out.sessions.push({...id, kind: "fingers", minutes: s.minutes, effort: s.effort, note: plain(s.note)});
    if (s.pain) (s.pain.length ? s.pain : [{site: "", side: "", level: 0, sign: ""}]).forEach(x => out.pain.push({athlete: plan.athlete, date, when: "during", ...x}));
    if (number(s.mass)) out.body.push({athlete: plan.athlete, date, ["body_mass_" + unit]: number(s.mass)});
  });
  return out;
}
const count = () => Object.values(rows()).reduce((n, r) => n + r.length, 0);
function text() {
  const r = rows(), heads = {hangs: HANGS, sessions: SESSIONS, pain: PAIN, body: BODY};
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
  inner.flat().forEach(x => x !== null && e.append(x));
  return e;
}
const button = (label, tap, more) => el("button", {type: "button", tap, ...more}, label);
const pick = (label, on, tap) => button(label, tap, {"aria-pressed": on ? "true" : "false"});
const change = f => { f(); save(); draw(); };
function once(f) { // the bounce of a thumb isn't a second set
  const now = Date.now();
  if (now - lastTap < 500) return;
  lastTap = now;
  change(f);
}
const session = () => plan.sessions[state.open], mine = () => state.s[state.open];
const field = (label, value, typed, mode) => el("label", {}, label, el("input", {value: value === null || value === undefined ? "" : value, typed: e => typed(e.target.value), inputmode: mode || "decimal", "aria-label": label}));
const asWas = g => ({grip: g.grip, hand: g.hand, edge: g.edge, kg: g.force === null ? g.kg : "", force: g.force === null ? "" : g.force, scale: "", stand: "", hang: g.hang, end: "", at: "", holds: "", left: "", note: ""});
const what = (g, w) => (w ? w.grip.replace(/_/g, " ") : g.title) + ", " + hand(w ? w.hand : g.hand) + (g.edge ? ", " + shown(w ? w.edge : g.edge) + "\u00a0mm" : "");
const weight = (g, w) => g.exercise === "pull" && w ? (w.force !== "" ? shown(w.force) : shown(w.scale)) + "\u00a0" + unit : g.force !== null ? shown(w ? w.force : g.force) + "\u00a0" + unit : load(w ? w.kg : g.kg);
const dose = g => g.exercise === "repeater" ? g.reps + " \u00d7 " + g.hang + "/" + g.rest + "\u00a0s" : g.hang ? g.hang + "\u00a0s" : "";
function next() { return mine().sets.findIndex(w => !w); }

function top() {
  const n = count(), p = session();
  return el("header", {}, el("h1", {}, plan.name),
    plan.sessions.length > 1 ? el("div", {cls: "row"}, plan.sessions.map((x, i) => pick(x.label, i === state.open, () => change(() => { state.open = i; state.view = "sets"; draft = null; })))) : null,
    el("p", {}, say("planned_for", {day: p.day})),
    el("p", {cls: kept ? "" : "bad", role: "status", id: "kept"}, !kept ? say("kept_lost") : n ? say("kept", {n}) : say("kept_none")));
}
function sets() {
  const p = session(), s = mine(), i = next(), list = p.sets.map((g, k) => {
    const w = s.sets[k];
    return button([el("span", {}, (k + 1) + ". " + what(g, w)), el("span", {}, w ? weight(g, w) + (w.end === "held" ? "" : ", " + say(w.end).toLowerCase()) : weight(g, null))],
      () => change(() => { draft = {k, ...(w || asWas(g))}; state.view = "one"; }), {cls: "set" + (w ? " written" : k === i ? " now" : "")});
  });
  const foot = el("footer", {});
  if (i >= 0) {
    const g = p.sets[i], before = i ? s.sets[i - 1] : null, made = g.kg ? pieces(g.kg) : null;
    const write = more => once(() => { s.sets[i] = {...asWas(g), end: "held", ...more}; if (next() < 0) state.view = "end"; });
    foot.append(el("b", {id: "now"}, what(g, null) + ", " + weight(g, null)), el("p", {}, say("set_of", {n: i + 1, all: p.sets.length}) + " \u00b7 " + dose(g) + (g.test ? " \u00b7 " + say("test") : "") + (made ? " \u00b7 " + made : "")));
    const sure = g.exercise !== "pull" && (g.kg !== null || g.force !== null);
    if (sure && before && before.grip === g.grip && before.kg !== g.kg) foot.append(button(say("again", {load: load(before.kg)}), () => write({kg: before.kg})));
    if (sure) {
      foot.append(el("p", {}, say("left")), el("div", {cls: "six"}, [0, 1, 2, 3, 4, 5].map(n => button(n === 5 ? "5+" : String(n), () => write({left: n})))));
      foot.append(button(say("other"), () => change(() => { draft = {k: i, ...asWas(g)}; state.view = "one"; })));
      foot.append(button(say("done"), () => write({}), {cls: "main", id: "done"}));
    } else foot.append(button(say("write"), () => change(() => { draft = {k: i, ...asWas(g)}; state.view = "one"; }), {cls: "main"}));
  }
  const written = s.sets.some(w => w);
  if (i < 0 || written) foot.append(button(say("end"), () => change(() => { state.view = "end"; })));
  return [top(), ...list, foot];
}
function missing(g, d) {
  if (g.exercise === "pull") return d.scale !== "" || d.force !== "" ? "" : "need_reading";
  if (d.end === "") return "need_how";
  if (d.end !== "held" && g.exercise === "repeater" && d.holds === "") return "need_holds";
  return d.end !== "held" && d.at === "" && g.exercise !== "repeater" ? "need_at" : "";
}
function one() {
  const p = session(), s = mine(), g = p.sets[draft.k], d = draft, pull = g.exercise === "pull";
  const go = button("", () => once(() => { const {k, ...w} = d; if (pull) w.end = "held"; s.sets[k] = w; draft = null; state.view = next() < 0 ? "end" : "sets"; }), {cls: "main", id: "write"});
  const tell = () => { const m = missing(g, d); go.textContent = say(m || "write"); go.disabled = !!m; };
  const set = (k, v) => { d[k] = v; draw(); }, num = k => v => { const n = number(v); d[k] = n === null ? "" : n; tell(); };
  const choose = (k, label, values, name) => el("label", {}, label, (() => { const e = el("select", {"aria-label": label}, values.map(v => el("option", {value: v}, name(v)))); e.value = d[k]; e.addEventListener("change", () => { d[k] = e.value; }); return e; })());
  const parts = [el("h2", {}, what(g, null))];
  if (pull) {
    parts.push(field(say("scale") + " (" + unit + ")", d.scale, num("scale")), field(say("stand") + " (" + unit + ")", d.stand, num("stand")), field(say("gauge") + " (" + unit + ")", d.force, num("force")));
  } else if (g.force !== null) parts.push(field(say("gauge") + " (" + unit + ")", d.force, num("force")));
  else {
    const steps = unit === "lb" ? [-5, -1, 1, 5] : [-2.5, -0.5, 0.5, 2.5];
    parts.push(field(say("load") + " (" + unit + ")", d.kg, num("kg"), "text"), el("div", {cls: "row"}, steps.map(x => button((x > 0 ? "+" : "") + shown(x), () => set("kg", Math.round(((d.kg || 0) + x) * 100) / 100)))));
  }
  if (!pull) {
    parts.push(el("h2", {}, say("how")), el("div", {cls: "many"}, ["held", "opened", "slip", "skin", "pain", "choice"].map(x => pick(say(x), d.end === x, () => set("end", x)))));
    if (d.end && d.end !== "held") {
      if (g.exercise === "repeater") parts.push(el("p", {}, say("holds")), el("div", {cls: "six"}, Array.from({length: g.reps}, (_, n) => pick(String(n), d.holds === n, () => set("holds", n)))));
      parts.push(field(say("at"), d.at, num("at")));
    } else parts.push(el("p", {}, say("more")), el("div", {cls: "six"}, [0, 1, 2, 3, 4, 5].map(n => pick(n === 5 ? "5+" : String(n), d.left === n, () => set("left", n)))));
  }
  parts.push(el("details", {}, el("summary", {}, say("edge") + ", " + say("grip") + ", " + say("hand")),
    field(say("edge"), d.edge, num("edge")), choose("grip", say("grip"), [...new Set([g.grip, ...plan.grips])], x => x.replace(/_/g, " ")), choose("hand", say("hand"), ["both", "left", "right"], hand),
    g.exercise === "hang" ? field(say("seconds"), d.hang, num("hang")) : null),
    field(say("note"), d.note, v => { d.note = v; }, "text"));
  if (s.sets[d.k]) parts.push(button(say("erase"), () => change(() => { s.sets[d.k] = null; draft = null; state.view = "sets"; })));
  parts.push(button(say("back"), () => change(() => { draft = null; state.view = "sets"; })));
  tell();
  return [top(), ...parts, el("footer", {}, go)];
}
function end() {
  const s = mine(), n = count(), keep = (k, v) => { s[k] = v; save(); }, parts = [];
  parts.push(el("h2", {}, say("ask_pain")), el("div", {cls: "row"}, pick(say("no_pain"), s.pain && !s.pain.length, () => change(() => { s.pain = []; })), pick(say("yes_pain"), s.pain && s.pain.length, () => change(() => { s.pain = [{site: "", side: "", level: "", sign: ""}]; }))));
  (s.pain || []).forEach(x => {
    const sites = Object.keys(words).filter(k => k.startsWith("site_")).map(k => k.slice(5));
    parts.push(el("h2", {}, say("where")), el("div", {cls: "many"}, sites.map(v => pick(say("site_" + v), x.site === v, () => change(() => { x.site = v; })))),
      el("h2", {}, say("which")), el("div", {cls: "row"}, ["left", "right", "both"].map(v => pick(hand(v), x.side === v, () => change(() => { x.side = v; })))),
      el("h2", {}, say("how_much")), el("div", {cls: "six"}, Array.from({length: 11}, (_, v) => pick(String(v), x.level === v, () => change(() => { x.level = v; })))),
      el("h2", {}, say("sign")), el("div", {cls: "row"}, ["pop", "swelling", "stiff"].map(v => pick(say(v), x.sign === v, () => change(() => { x.sign = x.sign === v ? "" : v; })))));
    if (x.level >= plan.painLevel && x.level !== "" || x.sign === "pop" || x.sign === "swelling") parts.push(el("p", {cls: "bad"}, say("pain_note")));
  });
  parts.push(el("h2", {}, say("minutes")), el("div", {cls: "six"}, [30, 40, 45, 60, 75, 90].map(v => pick(String(v), s.minutes === v, () => change(() => { s.minutes = v; })))),
    field(say("minutes"), s.minutes, v => { const m = number(v); keep("minutes", m === null ? "" : m); }),
    el("h2", {}, say("effort")), el("div", {cls: "six"}, Array.from({length: 11}, (_, v) => pick(String(v), s.effort === v, () => change(() => { s.effort = v; })))),
    field(say("mass") + " (" + unit + ")", s.mass, v => keep("mass", v)), field(say("note"), s.note, v => keep("note", v), "text"),
    el("label", {}, say("day"), el("input", {type: "date", value: s.date || session().date, typed: e => keep("date", e.target.value), "aria-label": say("day")})),
    el("p", {}, say("stays")), button(say("see"), () => change(() => { state.view = "rows"; })), button(say("sets"), () => change(() => { state.view = "sets"; })));
  const file = () => new File([text()], plan.athlete.replace(/[^\w-]+/g, "_") + "-" + plan.start + ".csv", {type: "text/csv"});
  let can = false;
  try { can = !!(navigator.canShare && navigator.canShare({files: [file()]})); } catch (e) { can = false; }
  const hand_over = () => {
    if (can) { navigator.share({files: [file()]}).catch(() => {}); return; }
    const a = el("a", {href: URL.createObjectURL(file()), download: file().name});
    document.body.append(a); a.click(); a.remove();
  };
  return [top(), ...parts, el("footer", {}, button(say(can ? "share" : "save", {n}), hand_over, {cls: "main", id: "share"}))];
}
function all() {
  const box = el("textarea", {cls: "rows", readonly: "", id: "rows", "aria-label": say("see"), value: text()});
  const clear = asked === "clear" ? button(say("sure", {n: count()}), () => change(() => { asked = ""; const n = state.n; state = fresh(); state.n = n; }), {id: "sure"}) : button(say("clear"), () => { asked = "clear"; draw(); });
  return [top(), box, button(say("copy"), () => { box.select(); try { document.execCommand("copy"); } catch (e) { /* the text is selected to copy by hand */ } }), clear, button(say("back"), () => change(() => { asked = ""; state.view = "end"; }))];
}
function draw() {
  const at = page.dataset.view === state.view ? window.scrollY : 0;
  page.dataset.view = state.view;
  page.replaceChildren(...(state.view === "one" && draft ? one() : state.view === "end" ? end() : state.view === "rows" ? all() : sets()));
  window.scrollTo(0, at);
}
boot();
})();
