// Says in front of a page what keeps it from answering, and offers the way out. Comes before lab.js and app.js.

const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

const NOTICE = `
.powder-notice { position: fixed; inset: auto 0 24px; margin: auto; z-index: 20000; width: min(34em, calc(100% - 32px));
  padding: 14px 18px; border-radius: 8px; border: 2px solid #a3312a; background: #fffdf8; color: #22303c;
  font: 16px/1.45 system-ui, sans-serif; box-shadow: 0 6px 30px rgb(0 0 0 / 30%); }
.powder-notice button { display: block; margin-top: 10px; min-height: 44px; padding: 6px 16px; font: inherit; font-weight: 600;
  border: 0; border-radius: 6px; background: #22303c; color: #fff; cursor: pointer; }
`;

function styled(text) {
  const style = document.createElement("style");
  style.textContent = text;
  document.head.append(style);
}

let notice = null;

function say(text, label = "", act = null) {
  if (notice?.dataset.said === text) return;
  hush();
  notice = document.createElement("div");
  notice.className = "powder-notice";
  notice.setAttribute("role", "alert");
  notice.dataset.said = text;
  notice.append(text);
  if (act) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.addEventListener("click", () => { hush(); act(); });
    notice.append(button);
  }
  document.body.append(notice);
}

function hush() {
  notice?.remove();
  notice = null;
}

// a page has started when its bar stands there; what the notebook shows instead of it is an error
async function started(root, patience = 60_000) {
  const until = performance.now() + patience;
  while (performance.now() < until) {
    if (root().querySelector(".pp-page .pp-bar nav")) return true;
    if (root().querySelector('[data-mime-type="application/vnd.jupyter.error"], .jp-RenderedText[data-mime-type*="stderr"], .jupyter-widgets-error-widget')) return false;
    await wait(200);
  }
  return false;
}

function plugged(plugin) {
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB["powder-shop-pricing"] = { init: () => {}, get: async () => () => ({ __esModule: true, default: plugin }) };
}
