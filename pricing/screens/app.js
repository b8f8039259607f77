// What the pages need of the app: links are links, a page that lost its connection finds it again or says so. That a page
// which is left frees its kernel stands in voila.html, for a page may be left before any of this has come.

const again = () => location.reload();
const RESTED = "This page was put away while nobody looked at it.";
const LOST = "No connection to the shop's machine. Trying again …";
const FAILED = "This page did not start.";

async function alive(kernel) {
  try {
    const answer = await fetch(`/api/kernels/${kernel}`, { cache: "no-store", signal: AbortSignal.timeout(4000) });
    if (answer.ok) return "yes";
    return answer.status === 404 || answer.status === 403 ? "no" : "unknown";
  } catch { return "unknown"; }
}

async function keepConnected(kernel) {
  const { id } = kernel;
  let misses = 0;
  const look = async () => {
    if (kernel.status === "dead" || /restarting/.test(kernel.status)) { say(RESTED, "Load it again", again); return; }
    const there = await alive(id);
    if (there === "no") { say(RESTED, "Load it again", again); return; }
    if (there === "unknown") { misses += 1; if (misses > 1) say(LOST, "Load it again", again); return; }
    misses = 0;
    if (kernel.connectionStatus === "connected") { if (notice?.dataset.said === LOST) hush(); return; }
    if (kernel.connectionStatus === "disconnected" || notice) await kernel.reconnect().catch(() => {});
  };
  let left = false;
  for (const going of ["beforeunload", "pagehide"]) window.addEventListener(going, () => { left = true; }); // its kernel goes at the first
  document.addEventListener("visibilitychange", () => { if (!document.hidden && !left) look(); });
  window.addEventListener("online", look);
  window.addEventListener("offline", () => say(LOST, "Load it again", again));
  for (;;) {
    await wait(5000);
    if (!document.hidden && !left) await look();
  }
}

plugged({
  id: "powder-shop-pricing:pages",
  autoStart: true,
  activate: async (app) => {
    styled(NOTICE);
    document.body.dataset.powder = "app";
    window.addEventListener("pageshow", (event) => { if (event.persisted) again(); });
    started(() => document).then((well) => { if (!well) say(FAILED, "Load it again", again); });
    while (!app.widgetManager) await wait(100);
    keepConnected(app.widgetManager.kernel);
  },
});
