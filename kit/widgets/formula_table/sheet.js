// @ts-check
/* The table as it stands on the page: it is made once, and patched line by line to what Python says. */

const KINDS = [["water", "water"], ["oil", "oil"], ["other", "other"]];
const COLUMNS = ["handle", "material", "amount", "percent", "change", "hold", "grams", "actions"];
/** @type {Record<string, string>} */
const HEADINGS = {
  material: "ingredient", amount: "amount", percent: "% of whole", change: "change", hold: "when the ratio moves", grams: "g",
};
const KEYS = [
  ["Enter", "after a name, go to its amount; after an amount, go down, and on the last line add a line"],
  ["↑ ↓", "go to the line above or below"],
  ["Esc", "take back what was typed"],
  ["Alt ↑ ↓", "move the line; on a layer's name, move the layer"],
  ["Alt Delete", "remove the line"],
  ["Ctrl Z, Ctrl Y", "undo, redo"],
];
/** @type {FormulaView} */
const EMPTY_VIEW = {
  title: "", subtitle: "", phases: [], lines: [], findings: [], total: "", total_state: "ok", total_sentence: "",
  grams_head: "", can_undo: false, can_redo: false, add_name: "",
};

/** @typedef {{phase: number, line?: number, field?: string}} Place */
/** @typedef {{element: HTMLElement, caret: [number | null, number | null] | null}} Focused */
/** @typedef {ReturnType<Sheet["makePhase"]>} PhaseParts */
/** @typedef {ReturnType<Sheet["makeLine"]>} LineParts */

class Sheet {
  /** @param {HTMLElement} el @param {string} id @param {NameList} names @param {string[][]} holds */
  constructor(el, id, names, holds) {
    this.id = id;
    this.names = names;
    this.holds = holds;
    this.view = EMPTY_VIEW;
    /** @type {Map<string, LineParts>} from the key of a line to its elements */
    this.lines = new Map();
    /** @type {PhaseParts[]} the elements of each phase, by position */
    this.phases = [];
    this.readOnly = false;
    /** @type {HTMLElement | undefined} */
    this.focused = undefined;
    this.updating = false;
    /** @type {string | undefined} */
    this.announced = undefined;
    this.title = make("div", { class: "sw-title", role: "heading", "aria-level": "3", id: `${this.id}-title` });
    this.subtitle = make("div", { class: "sw-subtitle" });
    this.undo = makeButton("undo", "↶ Undo", "Undo", { class: "sw-worded" });
    this.redo = makeButton("redo", "↷ Redo", "Redo", { class: "sw-worded" });
    const tools = make("div", { class: "sw-tools" }, this.undo, this.redo);
    this.head = make("div", { class: "sw-head" }, make("div", {}, this.title, this.subtitle), tools);
    this.columns = make("colgroup", {}, ...COLUMNS.map((name) => make("col", { class: `sw-${name}` })));
    this.gramsHead = make("span", {}, HEADINGS.grams);
    this.headings = this.makeHeadings();
    this.table = make("table", { "aria-labelledby": this.title.id }, this.columns, this.headings);
    this.bar = make("div", { class: "sw-bar", "aria-hidden": "true" });
    this.total = make("span", { class: "sw-sum" });
    this.totalSaid = make("div", { class: "sw-said" });
    this.said = make("div", { class: "sw-said" });
    this.live = make("div", { class: "sw-live", role: "status", "aria-live": "polite" });
    this.dropLine = make("div", { class: "sw-drop", hidden: "" });
    this.root = make("div", { class: "shakewell sw-table", "data-lm-suppress-shortcuts": "true" }, this.head, this.table,
      this.makeTotal(), this.said, this.makeFoot(), this.live, this.dropLine, this.names.element);
    el.classList.add("shakewell-host");
    el.append(this.root);
  }

  /* -- making -- */

  makeHeadings() {
    const cells = COLUMNS.map((name) => (name in HEADINGS
      ? make("th", { class: `sw-${name}`, scope: "col" }, name === "grams" ? this.gramsHead : make("span", {}, HEADINGS[name]))
      : make("td", { class: `sw-${name}` })));
    return make("thead", {}, make("tr", {}, ...cells));
  }

