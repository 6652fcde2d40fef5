// Who was taught, and how the ball flew.

import { make } from "/page/make.js";
import { lesson, t, valueAt } from "/page/lesson.js";
import { line, choice, truth, whileShown, remarksOf } from "/page/fields.js";

const words = (names, prefix) => names.map((name) => [name, t(`${prefix}.${name}`)]);
const two = (...fields) => make("div", { class: "two" }, fields);

function more(label, ...children) {
  const details = make("details", { class: "more" }, make("summary", {}, label), children);
  return details;
}

export const who = {
  id: "who",
  title: () => t("who"),
  short: () => t("who.short"),
  paths: () => [["lesson"], ["student"], ["consent"]],
  shape: () => lesson.language,
  summary() {
    const student = lesson.view.values.student || {};
    const day = valueAt(["lesson", "date"]);
    return [student.name, student.age_band && t(`age.${student.age_band}`), day].filter(Boolean).join(", ");
  },
  render(body) {
    body.append(
      two(line(["student", "name"], t("name"), { hint: t("name.hint") }),
        line(["lesson", "date"], t("date"), { hint: t("date.hint") })),
      two(choice(["student", "plays"], t("plays"), words(["right", "left"], "plays"), { fallback: "right" }),
        choice(["student", "age_band"], t("age"), words(["under-13", "13-15", "16-17", "adult", "60-plus"], "age"), { fallback: "adult" })),
      minor(),
      make("div", { class: "field" }, truth(["consent", "photos"], t("consent.photos")), remarksOf(["consent"])),
      two(line(["lesson", "coach"], t("coach")), line(["lesson", "academy"], t("academy"))),
      more(t("more.who"),
        two(line(["lesson", "place"], t("place")), line(["student", "level"], t("level"), { hint: t("level.hint") })),
        lesson.view.languages.length > 1 ? choice(["student", "language"], t("language"), lesson.view.languages.map((tag) => [tag, t(`language.${tag}`)]), { fallback: "en" }) : "",
        choice(["student", "units"], t("units"), words(["metres", "yards"], "units"), { fallback: "metres" }),
        truth(["consent", "archive"], t("consent.archive")),
        truth(["consent", "share"], t("consent.share")),
        two(line(["consent", "by"], t("consent.by")), line(["consent", "guardian"], t("consent.guardian"))),
        two(line(["consent", "date"], t("consent.date")), line(["consent", "until"], t("consent.until"))),
        line(["private_notes"], t("private"), { long: true, hint: t("private.hint") })));
  },
};

/** Return the word of caution for a minor's photographs. */
function minor() {
  const place = make("p", { class: "care" });
  whileShown(() => {
    const band = valueAt(["student", "age_band"]);
    const young = ["under-13", "13-15", "16-17"].includes(band);
    place.hidden = !young;
    place.textContent = young ? t("minor") : "";
  });
  return place;
}

export const seen = {
  id: "seen",
  title: () => t("seen"),
  short: () => t("seen.short"),
  paths: () => [["seen"], ["wanted"]],
  shape: () => lesson.language,
  summary() {
    const flight = lesson.view.values.seen || {};
    const parts = [flight.club, flight.start && t("seen.starts", { start: flight.start }), flight.bend && t("seen.bends", { bend: flight.bend }), flight.shots];
    return parts.filter(Boolean).join(", ");
  },
  render(body) {
    body.append(
      two(line(["seen", "club"], t("club"), { hint: t("club.hint") }),
        line(["seen", "head_speed"], t("speed"), { hint: t("speed.hint") })),
      two(line(["seen", "start"], t("start"), { hint: t("start.hint") }),
        line(["seen", "bend"], t("bend"), { hint: t("bend.hint") })),
      choice(["seen", "how"], t("how"), [["by eye", t("how.eye")], ["measured", t("how.measured")]], { fallback: "by eye" }),
      make("h3", {}, t("wanted")),
      two(line(["wanted", "start"], t("wanted.start"), { hint: t("wanted.start.hint") }),
        line(["wanted", "bend"], t("wanted.bend"), { hint: t("wanted.bend.hint") })),
      more(t("more.seen"),
        two(line(["wanted", "fairway_width"], t("fairway"), { hint: t("fairway.hint") }),
          line(["seen", "shots"], t("shots"), { hint: t("shots.hint") }))));
  },
};
