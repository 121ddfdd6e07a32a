// @ts-check
// The bottle and the picture of all ratios. Millimetres and percents become pixels here; nothing is computed.

/** @typedef {Required<RatioPicture>} View */
/** @typedef {[number, number]} Point */
/** @typedef {ReturnType<typeof bottleScale>} BottleScale */
/** @typedef {ReturnType<typeof chartScale>} ChartScale */
/** @typedef {{kind: "oil", oil: number} | {kind: "height", mm: number}} Ask */

const SVG = "http://www.w3.org/2000/svg";
const BOTTLE = { width: 344, top: 14, bottom: 26, centre: 114, maxHalf: 70 };
const SMALL_BOTTLE = { ...BOTTLE, width: 268, centre: 80, maxHalf: 40 }; // where there is little room
const CHART = { left: 14, right: 16, top: 66, firstLabel: 14, bottom: 52, least: 240, roomy: 480, most: 860 };
const HEIGHT = 370, LOW = 290; // of both; the lower where the text is large
const PAPER = 30, GAP = 20; // around and between the two
const TEXT = 13.5; // what the sizes of words in the drawings are meant for [px]
const LINE_HEIGHT = 16;
const LETTER = 7.2; // a bold one, on average

/** @template {keyof SVGElementTagNameMap} T @param {T} tag @param {Record<string, string | number>} attributes
 * @param {...(Node | string)} children @returns {SVGElementTagNameMap[T]} */
function svg(tag, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, String(value));
  node.append(...children);
  return node;
}

/** @param {number} x @param {number} y @param {string | number} words @param {Record<string, string | number>} attributes */
function text(x, y, words, attributes = {}) {
  return svg("text", { x, y, ...attributes }, String(words));
}

/** Break words into lines of about `limit` letters.
 * @param {string} words @param {number} limit */
function wrap(words, limit) {
  const lines = [""];
  for (const word of words.split(" ")) {
    const last = lines[lines.length - 1];
    if (last && last.length + 1 + word.length > limit) lines.push(word);
    else lines[lines.length - 1] = last ? `${last} ${word}` : word;
  }
  return lines;
}

/** @param {number} x @param {number} y @param {string[]} lines @param {Record<string, string | number>} attributes */
function linesOf(x, y, lines, attributes = {}) {
  const node = svg("text", { x, y, ...attributes });
  lines.forEach((line, n) => node.append(svg("tspan", { x, dy: n ? LINE_HEIGHT : 0 }, line)));
  return node;
}

/** @type {(points: Point[]) => string} */
const polygon = (points) => points.map(([x, y]) => `${x.toFixed(2)},${y.toFixed(2)}`).join(" ");

/** The colour that the maker chose for a layer, if she chose one.
 * @param {SVGElement} shape @param {{colour?: string}} layer */
