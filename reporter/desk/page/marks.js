// What is drawn on a picture: every line with a white edge, before dashed, after solid.

import { draw } from "/page/make.js";

/** Return both strokes of one path: its white edge first, then its ink. */
export function cased(tag, given, kind) {
  return [draw(tag, { ...given, class: `mark edge ${kind}` }), draw(tag, { ...given, class: `mark ink ${kind}` })];
}

/** Return the drawing of one measure on one picture. `unit` is one printed millimetre in pixels. */
export function measureMark(mark, when, unit) {
  const [[x1, y1], [x2, y2]] = mark.line;
  const parts = [];
  if (mark.reference) {
    const [[a, b], [c, d]] = mark.reference;
    parts.push(...cased("line", { x1: a, y1: b, x2: c, y2: d }, "chain"));
    if (mark.kind === "angle") parts.push(...arc(mark, unit));
  }
  parts.push(...cased("line", { x1, y1, x2, y2 }, when));
  if (mark.kind === "flex") parts.push(...cased("line", { x1: mark.reference?.[0][0] ?? x1, y1: mark.reference?.[0][1] ?? y1, x2: mark.points[2][0], y2: mark.points[2][1] }, when));
  for (const [cx, cy] of mark.points) parts.push(joint(cx, cy, when, unit));
  return parts;
}

export function joint(cx, cy, when, unit) {
  return draw("g", {}, draw("circle", { class: "joint halo", cx, cy, r: unit * 1.5 }),
    draw("circle", { class: `joint ${when}`, cx, cy, r: unit }));
}

function arc(mark, unit) {
  const [vx, vy] = mark.vertex;
  const far = (line) => line.reduce((best, at) => (Math.hypot(at[0] - vx, at[1] - vy) > Math.hypot(best[0] - vx, best[1] - vy) ? at : best));
  const from = far(mark.line);
  const to = far(mark.reference);
  const length = Math.hypot(from[0] - vx, from[1] - vy);
  const radius = 0.72 * length;
  if (radius < 6 * unit) return [];
  const angle = (at) => Math.atan2(at[1] - vy, at[0] - vx);
  const [a, b] = [angle(from), angle(to)];
  const turn = Math.atan2(Math.sin(b - a), Math.cos(b - a));
  const place = (at) => `${vx + radius * Math.cos(at)} ${vy + radius * Math.sin(at)}`;
  return cased("path", { d: `M ${place(a)} A ${radius} ${radius} 0 0 ${turn > 0 ? 1 : 0} ${place(b)}` }, "arc");
}
