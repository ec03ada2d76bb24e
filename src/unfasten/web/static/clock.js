// The film's clock: runs, stops, is set, and marks when something was begun. It outlives a reload.
export const text = (seconds) => {
  const whole = Math.max(0, Math.floor(seconds));
  const two = (number) => String(number).padStart(2, "0");
  return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
};

export const seconds = (clock) => clock.split(":").reduce((sum, part) => sum * 60 + Number(part), 0);

export class Clock {
  constructor(record) {
    this.key = `unfasten-clock-${record}`;
    const held = JSON.parse(localStorage.getItem(this.key) ?? "null");
    this.state = held ?? { film: 0, since: null, mark: null };
  }

  keep() { localStorage.setItem(this.key, JSON.stringify(this.state)); }
  get running() { return this.state.since !== null; }
  get film() { return this.state.film + (this.running ? (Date.now() - this.state.since) / 1000 : 0); }
  get started() { return this.running || this.state.film > 0; }
  get text() { return text(this.film); }

  set(clock) {
    this.state.film = seconds(clock);
    if (this.running) this.state.since = Date.now();
    this.keep();
  }

  toggle() {
    this.state = { ...this.state, film: this.film, since: this.running ? null : Date.now() };
    this.keep();
  }

  mark() { this.state.mark = Date.now(); this.keep(); }
  unmark() { this.state.mark = null; this.keep(); }
  get took() { return this.state.mark === null ? null : Math.round((Date.now() - this.state.mark) / 1000); }
}
