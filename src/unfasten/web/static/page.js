// What every page does: sign out, begin a record.
import { send } from "./send.js";

document.getElementById("sign-out")?.addEventListener("click", async () => {
  await send("POST", "/api/sign-out");
  location.assign("/sign-in");
});

const bring = document.getElementById("import");
bring?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const said = document.getElementById("import-said");
  said.textContent = "Reading …";
  const answer = await send("POST", "/api/import", new FormData(bring), { form: true });
  if (answer.ok) location.assign(`/records/${encodeURIComponent(answer.data.record)}`);
  else said.textContent = [answer.data.message, answer.data.try, ...(answer.data.findings ?? []).slice(0, 5).map((one) => `${one.at ?? one.where}: ${one.message}`)].join("; ");
});

const begin = document.getElementById("begin");
if (begin) {
  const field = (name) => begin.elements.namedItem(name);
  let touched = false;
  field("id").addEventListener("input", () => { touched = true; });
  field("name").addEventListener("input", () => {
    if (!touched) field("id").value = field("name").value.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
  });
  begin.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = Object.fromEntries([...new FormData(begin)].filter(([, value]) => value !== ""));
    const answer = await send("POST", "/api/records", body);
    if (answer.ok) location.assign(`/records/${encodeURIComponent(answer.data.id)}`);
    else document.getElementById("begin-said").textContent = `${answer.data.message}; ${answer.data.try}`;
  });
}
