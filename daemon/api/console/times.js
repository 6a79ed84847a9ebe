// Times as the shop's clock shows them.
import { h } from "./dom.js";
import { locale, t } from "./words.js";

let zone = "UTC";
let aheadMs = 0; // of this machine"s clock, over the service"s
let formats = {};

export function useZone(timezone, now) {
  zone = timezone;
  aheadMs = Date.now() - Date.parse(now);
  formats = {};
}

export function serviceNow() {
  return Date.now() - aheadMs;
}

function format(name, options) {
  formats[name] ??= new Intl.DateTimeFormat(locale, { timeZone: zone, ...options });
  return formats[name];
}

const clockParts = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
const clock = (ms) => format("clock", clockParts).format(ms);
const clockS = (ms) => format("clockS", { ...clockParts, second: "2-digit" }).format(ms);
const dayKey = (ms) => format("key", { year: "numeric", month: "2-digit", day: "2-digit" }).format(ms);
const day = (ms) => format("day", { day: "numeric", month: "long", year: "numeric" }).format(ms);
const dayShort = (ms) => format("dayShort", { day: "numeric", month: "short" }).format(ms);

const element = (at, text) => h("time", { datetime: at }, text);

// "10:15" today, "2 Nov, 10:15" else.
export function shortText(at) {
  const ms = Date.parse(at);
  return dayKey(ms) === dayKey(serviceNow()) ? clock(ms) : `${dayShort(ms)}, ${clock(ms)}`;
}
export const shortTime = (at) => element(at, shortText(at));
export const fullTime = (at) => element(at, `${day(Date.parse(at))}, ${clockS(Date.parse(at))}`);
export const clockTime = (at) => element(at, clockS(Date.parse(at)));
export const dayOf = (at) => element(at, day(Date.parse(at)));
export const dayName = (at) => day(Date.parse(at));

// Midnight of the days that /instruments tells ("2026-11-02") has no zone: the day is the site's own.
export function plainDay(text) {
  return new Intl.DateTimeFormat(locale, { timeZone: "UTC", day: "numeric", month: "short" }).format(
    Date.parse(`${text}T00:00:00Z`),
  );
}

const steps = [
  [60, "seconds"],
  [3600, "minutes"],
  [86400, "hours"],
  [Infinity, "days"],
];
const units = { seconds: 1, minutes: 60, hours: 3600, days: 86400 };

// "3 minutes", of a span in seconds.
export function spanText(seconds) {
  const size = Math.abs(seconds);
  const name = steps.find(([limit]) => size < limit)[1];
  return t(`span.${name}`, { n: Math.floor(size / units[name]) });
}

export function ageText(at) {
  const seconds = (serviceNow() - Date.parse(at)) / 1000;
  return seconds < 60 ? t("age.now") : t("age.ago", { span: spanText(seconds) });
}

export function daysAgo(n) {
  return new Date(serviceNow() - n * 86_400_000).toISOString();
}

export const zoneName = () => zone;
