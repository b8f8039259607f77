// Charts and figures of a page. Charts are embedded once and then fed new rows.
// `vegaEmbed` comes from the bundle that bundle.py makes of this file.

function keep(model, store) {
  Object.assign(store.rows, structuredClone(model.get("rows") ?? {}));
  Object.assign(store.words, model.get("words"));
  model.on("change:rows", () => {
    for (const [chart, data] of Object.entries(model.get("rows"))) {
      store.rows[chart] = { ...store.rows[chart], ...data };
    }
  });
  model.on("change:words", () => Object.assign(store.words, model.get("words")));
}

function namesIn(spec, found = new Set()) {
  if (spec.data?.name) found.add(spec.data.name);
  for (const layer of spec.layer ?? []) namesIn(layer, found);
  return found;
}

function tell(model, name, value) {
  model.set(name, { ...value, n: (model.get(name)?.n ?? 0) + 1 });
  model.save_changes();
}

const textScale = (node) => parseFloat(getComputedStyle(node).getPropertyValue("--pp-text")) || 1;

function growText(spec, scale) {
  for (const [key, value] of Object.entries(spec)) {
    if (/(fontsize|labellimit)$/i.test(key) && typeof value === "number") spec[key] = Math.round(value * scale * 2) / 2;
    else if (value && typeof value === "object" && key !== "datasets") growText(value, scale);
  }
}

async function draw(board, block) {
  const { store } = board;
  const spec = structuredClone(block.spec);
  block.scale = textScale(block.node);
  if (block.scale !== 1) growText(spec, block.scale);
  const names = namesIn(spec);
  spec.datasets = { ...spec.datasets };
  for (const name of names) spec.datasets[name] = store.rows[block.key]?.[name] ?? [];
  const box = block.node.getBoundingClientRect();
  spec.width = Math.max(80, Math.floor(box.width));
  spec.height = Math.max(60, Math.floor(box.height));
  spec.autosize = { type: "fit", contains: "padding", resize: true }; // labels change with the rows
  const [decimal, thousands] = board.model.get("signs");
  const { view } = await vegaEmbed(block.host, spec, {
    actions: false, renderer: "svg", ast: false, mode: "vega-lite", logLevel: 1,
    formatLocale: { decimal, thousands, grouping: [3], currency: ["", ""] },
    tooltip: { theme: "custom", id: "vg-tooltip-element", disableDefaultStyle: true, formatTooltip: tip },
  });
  const tipNode = document.getElementById("vg-tooltip-element");
  if (tipNode) tipNode.classList.add("pp-tip");
  block.view = view;
  block.names = names;
  block.host.querySelector("svg")?.setAttribute("aria-label", block.about);
  hushEmpty(block);
  waiting(board, block);
  block.reach();
  block.size = [box.width, box.height];
  block.watch = new ResizeObserver(() => {
    const { width, height } = block.node.getBoundingClientRect();
    if (width < 40 || height < 40) return;
    if (textScale(block.node) !== block.scale) { again(board, block); return; }
    if (Math.abs(width - block.size[0]) < 2 && Math.abs(height - block.size[1]) < 2) return;
    block.size = [width, height];
    view.width(Math.floor(width)).height(Math.floor(height)).runAsync();
  });
  block.watch.observe(block.node);
  view.addEventListener("click", (event, item) => {
    const key = whyOf(item);
    if (key && !block.moved) ask(board, key, event.clientX, event.clientY, block.node);
  });
  if (block.drag.length && !block.drags) makeDraggable(board, block);
}

async function again(board, block) {
  block.watch?.disconnect();
  block.view?.finalize();
  await draw(board, block);
}

// a group of marks that has none yet is announced as a mark without a name
function hushEmpty(block) {
  for (const group of block.host.querySelectorAll('g.role-mark[role^="graphics"]')) {
    if (group.childElementCount === 0) group.setAttribute("aria-hidden", group.dataset.hushed = "true");
    else if (group.dataset.hushed) { group.removeAttribute("aria-hidden"); delete group.dataset.hushed; }
  }
}

