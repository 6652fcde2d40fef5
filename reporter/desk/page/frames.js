// From clips to numbered stills: look at a clip picture by picture, take one for each moment.

import { make, button, key } from "/page/make.js";
import { lesson, t, valueAt, edit, put, act, ask } from "/page/lesson.js";
import { remarksOf, tick, whileShown, remarks } from "/page/fields.js";

const MOMENTS = ["setup", "takeaway", "lead-arm-level", "top", "change-of-direction", "halfway-down", "impact", "halfway-through", "finish"];
const VIEWS = ["face-on", "down-the-line", "feet"];
const USUAL = ["setup", "top", "impact"];
const AROUND = 2;

let number = null; // of the clip that is open
let moment = "";
let index = 0;
let lookedAt = ""; // clip and moment that `index` belongs to
let wanted = [...USUAL];
const facts = new Map();
const proposals = new Map();
const chosenView = new Map(); // a clip's answers before its first picture is taken
const held = new Map(); // pictures of the clip at hand, by address

/** Return the clips as they are asked about: by view, before in front of after. */
function clipsInOrder() {
  const rank = (clip) => {
    const { when, view } = answers(clip);
    return [VIEWS.indexOf(view) < 0 ? 9 : VIEWS.indexOf(view), when === "after" ? 1 : 0, clip.file];
  };
  return [...lesson.view.clips].sort((a, b) => {
    const [one, two] = [rank(a), rank(b)];
    return one[0] - two[0] || one[1] - two[1] || one[2].localeCompare(two[2]);
  });
}

const clipAt = (at) => lesson.view.clips.find((one) => one.number === at);

/** Return what a clip shows, as far as it is known: by the lesson, else by its name. */
function answers(clip) {
  const take = (valueAt(["takes"]) || []).find((one) => one?.video === clip.name);
  const typed = chosenView.get(clip.file) || {};
  return { when: typed.when || take?.when || clip.when, view: typed.view || take?.view || clip.view, take };
}

function taken(clip) {
  return lesson.view.frames.filter((frame) => frame.video === clip.name);
}

function openMoments(clip) {
  const done = taken(clip).map((frame) => frame.position);
  return wanted.filter((name) => !done.includes(name));
}

async function picture(address) {
  if (!held.has(address)) {
    held.set(address, fetch(address).then((answer) => {
      if (!answer.ok) throw new Error(String(answer.status));
      return answer.blob();
    }).then((blob) => URL.createObjectURL(blob)));
    if (held.size > 80) {
      const [oldest] = held.keys();
      held.get(oldest).then((url) => URL.revokeObjectURL(url), () => {});
      held.delete(oldest);
    }
  }
  return held.get(address);
}

export const frames = {
  id: "frames",
  title: () => t("frames"),
  short: () => t("frames.short"),
  paths: () => [["takes"], ["frames"]],
  shape() {
    const view = lesson.view;
    return JSON.stringify([lesson.language, number, moment, wanted, view.frames.map((one) => [one.id, one.picture, one.when]), view.unused.map((one) => one.file),
      view.clips.map((one) => [one.file, answers(one)])]);
  },
  summary() {
    const count = lesson.view.frames.length;
    return count ? t(count === 1 ? "frames.one" : "frames.many", { number: count }) : "";
  },
  render(body) {
    const { unused, frames: kept } = lesson.view;
    const clips = clipsInOrder();
    if (!clips.length && !unused.length && !kept.length) {
      body.append(make("p", { class: "lead" }, t("frames.empty", { folder: lesson.view.folder })));
      return;
    }
    if (number === null && clips.length) number = (clips.find((one) => openMoments(one).length) || clips[0]).number;
    if (clips.length) body.append(clipPart());
    if (unused.length) body.append(unusedPart(unused));
    if (kept.length) body.append(stillsPart(kept));
    body.append(cameraPart(), remarksOf(["takes"], { inside: true }), remarksOf(["frames"]));
  },
};

function again() { document.dispatchEvent(new Event("frames")); }