  makeTotal() {
    return make("div", { class: "sw-total" }, make("span", {}, "total"), this.bar, this.total, this.totalSaid);
  }

  makeFoot() {
    const keys = KEYS.flatMap(([key, does]) => [make("dt", {}, key), make("dd", {}, does)]);
    const help = make("details", { class: "sw-keys" }, make("summary", {}, "Keys"), make("dl", {}, ...keys));
    return make("div", { class: "sw-foot" }, makeButton("add_phase", "+ Add a layer", "Add a layer", { class: "sw-worded" }), help);
  }

  /** @param {number} index */
  makePhase(index) {
    const name = makeTextField("name", { placeholder: "name this layer" });
    const kind = makeChoice("kind", KINDS);
    const total = make("span");
    const tools = [makeButton("phase_up", "↑", ""), makeButton("phase_down", "↓", ""), makeButton("remove_phase", "×", "")];
    /** @type {Record<string, Node[]>} */
    const cells = { percent: [total], change: [], hold: [], grams: [], actions: [make("div", {}, ...tools)] };
    const head = make("tr", { class: "sw-layer" }, make("th", { scope: "rowgroup", colspan: 3 }, make("div", {}, name, kind)),
      ...Object.entries(cells).map(([column, inside]) => make("td", { class: `sw-${column}` }, ...inside)));
    const add = makeButton("add_line", "+ Add a line", "", { class: "sw-worded" });
    const foot = make("tr", { class: "sw-add" }, make("td"), make("td", { colspan: COLUMNS.length - 1 }, add));
    const said = makeFindingRow(`${this.id}-layer-${index}`, COLUMNS.length);
    return { body: make("tbody"), name, kind, total, tools, head, add, foot, said };
  }

  /** @param {string} key */
  makeLine(key) {
    const combobox = { role: "combobox", "aria-expanded": "false", "aria-autocomplete": "list", "aria-controls": this.names.element.id };
    const fields = {
      material: makeTextField("material", combobox),
      amount: makeTextField("amount", { placeholder: "%" }),
      hold: makeChoice("hold", this.holds),
    };
    const handle = makeButton("drag", "⠿", "", { tabindex: -1, class: "sw-grip" });
    const tools = [["line_up", "↑"], ["line_down", "↓"], ["remove_line", "×"]]
      .map(([action, sign]) => makeButton(action, sign, "", { tabindex: -1 }));
    /** @type {Record<string, HTMLElement>} */
    const text = {};
    for (const name of ["plain", "percent", "aside", "change", "grams"]) text[name] = make("span", { class: `sw-${name}-text` });
    /** @type {Record<string, HTMLElement>} */
    const marks = {};
    for (const field of Object.keys(fields)) marks[field] = make("span", { class: "sw-mark", "aria-hidden": "true" });
    /** @type {(field: "material" | "amount" | "hold", ...more: Node[]) => Node[]} */
    const cell = (field, ...more) => [make("div", { class: "sw-cell" }, marks[field], fields[field], ...more)];
    /** @type {Record<string, Node[]>} */
    const cells = {
      handle: [handle], material: cell("material", text.plain), amount: cell("amount"), percent: [text.percent, text.aside],
      change: [text.change], hold: cell("hold"), grams: [text.grams], actions: [make("div", {}, ...tools)],
    };
    const row = make("tr", { class: "sw-line" }, ...COLUMNS.map((column) => make("td", { class: `sw-${column}` }, ...cells[column])));
    return { row, fields, marks, text, tools: [handle, ...tools], said: makeFindingRow(`${this.id}-line-${key}`, COLUMNS.length) };
  }

  /* -- showing -- */

  /** @param {Partial<FormulaView>} view @param {boolean} readOnly */
  show(view, readOnly) {
    this.view = { ...EMPTY_VIEW, ...view };
    this.readOnly = readOnly;
    const focused = this.rememberFocus();
    this.focused = focused?.element; // a row that moves loses the focus on its way
    this.updating = true;
    this.showHead(this.view);
    this.showPhases(this.view);
    this.showTotal(this.view);
    showFindings(this.said, this.view.findings);
    this.updating = false;
    this.restoreFocus(focused);
    this.announce(this.view);
  }

