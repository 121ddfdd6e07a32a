// @ts-check
/* The hand at the formula table: keys, mouse and paste become messages. Nothing here knows arithmetic or what
   an entry means; table.py lists the messages and answers each one, by its number, when it has been heard. */

const WAIT_FOR_PYTHON = 5000; // [ms]

class FormulaTable {
  /** @param {Model} model @param {HTMLElement} el */
  constructor(model, el) {
    this.model = model;
    this.number = Date.now(); // of the last message: no two tables on a page count alike
    /** @type {{number: number, place: Place, collect: boolean, typed: string} | null} where the focus goes when Python has answered */
    this.awaiting = null;
    /** @type {number | undefined} */
    this.timer = undefined;
    const id = `shakewell-table-${this.number}-${Math.random().toString(36).slice(2, 8)}`;
    this.names = new NameList(`${id}-names`, (input, name) => { input.value = name; this.commit(input); });
    this.sheet = new Sheet(el, id, this.names, model.get("holds") ?? []);
    this.refresh = () => this.show();
    this.answered = () => { if (this.awaiting?.number === model.get("answered")) this.arrive(); };
    this.follow = () => { if (this.names.isOpen) this.names.place(); };
    this.listen(this.sheet.root);
    this.show();
  }

  show() {
    this.sheet.show(this.model.get("view"), this.model.get("read_only") ?? false);
  }

  /** @param {string} kind @param {object} content */
  send(kind, content = {}) {
    if (!this.sheet.readOnly) this.model.send({ kind, number: ++this.number, ...content });
  }

  /** @param {number} phase */
  linesOf(phase) {
    return this.sheet.view.lines[phase] ?? [];
  }

  /* -- waiting for Python: a line that was added or moved has the focus, once it is there -- */

  /** The focus goes to `place` when the last message is answered; with `collect`, keys typed until then go there too.
   * @param {Place} place @param {boolean} collect */
  expect(place, collect = false) {
    if (this.sheet.readOnly) return;
    clearTimeout(this.timer);
    this.awaiting = { number: this.number, place, collect, typed: "" };
    this.timer = setTimeout(() => this.arrive(), WAIT_FOR_PYTHON);
  }

  arrive() {
    if (!this.awaiting) return;
    const { place, typed } = this.awaiting;
    clearTimeout(this.timer);
    this.awaiting = null;
    this.sheet.focusAt(place);
    const input = this.sheet.activeElement;
    if (!typed || !isTextField(input)) return;
    input.setRangeText(typed, input.selectionStart ?? 0, input.selectionEnd ?? 0, "end");
    this.offerNames(input);
  }

  /** @param {Field} input */
  offerNames(input) {
    if (input.dataset.field === "material") this.names.open(input, this.model.get("names") ?? []);
  }

  /* -- what the hand does -- */

  /** @param {Field} input */
  commit(input) {
    const place = this.sheet.placeOf(input);
    if (!place || !isDirty(input) || input.value === input.sent) return;
    const { phase, line, field } = place;
    const text = input.value;
    input.sent = text;
    if (field === "name") this.send("set_phase_name", { phase, text });
    else this.send(field === "material" ? "set_material" : "set_entry", { phase, line, text });
  }

  /** @param {HTMLSelectElement} select */
  choose(select) {
    const place = this.sheet.placeOf(select);
    if (!place) return;
    const { phase, line, field } = place;
    if (field === "hold") this.send("set_hold", { phase, line, value: select.value });
    if (field === "kind") this.send("set_phase_kind", { phase, value: select.value });
  }

  /** @param {number} phase @param {number} after */
  addLine(phase, after) {
    this.send("add_line", { phase, after });
    this.expect({ phase, line: after + 1, field: "material" }, true);
  }

  /** @param {{phase: number, line: number, field?: string}} place */
  removeLine({ phase, line, field = "material" }) {
    this.send("remove_line", { phase, line });
    this.expect({ phase, line, field });
  }

