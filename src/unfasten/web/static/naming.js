// Naming what was measured: every candidate with how well it agrees and its limits drawn; the person chooses, and the
// choice goes into the record with the measurement as its evidence.
import { by, make, scale, soft, table, trouble } from "./make.js";
import { uuid } from "./queue.js";
import { send } from "./send.js";

// what can be said of a measurement of each kind: role -> words, what it helps to name, and its length there
const ROLES = {
  "": { words: "not named" },
  diameter: { words: "a thread’s outer diameter", what: "thread", key: "diameter", of: ["distance", "diameter"] },
  length: { words: "a length over turns of a thread", what: "thread", key: "length", of: ["distance"] },
  pitch: { words: "a thread’s pitch", what: "thread", key: "pitch", of: ["distance"] },
  points: { words: "a recess, across its points", what: "drive", key: "points", of: ["distance", "diameter"] },
  side: { words: "one side of a package body", what: "package", key: "side", of: ["distance"] },
  other: { words: "the other side of a package body", what: "package", key: "other", of: ["distance"] },
  body: { words: "a package body", what: "package", key: null, of: ["area"] },
};
const CALLED = { diameter: "outer diameter", length: "length", pitch: "pitch", points: "across points", side: "one side", other: "other side" };
const TITLE = { diameter: "Outside", pitch: "Pitch", points: "Across points", side: "One side", other: "Other side" };

export class Naming {
  constructor(measure) {
    this.measure = measure;
    this.clear();
    by("name-role").addEventListener("change", () => this.took());
    by("name-clear").addEventListener("click", () => { this.clear(); this.offer(); by("name-role").focus(); });
    for (const id of ["name-pitch", "name-turns", "name-shape", "name-thread", "name-balls"]) by(id).addEventListener("change", () => this.ask());
    by("name-enter").addEventListener("click", () => this.enter());
  }

  clear() {
    this.what = null;
    this.held = {};
    this.found = null;
    for (const id of ["name-held", "name-list"]) by(id).replaceChildren();
    for (const id of ["name-fields", "name-entry", "name-clear"]) by(id).hidden = true;
    by("name-said").textContent = "";
  }

  hide() { by("name").hidden = true; }

  // Offer what the measurement that was just made can be; what was said before stays, so that pitch joins diameter.
  offer() {
    const { kind, told } = this.measure.last ?? {};
    const fits = Object.entries(ROLES).filter(([, one]) => !one.of || (told && one.of.includes(kind)));
    by("name").hidden = (fits.length < 2 && !this.what) || ["marking", "board", "parts"].includes(this.measure.kind);
    by("name-role").replaceChildren(...fits.map(([value, one]) => make("option", { value, textContent: one.words })));
  }

  async took() {
    const role = by("name-role").value;
    if (!role) return;
    const { what, key } = ROLES[role];
    if (this.what !== what) this.clear();
    this.what = what;
    const { photo, body, told } = this.measure.last;
    if (key) {
      if (key === "pitch") delete this.held.length;
      if (key === "length") delete this.held.pitch;
      this.hold(key, photo, body, told.readings[0]);
    } else if (!await this.body(photo, body, told)) return;
    await this.ask();
  }

  hold(key, photo, ask, reading, named) {
    this.held[key] = { photo, ask, text: reading.text, k: reading.k, ...(named ? { reading: reading.name } : {}) };
  }