function coloured(shape, { colour }) {
  if (colour && /^#[0-9a-fA-F]{6}$/.test(colour)) shape.style.fill = colour;
  return shape;
}

// ---- the bottle -------------------------------------------------------------------------------------------

/** How the two stand: beside each other where the chart keeps its least width, else one below the other; what is
 * drawn is zoomed as the text is.
 * @param {HTMLElement} root */
function layout(root) {
  const zoom = parseFloat(getComputedStyle(root).fontSize) / TEXT || 1;
  const room = (root.clientWidth - PAPER) / zoom;
  const frame = room - BOTTLE.width - GAP >= CHART.roomy ? BOTTLE : SMALL_BOTTLE;
  const beside = room - frame.width - GAP;
  const width = Math.max(Math.min(beside >= CHART.least ? beside : room, CHART.most), CHART.least);
  return { zoom, width, frame: { ...frame, height: zoom > 1.2 ? LOW : HEIGHT } };
}

/** @typedef {ReturnType<typeof layout>["frame"]} Frame */

/** @param {View} view @param {Frame} frame */
function bottleScale(view, frame) {
  const widest = Math.max(...view.outline.map(([, radius]) => radius));
  const room = frame.height - frame.top - frame.bottom;
  const perMm = Math.min(room / view.height, frame.maxHalf / widest);
  const floor = frame.height - frame.bottom;
  return { perMm, frame, y: (/** @type {number} */ mm) => floor - mm * perMm, mm: (/** @type {number} */ y) => (floor - y) / perMm };
}

/** The inside of the bottle between two heights, as a polygon.
 * @param {View} view @param {BottleScale} scale @param {number} bottom @param {number} top */
function slice(view, scale, bottom, top) {
  const radiusAt = (/** @type {number} */ mm) => {
    const above = view.outline.findIndex(([height]) => height >= mm);
    return view.outline[above < 0 ? view.outline.length - 1 : above][1];
  };
  const inside = view.outline.filter(([height]) => height > bottom && height < top);
  /** @type {Point[]} */
  const right = [[bottom, radiusAt(bottom + 1e-6)], ...inside, [top, radiusAt(top)]];
  /** @type {(side: number) => (point: Point) => Point} */
  const at = (side) => ([mm, radius]) => [scale.frame.centre + side * radius * scale.perMm, scale.y(mm)];
  return polygon([...right.map(at(1)), ...right.map(at(-1)).reverse()]);
}

/** @param {View} view @param {Frame} frame @param {number} zoom */
function drawBottle(view, frame, zoom) {
  const scale = bottleScale(view, frame);
  const picture = svg("svg", {
    viewBox: `0 0 ${frame.width} ${frame.height}`, width: frame.width * zoom, height: frame.height * zoom, class: "sw-bottle", role: "group",
    "aria-label": `The bottle: ${view.layers.map((layer) => `${layer.name}, ${layer.label}`).join("; ")}`,
  });
  for (const layer of view.layers) {
    picture.append(coloured(svg("polygon", { points: slice(view, scale, layer.bottom, layer.top), class: "sw-layer", "data-kind": layer.kind }), layer));
  }
  picture.append(svg("polygon", { points: slice(view, scale, 0, view.height), class: "sw-glass" }));
  drawRuler(picture, view, scale);
  drawLabels(picture, view, scale);
  return { picture, scale };
}

/** @param {SVGElement} picture @param {View} view @param {BottleScale} scale */
function drawRuler(picture, view, scale) {
  const step = [5, 10, 20, 50].find((mm) => mm * scale.perMm >= 24) ?? 100;
  const left = scale.frame.centre - scale.frame.maxHalf;
  for (let mm = 0; mm <= view.height; mm += step) {
    const y = scale.y(mm);
    picture.append(svg("line", { x1: left - 14, x2: left - 8, y1: y, y2: y, class: "sw-tick" }));
    picture.append(text(left - 18, y + 4, mm, { class: "sw-small", "text-anchor": "end" }));
  }
  picture.append(text(left - 36, scale.frame.height - 6, "mm", { class: "sw-small" }));
}

/** Names and heights to the right of the layers, kept from running into each other.
 * @param {SVGElement} picture @param {View} view @param {BottleScale} scale */
function drawLabels(picture, view, scale) {
  const { centre, maxHalf, width, top } = scale.frame;
  const x = centre + maxHalf + 22;
  const letters = Math.floor((width - x) / LETTER);
  /** @type {{layer?: LayerView, words: string[], y: number}[]} */
  const wanted = view.layers.map((layer) => ({ layer, words: wrap(layer.name, letters), y: scale.y((layer.bottom + layer.top) / 2) }));
  const surface = scale.y(view.layers[view.layers.length - 1].top);
  wanted.push({ words: wrap(view.room_label, letters), y: Math.min((surface + scale.y(view.height)) / 2, surface - 20) });
  wanted.sort((a, b) => a.y - b.y);
  let free = top;
  for (const { layer, words, y } of wanted) {
    const at = Math.max(y, free + 12);
    const below = at + words.length * LINE_HEIGHT;
    picture.append(linesOf(x, at, words, { class: layer ? "sw-strong" : "sw-small sw-slanted" }));
    if (layer) picture.append(text(x, below, layer.label, { class: "sw-small" }));
    free = layer ? below + 6 : below - LINE_HEIGHT + 4;
  }
}

// ---- all ratios -------------------------------------------------------------------------------------------

/** @param {View} view @param {number} width @param {number} height */
function chartScale(view, width, height) {
  const right = width - CHART.right, bottom = height - CHART.bottom;
  const x = (/** @type {number} */ oil) => CHART.left + (oil / view.most) * (right - CHART.left);
  let y = CHART.firstLabel;
  const ends = [view.low, view.high].map((end) => {
    const at = Math.min(Math.max(x(end.at), CHART.left), right), leftHalf = at < width / 2;
    const lines = wrap(end.label, Math.floor(((leftHalf ? right - at : at - CHART.left) - 4) / 6.6));
    const label = { at, leftHalf, lines, y };
    y += lines.length * LINE_HEIGHT + 6;
    return label;
  });
  const top = Math.max(CHART.top, y - 6);
  return {
    width, height, right, bottom, top, ends, x,
    y: (/** @type {number} */ percent) => bottom - (percent / 100) * (bottom - top),
    oil: (/** @type {number} */ x) => ((x - CHART.left) / (right - CHART.left)) * view.most,
  };
}

/** @param {View} view @param {number} width @param {number} height @param {number} zoom @param {string} id */
function drawChart(view, width, height, zoom, id) {
  const scale = chartScale(view, width, height);
  const picture = svg("svg", { viewBox: `0 0 ${width} ${height}`, width: width * zoom, height: height * zoom, class: "sw-ratios", role: "group", "aria-label": "Every ratio of the layers" });
  picture.append(
    svg("defs", {}, svg("pattern", { id, width: 8, height: 8, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg("line", { x1: 0, y1: 0, x2: 0, y2: 8, class: "sw-hatch" }))),
    svg("rect", { x: CHART.left, y: scale.top, width: scale.right - CHART.left, height: scale.bottom - scale.top, class: "sw-ground" }),
  );
  drawBands(picture, view, scale);
  drawOutside(picture, view, scale, id);
  drawBandNames(picture, view, scale);
  drawAxis(picture, view, scale);
  drawEnds(picture, scale);
  return { picture, scale };
}

/** @param {SVGElement} picture @param {View} view @param {ChartScale} scale */
function drawBands(picture, view, scale) {
  /** @type {Record<string, number>} */
  const seen = {};
  for (const band of view.bands) {
    const shade = (seen[band.kind] = (seen[band.kind] ?? -1) + 1) % 4;
    /** @type {Point[]} */
    const upper = band.points.map(([oil, , top]) => [scale.x(oil), scale.y(Math.min(top, 100))]);
    /** @type {Point[]} */
    const lower = band.points.map(([oil, bottom]) => [scale.x(oil), scale.y(Math.min(bottom, 100))]);
    const shape = svg("polygon", { points: polygon([...upper, ...lower.reverse()]), class: "sw-band", "data-kind": band.kind, "data-shade": shade });
    shape.append(svg("title", {}, band.name));
    picture.append(coloured(shape, band));
  }
}

/** @param {SVGElement} picture @param {View} view @param {ChartScale} scale @param {string} id */
function drawOutside(picture, view, scale, id) {
  const spans = view.is_open ? [[0, view.low.at], [view.high.at, view.most]] : [[0, view.most]];
  for (const [from, to] of spans) {
    const box = { x: scale.x(from), y: scale.top, width: Math.max(scale.x(to) - scale.x(from), 0), height: scale.bottom - scale.top };
    picture.append(svg("rect", { ...box, class: "sw-veil" }), svg("rect", { ...box, fill: `url(#${id})` }));
  }
}

/** The name of each line that is thick enough, where the window is widest.
 * @param {SVGElement} picture @param {View} view @param {ChartScale} scale */
function drawBandNames(picture, view, scale) {
  const middle = view.is_open ? (view.low.at + view.high.at) / 2 : view.most / 2;
  const at = (/** @type {BandView["points"]} */ points) => {
    const n = Math.max(points.findIndex(([oil]) => oil >= middle), 1);
    const [a, b] = [points[n - 1], points[n]];
    const part = (middle - a[0]) / (b[0] - a[0] || 1);
    return [a[1] + part * (b[1] - a[1]), a[2] + part * (b[2] - a[2])];
  };
  for (const band of view.bands) {
    const [bottom, top] = at(band.points);
    const half = (band.name.length * LETTER) / 2, x = scale.x(middle);
    if (scale.y(bottom) - scale.y(top) < 15 || x - half < 0 || x + half > scale.width) continue;
    picture.append(text(x, (scale.y(bottom) + scale.y(top)) / 2 + 4, band.name, { class: "sw-inside", "text-anchor": "middle" }));
  }
}

/** @param {SVGElement} picture @param {View} view @param {ChartScale} scale */
function drawAxis(picture, view, scale) {
  const step = [1, 2, 5, 10, 20].find((percent) => (percent / view.most) * (scale.right - CHART.left) >= 46) ?? 25;
  for (let oil = 0; oil <= view.most + 1e-9; oil += step) {
    const x = scale.x(oil);
    picture.append(svg("line", { x1: x, x2: x, y1: scale.bottom, y2: scale.bottom + 5, class: "sw-tick" }));
    picture.append(text(x, scale.height - 6, oil, { class: "sw-small", "text-anchor": "middle" }));
  }
  for (const end of view.crossings) {
    const mark = svg("line", { x1: scale.x(end.at), x2: scale.x(end.at), y1: scale.bottom - 8, y2: scale.bottom, class: "sw-crossing" });
    mark.append(svg("title", {}, end.label));
    picture.append(mark);
  }
}

/** @param {SVGElement} picture @param {ChartScale} scale */
function drawEnds(picture, scale) {
  for (const { at, leftHalf, lines, y } of scale.ends) {
    picture.append(svg("line", { x1: at, x2: at, y1: y + 5, y2: scale.bottom, class: "sw-end" }));
    picture.append(linesOf(leftHalf ? at + 4 : at - 4, y, lines, { class: "sw-end-label", "text-anchor": leftHalf ? "start" : "end" }));
  }
}

// ---- the hand ---------------------------------------------------------------------------------------------

/** Ask for at most one thing at a time; while the answer is on its way only the latest wish is kept.
 * @param {Model} model */
function asker(model) {
  let serial = 0, waiting = false;
  /** @type {Ask | null} */
  let next = null;
  /** @type {Ask | null} */
  let latest = null;
  /** @type {number | undefined} */
  let timer;
  const send = (/** @type {Ask} */ ask) => {
    waiting = true;
    serial += 1;
    model.send({ ...ask, serial });
    clearTimeout(timer);
    timer = setTimeout(answered, 2000);
  };
  const answered = () => {
    clearTimeout(timer);
    waiting = false;
    if (next) { const ask = next; next = null; send(ask); }
  };
  return {
    ask: (/** @type {Ask} */ wish) => { latest = wish; if (waiting) next = wish; else send(wish); },
    heard: (/** @type {number} */ echo) => { if (waiting && echo >= serial) answered(); },
    /** What was asked for last and is not shown yet; steps by key count on from there. */
    pending: (/** @type {Ask["kind"]} */ kind) => {
      if (!waiting || latest?.kind !== kind) return undefined;
      return latest.kind === "oil" ? latest.oil : latest.mm;
    },
  };
}

const ENDS = ["pointerup", "pointercancel"];
const FINGER = 40; // the breadth of what a finger touches [px]

/** @param {SVGElement} handle @param {(event: PointerEvent) => void} start @param {(event: PointerEvent) => void} move
 * @param {() => void} finish */
function draggable(handle, start, move, finish) {
  // A handle is drawn anew while it is dragged. Without this a finger that is on one which is gone moves the page.
  handle.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  handle.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    event.preventDefault();
    handle.focus();
    start(event);
    const onMove = (/** @type {PointerEvent} */ e) => move(e);
    const onUp = () => {
      window.removeEventListener("pointermove", onMove);
      for (const end of ENDS) window.removeEventListener(end, onUp);
      finish();
    };
    window.addEventListener("pointermove", onMove);
    for (const end of ENDS) window.addEventListener(end, onUp);
  });
}

