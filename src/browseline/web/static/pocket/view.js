// The farm as this phone knows it: what the server sent, and what was entered here since.

import { say } from "./words.js";

/** @returns {object[]} entries that stand and that the table does not hold yet, in order of time */
export function standing(carried, entries) {
  const known = (entry) => entry.events !== null && carried !== undefined && entry.events <= carried.events;
  const undone = new Set(entries.filter((e) => e.event.kind === "undone").map((e) => e.event.supersedes));
  return entries
    .filter((e) => e.state !== "refused" && e.event.kind !== "undone" && !undone.has(e.id) && !known(e))
    .sort((a, b) => Date.parse(end(a.event)) - Date.parse(end(b.event)) || (a.id < b.id ? -1 : 1));
}

/** @returns {string} the instant, or the end of the interval, at which an entry was so */
function end(event) {
  return event.observed.split("/").pop();
}

/** @returns {boolean} whether something was entered here that what the server sent does not hold yet */
export function changed(carried, entries) {
  return entries.some((e) => e.state !== "refused" && !(e.events !== null && e.events <= carried.events));
}

/** A height as typed, in centimetres; NaN if it cannot be read. @param {string} text */
export function centimetres(text, unitsCm) {
  const match = /^\s*([\d.]+)\s*([a-z]+)\s*$/i.exec(text.replace(",", "."));
  return match && match[2] in unitsCm ? Number(match[1]) * unitsCm[match[2]] : NaN;
}

/**
 * The farm now.
 * @param {object|undefined} news  what the server last said was wrong, which may be newer than the table
 * @returns {{mobs: object[], paddocks: object[], alarms: string[], entered: boolean}} each mob with
 *   `at`, the place of its paddock or -1, `arrived` [ms] or null; each paddock with `read` or null
 */
export function farmNow(carried, entries, news) {
  const mobs = carried.mobs.map((mob, i) => ({ ...mob, index: i, arrived: null }));
  const paddocks = carried.paddocks.map((paddock, i) => ({ ...paddock, index: i, read: null }));
  const mobOf = (id) => mobs.find((mob) => mob.id === id);
  const paddockOf = (id) => paddocks.find((paddock) => paddock.id === id);
  for (const { event } of standing(carried, entries)) {
    const step = STEPS[event.kind];
    if (step) step(event, Date.parse(end(event)), mobOf, paddockOf, carried);
  }
  for (const mob of mobs) mob.at = paddocks.findIndex((paddock) => paddock.id === mob.place);
  const entered = changed(carried, entries);
  const heard = news && news.events >= carried.events ? news.alarms : carried.alarms;
  const alarms = entered ? [...new Set([...alarmsOf(mobs, paddocks), ...(news && news.events > carried.events ? heard : [])])] : heard;
  return { mobs, paddocks, alarms, entered };
}

const STEPS = {
  moved(event, at, mobOf) {
    const mob = mobOf(event.subject);
    const place = event.part || event.value.to;
    if (mob && (!mob.since || at >= Date.parse(mob.since))) Object.assign(mob, { place, since: event.observed, arrived: at });
  },
  walked(event, at, _mobOf, paddockOf, carried) {
    const paddock = paddockOf(event.part || event.subject);
    const cm = centimetres(event.value.height, carried.units_cm);
    if (paddock && cm >= 0) Object.assign(paddock, { read: { cm, at }, height: event.value.height });
  },
  shut(event, _at, _mobOf, paddockOf) {
    const paddock = paddockOf(event.subject);
    const until = event.value.until || event.value.until_day || "";
    if (paddock) paddock.shut = until ? say("shut_line", { because: event.value.because, until }) : event.value.because;
  },
  opened(event, _at, _mobOf, paddockOf) {
    const paddock = paddockOf(event.subject);
    if (paddock) paddock.shut = "";
  },
};

/** What shouts: a mob in a paddock that somebody shut. */
function alarmsOf(mobs, paddocks) {
  return mobs
    .filter((mob) => mob.at >= 0 && paddocks[mob.at].shut)
    .map((mob) => say("alarm", { mob: mob.name, paddock: paddocks[mob.at].name, because: paddocks[mob.at].shut }));
}

/** What people call a place. */
export function placeName(carried, id) {
  const found = carried.paddocks.find((paddock) => paddock.id === id);
  if (found) return found.name;
  const yard = carried.yards.find(([place]) => place === id);
  return yard ? yard[1] : id;
}