  /** @param {{phase: number, line: number, field?: string}} place @param {{phase: number, line: number}} to */
  moveLine({ phase, line, field = "material" }, to) {
    const stays = to.phase === phase && to.line === line;
    if (this.awaiting || stays || to.phase < 0 || to.phase >= this.sheet.view.phases.length) return;
    this.send("move_line", { phase, line, to_phase: to.phase, to_line: to.line });
    this.expect({ ...to, field });
  }

  /** @param {{phase: number, line: number, field?: string}} place @param {number} by */
  moveLineBy(place, by) {
    const { phase } = place;
    const line = place.line + by;
    if (line < 0) this.moveLine(place, { phase: phase - 1, line: this.linesOf(phase - 1).length });
    else if (line >= this.linesOf(phase).length) this.moveLine(place, { phase: phase + 1, line: 0 });
    else this.moveLine(place, { phase, line });
  }

  /** @param {number} after */
  addPhase(after) {
    this.send("add_phase", { after });
    this.expect({ phase: after + 1, field: "name" }, true);
  }

  /** @param {number} phase */
  removePhase(phase) {
    this.send("remove_phase", { phase });
    this.expect({ phase: Math.max(0, Math.min(phase, this.sheet.view.phases.length - 2)), field: "name" });
  }

  /** @param {number} phase @param {number} to */
  movePhase(phase, to) {
    if (this.awaiting || to < 0 || to >= this.sheet.view.phases.length) return;
    this.send("move_phase", { phase, to });
    this.expect({ phase: to, field: "name" });
  }

  /** @param {HTMLElement} button */
  press(button) {
    const { phase = 0, line = 0 } = this.sheet.placeOf(button) ?? {};
    /** @type {Record<string, () => void>} */
    const does = {
      undo: () => this.send("undo"),
      redo: () => this.send("redo"),
      add_phase: () => this.addPhase(this.sheet.view.phases.length - 1),
      remove_phase: () => this.removePhase(phase),
      phase_up: () => this.movePhase(phase, phase - 1),
      phase_down: () => this.movePhase(phase, phase + 1),
      add_line: () => this.addLine(phase, this.linesOf(phase).length - 1),
      remove_line: () => this.removeLine({ phase, line }),
      line_up: () => this.moveLineBy({ phase, line }, -1),
      line_down: () => this.moveLineBy({ phase, line }, 1),
    };
    does[button.dataset.action ?? ""]?.();
  }

  /* -- keys -- */

  /** @param {KeyboardEvent} event */
  onKey(event) {
    const leaves = event.key === "Escape" && !this.names.isOpen && !isDirty(event.target);
    if (leaves) return; // the panel knows where to
    event.stopPropagation(); // the notebook has keys of its own
    if (event.isComposing) return;
    const handled = this.keyWhileAwaiting(event) || this.keyInNames(event) || this.keyForHistory(event)
      || this.keyForPlace(event) || this.keyInField(event);
    if (handled) event.preventDefault();
  }

  /** @param {KeyboardEvent} event */
  keyWhileAwaiting(event) {
    if (!this.awaiting?.collect || event.ctrlKey || event.metaKey) return false;
    if (isCharacter(event)) this.awaiting.typed += event.key;
    else if (event.key === "Backspace") this.awaiting.typed = this.awaiting.typed.slice(0, -1);
    return true;
  }

  /** @param {KeyboardEvent} event */
  keyInNames(event) {
    if (!this.names.isOpen || event.altKey || event.ctrlKey || event.metaKey) return false;
    if (event.key === "ArrowDown") this.names.step(1);
    else if (event.key === "ArrowUp") this.names.step(-1);
    else if (event.key === "Escape") this.names.close();
    else if (event.key === "Enter") return this.chooseAndGoOn();
    else {
      if (event.key === "Tab") this.names.choose();
      return false;
    }
    return true;
  }

