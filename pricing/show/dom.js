// What every widget of the pages builds on; look.py puts it before their scripts.

// the notebook has commands on bare keys, arrows among them: in our inputs a key is ours
function keepKeys(node) {
  node.addEventListener("keydown", (event) => {
    if (!event.ctrlKey && !event.metaKey && !event.altKey) event.stopPropagation();
  });
}

function el(name, attributes = {}, text = "") {
  const node = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (text) node.textContent = text;
  return node;
}
