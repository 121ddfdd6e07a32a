// @ts-check
/* A panel's answers are said by a screen reader when they change. */

/** @param {{ el: HTMLElement }} context */
function render({ el }) {
  el.style.display = "none";
  requestAnimationFrame(() => {
    for (const answer of el.closest(".shakewell-panel")?.querySelectorAll(".sw-answer") ?? []) answer.setAttribute("aria-live", "polite");
  });
}

export default { render };
