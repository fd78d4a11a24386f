// What the phone writes: real entries of the record, in its own form, with kinds and versions.

import { newDevice, newId, withOffset } from "./ids.js";
import { fact, keep, setFact } from "./store.js";

/** The version of each kind as this page writes it. */
export const VERSIONS = { moved: 1, walked: 1, looked: 1, shut: 1, opened: 1, counted: 1, undone: 1 };

/** @returns {Promise<string>} this phone's id, made once */
export async function device() {
  const held = await fact("device");
  if (held) return held;
  const made = newDevice();
  await setFact("device", made);
  return made;
}

/**
 * Write an entry and keep it on this phone; it is on the disk once the promise is kept.
 * @param {string} kind
 * @param {string} subject  id of a mob or paddock, or "farm"
 * @param {object} value  what it says, numbers as typed with their unit
 * @param {{observed?: number, supersedes?: string, reason?: string, part?: string}} more
 * @returns {Promise<object>} the entry
 */
export async function write(kind, subject, value, more = {}) {
  const now = Date.now();
  const carried = await fact("carried");
  const said = Object.entries(value).filter(([, item]) => item !== "" && item !== null && item !== undefined);
  const event = {
    id: newId(now),
    device: await device(),
    who: carried ? carried.who : "owner",
    observed: withOffset(more.observed ?? now),
    recorded: withOffset(now),
    kind,
    version: VERSIONS[kind],
    subject,
    part: more.part ?? "",
    planned: false,
    supersedes: more.supersedes ?? "",
    reason: more.reason ?? "",
    value: Object.fromEntries(said),
  };
  await keep(event, now);
  if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => false);
  return event;
}
