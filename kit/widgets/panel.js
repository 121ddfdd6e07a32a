// @ts-check
/* What a panel does besides its controls: an answer that has changed is said by a screen reader, what is wider than
   the page is marked and can be moved by key, charts follow the room and the size of the text, and keys stay with the
   control that has the focus. While the panel lives, its still, which the notebook stores, stands empty on the page:
   nothing is found, read out or counted twice. */

const PAUSE = 700; // after the last change, before it is said [ms]
const LEAST_TEXT = 18.2; // of a drawing in large text [px]
const AT_REST = 500; // after which a chart should have its new width [ms]
const TRIES = 6;
const MOST_SAID = 400; // of one answer [characters]

/** The words of an answer; of a table only how long it is.
 * @param {Element} answer */
function inWords(answer) {
  const copy = /** @type {Element} */ (answer.cloneNode(true));
  const tables = [...copy.querySelectorAll("table")].map((table) => `table of ${table.querySelectorAll("tbody tr").length} rows`);
  for (const drawn of copy.querySelectorAll("table, svg, style, iframe, textarea")) drawn.remove();
  for (const part of copy.querySelectorAll("div, p, li, br")) part.append(" ");
  const words = (copy.textContent ?? "").replace(/\s+/g, " ").trim();
  return [words.length > MOST_SAID ? `${words.slice(0, MOST_SAID)} …` : words, ...tables].filter(Boolean).join("; ");
}

/** Say what has changed in the answers of a panel, one answer after the other, once they have come to rest.
 * @param {Element} panel @param {HTMLElement} voice */
function saying(panel, voice) {
  /** @type {Map<Element, string>} */
  const before = new Map();
  /** @type {number | undefined} */
  let timer;
  const answers = () => [...panel.querySelectorAll(".sw-answer")].map((answer) => /** @type {const} */ ([answer, inWords(answer)]));
  const say = () => {
    const changed = answers().filter(([answer, words]) => before.get(answer) !== words);
    for (const [answer, words] of changed) before.set(answer, words);
    const said = changed.map(([, words]) => words).filter(Boolean).join(" ");
    if (said) voice.textContent = said;
  };
  for (const [answer, words] of answers()) before.set(answer, words);
  return () => {
    clearTimeout(timer);
    timer = setTimeout(say, PAUSE);
  };
}

/** A panel is a group of its title's name, and each chart one of what it shows: a screen reader goes from one to the
 * other, and says where it is.
 * @param {HTMLElement} panel */
function nameParts(panel) {
  const title = panel.querySelector(".sw-title")?.textContent;
  if (title && panel.ariaLabel !== title) Object.assign(panel, { role: "group", ariaLabel: title });
  for (const chart of /** @type {NodeListOf<HTMLElement>} */ (panel.querySelectorAll(".js-plotly-plot"))) {
    const axes = [...chart.querySelectorAll(".g-ytitle, .g-y2title, .g-xtitle, .g-x2title")].map((one) => one.textContent).filter(Boolean);
    const name = `Chart: ${axes.length ? axes.join("; ") : (title ?? "")}`;
    if (chart.ariaLabel !== name) Object.assign(chart, { role: "group", ariaLabel: name });
  }
}

/** What is wider than its box can be reached by key, and says so.
 * @param {Element} panel */
function markWide(panel) {
  for (const box of /** @type {NodeListOf<HTMLElement>} */ (panel.querySelectorAll(".sw-scroll, .widget-html-content"))) {
    const wide = /auto|scroll/.test(getComputedStyle(box).overflowX) && box.scrollWidth > box.clientWidth + 1;
    if (wide === box.hasAttribute("data-wide")) continue;
    if (wide) Object.assign(box, { tabIndex: 0, role: "group", ariaLabel: "wider than the page: move it with the arrow keys" }).setAttribute("data-wide", "");
    else for (const name of ["data-wide", "tabindex", "role", "aria-label"]) box.removeAttribute(name);
  }
}

/** A drawing whose smallest words would be too small is drawn larger; its box then scrolls.
 * @param {Element} panel @param {boolean} large */
function enlarge(panel, large) {
  for (const drawing of /** @type {NodeListOf<SVGSVGElement>} */ (panel.querySelectorAll(".widget-html-content svg[viewBox]"))) {
    const words = [...drawing.querySelectorAll("text")];
    if (!large || !words.length) {
      for (const name of ["min-width", "height"]) if ("large" in drawing.dataset) drawing.style.removeProperty(name);
      delete drawing.dataset.large;
      continue;
    }
    const least = Math.min(...words.map((one) => parseFloat(getComputedStyle(one).fontSize)));
    drawing.dataset.large = "";
    drawing.style.height = "auto";
    drawing.style.minWidth = `${Math.ceil((drawing.viewBox.baseVal.width * LEAST_TEXT) / least)}px`;
  }
}

/** A chart that the kernel changed while it took on a new width may keep the old one: it is told again, until it fits.
 * @param {Element} panel @param {number} tries */
function fitCharts(panel, tries) {
  const charts = /** @type {NodeListOf<HTMLElement & {layout?: {width?: number}}>} */ (panel.querySelectorAll(".js-plotly-plot"));
  const wrong = [...charts].filter((chart) => chart.clientWidth && Math.abs((chart.querySelector(".main-svg")?.getBoundingClientRect().width ?? chart.clientWidth) - chart.clientWidth) > 1);
  if (!wrong.length || !tries) return;
  for (const { layout } of wrong) delete layout?.width; // with one a chart does not listen
  window.dispatchEvent(new Event("resize"));
  setTimeout(fitCharts, AT_REST, panel, tries - 1);
}