  /** Take the name that is marked, or the only one there is, and go on to its amount. */
  chooseAndGoOn() {
    const input = this.names.input;
    const place = input && this.sheet.placeOf(input);
    if (!this.names.choose(this.names.marked)) return false;
    if (place) this.sheet.focusAt({ ...place, field: "amount" });
    return true;
  }

  /** @param {KeyboardEvent} event */
  keyForHistory(event) {
    const key = event.key.toLowerCase();
    const command = (event.ctrlKey || event.metaKey) && !event.altKey;
    if (!command || !["z", "y"].includes(key) || isDirty(event.target)) return false;
    const kind = key === "y" || event.shiftKey ? "redo" : "undo";
    if (kind === "redo" ? this.sheet.view.can_redo : this.sheet.view.can_undo) this.send(kind);
    return true;
  }

  /** Keys that move or remove the line (or, from a layer's name, the layer).
   * @param {KeyboardEvent} event */
  keyForPlace(event) {
    const input = /** @type {Field} */ (event.target);
    const place = this.sheet.placeOf(input);
    if (!place) return false;
    const by = event.key === "ArrowUp" ? -1 : event.key === "ArrowDown" ? 1 : 0;
    if (event.altKey && by) {
      this.commit(input);
      if (place.line === undefined) this.movePhase(place.phase, place.phase + by);
      else this.moveLineBy({ ...place, line: place.line }, by);
      return true;
    }
    const deletes = event.key === "Delete" && (event.altKey || (event.ctrlKey && !isDirty(input)));
    if (!deletes || place.line === undefined) return false;
    this.removeLine({ ...place, line: place.line });
    return true;
  }

  /** @param {KeyboardEvent} event */
  keyInField(event) {
    const input = event.target;
    if (!isTextField(input) || event.altKey || event.ctrlKey || event.metaKey) return false;
    const place = this.sheet.placeOf(input);
    if (!place) return false;
    if (event.key === "Enter") this.enter(input, place);
    else if (event.key === "Escape") this.takeBack(input);
    else if (event.key === "ArrowUp") return this.step(place, -1);
    else if (event.key === "ArrowDown") return this.step(place, 1);
    else return false;
    return true;
  }

  /** @param {Field} input @param {Place} place */
  enter(input, { phase, line, field }) {
    this.commit(input);
    const lines = this.linesOf(phase);
    if (line === undefined) this.sheet.focusAt({ phase, line: 0, field: "material" });
    else if (field === "material" && input.value) this.sheet.focusAt({ phase, line, field: "amount" });
    else if (line + 1 < lines.length) this.sheet.focusAt({ phase, line: line + 1, field });
    else if (input.value || lines[line].material || lines[line].entry) this.addLine(phase, line);
  }

  /** @param {Field} input */
  takeBack(input) {
    input.value = input.shown ?? "";
    input.select();
  }

  /** @param {Place} place @param {number} by */
  step({ phase, line, field }, by) {
    if (line === undefined) return false;
    /** @type {NodeListOf<Field>} */
    const fields = this.sheet.table.querySelectorAll(`.sw-line [data-field="${field}"]`);
    const column = [...fields];
    const at = this.sheet.controlAt({ phase, line, field });
    const next = at && column[column.indexOf(at) + by];
    next?.focus();
    next?.select();
    return true;
  }

  /* -- paste and drag -- */

  /** @param {ClipboardEvent} event */
  onPaste(event) {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    const input = /** @type {Field} */ (event.target);
    const place = this.sheet.placeOf(input);
    const severalCells = /[\t\n\r]/.test(text.replace(/[\r\n]+$/, ""));
    if (place?.line === undefined || !isTextField(input) || !severalCells) return;
    event.preventDefault();
    this.names.close();
    this.commit(input);
    this.send("paste", { ...place, text });
  }