  /** @param {FormulaView} view */
  showHead(view) {
    setText(this.title, view.title);
    setText(this.subtitle, view.subtitle);
    setText(this.gramsHead, view.grams_head);
    this.undo.disabled = !view.can_undo;
    this.redo.disabled = !view.can_redo;
    this.root.classList.toggle("sw-read-only", this.readOnly);
    this.root.classList.toggle("sw-unchanged", !view.lines.flat().some((line) => line.change));
  }

  /** @param {FormulaView} view */
  showPhases(view) {
    while (this.phases.length < view.phases.length) this.phases.push(this.makePhase(this.phases.length));
    this.phases.length = view.phases.length;
    const keys = new Set(view.lines.flat().map((line) => line.key));
    for (const key of this.lines.keys()) if (!keys.has(key)) this.lines.delete(key);
    arrange(this.table, [this.columns, this.headings, ...this.phases.map(({ body }) => body)]);
    view.phases.forEach((phase, index) => this.showPhase(phase, index, view.lines[index] ?? []));
  }

  /** @param {PhaseView} phase @param {number} index @param {LineView[]} lines */
  showPhase(phase, index, lines) {
    const parts = this.phases[index];
    const called = phase.name || `layer ${index + 1}`;
    this.showColour(parts.body, phase);
    for (const row of [parts.head, parts.foot]) setAttribute(row, "data-phase", index);
    this.showField(parts.name, phase.name, `Name of layer ${index + 1}`);
    this.showChoice(parts.kind, phase.kind, `What ${called} is`);
    setText(parts.total, phase.total);
    this.nameTools(parts.tools, called);
    setAttribute(parts.add, "aria-label", `Add a line to ${called}`);
    showFindings(parts.said.holder, phase.findings);
    const rows = lines.flatMap((line, at) => this.showLine(line, index, at));
    arrange(parts.body, [parts.head, ...(phase.findings?.length ? [parts.said.row] : []), ...rows, parts.foot]);
  }

  /** @param {Element} element @param {PhaseView} phase */
  showColour(element, phase) {
    setAttribute(element, "data-kind", phase.kind);
    setAttribute(element, "data-shade", (phase.colour_index ?? 0) % 3);
  }

  /** @param {LineView} line @param {number} phase @param {number} at */
  showLine(line, phase, at) {
    const parts = this.lines.get(line.key) ?? this.makeLine(line.key);
    this.lines.set(line.key, parts);
    const { row, fields, text } = parts;
    const called = line.material || `line ${at + 1}`;
    setAttribute(row, "data-phase", phase);
    setAttribute(row, "data-line", at);
    this.showField(fields.material, line.material, `Ingredient, line ${at + 1}`);
    this.showField(fields.amount, line.entry, `Amount of ${called}`);
    this.showChoice(fields.hold, line.hold, `What ${called} does when the ratio moves`);
    for (const [field, control] of Object.entries(fields)) {
      showMark(control, parts.marks[field], line.field_marks?.[field], parts.said.holder.id);
    }
    setAttribute(fields.material, "placeholder", this.view.add_name || "ingredient");
    setAttribute(fields.material, "title", [line.material, line.plain].filter(Boolean).join(": ") || null);
    for (const name of /** @type {const} */ (["plain", "percent", "change", "grams"])) setText(text[name], line[name]);
    setText(text.aside, [line.grams && `${line.grams} g`, line.change].filter(Boolean).join(" · "));
    this.nameTools(parts.tools, called);
    showFindings(parts.said.holder, line.findings);
    return line.findings?.length ? [row, parts.said.row] : [row];
  }

  /** @param {HTMLElement[]} tools @param {string} called */
  nameTools(tools, called) {
    /** @type {Record<string, string>} */
    const verbs = {
      up: `Move ${called} up`, down: `Move ${called} down`, remove: `Remove ${called}`, drag: `Drag ${called} to another place`,
    };
    for (const tool of tools) {
      const label = verbs[tool.dataset.action?.split("_").find((word) => word in verbs) ?? ""];
      setAttribute(tool, "aria-label", label);
      setAttribute(tool, "title", label);
    }
  }

