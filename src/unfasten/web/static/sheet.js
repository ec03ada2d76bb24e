// The sheet: which view is shown, the structure drawing, and a closer look at one part.
import { get, send } from "./send.js";

const by = (id) => document.getElementById(id);
const made = (name, words) => Object.assign(document.createElement(name), { textContent: words });

export class Sheet {
  constructor(record) {
    this.record = record;
    this.stale = true;
    this.looked = "";
    this.times = null;            // how many times the drawing is larger than its frame; null: so that its boxes fill it
    for (const [name, times] of [["drawing-in", 1.25], ["drawing-out", 0.8]]) by(name).addEventListener("click", () => this.enlarge(times));
    by("drawing").addEventListener("keydown", (event) => {
      const times = { "+": 1.25, "=": 1.25, "-": 0.8 }[event.key];
      if (times) { event.preventDefault(); this.enlarge(times); }
    });
    this.tabs = [...document.querySelectorAll("[role=tab]")];
    this.tabs.forEach((tab, number) => {
      tab.addEventListener("click", () => this.view(number));
      tab.addEventListener("keydown", (event) => {
        const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!step) return;
        const next = (number + step + this.tabs.length) % this.tabs.length;
        this.view(next);
        this.tabs[next].focus();
      });
    });
  }

  view(number) {
    this.tabs.forEach((tab, other) => {
      tab.ariaSelected = String(other === number);
      tab.tabIndex = other === number ? 0 : -1;
      by(tab.getAttribute("aria-controls")).hidden = other !== number;
    });
    this.draw();
  }

  // Drawn anew after the next questions, which are awaited more; at the latest a little later.
  changed() {
    this.stale = true;
    clearTimeout(this.later);
    this.later = setTimeout(() => this.draw(), 600);
  }

  async draw() {
    if (!this.stale || by("view-structure").hidden) return;
    this.stale = false;
    clearTimeout(this.later);
    const answer = await fetch(`/api/records/${this.record}/drawing.svg`).catch(() => null);
    const svg = answer?.ok ? await answer.text() : "";
    if (!svg.includes("class=\"node")) return;
    const { scrollLeft, scrollTop } = by("drawing");
    by("drawing").innerHTML = svg;
    by("drawing").classList.add("live");
    this.part(by("drawing").querySelector("svg"));
    for (const node of by("drawing").querySelectorAll(".node")) {
      node.setAttribute("tabindex", "0");
      node.setAttribute("role", "button");
      node.setAttribute("aria-label", node.querySelector("title")?.textContent ?? node.dataset.part);
      node.addEventListener("click", () => this.look(node.dataset.part));
      node.addEventListener("keydown", (event) => { if (event.key === "Enter") this.look(node.dataset.part); });
    }
    this.mark(this.looked);
    this.size();
    if (this.times) by("drawing").scrollTo(scrollLeft, scrollTop);
  }

  // The key to the lines stands below the drawing in words of the page, so that it is read whole at any size.
  part(svg) {
    const key = svg.querySelector(".legend"), { width } = svg.viewBox.baseVal;
    svg.setAttribute("viewBox", `0 0 ${width} ${key.querySelector("text").getAttribute("y") - 14}`);
    key.remove();
  }

  // A drawing of few parts fills its frame; what does not fit is scrolled.
  size() {
    const svg = by("drawing").querySelector("svg");
    const boxes = [...svg.querySelectorAll(".node")].map((node) => node.getBBox());
    const left = Math.min(...boxes.map((box) => box.x)), right = Math.max(...boxes.map((box) => box.x + box.width));
    const wide = svg.viewBox.baseVal.width, high = svg.viewBox.baseVal.height;
    const { clientWidth, clientHeight } = by("drawing");
    const fits = Math.min(wide / (right - left + 60), (clientHeight - 8) / (high * clientWidth / wide));
    this.now = this.times ?? Math.min(Math.max(fits, 1), 2);
    svg.style.width = `${100 * this.now}%`;
    by("drawing").scrollLeft = ((left + right) / 2 / wide) * svg.clientWidth - clientWidth / 2;
  }

  enlarge(times) {
    this.times = Math.min(Math.max((this.now ?? 1) * times, 1), 4);
    if (by("drawing").classList.contains("live")) this.size();
  }

  mark(part) {
    const nodes = new Map([...by("drawing").querySelectorAll(".node")].map((node) => [node.dataset.part, node]));
    const route = new Set((nodes.get(part)?.dataset.route ?? "").split(" "));
    for (const [name, node] of nodes) node.classList.toggle("on", route.has(name));
    for (const item of by("drawing").querySelectorAll("[data-a]")) {
      const on = route.has(item.dataset.a) && route.has(item.dataset.b);
      for (const one of [item, ...item.children]) one.classList.toggle("on", on);
    }
  }

  // What holds and covers a part, its route, and then (a search of its own) what each move on the way costs.
  async look(part) {
    this.looked = part;
    this.mark(part);
    const answer = await get(`/api/records/${this.record}/parts/${part}`);
    if (!answer.ok || this.looked !== part) return;
    const told = answer.data;
    const head = document.createElement("p");
    head.append(made("b", told.name), ` ${told.steps ?? "?"} steps ${told.proof}`);
    const behind = told.covers.map((clause) => clause.join(" or ")).join(", ");
    const route = document.createElement("ol");
    route.append(...told.route.map((step) => made("li", step)));
    const care = [
      ...(told.stop ? [Object.assign(made("p", `STOP: ${told.stop}`), { className: "stop" })] : []),
      ...(told.cautions ?? []).map((words) => Object.assign(made("p", `CAUTION: ${words}`), { className: "caution" })),
      ...(told.defer ? [Object.assign(made("p", told.defer), { className: "defer" })] : []),
    ];
    const costs = document.createElement("table");
    costs.className = "list tight costs";
    by("look").replaceChildren(head, this.joints(told.holds), ...(behind ? [made("p", `Lifts behind ${behind}`)] : []), costs, ...care, route);
    if (told.stop) return;
    const priced = await send("GET", `/api/records/${this.record}/parts/${part}/costs`, undefined, { patience: 30_000 });
    if (priced.ok && this.looked === part) this.price(costs, priced.data.moves);
  }

  joints(holds) {
    const table = document.createElement("table");
    table.className = "list tight";
    for (const one of holds) {
      const row = table.insertRow();
      row.insertCell().textContent = `${one.count > 1 ? `${one.count} × ` : ""}${one.kind} to ${one.to.join(" and ")}`;
      row.insertCell().textContent = one.tools.join(" + ") || "by hand";
      const under = one.under.map((clause) => clause.join(" or ")).join(", ");
      row.insertCell().textContent = [under && `under ${under}`, one.open.length && `open: ${one.open.join(", ")}`].filter(Boolean).join("; ");
    }
    return table;
  }

  price(table, moves) {
    if (!moves.length) return;
    table.createCaption().textContent = "What has to move, why, and what would be saved if it were in nothing's way";
    for (const one of moves) {
      const row = table.insertRow();
      for (const words of [one.moved, one.because + (one.sure === "open" ? " (open)" : ""), one.costs]) row.insertCell().textContent = words;
    }
  }
}
