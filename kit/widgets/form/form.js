// @ts-check
/* A form in an aligned grid: words, box, unit; help on demand; what is wrong stands under its box.
   Nothing here knows a unit or a range: form.py tells what is shown and reads what was typed. */

const SIGNS = { stop: "✕", caution: "▲", note: "✓" };
const TYPES = { colour: "color", tick: "checkbox" };
/** Kinds of boxes whose options may change while they stand. */
const LISTS = new Set(["choice", "several", "name"]);
/** Rows on show of a list from which several are chosen. @param {unknown[]} options */
const sizeOf = (options) => Math.min(6, Math.max(2, options.length));

/** @param {string} tag @param {Record<string, any>} [attributes] @param {(Node | string)[]} children @returns {any} */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== undefined) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

class FormView {
  /** @param {any} model @param {HTMLElement} el */
  constructor(model, el) {
    this.model = model;
    this.id = `shakewell-form-${Math.random().toString(36).slice(2, 10)}`;
    this.number = model.get("answered");
    /** @type {Record<string, string>} what was sent and is not answered: what the kernel shows of it meanwhile is older */
    this.sent = {};
    /** @type {string | undefined} what the grid was laid for */
    this.shape = undefined;
    /** @type {Record<string, any>} the boxes by name */
    this.boxes = {};
    /** @type {Record<string, any>} texts that wait until the last message is answered */
    this.waiting = {};
    /** @type {any} measures words */
    this.pen = make("canvas").getContext("2d");
    this.grid = make("div", { class: "sw-form-grid" });
    this.row = make("div", { class: "sw-form-buttons" });
    this.told = make("div", { class: "sw-form-said", role: "status" });
    /** @type {any} what is seen of a form that is folded away */
    this.summary = undefined;
    const inside = make("div", { class: "sw-form-inside" }, this.grid, this.row, this.told);
    const fold = model.get("fold");
    this.root = make("div", { class: "shakewell sw-form", "data-lm-suppress-shortcuts": "true" }, fold ? make("details", {}, (this.summary = make("summary", {}, fold)), inside) : inside);
    el.classList.add("shakewell-host", "sw-form-host");
    el.append(this.root);
    this.lay();
    this.layButtons();
    this.showSaid();
  }

  /* -- laying out -- */

  lay() {
    const fields = this.model.get("fields");
    const shape = JSON.stringify(fields.map((/** @type {any} */ { name, kind, options, help, slide }) => [name, kind, LISTS.has(kind) || options, help, slide.length]));
    if (shape === this.shape) {
      for (const field of fields) this.patch(field);
      return;
    }
    this.shape = shape;
    const active = /** @type {any} */ (document.activeElement);
    const kept = this.grid.contains(active) ? { name: active.name, edited: active.dataset.edited, value: active.value } : null;
    this.boxes = {};
    this.grid.replaceChildren(...fields.map((/** @type {any} */ field) => this.cell(field)));
    this.showTexts(true);
    this.showFaults();
    this.showHidden();
    const again = kept && this.boxes[kept.name];
    if (!again) return;
    if (kept.edited) Object.assign(again, { value: kept.value }).dataset.edited = "yes";
    again.focus();
  }

  /** Change what is said around a box and leave the box alone, for a hand may be on it. @param {any} field */
  patch(field) {
    const box = this.boxes[field.name], cell = box.closest(".sw-form-cell");
    cell.querySelector("label, .sw-form-words").textContent = field.words;
    cell.querySelector(".sw-form-unit").firstChild.data = field.unit;
    if ("placeholder" in box) this.fitExample(box, field.example);
    if (box.slider) Object.assign(box.slider, { min: field.slide[0], max: field.slide[1], step: field.slide[2], ariaLabel: field.words });
    if (LISTS.has(field.kind)) this.patchOptions(box, field.options);
    if (box.slider) this.showTexts();
  }

  /** Offer other options in a list that stays where it is: a hand may be going through it. @param {any} box @param {string[]} options */
  patchOptions(box, options) {
    const list = box.names ?? box;
    if (JSON.stringify(options) === JSON.stringify([...list.children].map((option) => option.value))) return;
    list.replaceChildren(...options.map((words) => make("option", { value: words }, list === box ? words : "")));
    if (list !== box) return;
    if (box.multiple) box.size = sizeOf(options);
    this.showText(box, this.pending(box.name) ?? this.model.get("texts")[box.name] ?? "");
  }

