// Mark points: one is asked for at a time, by its plain name and a drawing of where it is.

import { make, draw, button, key } from "/page/make.js";
import { lesson, t, valueAt, edit, undo, canUndo, ask, isSaved } from "/page/lesson.js";
import { figure } from "/page/figure.js";
import { joint, cased } from "/page/marks.js";
import { whileShown, remarksOf } from "/page/fields.js";

const LINES = ["plumb.0", "plumb.1", "level.0", "level.1"];
const MAGNIFIED = 6;
const POSITIONS_OF_KEYS = { 7: [0, 0], 8: [1, 0], 9: [2, 0], 4: [0, 1], 5: [1, 1], 6: [2, 1], 1: [0, 2], 2: [1, 2], 3: [2, 2] };

let zoom = 1;
let flag = "";
const ends = new Map(); // the first end of a line, until its second is there

/** Return a point as the lesson holds it: { at, again, hidden }, null where it is not marked. */
export function pointOf(frame, name) {
  const base = ["frames", { id: frame }];
  if (LINES.includes(name)) {
    const [kind, end] = name.split(".");
    const at = valueAt([...base, "lines", kind])?.[Number(end)] || ends.get(`${frame} ${name}`);
    return at ? { at: at.map(Number), again: [], hidden: false } : null;
  }
  const raw = valueAt([...base, "points", name]);
  if (raw === undefined || raw === null) return null;
  if (raw === "hidden") return { at: null, again: [], hidden: true };
  const places = (list) => (Array.isArray(list) ? list.map(Number) : null);
  if (Array.isArray(raw)) return { at: places(raw), again: [], hidden: false };
  return { at: places(raw.at), again: (raw.again || []).map(places), hidden: ["yes", "true"].includes(raw.hidden), raw };
}

const short = (value) => String(Math.round(value * 10) / 10);

function keep(frame, name, place, more = {}) {
  const about = `/${frame}/${name}`;
  const at = place && place.map(short);
  if (LINES.includes(name)) {
    const [kind, end] = name.split(".");
    const path = ["frames", { id: frame }, "lines", kind];
    const now = valueAt(path);
    const other = now?.[1 - Number(end)] || ends.get(`${frame} ${kind}.${1 - Number(end)}`);
    if (!at) edit([{ do: "remove", path }], { about });
    else if (!other) ends.set(`${frame} ${name}`, at);
    else { edit([{ do: "put", path, value: end === "0" ? [at, other] : [other, at] }], { about }); ends.delete(`${frame} ${name}`); }
    return;
  }
  const path = ["frames", { id: frame }, "points", name];
  const value = more.hidden ? "hidden" : more.again?.length ? { at, again: more.again.map((one) => one.map(short)) } : at;
  edit([{ do: "put", path, value }], { about });
}

/** Return every frame that may be marked, with the points asked for on it. */
function list() {
  return lesson.view.frames.filter((frame) => frame.picture && frame.size);
}

function firstOpen(from = null) {
  const all = list();
  const start = from ? all.findIndex((one) => one.id === from) : 0;
  for (let turn = 0; turn < all.length; turn += 1) {
    const frame = all[(start + turn) % all.length];
    const name = frame.asked.find((one) => !pointOf(frame.id, one));
    if (name) return { frame: frame.id, name };
  }
  return null;
}

function here() {
  const [, frame, name] = decodeURIComponent(location.hash.slice(1)).split("/");
  const known = list().find((one) => one.id === frame);
  if (known && name) return { frame, name };
  if (known) return { frame, name: known.asked.find((one) => !pointOf(frame, one)) || known.asked[0] || "head" };
  return firstOpen() || (list()[0] ? { frame: list()[0].id, name: list()[0].asked[0] || "head" } : null);
}

/** Return where a point may be: at its place on the partner's frame, else on another of the clip. */
function expected(frame, name) {
  const marked = (one) => { const point = pointOf(one.id, name); return point?.at && one.size ? point.at.map((value, axis) => (value / one.size[axis]) * frame.size[axis]) : null; };
  const others = list().filter((one) => one.id !== frame.id && one.view === frame.view);
  const same = others.find((one) => one.position === frame.position && marked(one)) || others.find((one) => one.take === frame.take && marked(one)) || others.find(marked);
  return same ? marked(same) : [frame.size[0] / 2, frame.size[1] / 2];
}

