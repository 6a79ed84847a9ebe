// Starts the console: the frame around the pages, and which page the address names.
import { isAbort } from "./api.js";
import { problemBox, tell } from "./dialog.js";
import { datum, fill, h } from "./dom.js";
import { Live } from "./live.js";
import { mark } from "./marks.js";
import { loadSession, onSession, session, signIn, signOut } from "./session.js";
import { shortTime, useZone } from "./times.js";
import { parts, t, useLanguage, word } from "./words.js";
import * as aside from "./pages/aside.js";
import * as casePage from "./pages/case.js";
import * as cases from "./pages/cases.js";
import * as instrument from "./pages/instrument.js";
import * as instruments from "./pages/instruments.js";
import * as now from "./pages/now.js";
import * as outlets from "./pages/outlets.js";
import * as record from "./pages/record.js";
import * as setup from "./pages/setup.js";
import * as subject from "./pages/subject.js";
import * as unbound from "./pages/unbound.js";

// First the ones that a person at the counter needs: on a phone these stand at the thumb, the rest behind "More".
const navigation = ["now", "cases", "unbound", "aside", "instruments", "outlets", "setup"];

// The path's parts are escaped each. Who stands first wins.
const routes = [
  [/^now$/, now, "now"],
  [/^cases$/, cases, "cases"],
  [/^cases\/([^/]+)\/record$/, record, "cases"],
  [/^cases\/([^/]+)$/, casePage, "cases"],
  [/^subjects\/([^/]+)$/, subject, "cases"],
  [/^unbound$/, unbound, "unbound"],
  [/^aside$/, aside, "aside"],
  [/^instruments$/, instruments, "instruments"],
  [/^instruments\/([^/]+)$/, instrument, "instruments"],
  [/^outlets$/, outlets, "outlets"],
  [/^setup$/, setup, "setup"],
];

const live = new Live();
const main = h("main", { id: "main", tabindex: "-1" });
let leaving = new AbortController();