/** What a finger may touch of a handle, unseen around it. @param {number} x @param {number} y */
function reach(x, y) {
  return svg("rect", { x: x - FINGER / 2, y: y - FINGER / 2, width: FINGER, height: FINGER, class: "sw-reach" });
}

/** Where a pointer is, in the drawing's own units.
 * @param {SVGSVGElement} picture @param {PointerEvent} event */
function inDrawing(picture, event) {
  const box = picture.getBoundingClientRect();
  const view = picture.viewBox.baseVal;
  return [((event.clientX - box.left) / box.width) * view.width, ((event.clientY - box.top) / box.height) * view.height];
}

/** @param {View} view @param {number} from @param {string} key @param {boolean} fine */
function wishedOil(view, from, key, fine) {
  const step = fine ? view.step / 10 : view.step;
  /** @type {Record<string, number>} */
  const wishes = {
    ArrowRight: from + step, ArrowUp: from + step, ArrowLeft: from - step, ArrowDown: from - step,
    PageUp: from + 10 * view.step, PageDown: from - 10 * view.step,
    Home: view.is_open ? view.low.at : 0, End: view.is_open ? view.high.at : view.most,
  };
  const wish = wishes[key];
  return wish === undefined ? undefined : Math.min(Math.max(Math.round(wish * 1e6) / 1e6, 0), view.most);
}