  /** @param {any} field */
  cell(field) {
    const id = `${this.id}-${field.name}`;
    const box = this.box(field, id);
    const controls = [box];
    this.boxes[field.name] = box;
    box.example = field.example;
    if (field.slide.length) {
      const [min, max, step] = field.slide;
      const slider = make("input", { type: "range", min, max, step, "aria-label": field.words });
      box.slider = slider;
      slider.addEventListener("input", () => this.send({ [field.name]: slider.value }));
      controls.unshift(slider);
    }
    const behind = make("span", { class: "sw-form-unit" }, document.createTextNode(field.unit));
    if (field.kind === "day") {
      // the browser writes a day in the habit of its country; beside it stands the day as everything else here says it
      box.iso = make("span", { class: "sw-form-iso" });
      box.addEventListener("input", () => (box.iso.textContent = box.value));
      behind.append(box.iso);
    }
    const cell = make(
      "div",
      { class: "sw-form-cell", "data-kind": field.kind, "data-name": field.name },
      field.kind === "switch" || field.kind === "ticks" ? make("span", { class: "sw-form-words" }, field.words) : make("label", { for: id }, field.words),
      make("div", { class: "sw-form-box" }, ...controls),
      behind,
      make("div", { class: "sw-form-example", id: `${id}-example`, "aria-hidden": "true" }),
      make("div", { class: "sw-form-fault", id: `${id}-fault`, "aria-live": "polite" }),
    );
    if (field.wide) cell.classList.add("sw-form-wide");
    if (field.help) {
      const words = make("div", { class: "sw-form-help", id: `${id}-help`, hidden: "" }, field.help);
      const ask = make("button", { type: "button", class: "sw-form-ask", "aria-label": `What is this: ${field.words}`, "aria-expanded": "false", "aria-controls": `${id}-help` }, "?");
      ask.addEventListener("click", () => {
        words.hidden = !words.hidden;
        ask.setAttribute("aria-expanded", String(!words.hidden));
      });
      behind.append(ask);
      cell.append(words);
    }
    return cell;
  }

