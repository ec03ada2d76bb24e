// The form: what is filled in is written to the entry line, and taken from there.
export function wireForm(fill) {
  const form = document.getElementById("form");
  const field = (name) => form.elements.namedItem(name).value.trim();
  form.elements.namedItem("verb").addEventListener("change", () => {
    for (const part of form.querySelectorAll("[data-for]")) part.hidden = part.dataset.for !== field("verb");
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const clause = (key, name = key) => (field(name) ? ` ${key} ${field(name)}` : "");
    const made = {
      joint: () => `${field("count")} ${field("tools")} ${field("kind")}${clause("holds")}${clause("at")}${clause("heat")}${clause("each")}${clause("under")}${clause("reuse")} ${field("survey")}`,
      lift: () => `lift ${field("lifted")}${clause("of")}${clause("behind")}`,
      part: () => `part ${field("part")}${clause("named")}${clause("role")}${clause("mass")}`,
      found: () => `found ${field("about")}${clause("clear")}${clause("under", "lies")}`,
      note: () => `note ${field("text").replace(/\s+/g, " ")}`,
    }[field("verb")]();
    fill(made.replace(/\s+/g, " ").trim());
  });
}
