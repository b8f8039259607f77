// The bar on top: the pages, what has changed, undo and save.

const PATIENCE_MS = 30000; // a kernel may be busy for seconds; one that is gone holds nobody for ever

async function open(link, event) {
  if (event.ctrlKey || event.metaKey || event.shiftKey || event.button) return; // another tab is the browser's
  const { file } = link.dataset;
  const inside = new CustomEvent("powder-page", { detail: { file }, cancelable: true });
  document.dispatchEvent(inside); // a notebook that knows pages opens it beside; elsewhere the link is followed
  if (inside.defaultPrevented) { event.preventDefault(); return; }
  const waits = []; // what was typed last is heard first: only then the link carries it
  document.dispatchEvent(new CustomEvent("powder-heard", { detail: { waits } }));
  if (!waits.length) return;
  event.preventDefault();
  link.classList.add("waits");
  await Promise.race([Promise.all(waits), new Promise((done) => { setTimeout(done, PATIENCE_MS); })]);
  location.assign(link.href);
}

// page 6 is shown to others: one question a screen, in this order
const QUESTIONS = {
  answers: "What do we charge, and what stays?", build: "What does a job cost us?", bands: "Do our prices cover what things may cost?",
  hours: "Where does a week's time go?", month: "What does a month of work bring?", unsure: "What are we least sure of?",
  money: "How much money is tied up?",
};

function presenter(root, add) {
  const frame = () => root.closest(".pp-page");
  const question = el("span", { class: "question", role: "status" });
  let at = 0;
  const blocks = () => Object.keys(QUESTIONS).map((key) => frame().querySelector(`.pp-block[data-key="${key}"]`)).filter(Boolean);
  const turn = (to) => {
    const all = blocks();
    at = Math.min(Math.max(to, 0), all.length - 1);
    all.forEach((block, n) => block.classList.toggle("pp-now", n === at));
    question.textContent = `${at + 1} of ${all.length}. ${QUESTIONS[all[at].dataset.key]}`;
  };
  const keyed = (event) => {
    const step = { ArrowRight: 1, ArrowDown: 1, PageDown: 1, " ": 1, ArrowLeft: -1, ArrowUp: -1, PageUp: -1 }[event.key];
    if (step) turn(at + step);
    else if (event.key === "Home") turn(0);
    else if (event.key === "End") turn(99);
    else if (event.key === "Escape") stop();
    else return;
    event.preventDefault();
    event.stopImmediatePropagation();
  };
  const stop = () => {
    frame()?.classList.remove("pp-presenting");
    window.removeEventListener("keydown", keyed, true);
    add.present.focus();
  };
  const start = () => {
    frame().classList.add("pp-presenting");
    turn(0);
    window.addEventListener("keydown", keyed, true);
    add.next.focus();
  };
  return { question, start, stop, turn: (step) => turn(at + step) };
}

function render({ model, el: root }) {
  root.classList.add("pp", "pp-bar");
  keepKeys(root);
  const nav = el("nav", { "aria-label": "Pages" });
  for (const { file, title, here } of model.get("pages")) {
    const link = el("a", { href: file, "data-file": file }, title);
    if (here) link.setAttribute("aria-current", "page");
    link.addEventListener("click", (event) => open(link, event));
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
  if (model.get("pages").some((one) => one.here && one.file.startsWith("6_"))) {
    const show = presenter(root, buttons);
    nav.after(show.question);
    state.after(
      button("present", "Present", show.start), button("previous", "Back", () => show.turn(-1)),
      button("next", "Next", () => show.turn(1)), button("leave", "Leave", show.stop),
    );
    for (const key of ["present", "previous", "next", "leave"]) buttons[key].classList.add("shows");
  }

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
    for (const link of nav.children) link.href = told.carried ? `${link.dataset.file}?${told.carried}` : link.dataset.file;
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
