// The thoughts to keep and the drills to practise, with advice while they are written.

import { make, button } from "/page/make.js";
import { lesson, t, valueAt, edit, put, ask } from "/page/lesson.js";
import { line, remarksOf } from "/page/fields.js";

const MOST = 3;
const PLACEHOLDER = "(write the first thought here)";
const said = (one) => (typeof one === "string" ? one : one?.say || "");
const list = () => valueAt(["thoughts"]) || [];

function keepThought(index, name, text) {
  const now = list()[index];
  const value = text.trim();
  if (now === undefined) {
    if (value) edit([{ do: "insert", path: ["thoughts"], index: list().length, value: { [name]: value } }]);
  } else if (typeof now === "string") {
    if (name === "say") put(["thoughts", index], value || PLACEHOLDER);
    else put(["thoughts", index], { say: now, because: value });
  } else put(["thoughts", index, name], name === "say" ? value || PLACEHOLDER : value || null);
}

const read = (index, name) => () => {
  const one = list()[index];
  const text = name === "say" ? said(one) : (typeof one === "object" && one?.because) || "";
  return text === PLACEHOLDER ? "" : text;
};

export const thoughts = {
  id: "thoughts",
  title: () => t("thoughts"),
  short: () => t("thoughts.short"),
  paths: () => [["thoughts"]],
  shape: () => `${lesson.language} ${list().length}`,
  summary: () => list().map(said).filter((text) => text && text !== PLACEHOLDER).join("  "),
  render(body) {
    body.append(make("p", { class: "lead" }, t("thoughts.lead")));
    const count = Math.min(Math.max(list().length + (list().length < 2 ? 1 : 0), 1), 12);
    for (let index = 0; index < count; index += 1) {
      const path = ["thoughts", index];
      body.append(make("div", { class: "thought" },
        make("span", { class: "number", "aria-hidden": "true" }, String(index + 1)),
        make("div", {},
          line([...path, "say"], t("thought", { number: index + 1 }), { big: true, show: read(index, "say"), store: (text) => keepThought(index, "say", text) }),
          line([...path, "because"], t("because"), { long: true, show: read(index, "because"), store: (text) => keepThought(index, "because", text) }),
          remarksOf(path),
          list().length > 1 && index < list().length
            ? button(t("thought.remove"), () => edit([{ do: "remove", path }]), { class: "way small" }) : null)));
    }
    if (list().length >= 2 && list().length < MOST) {
      body.append(button(t("thought.add"), () => edit([{ do: "insert", path: ["thoughts"], index: list().length, value: { say: t("thought.new") } }]), { class: "way small", id: "thought-add" }));
    }
    body.append(remarksOf(["thoughts"]));
  },
};

let known = null;

/** Ask the desk for its drills, so that they can be told by name. */
export async function learnDrills() {
  const { found } = await ask("/drills");
  known = Array.isArray(found) ? found : [];
}

let typed = "";
const chosen = () => valueAt(["drills"]) || [];
const idOf = (one) => (typeof one === "string" ? one : one?.id || one?.name || "");

export const drills = {
  id: "drills",
  title: () => t("drills"),
  short: () => t("drills.short"),
  paths: () => [["drills"]],
  shape: () => `${lesson.language} ${chosen().map(idOf).join()} ${known ? "known" : ""}`,
  summary: () => chosen().map((one) => known?.find((drill) => drill.id === idOf(one))?.name || idOf(one)).join("; "),
  render(body) {
    body.append(make("p", { class: "lead" }, t("drills.lead")));
    if (!known) {
      learnDrills().then(() => dispatchEvent(new HashChangeEvent("hashchange")));
      return;
    }
    body.append(make("ol", { class: "chosen" }, chosen().map((one, index) => make("li", {},
      make("b", {}, known.find((drill) => drill.id === idOf(one))?.name || idOf(one)), " ",
      known.find((drill) => drill.id === idOf(one))?.aim || "", " ",
      button(t("drill.remove"), () => edit([{ do: "remove", path: ["drills", index] }]), { class: "way small", "aria-label": t("drill.remove.named", { name: known.find((drill) => drill.id === idOf(one))?.name || idOf(one) }) }),
      remarksOf(["drills", index], { inside: true })))),
    remarksOf(["drills"]));
    const found = make("ul", { class: "drills" });
    const field = make("input", { id: "drill-search", class: "line", type: "search", value: typed, autocomplete: "off", oninput: () => { typed = field.value; fill(); } });
    const fill = () => {
      const asked = typed.toLowerCase().split(/\s+/).filter(Boolean);
      const rest = known.filter((drill) => !chosen().some((one) => idOf(one) === drill.id));
      const fits = rest.filter((drill) => {
        const text = [drill.id, drill.name, drill.aim, ...drill.faults, ...drill.acts_on].join(" ").toLowerCase();
        return asked.every((word) => text.includes(word));
      });
      found.replaceChildren(...fits.slice(0, asked.length ? 12 : 5).map((drill) => make("li", {},
        make("button", { type: "button", class: "pick", onclick: () => edit([{ do: "insert", path: ["drills"], index: chosen().length, value: drill.id }]) },
          make("b", {}, drill.name), make("span", {}, ` ${drill.aim}`)))),
      fits.length ? "" : make("li", {}, t("drills.none")));
    };
    body.append(make("div", { class: "field" }, make("label", { for: "drill-search" }, t("drill.search")), field,
      make("p", { class: "hint" }, t("drill.search.hint"))), found);
    fill();
  },
};
