// Names and times of entries: UUIDv7, the phone's own id, and instants with their offset.

let last = 0n;

/** @returns {bigint} so many random bits */
function randomBits(count) {
  const bytes = crypto.getRandomValues(new Uint8Array(Math.ceil(count / 8)));
  let found = 0n;
  for (const byte of bytes) found = (found << 8n) | BigInt(byte);
  return found & ((1n << BigInt(count)) - 1n);
}

/**
 * An id that sorts by time, later than any made before on this page (RFC 9562, version 7).
 * @param {number} now  milliseconds since 1970
 * @returns {string}
 */
export function newId(now) {
  let stamp = (BigInt(Math.floor(now)) << 12n) | randomBits(10);
  if (stamp <= last) stamp = last + 1n;
  last = stamp;
  const value = ((stamp >> 12n) << 80n) | (0x7n << 76n) | ((stamp & 0xfffn) << 64n) | (0b10n << 62n) | randomBits(62);
  const digits = value.toString(16).padStart(32, "0");
  return [digits.slice(0, 8), digits.slice(8, 12), digits.slice(12, 16), digits.slice(16, 20), digits.slice(20)].join("-");
}

/** @returns {string} a new id for this phone, such as p-1f2e3d4c5b6a7988 */
export function newDevice() {
  return `p-${randomBits(64).toString(16).padStart(16, "0")}`;
}

/**
 * An instant on this phone's own clock with its offset, to the second: 2026-06-10T12:00:00-04:00.
 * @param {number} at  milliseconds since 1970
 * @returns {string}
 */
export function withOffset(at) {
  const date = new Date(at);
  const off = -date.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const clock = `${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}`;
  return `${day}T${clock}${off < 0 ? "-" : "+"}${two(off / 60)}:${two(off % 60)}`;
}
