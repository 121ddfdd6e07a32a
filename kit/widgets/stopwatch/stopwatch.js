// @ts-check
/* A stopwatch for a hand that holds a bottle: the space bar starts it and sets marks. It reads the clock and knows
   nothing else; stopwatch.py hears which marks were set. The moment of the press counts, not that of letting go. */

const TICK = 100; // between two looks at the clock while it runs [ms]

/** @template {keyof HTMLElementTagNameMap} T @param {T} tag @param {Record<string, string>} attributes
 * @param {...(Node | string)} children @returns {HTMLElementTagNameMap[T]} */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

/** Seconds as a watch shows them. @param {number} seconds */
function shown(seconds) {
  const tenths = Math.floor(seconds * 10);
  const minutes = Math.floor(tenths / 600);
  return `${minutes}:${String(Math.floor((tenths % 600) / 10)).padStart(2, "0")}.${tenths % 10}`;
}

/** Seconds as they are said. @param {number} seconds */
function said(seconds) {
  const minutes = Math.floor(seconds / 60);
  const rest = `${(seconds - 60 * minutes).toFixed(1)} s`;
  return minutes ? `${minutes} min ${rest}` : rest;
}

class Watch {
  /** @param {Model} model @param {HTMLElement} el */
  constructor(model, el) {
    this.model = model;
    /** @type {ReturnType<typeof setInterval> | undefined} */
    this.timer = undefined;
    this.face = make("div", { class: "sw-watch-face", role: "timer", "aria-live": "off", "aria-label": "seconds after shaking" });
    this.press = this.button("sw-watch-press", "Start", () => this.onPress());
    this.parted = this.button("", "It has parted", () => this.onStop("parted"));
    this.open = this.button("", "Stop, not parted yet", () => this.onStop("watched"));
    this.back = this.button("", "Take back the last mark", () => this.onBack());
    this.anew = this.button("", "Back to nought", () => this.onAnew());
    this.list = make("ol", { class: "sw-watch-marks", "aria-label": "marks" });
    this.voice = make("div", { class: "sw-watch-said", role: "status" });
    this.root = make(
      "div",
      { class: "shakewell sw-watch", role: "group", "aria-label": "Stopwatch" },
      make("div", { class: "sw-watch-row" }, this.face, this.press),
      make("div", { class: "sw-watch-row" }, this.parted, this.open, this.back, this.anew),
      this.voice,
      this.list,
    );
    this.press.addEventListener("keydown", (event) => this.onKey(event));
    this.press.addEventListener("keyup", (event) => event.key === " " && event.preventDefault());
    el.classList.add("shakewell-host");
    el.append(this.root);
    this.show();
  }

  /** @param {string} name @param {string} words @param {() => void} work */
  button(name, words, work) {
    const made = make("button", { type: "button", class: name, "data-lm-suppress-shortcuts": "true" }, words);
    made.addEventListener("click", work);
    return made;
  }

  /* -- the clock -- */

  get isRunning() {
    return this.model.get("started") > 0 && !this.model.get("ending");
  }

  /** Seconds since the start, as a thumb can know them. */
  now() {
    return Math.max(Math.round((Date.now() - this.model.get("started")) / 100) / 10, 0.1);
  }

  /* -- showing -- */

  show() {
    const { isRunning } = this;
    const marks = /** @type {number[]} */ (this.model.get("marks") ?? []);
    clearInterval(this.timer);
    if (isRunning) this.timer = setInterval(() => this.tell(), TICK);
    this.tell();
    const ended = Boolean(this.model.get("ending"));
    this.press.textContent = isRunning ? "Mark: space bar" : ended ? "Stopped" : "Start: space bar, when you stop shaking";
    this.press.setAttribute("aria-disabled", String(ended));
    for (const one of [this.parted, this.open]) one.disabled = !isRunning;
    this.back.disabled = !marks.length;
    this.anew.disabled = !this.model.get("started");
    this.list.replaceChildren(...marks.map((mark) => make("li", {}, said(mark))));
  }

  tell() {
    const seconds = this.model.get("ending") ? this.model.get("stopped") : this.isRunning ? (Date.now() - this.model.get("started")) / 1000 : 0;
    this.face.textContent = shown(Math.max(seconds, 0));
  }

  /** @param {string} words */
  say(words) {
    this.voice.textContent = words;
  }

  /* -- hearing -- */

  /** The space bar and Enter count when they go down, once; nothing of them reaches the notebook.
   * @param {KeyboardEvent} event */
  onKey(event) {
    if (event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    event.stopPropagation();
    if (!event.repeat) this.onPress();
  }

  onPress() {
    if (this.model.get("ending")) {
      this.say("It is stopped. Put it back to nought for the next trial.");
      return;
    }
    if (!this.isRunning) {
      this.set({ started: Date.now(), marks: [], stopped: 0, ending: "" });
      this.say("Started. Press again at each look.");
      return;
    }
    const at = this.now();
    const marks = [...this.model.get("marks"), at];
    this.set({ marks });
    this.say(`Mark ${marks.length} at ${said(at)}.`);
  }

  /** @param {"parted" | "watched"} ending */
  onStop(ending) {
    if (!this.isRunning) return;
    const stopped = this.now();
    this.set({ stopped, ending });
    this.say(ending === "parted" ? `Parted after ${said(stopped)}.` : `Stopped after ${said(stopped)}, not parted.`);
    this.press.focus();
  }

  onBack() {
    this.set({ marks: this.model.get("marks").slice(0, -1) });
    this.say("The last mark is taken back.");
    this.press.focus();
  }

  onAnew() {
    this.set({ started: 0, marks: [], stopped: 0, ending: "" });
    this.say("Back to nought.");
    this.press.focus();
  }

  /** @param {Record<string, unknown>} values */
  set(values) {
    for (const [name, value] of Object.entries(values)) this.model.set(name, value);
    this.model.send({ kind: "set", values });
    this.show();
  }
}

/** @param {{model: Model, el: HTMLElement}} widget */
function render({ model, el }) {
  const watch = new Watch(model, el);
  const names = ["change:started", "change:marks", "change:stopped", "change:ending"];
  const show = () => watch.show();
  for (const name of names) model.on(name, show);
  return () => {
    clearInterval(watch.timer);
    for (const name of names) model.off(name, show);
  };
}

export default { render };
