// The pocket's page: shows what the phone carries, takes entries, and sends them when there is a signal.

import { el } from "./dom.js";
import * as forms from "./forms.js";
import { list } from "./list.js";
import { prepare, storage } from "./place.js";
import { relief } from "./relief.js";
import { all, BASE } from "./store.js";
import { sync } from "./sync.js";
import { today } from "./today.js";
import { farmNow } from "./view.js";
import { loadWords, say } from "./words.js";

const EVERY_MS = 20000;
const root = document.getElementById("pocket");
const state = { signal: null, place: "offline_waiting", storage: "storage_unknown", told: "", other: false, paired: true };
const SCREENS = { today, list, relief, lost: today, away: today, pocket: today, ...forms };

/** Sentences and store are asked for side by side. */
const worded = loadWords();

/** What every screen is drawn from. */
async function context() {
  const [held] = await Promise.all([all(["carried", "relief", "news", "other_table"]), worded]);
  const { carried, entries, relief: sheet, news } = held;
  state.other = Boolean(held.other_table);
  const farm = carried ? farmNow(carried, entries, news) : null;
  return { carried, entries, farm, relief: sheet, now: Date.now(), place: state.place, storage: state.storage, kept };
}

/** After an entry is on the disk: say so, show Today, and try to send it. */
function kept(words) {
  state.told = words ? say("kept", { words }) : "";
  if (location.hash === "#today" || location.hash === "") draw();
  else location.hash = "#today";
  again();
}

/** The lines above every screen: signal, unsent entries, what was kept. */
function strip(ctx, screen) {
  const waiting = ctx.entries.filter((entry) => entry.state !== "kept").length;
  const refused = ctx.entries.filter((entry) => entry.state === "refused").length;
  const signal = state.signal === null ? "" : say(state.signal ? "signal" : waiting ? "no_signal_kept" : "no_signal");
  return [
    el("p", { class: "signal", role: "status" }, signal, " ", el("a", { href: "#list" }, waiting ? say("unsent", { count: waiting }) : say("all_sent"))),
    refused ? el("p", { class: "alarm" }, el("a", { href: "#list" }, say("refused", { count: refused }))) : null,
    state.told ? el("p", { class: "kept", role: "status" }, state.told) : null,
    screen === "lost" ? el("p", { class: "alarm", role: "alert" }, say("lost")) : null,
    screen === "away" ? el("p", { class: "alarm" }, say("away")) : null,
    state.other ? el("p", {}, say("other_table")) : null,
    state.paired ? null : el("p", { class: "alarm" }, say("not_paired"), " ", el("a", { href: `${BASE}pair` }, say("pair"))),
    state.place.startsWith("offline_") && !["offline_ready", "offline_waiting"].includes(state.place) ? el("p", { class: "alarm" }, say(state.place)) : null,
  ];
}

/** The ways to every screen, under the one at hand. */
function ways(screen) {
  const links = ["today", "move", "walk", "look", "shut", "open", "count", "relief", "list"];
  const own = links.map((name) => el("a", { class: "act", href: `#${name}`, "aria-current": name === screen ? "page" : null }, say(`nav.${name}`)));
  return el("nav", { class: "acts", "aria-label": say("nav") }, ...own, el("a", { class: "act", href: `${BASE}today` }, say("nav.all")));
}

let drawn = "";

async function draw(only = false) {
  const ctx = await context();
  const parts = location.hash.slice(1).split("/").map(decodeURIComponent);
  const screen = parts[0] in SCREENS ? parts[0] : "today";
  // A form that somebody fills in is not drawn anew under their hand.
  if (only && drawn === location.hash && root.querySelector("form")) return;
  drawn = location.hash;
  const body = ctx.carried ? SCREENS[screen](ctx, ...parts.slice(1)) : [el("p", {}, say("nothing_carried"))];
  root.replaceChildren(...strip(ctx, screen).filter(Boolean), ...body, ways(screen));
  if (!document.documentElement.dataset.ready) performance.mark("drawn");
  document.documentElement.dataset.ready = "yes";
}

async function again() {
  const told = await sync(() => {
    state.signal = true;
    return draw(true);
  });
  state.signal = told.signal;
  state.paired = told.allowed !== false;
  await draw(true);
}

async function start() {
  await draw();
  window.addEventListener("hashchange", () => {
    if (location.hash !== "#today") state.told = "";
    draw();
  });
  window.addEventListener("online", again);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && again());
  setInterval(again, EVERY_MS);
  await again();
  state.place = await prepare();
  state.storage = await storage();
  await draw(true);
}

start();