export const points = {
  id: "points",
  title: () => t("points"),
  short: () => t("points.short"),
  paths: () => [],
  shape: () => JSON.stringify([lesson.language, list().map((one) => [one.id, one.picture, one.asked])]),
  summary() {
    const all = list().flatMap((frame) => frame.asked.map((name) => pointOf(frame.id, name)));
    return all.length ? t("points.count", { number: all.filter(Boolean).length, count: all.length }) : "";
  },
  render(body) {
    const at = here();
    if (!at) { body.append(make("p", { class: "lead" }, t("points.none"))); return; }
    const frame = list().find((one) => one.id === at.frame);
    body.append(picker(frame), marking(frame, at.name));
  },
};

function jump(frame, name) {
  const to = `#points/${frame}/${name}`;
  if (location.hash === to) return;
  history.replaceState(null, "", to);
  dispatchEvent(new HashChangeEvent("hashchange"));
}

/** Return the row of numbered stills, each with how many of its points are marked. */
function picker(frame) {
  return make("div", { class: "row pictures", role: "group", "aria-label": t("stills") }, list().map((one) => {
    const count = make("small", {});
    whileShown(() => { count.textContent = one.asked.length ? `${one.asked.filter((name) => pointOf(one.id, name)).length}/${one.asked.length}` : ""; });
    return make("button", { type: "button", class: "still", id: `picture-${one.id}`, "aria-pressed": one === frame ? "true" : "false",
      "aria-label": t("still.alt", { number: one.number, when: t(`when.${one.when}`), position: t(`position.${one.position}`), view: t(`view.${one.view}`) }),
      onclick: () => jump(one.id, one.asked.find((name) => !pointOf(one.id, name)) || one.asked[0] || "head") },
    make("img", { src: `/stills/${one.picture}?small=1`, alt: "" }), make("span", {}, make("i", { class: `sign ${one.when}` }), String(one.number)), count);
  }));
}

function pointWords(name) {
  const side = name.match(/^(lead|trail)_/)?.[1];
  const plain = t(`point.${name}`);
  if (!side) return { plain, side: "" };
  const left = lesson.view.values.student?.plays === "left";
  return { plain, side: t((side === "lead") !== left ? "side.left" : "side.right") };
}