  // A body has two sides: of an outline drawn by light they are length and width, of four corners the sides between them.
  async body(photo, body, told) {
    const [length, width] = ["length", "width"].map((name) => told.readings.find((one) => one.name === name));
    if (length && width) {
      this.hold("side", photo, body, width, true);
      this.hold("other", photo, body, length, true);
      return true;
    }
    if (body.readings.some((one) => one.length !== 4)) {
      by("name-said").textContent = "A body needs four corners, or the edge found by itself: begin anew, and pick its corners in order.";
      return false;
    }
    const sides = (a, b) => ({ ...body, kind: "distance", readings: body.readings.flatMap((p) => [[p[a[0]], p[a[1]]], [p[b[0]], p[b[1]]]]) });
    for (const [key, ask] of Object.entries({ side: sides([0, 1], [3, 2]), other: sides([1, 2], [0, 3]) })) {
      const answer = await send("POST", `/api/records/${this.measure.record}/photos/${photo}/measure`, ask, { patience: 60_000 });
      if (!answer.ok) { by("name-said").textContent = trouble(answer.data); return false; }
      this.hold(key, photo, ask, answer.data.readings[0]);
    }
    return true;
  }

  asked() {
    const value = (id) => by(id).value.trim();
    const lengths = Object.fromEntries(Object.entries(this.held).map(([key, one]) => [key, one.text]));
    const more = {
      thread: () => ({ ...(lengths.length ? { turns: Number(value("name-turns")) || null } : lengths.pitch || !value("name-pitch") ? {} : { pitch: value("name-pitch") }) }),
      drive: () => ({ ...(value("name-shape") ? { shape: value("name-shape") } : {}), ...(value("name-thread") ? { thread: value("name-thread") } : {}) }),
      package: () => (value("name-balls") ? { balls: Number(value("name-balls")) } : {}),
    }[this.what]();
    return { what: this.what, k: Math.max(2, ...Object.values(this.held).map((one) => one.k)), ...lengths, ...more };
  }

  async ask() {
    if (!this.what) return;
    this.shown();
    const answer = await send("POST", "/api/identify", this.asked(), { patience: 60_000 });
    by("name-said").textContent = answer.ok ? "" : trouble(answer.data);
    this.found = answer.ok ? answer.data : null;
    by("name-entry").hidden = !answer.ok || !this.measure.may;
    by("name-list").replaceChildren(...(answer.ok ? this.list(answer.data) : []));
    this.measure.bring("name");
  }

  // The lengths that are held, each with a way to let it go.
  shown() {
    by("name-clear").hidden = false;
    by("name-fields").hidden = false;
    for (const one of document.querySelectorAll("#name [data-what]")) one.hidden = one.dataset.what !== this.what;
    by("name-turns").closest("label").hidden = this.what !== "thread" || !this.held.length;
    by("name-pitch").closest("label").hidden = this.what !== "thread" || Boolean(this.held.length || this.held.pitch);
    for (const one of document.querySelectorAll("#name [data-place]")) one.hidden = one.dataset.place !== (this.what === "package" ? "part" : "joint");
    by("name-held").replaceChildren(...Object.entries(this.held).map(([key, one]) => {
      const gone = make("button", { type: "button", textContent: "Leave out", ariaLabel: `Leave out ${CALLED[key]}` });
      gone.addEventListener("click", () => { delete this.held[key]; if (Object.keys(this.held).length) this.ask(); else this.clear(); by("name-role").focus(); });
      return make("span", { className: "held" }, `${CALLED[key]} `, make("b", { textContent: one.text }), ` on ${one.photo} `, gone);
    }));
  }

