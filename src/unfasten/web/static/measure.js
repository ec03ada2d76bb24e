// Measuring on a photo: picks with a magnifier, sent as pixels of the upright photo; what comes back is an interval.
import { uuid } from "./queue.js";
import { send } from "./send.js";

const by = (id) => document.getElementById(id);
const NEEDED = { distance: 2, diameter: 5, angle: 3, area: 3, parts: 0, holes: 3, marking: 2 };
const AT_MOST = { distance: 2, angle: 3, marking: 2 };
const SCALE = { length: 2, rectangle: 4, card: 4 };
const WORDS = {
  holes: "three points or more on the rim of a hole; then the next hole", marking: "two corners of the package that lie opposite",
  parts: "nothing, parts on the mat are found by themselves", distance: "two points", diameter: "five points or more on the circle", angle: "one arm, the corner, the other arm", area: "the corners of the outline, in order",
};

export class Measure {
  constructor(photos, record) {
    this.photos = photos;
    this.record = record;
    this.picks = [];
    this.readings = [];
    this.scalePicks = [];
    by("measure-kind").addEventListener("change", () => this.restart());
    by("measure-scale").addEventListener("change", () => this.restart({ scale: true }));
    by("measure-again").addEventListener("click", () => { if (this.enough()) { this.readings.push(this.picks); this.picks = []; this.tell(); this.photos.marks(); } });
    by("measure-clear").addEventListener("click", () => this.restart({ scale: true }));
    by("measure-do").addEventListener("click", () => this.ask());
    by("measure-keep").addEventListener("click", () => this.keep());
    this.tell();
  }

  get kind() { return by("measure-kind").value; }
  get scale() { return by("measure-scale").value; }
  get wanted() { return this.kind === "marking" ? 0 : Math.max(0, (SCALE[this.scale] ?? 0) - this.scalePicks.length); }

  restart({ scale = false } = {}) {
    this.picks = [];
    this.readings = [];
    this.found = [];
    if (scale) this.scalePicks = [];
    for (const field of document.querySelectorAll("[data-scale]")) field.hidden = !field.dataset.scale.split(" ").includes(this.scale);
    by("measure-result").replaceChildren();
    by("measure-keep").hidden = true;
    this.tell();
    this.photos.marks();
  }

  enough() { return this.picks.length >= NEEDED[this.kind]; }

  pick(point) {
    if (this.wanted) this.scalePicks.push(point);
    else if (this.picks.length < (AT_MOST[this.kind] ?? Infinity)) this.picks.push(point);
    this.tell();
    this.photos.marks();
  }

  undo() {
    if (this.picks.length) this.picks.pop();
    else if (this.readings.length) this.picks = this.readings.pop();
    else this.scalePicks.pop();
    this.tell();
    this.photos.marks();
  }

  tell() {
    const optional = this.scale === "card" ? " (or none, if the card is to be found by itself)" : "";
    by("measure-again").textContent = this.kind === "holes" ? "Next hole" : "Pick again";
    by("measure-next").textContent = this.wanted && !(this.scale === "card" && !this.scalePicks.length && this.picks.length)
      ? `Scale: pick ${this.wanted} more${optional}`
      : `Pick ${WORDS[this.kind]}: ${this.picks.length} picked${this.readings.length ? `, ${this.readings.length} ${this.kind === "holes" ? "holes" : "times"} before` : ""}`;
  }

  scaleAsked() {
    const value = (id) => by(id).value.trim();
    return {
      mat: () => ({ kind: "mat", ...(value("scale-check") ? { check_lines: [value("scale-check")] } : {}) }),
      card: () => ({ kind: "card", ...(this.scalePicks.length === 4 ? { corners: this.scalePicks } : {}) }),
      length: () => ({ kind: "length", ends: this.scalePicks, length: value("scale-length") }),
      rectangle: () => ({ kind: "rectangle", corners: this.scalePicks, width: value("scale-width"), height: value("scale-height") }),
    }[this.scale]();
  }