// keys go from mark to mark, as a pointer does, and Enter asks why
function walkable(board, block) {
  const { node } = block;
  const marks = () => {
    const found = new Map();
    for (const one of block.host.querySelectorAll("svg [role='graphics-symbol']")) {
      const key = whyOf(one.__data__);
      if (key) found.set(key, [...(found.get(key) ?? []), one]);
    }
    return [...found];
  };
  let at = -1;
  const point = (on) => {
    const [, parts] = marks()[at] ?? [];
    if (!parts) return null;
    const box = parts.at(-1).getBoundingClientRect();
    for (const one of parts) one.classList.toggle("pp-at", on);
    block.heard.textContent = on ? tipOf(parts[0].__data__) : "";
    return [box.right, box.bottom];
  };
  node.addEventListener("keydown", (event) => {
    const all = marks();
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (event.target !== node || !all.length || !(step || event.key === "Enter")) return;
    event.preventDefault();
    if (step) {
      point(false);
      at = at < 0 ? (step > 0 ? 0 : all.length - 1) : (at + step + all.length) % all.length;
      point(true);
    } else if (all[at]) {
      ask(board, all[at][0], ...point(false), node);
    }
  });
  node.addEventListener("blur", () => point(false));
  block.reach = () => {
    const any = marks().length > 0;
    const told = { tabindex: "0", role: "group", "aria-label": `${block.about}: arrow keys go from mark to mark, Enter asks why` };
    for (const [name, value] of Object.entries(told)) if (any) node.setAttribute(name, value); else node.removeAttribute(name);
  };
}

const tipOf = (item) => `${item?.datum?.why ?? item?.datum?.datum?.why ?? item?.description ?? ""}`;

// a chart that has been sent no rows yet says so
function waiting(board, block) {
  block.node.classList.toggle("waits", !board.store.rows[block.key]);
}

function tip(value) {
  const text = typeof value === "object" ? Object.entries(value).map(([k, v]) => `${k}: ${v}`).join("\n") : `${value}`;
  const node = document.createElement("span");
  node.textContent = text;
  return node.innerHTML;
}

function makeDraggable(board, block) {
  const node = block.node;
  node.classList.add("drags");
  block.drags = true;
  const place = (event) => {
    const box = block.host.querySelector("svg, canvas").getBoundingClientRect();
    const [left, top] = block.view.origin();
    const padding = block.view.padding();
    const at = { x: event.clientX - box.left - left - padding.left, y: event.clientY - box.top - top - padding.top };
    const found = { chart: block.key };
    for (const axis of block.drag) {
      const scale = block.view.scale(axis);
      const [low, high] = [Math.min(...scale.range()), Math.max(...scale.range())];
      found[axis] = scale.invert(Math.min(high, Math.max(low, at[axis])));
    }
    return found;
  };
  let from = null;
  node.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    from = event;
    block.moved = false;
  });
  node.addEventListener("pointermove", (event) => {
    if (!from) return;
    if (!block.moved && Math.hypot(event.clientX - from.clientX, event.clientY - from.clientY) < 4) return;
    if (!block.moved) {
      block.moved = true;
      node.setPointerCapture(event.pointerId); // only now: a click on a mark asks why
      node.classList.add("dragging");
    }
    tell(board.model, "picked", place(event));
  });
  node.addEventListener("pointerup", (event) => {
    if (from && !block.moved && !whyOf(event.target.__data__)) tell(board.model, "picked", place(event));
    from = null;
    node.classList.remove("dragging");
  });
  node.addEventListener("pointercancel", () => { from = null; });
}

function whyOf(item) {
  return item?.datum?.why_key ?? item?.datum?.datum?.why_key;
}

function ask(board, key, x, y, from) {
  board.asking = { x, y, from };
  tell(board.model, "asked", { key });
}

function answer(board) {
  const told = board.model.get("answer");
  if (!told?.title || !(board.asking || told.n < 0)) return;
  if (told.n < 0) { // shown from beside the board: nobody pointed at a place on it
    const frame = board.root.getBoundingClientRect();
    board.asking = { x: frame.left + frame.width / 2, y: frame.top, from: null };
  }
  closeWhy(board, false);
  const box = el("div", { class: "pp-why", role: "dialog", "aria-label": `Why: ${told.title}`, tabindex: "-1" });
  box.append(el("h3", {}, told.title));
  const list = el("ul");
  for (const line of told.lines ?? []) list.append(el("li", {}, line));
  box.append(list);
  for (const line of told.cautions ?? []) box.append(el("p", { class: "caution" }, line));
  const close = el("button", { class: "close", "aria-label": "Close", type: "button" }, "×");
  close.addEventListener("click", () => closeWhy(board, true));
  box.append(close);
  board.root.append(box);
  const frame = board.root.getBoundingClientRect();
  const { width, height } = box.getBoundingClientRect();
  const left = Math.min(Math.max(6, board.asking.x - frame.left - width / 2), Math.max(6, frame.width - width - 6));
  const below = board.asking.y - frame.top + 12;
  const top = below + height > frame.height - 4 ? Math.max(4, board.asking.y - frame.top - height - 12) : below;
  box.style.left = `${left}px`;
  box.style.top = `${top}px`;
  board.why = box;
  box.focus();
}

function closeWhy(board, back) {
  if (!board.why) return;
  board.why.remove();
  board.why = null;
  if (back) board.asking?.from?.focus?.();
}

