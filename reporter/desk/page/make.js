// Make elements without markup in strings: whatever is shown is text, never code.

const SVG = "http://www.w3.org/2000/svg";

function filled(element, given, children) {
  for (const [name, value] of Object.entries(given || {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "class") element.setAttribute("class", value);
    else if (name in element && !(element instanceof SVGElement) && typeof value !== "string") {
      element[name] = value;
    } else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(4).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** Return a new element; `given` holds attributes, and listeners under names that begin with "on". */
export function make(tag, given, ...children) {
  return filled(document.createElement(tag), given, children);
}

/** Return a new element of a drawing. */
export function draw(tag, given, ...children) {
  return filled(document.createElementNS(SVG, tag), given, children);
}

/** Return a button in the page's one form. */
export function button(text, onclick, given) {
  return make("button", { type: "button", class: "way", ...given, onclick }, text);
}

/** Return a key's name as it is printed on a keyboard, for hints beside a button. */
export function key(name) {
  return make("kbd", { "aria-hidden": "true" }, name);
}
