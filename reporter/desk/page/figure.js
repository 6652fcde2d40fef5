// A small drawing of a golfer that shows where on the body a point is.

import { draw } from "/page/make.js";

// Seen from the front, a right-hander: the target lies to the right of the drawing.
const FRONT = {
  head: [50, 15], neck: [50, 28], pelvis: [50, 74],
  lead_shoulder: [63, 33], trail_shoulder: [37, 34], lead_elbow: [65, 52], trail_elbow: [39, 54],
  lead_wrist: [54, 68], trail_wrist: [50, 70], lead_hip: [57, 73], trail_hip: [43, 73],
  lead_knee: [63, 100], trail_knee: [37, 100], lead_ankle: [66, 126], trail_ankle: [34, 126],
  lead_heel: [64, 131], trail_heel: [36, 131], lead_toe: [72, 135], trail_toe: [28, 135],
  handle: [53, 73], hosel: [60, 130], ball: [67, 133],
};
// Seen along the target line, a right-hander: the ball lies to the right of the drawing.
const LINE = {
  head: [60, 20], neck: [52, 29], pelvis: [31, 70],
  lead_shoulder: [56, 37], trail_shoulder: [52, 37], lead_elbow: [57, 55], trail_elbow: [53, 57],
  lead_wrist: [60, 72], trail_wrist: [58, 73], lead_hip: [33, 71], trail_hip: [31, 71],
  lead_knee: [43, 98], trail_knee: [41, 98], lead_ankle: [34, 127], trail_ankle: [32, 127],
  lead_heel: [29, 132], trail_heel: [27, 132], lead_toe: [46, 134], trail_toe: [44, 135],
  handle: [61, 77], hosel: [87, 130], ball: [93, 132],
};
const ABOVE = {
  lead_heel: [64, 70], trail_heel: [36, 70], lead_toe: [70, 96], trail_toe: [30, 96], ball: [56, 124],
  lead_ankle: [64, 76], trail_ankle: [36, 76], hosel: [50, 122], handle: [50, 96],
};
const LIMBS = [
  ["trail_hip", "trail_knee", "trail_ankle"], ["lead_hip", "lead_knee", "lead_ankle"],
  ["trail_ankle", "trail_toe"], ["lead_ankle", "lead_toe"],
];
const ARMS = [["trail_shoulder", "trail_elbow", "trail_wrist"], ["lead_shoulder", "lead_elbow", "lead_wrist"]];

const along = (places, names) => names.map((name) => places[name].join(",")).join(" ");

function limb(places, names, width) {
  return [
    draw("polyline", { class: "edge", points: along(places, names), "stroke-width": width + 1.4 }),
    draw("polyline", { class: "skin", points: along(places, names), "stroke-width": width }),
  ];
}

/** Return a drawing of a golfer with one point marked. */
export function figure(name, view, leftHanded) {
  const places = view === "down-the-line" ? LINE : view === "feet" ? ABOVE : FRONT;
  const parts = [];
  if (view === "feet") {
    for (const side of ["lead", "trail"]) {
      const [[x1, y1], [x2, y2]] = [places[`${side}_heel`], places[`${side}_toe`]];
      parts.push(draw("line", { class: "edge", x1, y1, x2, y2, "stroke-width": 17.4 }), draw("line", { class: "skin", x1, y1, x2, y2, "stroke-width": 16 }));
    }
    parts.push(draw("line", { class: "shaft", x1: 50, y1: 80, x2: 50, y2: 122 }), draw("circle", { class: "small", cx: 56, cy: 124, r: 3.4 }));
  } else {
    const chest = view === "down-the-line" ? "50,30 57,36 40,74 29,76 27,66" : "36,31 50,27 64,30 60,56 60,76 40,76 40,56";
    parts.push(...limb(places, LIMBS[2], 6), ...limb(places, LIMBS[3], 6), ...limb(places, LIMBS[0], 11), ...limb(places, LIMBS[1], 11),
      ...(view === "down-the-line" ? [] : limb(places, ARMS[0], 8)),
      draw("polygon", { class: "body", points: chest }),
      ...limb(places, view === "down-the-line" ? ARMS[0] : ARMS[1], 8),
      draw("circle", { class: "body", cx: places.head[0], cy: places.head[1], r: 9.5 }),
      draw("line", { class: "shaft", x1: places.handle[0], y1: places.handle[1] - 6, x2: places.hosel[0], y2: places.hosel[1] }),
      draw("circle", { class: "small", cx: places.ball[0], cy: places.ball[1], r: 2.6 }));
  }
  const base = name.split(".")[0];
  if (base === "plumb" || base === "level") {
    const upright = base === "plumb";
    parts.push(draw("line", { class: "rule", x1: upright ? 88 : 8, y1: upright ? 20 : 142, x2: upright ? 88 : 92, y2: upright ? 138 : 142 }));
    const end = name.endsWith("0") ? (upright ? [88, 20] : [8, 142]) : (upright ? [88, 138] : [92, 142]);
    parts.push(...spot(end));
  } else if (places[base]) parts.push(...spot(places[base]));
  return draw("svg", { class: "figure", viewBox: "0 0 104 148", "aria-hidden": "true", focusable: "false" },
    draw("g", leftHanded ? { transform: "translate(104 0) scale(-1 1)" } : {}, parts));
}

const spot = ([cx, cy]) => [draw("circle", { class: "halo", cx, cy, r: 6.4 }), draw("circle", { class: "spot", cx, cy, r: 2.6 })];