function clipPart() {
  const clips = clipsInOrder();
  const clip = clipAt(number) || clips[0];
  const part = make("div", { class: "clip" });
  if (clips.length > 1) {
    part.append(make("p", { class: "list" }, clips.map((one, place) => button(
      `${place + 1}  ${one.file}`, () => { number = one.number; moment = ""; again(); },
      { class: "plain", "aria-pressed": one === clip ? "true" : "false" }))));
  } else part.append(make("p", {}, make("b", {}, clip.file)));
  const known = answers(clip);
  part.append(make("div", { class: "two" },
    ring("when", t("clip.when"), ["before", "after"].map((one) => [one, t(`when.${one}`)]), known.when, (value) => keep(clip, { when: value })),
    ring("view", t("clip.view"), VIEWS.map((one) => [one, t(`view.${one}`)]), known.view, (value) => keep(clip, { view: value }))));
  if (!known.when || !known.view) return part;
  if (!facts.has(clip.number)) {
    part.append(make("p", { role: "status" }, t("clip.opening")));
    ask(`/clips/${clip.number}`).then(({ status, found }) => { facts.set(clip.number, status === 200 ? found : { refused: found.refused }); again(); });
    return part;
  }
  const fact = facts.get(clip.number);
  if (fact.refused) {
    part.append(make("p", { class: "problem" }, fact.refused));
    return part;
  }
  if (!proposals.has(clip.number)) {
    part.append(make("p", { role: "status" }, t("clip.looking")));
    ask(`/clips/${clip.number}/proposals`).then(({ status, found }) => {
      proposals.set(clip.number, status === 200 ? found : { proposals: [], notes: [found.refused] });
      again();
    });
    return part;
  }
  part.append(pickPart(clip, fact, known));
  const following = clips.find((one) => !proposals.has(one.number) && !facts.has(one.number));
  if (following) lookAhead(following.number);
  return part;
}

const ahead = new Set();

/** Look through the clip that comes next while the coach is busy with this one. */
function lookAhead(next) {
  if (ahead.has(next)) return;
  ahead.add(next);
  ask(`/clips/${next}`).then(({ status, found }) => {
    if (status !== 200) return;
    ask(`/clips/${next}/proposals`).then((answer) => {
      if (answer.status !== 200) return;
      facts.set(next, found);
      proposals.set(next, answer.found);
    });
  }, () => ahead.delete(next));
}

function keep(clip, change) {
  chosenView.set(clip.file, { ...answers(clip), ...change });
  const { when, view, take } = answers(clip);
  if (take && (take.when !== when || take.view !== view)) {
    edit([{ do: "put", path: ["takes", { id: take.id }, "when"], value: when }, { do: "put", path: ["takes", { id: take.id }, "view"], value: view }]);
  }
  again();
}

function ring(name, label, options, now, store) {
  return make("fieldset", { class: "field" }, make("legend", {}, label), make("div", { class: "rings" }, options.map(([value, text]) =>
    make("label", { class: "ring" }, make("input", { type: "radio", name: `clip-${name}`, id: `clip-${name}-${value}`, value, checked: value === now, onchange: () => store(value) }), make("span", {}, text)))));
}

function proposalOf(clip, name) {
  return (proposals.get(clip.number)?.proposals || []).find((one) => one.position === name);
}

