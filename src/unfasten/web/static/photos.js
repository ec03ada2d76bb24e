// Photos: taken in, shown with zoom and pan, and marked with lettered call-outs in pixels of the upright photo.
import { by, draw as make } from "./make.js";
import { uuid } from "./queue.js";
import { Measure } from "./measure.js";
import { get, send } from "./send.js";

const SHARP = 2048;               // longer side of the copy that is shown until someone looks closer
const CORNERS = { point: 1, line: 2, box: 2, outline: Infinity };

export class Photos {
  constructor(record, bench) {
    this.record = record;
    this.bench = bench;
    this.held = {};
    this.current = null;
    this.shape = "pan";
    this.corners = [];
    this.box = by("viewer");
    this.loupe = by("loupe");
    this.measure = new Measure(this, record);
    this.wire();
  }

  async refresh(seq) {
    if (this.seq === seq) return;
    this.seq = seq;
    const answer = await get(`/api/records/${this.record}/photos`);
    if (!answer.ok) return;
    this.held = answer.data.photos;
    this.list();
    const writing = document.activeElement.matches("#callouts input");    // what is half written stays
    if (this.current && this.held[this.current] && !this.corners.length && !writing) this.marks();
  }

  list() {
    const focused = [...by("photos").children].findIndex((item) => item.contains(document.activeElement));
    by("photos").replaceChildren(...Object.entries(this.held).map(([name, photo]) => {
      const item = document.createElement("li");
      const button = Object.assign(document.createElement("button"), { type: "button" });
      const image = Object.assign(document.createElement("img"), { src: `/api/photos/${photo.file}?px=240`, alt: "", loading: "lazy" });
      button.append(image, `${name}${photo.at ? ` · ${photo.at}` : ""}`);
      button.ariaCurrent = String(name === this.current);
      button.addEventListener("click", () => this.show(name));
      item.append(button);
      return item;
    }));
    by("photos").children[focused]?.firstChild.focus();    // an entry of somebody else's takes no focus away
  }

  show(name) {
    const photo = this.held[name];
    const other = name !== this.current;
    this.current = name;
    this.corners = [];
    const svg = make("svg", { preserveAspectRatio: "xMidYMid meet" });
    this.image = make("image", { width: photo.width, height: photo.height, href: `/api/photos/${photo.file}?px=${SHARP}` });
    this.over = make("g");
    svg.append(this.image, this.over);
    this.svg = svg;
    this.box.replaceChildren(svg);
    this.look = { x: 0, y: 0, w: photo.width, h: photo.height };
    this.frame();
    this.list();
    if (other) this.measure.restart({ scale: true });
  }

  // ---- looking -----------------------------------------------------------------------------------------------------

  frame() {
    const { x, y, w, h } = this.look;
    this.svg.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
    const photo = this.held[this.current];
    const scale = this.box.clientWidth / w;
    const long = Math.max(photo.width, photo.height);
    if (scale * devicePixelRatio > (SHARP / long) * 1.2 && !this.image.getAttribute("href").endsWith(photo.file)) {
      this.image.setAttribute("href", `/api/photos/${photo.file}`);    // as it came: every pixel
    }
    this.marks();
  }

  zoom(factor, at) {
    if (!this.svg) return;
    const photo = this.held[this.current];
    const w = Math.min(Math.max(this.look.w / factor, 20), photo.width * 2);
    const k = w / this.look.w;
    const { x, y } = at ?? { x: this.look.x + this.look.w / 2, y: this.look.y + this.look.h / 2 };
    this.look = { x: x - (x - this.look.x) * k, y: y - (y - this.look.y) * k, w, h: this.look.h * k };
    this.frame();
  }

  move(dx, dy) {
    if (!this.svg) return;
    this.look.x += dx * this.look.w;
    this.look.y += dy * this.look.h;
    this.frame();
  }

  middle() { return { x: this.look.x + this.look.w / 2, y: this.look.y + this.look.h / 2 }; }

  at(event) {
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return { x: point.x, y: point.y };
  }

  inside({ x, y }) {
    const photo = this.held[this.current];
    const whole = (value, most) => Math.min(Math.max(Math.round(value), 0), most);
    return [whole(x, photo.width), whole(y, photo.height)];
  }

  // The magnifier: what lies under the pointer (by keys: in the middle), eight times nearer, a cross at the very pixel.
  // It stands on the side where the pointer is not.
  magnify(event) {
    const wanted = this.svg && this.shape !== "pan";
    this.loupe.toggleAttribute("hidden", !wanted);
    if (!wanted) return;
    const { x, y } = event ? this.at(event) : this.middle();
    this.loupe.classList.toggle("left", x > this.look.x + this.look.w / 2 || !event);
    const half = Math.max(this.look.w / 64, 4);
    if (this.loupe.dataset.photo !== this.current) {
      this.loupe.dataset.photo = this.current;
      this.loupe.replaceChildren(this.image.cloneNode(), make("path", { class: "under" }), make("path", { class: "mark" }));
      this.loupe.firstChild.setAttribute("href", `/api/photos/${this.held[this.current].file}`);
    }
    this.loupe.setAttribute("viewBox", `${x - half} ${y - half} ${2 * half} ${2 * half}`);
    const cross = `M${x - half / 2} ${y}h${half}M${x} ${y - half / 2}v${half}`;
    for (const path of [...this.loupe.children].slice(1)) path.setAttribute("d", cross);
  }

