// Tables that are edited in place: tabs, one table a tab, inputs in the cells, what is wrong under each.

let count = 0;

function render({ model, el: root, store }) {
  const id = `pp-sheet-${++count}`;
  root.classList.add("pp", "pp-sheet");
  keepKeys(root);
  const tabs = el("div", { class: "pp-tabs" });
  const list = el("div", { role: "tablist", "aria-label": model.get("about"), style: "display:flex;gap:2px" });
  const said = el("span", { class: "said", role: "status" });
  const scroll = el("div", { class: "pp-scroll", role: "tabpanel", id: `${id}-panel`, tabindex: "0", "aria-label": model.get("about") });
  tabs.append(list, said);
  root.append(tabs, scroll);
  let cells = new Map();
  let built = "";

  const { tell, end } = editQueue(model, root);
  const sheet = () => model.get("sheets").find((one) => one.key === model.get("shown")) ?? model.get("sheets")[0];

  const drawTabs = () => {
    const sheets = model.get("sheets");
    list.replaceChildren(...sheets.map((one) => {
      const on = one.key === sheet().key;
      const tab = el("button", { role: "tab", type: "button", "aria-selected": on, "aria-controls": `${id}-panel`, tabindex: on ? "0" : "-1", "data-tab": one.key }, one.title);
      tab.addEventListener("click", () => { model.set("shown", one.key); model.save_changes(); });
      tab.addEventListener("keydown", (event) => {
        const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
        if (!step) return;
        const at = (sheets.findIndex((s) => s.key === one.key) + step + sheets.length) % sheets.length;
        model.set("shown", sheets[at].key);
        model.save_changes();
        requestAnimationFrame(() => list.children[at].focus());
      });
      return tab;
    }));
    list.style.display = sheets.length > 1 ? "flex" : "none";
  };

  const cell = (column, row) => {
    const node = el("td", { class: column.num ? "num" : "", "data-column": column.key });
    const name = `${column.label}, ${row.label}`;
    const part = { node };
    const note = () => { part.message ??= node.appendChild(el("div", { class: "pp-msg", role: "status" })); return part.message; };
    const kind = row.cells[column.key]?.plain ? "plain" : column.kind;
    if (kind === "text") {
      const input = el("input", { type: "text", "aria-label": name, autocomplete: "off", spellcheck: "false" });
      if (column.width) input.style.minWidth = column.width;
      const send = () => { if (input.value !== part.sent) { part.sent = input.value; tell({ sheet: sheet().key, row: row.key, column: column.key, given: input.value }); } };
      input.addEventListener("change", send);
      input.addEventListener("keydown", (event) => {
        if (event.key !== "Enter") return;
        send();
        const next = node.parentElement.nextElementSibling?.querySelector(`[data-column="${column.key}"] input`);
        (next ?? input).focus();
      });
      node.append(input);
      part.write = (at) => { if (document.activeElement !== input || !at.message) { input.value = at.text; part.sent = at.text; } input.setAttribute("aria-invalid", at.message ? "true" : "false"); };
    } else if (kind === "choice") {
      const input = el("select", { "aria-label": name });
      for (const [value, words] of column.options) input.append(el("option", { value }, words));
      input.addEventListener("change", () => tell({ sheet: sheet().key, row: row.key, column: column.key, given: input.value }));
      node.append(input);
      part.write = (at) => { input.value = at.text; };
    } else if (kind === "do") {
      const button = el("button", { type: "button", class: "why", "aria-label": `${column.words ?? column.label}, ${row.label}` }, column.words ?? column.label);
      button.addEventListener("click", () => tell({ sheet: sheet().key, row: row.key, column: column.key, given: "" }));
      node.append(button);
      part.write = (at) => { if (at.text) button.textContent = at.text; button.style.display = at.off ? "none" : ""; };
    } else {
      const span = el("span");
      node.append(span);
      part.write = (at) => { span.textContent = at.text; span.className = at.mark ?? ""; };
    }
    part.set = (at) => {
      const text = JSON.stringify(at);
      if (part.was === text) return;
      part.was = text;
      part.write(at);
      node.classList.toggle("changed", Boolean(at.changed));
      if (at.message || part.message) say(note(), at, (given) => { part.sent = given; tell({ sheet: sheet().key, row: row.key, column: column.key, given }); node.querySelector("input")?.focus(); });
    };
    return part;
  };

  const build = (rows) => {
    const columns = sheet().columns;
    cells = new Map();
    const table = el("table");
    const head = el("tr");
    for (const column of columns) head.append(el("th", { scope: "col", class: column.num ? "num" : "" }, column.label));
    const top = el("thead");
    top.append(head);
    const body = el("tbody");
    let group = null;
    for (const row of rows) {
      if (row.group && row.group !== group) {
        group = row.group;
        const line = el("tr", { class: "group" });
        line.append(el("th", { colspan: columns.length, scope: "colgroup" }, group));
        body.append(line);
      }
      const line = el("tr", { "data-row": row.key });
      cells.set(`${row.key}`, { node: line });
      columns.forEach((column, at) => {
        if (at === 0) {
          const name = el("th", { scope: "row" }, row.label);
          line.append(name);
          return;
        }
        const part = cell(column, row);
        cells.set(`${row.key}|${column.key}`, part);
        line.append(part.node);
      });
      body.append(line);
    }
    table.append(top, body);
    scroll.replaceChildren(table);
    for (const action of sheet().actions ?? []) {
      const button = el("button", { type: "button", class: "pp-do", "data-do": action.key, style: "margin:8px" }, action.label);
      button.addEventListener("click", () => tell({ sheet: sheet().key, row: "", column: action.key, given: "" }));
      scroll.append(button);
    }
    scroll.append(el("p", { class: "pp-note", style: "padding:4px 8px 8px" }, sheet().note ?? ""));
  };

  const show = () => {
    const rows = store[sheet().key] ?? [];
    const shape = `${sheet().key}|${rows.map((row) => `${row.key}:${row.label}`).join("|")}`;
    if (shape !== built) { built = shape; build(rows); }
    for (const row of rows) {
      const line = cells.get(row.key);
      line.node.className = row.mark ?? "";
      for (const [column, at] of Object.entries(row.cells)) cells.get(`${row.key}|${column}`)?.set(at);
    }
    said.textContent = model.get("said");
    requestAnimationFrame(() => { root.dataset.painted = Number(root.dataset.painted ?? 0) + 1; });
  };
  const turn = () => { drawTabs(); built = ""; show(); scroll.scrollTop = 0; };

  drawTabs();
  show();
  model.on("change:shown", turn);
  model.on("change:sheets", turn);
  model.on("change:cells", show);
  model.on("change:said", show);
  return () => {
    end();
    model.off("change:shown", turn);
    model.off("change:sheets", turn);
    model.off("change:cells", show);
    model.off("change:said", show);
  };
}

// one store a table: messages carry only what changed, and a view may come late
export default () => {
  const store = {};
  return {
    initialize({ model }) {
      Object.assign(store, model.get("cells"));
      model.on("change:cells", () => Object.assign(store, model.get("cells")));
    },
    render: ({ model, el: root }) => render({ model, el: root, store }),
  };
};
