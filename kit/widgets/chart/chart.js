// @ts-check
/* The browser side of a live chart. Plotly's own widget script draws it; this one fetches that script from the kernel
   once for all charts of a page, and keeps what the kernel says meanwhile. */

const PATIENCE = 10_000; // after which the script is asked for again, for whoever asked may be gone [ms]

/** What the charts of a page share.
 * @typedef {{arrive: (factory: () => Widget) => void, arrived: Promise<() => Widget>, asked: number}} Shared
 * @typedef {{initialize(props: {model: Model}): void, render(props: {model: Model, el: HTMLElement}): () => void}} Widget */

/** @returns {Shared} */
function shared() {
  const page = /** @type {Record<symbol, Shared>} */ (/** @type {unknown} */ (globalThis));
  const name = Symbol.for("shakewell.chart");
  if (!page[name]) {
    /** @type {Shared["arrive"]} */
    let arrive = () => {};
    const arrived = new Promise((/** @type {Shared["arrive"]} */ resolve) => (arrive = resolve));
    page[name] = { arrive, arrived, asked: -Infinity };
  }
  return page[name];
}

/** Plotly's script, as soon as it is there. @param {Model} model @param {AbortSignal | undefined} signal */
async function script(model, signal) {
  const page = shared();
  const ask = () => {
    if (Date.now() - page.asked < PATIENCE) return;
    page.asked = Date.now();
    model.send({ want: "script" });
  };
  if (model.get("script_follows")) page.asked = Date.now();
  ask();
  const again = setInterval(ask, PATIENCE);
  signal?.addEventListener("abort", () => clearInterval(again));
  const factory = await page.arrived;
  clearInterval(again);
  return factory;
}

/** Keep what is said to a model, until it is wanted. @param {Model} model @returns {() => void} says it again */
function keep(model) {
  /** @type {[string, unknown][]} */
  const kept = [];
  const names = ["addTraces", "deleteTraces", "moveTraces", "restyle", "relayout", "update", "removeLayoutProps", "removeTraceProps"];
  const hearings = names.map((one) => {
    const name = `_py2js_${one}`;
    const hear = () => model.get(name) && kept.push([name, model.get(name)]);
    model.on(`change:${name}`, hear);
    return { name, hear };
  });
  return () => {
    for (const { name, hear } of hearings) model.off(`change:${name}`, hear);
    for (const [name, value] of kept) {
      model.set(name, value);
      model.set(name, null);
    }
  };
}

export default () => {
  /** @type {Promise<Widget>} */
  let drawn;
  return {
    /** It does not wait for the script, since nothing reaches a model before this has ended.
     * @param {{model: Model, signal?: AbortSignal}} props */
    initialize({ model, signal }) {
      model.on("msg:custom", async (/** @type {{is: string}} */ content, /** @type {DataView[]} */ [source]) => {
        if (content.is !== "script") return;
        const address = URL.createObjectURL(new Blob([/** @type {BlobPart} */ (source)], { type: "text/javascript" }));
        shared().arrive((await import(address)).default);
        URL.revokeObjectURL(address);
      });
      const sayAgain = keep(model);
      drawn = script(model, signal).then((factory) => {
        const widget = factory();
        widget.initialize({ model });
        sayAgain();
        return widget;
      });
    },
    /** @param {{model: Model, el: HTMLElement, signal?: AbortSignal}} props */
    async render(props) {
      const widget = await drawn;
      return props.signal?.aborted ? undefined : widget.render(props);
    },
  };
};
