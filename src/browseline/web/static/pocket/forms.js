// The short forms of the field: moved, walked, looked, shut, opened, counted. Two taps and a confirm.

import { button, el, field } from "./dom.js";
import { write } from "./entries.js";
import { centimetres, placeName } from "./view.js";
import { dayWords, say, timeWords } from "./words.js";

/** A list of large buttons to choose from. */
function choose(title, choices) {
  return [el("h1", {}, title), el("div", { class: "choices" }, ...choices.map(([text, href]) => el("a", { class: "choice", href }, text)))];
}

const to = (...parts) => `#${parts.map(encodeURIComponent).join("/")}`;

/** The last step: what will be kept, in words, and the button that keeps it. */
function confirm(ctx, words, fields, make, check = () => "") {
  const wrong = el("p", { class: "wrong", role: "alert", hidden: true });
  const form = el("form", { class: "confirm" }, el("h1", {}, words), el("p", {}, timeWords(ctx.now, ctx.carried.zone, ctx.now, true)), ...fields, wrong);
  form.append(el("button", { type: "submit", class: "keep" }, say("keep")), button(say("back"), () => history.back()));
  let busy = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const said = Object.fromEntries(new FormData(form));
    const problem = check(said);
    wrong.hidden = !problem;
    wrong.textContent = problem;
    if (problem || busy) return;
    busy = true;
    try {
      const [kind, subject, value] = make(said);
      await write(kind, subject, value);
      ctx.kept(words);
    } catch (reason) {
      busy = false;
      wrong.hidden = false;
      wrong.textContent = say("not_kept", { why: reason && reason.message ? reason.message : String(reason) });
    }
  });
  return [form];
}

const nameOf = (list, id) => list.find((one) => one.id === id);
const paddockChoice = (ctx, title, kind) => choose(title, ctx.farm.paddocks.map((p) => [p.height ? say("paddock_height", { name: p.name, height: p.height }) : p.name, to(kind, p.id)]));
const mobChoice = (ctx, title, kind) => choose(title, ctx.farm.mobs.map((mob) => [say("mob_at", { mob: mob.name, place: placeName(ctx.carried, mob.place) }), to(kind, mob.id)]));

/** Moved: the mob, where to, keep. */
export function move(ctx, mobId, placeId) {
  const mob = nameOf(ctx.farm.mobs, mobId);
  if (!mob) return mobChoice(ctx, say("move_which"), "move");
  if (!placeId) return choose(say("move_where", { mob: mob.name }), ways(ctx, mob));
  const paddock = nameOf(ctx.farm.paddocks, placeId);
  const shut = paddock ? paddock.shut : "";
  const fields = shut ? [el("p", { class: "alarm" }, say("move_shut", { paddock: paddock.name, because: shut })), field(say("despite"), "despite", { required: true })] : [];
  const words = say("moved_words", { mob: mob.name, place: placeName(ctx.carried, placeId) });
  return confirm(ctx, words, fields, (said) => ["moved", mob.id, { to: placeId, despite_shut: said.despite }]);
}

/** Places to go to: ready ones first, then as they become fit, shut ones last. */
function ways({ carried, farm, now }, mob) {
  const seen = new Set();
  const found = [];
  const add = (paddock, words) => {
    seen.add(paddock.id);
    found.push([paddock.shut ? say("way_shut", { name: paddock.name, because: paddock.shut }) : words, to("move", mob.id, paddock.id), paddock.shut]);
  };
  for (const place of mob.places) {
    const paddock = farm.paddocks[place.paddock];
    if (place.paddock === mob.at) continue;
    const at = place.fit_at ? Date.parse(place.fit_at) : 0;
    const fields = { name: paddock.name, height: paddock.height, day: at ? dayWords(at, carried.zone) : "" };
    add(paddock, say(place.state === "waits" && at > now ? "way_waits" : `way_${place.state}`, fields));
  }
  for (const paddock of farm.paddocks) if (!seen.has(paddock.id) && paddock.index !== mob.at) add(paddock, paddock.name);
  const yards = carried.yards.filter(([id]) => id !== mob.place).map(([id, name]) => [name, to("move", mob.id, id), ""]);
  return [...found.filter(([, , shut]) => !shut), ...yards, ...found.filter(([, , shut]) => shut)];
}

