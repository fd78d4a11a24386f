// Small helpers for building a page out of data: text is always text, never markup.

/**
 * An element with its attributes and what is in it.
 * @param {string} tag
 * @param {Object<string, any>} attributes  "on" and a name for a listener; false leaves one out
 * @param {...(Node|string|null)} children
 */
export function el(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value === true ? "" : value);
  }
  made.append(...children.filter((child) => child !== null && child !== ""));
  return made;
}

/** A large button. */
export function button(text, press, more = {}) {
  return el("button", { type: "button", onclick: press, ...more }, text);
}

/** A labelled field of a form. */
export function field(label, name, more = {}) {
  const { tag = "input", children = [], ...rest } = more;
  return el("label", {}, el("span", {}, label), el(tag, { name, autocomplete: "off", ...rest }, ...children));
}