  // ---- marks -------------------------------------------------------------------------------------------------------

  marks() {
    if (!this.over) return;
    const photo = this.held[this.current];
    const size = 11 * this.look.w / Math.max(this.box.clientWidth, 1);
    const all = Object.entries(photo.call_outs ?? {});
    if (this.corners.length) all.push(["…", { shape: this.shape, corners: this.corners }]);
    const picked = this.shape === "measure" ? this.measure.marks(make, size * 0.7) : [];
    const { x, y, w, h } = this.look;
    const cross = `M${x + w / 2 - size / 2} ${y + h / 2}h${size}M${x + w / 2} ${y + h / 2 - size / 2}v${size}`;
    const middle = this.shape === "pan" ? [] : [make("path", { d: cross, class: "middle" })];
    this.over.replaceChildren(...middle, ...all.flatMap(([letter, one]) => this.mark(letter, one, size)), ...picked);
    this.table();
  }

  mark(letter, { shape, corners }, size) {
    const [first, second] = corners;
    const path = shape === "box" && second
      ? `M${first[0]} ${first[1]}H${second[0]}V${second[1]}H${first[0]}z`
      : `M${corners.map((corner) => corner.join(" ")).join("L")}${shape === "outline" && letter !== "…" ? "z" : ""}`;
    const d = shape === "point" ? `M${first[0] - size / 2} ${first[1]}h${size}M${first[0]} ${first[1] - size / 2}v${size}` : path;
    const tip = [first[0] + size * 2.2, first[1] - size * 2.2];
    const leader = `M${first[0]} ${first[1]}L${tip[0]} ${tip[1]}`;
    const text = make("text", { x: tip[0], y: tip[1], "font-size": size * 1.2 });
    text.textContent = letter;
    return [
      make("path", { d: d + leader, class: "under" }), make("path", { d: d + leader, class: "mark" }),
      make("circle", { cx: tip[0], cy: tip[1], r: size, class: "disc" }), text,
    ];
  }

  table() {
    const marks = Object.entries(this.held[this.current].call_outs ?? {});
    by("callouts").hidden = !marks.length;
    by("callouts").tBodies[0].replaceChildren(...marks.map(([letter, one]) => {
      const tr = document.createElement("tr");
      tr.insertCell().textContent = letter;
      tr.insertCell().textContent = one.shape;
      const words = Object.assign(document.createElement("input"), { value: one.text ?? "", ariaLabel: `What ${letter} shows`, maxLength: 400 });
      words.addEventListener("change", () => this.put({ ...this.held[this.current].call_outs, [letter]: { ...one, text: words.value || undefined } }));
      tr.insertCell().append(words);
      const gone = Object.assign(document.createElement("button"), { type: "button", textContent: "Remove", ariaLabel: `Remove ${letter}` });
      gone.addEventListener("click", () => {
        const rest = { ...this.held[this.current].call_outs };
        delete rest[letter];
        this.put(rest);
      });
      tr.insertCell().append(gone);
      return tr;
    }));
  }

  letter() {
    const used = this.held[this.current].call_outs ?? {};
    const names = [...Array(702).keys()].map((n) => (n < 26 ? "" : String.fromCharCode(64 + Math.floor(n / 26))) + String.fromCharCode(65 + n % 26));
    return names.find((name) => !(name in used));
  }

  // A corner where the pointer is, or (by the space bar) at the cross in the middle.
  corner(event) {
    const here = event ? this.at(event) : this.middle();
    if (this.shape === "measure") {
      const { x, y } = here;
      this.measure.pick([Math.round(x * 100) / 100, Math.round(y * 100) / 100]);
      return;
    }
    this.corners.push(this.inside(here));
    if (this.corners.length >= CORNERS[this.shape]) this.finish();
    else this.marks();
  }

  finish() {
    const corners = this.corners;
    this.corners = [];
    if (this.shape === "outline" && corners.length < 3) { this.marks(); return; }
    this.put({ ...(this.held[this.current].call_outs ?? {}), [this.letter()]: { shape: this.shape, corners } });
  }

