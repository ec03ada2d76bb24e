// The bench: the entry line, the ledger, the sheet and the keys.
import { Clock } from "./clock.js";
import { wireForm } from "./form.js";
import { Photos } from "./photos.js";
import { Queue, uuid } from "./queue.js";
import { send } from "./send.js";
import { Sheet } from "./sheet.js";

const by = (id) => document.getElementById(id);
const start = JSON.parse(by("start").textContent);
const record = start.record;
const line = by("line");
const list = by("completions");
const said = by("understood");
const clock = new Clock(record);
const rows = new Map();
let seen = start.seq;
let reading = null;
let passed = 0;
let mends = null;
const earlier = [];
let recall = 0;

// ---- ledger --------------------------------------------------------------------------------------------------------

function cell(name, words) {
  const span = document.createElement("span");
  span.className = name;
  span.textContent = words;
  return span;
}

function row(one) {
  const item = document.createElement("li");
  item.dataset.seq = one.seq ?? "";
  item.className = one.state ?? "";
  const what = cell("what", one.words);
  what.title = [one.text, one.state].filter(Boolean).join(" · ");
  item.append(cell("no", one.seq ?? "…"), cell("clock-at", one.clock), what, cell("by", one.by ?? ""));
  if (one.text && !one.state && start.may) {
    const mend = document.createElement("button");
    mend.type = "button";
    mend.className = "link";
    mend.textContent = "mend";
    mend.addEventListener("click", () => { mends = one.id; fill(one.text); say(`Mending entry ${one.seq}: the new line takes its place`); });
    if (one.by && one.by !== start.name) item.lastChild.append(" ", mend);
    else item.lastChild.replaceWith(mend);
  }
  return item;
}

function showRows(told) {
  const box = by("rows");
  const low = box.scrollTop + box.clientHeight >= box.scrollHeight - 40;
  for (const one of told) {
    const item = row(one);
    if (rows.has(one.id)) rows.get(one.id).replaceWith(item);
    else {
      item.classList.add("fresh");
      const next = [...box.children].find((other) => other.dataset.seq === "" || Number(other.dataset.seq) > one.seq);
      box.insertBefore(item, next ?? null);
    }
    rows.set(one.id, item);
    seen = Math.max(seen, one.seq);
  }
  if (low) box.scrollTop = box.scrollHeight;
}

// The newest entry stays in sight when what stands around the ledger takes more room.
let lowest = true;
by("rows").addEventListener("scroll", ({ target }) => { lowest = target.scrollTop + target.clientHeight >= target.scrollHeight - 40; });
new ResizeObserver(() => { if (lowest) by("rows").scrollTop = by("rows").scrollHeight; }).observe(by("rows"));

const waiting = new Map();
function showQueue({ waiting: lines, away, kept, trouble, status }) {
  for (const [id, item] of waiting) if (!lines.some((one) => one.id === id)) { item.remove(); waiting.delete(id); }
  for (const one of lines) {
    if (waiting.has(one.id) || rows.has(one.id)) continue;
    const item = row({ seq: null, id: one.id, clock: one.clock ?? "", words: one.line, by: "waits" });
    item.classList.add("waiting");
    by("rows").append(item);
    waiting.set(one.id, item);
    by("rows").scrollTop = by("rows").scrollHeight;
  }
  const state = by("queue");
  state.className = away ? "away" : "";
  const number = `${lines.length} ${lines.length === 1 ? "line waits" : "lines wait"}`;
  if (away) state.textContent = `The server is away. ${number} in this browser and will be sent in order; go on.`;
  else if (trouble) state.textContent = `${number}: ${trouble.message}; ${trouble.try}${status === 401 ? ". Sign in in another window" : ""}`;
  else state.textContent = lines.length > 1 ? `${number} for the server` : "";
  for (const one of kept) {
    if (one.clash) say(`Told by the ledger: ${one.clash}`, true);
    else if (one.refused) say(`${one.message}; ${one.try}`, true);
    else if (!one.ok) say(`Not understood; kept as a note. Mend it in the ledger.`, true);
  }
}

const queue = new Queue(record, showQueue);

// ---- entry line ----------------------------------------------------------------------------------------------------

function say(words, problem = false, news = []) {
  said.replaceChildren(words);
  said.className = problem ? "problem" : "";
  if (news.length) said.append(" ", cell("new", `New: ${news.join(", ")}`));
}

