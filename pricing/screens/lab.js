// What the pages need of JupyterLab: a page runs by itself when it is opened, hides what is not for reading, and
// opens other pages beside it. One file, so that nothing has to be built.

const STYLE = `
.powder-page { --pp-chrome: 28px; }
.powder-page .jp-NotebookPanel-toolbar, .powder-page .jp-Toolbar.jp-NotebookPanel-toolbar { display: none; }
.powder-page .jp-Cell:has(.jp-InputPlaceholder) .jp-Cell-inputWrapper { display: none; }
.powder-page .jp-Notebook { padding: 0 !important; }
.powder-page .jp-NotebookPanel-notebook { top: 0 !important; height: 100% !important; }
.powder-page .jp-Cell { padding: 0; margin: 0; }
.powder-page .jp-OutputPrompt, .powder-page .jp-OutputArea-promptOverlay, .powder-page .jp-Cell-outputCollapser,
.powder-page .jp-Notebook-footer, .powder-page .jp-cell-toolbar, .powder-page .jp-CellHeader { display: none !important; }
.powder-page .jp-OutputArea-output { padding: 0 !important; overflow: hidden; }
.powder-page .jp-Cell .jp-Cell-outputWrapper { margin: 0; }
.powder-page .jp-WindowedPanel-outer { padding: 0; overflow-x: hidden; }
.powder-page .jp-WindowedPanel-viewport { padding: 0 !important; min-height: 0 !important; }
.powder-page .jp-WindowedPanel-inner { min-height: 0 !important; }
.powder-page .jp-Notebook-cell.jp-mod-active { background: none; box-shadow: none; }
.powder-page .jp-Cell.jp-mod-selected { background: none; }
`;

const seen = new WeakSet();
const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

async function ready(session) {
  await session.ready;
  for (let tries = 0; tries < 600; tries += 1) {
    const kernel = session.session?.kernel;
    if (kernel?.connectionStatus === "connected" && kernel.status === "idle") return;
    await wait(50);
  }
}

// room for the page; the View menu brings everything back
let quieted = false;
function quiet(app) {
  if (quieted) return;
  quieted = true;
  for (const side of ["left", "right"]) {
    const bar = document.querySelector(`.jp-SideBar.jp-mod-${side}`);
    if (bar && bar.offsetWidth > 0) app.commands.execute("application:toggle-side-tabbar", { side });
  }
  const title = document.getElementById("jp-title-panel-title");
  if (title && title.offsetHeight > 0) app.commands.execute("application:toggle-header");
}

async function begin(app, panel) {
  const context = panel?.context;
  if (!context?.sessionContext || seen.has(panel)) return;
  await context.ready;
  const page = context.model.getMetadata?.("powder_page");
  if (!page || seen.has(panel)) return;
  seen.add(panel);
  panel.addClass("powder-page");
  app.restored.then(() => requestAnimationFrame(() => quiet(app)));
  await ready(context.sessionContext);
  app.shell.activateById(panel.id);
  await app.commands.execute("notebook:run-all-cells");
}

const plugin = {
  id: "powder-shop-pricing:pages",
  autoStart: true,
  activate: (app) => {
    const style = document.createElement("style");
    style.textContent = STYLE;
    document.head.append(style);
    const current = () => { begin(app, app.shell.currentWidget); };
    app.restored.then(current);
    app.shell.currentChanged?.connect(current);
    document.addEventListener("powder-page", (event) => {
      const here = app.shell.currentWidget?.context?.path ?? "";
      const folder = here.includes("/") ? here.slice(0, here.lastIndexOf("/") + 1) : "";
      app.commands.execute("docmanager:open", { path: folder + event.detail.file });
      event.preventDefault();
    });
  },
};

window._JUPYTERLAB = window._JUPYTERLAB || {};
window._JUPYTERLAB["powder-shop-pricing"] = {
  init: () => {},
  get: async () => () => ({ __esModule: true, default: plugin }),
};