function marking(frame, firstName) {
  let name = firstName;
  let hand = null; // what the arrow keys move: { name, at, placed }
  let repeat = false;
  const [width, height] = frame.size;
  const unit = width / 150;
  const src = `/stills/${frame.picture}`;
  const image = make("img", { src, alt: "", width, height, draggable: false });
  const overlay = draw("svg", { viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true", focusable: "false" });
  const inner = make("div", { class: "inner" }, image, overlay);
  const stage = make("div", { class: "stage mark", id: "stage", tabindex: "0", role: "application",
    "aria-label": t("stage", { number: frame.number, position: t(`position.${frame.position}`) }), "aria-describedby": "asked points-keys" }, inner);
  const glass = make("canvas", { class: "glass", width: 400, height: 400, role: "img", "aria-label": t("glass") });
  const asked = make("div", { class: "asked", id: "asked", "aria-live": "polite" });
  const told = make("p", { class: "where", "aria-live": "polite" });
  const after = make("div", { class: "after" });
  const names = make("ul", { class: "names" });
  let block = null; // the part of the picture that number keys have narrowed to

  const extra = () => [...Object.keys(valueAt(["frames", { id: frame.id }, "points"]) || {}).filter((one) => !frame.asked.includes(one)),
    ...LINES.filter((one) => pointOf(frame.id, one) || one === name)];
  const order = () => [...frame.asked, ...extra()];

  function paint() {
    const parts = [];
    for (const kind of ["plumb", "level"]) {
      const [a, b] = [pointOf(frame.id, `${kind}.0`), pointOf(frame.id, `${kind}.1`)];
      if (a && b) parts.push(...cased("line", { x1: a.at[0], y1: a.at[1], x2: b.at[0], y2: b.at[1] }, "chain"));
    }
    for (const one of order()) {
      const point = pointOf(frame.id, one);
      if (!point?.at) continue;
      for (const [x, y] of point.again) parts.push(draw("circle", { class: "joint again", cx: x, cy: y, r: unit * 0.7 }));
      parts.push(joint(point.at[0], point.at[1], frame.when, unit / zoom));
    }
    if (hand?.at) {
      const [x, y] = hand.at;
      const reach = (unit * 5) / zoom;
      const gap = (unit * 1.2) / zoom;
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        parts.push(...cased("line", { x1: x + dx * gap, y1: y + dy * gap, x2: x + dx * reach, y2: y + dy * reach }, "cross"));
      }
    }
    if (block) parts.push(...cased("rect", { x: block[0], y: block[1], width: block[2], height: block[3], fill: "none" }, "block"));
    overlay.replaceChildren(...parts);
    lens();
  }

  function lens() {
    const pen = glass.getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, glass.width, glass.height);
    const at = hand?.at || pointOf(frame.id, name)?.at || expected(frame, name);
    if (!image.complete || !image.naturalWidth) return;
    const scale = image.naturalWidth / width;
    const span = (glass.width / MAGNIFIED / 2) * Math.max(1, width / 900);
    pen.imageSmoothingEnabled = false;
    pen.drawImage(image, (at[0] - span) * scale, (at[1] - span) * scale, span * 2 * scale, span * 2 * scale, 0, 0, glass.width, glass.height);
    const middle = glass.width / 2;
    for (const [color, thick] of [["#fff", 7], ["#1B1D1F", 2.4]]) {
      pen.strokeStyle = color;
      pen.lineWidth = thick;
      pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(middle + dx * 14, middle + dy * 14);
        pen.lineTo(middle + dx * 70, middle + dy * 70);
      }
      pen.stroke();
    }
  }

  function frameZoom(at) {
    inner.style.width = `${100 * zoom}%`;
    stage.style.aspectRatio = `${width} / ${height}`; // it keeps its size, and what is in it grows
    const box = stage.getBoundingClientRect();
    if (zoom > 1 && at) {
      stage.scrollLeft = (at[0] / width) * inner.clientWidth - box.width / 2;
      stage.scrollTop = (at[1] / height) * inner.clientHeight - box.height / 2;
    }
    paint();
  }

  let saidLast = "";
  function say() {
    const focused = document.activeElement?.id;
    sayAll();
    if (focused && document.activeElement?.id !== focused) document.getElementById(focused)?.focus({ preventScroll: true });
  }

  function sayAll() {
    const { plain, side } = pointWords(name);
    const marked = order().filter((one) => pointOf(frame.id, one)).length;
    const open = frame.asked.filter((one) => !pointOf(frame.id, one));
    const saying = JSON.stringify([name, repeat, Boolean(pointOf(frame.id, name)), lesson.language]);
    if (saying !== saidLast) asked.replaceChildren(
      make("p", { class: "ask" }, repeat ? t("ask.again") : pointOf(frame.id, name) ? t("ask.marked") : t("ask")),
      make("h3", {}, plain), side ? make("p", { class: "side" }, side) : "",
      make("p", { class: "hint" }, t(`where.${name.replace(/^(lead|trail)_/, "").split(".")[0]}`)));
    if (saying !== saidLast) picture.replaceChildren(figure(name, frame.view, lesson.view.values.student?.plays === "left" !== Boolean(frame.mirrored)));
    saidLast = saying;
    names.replaceChildren(...order().map((one) => {
      const point = pointOf(frame.id, one);
      const state = !point ? "open" : point.hidden && !point.at ? "hidden" : "marked";
      return make("li", {}, make("button", { type: "button", class: `plain ${state}`, id: `name-${one}`, "aria-pressed": one === name ? "true" : "false", onclick: () => { select(one); stage.focus({ preventScroll: true }); },
        "aria-label": `${t(`point.${one}`)}, ${t(`state.${state}`)}` },
      make("i", { class: `sign ${state === "marked" ? frame.when : state}`, "aria-hidden": "true" }), t(`point.${one}`)));
    }));
    const has = (one) => Boolean(pointOf(frame.id, one)?.at);
    after.replaceChildren(make("p", { class: "ways" },
      button([t("hide"), key("H")], hide, { id: "hide", "aria-keyshortcuts": "h" })),
    make("p", { class: "ways" }, button([t("undo"), key("Z")], back, { id: "undo", "aria-keyshortcuts": "z", disabled: !canUndo() })),
    hand?.placed ? make("p", { class: "ways" }, button([t("repeat", { point: t(`point.${hand.name}`) }), key("R")], () => { name = hand.name; repeat = true; say(); stage.focus({ preventScroll: true }); }, { id: "repeat", "aria-keyshortcuts": "r" })) : "",
    has("handle") && has("hosel") ? make("p", { class: "ways" }, button([t("snap.shaft"), key("S")], () => snap("shaft"), { id: "snap-shaft", "aria-keyshortcuts": "s" })) : "",
    has("ball") ? make("p", { class: "ways" }, button([t("snap.ball"), key("B")], () => snap("ball"), { id: "snap-ball", "aria-keyshortcuts": "b" })) : "",
    make("p", { class: "ways" }, button("+", () => enlarge(2), { "aria-label": t("larger"), id: "larger" }), button("\u2212", () => enlarge(0.5), { "aria-label": t("smaller"), id: "smaller", disabled: zoom === 1 }),
      LINES.some((one) => pointOf(frame.id, one)) ? "" : button(t("plumb"), () => { select("plumb.0"); stage.focus({ preventScroll: true }); }, { class: "way small", id: "plumb" })),
    flag ? make("p", { class: "advice" }, flag) : "");
    if (!open.length && marked) {
      const next = firstOpen(frame.id);
      after.prepend(make("p", { class: "done" }, next ? t("frame.done") : t("points.done")),
        next ? button(t("frame.next"), () => jump(next.frame, next.name), { class: "way strong", id: "frame-next" }) : "");
    }
  }

  function hint() {
    told.textContent = hand?.at ? t(hand.placed ? "hand.placed" : "hand.free", { point: t(`point.${hand.name}`), across: short(hand.at[0]), down: short(hand.at[1]) }) : "";
  }

  function select(one) {
    name = one;
    repeat = false;
    flag = "";
    const point = pointOf(frame.id, one);
    hand = point?.at ? { name: one, at: point.at, placed: true } : null;
    block = null;
    history.replaceState(null, "", `#points/${frame.id}/${one}`);
    say();
    hint();
    if (zoom > 1) frameZoom(hand?.at || expected(frame, one));
    paint();
  }

  function place(at) {
    const to = [Math.min(Math.max(at[0], 0), width), Math.min(Math.max(at[1], 0), height)];
    const old = pointOf(frame.id, name);
    if (repeat && old?.at) keep(frame.id, name, old.at, { again: [...old.again, to] });
    else keep(frame.id, name, to);
    const done = name;
    flag = "";
    block = null;
    repeat = false;
    advance(done);
    hand = { name: done, at: repeat ? to : pointOf(frame.id, done)?.at || to, placed: true };
    say();
    hint();
    paint();
  }

  function advance(done) {
    const following = LINES.includes(done) && done.endsWith("0") ? done.replace("0", "1") : null;
    const from = frame.asked.indexOf(done);
    const rest = [...frame.asked.slice(from + 1), ...frame.asked.slice(0, Math.max(from, 0))];
    const next = following || rest.find((one) => !pointOf(frame.id, one)) || done;
    name = next;
    history.replaceState(null, "", `#points/${frame.id}/${next}`);
    if (zoom > 1 && next !== done) frameZoom(expected(frame, next));
  }

  function hide() {
    if (LINES.includes(name)) return;
    const done = name;
    keep(frame.id, done, null, { hidden: true });
    hand = null;
    advance(done);
    say();
    hint();
    paint();
    stage.focus({ preventScroll: true });
  }

  function back() {
    const last = undo();
    if (!last) return;
    const [, there, one] = (last.about || "").split("/");
    if (there && there !== frame.id) jump(there, one);
    else select(one || name);
    stage.focus({ preventScroll: true });
  }

  async function snap(kind) {
    flag = t("snapping");
    say();
    while (!isSaved()) await new Promise((resolve) => { setTimeout(resolve, 30); });
    const { status, found } = await ask("/snap", { frame: frame.id, kind });
    if (status !== 200 || !found.snapped) flag = found.refused || t("snap.none");
    else if (found.snapped.flag) flag = t(`snap.${found.snapped.flag.replace(" ", ".")}`);
    else {
      const moved = Object.entries(found.snapped.points);
      edit(moved.map(([one, at]) => ({ do: "put", path: ["frames", { id: frame.id }, "points", one], value: at.map(short) })), { about: `/${frame.id}/${moved[0][0]}` });
      flag = t("snapped", { pixels: found.snapped.moved_px.toFixed(1) });
      if (hand && found.snapped.points[hand.name]) hand.at = pointOf(frame.id, hand.name).at;
    }
    say();
    hint();
    paint();
    stage.focus({ preventScroll: true });
  }

  function enlarge(by) {
    zoom = Math.min(Math.max(zoom * by, 1), 8);
    frameZoom(hand?.at || pointOf(frame.id, name)?.at || expected(frame, name));
    say();
    stage.focus({ preventScroll: true });
  }

  const at = (event) => {
    const box = image.getBoundingClientRect();
    return [((event.clientX - box.left) / box.width) * width, ((event.clientY - box.top) / box.height) * height];
  };
  /** Move an enlarged picture on while a finger drags along its edge. */
  function follow(event) {
    if (zoom === 1) return;
    const box = stage.getBoundingClientRect();
    for (const [axis, low, high, place] of [["scrollLeft", box.left, box.right, event.clientX], ["scrollTop", box.top, box.bottom, event.clientY]]) {
      if (place < low + 28) stage[axis] -= 14;
      else if (place > high - 28) stage[axis] += 14;
    }
  }
  let down = false;
  stage.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || !inner.contains(event.target)) return;
    event.preventDefault();
    stage.focus({ preventScroll: true });
    down = true;
    stage.setPointerCapture(event.pointerId);
    hand = { name, at: at(event), placed: false };
    paint();
  });
  stage.addEventListener("pointermove", (event) => {
    if (!down && event.pointerType === "touch") return;
    if (!down) { if (!hand || hand.hover) { hand = { name, at: at(event), placed: false, hover: true }; paint(); } else { const kept = hand; hand = { name, at: at(event), placed: false }; lens(); hand = kept; } return; }
    hand = { name, at: at(event), placed: false };
    follow(event);
    paint();
  });
  stage.addEventListener("pointerup", (event) => {
    if (!down) return;
    down = false;
    place(at(event));
  });
  stage.addEventListener("pointercancel", () => { down = false; hand = null; paint(); });
  stage.addEventListener("pointerleave", () => { if (!down && hand?.hover) { hand = null; paint(); } });

  function nudge(dx, dy, fine) {
    if (!hand || hand.hover) {
      const point = pointOf(frame.id, name);
      hand = { name, at: point?.at || expected(frame, name), placed: Boolean(point?.at) };
    }
    const by = fine ? 0.2 : hand.placed ? 1 : Math.max(1, width / 180);
    hand.at = [Math.min(Math.max(hand.at[0] + dx * by, 0), width), Math.min(Math.max(hand.at[1] + dy * by, 0), height)];
    if (hand.placed) {
      const old = pointOf(frame.id, hand.name);
      keep(frame.id, hand.name, hand.at, { again: old?.again });
      if (hand.name === name) say();
    }
    hint();
    paint();
  }

  function narrow(digit) {
    const [column, row] = POSITIONS_OF_KEYS[digit];
    const [x, y, w, h] = block || [0, 0, width, height];
    block = [x + (column * w) / 3, y + (row * h) / 3, w / 3, h / 3];
    hand = { name, at: [block[0] + block[2] / 2, block[1] + block[3] / 2], placed: false };
    if (block[2] < 0.8) block = null;
    hint();
    paint();
  }

  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const pressed = event.key.toLowerCase();
    if (moves[event.key]) nudge(...moves[event.key], event.shiftKey);
    else if (POSITIONS_OF_KEYS[pressed]) narrow(pressed);
    else if (event.key === "Enter") {
      if (hand && !hand.placed) place(hand.at);
      else if (!pointOf(frame.id, name) || repeat) { hand = { name, at: expected(frame, name), placed: false }; hint(); paint(); }
      else { const next = firstOpen(frame.id); if (next) { jump(next.frame, next.name); document.getElementById("stage")?.focus(); } }
    } else if (event.key === "Escape") { hand = null; block = null; repeat = false; say(); hint(); paint(); }
    else if (pressed === "h") hide();
    else if (pressed === "z") back();
    else if (pressed === "r" && hand?.placed) { name = hand.name; repeat = true; say(); }
    else if (pressed === "s" && pointOf(frame.id, "handle")?.at && pointOf(frame.id, "hosel")?.at) snap("shaft");
    else if (pressed === "b" && pointOf(frame.id, "ball")?.at) snap("ball");
    else if (pressed === "+") enlarge(2);
    else if (pressed === "-") enlarge(0.5);
    else return;
    event.preventDefault();
  });
  image.addEventListener("load", lens);

  const picture = make("div", { class: "body-drawing" });
  const part = make("div", { class: "split marking" }, make("div", {},
    make("p", { class: "caption" }, make("i", { class: `sign ${frame.when}`, "aria-hidden": "true" }), t("frame.caption", { when: t(`when.${frame.when}`), position: t(`position.${frame.position}`) })),
    stage, told, names, make("p", { class: "hint", id: "points-keys" }, t("points.keys"))),
  make("div", { class: "beside" }, make("div", { class: "askrow" }, asked, picture), glass, after, remarksOf(["frames", { id: frame.id }, "points"], { inside: true })));
  say();
  requestAnimationFrame(() => frameZoom(pointOf(frame.id, name)?.at || expected(frame, name)));
  whileShown(() => { say(); paint(); });
  return part;
}
