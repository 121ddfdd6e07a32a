// @ts-check
/* Small helpers for making and patching elements, and how a finding is shown.
   table.py joins elements.js, names.js, sheet.js and table.js, in this order, to one module. */

/** @typedef {HTMLInputElement & {shown?: string, sent?: string}} Field */
/** @typedef {HTMLElement & {shownFindings?: string}} Holder */

/** @type {Record<string, [string, string]>} */
const SEVERITIES = { stop: ["■", "Stop"], caution: ["▲", "Caution"], note: ["●", "Note"] };

/** @template {keyof HTMLElementTagNameMap} T @param {T} tag @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} children @returns {HTMLElementTagNameMap[T]} */
function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/** @param {Node} element @param {string} [text] */
function setText(element, text = "") {
  if (element.textContent !== text) element.textContent = text;
}

/** @param {Element} element @param {string} name @param {string | number | null | undefined} value */
function setAttribute(element, name, value) {
  if (value === null || value === undefined) element.removeAttribute(name);
  else if (element.getAttribute(name) !== String(value)) element.setAttribute(name, String(value));
}

/** @param {string} action @param {string} sign @param {string} label @param {Record<string, string | number>} attributes */
function makeButton(action, sign, label, attributes = {}) {
  return make("button", { type: "button", "data-action": action, "aria-label": label, title: label, ...attributes }, sign);
}

/** @param {string} field @param {Record<string, string | number>} attributes @returns {Field} */
function makeTextField(field, attributes = {}) {
  return make("input", { type: "text", "data-field": field, autocomplete: "off", spellcheck: "false", ...attributes });
}

/** @param {string} field @param {string[][]} options */
function makeChoice(field, options) {
  return make("select", { "data-field": field }, ...options.map(([value, label]) => make("option", { value }, label)));
}

/** @type {(element: any) => element is Field} */
const isTextField = (element) => element?.matches?.("input[data-field]") ?? false;
/** @type {(input: unknown) => boolean} */
const isDirty = (input) => isTextField(input) && input.value !== input.shown;
/** @type {(event: KeyboardEvent) => boolean} */
const isCharacter = (event) => event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey;

/** Put `children` into `parent` in this order, moving only what is out of place (a move costs the focus).
 * @param {Element} parent @param {Element[]} children */
function arrange(parent, children) {
  const wanted = new Set(children);
  for (const child of [...parent.children]) if (!wanted.has(child)) child.remove();
  children.forEach((child, index) => {
    if (parent.children[index] !== child) parent.insertBefore(child, parent.children[index] ?? null);
  });
}

/* ---- findings ---- */

/** @param {FindingView} finding */
function makeFinding({ severity, sentence, source }) {
  const [sign, word] = SEVERITIES[severity] ?? SEVERITIES.note;
  const body = make("span", {}, make("b", {}, `${word}: `), sentence);
  if (source) body.append(" ", make("span", { class: "sw-source" }, source));
  return make("p", { class: "sw-finding", "data-severity": severity }, make("span", { "aria-hidden": "true" }, sign), body);
}

/** @param {Holder} holder @param {FindingView[]} findings */
function showFindings(holder, findings = []) {
  const fresh = JSON.stringify(findings);
  if (holder.shownFindings === fresh) return;
  holder.shownFindings = fresh;
  holder.replaceChildren(...findings.map(makeFinding));
}

/** The row of findings under a line or a layer's name: it is there only when there is something to say.
 * @param {string} id @param {number} columns */
function makeFindingRow(id, columns) {
  const holder = make("td", { colspan: columns - 1, id });
  return { row: make("tr", { class: "sw-said" }, make("td"), holder), holder };
}

/** @param {FormulaView} view */
function countFindings(view) {
  const found = [...(view.findings ?? []), ...view.phases.flatMap((phase) => phase.findings ?? [])];
  found.push(...view.lines.flat().flatMap((line) => line.findings ?? []));
  return found.length + (view.total_state === "stop" && view.total_sentence ? 1 : 0);
}

/** The sign beside a field that a finding concerns, and its tie to the sentence for screen readers.
 * @param {Element} control @param {Element} mark @param {Severity | undefined} severity @param {string} sentenceId */
function showMark(control, mark, severity, sentenceId) {
  setText(mark, severity && SEVERITIES[severity][0]);
  setAttribute(mark, "data-severity", severity);
  setAttribute(control, "data-mark", severity);
  setAttribute(control, "aria-invalid", severity === "stop" ? "true" : null);
  setAttribute(control, "aria-describedby", severity ? sentenceId : null);
}
