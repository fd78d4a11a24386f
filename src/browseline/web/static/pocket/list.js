// The entries of this phone: what is unsent, what was refused and why, undo, and saving them as a file.

import { button, el } from "./dom.js";
import { write } from "./entries.js";
import { change } from "./store.js";
import { placeName } from "./view.js";
import { known, say, timeWords } from "./words.js";

const DAY = 24 * 3600000;

/** An entry in one line. */
function words(ctx, { event }) {
  const { carried, farm } = ctx;
  const subject = farm.mobs.find((mob) => mob.id === event.subject)?.name ?? placeName(carried, event.subject);
  const value = Object.entries(event.value)
    .filter(([, item]) => item !== true)
    .map(([name, item]) => (name === "to" ? placeName(carried, item) : typeof item === "object" && !Array.isArray(item) ? JSON.stringify(item) : [].concat(item).join(", ")));
  const at = timeWords(Date.parse(event.observed.split("/").pop()), carried.zone, ctx.now, true);
  return say("entry", { kind: known(`kind.${event.kind}`) ? say(`kind.${event.kind}`) : event.kind, subject: event.kind === "undone" ? "" : subject, value: value.join(", "), time: at });
}

/** Save entries as JSON lines, as the record reads them. */
export function save(entries, name) {
  const text = entries.map((entry) => `${JSON.stringify(entry.event)}\n`).join("");
  const url = URL.createObjectURL(new Blob([text], { type: "application/jsonl" }));
  const link = el("a", { href: url, download: name });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 60000);
}

/** The page of entries. */
export function list(ctx) {
  const waiting = ctx.entries.filter((entry) => entry.state !== "kept");
  const parts = [el("h1", {}, say("list_title")), el("p", {}, waiting.length ? say("unsent", { count: waiting.length }) : say("all_sent"))];
  parts.push(el("p", {}, say(ctx.place)), el("p", {}, say(ctx.storage)));
  if (waiting.length) {
    const day = new Date(ctx.now).toISOString().slice(0, 10);
    parts.push(el("p", { class: "acts" }, button(say("save_file"), () => save(waiting, `unsent-${day}.jsonl`))));
  }
  const undone = new Set(ctx.entries.filter((e) => e.event.kind === "undone").map((e) => e.event.supersedes));
  const rows = [...ctx.entries].reverse().map((entry) => row(ctx, entry, undone.has(entry.id)));
  parts.push(rows.length ? el("ul", { class: "entries" }, ...rows) : el("p", {}, say("list_none")));
  return parts;
}

function row(ctx, entry, isUndone) {
  const told = [el("span", {}, words(ctx, entry)), el("strong", {}, ` ${isUndone ? say("state.undone") : say(`state.${entry.state}`)}`)];
  if (entry.why) told.push(el("p", { class: "wrong" }, entry.why));
  const may = entry.event.kind !== "undone" && !isUndone && entry.at > ctx.now - DAY && entry.state !== "refused";
  if (may) told.push(button(say("undo"), () => undo(ctx, entry)));
  if (entry.state === "refused") told.push(button(say("again"), async () => {
    await change([entry.id], (held) => ({ ...held, state: "unsent", why: "" }));
    ctx.kept("");
  }));
  return el("li", { "data-state": entry.state }, ...told);
}

/** Take an entry back; both stay in the record. */
async function undo(ctx, entry) {
  await write("undone", entry.event.subject, {}, { supersedes: entry.id });
  ctx.kept(say("undone"));
}
