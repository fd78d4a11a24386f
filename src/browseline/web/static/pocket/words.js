// Sentences with their numbers as fields, and times as people say them on the farm's clock.

import { BASE } from "./store.js";

let held = null;

/** Fetch the sentences; without a signal the service worker gives those that it keeps. */
export async function loadWords() {
  const answer = await fetch(`${BASE}pocket/words`);
  held = await answer.json();
}

/**
 * The sentence of a name with its fields filled in.
 * @param {string} name
 * @param {Object<string, string|number>} fields
 * @returns {string}
 */
export function say(name, fields = {}) {
  return held[name].replace(/\{(\w+)\}/g, (whole, field) => (field in fields ? String(fields[field]) : whole));
}

/** Whether there is a sentence of a name. */
export function known(name) {
  return name in held;
}

const parts = new Map();

/** The parts of an instant on a farm's clock: year, month, day, hour, minute, weekday 1 to 7. */
function local(at, zone) {
  if (!parts.has(zone)) {
    parts.set(zone, new Intl.DateTimeFormat("en-US", {
      timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric",
      hour: "numeric", minute: "numeric",
    }));
  }
  const found = {};
  for (const part of parts.get(zone).formatToParts(at)) found[part.type] = Number(part.value);
  const noon = Date.UTC(found.year, found.month - 1, found.day, 12);
  return { ...found, weekday: new Date(noon).getUTCDay() || 7, number: Math.round(noon / 86400000) };
}

/** A day: 8 Jul. */
export function dayWords(at, zone) {
  const found = local(at, zone);
  return say("day", { day: found.day, month: say(`month.${found.month}`) });
}

/** A day with its weekday: Wed 8 Jul. */
export function weekdayWords(at, zone) {
  return say("weekday", { weekday: say(`weekday.${local(at, zone).weekday}`), day: dayWords(at, zone) });
}

/**
 * An instant: Thu 9:00, or Thu 21 May past six days; what was worked out is told to the hour.
 * @param {number} at  milliseconds since 1970
 * @param {boolean} exact  whether somebody wrote it down
 */
export function timeWords(at, zone, now, exact = false) {
  const hour = 3600000;
  const told = exact ? at : Math.round(at / hour) * hour;
  const found = local(told, zone);
  if (Math.abs(found.number - local(now, zone).number) > 6) return weekdayWords(told, zone);
  const minute = String(exact ? found.minute : 0).padStart(2, "0");
  return say("time", { weekday: say(`weekday.${found.weekday}`), hour: found.hour, minute });
}

/** Names one after the other: 4, 5 and 6. */
export function listWords(items) {
  if (items.length < 2) return items.join("");
  return say("list", { first: items.slice(0, -1).join(", "), last: items[items.length - 1] });
}
