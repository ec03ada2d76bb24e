// Use of a board: its outline is picked first, then that of every body; the share of their areas comes with its interval.
import { by, caution, ends, make, scale, soft, table, trouble } from "./make.js";
import { uuid } from "./queue.js";
import { send } from "./send.js";

const WORDS = { board: "Board", bodies: "Bodies", use: "Use", empty: "Empty" };
const letter = (number) => (number < 26 ? "" : String.fromCharCode(64 + Math.floor(number / 26))) + String.fromCharCode(65 + number % 26);

export class BoardUse {
  constructor(measure) { this.measure = measure; this.names = []; }

  // Outlines that are picked: the board, then bodies lettered A, B …
  outlines() {
    const { readings, picks } = this.measure;
    return [...readings, ...(picks.length ? [picks] : [])];
  }

  next() {
    const { picks, readings } = this.measure;
    const what = readings.length ? `body ${letter(readings.length - 1)}` : "the board";
    return `Pick the corners of ${what} in order: ${picks.length} picked${readings.length ? `; ${readings.length === 1 ? "the board is" : `the board and ${readings.length - 1} bodies are`} outlined` : ""}`;
  }

  async ask(photo) {
    const [board, ...bodies] = this.outlines().filter((one) => one.length >= 3);
    if (!board) { this.measure.tell(); return; }
    const { scale: gives, height, distance } = this.measure.given();
    const body = { board, bodies: Object.fromEntries(bodies.map((one, number) => [letter(number), one])), scale: gives, ...(height ? { height } : {}), ...(distance ? { distance } : {}) };
    this.measure.say("Measuring …");
    const answer = await send("POST", `/api/records/${this.measure.record}/photos/${photo}/board`, body, { patience: 60_000 });
    if (!answer.ok) { this.measure.say(trouble(answer.data)); return; }
    this.last = { photo, body };
    this.show(answer.data, bodies.length);
  }

  show(told, count) {
    const most = Math.max(100, ...told.readings.filter((one) => one.unit === "%").map((one) => one.interval.high));
    const rows = told.readings.map((one) => {
      const { low, high } = one.interval;
      const said = ends(one);
      const drawn = one.unit === "%" ? make("span", { className: "drawn" }, scale(0, most, [[0, one.value]], [low, one.value, high], `${one.name}: ${said}`)) : "";
      return [WORDS[one.name] + (one.name === "bodies" ? ` (${count})` : ""), [make("b", { textContent: one.text }), "num"], [said, "num"], drawn];
    });
    const made = table(["", ["Reading", "num"], ["95 % interval", "num"], `0 to ${most.toFixed(0)} %`], rows, { id: "board-use" });
    made.createCaption().textContent = "Use is body area over board area of the side on this photo; the empty share counts stacked bodies once.";
    const side = make("select", { id: "board-side" }, ...["front side", "back side", "side not named"].map((text) => make("option", { textContent: text, value: text })));
    by("measure-result").replaceChildren(made, make("p", {}, make("label", {}, "This is the ", side)), ...told.says.map(soft), ...told.notes.map(caution));
    by("measure-entry").hidden = !this.measure.may;
    by("measure-keep").disabled = false;
    this.measure.say(`Measured: the board with ${count} bod${count === 1 ? "y" : "ies"}. Keep it, or outline the next body.`);
    this.measure.bring("measure-next");
  }

  async keep() {
    const of = by("measure-of").value.trim();
    const body = { id: uuid(), at: new Date().toISOString(), ask: this.last.body, side: by("board-side").value, ...(of ? { of } : {}) };
    const answer = await send("POST", `/api/records/${this.measure.record}/photos/${this.last.photo}/boards`, body, { patience: 60_000 });
    this.measure.say(answer.ok ? `Kept as ${answer.data.ids.join(", ")}.` : trouble(answer.data));
    if (answer.ok) by("measure-entry").hidden = true;
  }

  // Outlines as closed lines, bodies with their letter.
  marks() {
    return this.outlines().map((one, number) => ({ corners: one, closed: number < this.measure.readings.length || one.length > 2, letter: number ? letter(number - 1) : "" }));
  }
}
