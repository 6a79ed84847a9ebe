// The service's API. A refusal comes as a Problem whose `detail` a person can read.
import { t, hasWords } from "./words.js";

const patienceMs = 20_000; // milliseconds; a commit may wait for a slow disk

export class Problem extends Error {
  constructor(status, detail, retryAfter = null) {
    super(detail);
    this.status = status; // 0: nobody answered
    this.detail = detail;
    this.retryAfter = retryAfter;
  }

  // What the person can do now; empty where the detail says it all.
  advice() {
    const key = `advice.${this.status}`;
    if (this.status === 429 || this.status === 503) return t(key, { seconds: this.retryAfter ?? 5 });
    return hasWords(key) ? t(key) : "";
  }
}

async function problemOf(response) {
  let detail = "";
  try {
    const body = await response.json();
    detail = body.detail || body.title || "";
  } catch {
    // Not JSON: whatever stands between us and the service answered.
  }
  const seconds = Number.parseInt(response.headers.get("Retry-After") ?? "", 10);
  return new Problem(
    response.status,
    detail || t("problem.status", { status: String(response.status) }),
    Number.isNaN(seconds) ? null : seconds,
  );
}

async function call(path, options, signal) {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), patienceMs);
  const leave = () => patience.abort();
  signal?.addEventListener("abort", leave, { once: true });
  try {
    const response = await fetch(path, { credentials: "same-origin", ...options, signal: patience.signal });
    if (!response.ok) throw await problemOf(response);
    return response.status === 204 ? null : await response.json();
  } catch (error) {
    if (error instanceof Problem) throw error;
    if (signal?.aborted) throw new DOMException("left", "AbortError");
    throw new Problem(0, t("problem.silent"));
  } finally {
    clearTimeout(timer);
    signal?.removeEventListener("abort", leave);
  }
}

export function isAbort(error) {
  return error instanceof DOMException && error.name === "AbortError";
}

// pathOf`/api/v1/cases/${id}`: what is filled in is escaped.
export function pathOf(pieces, ...values) {
  return pieces.reduce((whole, piece, i) => whole + encodeURIComponent(values[i - 1]) + piece);
}

export function get(path, { query = {}, signal } = {}) {
  const search = new URLSearchParams(
    Object.entries(query).filter(([, value]) => value !== "" && value !== null && value !== undefined),
  );
  const text = search.toString();
  return call(text === "" ? path : `${path}?${text}`, { headers: { Accept: "application/json" } }, signal);
}

export function post(path, body, { signal } = {}) {
  return call(
    path,
    {
      method: "POST",
      headers: { "Content-Type": "application/json", "Girdle-Console": "1" },
      body: JSON.stringify(body),
    },
    signal,
  );
}

export function postBytes(path, bytes, { signal } = {}) {
  return call(
    path,
    {
      method: "POST",
      headers: { "Content-Type": "application/octet-stream", "Girdle-Console": "1" },
      body: bytes,
    },
    signal,
  );
}

export function del(path) {
  return call(path, { method: "DELETE", headers: { "Girdle-Console": "1" } });
}

// Items of a list until there are `most`. {items, more}: whether there are others.
export async function getUpTo(most, path, { query = {}, signal } = {}) {
  const items = [];
  let cursor = null;
  do {
    const page = await get(path, { query: { limit: Math.min(200, most), ...query, cursor }, signal });
    items.push(...page.items);
    cursor = page.next;
  } while (cursor !== null && items.length < most);
  return { items: items.slice(0, most), more: cursor !== null || items.length > most };
}