/** Walked: the paddock, its height, keep. */
export function walk(ctx, id) {
  const paddock = nameOf(ctx.farm.paddocks, id);
  if (!paddock) return paddockChoice(ctx, say("walk_which"), "walk");
  const units = Object.keys(ctx.carried.units_cm);
  const fields = [
    field(say("height", {}), "height", { inputmode: "decimal", required: true, autofocus: true }),
    field(say("unit"), "unit", { tag: "select", children: units.map((unit) => el("option", { value: unit }, say(`unit.${unit}`))) }),
    field(say("density"), "density", { tag: "select", children: ["", "fair", "good", "excellent"].map((d) => el("option", { value: d }, d ? say(`density.${d}`) : say("density.none"))) }),
  ];
  const typed = (said) => `${said.height.trim().replace(",", ".")} ${said.unit}`;
  const check = (said) => (/^\d+([.,]\d+)?$/.test(said.height.trim()) && centimetres(typed(said), ctx.carried.units_cm) >= 0 ? "" : say("height_wrong", { text: said.height }));
  return confirm(ctx, say("walk_title", { paddock: paddock.name }), fields, (said) => ["walked", paddock.id, { height: typed(said), density: said.density }], check);
}

const whole = (text) => (text && /^\d+$/.test(text.trim()) ? Number(text) : null);

/** Looked: the paddock, what was looked at, what was seen, keep. */
export function look(ctx, id, at) {
  const paddock = nameOf(ctx.farm.paddocks, id);
  if (!paddock) return paddockChoice(ctx, say("look_which"), "look");
  if (!LOOKS[at]) return choose(say("look_at", { paddock: paddock.name }), Object.keys(LOOKS).map((name) => [say(`look.${name}`), to("look", id, name)]));
  const number = (name) => field(say(`look.field.${name}`), name, { inputmode: "numeric" });
  const fields = LOOKS[at].map(number);
  if (at === "trees" && paddock.plantings.length > 1) {
    fields.unshift(field(say("look.field.planting"), "planting", { tag: "select", children: paddock.plantings.map(([key, name]) => el("option", { value: key }, name)) }));
  }
  const planting = at === "trees" && paddock.plantings.length === 1 ? paddock.plantings[0][0] : "";
  const make = (said) => ["looked", paddock.id, { at, planting: said.planting || planting, seen: whole(said.seen), bitten: whole(said.bitten), barked: whole(said.barked), bare: said.bare ? `${said.bare.trim()} %` : "", clear: at === "clear" ? true : null }];
  const check = (said) => {
    const bad = LOOKS[at].find((name) => said[name] && whole(said[name]) === null);
    if (bad) return say("number_wrong", { text: said[bad] });
    if (at === "trees" && whole(said.seen) === null) return say("look_seen");
    const most = whole(said.seen) ?? Infinity;
    return (whole(said.bitten) ?? 0) > most || (whole(said.barked) ?? 0) > most ? say("look_more") : "";
  };
  return confirm(ctx, say("look_title", { what: say(`look.${at}`), paddock: paddock.name }), fields, make, check);
}

/** What can be looked at, and the numbers that go with it. */
const LOOKS = { trees: ["seen", "bitten", "barked"], ground: ["bare"], animals: [], clear: [] };

/** Shut: the paddock, why and until when, keep. */
export function shut(ctx, id) {
  const paddock = nameOf(ctx.farm.paddocks, id);
  if (!paddock) return paddockChoice(ctx, say("shut_which"), "shut");
  const fields = [field(say("because"), "because", { required: true, autofocus: true }), field(say("until"), "until")];
  return confirm(ctx, say("shut_words", { paddock: paddock.name }), fields, (said) => ["shut", paddock.id, { because: said.because.trim(), until: said.until.trim() }]);
}

/** Opened: the paddock, whether its condition is met, keep. */
export function open(ctx, id) {
  const paddock = nameOf(ctx.farm.paddocks, id);
  const closed = ctx.farm.paddocks.filter((one) => one.shut);
  if (!paddock) return choose(say("open_which"), closed.map((one) => [say("way_shut", { name: one.name, because: one.shut }), to("open", one.id)]));
  const fields = [el("p", {}, paddock.shut), field(say("met"), "met", { required: true, autofocus: true })];
  return confirm(ctx, say("open_words", { paddock: paddock.name }), fields, (said) => ["opened", paddock.id, { met: said.met.trim() }]);
}

/** Counted: the mob, how many, keep. */
export function count(ctx, mobId) {
  const mob = nameOf(ctx.farm.mobs, mobId);
  if (!mob) return mobChoice(ctx, say("count_which"), "count");
  const fields = [el("p", {}, mob.heads), field(say("count_head"), "head", { inputmode: "numeric", required: true, autofocus: true })];
  const check = (said) => (whole(said.head) === null ? say("number_wrong", { text: said.head }) : "");
  return confirm(ctx, say("count_title", { mob: mob.name }), fields, (said) => ["counted", mob.id, { head: [String(whole(said.head))] }], check);
}
