// What the pages need of JupyterLab: a page runs by itself when it is opened, hides what is not for reading, opens other
// pages beside it, and cannot be broken by a key. The workshop view brings the notebook's own menus and keys back.

const STYLE = `
.powder-page { --pp-chrome: 28px; }
body[data-powder="lab"] .powder-page { --pp-chrome: 0px; }
body[data-powder="lab"] .powder-page .jp-Notebook:focus { outline: none; }
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

async function ready(session) {
  await session.ready;
  for (let tries = 0; tries < 1200; tries += 1) {
    const kernel = session.session?.kernel;
    if (kernel?.connectionStatus === "connected" && kernel.status === "idle") return;
    await wait(50);
  }
}

const WORKSHOP = "powder-workshop";
const workshop = () => sessionStorage.getItem(WORKSHOP) === "yes";

// room for the page
let quieted = null;
function quiet(app) {
  const hide = !workshop();
  if (quieted === hide) return;
  quieted = hide;
  document.body.dataset.powder = hide ? "lab" : "workshop";
  for (const side of ["left", "right"]) {
    const bar = document.querySelector(`.jp-SideBar.jp-mod-${side}`);
    if (bar && bar.offsetWidth > 0 === hide) app.commands.execute("application:toggle-side-tabbar", { side });
  }
  const title = document.getElementById("jp-title-panel-title");
  if (title && title.offsetHeight > 0 === hide) app.commands.execute("application:toggle-header");
  for (const area of ["menu", "top"]) {
    for (const widget of app.shell.widgets(area)) widget.parent?.setHidden(hide);
  }
}

const page = (app) => {
  const panel = app.shell.currentWidget;
  return panel?.node?.classList.contains("powder-page") ? panel : null;
};

// a key is the page's: the notebook has commands on bare keys, and two of them delete a cell
function keepKeysFrom(app) {
  const commands = app.commands;
  const process = commands.processKeydownEvent.bind(commands);
  commands.processKeydownEvent = (event) => { if (workshop() || !page(app)) process(event); };
  window.addEventListener("keydown", (event) => {
    if (workshop() || !page(app) || event.altKey || !(event.ctrlKey || event.metaKey)) return;
    const key = event.key.toLowerCase();
    const typing = event.target.closest?.('input[type="text"], textarea');
    const does = key === "s" ? "save" : typing ? "" : key === "z" && event.shiftKey ? "redo" : key === "z" ? "undo" : key === "y" ? "redo" : "";
    if (!does) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (typing) typing.blur(); // what is being typed belongs to what is saved
    document.dispatchEvent(new CustomEvent("powder-do", { detail: { key: does, within: page(app).node } }));
  }, true);
  window.addEventListener("contextmenu", (event) => {
    if (!workshop() && event.target.closest?.(".powder-page")) event.stopImmediatePropagation(); // the browser's own comes
  }, true);
}

const FAILED = "This page did not start.";

async function run(app, panel) {
  const session = panel.context.sessionContext;
  await ready(session);
  app.shell.activateById(panel.id);
  await app.commands.execute("notebook:run-all-cells");
  if (!(await started(() => panel.node)) && !panel.isDisposed) {
    say(FAILED, "Load it again", async () => { await session.restartKernel(); await run(app, panel); });
  }
}

async function begin(app, panel) {
  const context = panel?.context;
  if (!context?.sessionContext || seen.has(panel)) return;
  await context.ready;
  if (!context.model.getMetadata?.("powder_page") || seen.has(panel)) return;
  seen.add(panel);
  panel.addClass("powder-page");
  app.restored.then(() => requestAnimationFrame(() => quiet(app)));
  // a kernel that ended is started again by the server; what it showed is built again from the folder
  let lost = false;
  context.sessionContext.statusChanged.connect((_, status) => {
    if (status === "autorestarting" || status === "dead") lost = true;
    if (lost && status === "idle") { lost = false; run(app, panel); }
    if (status === "dead") say("This page has stopped.", "Load it again", async () => { await context.sessionContext.restartKernel(); await run(app, panel); });
  });
  await run(app, panel);
}

plugged({
  id: "powder-shop-pricing:pages",
  autoStart: true,
  activate: (app) => {
    styled(STYLE + NOTICE);
    document.body.dataset.powder = "lab";
    keepKeysFrom(app);
    const current = () => { begin(app, app.shell.currentWidget); };
    app.restored.then(current);
    app.shell.currentChanged?.connect(current);
    document.addEventListener("powder-page", (event) => {
      const here = app.shell.currentWidget?.context?.path ?? "";
      const folder = here.includes("/") ? here.slice(0, here.lastIndexOf("/") + 1) : "";
      app.commands.execute("docmanager:open", { path: folder + event.detail.file });
      event.preventDefault();
    });
    document.addEventListener("powder-workshop", () => {
      sessionStorage.setItem(WORKSHOP, workshop() ? "no" : "yes");
      quiet(app);
    });
  },
});
