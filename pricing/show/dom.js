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
