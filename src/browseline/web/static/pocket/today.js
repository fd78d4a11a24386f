// Today on the phone: limits of each mob in order of arrival, what is shut, and what can wait.

import { el } from "./dom.js";
import { limitsOf } from "./lookup.js";
import { placeName } from "./view.js";
import { dayWords, say, timeWords, weekdayWords } from "./words.js";

/** The page. @param {object} ctx  carried, farm, now: see shell.js */
export function today(ctx) {
  const { carried, farm, now } = ctx;
  const parts = [el("h1", {}, weekdayWords(now, carried.zone))];
  for (const alarm of farm.alarms) parts.push(el("p", { class: "alarm", role: "alert" }, alarm));
  if (!farm.entered && carried.quiet_until && now < Date.parse(carried.quiet_until)) {
    parts.push(el("p", { class: "quiet" }, say("quiet", { time: timeWords(Date.parse(carried.quiet_until), carried.zone, now) })));
  }
  for (const mob of farm.mobs) parts.push(mobPart(ctx, mob));
  parts.push(...shutPart(ctx), ...waitPart(ctx));
  parts.push(el("p", { class: "made" }, made(ctx)));
  return parts;
}

/** When the table was worked out, and whether it still reaches. */
function made({ carried, farm, now }) {
  const at = Date.parse(carried.made);
  const time = timeWords(at, carried.zone, now, true);
  if (now > at + carried.limits.days * 86400000) return say("made_old", { time });
  return say(farm.entered ? "made_entered" : "made", { time });
}

function mobPart(ctx, mob) {
  const { carried, farm, now } = ctx;
  const since = mob.since ? say("since", { time: timeWords(Date.parse(mob.since), carried.zone, now, true) }) : "";
  const list = el("ol", { class: "limits" });
  if (mob.at >= 0) {
    const paddock = farm.paddocks[mob.at];
    const read = paddock.read && paddock.read.at >= (mob.arrived ?? 0) - 36 * 3600000 ? paddock.read : null;
    const found = limitsOf(carried, mob.index, mob.at, mob.arrived, read, now);
    list.append(...found.map((one, i) => line(ctx, one, i === 0)));
  }
  const byPlan = mob.plan && !farm.entered;
  const next = byPlan && mob.plan_same ? "" : nextPlace(ctx, mob);
  return el(
    "section",
    { class: "mob", "data-mob": mob.id },
    el("h2", {}, `${mob.name} · ${mob.heads}`),
    el("p", { class: "place" }, say("stands", { place: placeName(carried, mob.place) }), " ", since),
    list.children.length ? list : el("p", {}, say("no_limits")),
    byPlan ? el("p", { class: "next" }, mob.plan) : null,
    next ? el("p", { class: "next" }, next) : null,
    el(
      "p",
      { class: "acts" },
      el("a", { class: "act", href: `#move/${encodeURIComponent(mob.id)}` }, say("moved_act")),
      el("a", { class: "act", href: `#count/${encodeURIComponent(mob.id)}` }, say("count_act")),
      mob.at >= 0 ? el("a", { class: "act", href: `#walk/${encodeURIComponent(mob.place)}` }, say("walk_act")) : null,
      mob.at >= 0 ? el("a", { class: "act", href: `#look/${encodeURIComponent(mob.place)}` }, say("look_act")) : null,
    ),
  );
}

/** One limit: when, its range, why, what to do; of those after the first the last two open by a tap. */
function line({ carried, now }, one, isFirst) {
  const time = (at) => timeWords(at, carried.zone, now);
  let when = one.hard === "question" ? say("open_question") : "";
  if (one.likely !== null) when = one.likely <= now ? say("now") : say("by", { time: time(one.likely) });
  const [chance, why] = chanceWords(carried, now, one.chance);
  if (chance) when = say("chance.when", { when, chance });
  const short = [one.short, why].filter(Boolean).join("; ");
  const [first, last] = one.likely === null ? ["", ""] : [time(one.earliest), time(one.latest)];
  const wide = one.likely !== null && one.latest - one.earliest > 3600000 && first !== last;
  const more = [
    one.because && one.because !== one.short ? el("span", { class: "because" }, ` ${one.because}`) : null,
    el("span", { class: "do" }, ` ${one.act}`),
  ];
  return el(
    "li",
    {},
    el("strong", { class: "when" }, when ? `${one.name}: ${when}` : one.name),
    short ? el("span", { class: "short" }, ` ${short}`) : null,
    wide ? el("span", { class: "range" }, ` ${say("between", { first, last })}`) : null,
    el("span", { class: "mark" }, ` ${say(`mark.${one.mark}`)}`),
    ...(isFirst ? more : [el("details", {}, el("summary", {}, say("why")), ...more)]),
  );
}

/** The last chance to move before a limit bites on days on which nobody can, and why it is the last; or none. */
function chanceWords({ zone }, now, chance) {
  if (!chance) return ["", ""];
  const before = weekdayWords(chance.leaveBy - 1, zone);
  let words = say("chance.day", { day: before });
  if (chance.gone) words = say("chance.gone");
  else if (before === weekdayWords(now, zone)) words = say("chance.today");
  const [first, last] = [dayWords(chance.first, zone), dayWords(chance.last, zone)];
  return [words, first === last ? say("chance.one_day", { day: first }) : say("chance.days", { first, last })];
}

/** Where next: as the server said, or of its order the first that is still open and free. */
function nextPlace({ carried, farm, now }, mob) {
  if (!farm.entered && !mob.next) return mob.because;
  const taken = new Set(farm.mobs.filter((other) => other.id !== mob.id).map((other) => other.at));
  for (const place of mob.places) {
    const paddock = farm.paddocks[place.paddock];
    if (place.paddock === mob.at || paddock.shut || taken.has(place.paddock)) continue;
    if (place.state === "fit") return say("next", { name: paddock.name, height: paddock.height, because: paddock.id === mob.next ? mob.because : "" });
    if (place.state === "waits" && place.fit_at) {
      const day = Date.parse(place.fit_at);
      if (day <= now) return say("next", { name: paddock.name, height: paddock.height, because: "" });
      return say("next_waits", { name: paddock.name, height: paddock.height, day: dayWords(day, carried.zone) });
    }
  }
  return say("next_none");
}

function shutPart({ carried, farm }) {
  const shut = farm.paddocks.filter((paddock) => paddock.shut);
  const list = el("ul", {}, ...shut.map((paddock) => el("li", {}, `${paddock.name}: ${paddock.shut} `, el("a", { class: "act", href: `#open/${encodeURIComponent(paddock.id)}` }, say("open_act")))));
  for (const rule of carried.rules) list.append(el("li", {}, rule));
  return [el("h2", {}, say("shut_title")), list, el("p", { class: "acts" }, el("a", { class: "act", href: "#shut" }, say("shut_act")))];
}

function waitPart({ carried }) {
  if (!carried.can_wait.length) return [];
  return [el("h2", {}, say("can_wait")), el("ul", {}, ...carried.can_wait.map((words) => el("li", {}, words)))];
}
