// Making elements of the page in one line each: a table, a paragraph, a drawing.
const SVG = "http://www.w3.org/2000/svg";

export const by = (id) => document.getElementById(id);

export function make(name, properties = {}, ...children) {
  const { data = {}, ...rest } = properties;
  const made = Object.assign(document.createElement(name), rest);
  Object.assign(made.dataset, data);
  made.append(...children);
  return made;
}

export function draw(name, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

// A table: heads (text, or [text, class]), and rows of cells (text, element, or [either, class]).
export function table(heads, rows, properties = {}) {
  const cell = (tag, one, more = {}) => {
    const [content, className = ""] = Array.isArray(one) ? one : [one];
    return make(tag, { className, ...more }, content);
  };
  return make("table", { className: "list tight", ...properties },
    make("thead", {}, make("tr", {}, ...heads.map((one) => cell("th", one, { scope: "col" })))),
    make("tbody", {}, ...rows.map((row) => make("tr", {}, ...row.map((one) => cell("td", one))))));
}

export const caution = (text) => make("p", { className: "caution", textContent: text });
export const soft = (text) => make("p", { className: "soft", textContent: text });

// The ends of a reading's interval, with as many decimals as its value is told with.
export function ends({ text, interval: { low, high }, unit }) {
  const places = (text.split(" ")[0].split(".")[1] ?? "").length;
  return `${low.toFixed(places)} to ${high.toFixed(places)} ${unit}`;
}

// What an answer that was refused says.
export const trouble = (data) => `${data.message}; ${data.try}`;

// A scale with windows (limits) as solid bands, and a reading with its interval as a line across: low, high in one unit.
export function scale(low, high, bands, reading, label) {
  const width = 200;
  const x = (value) => width * (value - low) / (high - low || 1);
  const drawn = draw("svg", { viewBox: `0 0 ${width} 18`, class: "scale", role: "img", "aria-label": label, preserveAspectRatio: "none" });
  drawn.append(draw("path", { d: `M0 9H${width}`, class: "axis" }));
  for (const [from, to] of bands) drawn.append(draw("rect", { x: x(from), y: 4, width: Math.max(x(to) - x(from), 1.5), height: 10, class: "limits" }));
  if (reading) {
    const [from, at, to] = reading;
    drawn.append(draw("path", { d: `M${x(from)} 2v14M${x(to)} 2v14M${x(from)} 9H${x(to)}`, class: "interval" }), draw("circle", { cx: x(at), cy: 9, r: 2.4, class: "value" }));
  }
  return drawn;
}