function fill(text) {
  line.value = text;
  line.focus();
  line.setSelectionRange(text.length, text.length);
  understand();
}

let asked = 0;
let timer = 0;
async function understand() {
  const number = ++asked;
  const typed = line.value;
  if (!typed.trim()) { reading = null; complete([]); say(""); return; }
  const body = { line: typed, caret: line.selectionStart, ...(clock.started ? { clock: clock.text } : {}) };
  const answer = await send("POST", `/api/records/${record}/understand`, body);
  if (number !== asked) return;
  if (!answer.ok) { reading = null; complete([]); say(answer.status === 0 ? "" : answer.data.message ?? "", answer.status !== 0); return; }
  reading = { ...answer.data, line: typed };
  if (answer.data.problems.length) {
    const problem = answer.data.problems.map((one) => `${one.message}; ${one.try}`).join(". ");
    say(answer.data.completions.length && !typed.endsWith(" ") ? `… ${problem}` : problem, true);
  } else say(answer.data.words, false, answer.data.new);
  complete(answer.data.completions);
}

function complete(words) {
  list.replaceChildren(...words.map((word, number) => {
    const item = document.createElement("li");
    item.role = "option";
    item.id = `completion-${number}`;
    item.textContent = word;
    item.ariaSelected = "false";
    item.addEventListener("mousedown", (event) => { event.preventDefault(); put(word); });
    return item;
  }));
  list.hidden = !words.length;
  line.ariaExpanded = String(!!words.length);
  choose(-1);
}

let chosen = -1;
function choose(number) {
  chosen = number;
  [...list.children].forEach((item, at) => { item.ariaSelected = String(at === number); });
  if (number >= 0) line.setAttribute("aria-activedescendant", `completion-${number}`);
  else line.removeAttribute("aria-activedescendant");
}

function put(word) {
  const caret = line.selectionStart;
  const before = line.value.slice(0, caret).replace(/\S*$/, "");
  const after = line.value.slice(caret).replace(/^\S*/, "").trimStart();
  line.value = `${before}${word} ${after}`;
  line.setSelectionRange(before.length + word.length + 1, before.length + word.length + 1);
  understand();
}

async function take(text, { keep = false } = {}) {
  const words = text.trim();
  if (!words || !start.may) return;
  const sent = { id: uuid(), line: words, at: new Date().toISOString(), seen };
  if (clock.started) sent.clock = clock.text;
  if (clock.took !== null) { sent.took = clock.took; clock.unmark(); }
  if (mends) { sent.mends = mends; mends = null; }
  const film = words.match(/^clock\s+(\d{1,3}:[0-5]\d:[0-5]\d)$/);
  if (film) { clock.set(film[1]); tick(); }
  if (!keep) { earlier.push(words); recall = earlier.length; line.value = ""; reading = null; asked += 1; complete([]); say(""); }
  await queue.add(sent);
}

function submit() {
  const text = line.value;
  if (!text.trim()) return;
  if (reading && reading.line === text && reading.problems.length && !waiting.size) {    // the server knows what waits not yet
    const problem = reading.problems[0];
    line.setSelectionRange(problem.start, problem.end);
    say(`${problem.message}; ${problem.try}`, true);
    return;
  }
  take(text);
}

by("entry-form").addEventListener("submit", (event) => { event.preventDefault(); submit(); });
line.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(understand, 40); });
line.addEventListener("keydown", (event) => {
  if (event.key === "Tab" && !event.shiftKey && !list.hidden && list.children.length && line.value.trim()) {
    event.preventDefault();
    put(list.children[Math.max(chosen, 0)].textContent);
  } else if (event.key === "Enter" && chosen >= 0) {
    event.preventDefault();
    put(list.children[chosen].textContent);
  } else if (event.key === "ArrowDown" || event.key === "ArrowUp") {
    event.preventDefault();
    const step = event.key === "ArrowDown" ? 1 : -1;
    if (!list.hidden && line.value.trim()) choose(Math.min(Math.max(chosen + step, -1), list.children.length - 1));
    else if (earlier.length) { recall = Math.min(Math.max(recall + step, 0), earlier.length); fill(earlier[recall] ?? ""); complete([]); }
  } else if (event.key === "Escape") { mends = null; complete([]); }
  else if (event.key === "?" && !line.value) { event.preventDefault(); by("help").showModal(); }
});
line.addEventListener("blur", () => setTimeout(() => complete([]), 150));