function pickPart(clip, fact, known) {
  const rest = openMoments(clip);
  if (!moment || (!MOMENTS.includes(moment))) moment = rest[0] || "";
  const part = make("div", { class: "pick" });
  const notes = [...fact.notes, ...(proposals.get(clip.number).notes || [])];
  part.append(...notes.map((text) => make("p", { class: "advice" }, text)));
  part.append(make("p", { class: "list", role: "group", "aria-label": t("moments") }, MOMENTS.filter((name) => wanted.includes(name)).map((name) => {
    const isDone = taken(clip).some((one) => one.position === name);
    return button(`${isDone ? "\u25CF" : "\u25CB"} ${t(`position.${name}`)}`, () => { moment = name; index = -1; again(); },
      { class: "plain", id: `moment-${name}`, "aria-pressed": name === moment ? "true" : "false", "aria-label": `${t(`position.${name}`)}${isDone ? `, ${t("moment.done")}` : ""}` });
  }), other()));
  if (!moment) {
    const next = clipsInOrder().find((one) => one !== clip && openMoments(one).length);
    part.append(make("p", {}, t("clip.done")), next ? button(t("clip.next", { file: next.file }), () => { number = next.number; moment = ""; again(); }, { class: "way strong", id: "clip-next" }) : "");
    return part;
  }
  const proposed = proposalOf(clip, moment);
  const had = taken(clip).find((one) => one.position === moment);
  if (index < 0 || lookedAt !== `${clip.number} ${moment}`) {
    lookedAt = `${clip.number} ${moment}`;
    index = had?.seconds ? nearest(fact, had.seconds) : proposed ? proposed.index : guess(clip, fact);
  }
  const image = make("img", { class: "large", alt: "", width: fact.size[0], height: fact.size[1] });
  const where = make("p", { class: "where", "aria-live": "polite" });
  const show = async () => {
    const asked = index;
    where.textContent = t("clip.where", { number: asked + 1, count: fact.count, seconds: fact.times[asked].toFixed(3) });
    image.alt = t("clip.alt", { number: asked + 1, file: clip.file });
    try {
      const url = await picture(`/clips/${clip.number}/${asked}`);
      if (asked !== index) return;
      image.src = url;
      await image.decode().catch(() => {});
      image.dataset.shown = String(asked);
      for (let off = 1; off <= AROUND; off += 1) {
        for (const near of [asked + off, asked - off]) {
          if (near >= 0 && near < fact.count) picture(`/clips/${clip.number}/${near}`).catch(() => {});
        }
      }
    } catch { where.textContent = t("clip.damaged", { number: asked + 1 }); }
  };
  const step = (by) => {
    index = Math.min(Math.max(index + by, 0), fact.count - 1);
    show();
  };
  const accept = async () => {
    const next = openMoments(clip).filter((name) => name !== moment)[0] || "";
    const done = await act("/pull", { clip: clip.number, index, when: known.when, view: known.view, position: moment });
    if (done) {
      moment = next;
      if (!next) {
        const other = clipsInOrder().find((one) => one.number !== clip.number && openMoments(one).length && answers(one).when && answers(one).view);
        if (other) number = other.number;
      }
    }
    again();
  };
  const stage = make("div", { class: "stage", tabindex: "0", id: "stage", role: "group", "aria-label": t("clip.stage", { moment: t(`position.${moment}`) }),
    onkeydown: (event) => {
      const steps = { ArrowLeft: -1, ArrowRight: 1, PageUp: -10, PageDown: 10 };
      if (steps[event.key]) { event.preventDefault(); step(event.shiftKey ? steps[event.key] * 10 : steps[event.key]); }
      if (event.key === "Home") { event.preventDefault(); step(-fact.count); }
      if (event.key === "End") { event.preventDefault(); step(fact.count); }
      if (event.key === "Enter" && event.target === stage) { event.preventDefault(); accept(); }
    } }, image);
  part.append(make("div", { class: "split" }, stage, make("div", { class: "beside" },
    make("h3", {}, t("clip.ask", { moment: t(`position.${moment}`) })),
    proposed ? make("p", { class: "proposed" }, t(sureness(proposed.confidence), { number: proposed.index + 1 }), " ", make("small", {}, proposed.why)) : make("p", { class: "proposed" }, t("clip.unproposed")),
    where,
    make("p", { class: "steps" },
      button(t("step.back"), () => step(-1), { "aria-keyshortcuts": "ArrowLeft", id: "step-back" }), button(t("step.on"), () => step(1), { "aria-keyshortcuts": "ArrowRight", id: "step-on" }),
      button(t("step.back.ten"), () => step(-10)), button(t("step.on.ten"), () => step(10))),
    make("p", { class: "ways" }, button([t("clip.take"), key("Enter")], accept, { class: "way strong", id: "take" })),
    make("p", { class: "hint" }, t("clip.keys")))));
  part.append(contact(clip, fact, (to) => { index = to; show(); }));
  show();
  return part;
}

const sureness = (confidence) => (confidence >= 0.8 ? "proposed.sure" : confidence >= 0.5 ? "proposed.likely" : "proposed.unsure");
const nearest = (fact, seconds) => fact.times.reduce((best, at, place) => (Math.abs(at - seconds) < Math.abs(fact.times[best] - seconds) ? place : best), 0);

/** Return where to begin looking when nothing was proposed: the same moment's share of the clip. */
function guess(clip, fact) {
  const share = { setup: 0.05, top: 0.45, impact: 0.6, finish: 0.95 }[moment] ?? 0.5;
  return Math.round(share * (fact.count - 1));
}

/** Return a row of numbered stills spread over the clip. */
function contact(clip, fact, jump) {
  const many = Math.min(9, fact.count);
  const around = proposals.get(clip.number)?.proposals || [];
  const low = around.length ? Math.max(Math.min(...around.map((one) => one.index)) - 3, 0) : 0;
  const high = around.length > 1 ? Math.min(Math.max(...around.map((one) => one.index)) + 3, fact.count - 1) : fact.count - 1;
  const places = [...new Set(Array.from({ length: many }, (_, n) => Math.round(low + (n * (high - low)) / Math.max(many - 1, 1))))];
  return make("div", { class: "row", role: "group", "aria-label": t("contact") }, places.map((place, n) =>
    make("button", { type: "button", class: "still", onclick: () => jump(place), "aria-label": t("contact.jump", { number: place + 1 }) },
      make("img", { src: `/clips/${clip.number}/${place}?small=1`, alt: "", loading: "lazy" }), make("span", {}, String(n + 1)))));
}

