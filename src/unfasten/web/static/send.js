// One way to send: with the page's token, and an answer that is always {ok, status, data}. A server that is away is status 0.
const token = document.querySelector("meta[name=token]")?.content ?? "";

const PATIENCE = 6000;          // a pulled cable refuses nothing, it is silent [ms]

export async function send(method, address, body, { form = false, patience = form ? 120_000 : PATIENCE } = {}) {
  const headers = { "x-unfasten-token": token, accept: "application/json" };
  if (body !== undefined && !form) headers["content-type"] = "application/json";
  let answer;
  try {
    answer = await fetch(address, { method, headers, signal: AbortSignal.timeout(patience), body: body === undefined ? undefined : form ? body : JSON.stringify(body) });
  } catch {
    return { ok: false, status: 0, data: { message: "the server is away", try: "what you enter is kept here and sent when it returns" } };
  }
  let data = {};
  if (answer.headers.get("content-type")?.includes("json")) data = await answer.json().catch(() => ({}));
  return { ok: answer.ok, status: answer.status, data };
}

export const get = (address) => send("GET", address);
