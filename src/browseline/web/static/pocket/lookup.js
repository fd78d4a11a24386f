// Looks up when each limit bites, and puts them in order. No limit is known here, and no rule: the table
// that the server worked out says it all; between its days and heights this looks in between.

const MINUTE = 60000;
const DAY = 1440;

/** Between two answers of equal length, part of the way. */
function between(first, last, share) {
  return first.map((value, i) => value + share * (last[i] - value));
}

/**
 * The answer of a limit to a mob that comes so many minutes after the table was made.
 * @param {number[][]} knots  (day, likely, earliest, latest) | (day, 0) | (day) [d, min]
 * @returns {number[]} likely, earliest, latest [min after the table]; (0) without a date; () no word
 */
export function coming(knots, minutes) {
  if (!knots.length) return [];
  const day = minutes / DAY;
  let at = 0;
  while (at + 1 < knots.length && knots[at + 1][0] <= day) at += 1;
  const here = knots[at];
  const next = knots[at + 1];
  if (here.length < 4) return here.slice(1);
  if (next && next.length === 4) {
    return between(here.slice(1), next.slice(1), (day - here[0]) / (next[0] - here[0]));
  }
  return here.slice(1);
}

/** The place of a number between ascending ones: index below, and the share of the way to the next. */
function placed(numbers, number) {
  if (number <= numbers[0]) return [0, 0];
  for (let i = 0; i + 1 < numbers.length; i += 1) {
    if (number <= numbers[i + 1]) return [i, (number - numbers[i]) / (numbers[i + 1] - numbers[i])];
  }
  return [numbers.length - 1, 0];
}

/** Between two answers that may be of unlike kinds: then the nearer one. */
function mixed(first, last, share) {
  if (last === undefined || share === 0) return first;
  if (first.length === 3 && last.length === 3) return between(first, last, share);
  return share < 0.5 ? first : last;
}

/** The answer to a height: minutes after it was read. */
function afterReading(table, row, paddock, cm, minutes) {
  const [low, share] = placed(table.heights_cm[paddock], cm);
  const ofDay = row.heights.map((answers) => mixed(answers[low], answers[low + 1], share));
  const [day, part] = placed(table.height_at_d, minutes / DAY);
  return ofDay.length === 1 ? ofDay[0] : mixed(ofDay[day], ofDay[day + 1], part);
}

/**
 * The stretch of days on which nobody can move animals that holds the moment of a hard limit: the last chance
 * to move is before it. What bites by now has no chance to lose.
 * @param {object} carried
 * @param {number} now [ms]
 * @returns {{first: number, last: number, leaveBy: number, gone: boolean}|null}  instants: of the stretch what
 *   lies ahead of now, and until when the mob can leave [ms]
 */
export function lastChance(carried, now, hard, likely) {
  if (hard !== "hard" || likely === null || likely <= now) return null;
  const spans = (carried.still ?? []).map((ends) => ends.map((at) => Date.parse(at)));
  const span = spans.find(([begin, end]) => begin < likely && likely <= end);
  if (!span) return null;
  const leaveBy = Math.max(span[0], now);
  return { first: leaveBy, last: span[1] - 1, leaveBy, gone: span[0] <= now };
}

/**
 * What bites a mob in a paddock, first things first.
 * @param {object} carried  what the server sent
 * @param {number} mob  place of the mob in it
 * @param {number} paddock  place of the paddock in it
 * @param {number|null} arrived  when it came, if after the table was made [ms]; null if it stood there
 * @param {{cm: number, at: number}|null} read  a height that was read since [cm, ms]
 * @param {number} now [ms]
 * @returns {{name: string, short: string, because: string, act: string, hard: string, mark: string,
 *   likely: number|null, earliest: number|null, latest: number|null, chance: object|null}[]} instants [ms]
 */
export function limitsOf(carried, mob, paddock, arrived, read, now) {
  const table = carried.limits;
  const made = Date.parse(carried.made);
  const found = [];
  for (const row of table.rows[mob][paddock]) {
    let answer = arrived === null ? row.here : coming(row.come, (arrived - made) / MINUTE);
    let start = made;
    if (read && row.heights.length) {
      answer = afterReading(table, row, paddock, read.cm, (read.at - made) / MINUTE);
      start = read.at;
    }
    if (!answer.length) continue;
    const [likely, earliest, latest] = answer.length === 3 ? answer.map((min) => start + min * MINUTE) : [null, null, null];
    const why = arrived === null && !read ? row.because_here : row.because;
    found.push({
      name: table.texts[row.limit],
      short: table.texts[row.short],
      because: why < 0 ? "" : table.texts[why],
      act: table.texts[row.act],
      hard: row.hard,
      mark: row.mark,
      likely,
      earliest,
      latest,
      chance: lastChance(carried, now, row.hard, likely),
    });
  }
  return inOrder(found, now);
}

/** Bites in order: what is hard and bites by now; then by likely or the last chance before, undated last. */
function inOrder(found, now) {
  const rank = { hard: 0, soft: 1, question: 2 };
  const due = (one) => one.hard === "hard" && one.likely !== null && one.likely <= now;
  const key = (one) => [due(one) ? 0 : 1, one.chance?.leaveBy ?? one.likely ?? Infinity, rank[one.hard], one.name];
  return found.sort((a, b) => {
    const [x, y] = [key(a), key(b)];
    for (let i = 0; i < x.length; i += 1) if (x[i] !== y[i]) return x[i] < y[i] ? -1 : 1;
    return 0;
  });
}
