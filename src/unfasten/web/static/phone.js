// The phone's page: each photo is sent as soon as it is chosen.
const form = document.getElementById("phone-form");
form?.elements.namedItem("file").addEventListener("change", async (event) => {
  const state = document.getElementById("phone-state");
  let done = 0;
  for (const file of event.target.files) {
    state.textContent = `Sending ${file.name} …`;
    const body = new FormData();
    body.append("ticket", form.elements.namedItem("ticket").value);
    body.append("file", file);
    try {
      const answer = await fetch("/api/phone", { method: "POST", body });
      const data = await answer.json();
      if (!answer.ok) { state.textContent = `${file.name}: ${data.message}; ${data.try}`; return; }
      done += 1;
    } catch {
      state.textContent = `${file.name}: the bench is away; send it again`;
      return;
    }
  }
  state.textContent = `${done} ${done === 1 ? "photo is" : "photos are"} on the bench.`;
  event.target.value = "";
});
