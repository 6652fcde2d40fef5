// The sheet: one question after the other in the order of the handout, one of them open.

import { make, button } from "/page/make.js";
import { lesson, t, begin, onChange, settle, speak, refresh, undo } from "/page/lesson.js";
import { forgetFields, remarks, strays, whileShown } from "/page/fields.js";
import { who, seen } from "/page/who.js";
import { frames } from "/page/frames.js";
import { points } from "/page/points.js";
import { pairs } from "/page/pairs.js";
import { thoughts, drills, learnDrills } from "/page/thoughts.js";
import { plan } from "/page/plan.js";
import { pages } from "/page/pages.js";

const QUESTIONS = [who, seen, frames, points, pairs, thoughts, drills, plan, pages];
const LANGUAGES = { en: "English", es: "Español", de: "Deutsch" };
const sheet = document.getElementById("sheet");
let open = null;
let shape = "";

function named() {
  const name = location.hash.slice(1).split("/")[0];
  return QUESTIONS.find((one) => one.id === name) || QUESTIONS[0];
}

/** Open a question; what is open is told by the address, so that a reload comes back to it. */
export function go(id, rest = "") {
  location.hash = `#${id}${rest}`;
}

function problemCount(question) {
  return question.paths().reduce((sum, path) => sum + remarks(path, { inside: true }).problems.length, 0);
}

function head(question, number) {
  const isOpen = question === open;
  const short = isOpen ? "" : question.summary();
  const wrong = problemCount(question);
  return [
    make("span", { class: "number", "aria-hidden": "true" }, String(number)),
    make("h2", {}, make("button", {
      type: "button", id: `head-${question.id}`, "aria-expanded": isOpen ? "true" : "false",
      "aria-controls": `body-${question.id}`, onclick: () => go(question.id),
    }, make("span", { class: "asked" }, isOpen ? question.title() : question.short()),
    short ? make("span", { class: "answer" }, short) : null,
    wrong ? make("span", { class: "wrong" }, t(wrong === 1 ? "mend.one" : "mend.many", { number: wrong })) : null)),
  ];
}

function heads() {
  QUESTIONS.forEach((question, place) => {
    const section = document.getElementById(`question-${question.id}`);
    const [number, title] = head(question, place + 1);
    const old = section.querySelector("h2");
    if (old.textContent !== title.textContent || (section.dataset.open === "yes") !== (question === open)) {
      const focused = old.contains(document.activeElement);
      section.querySelector(".number").replaceWith(number);
      old.replaceWith(title);
      if (focused) title.firstChild.focus();
    }
    section.dataset.open = question === open ? "yes" : "no";
  });
}

function render() {
  forgetFields();
  open = named();
  shape = open.shape();
  const focused = document.activeElement?.id;
  sheet.replaceChildren(make("div", { id: "letters" }), ...QUESTIONS.map((question, place) => {
    const body = make("div", { class: "body", id: `body-${question.id}`, role: "region",
      "aria-labelledby": `head-${question.id}`, hidden: question !== open });
    const section = make("section", { id: `question-${question.id}`, "data-open": question === open ? "yes" : "no" },
      ...head(question, place + 1), body);
    if (question === open) {
      const rest = make("div", { class: "remarks" });
      body.append(rest);
      question.render(body);
      whileShown(() => rest.replaceChildren(...strays(question.paths()).map((one) => make("p", { class: "problem" },
        make("b", {}, t("mend")), ` ${one.field}, ${t("line", { number: one.line })}: `, one.message))));
      const next = QUESTIONS[place + 1];
      if (next && !question.leads) body.append(make("p", { class: "onward" }, onward(next)));
    }
    return section;
  }));
  letters();
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
}

export function onward(next) {
  return button(t("next", { question: next.short() }), () => go(next.id), { class: "way strong", id: "onward" });
}

function letters() {
  const place = document.getElementById("letters");
  const found = [];
  if (lesson.status === "shut") found.push(make("p", { class: "letter" }, t("shut")));
  if (lesson.status === "away") found.push(make("p", { class: "letter" }, t("away")));
  if (lesson.status === "refused" && lesson.letter) found.push(make("p", { class: "letter" }, t("refused", { reason: lesson.letter })));
  if (lesson.clash) found.push(clashLetter());
  for (const one of homeless()) {
    found.push(make("p", { class: "letter" }, make("b", {}, t("mend")), ` ${one.file}, ${t("line", { number: one.line })}: `,
      one.field ? `${one.field}: ` : "", one.message));
  }
  const told = found.map((one) => one.textContent).join("\n");
  if (place.dataset.told !== told) {
    place.dataset.told = told;
    place.setAttribute("role", "alert");
    place.replaceChildren(...found);
  }
}

