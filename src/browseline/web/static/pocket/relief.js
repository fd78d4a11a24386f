// The relief sheet from the phone's own store: printed without a signal, with what was entered here since.

import { button, el } from "./dom.js";
import { placeName } from "./view.js";
import { say } from "./words.js";

const row = (...cells) => el("tr", {}, ...cells.map((cell) => el("td", {}, cell)));
const table = (rows) => el("table", {}, el("tbody", {}, ...rows));

/** The sheet as a page that prints on one side. */
export function relief(ctx) {
  const sheet = ctx.relief;
  if (!sheet) return [el("h1", {}, say("relief.title")), el("p", {}, say("relief.none"))];
  const moved = (mob, i) => {
    const now = ctx.farm.mobs[i];
    return now && now.arrived !== null ? placeName(ctx.carried, now.place) : mob.place;
  };
  const here = ctx.farm.paddocks.filter((p) => p.shut && p.shut !== ctx.carried.paddocks[p.index].shut);
  const opened = new Set(ctx.farm.paddocks.filter((p) => !p.shut && ctx.carried.paddocks[p.index].shut).map((p) => p.name));
  return [
    button(say("relief.print"), () => window.print(), { class: "screen" }),
    el("article", { class: "sheet" },
      el("h1", {}, say("relief.head", { farm: sheet.farm, span: sheet.span })),
      el("p", {}, sheet.printed, ctx.farm.entered ? ` ${say("relief.entered")}` : ""),
      el("p", {}, el("strong", {}, say("relief.emergency", { number: sheet.emergency })), ` ${sheet.place}`),
      el("p", {}, sheet.phones.map((one) => [one.role, one.name, one.phone].filter(Boolean).join(" ")).join(" · ")),
      ...ctx.farm.alarms.map((alarm) => el("p", { class: "alarm" }, alarm)),
      el("h2", {}, say("relief.now")),
      table(sheet.mobs.map((mob, i) => row(mob.name, moved(mob, i), mob.heads, ...sheet.days.map((day) => `☐ ${day}`)))),
      el("h2", {}, say("relief.moves")),
      sheet.moves.length ? table(sheet.moves.map((m) => row("☐", `${m.day} ${m.time}`, m.mob, `${m.start} → ${m.to}`, m.note))) : sheet.left_out ? null : el("p", {}, say("relief.no_moves")),
      ...(sheet.left_out ? [el("p", {}, sheet.left_out)] : []),
      el("h2", {}, say("relief.shut")),
      el("ul", {},
        ...sheet.shut.filter((s) => ![...opened].some((name) => s.paddocks.endsWith(` ${name}`))).map((s) => el("li", {}, `${s.paddocks}: ${s.because}`)),
        ...here.map((p) => el("li", {}, `${p.name}: ${p.shut}`))),
      ...(sheet.hay && sheet.hay.length ? [
        el("h2", {}, say("relief.hay")),
        el("ul", {}, ...sheet.hay.map((h) => el("li", {}, `${h.paddocks}: ${h.words}`)))] : []),
      el("h2", {}, say("relief.water")),
      el("ul", {}, ...sheet.water.map(([place, words]) => el("li", {}, `${place}: ${words}`))),
      el("p", {}, sheet.energiser.join(" "), " ", sheet.wire),
      el("ul", {}, ...[...sheet.look_for, ...sheet.cautions].map((words) => el("li", {}, words))),
      el("dl", {}, ...sheet.ifs.flatMap(([head, words]) => [el("dt", {}, head), el("dd", {}, words)]))),
  ];
}
