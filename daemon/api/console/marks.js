// Our own marks, beside words and never in their place. Each has a shape that no other has, so that they are told apart
// without colour and from across a counter.
import { h, svg } from "./dom.js";
import { t, word } from "./words.js";

const paths = {
  repeat: ["M19.2 13a7.3 7.3 0 1 1-1.9-6.1", "M18.5 2v5.5H13"],
  release: ["M3 12h12", "M10 6l6 6-6 6", "M20.5 4v16"],
  hold: ["M4 4h16v16H4z", "M7 12q5-5.5 10 0q-5 5.5-10 0z", "M12 11.5v1"],
  refer: ["M9 3h6", "M10 3v6.5L4.6 18.7A1.5 1.5 0 0 0 5.9 21h12.2a1.5 1.5 0 0 0 1.3-2.3L14 9.5V3", "M7.4 15h9.2"],
  reject: ["M12 3a9 9 0 1 0 0 18a9 9 0 1 0 0-18z", "M5.8 18.2L18.2 5.8"],
  none: ["M4 12h3", "M10.5 12h3", "M17 12h3"],
  reading: ["M12 4v16", "M7 8v8", "M17 8v8"],
  declaration: ["M5 4h10l4 4v12H5z", "M9 12h6", "M9 16h6"],
  delivery: ["M3 6h18v12H3z", "M3 7l9 7 9-7"],
  hand: ["M4 20l1-5L16 4l4 4L9 19z", "M13 7l4 4"],
  live: ["M12 8a4 4 0 1 0 0 8a4 4 0 1 0 0-8z", "M4.5 5a10.5 10.5 0 0 0 0 14", "M19.5 5a10.5 10.5 0 0 1 0 14"],
  lost: ["M12 8a4 4 0 1 0 0 8a4 4 0 1 0 0-8z", "M3 21L21 3"],
  open: ["M3 12h16", "M13 6l6 6-6 6"],
  paused: ["M8 5v14", "M16 5v14"],
  closed: ["M5 5l14 14", "M19 5L5 19"],
  resting: ["M6 3h12", "M6 21h12", "M7 3c0 9 10 9 10 18", "M17 3c0 9-10 9-10 18"],
  good: ["M4 13l5 5L20 6"],
  trouble: ["M12 3L2.5 20h19z", "M12 10v4", "M12 17v.5"],
};

export function mark(name, size = "") {
  return svg(`mark ${size}`, paths[name] ?? paths.none);
}

// The mark and the words for what to do, short: for lists.
export function doing(disposition) {
  return h(
    "span",
    { class: `doing is-${disposition}` },
    mark(disposition),
    h("span", {}, word("doShort", disposition)),
  );
}

// What to do with the stone in hand, in words that one acts on.
export function orderText(disposition, readings) {
  if (disposition !== "repeat") return word("do", disposition);
  const missing = readings ? readings.required - readings.valid : 0;
  if (missing > 1) return t("do.repeat.more", { n: missing });
  return missing === 1 && readings.valid > 0 ? t("do.repeat.once") : t("do.repeat");
}

export function runsText(readings) {
  const { valid, required, discounted } = readings;
  const texts = [required > 0 ? t("runs.of", { valid, n: required }) : t("runs", { n: valid })];
  if (readings.void > 0) texts.push(t("runs.void", { n: readings.void }));
  if (discounted > 0) texts.push(t("runs.discounted", { n: discounted }));
  return texts.join(", ");
}