/** Return the problems that no question of the page shows. */
function homeless() {
  if (lesson.view.broken) return lesson.view.problems;
  const shown = QUESTIONS.flatMap((question) => question.paths()).map((path) => path.join("."));
  return lesson.view.problems.filter((one) => !shown.some((name) => one.field === name || one.field.startsWith(`${name}.`)));
}

function clashLetter() {
  const { batch, numbers, theirs } = lesson.clash;
  const rows = numbers.map((number) => {
    const one = batch.edits[number];
    const there = one.path.reduce((value, step) => (typeof step === "object"
      ? (value || []).find?.((item) => item?.id === step.id) : value?.[step]), theirs.values);
    const text = (value) => (value === undefined || value === null ? t("nothing") : typeof value === "string" ? value : JSON.stringify(value));
    return make("li", {}, make("b", {}, one.path.map((step) => (typeof step === "object" ? step.id : step)).join(" ")),
      ": ", t("clash.here", { text: text(one.value) }), "; ", t("clash.there", { text: text(there) }));
  });
  return make("div", { class: "letter" }, make("p", {}, t("clash")), make("ul", {}, rows),
    make("p", { class: "ways" }, button(t("clash.mine"), () => settle(true)), button(t("clash.theirs"), () => settle(false))));
}

function furniture() {
  document.documentElement.lang = lesson.language;
  document.title = `${t("worksheet")} – ${lesson.view.folder}`;
  document.getElementById("what").textContent = t("worksheet");
  const values = lesson.view.values || {};
  const whose = [values.lesson?.academy || lesson.view.house?.lesson?.academy, values.student?.name].filter(Boolean);
  document.getElementById("whose").textContent = whose.join("  ·  ") || lesson.view.folder;
  const told = { saving: t("saving"), saved: t("saved", { file: lesson.view.file }), "": lesson.view.exists ? "" : t("unsaved") };
  const place = document.getElementById("saved");
  const now = told[lesson.status] ?? t("not.saved");
  if (place.textContent !== now) place.textContent = now;
}

function languages() {
  document.getElementById("languages").replaceChildren(...Object.entries(LANGUAGES).map(([tag, name]) =>
    make("button", { type: "button", lang: tag, "aria-pressed": tag === lesson.language ? "true" : "false", onclick: async () => {
      try { localStorage.setItem("desk-language", tag); } catch { /* asked again next time */ }
      await speak(tag);
      languages();
      render();
    } }, name)));
}

function refreshed() {
  furniture();
  if (lesson.view.broken) { broken(); return; }
  if (!open || open.shape() !== shape) render();
  heads();
  letters();
}

function broken() {
  forgetFields();
  open = null;
  sheet.replaceChildren(make("div", { id: "letters" }),
    make("p", { class: "lead" }, t("broken", { file: lesson.view.file })),
    make("p", {}, button(t("again"), refresh, { class: "way strong" })));
  letters();
}

function turned() {
  if (lesson.view.broken) return;
  const before = open;
  render();
  if (before && before !== open) {
    const title = document.getElementById(`head-${open.id}`);
    title.focus({ preventScroll: true });
    document.getElementById(`question-${open.id}`).scrollIntoView({ block: "start" });
  }
}

function keys(event) {
  if (event.key === "z" && (event.ctrlKey || event.metaKey) && !event.shiftKey
      && !["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName)) {
    event.preventDefault();
    const back = undo();
    if (back?.about) go("points", back.about);
  }
}

async function start() {
  let language = "";
  try { language = localStorage.getItem("desk-language") || ""; } catch { /* none kept */ }
  if (!LANGUAGES[language]) language = Object.keys(LANGUAGES).find((tag) => navigator.language.startsWith(tag)) || "en";
  let ready = false;
  try { ready = await begin(language); } catch { ready = false; }
  if (!ready) {
    sheet.replaceChildren(make("p", { class: "letter", role: "alert" }, "Open the address that the command printed."));
    return;
  }
  onChange(refreshed);
  addEventListener("hashchange", turned);
  addEventListener("keydown", keys);
  languages();
  furniture();
  if (lesson.view.broken) broken();
  else render();
  document.documentElement.dataset.ready = "yes";
  learnDrills().then(refreshed, () => {});
}

start();
