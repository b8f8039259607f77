// What every widget of the pages builds on; look.py puts it before their scripts.

// the notebook has commands on bare keys, arrows among them: in our inputs a key is ours
function keepKeys(node) {
  node.addEventListener("keydown", (event) => {
    if (!event.ctrlKey && !event.metaKey && !event.altKey) event.stopPropagation();
  });
}

// what is wrong with an input, or what is asked of it: each answer is a button that is taken as if it had been typed
function say(node, at, choose) {
  const said = JSON.stringify([at.message ?? "", at.choices ?? []]);
  if (node.dataset.said === said) return;
  node.dataset.said = said;
  node.textContent = at.message ?? "";
  node.classList.toggle("asks", Boolean(at.choices?.length));
  let group = node.nextElementSibling?.classList.contains("pp-ask") ? node.nextElementSibling : null;
  if (!at.choices?.length) { group?.remove(); return; }
  if (!group) { group = el("div", { class: "pp-ask", role: "group", "aria-label": "Which is meant?" }); node.after(group); }
  group.replaceChildren(...at.choices.map(([given, words]) => {
    const button = el("button", { type: "button", "data-answer": given }, words);
    button.addEventListener("click", () => choose(given));
    return button;
  }));
}

function el(name, attributes = {}, text = "") {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text) node.textContent = text;
  return node;
}

// edits wait in a queue until they are heard: while the kernel is busy only the newest state of a model travels, and a step
// that was chosen before Start was pressed must not be lost; of one slider's moves the newest is enough
function editQueue(model, node) {
  let queue = [];
  let newest = model.get("heard");
  const mark = () => { node.toggleAttribute("data-waits", model.get("heard") < newest); }; // for whoever looks from outside
  model.on("change:heard", mark);
  const waiting = () => { queue = queue.filter((one) => one.n > model.get("heard")); return queue; };
  return {
    // an edit is of one field (its key), or of a cell
    tell(edit) {
      newest = Math.max(newest, model.get("heard")) + 1;
      if (typeof edit.value === "number" && waiting().at(-1)?.key === edit.key) queue.pop();
      queue = [...waiting(), { ...edit, n: newest }];
      model.set("edit", { queue });
      model.save_changes();
      mark();
    },
    // whether what was written in a field is not answered yet: what the kernel sends of it meanwhile is older
    waits: (key) => waiting().some((one) => one.key === key && typeof one.value !== "number"),
    // whoever leaves waits until all of it is heard
    allHeard: () => (newest <= model.get("heard") ? null : new Promise((done) => {
      const heard = () => { if (model.get("heard") >= newest) { model.off("change:heard", heard); done(); } };
      model.on("change:heard", heard);
    })),
    end: () => model.off("change:heard", mark),
  };
}
