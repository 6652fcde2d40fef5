// When and how much the student practises until the next lesson.

import { make, button } from "/page/make.js";
import { lesson, t, valueAt, edit } from "/page/lesson.js";
import { line, remarksOf, whileShown } from "/page/fields.js";

const two = (...fields) => make("div", { class: "two" }, fields);
const lines = () => valueAt(["plan", "if_then"]) || [];

function keep(index, name, text) {
  const value = text.trim();
  const now = lines()[index];
  if (now === undefined) {
    if (value) edit([{ do: "insert", path: ["plan", "if_then"], index: lines().length, value: { [name]: value } }]);
  } else if (!value && Object.keys(now).every((key) => key === name)) edit([{ do: "remove", path: ["plan", "if_then", index] }]);
  else edit([value ? { do: "put", path: ["plan", "if_then", index, name], value } : { do: "remove", path: ["plan", "if_then", index, name] }]);
}

export const plan = {
  id: "plan",
  title: () => t("plan"),
  short: () => t("plan.short"),
  paths: () => [["plan"], ["notes"], ["student_words"]],
  shape: () => `${lesson.language} ${lines().length}`,
  summary() {
    const value = lesson.view.values.plan || {};
    return [value.visits_per_week && t("plan.visits", { number: value.visits_per_week }), value.minutes && t("plan.minutes", { number: value.minutes }), valueAt(["lesson", "next_lesson"])].filter(Boolean).join(", ");
  },
  render(body) {
    const rules = [];
    for (let index = 0; index <= Math.min(lines().length, 9); index += 1) {
      rules.push(two(
        line(["plan", "if_then", index, "when"], t("when"), { show: () => lines()[index]?.when || "", store: (text) => keep(index, "when", text) }),
        line(["plan", "if_then", index, "then"], t("then"), { show: () => lines()[index]?.then || "", store: (text) => keep(index, "then", text) })));
    }
    body.append(
      two(line(["lesson", "next_lesson"], t("next.lesson"), { hint: t("next.lesson.hint") }),
        line(["plan", "visits_per_week"], t("visits"))),
      two(line(["plan", "minutes"], t("minutes")), line(["plan", "balls"], t("balls"))),
      line(["plan", "cold_test"], t("cold"), { hint: t("cold.hint") }),
      make("h3", {}, t("if.then")), ...rules,
      line(["student_words"], t("student.words"), { long: true, hint: t("student.words.hint") }),
      line(["notes"], t("notes"), { long: true }),
      remarksOf(["plan"]), notes());
  },
};

function notes() {
  const place = make("ul", { class: "notes" });
  whileShown(() => place.replaceChildren(...(lesson.view.notes || []).map((one) => make("li", {}, one.message))));
  return place;
}
