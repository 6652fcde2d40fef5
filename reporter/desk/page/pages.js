// The real pages as they would be printed now, and the handout itself.

import { make, button } from "/page/make.js";
import { lesson, t, ask, isSaved } from "/page/lesson.js";

let made = null; // { revision, pages, pictures, stamp }
let built = null;
let letter = "";
let busy = "";

const settled = () => new Promise((resolve) => {
  const look = () => (isSaved() ? resolve() : setTimeout(look, 50));
  look();
});

export const pages = {
  id: "pages",
  leads: true,
  title: () => t("pages"),
  short: () => t("pages.short"),
  paths: () => [],
  shape: () => `${lesson.language}`,
  summary: () => (built ? t("built.short", { file: built.file }) : ""),
  render(body) {
    const place = make("div", { class: "pages" });
    const told = make("div", { id: "built", role: "status", "aria-live": "polite" });
    const ways = make("p", { class: "ways" },
      button(t("build"), build, { class: "way strong", id: "build" }),
      button(t("look"), look, { id: "look" }));
    body.append(make("p", { class: "lead" }, t("pages.lead")), ways, told, place);
    const show = () => {
      told.replaceChildren(
        busy ? make("p", {}, busy) : "",
        letter ? make("p", { class: "problem" }, letter) : "",
        ...(letter ? lesson.view.problems.map((one) => make("p", { class: "problem" }, `${one.field || one.file}: ${one.message}`)) : []),
        built && !busy ? make("p", { class: "done" }, make("b", {}, t("built", { file: built.file, pages: built.pages })), " ", t("built.where", { folder: built.folder })) : "",
        ...(built && !busy ? built.warnings.map((text) => make("p", { class: "advice" }, text)) : []));
      if (!made) { place.replaceChildren(); return; }
      if (place.dataset.stamp === String(made.stamp)) return;
      place.dataset.stamp = String(made.stamp);
      if (made.pictures) {
        place.replaceChildren(...Array.from({ length: made.pages }, (_, index) => make("img", {
          src: `/pages/${index + 1}?stamp=${made.stamp}`, alt: t("page.named", { number: index + 1, count: made.pages }), loading: "lazy",
          width: "720", height: "1018" })));
      } else place.replaceChildren(make("iframe", { src: `/pages/all.pdf?stamp=${made.stamp}`, title: t("pages.short") }));
    };
    async function look() {
      busy = t("looking");
      letter = "";
      show();
      await settled();
      const { status, found } = await ask("/preview", {});
      busy = "";
      if (status === 200) made = { ...found, stamp: Date.now(), revision: lesson.view.revision };
      else letter = found.refused;
      if (place.isConnected) show();
    }
    async function build() {
      busy = t("building");
      letter = "";
      show();
      await settled();
      const { status, found } = await ask("/build", {});
      busy = "";
      if (status === 200) built = found;
      else letter = found.refused;
      if (place.isConnected) show();
    }
    show();
    if (!made || made.revision !== lesson.view.revision) look();
  },
};