  /** @param {PointerEvent} event */
  startDrag(event) {
    const handle = /** @type {HTMLElement | null} */ (/** @type {Element} */ (event.target).closest(".sw-grip"));
    if (!handle || event.button !== 0 || this.sheet.readOnly) return;
    const row = handle.closest("tr");
    const place = this.sheet.placeOf(handle);
    if (!row || place?.line === undefined) return;
    const from = { phase: place.phase, line: place.line };
    const over = new AbortController();
    const options = { signal: over.signal };
    /** @type {{phase: number, line: number} | null} */
    let target = null;
    const finish = (/** @type {boolean} */ drop) => {
      over.abort();
      row.classList.remove("sw-dragged");
      this.sheet.dropLine.hidden = true;
      if (drop && target) this.moveLine(from, target);
    };
    handle.setPointerCapture(event.pointerId);
    row.classList.add("sw-dragged");
    handle.addEventListener("pointermove", ({ clientY }) => { target = this.dropTarget(clientY, from); }, options);
    handle.addEventListener("pointerup", () => finish(true), options);
    handle.addEventListener("pointercancel", () => finish(false), options);
    this.sheet.root.addEventListener("keydown", ({ key }) => key === "Escape" && finish(false), options);
  }

  /** The gap between lines that is nearest to the pointer; `line` is where the line ends up.
   * @param {number} y @param {{phase: number, line: number}} from */
  dropTarget(y, from) {
    const gaps = this.sheet.phases.flatMap(({ body }, phase) => [...body.querySelectorAll(".sw-layer, .sw-line")].map((row, line) => {
      const said = row.nextElementSibling?.matches(".sw-said") ? row.nextElementSibling : row;
      return { phase, line, y: said.getBoundingClientRect().bottom };
    }));
    const gap = gaps.reduce((best, one) => (Math.abs(one.y - y) < Math.abs(best.y - y) ? one : best));
    this.sheet.dropLine.hidden = false;
    this.sheet.dropLine.style.top = `${gap.y - this.sheet.root.getBoundingClientRect().top - 2}px`;
    const leavesAbove = gap.phase === from.phase && from.line < gap.line;
    return { phase: gap.phase, line: gap.line - (leavesAbove ? 1 : 0) };
  }

  /* -- listening -- */

  /** @param {HTMLElement} root */
  listen(root) {
    for (const trait of ["view", "read_only"]) this.model.on(`change:${trait}`, this.refresh);
    this.model.on("change:answered", this.answered);
    root.addEventListener("keydown", (event) => this.onKey(event));
    root.addEventListener("paste", (event) => this.onPaste(event));
    root.addEventListener("pointerdown", (event) => this.startDrag(event));
    root.addEventListener("input", ({ target }) => this.offerNames(/** @type {Field} */ (target)));
    root.addEventListener("change", ({ target }) => this.choose(/** @type {HTMLSelectElement} */ (target)));
    root.addEventListener("click", ({ target }) => {
      const button = /** @type {HTMLElement | null} */ (/** @type {Element} */ (target).closest("button[data-action]"));
      if (button) this.press(button);
    });
    root.addEventListener("focusout", ({ target }) => {
      if (this.sheet.updating || !isTextField(target)) return;
      this.names.close();
      this.commit(target);
    });
    window.addEventListener("scroll", this.follow, true);
    window.addEventListener("resize", this.follow);
  }

  dispose() {
    for (const trait of ["view", "read_only"]) this.model.off(`change:${trait}`, this.refresh);
    this.model.off("change:answered", this.answered);
    window.removeEventListener("scroll", this.follow, true);
    window.removeEventListener("resize", this.follow);
    clearTimeout(this.timer);
    this.sheet.root.remove();
  }
}

export default {
  /** @param {{model: Model, el: HTMLElement}} widget */
  render({ model, el }) {
    const table = new FormulaTable(model, el);
    return () => table.dispose();
  },
};
