// Measuring on a photo: picks with a magnifier, sent as pixels of the upright photo; what comes back is an interval.
import { BoardUse } from "./boarduse.js";
import { by, caution, ends, make, scale, table, trouble } from "./make.js";
import { Marking } from "./marking.js";
import { Naming } from "./naming.js";
import { uuid } from "./queue.js";
import { get, send } from "./send.js";

const NEEDED = { distance: 2, diameter: 5, angle: 3, area: 3, parts: 0, holes: 3, marking: 2, board: 3 };
const AT_MOST = { distance: 2, angle: 3, marking: 2 };
const BY_LIGHT = ["diameter", "area", "holes"];
const SCALE = { length: 2, rectangle: 4, card: 4 };
const NEXT = { holes: "Next hole", board: "Next outline" };
const WORDS = {
  holes: "three points or more on the rim of a hole; then the next hole", marking: "two corners of the package that lie opposite",
  parts: "nothing, parts on the mat are found by themselves", distance: "two points", diameter: "five points or more on the circle", angle: "one arm, the corner, the other arm", area: "the corners of the outline, in order",
};

const freedom = ({ dof }) => (dof === null || dof > 9999 ? "many degrees of freedom" : `${dof.toFixed(0)} degrees of freedom`);

export class Measure {
  constructor(photos, record) {
    this.photos = photos;
    this.record = record;
    this.picks = [];
    this.readings = [];
    this.scalePicks = [];
    this.naming = new Naming(this);
    this.marking = new Marking(this);
    this.board = new BoardUse(this);
    by("measure-kind").addEventListener("change", () => this.restart());
    by("measure-scale").addEventListener("change", () => this.restart({ scale: true }));
    for (const id of ["scale-check", "scale-length", "scale-width", "scale-height", "measure-height", "measure-distance"]) by(id).addEventListener("change", () => this.how());
    by("measure-again").addEventListener("click", () => this.again());
    by("measure-clear").addEventListener("click", () => this.restart({ scale: true }));
    by("measure-do").addEventListener("click", () => this.ask());
    by("measure-keep").addEventListener("click", () => this.keep());
    by("measure-rerun").addEventListener("click", () => this.rerun());
    this.restart();
  }

  get kind() { return by("measure-kind").value; }
  get scale() { return by("measure-scale").value; }
  get may() { return this.photos.bench.may; }
  get wanted() { return this.kind === "marking" ? 0 : Math.max(0, (SCALE[this.scale] ?? 0) - this.scalePicks.length); }

  // Ids that the record has now, offered where one is wanted.
  async open() {
    const answer = await get(`/api/records/${this.record}`);
    if (!answer.ok) return;
    const { parts, joints } = answer.data.record;
    by("measure-parts").replaceChildren(...Object.entries(parts ?? {}).map(([value, one]) => make("option", { value, textContent: one.name ?? "" })));
    by("measure-joints").replaceChildren(...Object.entries(joints ?? {}).map(([value, one]) => make("option", { value, textContent: one.kind ?? "" })));
  }

  restart({ scale: anew = false } = {}) {
    this.picks = [];
    this.readings = [];
    this.found = [];
    this.last = null;
    if (anew) this.scalePicks = [];
    for (const field of document.querySelectorAll("[data-scale]")) field.hidden = !field.dataset.scale.split(" ").includes(this.scale);
    by("measure-result").replaceChildren();
    by("measure-entry").hidden = true;
    by("measure-keep").disabled = false;
    by("measure-rough").hidden = !BY_LIGHT.includes(this.kind);
    by("measure-again").hidden = ["marking", "parts"].includes(this.kind);
    by("measure-called").hidden = ["marking", "parts", "board"].includes(this.kind);
    by("measure-of").closest("label").hidden = this.kind === "parts";
    by("measure-function").hidden = this.kind !== "marking";
    by("measure-how").hidden = this.kind === "marking";
    this.naming.offer();
    this.how();
    this.tell();
    this.photos.marks();
  }

  // The scale in words, so that its fields need not stand open.
  how() {
    const value = (id) => by(id).value.trim();
    const chosen = by("measure-scale").selectedOptions[0].textContent;
    const size = { length: value("scale-length"), rectangle: [value("scale-width"), value("scale-height")].filter(Boolean).join(" by "), mat: value("scale-check") && `check line ${value("scale-check")}` }[this.scale];
    const height = value("measure-height") ? `${value("measure-height")} above it` : "in its plane";
    by("measure-how-said").textContent = [chosen, size, height, value("measure-distance") && `camera ${value("measure-distance")} over it`].filter(Boolean).join(", ");
  }

  enough() { return this.picks.length >= NEEDED[this.kind]; }
  say(words) { by("measure-next").textContent = words; }

