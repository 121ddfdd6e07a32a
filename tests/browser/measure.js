/* What the browser can measure of one panel: functions by name, each from the panel to what it found. */
({
  /* For one panel: what leaves it, what is wider than its own box, and whose words are cut. */
  stickingOut: (panel) => {
    const found = [];
    const edge = panel.getBoundingClientRect();
    const say = (what, e, more = "") => found.push(`${what}: <${e.tagName.toLowerCase()} ${e.getAttribute("class") ?? ""}> ${(e.ariaLabel || e.textContent || e.name || "").trim().slice(0, 60)} ${more}`);
    const scrolls = (e) => { const s = getComputedStyle(e); return /auto|scroll/.test(s.overflowX) && e.scrollWidth > e.clientWidth + 1; };
    const inside = (e) => { for (let at = e.parentElement; at && at !== panel; at = at.parentElement) if (scrolls(at)) return at; return null; };
    if (panel.scrollWidth > panel.clientWidth + 1) found.push(`the panel is ${panel.scrollWidth - panel.clientWidth} px wider than its box`);
    const cell = panel.closest(".jp-OutputArea-output");
    if (cell && cell.scrollWidth > cell.clientWidth + 1) found.push(`the cell is ${cell.scrollWidth - cell.clientWidth} px too narrow`);
    for (const e of panel.querySelectorAll("*")) {
      if (!e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || e.closest(".sw-live, option, datalist, .sw-names, .modebar, defs")) continue;
      if (e.ownerSVGElement && e.tagName !== "text") continue; // a shape may be clipped; words may not
      const box = e.getBoundingClientRect();
      if (box.width && !inside(e) && (box.right > edge.right + 1 || box.left < edge.left - 1)) say(`${Math.round(Math.max(box.right - edge.right, edge.left - box.left))} px outside`, e);
      if (scrolls(e) && !e.matches("[data-wide], input, textarea, select")) say("scrolls without a sign", e, `${e.scrollWidth - e.clientWidth}`);
      if (e.matches("button, label, summary, .sw-form-words, .widget-label, th, td, legend")) {
        if (e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline") say("cut", e, `${e.scrollWidth} in ${e.clientWidth}`);
      }
    }
    return found;
  },

  /* The size on the screen of every text of a panel that is smaller than it should be. [px] */
  smallTexts: (panel) => {
    const found = [];
    const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const e = node.parentElement;
      if (!node.data.trim() || e.closest("option, style, .sw-voice, .sw-live, title, .modebar, datalist") || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true })) continue;
      const zoom = e.ownerSVGElement ? Math.abs(e.getScreenCTM()?.d ?? 1) || Math.abs(e.getScreenCTM().b) : 1;
      const size = parseFloat(getComputedStyle(e).fontSize) * zoom;
      if (size < 17.95) found.push(`${size.toFixed(1)} px: <${e.tagName} ${e.getAttribute("class") ?? ""}> ${node.data.trim().slice(0, 50)}`);
    }
    for (const e of panel.querySelectorAll("input, select, textarea, button")) {
      const size = parseFloat(getComputedStyle(e).fontSize);
      if (e.checkVisibility() && !e.closest('.modebar') && !/range|checkbox|radio|color|file/.test(e.type) && size < 17.95) found.push(`${size} px: <${e.tagName} ${e.name}>`);
    }
    return found;
  },

  /* Every example in an empty box that is longer than the box. */
  cutExamples: (panel) => [...panel.querySelectorAll("input[placeholder]:not([placeholder=''])")].flatMap((box) => {
    if (!box.checkVisibility() || box.value) return [];
    const style = getComputedStyle(box, "::placeholder");
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `${style.fontStyle} ${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    const needs = pen.measureText(box.placeholder).width, own = getComputedStyle(box);
    const room = box.clientWidth - parseFloat(own.paddingLeft) - parseFloat(own.paddingRight);
    return needs > room + 0.5 ? [`“${box.placeholder}” needs ${Math.ceil(needs)} of ${Math.floor(room)} px`] : [];
  }),

  /* Every kind of control whose focus cannot be seen, focused as by the Tab key: one of those that are alike in what
     style sheets go by, in all panels of the page, for each look has the whole page laid out. */
  unseenFocus: (panel) => {
    const found = [], looked = (window.lookedAt ??= new Set());
    const look = (e) => {
      const part = e.matches(".sw-grip") ? e.querySelector("circle") : e, s = getComputedStyle(part);
      return [s.outlineStyle, s.outlineWidth, s.outlineColor, s.fill].join();
    };
    for (const e of panel.querySelectorAll("a[href], button, input, select, textarea, summary, [tabindex]")) {
      if (!e.checkVisibility({ visibilityProperty: true }) || e.disabled || e.tabIndex < 0 || e.type === "hidden" || e.closest(".modebar, iframe")) continue;
      const kind = [e.tagName, e.type, e.className, e.parentElement.className, e.parentElement.parentElement.className].join();
      if (looked.has(kind)) continue;
      looked.add(kind);
      document.activeElement?.blur();
      const before = look(e);
      e.focus({ focusVisible: true, preventScroll: true });
      if (document.activeElement !== e) continue;
      const s = getComputedStyle(e);
      const isOutlined = s.outlineStyle !== "none" && parseFloat(s.outlineWidth) >= 2 && s.outlineColor !== s.backgroundColor;
      if (look(e) === before || !(isOutlined || e.matches(".sw-grip"))) found.push(e.outerHTML.slice(0, 120));
    }
    document.activeElement?.blur();
    return found;
  },

  /* Every word that begins on one line and ends on the next; a hyphen or a slash may end a line. */
  brokenWords: (panel) => {
    const found = [], range = document.createRange();
    const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const e = node.parentElement;
      if (e.closest("option, style, textarea, .sw-voice, .sw-live, svg, title") || !e.checkVisibility()) continue;
      for (const { 0: word, index } of node.data.matchAll(/[^\s\-\u2013\/,;·_.]{3,}/g)) {
        range.setStart(node, index);
        range.setEnd(node, index + word.length);
        const tops = [...range.getClientRects()].map(({ top }) => top);
        if (Math.max(...tops) - Math.min(...tops) > 4) found.push(word);
      }
    }
    return found;
  },

  /* Every kind of word whose contrast to what is painted under it is below 4.5, or below 3 where it is large (WCAG 2.2,
     1.4.3): text of the page, of drawings, in boxes and of examples in them. What is disabled is exempt. */
  faintWords: (panel) => {
    const found = [], looked = new Set();
    const pen = Object.assign(document.createElement("canvas"), { width: 1, height: 1 }).getContext("2d", { willReadFrequently: true });
    const known = {};
    const rgba = (colour) => (known[colour] ??= (() => {
      pen.clearRect(0, 0, 1, 1);
      pen.fillStyle = colour;
      pen.fillRect(0, 0, 1, 1);
      const [r, g, b, a] = pen.getImageData(0, 0, 1, 1).data;
      return [r, g, b, a / 255];
    })());
    const over = ([r, g, b, a], ground) => [r, g, b].map((v, n) => v * a + ground[n] * (1 - a));
    const light = (colour) => colour.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)).reduce((sum, v, n) => sum + v * [0.2126, 0.7152, 0.0722][n], 0);
    const contrast = (one, other) => { const [low, high] = [light(one), light(other)].sort((a, b) => a - b); return (high + 0.05) / (low + 0.05); };
    const paintOf = (e) => {
      const style = getComputedStyle(e);
      if (!e.ownerSVGElement) return rgba(style.backgroundColor);
      if (/^(text|tspan|g|title)$/.test(e.tagName) || !/^(rgb|color|#)/.test(style.fill)) return [0, 0, 0, 0];
      const [r, g, b, a] = rgba(style.fill);
      return [r, g, b, a * parseFloat(style.fillOpacity) * parseFloat(style.opacity)];
    };
    const groundUnder = (e, x, y) => {
      const under = document.elementsFromPoint(x, y).filter((one) => one.contains(e) || one.compareDocumentPosition(e) & Node.DOCUMENT_POSITION_FOLLOWING);
      return under.reverse().reduce((ground, one) => over(paintOf(one), ground), [255, 255, 255]);
    };
    const opacityOf = (e) => { let all = 1; for (let at = e; at && at !== panel; at = at.parentElement) all *= parseFloat(getComputedStyle(at).opacity); return all; };
    const judge = (e, colour, words, rectOf) => {
      const style = getComputedStyle(e);
      const kind = [e.tagName, e.className.baseVal ?? e.className, e.parentElement.className.baseVal ?? e.parentElement.className, colour, e.closest("[data-severity]")?.dataset.severity, e.closest("[data-kind]")?.dataset.kind, words ? "" : e.type].join("|");
      if (looked.has(kind) || !e.checkVisibility({ visibilityProperty: true, opacityProperty: true }) || e.closest(":disabled, [aria-disabled=true]")) return;
      let box = rectOf();
      if (!box.width) return;
      if (box.top < 60 || box.bottom > innerHeight - 40) { e.scrollIntoView({ block: "center", behavior: "instant" }); box = rectOf(); }
      if (box.left < 0 || box.right > innerWidth || box.top < 0 || box.bottom > innerHeight) return; // scrolled away within its own box
      looked.add(kind);
      const halo = e.ownerSVGElement && /^stroke/.test(style.paintOrder) && style.stroke !== "none" ? rgba(style.stroke).slice(0, 3) : null;
      const ground = halo ?? groundUnder(e, box.left + Math.min(box.width / 2, 6), box.top + box.height / 2);
      const [r, g, b, a] = rgba(colour);
      const ratio = contrast(over([r, g, b, a * opacityOf(e)], ground), ground);
      const size = parseFloat(style.fontSize), large = size >= 24 || (size >= 18.66 && Number(style.fontWeight) >= 700);
      if (ratio < (large ? 3 : 4.5)) found.push(`${ratio.toFixed(2)}: ${colour} on rgb(${ground.map(Math.round)}) <${kind.split("|").slice(0, 3).join(" ")}> ${words.slice(0, 40)}`);
    };
    const walker = document.createTreeWalker(panel, NodeFilter.SHOW_TEXT), range = document.createRange();
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const e = node.parentElement;
      if (!node.data.trim() || e.closest("option, style, title, datalist, textarea, .sw-voice, .sw-live, .modebar")) continue;
      range.selectNodeContents(node);
      judge(e, e.ownerSVGElement ? getComputedStyle(e).fill : getComputedStyle(e).color, node.data.trim(), () => range.getClientRects()[0] ?? { width: 0 });
    }
    for (const e of panel.querySelectorAll("input, select, textarea")) {
      if (/range|checkbox|radio|color|file/.test(e.type)) continue;
      const example = e.placeholder && !e.value;
      judge(e, getComputedStyle(e, example ? "::placeholder" : null).color, e.value || e.placeholder || "", () => e.getBoundingClientRect());
    }
    return found;
  },

  /* What a chart is painted with, as the browser computed it. */
  chartColours: (panel) => {
    const chart = panel.querySelector(".js-plotly-plot"), of = (e, name) => e && getComputedStyle(e)[name];
    const marks = [...chart.querySelectorAll(".scatterlayer .lines path, .scatterlayer .points path")]
      .flatMap((e) => [of(e, "stroke"), of(e, "fill")]).filter((colour) => /^rgb\(/.test(colour));
    return {
      paper: of(panel, "backgroundColor"),
      ground: of(chart.querySelector(".main-svg"), "backgroundColor"),
      inks: [...new Set([...chart.querySelectorAll(".main-svg text")].map((e) => of(e, "fill")))],
      grids: [...new Set([...chart.querySelectorAll(".gridlayer path, .grid path")].map((e) => of(e, "stroke")))],
      marks: [...new Set(marks)],
    };
  },
})
