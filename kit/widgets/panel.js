// @ts-check
/* A panel's answers are said by a screen reader when they change; and while the panel lives, its still, which the
   notebook stores, stands empty on the page: nothing is found, read out or counted twice. */

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

/** @param {{ el: HTMLElement }} context */
function render({ el }) {
  el.style.display = "none";
  let putBack = () => {};
  requestAnimationFrame(() => {
    for (const answer of el.closest(".shakewell-panel")?.querySelectorAll(".sw-answer") ?? []) answer.setAttribute("aria-live", "polite");
    putBack = emptyStills(el);
  });
  return () => putBack();
}

export default { render };
