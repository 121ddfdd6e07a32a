// @ts-check
/* Rows to type readings into, for hands in gloves: large boxes, Tab or Enter moves on, Enter in the last one saves.
   Nothing here knows a limit; rows.py tells what is shown and hears what was typed. */

/** @typedef {HTMLElement & {shown?: string}} Holder */

/** @type {Record<Severity, string>} */
const SIGNS = { stop: "■", caution: "▲", note: "●" };

const LONG = 24; // a hint longer than this stands below the box while a hand is in it [letters]

/** @template {keyof HTMLElementTagNameMap} T @param {T} tag @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} children @returns {HTMLElementTagNameMap[T]} */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/** @param {FindingView} finding */
function findingOf({ severity, sentence, source }) {
  const words = make("span", {}, make("b", {}, severity), ` ${sentence}`);
  if (source) words.append(" ", make("span", { class: "sw-source" }, source));
  return make("div", { class: "sw-finding", "data-severity": severity }, make("span", { "aria-hidden": "true" }, SIGNS[severity] ?? "●"), words);
}

/** @type {(box: HTMLElement) => string} */
const keyOf = (box) => box.dataset.key ?? "";

class Rows {
  /** @param {Model} model @param {HTMLElement} el */
  constructor(model, el) {
    this.model = model;
    this.id = `shakewell-rows-${Date.now()}-${Math.random().toString(36).slice(2, 8)}`;
    /** @type {HTMLInputElement[]} */
    this.boxes = [];
    this.root = make("div", { class: "shakewell sw-rows", "data-lm-suppress-shortcuts": "true" });
    el.classList.add("shakewell-host");
    el.append(this.root);
    this.root.addEventListener("keydown", (event) => this.onKey(event));
    this.root.addEventListener("input", (event) => this.onInput(/** @type {HTMLInputElement} */ (event.target)));
    this.root.addEventListener("focusin", (event) => {
      const box = /** @type {HTMLInputElement} */ (event.target);
      if (box.matches("input")) box.select();
    });
    this.lay();
  }

  /* -- showing -- */

  lay() {
    const active = this.boxes.find((box) => box === document.activeElement);
    const kept = active && { key: keyOf(active), from: active.selectionStart, to: active.selectionEnd };
    /** @type {Partial<RowsView>} */
    const view = this.model.get("view") ?? {};
    this.boxes = [];
    const parts = (view.groups ?? []).flatMap((group) => [
      ...(group.title ? [make("div", { class: "sw-rows-title" }, group.title)] : []),
      ...group.rows.map((row) => this.row(row)),
    ]);
    const button = make("button", { type: "button", class: "sw-rows-save" }, view.save ?? "");
    button.addEventListener("click", () => this.save());
    this.root.replaceChildren(...parts, ...(this.boxes.length && view.save ? [button] : []));
    this.showTexts();
    this.showSaid();
    const again = kept && this.boxes.find((box) => keyOf(box) === kept.key);
    if (again) {
      again.focus();
      again.setSelectionRange(kept.from, kept.to);
    }
  }

  /** @param {RowView} view */
  row(view) {
    const id = `${this.id}-${this.boxes.length}`;
    const steps = view.hint.length > LONG ? view.hint.match(/(?<=^|, )\d+(?= )/g) ?? [] : [];
    const shown = steps.length > 1 ? `${steps[0]} to ${steps[steps.length - 1]}` : view.hint;
    const box = make("input", {
      type: "text", id, "data-key": view.key, "aria-label": view.name, "aria-describedby": `${id}-said ${id}-before ${id}-scale`,
      autocomplete: "off", spellcheck: "false", placeholder: shown, enterkeyhint: "next",
    });
    this.boxes.push(box);
    const label = make("label", { for: id, title: view.how }, view.label);
    if (view.unit) label.append(" ", make("span", { class: "sw-unit" }, view.unit));
    const before = [view.before && `before: ${view.before}`, view.start && `start: ${view.start}`, view.limits].filter(Boolean);
    return make(
      "div",
      { class: `sw-row${view.optional ? " sw-optional" : ""}` },
      label,
      box,
      make("div", { class: "sw-before", id: `${id}-before` }, before.join(" · ") || "nothing before"),
      ...(view.hint.length > LONG ? [make("div", { class: "sw-scale", id: `${id}-scale` }, view.hint)] : []),
      make("div", { class: "sw-told", id: `${id}-said`, "aria-live": "polite" }),
    );
  }

  showTexts() {
    /** @type {Record<string, string>} */
    const texts = this.model.get("texts") ?? {};
    for (const box of this.boxes) {
      const text = texts[keyOf(box)] ?? "";
      if (box.value !== text) box.value = text;
    }
  }

  showSaid() {
    /** @type {Record<string, Partial<Said>>} */
    const said = this.model.get("said") ?? {};
    for (const box of this.boxes) {
      const { words = "", findings = [] } = said[keyOf(box)] ?? {};
      const holder = /** @type {Holder} */ (box.parentElement?.querySelector(".sw-told"));
      const fresh = JSON.stringify([words, findings]);
      if (holder.shown === fresh) continue;
      holder.shown = fresh;
      holder.replaceChildren(...(words ? [make("span", { class: "sw-read" }, words)] : []), ...findings.map(findingOf));
      const worst = findings.some((one) => one.severity === "stop") ? "stop" : findings.length ? "caution" : "";
      box.dataset.mark = worst;
      if (worst === "stop") box.setAttribute("aria-invalid", "true");
      else box.removeAttribute("aria-invalid");
    }
  }

  focusFirstEmpty() {
    const box = this.boxes.find((one) => !one.value.trim()) ?? this.boxes[0];
    box?.focus();
  }

  /* -- hearing -- */

  texts() {
    const seen = Object.fromEntries(this.boxes.map((box) => [keyOf(box), box.value]));
    return { ...(this.model.get("texts") ?? {}), ...seen };
  }

  /** @param {HTMLInputElement} box */
  onInput(box) {
    if (!box.matches("input")) return;
    this.model.set("texts", this.texts());
    this.model.send({ kind: "typed", texts: { [keyOf(box)]: box.value } });
  }

  /** @param {KeyboardEvent} event */
  onKey(event) {
    const at = this.boxes.indexOf(/** @type {HTMLInputElement} */ (event.target));
    if (at < 0 || event.isComposing) return;
    const back = event.key === "ArrowUp" || (event.key === "Enter" && event.shiftKey);
    const on = event.key === "ArrowDown" || (event.key === "Enter" && !event.shiftKey);
    if (!back && !on) return;
    event.preventDefault();
    event.stopPropagation();
    const next = this.boxes[at + (back ? -1 : 1)];
    if (next) next.focus();
    else if (event.key === "Enter" && on) this.save();
  }

  save() {
    this.model.send({ kind: "save", texts: this.texts() });
  }
}

/** @param {{model: Model, el: HTMLElement}} widget */
function render({ model, el }) {
  const rows = new Rows(model, el);
  const heard = {
    "change:view": () => rows.lay(),
    "change:texts": () => rows.showTexts(),
    "change:said": () => rows.showSaid(),
    "change:focus": () => requestAnimationFrame(() => rows.focusFirstEmpty()),
  };
  for (const [name, handler] of Object.entries(heard)) model.on(name, handler);
  return () => {
    for (const [name, handler] of Object.entries(heard)) model.off(name, handler);
  };
}

export default { render };
