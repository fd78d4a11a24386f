// Sends what was entered here, and fetches what the phone carries. Sending twice changes nothing: the
// record is a union. Nothing leaves the phone before the server has said that it is kept.

import { device } from "./entries.js";
import { BASE, change, entries, fact, setFact } from "./store.js";
import { withOffset } from "./ids.js";

/** Version of the table's form that this page reads. */
export const TABLE = 1;
const BATCH = 100;
const DAY = 24 * 3600 * 1000;

async function ask(path, body) {
  const headers = { Accept: "application/json" };
  if (body !== undefined) {
    headers["Content-Type"] = "application/json";
    headers["X-Csrf"] = (await fact("csrf")) ?? "";
  }
  const sent = body === undefined ? undefined : JSON.stringify(body);
  return fetch(`${BASE}${path}`, { method: body === undefined ? "GET" : "POST", headers, body: sent, cache: "no-store" });
}

/** Send a batch; one that is refused whole is sent again in halves, so that one bad entry holds up no other. */
async function send(batch) {
  const answer = await ask("pocket/events", { device: await device(), sent: withOffset(Date.now()), events: batch.map((e) => e.event) });
  if (answer.ok) {
    const told = await answer.json();
    const whys = new Map(told.refused.map((one) => [one.id, one.why]));
    await change(told.kept, (entry) => ({ ...entry, state: "kept", why: "", events: told.events }));
    await change([...whys.keys()], (entry) => ({ ...entry, state: "refused", why: whys.get(entry.id) }));
    await setFact("told", { asked: told.asked, alarms: told.alarms });
    return true;
  }
  if (answer.status !== 413 && answer.status !== 422) return false;
  if (batch.length === 1) {
    await change([batch[0].id], (entry) => ({ ...entry, state: "refused", why: `${answer.status} ${answer.statusText}` }));
    return true;
  }
  const half = Math.ceil(batch.length / 2);
  return (await send(batch.slice(0, half))) && send(batch.slice(half));
}

/** Send what is unsent. @returns {Promise<number>} how many were; -1 if the server would not take them now */
async function sendAll() {
  const unsent = (await entries()).filter((entry) => entry.state === "unsent");
  for (let at = 0; at < unsent.length; at += BATCH) {
    if (!(await send(unsent.slice(at, at + BATCH)))) return -1;
  }
  return unsent.length;
}

/** How often this phone was told that it is not paired: a table asked for before that is not kept. */
let forgotten = 0;

/** Forget what the phone carries: it is not paired any more. What is unsent stays. */
async function forget() {
  forgotten += 1;
  for (const name of ["carried", "relief", "news", "csrf"]) await setFact(name, undefined);
}

/** @returns {string} the units of a height in a table, the person's own first */
const unitsOf = (carried) => Object.keys(carried.units_cm).join(" ");

/** The relief sheet is kept before the table: the table's stamp says what is held, so a phone killed between asks again. */
async function fetchTable() {
  const [held, before] = [await fact("carried"), forgotten];
  const have = held ? `${held.table_version} ${held.events} ${unitsOf(held)} ${held.made}` : "";
  const answer = await ask(`pocket/table?have=${encodeURIComponent(have)}`);
  if (!answer.ok || answer.status === 204) return;
  const carried = await answer.json();
  if (forgotten !== before) return;
  await setFact("other_table", carried.table_version !== TABLE);
  if (carried.table_version !== TABLE) return;
  const relief = await ask("pocket/relief");
  const sheet = relief.ok ? await relief.json() : undefined;
  if (forgotten !== before) return;
  if (relief.ok) await setFact("relief", sheet);
  await setFact("carried", carried);
  const old = (await entries()).filter((e) => e.state === "kept" && e.at < Date.now() - DAY && e.events <= carried.events);
  await change(old.map((e) => e.id), () => null);
}

/** @param {() => any} told  called once it is known what is wrong now, before the table is fetched */
async function once(told) {
  const news = await ask("pocket/news");
  if (news.status === 401 || news.status === 403) {
    await forget();
    return { signal: true, allowed: false };
  }
  if (!news.ok) return { signal: false };
  const before = await news.json();
  await setFact("csrf", before.csrf);
  const sent = await sendAll();
  const after = sent === 0 ? before : await (await ask("pocket/news")).json();
  await setFact("news", after);
  await told();
  const carried = await fact("carried");
  const others = !carried || (after.units && after.units.join(" ") !== unitsOf(carried));
  const old = others || after.events !== carried.events || Date.now() - Date.parse(carried.made) > 3600000;
  return { signal: true, allowed: sent >= 0, old };
}

let running = null;
let fetching = null;

/**
 * Send and hear what is wrong now, then fetch the table if it is old. Those who ask while either runs get the
 * same; a table that takes long holds up no news.
 * @param {() => any} told  called as soon as it is known what is wrong now
 * @returns {Promise<{signal: boolean, allowed?: boolean}>}
 */
export async function sync(told = () => {}) {
  try {
    running ??= once(told).finally(() => {
      running = null;
    });
    const { old, ...found } = await running;
    if (old) {
      fetching ??= fetchTable().finally(() => {
        fetching = null;
      });
      await fetching;
    }
    return found;
  } catch (wrong) {
    if (wrong instanceof TypeError) return { signal: false };
    throw wrong;
  }
}