  async ask() {
    const photo = this.photos.current;
    if (!photo) { by("measure-next").textContent = "Choose a photo first."; return; }
    const readings = this.kind === "parts" ? [] : this.enough() ? [...this.readings, this.picks] : this.readings;
    if (this.kind === "marking") { await this.read(photo); return; }
    const body = { kind: this.kind, readings: this.kind === "holes" ? [readings] : readings, scale: this.scaleAsked(), edge: by("measure-edge").checked };
    for (const [key, id] of [["height", "measure-height"], ["distance", "measure-distance"]]) if (by(id).value.trim()) body[key] = by(id).value.trim();
    by("measure-next").textContent = "Measuring …";
    const answer = await send("POST", `/api/records/${this.record}/photos/${photo}/measure`, body, { patience: 60_000 });
    if (!answer.ok) { by("measure-next").textContent = `${answer.data.message}; ${answer.data.try}`; return; }
    this.last = { photo, body };
    if (this.kind === "parts") this.showParts(answer.data); else this.show(answer.data);
    this.tell();
  }

  show(told) {
    const box = by("measure-result");
    box.replaceChildren(...told.readings.flatMap((reading) => {
      const line = document.createElement("p");
      const value = Object.assign(document.createElement("b"), { textContent: reading.text });
      line.append(value, ` ${reading.interval.low.toFixed(3)} to ${reading.interval.high.toFixed(3)} ${reading.unit} (${Math.round(reading.interval.p * 100)} %, k = ${reading.k.toFixed(2)}, ${reading.dof === null ? "∞" : reading.dof.toFixed(0)} degrees of freedom)`);
      const table = document.createElement("table");
      table.className = "list tight";
      const head = table.createTHead().insertRow();
      for (const name of ["Contribution", `u [${reading.unit}]`, "Type", "From"]) head.append(Object.assign(document.createElement("th"), { textContent: name, scope: "col" }));
      const body = table.createTBody();
      for (const part of reading.budget) {
        const row = body.insertRow();
        row.insertCell().textContent = part.name;
        const u = row.insertCell();
        u.className = "num";
        u.textContent = Number(part.u).toPrecision(2);
        row.insertCell().textContent = part.type ?? "";
        row.insertCell().textContent = part.source ?? part.says ?? part.note ?? "";
      }
      return [line, table];
    }));
    for (const note of told.notes) box.append(Object.assign(document.createElement("p"), { className: "caution", textContent: note }));
    by("measure-keep").hidden = false;
    box.scrollIntoView({ block: "nearest" });
  }

  // Parts found on the mat: a row each, with a field for the id of the part it is.
  showParts(told) {
    const box = by("measure-result");
    const table = document.createElement("table");
    table.className = "list tight";
    const head = table.createTHead().insertRow();
    for (const name of ["Letter", "Length", "Width", "Area", "Holes", "Remarks", "Is part"]) head.append(Object.assign(document.createElement("th"), { textContent: name, scope: "col" }));
    const body = table.createTBody();
    for (const part of told.parts) {
      const row = body.insertRow();
      row.insertCell().textContent = part.letter;
      for (const key of ["length", "width", "area"]) row.insertCell().textContent = part[key]?.text ?? "";
      row.insertCell().textContent = part.holes.map((hole) => hole.diameter?.text ?? "not round").join(", ");
      row.insertCell().textContent = part.flags.map((one) => one.says).join("; ");
      const field = Object.assign(document.createElement("input"), { size: 14, ariaLabel: `Id of the part ${part.letter}` });
      field.dataset.letter = part.letter;
      row.insertCell().append(field);
    }
    this.found = told.parts.map((part) => ({ letter: part.letter, corners: part.outline_px }));
    box.replaceChildren(table, ...told.notes.map((note) => Object.assign(document.createElement("p"), { className: "caution", textContent: note })));
    by("measure-keep").hidden = !told.parts.length;
    box.scrollIntoView({ block: "nearest" });
    this.photos.marks();
  }

