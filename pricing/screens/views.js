// The views of a page: tabs, one of which is shown below.

function render({ model, el: root }) {
  root.classList.add("pp", "pp-views");
  root.setAttribute("role", "tablist");
  root.setAttribute("aria-label", model.get("about"));
  const draw = () => {
    const shown = model.get("shown");
    root.replaceChildren(...model.get("names").map(([key, words]) => {
      const tab = el("button", { type: "button", role: "tab", "aria-selected": String(key === shown), tabindex: key === shown ? 0 : -1, "data-view": key }, words);
      tab.addEventListener("click", () => pick(key));
      return tab;
    }));
  };
  const pick = (key) => { model.set("shown", key); model.save_changes(); };
  root.addEventListener("keydown", (event) => {
    const names = model.get("names").map(([key]) => key);
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!step) return;
    pick(names[(names.indexOf(model.get("shown")) + step + names.length) % names.length]);
    root.querySelector("[aria-selected=true]").focus();
  });
  draw();
  model.on("change:names", draw);
  model.on("change:shown", draw);
}

export default { render };