function place(board, block) {
  const node = el("section", { class: "pp-block", "data-key": block.key });
  node.style.gridArea = block.key;
  if (block.kind === "chart") {
    if (block.tall) node.classList.add("tall");
    node.append(el("h3", {}, block.title));
    block.head = el("div", { class: "head" });
    block.node = el("div", { class: "pp-chart" });
    block.host = el("div");
    block.node.append(block.host);
    block.heard = el("span", { class: "heard", role: "status" });
    node.append(block.head, block.node, block.heard);
    walkable(board, block);
  } else {
    node.classList.add(...(block.style ?? "bare").split(" "));
    if (node.classList.contains("rolls")) { node.tabIndex = 0; node.setAttribute("role", "region"); node.setAttribute("aria-label", block.about); }
    block.html = node;
    if (block.live) node.setAttribute("aria-live", "polite");
  }
  board.root.append(node);
}

function write(board, words) {
  for (const block of board.blocks) {
    const text = words[block.key];
    if (text === undefined) continue;
    const target = block.html ?? block.head;
    if (block.said === text) continue;
    block.said = text;
    target.innerHTML = text; // made by our own Python, which escapes every name
  }
}

async function feed(board, rows) {
  const runs = [];
  for (const block of board.blocks) {
    const data = rows[block.key];
    if (!data || !block.view) continue;
    waiting(board, block);
    for (const [name, values] of Object.entries(data)) if (block.names.has(name)) block.view.data(name, values);
    runs.push(block.view.runAsync().then(() => { hushEmpty(block); block.reach(); }));
  }
  await Promise.all(runs);
}

function render({ model, el: outer, store }) {
  outer.classList.add("pp", "pp-fill");
  keepKeys(outer);
  const root = outer.appendChild(el("div", { class: "pp-board" })); // of its own: the notebook sets styles on the outer one
  const board = { model, store, root, blocks: model.get("blocks").map((block) => ({ ...block })), why: null };
  root.style.gridTemplateAreas = model.get("areas");
  root.style.gridTemplateColumns = model.get("columns");
  root.style.gridTemplateRows = model.get("lines").replace(/(\d+px)/g, "calc($1 * var(--pp-text, 1))");
  for (const block of board.blocks) place(board, block);
  write(board, store.words);

  let first = true;
  const ready = new Promise((resolve) => {
    const look = new ResizeObserver(() => {
      if (root.clientWidth < 50 || !first) return;
      first = false;
      look.disconnect();
      resolve();
    });
    look.observe(root);
  });
  let painted = 0;
  const paint = () => requestAnimationFrame(() => { outer.dataset.painted = ++painted; });
  const drawn = ready
    .then(() => Promise.all(board.blocks.filter((b) => b.kind === "chart").map((block) => draw(board, block))))
    .then(() => { outer.dataset.ready = "yes"; paint(); if (!model.get("seen")) { model.set("seen", true); model.save_changes(); } });

  const onRows = async () => {
    await drawn;
    await feed(board, model.get("rows"));
    paint();
  };
  const onBlocks = async () => {
    await drawn;
    for (const told of model.get("blocks")) {
      const block = board.blocks.find((one) => one.key === told.key);
      if (!told.spec || JSON.stringify(told.spec) === JSON.stringify(block.spec)) continue;
      block.spec = told.spec;
      await again(board, block);
    }
    paint();
  };
  const onWords = () => { write(board, model.get("words")); };
  const onAnswer = () => answer(board);
  model.on("change:rows", onRows);
  model.on("change:words", onWords);
  model.on("change:blocks", onBlocks);
  model.on("change:answer", onAnswer);

  root.addEventListener("click", (event) => {
    const button = event.target.closest("[data-why], [data-do]");
    if (!button) return;
    if (button.dataset.do) tell(model, "did", { key: button.dataset.do });
    else {
      const box = button.getBoundingClientRect();
      ask(board, button.dataset.why, box.left + box.width / 2, box.bottom, button);
    }
  });
  root.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && board.why) { closeWhy(board, true); event.stopPropagation(); }
  });
  const outside = (event) => { if (board.why && !board.why.contains(event.target)) closeWhy(board, false); };
  document.addEventListener("pointerdown", outside, true);

  return () => {
    model.off("change:rows", onRows);
    model.off("change:words", onWords);
    model.off("change:blocks", onBlocks);
    model.off("change:answer", onAnswer);
    document.removeEventListener("pointerdown", outside, true);
    for (const block of board.blocks) { block.watch?.disconnect(); block.view?.finalize(); }
  };
}

// one store a board: messages carry only what changed, and a view may come late
export default () => {
  const store = { rows: {}, words: {} };
  return {
    initialize: ({ model }) => keep(model, store),
    render: ({ model, el: outer }) => render({ model, el: outer, store }),
  };
};
