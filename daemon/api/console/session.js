// Who is signed in, and what they may do.
import { del, get, post } from "./api.js";
import { ask, labelled, tell } from "./dialog.js";
import { datum, h } from "./dom.js";
import { parts, t, word } from "./words.js";

const ranks = { nobody: 0, look: 1, work: 2, admin: 3 };

export const session = { now: null }; // the last answer of /api/v1/session
const changed = new EventTarget();

export function onSession(listener, signal) {
  changed.addEventListener("change", listener, { signal });
}

function take(answer) {
  session.now = answer;
  changed.dispatchEvent(new Event("change"));
}

// An ended session is refused once; then whoever asks is nobody, who may look.
export async function loadSession() {
  try {
    take(await get("/api/v1/session"));
  } catch (error) {
    if (error.status !== 401) throw error;
    take(await get("/api/v1/session"));
  }
}

export const may = (role) => ranks[session.now.role] >= ranks[role];

// Asks for a token. `role`: what it must allow, for an action that waits.
export async function signIn(role = null) {
  const field = h("input", {
    name: "token",
    type: "password",
    required: true,
    autocomplete: "current-password",
    spellcheck: "false",
  });
  const isWanted = role !== null;
  const answer = await ask({
    title: t("signin.title"),
    content: [
      isWanted ? h("p", {}, t(`signin.needs.${role}`)) : null,
      labelled(t("signin.token"), field, t("signin.hint")),
      h("p", { class: "hint" }, parts("signin.where", { command: datum("girdled token add", "code") })),
    ],
    action: t("signin.action"),
    send: (values) => post("/api/v1/session", { token: values.get("token").trim() }),
  });
  if (answer === null) return false;
  take(answer);
  if (!isWanted || may(role)) return true;
  tell(parts("signin.toolittle", { has: word("role", answer.role), needed: word("role", role) }));
  return false;
}

export async function signOut() {
  await del("/api/v1/session");
  await loadSession();
}

// True when whoever is there may act; asks for a token first where not.
export async function mayAct(role) {
  return may(role) || signIn(role);
}

// Does what needs a role. A session may have ended since the page saw it: then it is asked for a token, and done. Null
// where the person left it.
export async function acting(role, work) {
  if (!(await mayAct(role))) return null;
  try {
    return await work();
  } catch (error) {
    if (error.status !== 401) throw error;
    await loadSession();
    return (await mayAct(role)) ? work() : null;
  }
}