  again() {
    if (!this.enough()) { this.tell(); return; }
    this.readings.push(this.picks);
    this.picks = [];
    this.tell();
    this.photos.marks();
  }

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
    const before = this.readings.length ? `, ${this.readings.length} ${this.kind === "holes" ? "holes" : "times"} before` : "";
    by("measure-again").textContent = NEXT[this.kind] ?? "Pick again";
    by("measure-again").disabled = !this.enough();
    by("measure-do").disabled = !this.enough() && !(["holes", "board"].includes(this.kind) && this.readings.length);
    this.say(this.wanted && !(this.scale === "card" && !this.scalePicks.length && this.picks.length)
      ? `Scale: pick ${this.wanted} more${optional}`
      : this.kind === "board" ? this.board.next() : `Pick ${WORDS[this.kind]}: ${this.picks.length} picked${before}`);
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

  given() {
    const more = [["height", "measure-height"], ["distance", "measure-distance"]].map(([key, id]) => [key, by(id).value.trim()]);
    return { scale: this.scaleAsked(), ...Object.fromEntries(more.filter(([, value]) => value)) };
  }

  async ask() {
    const photo = this.photos.current;
    if (!photo) { this.say("Choose a photo first."); return; }
    if (this.kind === "marking") { if (this.enough()) await this.marking.read(photo, this.picks); else this.tell(); return; }
    if (this.kind === "board") { await this.board.ask(photo); return; }
    const readings = this.kind === "parts" ? [] : this.enough() ? [...this.readings, this.picks] : this.readings;
    const edge = BY_LIGHT.includes(this.kind) && by("measure-edge").checked;
    const body = { kind: this.kind, readings: this.kind === "holes" ? [readings] : readings, edge, ...this.given() };
    this.say("Measuring …");
    const answer = await send("POST", `/api/records/${this.record}/photos/${photo}/measure`, body, { patience: 60_000 });
    if (!answer.ok) { this.say(trouble(answer.data)); return; }
    this.last = { photo, body, kind: this.kind, told: answer.data };
    if (this.kind === "parts") this.showParts(answer.data); else this.show(answer.data);
    by("measure-keep").disabled = false;
    this.say({ parts: "Found. Write which part is which, then keep.", holes: "Measured. Keep it, or add the next hole." }[this.kind] ?? "Measured. Keep it, say below what it is, or pick again to repeat the reading.");
    this.bring("measure-next");
  }

  // Bring a piece of the panel to its top.
  bring(id) {
    const panel = by("measure");
    panel.scrollTop += by(id).getBoundingClientRect().top - panel.getBoundingClientRect().top - 4;
  }

  show(told) {
    const [first, ...others] = told.readings;
    const { p } = first.interval;
    const line = make("p", { className: "reading" }, `${first.name} `, make("b", { textContent: first.text }), ` ${ends(first)} (${Math.round(p * 100)} %, k = ${first.k.toFixed(2)}, ${freedom(first)})`);
    const rows = others.map((one) => [one.name, [one.text, "num"], [ends(one), "num"], [one.k.toFixed(2), "num"]]);
    const more = make("details", { open: this.kind === "holes" }, make("summary", { textContent: `${others.length} more: ${[...new Set(others.map((one) => one.name))].slice(0, 4).join(", ")}` }), table(["", ["Reading", "num"], [`${Math.round(p * 100)} % interval`, "num"], ["k", "num"]], rows));
    by("measure-result").replaceChildren(line, this.budget(first), ...(others.length ? [more] : []), ...told.notes.map(caution));
    by("measure-entry").hidden = !this.may;
    this.naming.offer();
  }

  // The budget, folded: what makes most of the uncertainty stands in its head.
  budget(reading) {
    const all = reading.budget.reduce((sum, part) => sum + part.u ** 2, 0) || 1;
    const share = (part) => 100 * part.u ** 2 / all;
    const most = [...reading.budget].sort((a, b) => b.u - a.u).filter((part) => share(part) >= 5).map((part) => `${part.name} ${share(part).toFixed(0)} %`);
    const rows = reading.budget.map((part) => [part.name, [Number(part.u).toPrecision(2), "num"], make("span", { className: "drawn" }, scale(0, 100, [[0, share(part)]], null, `${share(part).toFixed(0)} %`)), part.type ?? "", make("span", { className: "soft", textContent: part.source ?? part.says ?? part.note ?? "" })]);
    return make("details", {}, make("summary", { textContent: `Budget: ${most.join(", ")}` }), table(["Contribution", [`u [${reading.unit}]`, "num"], "Share of u²", "Type", "From"], rows));
  }

