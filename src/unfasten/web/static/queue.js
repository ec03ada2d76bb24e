// The queue of lines that the server has not acknowledged: in IndexedDB, in order, each sent until it is acknowledged.
import { send } from "./send.js";

const request = (made) => new Promise((good, bad) => {
  made.onsuccess = () => good(made.result);
  made.onerror = () => bad(made.error);
});

export class Queue {
  constructor(record, told) {
    this.record = record;
    this.told = told;            // called with {waiting, away, kept, trouble} after every change
    this.busy = false;
    this.away = false;
    this.wait = 500;
  }

  async open() {
    const opening = indexedDB.open("unfasten-queue", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("lines", { keyPath: "place", autoIncrement: true });
    this.db = await request(opening);
    this.told({ waiting: await this.all(), away: false, kept: [] });
    this.flush();
  }

  store(mode) {
    return this.db.transaction("lines", mode, { durability: "strict" }).objectStore("lines");
  }

  async all() {
    return (await request(this.store("readonly").getAll())).filter((one) => one.record === this.record);
  }

  // Kept on this machine before anything is sent; gives the line back with its place.
  async add(line) {
    line.record = this.record;
    line.place = await request(this.store("readwrite").add(line));
    this.told({ waiting: await this.all(), away: this.away, kept: [] });
    this.flush();
    return line;
  }

  async flush() {
    if (this.busy || !this.db) return;
    this.busy = true;
    clearTimeout(this.timer);
    try {
      for (let lines = await this.all(); lines.length; lines = await this.all()) {
        const batch = lines.slice(0, 50);
        const body = { lines: batch.map(({ place, record, ...line }) => line) };
        const answer = await send("POST", `/api/records/${this.record}/lines`, body);
        if (!answer.ok) return await this.failed(answer);
        this.away = false;
        this.wait = 500;
        const store = this.store("readwrite");
        const done = new Set(answer.data.kept.map((one) => one.id));
        await Promise.all(batch.filter((one) => done.has(one.id)).map((one) => request(store.delete(one.place))));
        this.told({ waiting: await this.all(), away: false, kept: answer.data.kept });
      }
    } finally {
      this.busy = false;
    }
  }

  async failed(answer) {
    this.away = answer.status === 0 || answer.status >= 500;
    this.told({ waiting: await this.all(), away: this.away, kept: [], trouble: answer.data, status: answer.status });
    this.wait = Math.min(this.wait * 2, 8000);
    this.timer = setTimeout(() => this.flush(), this.wait);
  }
}

// A UUID also where the page has no secure context (a lab's server without TLS).
export function uuid() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
