// What changed: before beside after, the measures live, their verdicts, and one sentence.

import { make, draw, button } from "/page/make.js";
import { lesson, t, valueAt, put, edit } from "/page/lesson.js";
import { line, tick, whileShown, remarksOf } from "/page/fields.js";
import { cased, measureMark } from "/page/marks.js";

let at = 0;

const written = () => valueAt(["pairs"]) || [];
const shownPairs = () => lesson.view.pairs || [];
const frameOf = (id) => lesson.view.frames.find((one) => one.id === id);

export const pairs = {
  id: "pairs",
  title: () => t("pairs"),
  short: () => t("pairs.short"),
  paths: () => [["pairs"]],
  shape: () => JSON.stringify([lesson.language, at, written().map((one) => [one?.before, one?.after]), shownPairs().length]),
  summary() {
    const rows = shownPairs().flatMap((pair) => pair.rows).filter((row) => row.told);
    return rows.length ? t("pairs.count", { number: rows.filter((row) => row.changed).length, count: rows.length }) : "";
  },
  render(body) {
    if (!written().length) { body.append(make("p", { class: "lead" }, t("pairs.none")), adder()); return; }
    at = Math.min(at, written().length - 1);
    body.append(make("p", { class: "list" }, written().map((pair, place) => {
      const frame = frameOf(pair?.after || pair?.before);
      return button(`${place + 1}  ${frame ? `${t(`position.${frame.position}`)}, ${t(`view.${frame.view}`)}` : ""}`, () => { at = place; redraw(); },
        { class: "plain", id: `pair-${place}`, "aria-pressed": place === at ? "true" : "false" });
    })));
    body.append(pairPart(at));
    if (at + 1 < written().length) body.append(make("p", {}, button(t("pair.next"), () => { at += 1; redraw(); document.getElementById(`pair-${at}`)?.focus(); }, { id: "pair-next", class: "way strong" })));
    body.append(adder());
  },
};

const redraw = () => dispatchEvent(new HashChangeEvent("hashchange"));

function adder() {
  const used = new Set(written().flatMap((pair) => [pair?.before, pair?.after]));
  const free = lesson.view.frames.filter((one) => !used.has(one.id));
  if (!free.length) return "";
  const firsts = free.filter((frame) => frame.when === "before" || !free.some((one) => one.when === "before" && one.view === frame.view && one.position === frame.position));
  return make("details", { class: "more" }, make("summary", {}, t("pair.more")), make("p", { class: "ways" }, firsts.map((frame) => button(t("pair.add", { number: frame.number, position: t(`position.${frame.position}`) }), () => {
    const partner = free.find((one) => one.when !== frame.when && one.view === frame.view && one.position === frame.position);
    const pair = { [frame.when]: frame.id, ...(partner ? { [partner.when]: partner.id } : {}) };
    at = written().length;
    edit([{ do: "insert", path: ["pairs"], index: written().length, value: pair }]);
  }, { class: "way small" }))));
}

function pairPart(index) {
  const pair = written()[index];
  const stills = make("div", { class: "stillpair" });
  const table = make("div", { class: "rows" });
  const measures = make("div", { class: "measures" });
  let drawn = "";
  let asked = "";
  whileShown(() => {
    const found = shownPairs().find((one) => one.index === index);
    const now = JSON.stringify([found?.rows, lesson.language, found?.before, found?.after]);
    if (now !== drawn) {
      drawn = now;
      stills.replaceChildren(...["before", "after"].filter((when) => pair[when]).map((when) => still(frameOf(pair[when]), when, found)));
      table.replaceChildren(rows(found));
    }
    const offer = JSON.stringify([found?.offered.map((one) => one.id), lesson.language]);
    if (offer !== asked) {
      asked = offer;
      measures.replaceChildren(make("details", { class: "more" }, make("summary", {}, t("measures.choose")), ...(found?.offered || []).map((one) =>
        tick(`${one.name} (${one.class})`, () => Boolean(shownPairs().find((two) => two.index === index)?.offered.find((two) => two.id === one.id)?.chosen), (on) => {
          const chosen = shownPairs().find((two) => two.index === index).offered.filter((two) => (two.id === one.id ? on : two.chosen)).map((two) => two.id);
          put(["pairs", index, "measures"], chosen.length ? chosen : null);
        }))));
    }
  });
  return make("div", {}, stills, table, measures,
    line(["pairs", index, "heading"], t("pair.heading"), { hint: shownPairs().find((one) => one.index === index)?.heading && !pair.heading ? t("pair.heading.own", { heading: shownPairs().find((one) => one.index === index).heading }) : "" }),
    line(["pairs", index, "sentence"], t("pair.sentence"), { long: true, hint: t("pair.sentence.hint") }),
    remarksOf(["pairs", index]),
    button(t("pair.remove"), () => { edit([{ do: "remove", path: ["pairs", index] }]); }, { class: "way small" }));
}

