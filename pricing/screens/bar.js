// The bar on top: the pages, what has changed, undo and save.

function open(file, event) {
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.button) return; // another tab is the browser's
  const inside = new CustomEvent("powder-page", { detail: { file }, cancelable: true });
  document.dispatchEvent(inside); // a notebook that knows pages opens it beside; elsewhere the link is followed
  if (inside.defaultPrevented) event.preventDefault();
}

function render({ model, el: root }) {
  root.classList.add("pp", "pp-bar");
  keepKeys(root);
  const nav = el("nav", { "aria-label": "Pages" });
  for (const { file, title, here } of model.get("pages")) {
    const link = el("a", { href: file }, title);
    if (here) link.setAttribute("aria-current", "page");
    link.addEventListener("click", (event) => open(file, event));
    nav.append(link);
  }
  const state = el("span", { class: "state", role: "status" });
  const press = (key) => { model.set("did", { key, n: (model.get("did")?.n ?? 0) + 1 }); model.save_changes(); };
  const buttons = {};
  const button = (key, label, act = () => press(key)) => {
    buttons[key] = el("button", { type: "button", "data-key": key }, label);
    buttons[key].addEventListener("click", act);
    return buttons[key];
  };
  root.append(nav, state, button("undo", "Undo"), button("redo", "Redo"), button("save", "Save"));

  const more = el("details", { class: "more" });
  const list = el("div", { class: "list" });
  const days = el("select", { "aria-label": "A day to bring back", "data-key": "day" });
  const back = el("div", { class: "row" });
  back.append(days, button("back", "Bring this day back", () => { more.open = false; press(`back:${days.value}`); }));
  const workshop = button("workshop", "Workshop view", () => { more.open = false; document.dispatchEvent(new CustomEvent("powder-workshop")); });
  list.append(
    button("discard", "Discard the draft", () => { more.open = false; press("discard"); }), back,
    button("print", "Print this page", () => { more.open = false; window.print(); }), workshop,
  );
  more.append(el("summary", {}, "More"), list);
  more.addEventListener("toggle", () => { workshop.hidden = !/lab|workshop/.test(document.body.dataset.powder ?? ""); });
  more.addEventListener("keydown", (event) => { if (event.key === "Escape") { more.open = false; more.firstChild.focus(); } });
  const outside = (event) => { if (more.open && !more.contains(event.target)) more.open = false; };
  document.addEventListener("pointerdown", outside, true);
  root.append(more);

  // Ctrl+S and its like, from wherever on the page they are pressed
  const keyed = (event) => {
    const { key, within } = event.detail;
    if (within && !within.contains(root)) return;
    setTimeout(() => { if (!buttons[key].hidden && (key === "save" || !buttons[key].disabled)) press(key); }, 60); // what was typed last travels first
  };
  document.addEventListener("powder-do", keyed);

  const show = () => {
    const told = model.get("told");
    state.textContent = told.state ?? "";
    state.title = told.state ?? "";
    buttons.undo.disabled = !told.undo;
    buttons.redo.disabled = !told.redo;
    buttons.save.disabled = buttons.discard.disabled = !told.save;
    buttons.save.hidden = buttons.discard.hidden = Boolean(told.shown_only);
    buttons.undo.hidden = buttons.redo.hidden = Boolean(told.shown_only) && !told.undo && !told.redo;
    back.hidden = !told.days?.length;
    const held = days.value;
    if (days.options.length !== (told.days ?? []).length) {
      days.replaceChildren(...(told.days ?? []).map(([day, words]) => el("option", { value: day }, words)));
      if (held) days.value = held;
    }
  };
  show();
  model.on("change:told", show);
  return () => {
    model.off("change:told", show);
    document.removeEventListener("powder-do", keyed);
    document.removeEventListener("pointerdown", outside, true);
  };
}

export default { render };
