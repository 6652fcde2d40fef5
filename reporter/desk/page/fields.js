// Fields to write on: a line, a choice by rings, a tick box; each knows its place in the lesson.

import { make } from "/page/make.js";
import { lesson, t, valueAt, put, onChange } from "/page/lesson.js";

const PAUSE = 450;
let alive = [];
const places = new Set(); // where remarks are shown now: { path, inside }

/** Forget the fields of a question that is no longer shown. */
export function forgetFields() {
  for (const stop of alive) stop();
  alive = [];
  places.clear();
}

/** Return the problems below some paths that no field on the page shows. */
export function strays(paths) {
  const shown = [...places].map(({ path, inside }) => [dotted(path), inside]);
  const names = paths.map(dotted);
  return (lesson.view.problems || []).filter(({ field }) => names.some((name) => field === name || field.startsWith(`${name}.`))
    && !shown.some(([name, inside]) => field === name || (inside && field.startsWith(`${name}.`))));
}

export function whileShown(listener) {
  alive.push(onChange(listener));
  listener();
}

/** Return a path as the desk's letters name it, ids replaced by positions. */
export function dotted(path) {
  const steps = [];
  let here = lesson.view.values;
  for (const step of path) {
    const found = typeof step === "object" && Array.isArray(here)
      ? here.findIndex((item) => item && item.id === step.id) : step;
    steps.push(found);
    here = here?.[found];
  }
  return steps.join(".");
}

const idOf = (path) => `f-${path.map((step) => (typeof step === "object" ? step.id : step)).join("-")}`;

/** Return what stands against a field, and what could be better about it. */
export function remarks(path, { inside = false } = {}) {
  const name = dotted(path);
  const fits = (field) => field === name || (inside && field.startsWith(`${name}.`));
  return {
    problems: (lesson.view.problems || []).filter((one) => fits(one.field)),
    advice: (lesson.view.advice || []).filter((one) => fits(one.field)),
  };
}

/** Return a place under a field for what stands against it; kept up to date. */
export function remarksOf(path, options) {
  const place = make("div", { class: "remarks", id: `${idOf(path)}-remarks`, "aria-live": "polite" });
  let shown = null;
  places.add({ path, inside: Boolean(options?.inside) });
  whileShown(() => {
    const { problems, advice } = remarks(path, options);
    const now = JSON.stringify([problems, advice, lesson.language]);
    if (now === shown) return;
    shown = now;
    place.replaceChildren(
      ...problems.map((one) => make("p", { class: "problem" }, make("b", {}, t("mend")), " ", one.message)),
      ...advice.map((one) => make("p", { class: "advice" }, make("b", {}, t("advice")), " ", one.message,
        one.offer && !one.message.includes(`"${one.offer}"`)
          ? [" ", make("button", { type: "button", class: "offer", onclick: () => put(path, one.offer) }, one.offer)] : "",
        make("small", {}, ` ${one.reason}`))),
    );
  });
  return place;
}

function written(path) {
  const value = valueAt(path);
  return typeof value === "string" ? value : "";
}

/** Return a labelled line to write on, which grows with its text; `long` may hold line breaks. */
export function line(path, label, { long = false, short = false, hint = "", big = false, width = "", store = null, show = null } = {}) {
  const id = idOf(path);
  const keep = store || ((text) => put(path, text.trim() === "" ? null : text));
  const read = show || (() => written(path));
  let timer = 0;
  let typed = false;
  const settle = () => {
    clearTimeout(timer);
    if (typed) { typed = false; keep(field.value); }
  };
  const field = make(short ? "input" : "textarea", {
    id, class: `line${big ? " big" : ""}`, autocomplete: "off", spellcheck: long || big ? "true" : "false",
    onkeydown: (event) => { if (event.key === "Enter" && !long) event.preventDefault(); },
    "aria-describedby": `${hint ? `${id}-hint ` : ""}${id}-remarks`,
    oninput: () => {
      if (!long && field.value.includes("\n")) field.value = field.value.replace(/\s*\n\s*/g, " ");
      typed = true;
      grow();
      clearTimeout(timer);
      timer = setTimeout(settle, PAUSE);
    },
    onchange: settle, onblur: settle,
  });
  if (!short) field.rows = 1;
  const grow = () => {
    if (short) return;
    field.style.height = "auto";
    field.style.height = `${field.scrollHeight + 2}px`;
  };
  requestAnimationFrame(grow);
  whileShown(() => {
    const now = read();
    if (!typed && document.activeElement !== field && field.value !== now) { field.value = now; grow(); }
    field.toggleAttribute("aria-invalid", remarks(path).problems.length > 0);
    if (field.hasAttribute("aria-invalid")) field.setAttribute("aria-invalid", "true");
  });
  alive.push(settle);
  const house = lesson.view.house?.[path[0]]?.[path[1]];
  return make("div", { class: `field ${width}` },
    make("label", { for: id }, label),
    field,
    hint || house ? make("p", { class: "hint", id: `${id}-hint` }, house ? t("field.house", { value: house }) : hint) : null,
    remarksOf(path));
}

/** Return a choice of one among few, by rings. */
export function choice(path, label, options, { fallback = "", store = null, show = null, hint = "" } = {}) {
  const id = idOf(path);
  const keep = store || ((value) => put(path, value));
  const read = show || (() => written(path) || fallback);
  const rings = options.map(([value, text]) => make("label", { class: "ring" },
    make("input", { type: "radio", name: id, value, onchange: () => keep(value) }), make("span", {}, text)));
  const group = make("fieldset", { class: "field", id },
    make("legend", {}, label), make("div", { class: "rings" }, rings),
    hint ? make("p", { class: "hint" }, hint) : null, remarksOf(path));
  whileShown(() => {
    const now = read();
    for (const one of rings) one.firstChild.checked = one.firstChild.value === now;
  });
  return group;
}

/** Return a tick box. */
export function tick(label, read, keep, given) {
  const box = make("input", { type: "checkbox", ...given, onchange: () => keep(box.checked) });
  whileShown(() => { box.checked = read(); });
  return make("label", { class: "tick" }, box, make("span", {}, label));
}

/** Return a tick box for a yes-or-no field. */
export function truth(path, label) {
  return make("div", { class: "field" },
    tick(label, () => ["yes", "true"].includes(written(path).toLowerCase()), (on) => put(path, on ? "yes" : "no"), { id: idOf(path) }),
    remarksOf(path));
}