function still(frame, when, found) {
  if (!frame || !frame.size) return make("figure", {}, make("figcaption", {}, t(`when.${when}`)), make("p", { class: "problem" }, t("still.missing", { file: frame?.file || "" })));
  const [width, height] = frame.size;
  const unit = width / 90;
  const marks = (found?.rows || []).flatMap((row) => (row.marks[when] ? measureMark(row.marks[when], when, unit) : []));
  marks.push(...tags((found?.rows || []).filter((row) => row.marks[when]), when, width, height, unit));
  return make("figure", {}, make("figcaption", {}, make("i", { class: `sign ${when}`, "aria-hidden": "true" }), t("frame.caption", { when: t(`when.${when}`), position: t(`position.${frame.position}`) })),
    make("div", { class: "framed" }, make("img", { src: `/stills/${frame.picture}`, alt: t("still.alt", { number: frame.number, when: t(`when.${when}`), position: t(`position.${frame.position}`), view: t(`view.${frame.view}`) }), width, height }),
      draw("svg", { viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true", focusable: "false" }, marks)));
}

/** Return the numbers of the marks at the picture's right edge, each with a line to its mark. */
function tags(rows, when, width, height, unit) {
  const space = unit * 6.4;
  const wanted = rows.map((row) => {
    const [[x1, y1], [x2, y2]] = row.marks[when].line;
    return { number: row.number, x: (x1 + x2) / 2, y: (y1 + y2) / 2 };
  }).sort((a, b) => a.y - b.y);
  let above = space / 2;
  const parts = [];
  const numbers = [];
  wanted.forEach((one, place) => {
    const rest = wanted.length - place - 1;
    const y = Math.min(Math.max(one.y, above), height - space / 2 - rest * space);
    above = y + space;
    parts.push(...cased("line", { x1: one.x, y1: one.y, x2: width - space / 2, y2: y }, "arc"));
    numbers.push(draw("circle", { class: "tagged", cx: width - space / 2, cy: y, r: unit * 2.6 }),
      draw("text", { x: width - space / 2, y: y + unit * 1.25, "font-size": unit * 3.6, "text-anchor": "middle" }, String(one.number)));
  });
  return [...parts, ...numbers];
}

function rows(found) {
  if (!found || !found.rows.length) return make("p", { class: "hint" }, t("rows.none"));
  return make("table", {}, make("thead", {}, make("tr", {}, ["", "row.measure", "row.before", "row.after", "row.difference", "row.verdict"].map((name) => make("th", { scope: "col" }, name ? t(name) : "")))),
    make("tbody", {}, found.rows.map((row) => make("tr", {},
      make("td", {}, make("span", { class: "tag" }, String(row.number))), make("th", { scope: "row" }, row.name), make("td", {}, row.before), make("td", {}, row.after),
      make("td", { class: "difference" }, make("b", {}, row.difference), row.plus_minus ? ` ${row.plus_minus}` : ""),
      make("td", {}, row.verdict ? make("b", {}, row.verdict) : "", row.note ? `${row.verdict ? ", " : ""}${row.note}` : "")))));
}
