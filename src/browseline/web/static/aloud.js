// Reads a page aloud by a voice that lives on the device itself; without one there is no button.

const speech = window.speechSynthesis;
const button = document.getElementById("aloud");
const BLOCKS = "h1, h2, h3, p, li, dt, dd, label, legend";
let reading = false;

/** The device's own voice for the language of the page. */
function voice() {
  const tongue = document.documentElement.lang.toLowerCase();
  return speech.getVoices().find((one) => one.localService && one.lang.toLowerCase().startsWith(tongue));
}

/** What stands on the page, block by block, in the order in which it is read; what is folded away stays silent. */
export function blocks() {
  const found = [...document.querySelectorAll("main :is(" + BLOCKS + ")")];
  return found
    .filter((one) => one.checkVisibility() && !one.querySelector(BLOCKS) && !one.closest("svg, [data-silent]"))
    .map((one) => {
      const field = one.tagName === "LABEL" && one.control ? one.control.value : "";
      return `${one.innerText} ${field}`.replace(/\s+/g, " ").trim();
    })
    .filter((text) => text);
}

function show() {
  button.hidden = !voice();
  button.textContent = reading ? button.dataset.stop : button.dataset.read;
  button.setAttribute("aria-pressed", String(reading));
}

function stop() {
  reading = false;
  speech.cancel();
  show();
}

function read() {
  const own = voice();
  const all = blocks();
  reading = true;
  all.forEach((text, at) => {
    const said = new SpeechSynthesisUtterance(text);
    said.voice = own;
    said.lang = own.lang;
    if (at === all.length - 1) said.onend = stop;
    speech.speak(said);
  });
  show();
}

if (speech && button) {
  button.addEventListener("click", () => (reading ? stop() : read()));
  speech.addEventListener?.("voiceschanged", show);
  window.addEventListener("pagehide", stop);
  show();
}
