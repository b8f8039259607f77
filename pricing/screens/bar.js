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
  const buttons = {};
  root.append(nav, state);
  for (const [key, label] of [["again", "Read again"], ["undo", "Undo"], ["save", "Save"]]) {
    const button = el("button", { type: "button", "data-key": key }, label);
    button.addEventListener("click", () => { model.set("did", { key, n: (model.get("did")?.n ?? 0) + 1 }); model.save_changes(); });
    buttons[key] = button;
    root.append(button);
  }
  const show = () => {
    const told = model.get("told");
    state.textContent = told.state ?? "";
    state.title = told.state ?? "";
    buttons.undo.disabled = !told.undo;
    buttons.save.disabled = !told.save;
    buttons.undo.hidden = buttons.save.hidden = Boolean(told.shown_only);
    buttons.again.hidden = !told.again;
  };
  show();
  model.on("change:told", show);
  return () => model.off("change:told", show);
}

export default { render };
