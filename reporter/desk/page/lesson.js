// The lesson as the page knows it: what is on the disk, what is under way there, and undo.
//
// Every change is one batch of edits with what the page saw before. Batches go to the disk one
// after another; those not yet there are kept in the browser, so that a reload loses nothing.

const listeners = new Set();
const stored = "desk-waiting";
let waiting = [];
let sending = false;
let timer = 0;
let undoable = [];

export const lesson = {
  view: null,
  words: {},
  language: "en",
  status: "", // "", "saving", "saved", "away", "shut", "refused"
  letter: "",
  clash: null,
};

/** Return a wording of the page, its places filled. */
export function t(name, places) {
  const text = lesson.words[name] ?? name;
  return places ? text.replace(/\{(\w+)\}/g, (whole, place) => places[place] ?? whole) : text;
}

export function onChange(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

function tell() {
  for (const listener of listeners) listener();
}

export async function ask(path, content) {
  const address = `${path}${path.includes("?") ? "&" : "?"}in=${lesson.language}`;
  const given = content === undefined ? {} : {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(content),
  };
  const answer = await fetch(address, { credentials: "same-origin", ...given });
  const found = await answer.json();
  return { status: answer.status, found };
}

function stepIn(value, step) {
  if (value === undefined || value === null) return undefined;
  if (typeof step === "object") {
    return Array.isArray(value) ? value.find((item) => item && item.id === step.id) : undefined;
  }
  return value[step];
}

/** Return the plain value at a path, undefined where nothing stands. */
export function valueAt(path, tree = lesson.view?.values) {
  return path.reduce(stepIn, tree);
}

function changed(tree, path, change) {
  if (!path.length) return change(tree);
  const [step, ...rest] = path;
  if (typeof step === "object") {
    return (Array.isArray(tree) ? tree : []).map((item) =>
      item && item.id === step.id ? changed(item, rest, change) : item);
  }
  if (typeof step === "number") {
    const items = Array.isArray(tree) ? [...tree] : [];
    const inside = changed(items[step], rest, change);
    if (inside === undefined) items.splice(step, 1);
    else items[step] = inside;
    return items;
  }
  const fields = { ...(tree || {}) };
  const inside = changed(fields[step], rest, change);
  if (inside === undefined) delete fields[step];
  else fields[step] = inside;
  return fields;
}

function done(tree, edit) {
  if (edit.do === "insert") {
    return changed(tree, edit.path, (items) => {
      const list = Array.isArray(items) ? [...items] : [];
      list.splice(edit.index, 0, edit.value);
      return list;
    });
  }
  const value = edit.do === "put" ? edit.value ?? undefined : undefined;
  return changed(tree, edit.path, () => value);
}

function seenBy(edit, tree) {
  const here = valueAt(edit.path, tree);
  if (edit.do === "insert") return { ...edit, was: Array.isArray(here) ? here.length : 0 };
  return { ...edit, was: here ?? null };
}

function inverse(edit) {
  const last = edit.path[edit.path.length - 1];
  if (edit.do === "insert") return { do: "remove", path: [...edit.path, edit.index] };
  if (edit.was === null) return { do: "remove", path: edit.path };
  if (edit.do === "remove" && typeof last === "number") {
    return { do: "insert", path: edit.path.slice(0, -1), index: last, value: edit.was };
  }
  return { do: "put", path: edit.path, value: edit.was };
}

/** Change the lesson: shown at once, saved as soon as the desk answers. */
export function edit(edits, { about = null, undo = true } = {}) {
  const batch = { edits: [], revision: lesson.view.revision, place: lesson.view.place };
  let tree = lesson.view.values;
  for (const one of edits) {
    const full = seenBy(one, tree);
    if (full.do !== "insert" && JSON.stringify(full.was) === JSON.stringify(full.value ?? null)) continue;
    tree = done(tree, full);
    batch.edits.push(full);
  }
  if (!batch.edits.length) return;
  lesson.view = { ...lesson.view, values: tree };
  if (undo) undoable.push({ edits: batch.edits.map(inverse).reverse(), about });
  if (undoable.length > 200) undoable.shift();
  waiting.push(batch);
  keep();
  tell();
  send();
}

export const put = (path, value, more) => edit([value === null || value === ""
  ? { do: "remove", path } : { do: "put", path, value }], more);

/** Take the last change back; return what it was about, null if there is none. */
export function undo() {
  const last = undoable.pop();
  if (!last) return null;
  edit(last.edits, { undo: false });
  return last;
}

export const canUndo = () => undoable.length > 0;

function keep() {
  try {
    if (waiting.length) localStorage.setItem(stored, JSON.stringify(waiting));
    else localStorage.removeItem(stored);
  } catch { /* a browser that keeps nothing still saves to the disk */ }
}

/** Take over a view from the desk, and show on it what is still under way. */
export function take(view) {
  lesson.view = view;
  if (!view.broken) {
    for (const batch of waiting) {
      lesson.view.values = batch.edits.reduce(done, lesson.view.values);
    }
  }
  tell();
}

async function send() {
  if (sending || !waiting.length || lesson.clash) return;
  sending = true;
  clearTimeout(timer);
  lesson.status = "saving";
  tell();
  try {
    while (waiting.length && !lesson.clash) {
      const batch = waiting[0];
      const { status, found } = await ask("/edit", { edits: batch.edits, revision: batch.revision });
      if (status === 200) {
        waiting.shift();
        for (const other of waiting) {
          if (other.revision === batch.revision) other.revision = found.revision;
        }
        keep();
        lesson.status = waiting.length ? "saving" : "saved";
        lesson.letter = "";
        take(found);
      } else if (status === 409) {
        lesson.clash = { batch, numbers: found.conflict, theirs: found.lesson };
        waiting.shift();
        keep();
        take(found.lesson);
      } else if (status === 403) {
        lesson.status = "shut";
        break;
      } else {
        lesson.letter = found.refused || String(status);
        lesson.status = "refused";
        if (status === 400) { // an edit without a place: it can never be done
          waiting.shift();
          keep();
          await refresh();
        } else {
          timer = setTimeout(send, 4000);
          break;
        }
      }
    }
  } catch {
    lesson.status = "away";
    timer = setTimeout(send, 1000);
  }
  sending = false;
  tell();
}

/** Decide a clash: keep what was written here, or what stands on the disk now. */
export function settle(mine) {
  const { batch } = lesson.clash;
  lesson.clash = null;
  lesson.status = "saved";
  if (mine) edit(batch.edits.map(({ was, ...one }) => one));
  else tell();
  send();
}

export const isSaved = () => !waiting.length && !sending;

/** Ask the desk for the lesson anew. */
export async function refresh() {
  const { status, found } = await ask("/lesson");
  if (status === 200) take(found);
  else if (status === 403) { lesson.status = "shut"; tell(); }
}

/** Do something beside editing, such as pulling a picture; the answer is the lesson. */
export async function act(path, content) {
  const { status, found } = await ask(path, content);
  if (status === 200) {
    take(found);
    lesson.status = "saved";
    lesson.letter = "";
  } else {
    lesson.status = status === 403 ? "shut" : "refused";
    lesson.letter = found.refused || "";
    if (found.lesson) take(found.lesson);
  }
  tell();
  return status === 200;
}

async function watch() {
  if (document.visibilityState === "visible" && !sending && !waiting.length) {
    try {
      const { status, found } = await ask("/alive");
      if (status === 403) { lesson.status = "shut"; tell(); }
      else if (status === 200) {
        if (lesson.status === "away") { lesson.status = "saved"; tell(); }
        if (found.revision !== lesson.view.revision) await refresh();
      }
    } catch {
      lesson.status = "away";
      tell();
    }
  }
  setTimeout(watch, 3000);
}

/** Read words and lesson, send what an earlier page left unsent, and watch for other writers. */
export async function begin(language) {
  lesson.language = language;
  const [words, first] = await Promise.all([ask("/words"), ask("/lesson")]);
  if (words.status !== 200 || first.status !== 200) {
    lesson.status = "shut";
    return false;
  }
  lesson.words = words.found;
  try {
    waiting = JSON.parse(localStorage.getItem(stored) || "[]")
      .filter((batch) => batch.place === first.found.place);
  } catch { waiting = []; }
  take(first.found);
  setTimeout(watch, 3000);
  send();
  return true;
}

export async function speak(language) {
  lesson.language = language;
  const { found } = await ask("/words");
  lesson.words = found;
  await refresh();
}