  /** What is being typed stays; anything else shows what Python says.
   * @param {Field} input @param {string} text @param {string} label */
  showField(input, text = "", label = "") {
    const typing = input === this.focused && isDirty(input) && input.value !== input.sent;
    input.shown = text;
    input.sent = undefined;
    if (!typing && input.value !== text) input.value = text;
    input.readOnly = this.readOnly;
    setAttribute(input, "aria-label", label);
    setAttribute(input, "title", text); // the whole of a name that its box is too narrow for
  }

  /** @param {HTMLSelectElement} select @param {string} value @param {string} label */
  showChoice(select, value, label) {
    if (select.value !== value) select.value = value;
    select.disabled = this.readOnly;
    setAttribute(select, "aria-label", label);
  }

  /** @param {FormulaView} view */
  showTotal(view) {
    setText(this.total, view.total);
    setAttribute(/** @type {Element} */ (this.total.parentElement), "data-state", view.total_state);
    const stops = view.total_state === "stop" && view.total_sentence;
    showFindings(this.totalSaid, stops ? [{ severity: "stop", sentence: view.total_sentence, source: "" }] : []);
    while (this.bar.children.length < view.phases.length) this.bar.append(make("i"));
    while (this.bar.children.length > view.phases.length) this.bar.lastChild?.remove();
    view.phases.forEach((phase, index) => {
      const part = /** @type {HTMLElement} */ (this.bar.children[index]);
      this.showColour(part, phase);
      part.style.width = `${parseFloat(String(phase.total).replace(",", ".")) || 0}%`;
    });
  }

  /** @param {FormulaView} view */
  announce(view) {
    const count = countFindings(view);
    const words = `Total ${view.total}. ${count === 1 ? "1 finding" : `${count || "No"} findings`}.`;
    if (this.announced !== undefined) setText(this.live, words);
    this.announced = words;
  }

  /* -- places and focus -- */

  get activeElement() { return /** @type {Document} */ (this.root.getRootNode()).activeElement; }

  /** @returns {Focused | null} */
  rememberFocus() {
    const element = /** @type {HTMLElement | null} */ (this.activeElement);
    if (!element || !this.root.contains(element)) return null;
    return { element, caret: isTextField(element) ? [element.selectionStart, element.selectionEnd] : null };
  }

  /** @param {Focused | null} focused */
  restoreFocus(focused) {
    if (!focused || this.activeElement === focused.element || !this.root.contains(focused.element)) return;
    focused.element.focus({ preventScroll: true });
    if (focused.caret && isTextField(focused.element)) focused.element.setSelectionRange(...focused.caret);
  }

  /** Where a control is: its phase, its line (undefined in the head of a phase) and its field.
   * @param {HTMLElement | null} element @returns {Place | null} */
  placeOf(element) {
    const row = /** @type {HTMLElement | null} */ (element?.closest?.("tr[data-phase]"));
    if (!row || !element) return null;
    const { phase, line } = row.dataset;
    return { phase: Number(phase), line: line === undefined ? undefined : Number(line), field: element.dataset.field };
  }

  /** @param {Place} place @returns {Field | null} */
  controlAt({ phase, line, field }) {
    const row = line === undefined ? `.sw-layer[data-phase="${phase}"]` : `.sw-line[data-phase="${phase}"][data-line="${line}"]`;
    return this.table.querySelector(`${row} [data-field="${field}"]`);
  }

  /** Go to a place or, where that line has gone, to the last line, or to the button that adds one.
   * @param {Place} place */
  focusAt({ phase, line, field }) {
    const last = (this.view.lines[phase] ?? []).length - 1;
    const control = this.controlAt({ phase, line: line === undefined ? undefined : Math.min(line, last), field })
      ?? this.table.querySelector(`.sw-add[data-phase="${phase}"] button`);
    control?.focus();
    if (isTextField(control)) control.select();
  }
}