  // Parts found on the mat: a row each, with a field for the id of the part it is.
  showParts(told) {
    const rows = told.parts.map((part) => {
      const field = make("input", { size: 14, ariaLabel: `Id of the part ${part.letter}`, data: { letter: part.letter } });
      field.setAttribute("list", "measure-parts");
      return [part.letter, ...["length", "width", "area"].map((key) => [part[key]?.text ?? "", "num"]), part.holes.map((hole) => hole.diameter?.text ?? "not round").join(", "), part.flags.map((one) => one.says).join("; "), field];
    });
    this.found = told.parts.map((part) => ({ letter: part.letter, corners: part.outline_px, closed: true }));
    by("measure-result").replaceChildren(table(["Letter", ["Length", "num"], ["Width", "num"], ["Area", "num"], "Holes", "Remarks", "Is part"], rows), ...told.notes.map(caution));
    by("measure-entry").hidden = !this.may || !told.parts.length;
    this.naming.hide();
    this.photos.marks();
  }

  async keep() {
    if (this.kind === "marking") { await this.marking.confirm(); return; }
    if (this.kind === "board") { await this.board.keep(); return; }
    const named = [...document.querySelectorAll("#measure-result [data-letter]")].filter((one) => one.value.trim());
    const part = by("measure-of").value.trim();
    const of = Object.fromEntries(named.length ? named.map((one) => [one.dataset.letter, one.value.trim()]) : part && this.kind !== "parts" ? [["", part]] : []);
    if (this.kind === "parts" && !named.length) { this.say("Say which part is which: write its id in its row."); return; }
    const body = { id: uuid(), at: new Date().toISOString(), ask: this.last.body, of };
    if (by("measure-what").value.trim() && this.kind !== "parts") body.name = by("measure-what").value.trim();
    const answer = await send("POST", `/api/records/${this.record}/photos/${this.last.photo}/measurements`, body, { patience: 60_000 });
    this.say(answer.ok ? `Kept as ${answer.data.ids.join(", ")}.` : trouble(answer.data));
    if (answer.ok) by("measure-entry").hidden = true;
  }

  // What the record holds of this photo, made again from its recipe.
  async rerun() {
    const photo = this.photos.current;
    if (!photo) { this.say("Choose a photo first."); return; }
    this.say("Making again what is kept of this photo …");
    const answer = await send("GET", `/api/records/${this.record}/photos/${photo}/again`, undefined, { patience: 120_000 });
    if (!answer.ok) { this.say(trouble(answer.data)); return; }
    const held = answer.data.measurements;
    const rows = held.map((one) => [make("span", { className: "id", textContent: one.id }), one.name, [one.held, "num"], [one.now ?? "not found", "num"], one.same ? "the same" : make("b", { textContent: "differs" })]);
    by("measure-result").replaceChildren(...(held.length ? [table(["Id", "What", ["Kept", "num"], ["Now", "num"], "Comes out"], rows, { id: "measured-again" })] : []));
    by("measure-entry").hidden = true;
    this.naming.hide();
    const differ = held.filter((one) => !one.same).length;
    this.say(!held.length ? "Nothing measured on this photo is kept yet." : differ ? `${differ} of ${held.length} figures differ.` : `All ${held.length} figures come out the same.`);
  }

  // Marks for the viewer: picks of the scale as squares, of the measurement as crosses joined by a line.
  marks(draw, size) {
    const cross = ([x, y]) => `M${x - size} ${y}h${2 * size}M${x} ${y - size}v${2 * size}`;
    const square = ([x, y]) => `M${x - size / 2} ${y - size / 2}h${size}v${size}h${-size}z`;
    const paths = [...this.scalePicks.map(square), ...this.picks.map(cross)];
    const texts = [];
    for (const one of [...(this.found ?? []), ...(this.kind === "board" ? this.board.marks() : [])]) {
      paths.push(`M${one.corners.map((corner) => corner.join(" ")).join("L")}${one.closed ? "z" : ""}`);
      if (!one.letter) continue;
      const [x, y] = one.corners[0];
      const text = draw("text", { x: x + size * 2, y: y + size * 2, "font-size": size * 2, class: "over" });
      text.textContent = one.letter;
      texts.push(text);
    }
    for (const reading of this.kind === "holes" ? this.readings : []) paths.push(...reading.map(cross));
    const box = this.kind === "marking" && this.picks.length === 2;
    if (box) { const [[a, b], [c, d]] = this.picks; paths.push(`M${a} ${b}H${c}V${d}H${a}z`); }
    else if (this.picks.length > 1 && this.kind !== "board") paths.push(`M${this.picks.map((pick) => pick.join(" ")).join("L")}${this.kind === "area" && this.picks.length > 2 ? "z" : ""}`);
    return [...paths.flatMap((d) => [draw("path", { d, class: "under" }), draw("path", { d, class: "mark" })]), ...texts];
  }
}