function located() {
  const [path, search = ""] = location.hash.replace(/^#\/?/, "").split("?");
  const query = new URLSearchParams(search);
  for (const [pattern, page, section] of routes) {
    const match = path.match(pattern);
    if (match) return { page, section, parameters: match.slice(1).map(decodeURIComponent), query };
  }
  return { page: now, section: "now", parameters: [], query };
}

function markSection(section) {
  for (const link of document.querySelectorAll("nav a[data-section]")) {
    if (link.dataset.section === section) {
      link.setAttribute("aria-current", "page");
    } else {
      link.removeAttribute("aria-current");
    }
  }
  document.body.classList.toggle("in-more", navigation.indexOf(section) > 2);
}

async function showPage(isFirst) {
  leaving.abort();
  leaving = new AbortController();
  const { signal } = leaving;
  const { page, section, parameters, query } = located();
  for (const dialog of document.querySelectorAll("dialog[open]")) dialog.close();
  closeMore();
  markSection(section);
  document.body.dataset.page = page.name;
  fill(main);
  main.setAttribute("aria-busy", "true");
  const root = h("div", { class: `page page-${page.name}` });
  main.append(root);
  try {
    await page.show({ root, parameters, query, signal, live });
  } catch (error) {
    if (isAbort(error) || signal.aborted) return;
    fill(
      root,
      h("h1", { tabindex: "-1" }, t("problem.title")),
      problemBox(error),
      h("p", {}, h("button", { type: "button", on: { click: () => showPage(false) } }, t("problem.again"))),
    );
  }
  if (signal.aborted) return;
  main.removeAttribute("aria-busy");
  const title = root.querySelector("h1");
  document.title = `${title?.textContent ?? ""} · ${session.now.site}`;
  if (isFirst) return;
  scrollTo(0, 0);
  title?.focus({ preventScroll: true });
}

function closeMore() {
  document.querySelector("nav")?.classList.remove("is-open");
  document.getElementById("more")?.setAttribute("aria-expanded", "false");
}

function navigationBar() {
  const links = navigation.map((section) =>
    h("li", {}, h("a", { href: `#/${section}`, "data-section": section }, t(`nav.${section}`))),
  );
  const more = h(
    "button",
    {
      type: "button",
      id: "more",
      "aria-expanded": "false",
      on: {
        click: () => {
          more.setAttribute("aria-expanded", String(nav.classList.toggle("is-open")));
        },
      },
    },
    t("nav.more"),
  );
  const nav = h(
    "nav",
    {
      "aria-label": t("nav.label"),
      on: {
        keydown: (event) => {
          if (event.key !== "Escape" || !nav.classList.contains("is-open")) return;
          closeMore();
          more.focus();
        },
      },
    },
    h("ul", {}, links, h("li", { class: "more" }, more)),
  );
  return nav;
}

function liveBadge() {
  const badge = h("p", { class: "live", id: "live", role: "status" });
  const show = () => {
    badge.classList.toggle("is-lost", !live.isLive);
    if (live.isLive) {
      fill(badge, mark("live"), h("span", {}, t("live.on")));
    } else if (live.lostAt === null) {
      fill(badge, mark("lost"), h("span", {}, t("live.starting")));
    } else {
      fill(badge, mark("lost"), h("span", {}, parts("live.off", { at: shortTime(live.lostAt) })));
    }
  };
  live.addEventListener("state", show);
  show();
  return badge;
}

function signedIn() {
  const place = h("div", { class: "who" });
  const show = () => {
    if (session.now.signed_in) {
      fill(
        place,
        h(
          "span",
          {},
          parts("session.who", { name: datum(session.now.token ?? ""), role: word("role", session.now.role) }),
        ),
        h(
          "button",
          {
            type: "button",
            id: "sign",
            on: {
              click: async () => {
                try {
                  await signOut();
                } catch (error) {
                  tell(error.message);
                }
              },
            },
          },
          t("session.out"),
        ),
      );
    } else {
      fill(place, h("button", { type: "button", id: "sign", on: { click: () => signIn() } }, t("session.in")));
    }
  };
  onSession(show);
  show();
  return place;
}

function frame() {
  document.body.append(
    h(
      "a",
      {
        class: "skip",
        href: "#main",
        on: {
          click: (event) => {
            event.preventDefault();
            (main.querySelector("h1") ?? main).focus();
          },
        },
      },
      t("skip"),
    ),
    h(
      "header",
      {},
      h("p", { class: "brand" }, datum("Girdle", "strong"), h("span", {}, " "), datum(session.now.site)),
      navigationBar(),
      liveBadge(),
      signedIn(),
    ),
    main,
    h("div", { id: "told", role: "status" }),
    h(
      "footer",
      {},
      h("p", { class: "notice", lang: "en" }, session.now.notice),
      h("p", {}, parts("foot.version", { version: datum(session.now.version), zone: datum(session.now.timezone) })),
    ),
  );
}

async function start() {
  const asked = new URLSearchParams(location.search).get("lang");
  useLanguage(asked ?? "en");
  try {
    await loadSession();
  } catch (error) {
    fill(
      document.body,
      h(
        "main",
        {},
        h("h1", {}, t("problem.title")),
        problemBox(error),
        error.status === 401
          ? h(
              "button",
              {
                type: "button",
                on: {
                  click: async () => {
                    if (await signIn()) location.reload();
                  },
                },
              },
              t("session.in"),
            )
          : h("button", { type: "button", on: { click: () => location.reload() } }, t("problem.again")),
      ),
    );
    return;
  }
  if (asked === null) useLanguage(session.now.language);
  useZone(session.now.timezone, session.now.now);
  frame();
  addEventListener("hashchange", () => showPage(false));
  onSession(() => live.again());
  live.start();
  await showPage(true);
}

start();