  // A marking: what was read stands beside the crop, to be put right and confirmed by a person.
  async read(photo) {
    if (!this.enough()) { this.tell(); return; }
    const [[x1, y1], [x2, y2]] = this.picks;
    const region = { x: Math.round(Math.min(x1, x2)), y: Math.round(Math.min(y1, y2)), width: Math.max(1, Math.round(Math.abs(x2 - x1))), height: Math.max(1, Math.round(Math.abs(y2 - y1))) };
    by("measure-next").textContent = "Reading …";
    const answer = await send("POST", `/api/records/${this.record}/photos/${photo}/marking`, region, { patience: 120_000 });
    if (!answer.ok) { by("measure-next").textContent = `${answer.data.message}; ${answer.data.try}`; return; }
    this.last = { photo, region };
    const box = by("measure-result");
    const crop = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    crop.setAttribute("viewBox", `${region.x} ${region.y} ${region.width} ${region.height}`);
    crop.setAttribute("class", "crop");
    const image = this.photos.image.cloneNode();
    image.setAttribute("href", `/api/photos/${this.photos.held[photo].file}`);
    crop.append(image);
    const text = Object.assign(document.createElement("input"), { id: "marking-text", size: 40, value: answer.data.lines.map((line) => line.text).join(" / "), ariaLabel: "What the marking reads" });
    const says = [...answer.data.says, ...answer.data.candidates_say];
    if (answer.data.candidates === null) says.push("The workspace holds no list of markings (markings.yaml) to compare with.");
    const list = document.createElement("ol");
    for (const one of answer.data.candidates ?? []) {
      list.append(Object.assign(document.createElement("li"), { textContent: `${one.name} (${one.part}): ${one.marking}, ${one.similarity_percent} % alike${one.differences.length ? `; ${one.differences.join("; ")}` : ""}` }));
    }
    box.replaceChildren(crop, text, ...says.map((words) => Object.assign(document.createElement("p"), { className: "soft", textContent: words })), list);
    by("measure-next").textContent = "Not confirmed. Compare with the crop, put it right, then keep it.";
    by("measure-keep").hidden = false;
    box.scrollIntoView({ block: "nearest" });
  }

  async confirm() {
    const text = by("marking-text").value.trim();
    const part = by("measure-of").value.trim();
    if (!text) { by("measure-next").textContent = "Nothing to keep; write what the marking reads."; return; }
    const { x, y, width, height } = this.last.region;
    await this.photos.bench.take(part ? `part ${part} marking "${text.replaceAll('"', "'")}"` : `note marking on ${this.last.photo} at ${x},${y},${width},${height}, confirmed: ${text}`);
    by("measure-keep").hidden = true;
    by("measure-next").textContent = "Confirmed and kept.";
  }

  async keep() {
    if (this.kind === "marking") { await this.confirm(); return; }
    const named = [...document.querySelectorAll("#measure-result [data-letter]")].filter((one) => one.value.trim());
    const part = by("measure-of").value.trim();
    const of = Object.fromEntries(named.length ? named.map((one) => [one.dataset.letter, one.value.trim()]) : part ? [["", part]] : []);
    const body = { id: uuid(), at: new Date().toISOString(), ask: this.last.body, of };
    if (by("measure-what").value.trim() && this.kind !== "parts") body.name = by("measure-what").value.trim();
    const answer = await send("POST", `/api/records/${this.record}/photos/${this.last.photo}/measurements`, body, { patience: 60_000 });
    by("measure-next").textContent = answer.ok ? `Kept as ${answer.data.ids.join(", ")}.` : `${answer.data.message}; ${answer.data.try}`;
    if (answer.ok) by("measure-keep").hidden = true;
  }

  // Marks for the viewer: picks of the scale as squares, of the measurement as crosses joined by a line.
  marks(make, size) {
    const all = [];
    const cross = ([x, y]) => `M${x - size} ${y}h${2 * size}M${x} ${y - size}v${2 * size}`;
    const square = ([x, y]) => `M${x - size / 2} ${y - size / 2}h${size}v${size}h${-size}z`;
    const paths = [...this.scalePicks.map(square), ...this.picks.map(cross)];
    for (const one of this.found ?? []) {
      const [x, y] = one.corners[0];
      paths.push(`M${one.corners.map((corner) => corner.join(" ")).join("L")}z`);
      const text = make("text", { x, y: y - size * 2, "font-size": size * 2 });
      text.textContent = one.letter;
      all.push(text);
    }
    for (const reading of this.kind === "holes" ? this.readings : []) paths.push(...reading.map(cross));
    if (this.picks.length > 1 && this.kind !== "marking") paths.push(`M${this.picks.map((pick) => pick.join(" ")).join("L")}`);
    for (const d of paths) all.push(make("path", { d, class: "under" }), make("path", { d, class: "mark" }));
    return all;
  }
}
