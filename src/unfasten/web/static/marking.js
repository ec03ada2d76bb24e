// A marking: what was read stands beside its crop as a proposal; a person compares it, puts it right and confirms it.
import { by, caution, draw, make, soft, trouble } from "./make.js";
import { uuid } from "./queue.js";
import { send } from "./send.js";

const lines = () => by("marking-text").value.split("/").map((line) => line.trim()).filter(Boolean);

export class Marking {
  constructor(measure) { this.measure = measure; }

  async read(photo, [[x1, y1], [x2, y2]]) {
    const region = { x: Math.max(0, Math.round(Math.min(x1, x2))), y: Math.max(0, Math.round(Math.min(y1, y2))), width: Math.max(1, Math.round(Math.abs(x2 - x1))), height: Math.max(1, Math.round(Math.abs(y2 - y1))) };
    this.measure.say("Reading …");
    const answer = await send("POST", `/api/records/${this.measure.record}/photos/${photo}/marking`, region, { patience: 120_000 });
    if (!answer.ok) { this.measure.say(trouble(answer.data)); return; }
    this.last = { photo, region, told: answer.data };
    this.show(photo, region, answer.data);
  }

  show(photo, region, told) {
    const text = make("input", { id: "marking-text", size: 40, value: told.lines.map((line) => line.text).join(" / "), autocomplete: "off", spellcheck: false });
    text.addEventListener("input", () => { by("marking-compared").checked = false; this.compared(); });
    text.addEventListener("change", () => this.dates());
    const tick = make("input", { type: "checkbox", id: "marking-compared" });
    tick.addEventListener("change", () => this.compared());
    const doubtful = Object.entries(told.mistaken).map(([one, others]) => `${one} may be ${[...others].join(" ")}`);
    const doubts = doubtful.length ? make("details", { id: "marking-doubts" }, make("summary", { textContent: `Often mistaken: ${Object.keys(told.mistaken).join(" ")}` }), soft(doubtful.join("; "))) : "";
    const ways = told.lines.filter((line) => line.other).map((line) => caution(`Read in two ways: ${line.text} or ${line.other}`));
    by("measure-result").replaceChildren(make("div", { className: "beside" },
      this.crop(photo, region, told),
      make("div", {},
        make("p", {}, make("label", {}, make("span", { textContent: "Reads, lines parted by / " }), text)),
        ...ways,
        doubts,
        make("p", {}, make("label", {}, tick, " I compared every character with the crop")),
        make("div", { id: "marking-dates", role: "group", ariaLabel: "Date readings" }))),
      ...this.listed(told), ...told.says.filter((words) => !words.startsWith("read in two ways")).map(soft));
    this.measure.say(told.lines.length ? "A proposal, not confirmed: compare it with the crop, put it right, then keep it." : "Nothing was read: write what you see in the crop.");
    by("measure-entry").hidden = !this.measure.may;
    this.compared();
    this.dates();
    this.measure.bring("measure-next");
  }

  // The crop as the text stands upright, its shades spread over the whole range so that dark prints can be seen.
  crop(photo, { x, y, width, height }, { turned_deg: turned, shades: [dark, bright] }) {
    const flat = turned % 180 === 0;
    const image = this.measure.photos.image.cloneNode();
    image.setAttribute("href", `/api/photos/${this.measure.photos.held[photo].file}`);
    const [w, h] = flat ? [width, height] : [height, width];
    const turn = `translate(${w / 2} ${h / 2}) rotate(${turned}) translate(${-x - width / 2} ${-y - height / 2})`;
    const spread = { type: "linear", slope: 255 / Math.max(bright - dark, 1), intercept: -dark / Math.max(bright - dark, 1) };
    const filter = draw("filter", { id: "spread", "color-interpolation-filters": "sRGB" }, draw("feComponentTransfer", {}, ...["R", "G", "B"].map((one) => draw(`feFunc${one}`, spread))));
    return draw("svg", { viewBox: `0 0 ${w} ${h}`, class: "crop", role: "img", "aria-label": "Crop of the marking" }, filter, draw("g", { filter: "url(#spread)" }, draw("g", { transform: turn }, image)));
  }

  listed(told) {
    if (told.candidates === null) return [soft("The workspace holds no list of markings (markings.yaml) to compare with.")];
    const rows = told.candidates.map((one) => {
      const use = make("button", { type: "button", textContent: "Write it", ariaLabel: `Write ${one.marking}` });
      use.addEventListener("click", () => { by("marking-text").value = one.marking; by("marking-compared").checked = false; this.compared(); this.dates(); by("marking-text").focus(); });
      return make("li", {}, make("b", { textContent: one.marking }), ` ${one.name} (${one.part}), ${one.similarity_percent} % alike${one.differences.length ? `; ${one.differences.join("; ")}` : ""} `, use);
    });
    return [make("ol", {}, ...rows), ...told.candidates_say.map(soft)];
  }

  compared() { by("measure-keep").disabled = !by("marking-compared").checked || !lines().length; }

  // Groups of the form YYWW in the text as it stands now, with every year they can mean and cannot.
  async dates() {
    const asked = by("marking-text").value;
    const answer = await send("POST", "/api/identify", { what: "date-code", code: asked.slice(0, 400) });
    if (by("marking-text")?.value !== asked) return;
    const codes = answer.ok ? answer.data.codes : [];
    by("marking-dates").replaceChildren(...codes.flatMap((code) => [
      make("p", { textContent: `${code.code} may be a date code (year and week, ISO 8601); not chosen:` }),
      ...code.readings.map((one) => {
        const radio = make("input", { type: "radio", name: "marking-date", value: `${code.code} ${one.year}` });
        return make("p", {}, make("label", {}, radio, ` ${code.code}: week ${one.week} of ${one.year}, ${one.from} to ${one.to}`));
      }),
      ...code.excluded.map((one) => soft(`not ${one.year}: ${one.reason}`)), ...code.says.map(soft),
    ]), ...(codes.some((code) => code.readings.length) ? [make("p", {}, make("label", {}, make("input", { type: "radio", name: "marking-date", value: "" }), " no date code"))] : []));
  }

  async confirm() {
    const part = by("measure-of").value.trim();
    const does = by("marking-function").value.trim();
    const { photo, region, told } = this.last;
    const [code, year] = (document.querySelector("[name=marking-date]:checked")?.value || "").split(" ");
    if (code && !does) { this.measure.say("A date code belongs to a component: write the part and what the component does."); by("marking-function").focus(); return; }
    if (does && !part) { this.measure.say("Say on which part the component is."); by("measure-of").focus(); return; }
    const body = { id: uuid(), at: new Date().toISOString(), seen: this.measure.photos.bench.seen(), region, turned: told.turned_deg, read: told.lines.map((line) => line.text), lines: lines(), ...(part ? { part } : {}), ...(does ? { function: does } : {}), ...(code ? { code, year: Number(year) } : {}) };
    const answer = await send("POST", `/api/records/${this.measure.record}/photos/${photo}/markings`, body, { patience: 60_000 });
    if (!answer.ok) { this.measure.say(trouble(answer.data)); return; }
    by("measure-entry").hidden = true;
    this.measure.say(`${answer.data.words}.${answer.data.clash ? ` ${answer.data.clash}` : ""}`);
  }
}