// ---- live ----------------------------------------------------------------------------------------------------------

let stream;
function listen() {
  stream?.close();
  stream = new EventSource(`/api/records/${record}/live?after=0`);
  stream.addEventListener("open", () => queue.flush());
  stream.addEventListener("rows", (event) => showRows(JSON.parse(event.data)));
  stream.addEventListener("answers", (event) => {
    const told = JSON.parse(event.data);
    for (const [name, html] of Object.entries(told.html)) {
      const place = by(name) ?? by(`view-${name}`);
      if (name === "index" || name === "findings") keepOpen(place, html); else place.innerHTML = html;
    }
    passed = 0;
    document.body.dataset.seq = told.seq;
    seen = Math.max(seen, told.seq);
    sheet.changed();
    photos.refresh(told.seq);
  });
  stream.addEventListener("questions", (event) => {
    const told = JSON.parse(event.data);
    by("question").innerHTML = told.html;
    if (told.exact) document.body.dataset.asked = told.seq;
    else sheet.draw();
  });
  stream.addEventListener("trouble", (event) => { const told = JSON.parse(event.data); say(`${told.message}; ${told.try}`, true); });
  stream.addEventListener("error", () => { if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 2000); });
}

function keepOpen(place, html) {
  const open = new Set([...place.querySelectorAll("details[open] > summary .name")].map((one) => one.textContent));
  place.innerHTML = html;
  for (const one of place.querySelectorAll("details")) if (open.has(one.querySelector(".name")?.textContent)) one.open = true;
}

// ---- what is clicked -----------------------------------------------------------------------------------------------

document.addEventListener("click", (event) => {
  const at = event.target.closest?.("[data-look],[data-line],[data-answer]");
  if (!at) return;
  if (at.dataset.look) { sheet.view(0); sheet.look(at.dataset.look); }
  if (at.dataset.line) fill(at.dataset.line);
  if (at.dataset.answer) take(at.dataset.answer, { keep: true });
});

// ---- clock and keys ------------------------------------------------------------------------------------------------

function run() {
  clock.toggle();
  if (clock.running) take(`clock ${clock.text}`, { keep: true });
  tick();
}
function tick() {
  by("clock").textContent = clock.text;
  by("clock-run").ariaPressed = String(clock.running);
  by("marked").textContent = clock.took === null ? "" : `marked ${clock.took} s ago`;
}
setInterval(tick, 250);
by("clock-run").addEventListener("click", run);
by("clock-mark").addEventListener("click", () => { clock.mark(); tick(); });

function expected() { return [...document.querySelectorAll("#expected [data-line]")]; }
const foot = () => localStorage.getItem("unfasten-foot");
let learning = false;
by("learn").addEventListener("click", () => { learning = true; by("learnt").textContent = "press the switch now"; });
by("keys").addEventListener("click", () => by("help").showModal());

document.addEventListener("keydown", (event) => {
  if (learning) {
    learning = false;
    event.preventDefault();
    localStorage.setItem("unfasten-foot", event.code || event.key);
    by("learnt").textContent = `marks with ${event.code || event.key}`;
    return;
  }
  const key = event.altKey && /^Digit[1-6]$/.test(event.code) ? `Alt${event.code.slice(5)}` : event.key;
  const does = {
    F2: () => { const next = expected()[passed]; if (next) take(next.dataset.line, { keep: true }); },
    F4: () => { passed = expected().length ? (passed + 1) % expected().length : 0; expected()[passed]?.focus(); },
    F6: () => take("yes", { keep: true }),
    F7: () => take("no", { keep: true }),
    F8: () => take("unsure", { keep: true }),
    F9: () => { clock.mark(); tick(); },
    F10: run,
    Escape: () => { if (!by("help").open) line.focus(); },
  }[key] ?? (key.startsWith("Alt") && key.length === 4 ? () => sheet.view(Number(key[3]) - 1) : foot() && foot() === event.code ? () => { clock.mark(); tick(); } : null);
  if (!does) return;
  if (key !== "Escape") event.preventDefault();
  does();
});

// ---- begin ---------------------------------------------------------------------------------------------------------

const sheet = new Sheet(record);
wireForm(fill);
const photos = new Photos(record, { clock, may: start.may, seen: () => seen, say, take: (words) => take(words, { keep: true }) });
showRows(start.rows);
by("rows").scrollTop = by("rows").scrollHeight;
tick();
listen();
queue.open();
