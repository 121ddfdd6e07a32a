// @ts-check
/* Names by type-ahead: which ones answer what was typed, and the list under the field
   (the ARIA pattern of a combobox with a listbox). */

const MOST_MATCHES = 12;
const NO_MATCH = 3; // a rank behind all

/** How well a name answers: 0 begins with it, 1 has a word that does, 2 holds it anywhere, null not at all.
 * @param {string} query @param {string[]} name */
function rankName(query, name) {
  const texts = name.filter(Boolean).map((text) => text.toLowerCase());
  if (texts.some((text) => text.startsWith(query))) return 0;
  const holding = texts.filter((text) => text.includes(query));
  if (!holding.length) return null;
  return holding.some((text) => text.split(/[^\p{L}\p{N}]+/u).some((word) => word.startsWith(query))) ? 1 : 2;
}

/** @param {string[][]} names @param {string} typed */
function findNames(names, typed) {
  const query = typed.trim().toLowerCase();
  if (!query) return [];
  return names
    .map((name) => ({ name, rank: rankName(query, name) ?? NO_MATCH }))
    .filter(({ rank }) => rank < NO_MATCH)
    .sort((a, b) => a.rank - b.rank || a.name[0].localeCompare(b.name[0]))
    .slice(0, MOST_MATCHES)
    .map(({ name }) => name);
}

class NameList {
  /** @param {string} id @param {(input: Field, name: string) => void} accept */
  constructor(id, accept) {
    this.element = make("ul", { class: "sw-names", role: "listbox", id, popover: "manual", "aria-label": "Ingredients that match" });
    this.accept = accept;
    /** @type {Field | null} */
    this.input = null;
    this.active = -1;
    this.element.addEventListener("mousedown", (event) => event.preventDefault()); // the field keeps the focus
    this.element.addEventListener("click", (event) => this.choose(/** @type {Element} */ (event.target).closest("li")));
  }

  /** The option that Enter takes: the one that the arrows marked, or the only one. */
  get marked() { return this.element.children[this.element.children.length === 1 ? 0 : this.active]; }

  get isOpen() { return this.input !== null; }

  /** @param {Field} input @param {string[][]} names */
  open(input, names) {
    const matches = findNames(names, input.value);
    this.close();
    if (!matches.length || (matches.length === 1 && matches[0][0] === input.value)) return;
    this.input = input;
    this.element.replaceChildren(...matches.map((name, index) => this.makeOption(name, index)));
    input.setAttribute("aria-expanded", "true");
    this.element.showPopover();
    this.place();
  }

  /** @param {string[]} name @param {number} index */
  makeOption([inci, plain], index) {
    const attributes = { role: "option", id: `${this.element.id}-${index}`, "aria-selected": "false", "data-name": inci };
    return make("li", attributes, inci, ...(plain ? [" ", make("span", {}, plain)] : []));
  }

  place() {
    if (!this.input) return;
    const field = this.input.getBoundingClientRect();
    const height = this.element.offsetHeight;
    const above = field.bottom + height > window.innerHeight && field.top > height;
    this.element.style.left = `${field.left}px`;
    this.element.style.top = `${above ? field.top - height - 2 : field.bottom + 2}px`;
  }

  /** @param {number} by */
  step(by) {
    if (!this.input) return;
    const options = [...this.element.children];
    const from = this.active < 0 && by < 0 ? 0 : this.active;
    this.active = (from + by + options.length) % options.length;
    options.forEach((option, index) => option.setAttribute("aria-selected", String(index === this.active)));
    this.input.setAttribute("aria-activedescendant", options[this.active].id);
    options[this.active].scrollIntoView({ block: "nearest" });
  }

  /** @param {Element | null} [option] */
  choose(option = this.element.children[this.active]) {
    if (!option || !this.input) return false;
    const { input } = this;
    this.close();
    this.accept(input, option.getAttribute("data-name") ?? "");
    return true;
  }

  close() {
    if (!this.input) return;
    this.input.setAttribute("aria-expanded", "false");
    this.input.removeAttribute("aria-activedescendant");
    this.element.hidePopover();
    this.input = null;
    this.active = -1;
  }
}