  async put(callOuts) {
    const photo = this.current;
    const body = { id: uuid(), at: new Date().toISOString(), seen: this.bench.seen(), call_outs: JSON.parse(JSON.stringify(callOuts)) };
    const answer = await send("PUT", `/api/records/${this.record}/photos/${photo}/call-outs`, body);
    if (!answer.ok) { this.tell(`${answer.data.message}; ${answer.data.try}`); return; }
    this.held[photo].call_outs = callOuts;
    this.tell(answer.data.clash ?? "Kept.");
    this.marks();
  }

  // ---- taking in ---------------------------------------------------------------------------------------------------

  tell(words) { by("photo-said").textContent = words; }

  async take(files) {
    for (const file of files) {
      this.tell(`Taking in ${file.name} …`);
      const body = new FormData();
      body.append("file", file, file.name || "pasted.png");
      if (this.bench.clock.started) body.append("clock", this.bench.clock.text);
      body.append("ahead", String(Number(by("camera-offset").value) || 0));
      const answer = await send("POST", `/api/records/${this.record}/photos`, body, { form: true });
      if (!answer.ok) { this.tell(`${file.name}: ${answer.data.message}; ${answer.data.try}`); return; }
      const tied = answer.data.entry === undefined || answer.data.entry === null ? "" : `, tied to log entry ${answer.data.entry + 1}`;
      this.tell(`${answer.data.id} is in${answer.data.at ? ` at ${answer.data.at}` : ""}${tied}.`);
      this.seq = null;
      await this.refresh(-1);
      this.show(answer.data.id);
    }
  }

  wire() {
    by("photo-file").addEventListener("change", (event) => this.take(event.target.files));
    document.addEventListener("paste", (event) => {
      const files = [...event.clipboardData.files].filter((file) => file.type.startsWith("image/"));
      if (files.length) { event.preventDefault(); this.take(files); }
    });
    for (const name of ["dragover", "drop", "dragleave"]) {
      document.addEventListener(name, (event) => {
        event.preventDefault();
        this.box.classList.toggle("drop", name === "dragover");
        if (name === "drop") this.take(event.dataTransfer.files);
      });
    }
    for (const button of by("shapes").children) {
      button.addEventListener("click", () => {
        this.shape = button.dataset.shape;
        this.corners = [];
        by("measure").hidden = this.shape !== "measure";
        if (this.shape === "measure") this.measure.open();
        for (const other of by("shapes").children) other.ariaChecked = String(other === button);
        if (this.svg) this.marks();
      });
    }
    by("zoom-in").addEventListener("click", () => this.zoom(1.5));
    by("zoom-out").addEventListener("click", () => this.zoom(1 / 1.5));
    by("zoom-fit").addEventListener("click", () => { if (this.current) this.show(this.current); });
    this.box.addEventListener("wheel", (event) => {
      if (!this.svg) return;
      event.preventDefault();
      this.zoom(event.deltaY < 0 ? 1.25 : 0.8, this.at(event));
    }, { passive: false });
    this.box.addEventListener("pointerdown", (event) => {
      if (!this.svg) return;
      if (this.shape !== "pan") { this.corner(event); return; }
      const from = this.at(event);
      this.box.setPointerCapture(event.pointerId);
      const drag = (moved) => {
        const to = this.at(moved);
        this.look.x -= to.x - from.x;
        this.look.y -= to.y - from.y;
        this.frame();
      };
      this.box.addEventListener("pointermove", drag);
      this.box.addEventListener("pointerup", () => this.box.removeEventListener("pointermove", drag), { once: true });
    });
    this.box.addEventListener("dblclick", () => { if (this.shape === "outline") this.finish(); });
    this.box.addEventListener("keydown", (event) => {
      const step = event.shiftKey ? 0.005 : 0.1;
      const does = {
        "+": () => this.zoom(1.5), "-": () => this.zoom(1 / 1.5), ArrowLeft: () => this.move(-step, 0), ArrowRight: () => this.move(step, 0),
        ArrowUp: () => this.move(0, -step), ArrowDown: () => this.move(0, step),
        Enter: () => { if (this.shape === "outline") this.finish(); else if (this.shape === "measure") this.measure.ask(); },
        " ": () => this.shape !== "pan" && this.corner(null),
        Backspace: () => { if (this.shape === "measure") this.measure.undo(); else { this.corners.pop(); this.marks(); } },
      }[event.key];
      if (does && this.svg) { event.preventDefault(); does(); this.magnify(null); }
    });
    this.box.addEventListener("pointermove", (event) => this.magnify(event));
    this.box.addEventListener("pointerleave", () => { this.loupe.setAttribute("hidden", ""); });
    by("phone").addEventListener("click", async () => {
      const answer = await send("POST", `/api/records/${this.record}/phone`);
      by("phone-code").innerHTML = answer.ok ? answer.data.svg : "";
      by("phone-said").textContent = answer.ok ? answer.data.address : `${answer.data.message}; ${answer.data.try}`;
      by("phone-dialog").showModal();
    });
  }
}
