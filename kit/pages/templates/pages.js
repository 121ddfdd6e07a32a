// @ts-check
// One section to a screen: p begins and ends it, the arrows turn, so do Page Down and the space bar at its end.
const main = document.querySelector("main");
const button = document.getElementById("projector");
const place = document.getElementById("place");
const HEADING = ":scope > :is(h1, h2, h3)";
/** @type {Element[][]} */
const sections = [];
let now = -1;

if (main && button && place) {
  for (const part of [...main.children]) {
    for (const piece of cut(part)) {
      if (!sections.length || piece.querySelector(HEADING)) sections.push([]);
      sections.at(-1)?.push(piece);
    }
  }
  button.hidden = false;
  button.addEventListener("click", () => show(inView()));
  document.addEventListener("keydown", pressed);
}

/**
 * A text as pieces that begin with a heading each.
 * @param {Element} part
 * @returns {Element[]}
 */
function cut(part) {
  const pieces = [part];
  let piece = part;
  for (const heading of part.querySelectorAll(HEADING)) {
    if (heading === piece.firstElementChild) continue;
    const rest = /** @type {Element} */ (piece.cloneNode());
    /** @type {Node | null} */
    let node = heading;
    while (node) {
      const next = /** @type {Node | null} */ (node.nextSibling);
      rest.append(node);
      node = next;
    }
    piece.after(rest);
    pieces.push(rest);
    piece = rest;
  }
  return pieces;
}

/** @param {KeyboardEvent} event */
function pressed(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const begun = now >= 0;
  const down = event.key === "PageDown" || (event.key === " " && event.target === document.body);
  const more = innerHeight + scrollY < document.documentElement.scrollHeight - 4;
  if (event.key === "p") show(begun ? -1 : inView());
  else if (begun && event.key === "Escape") show(-1);
  else if (begun && (event.key === "ArrowRight" || (down && !more))) show(now + 1);
  else if (begun && (event.key === "ArrowLeft" || (event.key === "PageUp" && scrollY < 4))) show(Math.max(0, now - 1));
  else return;
  event.preventDefault();
}

/** The section that the top of the window shows. */
function inView() {
  const begun = sections.filter(([first]) => first && first.getBoundingClientRect().top < innerHeight / 3);
  return Math.max(0, begun.length - 1);
}

/**
 * Show one section alone, or all of them (-1), standing where the one was.
 * @param {number} which
 */
function show(which) {
  const left = sections[now];
  now = Math.min(which, sections.length - 1);
  sections.forEach((parts, at) => parts.forEach((part) => part.classList.toggle("now", at === now)));
  document.body.classList.toggle("one", now >= 0);
  if (place) {
    place.hidden = now < 0;
    place.textContent = `${now + 1} / ${sections.length}`;
  }
  if (now < 0 && left) left[0]?.scrollIntoView();
  else scrollTo(0, 0);
}