let instances = 0;

/** @param {{model: Model, el: HTMLElement}} widget */
function render({ model, el }) {
  const id = `sw-hatch-${(instances += 1)}`;
  const root = document.createElement("div");
  root.className = "shakewell sw-ratio";
  root.setAttribute("data-lm-suppress-shortcuts", "true");
  el.append(root);
  el.classList.add("shakewell-host");
  const line = asker(model);
  let dragging = false;
  /** @type {number | null} */
  let wish = null;

  const draw = () => {
    /** @type {View} */
    const view = model.get("view");
    line.heard(view.serial ?? 0);
    if (!dragging) wish = null;
    const active = /** @type {HTMLElement | null} */ (document.activeElement);
    const focused = active?.dataset?.grip && root.contains(active) ? active.dataset.grip : null;
    if (view.bands === undefined) {
      const words = document.createElement("p");
      words.textContent = view.message ?? "";
      root.replaceChildren(words);
      return;
    }
    const { zoom, width, frame } = layout(root);
    const bottle = drawBottle(view, frame, zoom);
    const chart = drawChart(view, width, frame.height, zoom, id);
    addBottleGrip(bottle, view);
    addChartGrip(chart, view);
    root.replaceChildren(column("In the bottle", view.subtitle, bottle.picture, frame.width * zoom), column("What you may do with the ratio", view.axis, chart.picture, width * zoom));
    if (focused) /** @type {SVGElement | null} */ (root.querySelector(`[data-grip="${focused}"]`))?.focus({ preventScroll: true });
  };

  /** @type {(title: string, subtitle: string, picture: Element, width: number) => HTMLElement} */
  const column = (title, subtitle, picture, width) => {
    const box = document.createElement("div");
    box.className = "sw-column";
    box.style.width = `${width}px`;
    const head = document.createElement("div"), sub = document.createElement("div");
    Object.assign(head, { className: "sw-title", role: "heading", ariaLevel: "3" });
    head.textContent = title;
    sub.className = "sw-subtitle";
    sub.textContent = subtitle;
    box.append(head, sub, picture);
    return box;
  };

  /** @type {(drawn: {picture: SVGElement, scale: ChartScale}, view: View) => void} */
  const addChartGrip = ({ picture, scale }, view) => {
    const x = scale.x(wish ?? view.now);
    const y = scale.bottom + 16;
    const grip = svg("g", {
      class: "sw-grip", tabindex: 0, role: "slider", "data-grip": "oil", "aria-label": "Oil layer, % of the whole by mass",
      "aria-valuemin": 0, "aria-valuemax": view.most, "aria-valuenow": view.now, "aria-valuetext": view.now_label,
    },
      svg("line", { x1: x, x2: x, y1: scale.top - 4, y2: y - 8 }),
      svg("circle", { cx: x, cy: y, r: 9 }),
      reach(x, y),
    );
    const room = Math.max(x, scale.width - x) - 18, leftHalf = x < scale.width / 2;
    const words = view.now_label.length * LETTER > room ? view.now_label.split(" · ")[0] : view.now_label;
    picture.append(grip, text(leftHalf ? x + 16 : x - 16, y + 5, words, { class: "sw-strong", "text-anchor": leftHalf ? "start" : "end" }));
    grip.addEventListener("keydown", (event) => {
      const oil = wishedOil(view, line.pending("oil") ?? view.now, event.key, event.shiftKey);
      if (oil === undefined) return;
      event.preventDefault();
      event.stopPropagation();
      line.ask({ kind: "oil", oil });
    });
    let beside = 0; // how far from its middle the handle was taken
    const at = (/** @type {PointerEvent} */ event) => inDrawing(/** @type {SVGSVGElement} */ (root.querySelector(".sw-ratios")), event)[0];
    draggable(grip, (event) => { dragging = true; beside = at(event) - x; }, (event) => {
      wish = Math.min(Math.max(scale.oil(at(event) - beside), 0), view.most);
      line.ask({ kind: "oil", oil: Math.round(wish * 100) / 100 });
    }, () => { dragging = false; draw(); });
  };

  /** @type {(drawn: {picture: SVGElement, scale: BottleScale}, view: View) => void} */
  const addBottleGrip = ({ picture, scale }, view) => {
    const height = view.grip;
    if (height === null) return;
    const { centre, maxHalf } = scale.frame;
    const y = scale.y(height), x = centre + maxHalf + 8;
    const grip = svg("g", {
      class: "sw-grip", tabindex: 0, role: "slider", "data-grip": "height", "aria-label": "Line between the layers, mm above the floor",
      "aria-valuemin": 0, "aria-valuemax": Math.round(view.height), "aria-valuenow": height.toFixed(1), "aria-valuetext": `${height.toFixed(1)} mm`,
    },
      svg("line", { x1: centre - maxHalf - 4, x2: x - 8, y1: y, y2: y }),
      svg("circle", { cx: x, cy: y, r: 8 }),
      reach(x, y),
    );
    picture.append(grip);
    grip.addEventListener("keydown", (event) => {
      /** @type {Record<string, number>} */
    const ways = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 5, PageDown: -5 };
      const steps = ways[event.key];
      if (steps === undefined) return;
      event.preventDefault();
      event.stopPropagation();
      line.ask({ kind: "height", mm: (line.pending("height") ?? height) + steps * (event.shiftKey ? 0.1 : 1) });
    });
    let beside = 0; // how far from its line the handle was taken
    const at = (/** @type {PointerEvent} */ event) => inDrawing(/** @type {SVGSVGElement} */ (root.querySelector(".sw-bottle")), event)[1];
    draggable(grip, (event) => { dragging = true; beside = at(event) - y; }, (event) => {
      line.ask({ kind: "height", mm: Math.min(Math.max(scale.mm(at(event) - beside), 0), view.height) });
    }, () => { dragging = false; draw(); });
  };

  model.on("change:view", draw);
  const watcher = new ResizeObserver(() => { if (!dragging) draw(); });
  watcher.observe(el);
  draw();
  return () => { watcher.disconnect(); model.off("change:view", draw); };
}

export default { render };