function other() {
  const rest = MOMENTS.filter((name) => !wanted.includes(name));
  if (!rest.length) return "";
  const list = make("select", { class: "more-moments", id: "more-moments", "aria-label": t("moment.more"), onchange: () => { if (list.value) { wanted = MOMENTS.filter((name) => wanted.includes(name) || name === list.value); moment = list.value; index = -1; again(); } } },
    make("option", { value: "" }, t("moment.more")), rest.map((name) => make("option", { value: name }, t(`position.${name}`))));
  return list;
}

function unusedPart(unused) {
  const part = make("div", { class: "unused" }, make("h3", {}, t("unused")));
  for (const one of unused.slice(0, 40)) {
    const select = (name, options, label, now) => make("select", { "aria-label": `${label}, ${one.file}` }, make("option", { value: "" }, `${label} …`), options.map(([value, text]) => make("option", { value, selected: value === now }, text)));
    const when = select("when", ["before", "after"].map((name) => [name, t(`when.${name}`)]), t("clip.when"), one.when);
    const view = select("view", VIEWS.map((name) => [name, t(`view.${name}`)]), t("clip.view"), one.view);
    const position = select("position", MOMENTS.map((name) => [name, t(`position.${name}`)]), t("moment"), one.position);
    part.append(make("div", { class: "loose" },
      one.picture ? make("img", { src: `/stills/${one.picture}?small=1`, alt: "", loading: "lazy" }) : "",
      make("div", {}, make("p", {}, one.file), make("p", { class: "ways" }, when, view, position,
        button(t("unused.use"), () => { if (when.value && view.value && position.value) act("/use", { file: one.file, when: when.value, view: view.value, position: position.value }); else (when.value ? view.value ? position : view : when).focus(); }, { "aria-label": `${t("unused.use")}: ${one.file}` })))));
  }
  return part;
}

/** Return the stills of the lesson in the order of the file, before with a ring, after with a dot. */
function stillsPart(kept) {
  return make("div", {}, make("h3", {}, t("stills")), make("div", { class: "stills" }, kept.map((frame) => {
    const wrong = remarks(["frames", { id: frame.id }], { inside: true }).problems;
    return make("figure", {},
      make("figcaption", {}, make("span", { class: `sign ${frame.when}`, "aria-hidden": "true" }), `${frame.number}  ${t(`when.${frame.when}`)}, ${t(`position.${frame.position}`)}`),
      frame.picture ? make("img", { src: `/stills/${frame.picture}?small=1`, alt: t("still.alt", { number: frame.number, when: t(`when.${frame.when}`), position: t(`position.${frame.position}`), view: t(`view.${frame.view}`) }), loading: "lazy" }) : make("p", { class: "problem" }, t("still.missing", { file: frame.file })),
      wrong.map((one) => make("p", { class: "problem" }, one.message)),
      button(t("still.remove"), () => remove(frame), { class: "way small", "aria-label": t("still.remove.named", { number: frame.number }) }));
  })));
}

function remove(frame) {
  const places = (valueAt(["pairs"]) || []).map((pair, place) => [pair, place]).filter(([pair]) => pair?.before === frame.id || pair?.after === frame.id).map(([, place]) => place).reverse();
  const at = (valueAt(["frames"]) || []).findIndex((one) => one?.id === frame.id);
  edit([...places.map((place) => ({ do: "remove", path: ["pairs", place] })), { do: "remove", path: ["frames", at] }]);
}

/** Return the question whether the camera stood still, for each view with a before and an after. */
function cameraPart() {
  const part = make("div", { class: "field" });
  let shown = "";
  whileShown(() => {
    const takes = (valueAt(["takes"]) || []).filter((one) => one && typeof one === "object");
    const views = VIEWS.filter((view) => ["before", "after"].every((when) => takes.some((one) => one.view === view && one.when === when)));
    const now = JSON.stringify([views, lesson.language]);
    if (now === shown) return;
    shown = now;
    part.replaceChildren(...views.map((view) => {
      const of = () => (valueAt(["takes"]) || []).filter((one) => one?.view === view);
      const same = () => new Set(of().map((one) => one.camera || "")).size === 1 && Boolean(of()[0]?.camera);
      return tick(t("camera", { view: t(`view.${view}`) }), same, (on) => edit(of().map((one) => (on
        ? { do: "put", path: ["takes", { id: one.id }, "camera"], value: `${view} camera` } : { do: "remove", path: ["takes", { id: one.id }, "camera"] }))), { id: `camera-${view}` });
    }));
  });
  return part;
}

document.addEventListener("frames", () => {
  const body = document.getElementById("body-frames");
  if (!body || body.hidden) return;
  const focused = document.activeElement?.id;
  dispatchEvent(new HashChangeEvent("hashchange"));
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
});