/** Keys belong to the control that has the focus: JupyterLab looks for this mark on the control itself before it takes
 * an arrow, Enter or the space bar as a command to the notebook.
 * @param {Element} panel */
function keepKeys(panel) {
  for (const control of panel.querySelectorAll("a[href], button, input, select, summary, textarea, [tabindex]")) {
    // Set once: an attribute that is written anew has the whole page laid out again, for every panel on it.
    if (!control.hasAttribute("data-lm-suppress-shortcuts")) control.setAttribute("data-lm-suppress-shortcuts", "true");
  }
}

/** Escape leads from a control out to the cell of the notebook, where the arrows go from cell to cell and Tab goes in.
 * @param {HTMLElement} panel @param {KeyboardEvent} event */
function leave(panel, event) {
  if (event.key !== "Escape" || event.defaultPrevented) return;
  const cell = /** @type {HTMLElement | null} */ (panel.closest(".jp-Cell"));
  if (!cell) return;
  event.stopPropagation();
  cell.focus();
}

/** The folded parts of a panel open and close by Enter and the space bar too.
 * @param {Element} panel */
function foldsByKey(panel) {
  for (const head of /** @type {NodeListOf<HTMLElement>} */ (panel.querySelectorAll(".jupyter-widget-Collapse-header"))) {
    const isOpen = String(!head.nextElementSibling?.classList.contains("lm-mod-hidden"));
    if (head.ariaExpanded !== isOpen) head.ariaExpanded = isOpen;
    if (head.role === "button") continue;
    Object.assign(head, { role: "button", tabIndex: 0 });
    head.addEventListener("click", () => requestAnimationFrame(() => foldsByKey(panel)));
    head.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      event.stopPropagation();
      head.click();
    });
  }
}

/** Empty the stills beside a panel, now and whenever one is drawn anew. @param {HTMLElement} el @returns {() => void} */
function emptyStills(el) {
  const area = el.closest(".jp-OutputArea");
  if (!area) return () => {};
  const stills = area.getElementsByClassName("sw-still");
  /** @type {Map<Element, Node[]>} what stood in them, for when the panel is gone */
  const kept = new Map();
  const empty = () => {
    for (const still of stills) {
      if (!still.firstChild) continue;
      kept.set(still, [...still.childNodes]);
      still.replaceChildren();
    }
  };
  const observer = new MutationObserver(empty);
  observer.observe(area, { childList: true, subtree: true });
  empty();
  return () => {
    observer.disconnect();
    for (const [still, nodes] of kept) if (still.isConnected) still.replaceChildren(...nodes);
  };
}

/** @param {{ model: { get: (name: string) => any, on: Function, off: Function }, el: HTMLElement }} context */
function render({ model, el }) {
  const voice = document.createElement("div");
  voice.className = "sw-voice";
  voice.setAttribute("role", "status");
  el.classList.add("sw-look");
  el.append(voice);
  /** @type {(() => void)[]} */
  const ends = [];
  const begin = () => {
    const panel = /** @type {HTMLElement | null} */ (el.closest(".shakewell-panel"));
    if (!panel) {
      start = requestAnimationFrame(begin); // not on the page yet
      return;
    }
    const say = saying(panel, voice);
    let asked = 0, looked = 0;
    const later = () => {
      cancelAnimationFrame(asked);
      asked = requestAnimationFrame(() => dress());
    };
    /** @type {Map<Element, number>} */
    const widths = new Map();
    const sizes = new ResizeObserver((found) => {
      later();
      const charts = found.filter(({ target }) => target !== panel && widths.get(target) !== target.clientWidth);
      for (const { target } of charts) widths.set(target, target.clientWidth);
      if (charts.length) window.dispatchEvent(new Event("resize")); // what a chart listens to
      clearTimeout(looked);
      looked = setTimeout(fitCharts, AT_REST, panel, TRIES);
    });
    const dress = () => {
      panel.classList.toggle("sw-large", model.get("large"));
      enlarge(panel, model.get("large"));
      markWide(panel);
      nameParts(panel);
      foldsByKey(panel);
      keepKeys(panel);
      for (const chart of panel.querySelectorAll(".js-plotly-plot")) if (!widths.has(chart)) sizes.observe(chart);
    };
    const changes = new MutationObserver((found) => {
      if (found.every(({ target }) => voice.contains(target) || el === target)) return;
      later();
      if (found.some(({ target }) => (target instanceof Element ? target : target.parentElement)?.closest(".sw-answer"))) say();
    });
    const onKey = (/** @type {KeyboardEvent} */ event) => leave(panel, event);
    panel.addEventListener("keydown", onKey);
    changes.observe(panel, { childList: true, characterData: true, subtree: true });
    sizes.observe(panel);
    model.on("change:large", later);
    dress();
    ends.push(emptyStills(el), () => panel.removeEventListener("keydown", onKey), () => changes.disconnect(), () => (sizes.disconnect(), clearTimeout(looked)), () => model.off("change:large", later));
  };
  let start = requestAnimationFrame(begin);
  return () => {
    cancelAnimationFrame(start);
    for (const end of ends) end();
  };
}

export default { render };
