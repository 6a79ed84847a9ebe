// What changes, as the service tells it. Says whether it is heard at the moment, and since when it is not.
import { get } from "./api.js";
import { serviceNow } from "./times.js";

const firstPauseMs = 2000;
const longestPauseMs = 30_000;
const proofMs = 20_000; // a dead line looks like a quiet one: a request tells them apart

export class Live extends EventTarget {
  #source = null;
  #pauseMs = firstPauseMs;
  #retry = 0;
  #proof = 0;
  isLive = false;
  lostAt = null; // time text; null: it was never live yet, or is now

  start() {
    this.#open();
    this.#proof = setInterval(() => this.#prove(), proofMs);
    addEventListener("online", () => this.again());
    addEventListener("offline", () => this.#lost());
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden && !this.isLive) this.again();
    });
  }

  // At once, with whoever is signed in now.
  again() {
    this.#source?.close();
    clearTimeout(this.#retry);
    this.#pauseMs = firstPauseMs;
    this.#open();
  }

  #open() {
    const source = new EventSource("/api/v1/events");
    this.#source = source;
    source.addEventListener("hello", () => {
      if (source !== this.#source) return;
      this.#pauseMs = firstPauseMs;
      this.isLive = true;
      this.lostAt = null;
      // What happened while nobody listened is in the lists.
      this.dispatchEvent(new Event("state"));
      this.dispatchEvent(new Event("fetch"));
    });
    source.addEventListener("changes", (event) => {
      if (source !== this.#source) return;
      this.dispatchEvent(new CustomEvent("changes", { detail: JSON.parse(event.data) }));
    });
    source.addEventListener("error", () => {
      if (source !== this.#source) return;
      this.#lost();
      // A refusal ends an EventSource for good; the break of a line does not.
      if (source.readyState === EventSource.CLOSED) this.#later();
    });
  }

  #lost() {
    if (!this.isLive && this.lostAt !== null) return;
    this.isLive = false;
    this.lostAt = new Date(serviceNow()).toISOString();
    this.dispatchEvent(new Event("state"));
  }

  #later() {
    clearTimeout(this.#retry);
    this.#retry = setTimeout(() => this.#open(), this.#pauseMs);
    this.#pauseMs = Math.min(2 * this.#pauseMs, longestPauseMs);
  }

  async #prove() {
    if (!this.isLive || document.hidden) return;
    try {
      await get("/api/v1/session");
    } catch (error) {
      if (error.status !== 0) return;
      this.#lost();
      this.#source?.close();
      this.#later();
    }
  }
}

// Calls `work` at most every `ms`, and once more after the last wish. Ends with the signal.
export function seldom(ms, work, signal) {
  let timer = 0;
  let last = -Infinity;
  signal.addEventListener("abort", () => clearTimeout(timer));
  return () => {
    if (timer !== 0 || signal.aborted) return;
    timer = setTimeout(
      () => {
        timer = 0;
        last = performance.now();
        work();
      },
      Math.max(0, last + ms - performance.now()),
    );
  };
}
