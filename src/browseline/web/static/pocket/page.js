// On every page that the server makes: gets the pocket ready, sends what is unsent, and lets an alarm in
// while the page stands open.

import { el } from "./dom.js";
import { prepare } from "./place.js";
import { BASE, entries, fact } from "./store.js";
import { sync } from "./sync.js";
import { loadWords, say } from "./words.js";

const EVERY_MS = 20000;
const strip = el("div", { id: "pocket-strip" });
let first = null;
let place = "offline_waiting";

/** Lines above the page, each only where there is something to say. */
async function draw() {
  const held = await entries();
  const waiting = held.filter((entry) => entry.state !== "kept").length;
  const news = await fact("news");
  if (news && first === null) first = news.events;
  const text = document.querySelector("main").textContent;
  const alarms = (news ? news.alarms : []).filter((alarm) => !text.includes(alarm));
  const lines = alarms.map((alarm) => el("p", { class: "alarm", role: "alert" }, alarm));
  if (news && news.events !== first) lines.push(el("p", { role: "status" }, say("newer"), " ", el("a", { href: location.href }, say("show_newer"))));
  if (waiting) lines.push(el("p", { role: "status" }, el("a", { href: `${BASE}pocket#list` }, say("unsent", { count: waiting }))));
  if (!["offline_ready", "offline_waiting"].includes(place)) lines.push(el("p", { role: "status" }, say(place)));
  const same = lines.map((line) => line.textContent).join("\n") === [...strip.children].map((line) => line.textContent).join("\n");
  if (!same) strip.replaceChildren(...lines);
  // What was entered here and is not home yet may have changed that nothing is due.
  for (const quiet of document.querySelectorAll("[data-quiet]")) quiet.hidden = waiting > 0 || alarms.length > 0;
}

async function again() {
  await sync(draw);
  await draw();
}

async function start() {
  await loadWords();
  document.querySelector("main").before(strip);
  await again();
  place = await prepare();
  await draw();
  window.addEventListener("online", again);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && again());
  setInterval(again, EVERY_MS);
}

start();