  /** @param {any} field @param {string} id */
  box(field, id) {
    const common = { id, name: field.name, "aria-describedby": `${id}-fault` };
    if (field.kind === "switch" || field.kind === "ticks") return this.choices(field, id);
    if (field.kind === "choice" || field.kind === "several") {
      const several = field.kind === "several";
      const options = field.options.map((/** @type {string} */ words) => make("option", { value: words }, words));
      const list = make("select", { ...common, ...(several ? { multiple: "", size: sizeOf(options) } : {}) }, ...options);
      list.addEventListener("change", () => this.send({ [field.name]: this.textOf(list) }));
      return list;
    }
    const example = field.example || (field.kind === "day" ? "year-month-day" : "");
    const text = { ...common, placeholder: example, autocomplete: "off", spellcheck: "false" };
    const lines = field.kind === "lines";
    const type = /** @type {Record<string, string>} */ (TYPES)[field.kind] ?? "text";
    const box = lines ? make("textarea", { ...text, rows: 3 }) : make("input", { ...text, type, ...(field.kind === "number" ? { inputmode: "decimal" } : {}) });
    if (field.kind === "name") {
      box.setAttribute("list", `${id}-names`);
      box.names = make("datalist", { id: `${id}-names` }, ...field.options.map((/** @type {string} */ words) => make("option", { value: words })));
      this.root.append(box.names);
    }
    const leave = () => {
      delete box.dataset.edited;
      if (this.textOf(box) === box.shown) return;
      box.shown = this.textOf(box);
      Object.assign(this.waiting, { [field.name]: box.shown });
      this.flush(); // before whatever the hand does next, on this form or another
    };
    box.addEventListener("input", () => {
      box.dataset.edited = "yes";
      if (field.live) this.send({ [field.name]: this.textOf(box) });
    });
    box.addEventListener("change", leave);
    if (!lines && type === "text") box.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => event.key === "Enter" && leave());
    return box;
  }

  /** One of a few, side by side, or some of them. @param {any} field @param {string} id */
  choices(field, id) {
    const some = field.kind === "ticks";
    const group = make("div", { class: "sw-form-switch", role: some ? "group" : "radiogroup", "aria-label": field.words, id });
    for (const words of field.options) {
      const dot = make("input", { type: some ? "checkbox" : "radio", name: id, value: words });
      dot.addEventListener("change", () => this.send({ [field.name]: this.textOf(group) }));
      group.append(make("label", {}, dot, words));
    }
    group.switch = true;
    return group;
  }

  /** Make the buttons once; later only what is said on them and about them changes, for one may have the focus. */
  layButtons() {
    const buttons = this.model.get("buttons"), there = this.row.querySelectorAll("button");
    if (there.length) {
      for (const [n, { words, help, primary }] of buttons.entries()) Object.assign(there[n], { textContent: words, title: help || words, className: primary ? "sw-form-primary" : "" });
      return;
    }
    this.row.replaceChildren(
      ...buttons.map((/** @type {any} */ button) => {
        const made = make("button", { type: "button", name: button.name, title: button.help || button.words, class: button.primary ? "sw-form-primary" : "" }, button.words);
        if (!button.file) {
          made.addEventListener("click", () => this.press(button.name));
          return made;
        }
        const chooser = make("input", { type: "file", accept: button.file, "aria-label": button.words, hidden: "" });
        chooser.addEventListener("change", async () => {
          const file = chooser.files[0];
          if (!file) return;
          this.press(button.name, { file: file.name }, [await file.arrayBuffer()]);
          chooser.value = "";
        });
        made.addEventListener("click", () => chooser.click());
        return make("span", {}, made, chooser);
      }),
    );
    this.showDisabled();
    this.showHidden();
  }

  /** An example that is longer than its empty box stands below it instead. @param {any} box @param {string} example */
  fitExample(box, example) {
    box.example = example;
    const below = box.closest(".sw-form-cell").querySelector(".sw-form-example");
    const own = getComputedStyle(box);
    const room = box.clientWidth - parseFloat(own.paddingLeft) - parseFloat(own.paddingRight);
    this.pen.font = `${own.fontWeight} ${own.fontSize} ${own.fontFamily}`;
    const isCut = box.localName === "input" && box.clientWidth > 0 && this.pen.measureText(example).width > room;
    box.placeholder = isCut ? " " : example; // a blank keeps the box known as one that shows its example
    below.textContent = isCut ? example : "";
    box.ariaDescription = isCut ? example : null;
  }

  fitExamples() {
    for (const box of Object.values(this.boxes)) if (box.example && "placeholder" in box) this.fitExample(box, box.example);
  }

  /* -- showing -- */

  /** @param {boolean} [inNewBoxes] */
  showTexts(inNewBoxes = false) {
    const texts = this.model.get("texts");
    for (const [name, box] of Object.entries(this.boxes)) {
      const newer = this.pending(name);
      if (newer !== undefined && !inNewBoxes) continue;
      if (box.dataset.edited && document.activeElement === box) continue; // a hand is typing, and is read when it leaves
      delete box.dataset.edited;
      this.showText(box, newer ?? texts[name] ?? "");
    }
  }

  /** @param {any} box @param {string} text */
  showText(box, text) {
    if (box.switch) for (const dot of box.querySelectorAll("input")) dot.checked = text.split("\n").includes(dot.value);
    else if (box.type === "checkbox") box.checked = text === "yes";
    else if (box.multiple) for (const option of box.options) option.selected = text.split("\n").includes(option.value);
    else if (box.value !== text) box.value = text;
    box.shown = this.textOf(box);
    if (box.iso) box.iso.textContent = box.value;
    if (box.slider && document.activeElement !== box.slider) box.slider.value = text.replace(",", ".");
  }

  /** What a hand chose or typed and the kernel has not answered. @param {string} name @returns {string | undefined} */
  pending(name) {
    return this.waiting[name] ?? this.sent[name];
  }

  showFaults() {
    const faults = this.model.get("faults");
    for (const [name, box] of Object.entries(this.boxes)) {
      const fault = faults[name] ?? "";
      const line = document.getElementById(`${this.id}-${name}-fault`) ?? box.closest(".sw-form-cell").querySelector(".sw-form-fault");
      if (line.textContent !== fault) line.textContent = fault;
      if (fault) box.setAttribute("aria-invalid", "true");
      else box.removeAttribute("aria-invalid");
    }
  }

  showHidden() {
    const hidden = new Set(this.model.get("hidden"));
    for (const cell of this.grid.children) cell.hidden = hidden.has(cell.dataset.name);
    for (const button of this.row.querySelectorAll("button")) button.hidden = hidden.has(button.name);
  }

  showDisabled() {
    const disabled = new Set(this.model.get("disabled"));
    for (const button of this.row.querySelectorAll("button")) button.disabled = disabled.has(button.name);
  }

  showSaid() {
    const { severity = "", sentence = "" } = this.model.get("said");
    const sign = /** @type {Record<string, string>} */ (SIGNS)[severity];
    this.told.replaceChildren(...(sentence ? [make("div", { class: "sw-finding", "data-severity": severity }, make("span", { "aria-hidden": "true" }, sign), make("span", { class: "sw-form-sentence" }, sentence))] : []));
  }

  /* -- a hand at work -- */

  /** @param {any} box @returns {string} */
  textOf(box) {
    if (box.switch) return [...box.querySelectorAll("input:checked")].map((dot) => dot.value).join("\n");
    if (box.type === "checkbox") return box.checked ? "yes" : "no";
    if (box.multiple) return [...box.selectedOptions].map((option) => option.value).join("\n");
    return box.value;
  }

  /** Send texts; while the last ones are not answered, keep the newest of each. @param {Record<string, string>} texts */
  send(texts) {
    Object.assign(this.waiting, texts);
    if (this.model.get("answered") < this.number) return;
    this.flush();
  }

  flush() {
    if (!Object.keys(this.waiting).length) return;
    const texts = this.waiting;
    this.waiting = {};
    this.say({ kind: "typed" }, texts);
  }

  /** @param {object} content @param {Record<string, string>} texts @param {ArrayBuffer[]} [buffers] */
  say(content, texts, buffers = []) {
    Object.assign(this.sent, texts);
    this.number = Math.max(this.number, this.model.get("answered")) + 1; // the same form may be shown twice
    this.model.send({ ...content, number: this.number, texts }, undefined, buffers);
  }

  onAnswer() {
    this.flush();
    if (this.model.get("answered") < this.number) return;
    this.sent = {};
    this.showTexts();
  }

  /** @param {string} name @param {object} [more] @param {ArrayBuffer[]} [buffers] */
  press(name, more = {}, buffers = []) {
    const texts = this.waiting; // and what a hand changed since it was shown: the kernel may know better by now
    for (const [key, box] of Object.entries(this.boxes)) if (this.textOf(box) !== box.shown) texts[key] = this.textOf(box);
    this.waiting = {};
    for (const box of Object.values(this.boxes)) if (!box.switch) delete box.dataset.edited;
    this.say({ kind: "press", name, ...more }, texts, buffers);
  }
}

/** @param {{ model: any, el: HTMLElement }} context */
function render({ model, el }) {
  const form = new FormView(model, el);
  const shown = {
    "change:fields": () => form.lay(),
    "change:buttons": () => form.layButtons(),
    "change:texts": () => form.showTexts(),
    "change:faults": () => form.showFaults(),
    "change:hidden": () => form.showHidden(),
    "change:disabled": () => form.showDisabled(),
    "change:said": () => form.showSaid(),
    "change:answered": () => form.onAnswer(),
    "change:fold": () => form.summary && (form.summary.textContent = model.get("fold")),
  };
  for (const [name, handler] of Object.entries(shown)) model.on(name, handler);
  const room = new ResizeObserver(() => form.fitExamples());
  room.observe(form.grid);
  return () => {
    room.disconnect();
    for (const [name, handler] of Object.entries(shown)) model.off(name, handler);
  };
}

export default { render };
