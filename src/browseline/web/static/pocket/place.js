// Whether the phone will work without a signal, and whether it keeps what is entered: said plainly.

import { BASE } from "./store.js";

/**
 * Register the service worker and see what can be relied on.
 * @returns {Promise<string>} name of a sentence: "offline_ready", "offline_insecure", "offline_certificate",
 *   "offline_unable", "offline_waiting"
 */
export async function prepare() {
  if (!window.isSecureContext) return "offline_insecure";
  if (!("serviceWorker" in navigator)) return "offline_unable";
  try {
    await navigator.serviceWorker.register(`${BASE}sw.js`, { scope: BASE, updateViaCache: "none" });
  } catch {
    if (await navigator.serviceWorker.getRegistration(BASE)) return "offline_ready";
    return location.protocol === "https:" ? "offline_certificate" : "offline_unable";
  }
  const ready = await Promise.race([navigator.serviceWorker.ready, new Promise((done) => setTimeout(done, 8000, null))]);
  return ready ? "offline_ready" : "offline_waiting";
}

/** @returns {Promise<string>} "storage_kept", "storage_may_go" or "storage_unknown" */
export async function storage() {
  if (!navigator.storage || !navigator.storage.persisted) return "storage_unknown";
  return (await navigator.storage.persisted()) || (await navigator.storage.persist()) ? "storage_kept" : "storage_may_go";
}