  list(told) {
    const keys = Object.keys(told.lengths_mm);
    const k = told.k;
    const spans = Object.fromEntries(keys.map((key) => {
      const { value, u } = told.lengths_mm[key];
      const ends = [value - k * u, value + k * u, ...told.candidates.flatMap((one) => one.limits_mm[key] ?? [])];
      const [low, high] = [Math.min(...ends), Math.max(...ends)];
      return [key, { low: low - (high - low) * 0.04, high: high + (high - low) * 0.04, reading: [value - k * u, value, value + k * u] }];
    }));
    const rows = told.candidates.map((one, number) => {
      const radio = make("input", { type: "radio", name: "name-choice", value: one.name, id: `name-choice-${number}`, disabled: !this.measure.may });
      const drawn = keys.map((key) => {
        const { low, high, reading } = spans[key];
        const limits = one.limits_mm[key];
        if (!limits) return "no limits read";
        const said = limits[0] === limits[1] ? `${limits[0].toFixed(4).replace(/0$/, "")}` : `${limits[0].toFixed(3)} to ${limits[1].toFixed(3)}`;
        return [make("span", { className: "drawn" }, scale(low, high, [limits], reading, `limits ${said} mm, reading ${told.lengths_mm[key].text}`), make("small", { textContent: said })), "span"];
      });
      const share = one.agreement_percent === null ? "–" : `${one.agreement_percent.toFixed(0)} %`;
      return [radio, [make("label", { htmlFor: radio.id }, make("b", { textContent: one.enters })), "keep"], [share, "num"], ...drawn, [one.detail, "soft detail"]];
    });
    const own = make("input", { type: "radio", name: "name-choice", value: "", id: "name-choice-own", disabled: !this.measure.may });
    const text = make("input", { id: "name-own", size: 18, maxLength: 200, ariaLabel: "Another, in your own words", placeholder: "in your own words" });
    text.addEventListener("input", () => { own.checked = true; });
    rows.push([own, make("label", { htmlFor: own.id, textContent: "another" }), "", [text, "wide"]]);
    const heads = [make("span", { className: "unseen", textContent: "Choose" }), "It can be", ["Agrees", "num"], ...keys.map((key) => `${TITLE[key]} [mm]`), ["What it is", "detail"]];
    const made = table(heads, rows, { id: "name-candidates" });
    made.querySelector("td.wide").colSpan = keys.length + 1;
    made.createCaption().textContent = `${told.candidates.length} candidate${told.candidates.length === 1 ? "" : "s"}, best agreement first; none is chosen. Band: limits. Line: reading ± ${k.toFixed(2)} u.`;
    const near = told.near.length ? [make("details", { className: "near" }, make("summary", { textContent: told.near.length === 1 ? "One just misses" : `${told.near.length} just miss` }), ...told.near.map((one) => soft(`${one.name}: ${one.reason}`)))] : [];
    const remarks = told.says.length ? [make("details", {}, make("summary", { textContent: `Remarks: ${told.says.length}` }), ...told.says.map(soft))] : [];
    return [made, make("div", { className: "photo-tools folded" }, ...near, ...remarks)];
  }

  async enter() {
    const chosen = document.querySelector("[name=name-choice]:checked");
    const name = chosen?.value || (chosen ? by("name-own").value.trim() : "");
    if (!name) { by("name-said").textContent = "Choose one of the candidates first, or write your own."; return; }
    const place = this.what === "package" ? { part: by("name-part").value.trim(), function: by("name-function").value.trim() } : { joint: by("name-joint").value.trim() };
    const missing = Object.entries(place).find(([, value]) => !value);
    if (missing) { by("name-said").textContent = `Say of which ${missing[0] === "function" ? "component" : missing[0]} it is.`; by(`name-${missing[0]}`).focus(); return; }
    const measured = Object.fromEntries(Object.entries(this.held).map(([key, { photo, ask, reading }]) => [key, { photo, ask, ...(reading ? { reading } : {}) }]));
    const named = { ...this.asked() };
    for (const key of Object.keys(this.held)) delete named[key];
    const body = { id: uuid(), at: new Date().toISOString(), seen: this.measure.photos.bench.seen(), named, measured, chosen: name, ...place };
    by("name-said").textContent = "Entering …";
    const answer = await send("POST", `/api/records/${this.measure.record}/identified`, body, { patience: 60_000 });
    if (!answer.ok) { by("name-said").textContent = trouble(answer.data); return; }
    this.clear();
    this.offer();
    by("name-said").textContent = `Entered: ${answer.data.place}, shown by ${answer.data.ids.join(", ")}.${answer.data.clash ? ` ${answer.data.clash}` : ""} The line undo withdraws it.`;
  }
}
