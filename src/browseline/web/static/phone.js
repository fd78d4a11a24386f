// Whether this phone will work without a signal: only where it trusts the server.
const works = async () => {
  if (!window.isSecureContext || !navigator.serviceWorker) return false;
  try {
    const base = new URL("../", import.meta.url).pathname;
    const script = await fetch(`${base}sw.js`);
    if (!script.ok) return false;
    await navigator.serviceWorker.register(`${base}sw.js`, { scope: base });
    return true;
  } catch {
    return false;
  }
};

const found = (await works()) ? "works" : "not";
for (const name of ["unknown", "works", "not"]) document.getElementById(name).hidden = name !== found;
