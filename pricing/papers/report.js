// Draws every chart of a handed-over page. `vegaEmbed` comes from the bundle made of this file.
// Charts are drawn by Vega's own interpreter, so the page needs no right to make code of text.

function tip(value) {
  const text = typeof value === "object" ? Object.entries(value).map(([k, v]) => `${k}: ${v}`).join("\n") : `${value}`;
  const node = document.createElement("span");
  node.textContent = text;
  return node.innerHTML;
}

// The signs of the paper's locale: between whole and part, and between thousands.
const signs = JSON.parse(document.getElementById("signs").textContent);

// On a phone charts that stand side by side stand below each other, and figures in a row make two rows.
const PHONE = 700, ROW = 380, ROW_HIGH = 52;

function narrow(spec, wide) {
  if (spec.hconcat) {
    spec.vconcat = spec.hconcat;
    delete spec.hconcat;
  }
  for (const part of spec.vconcat ?? []) narrow(part, wide);
  if (spec.vconcat && spec.config) spec.config.legend.columns = 3;
  if (spec.width > wide) spec.width = wide;
  for (const { encoding: { x, y } } of spec.layer ?? []) {
    if (!(x?.value >= ROW)) continue;
    x.value -= ROW;
    y.value += ROW_HIGH;
    spec.height = Math.max(spec.height, 44 + ROW_HIGH);
  }
}

async function draw(host) {
  const spec = JSON.parse(document.getElementById(host.dataset.spec).textContent);
  if (innerWidth < PHONE) narrow(spec, innerWidth - 90);
  const place = document.createElement("div");
  host.append(place);
  try {
    const { view } = await vegaEmbed(place, spec, {
      actions: false, renderer: "svg", ast: true, mode: "vega-lite",
      formatLocale: { decimal: signs[0], thousands: signs[1], grouping: [3], currency: ["", ""] },
      tooltip: { disableDefaultStyle: true, id: "tip", formatTooltip: tip },
    });
    const svg = place.querySelector("svg");
    svg?.setAttribute("role", "img");
    svg?.setAttribute("aria-label", host.dataset.about);
    host.dataset.drawn = "yes";
    host.view = view;
  } catch (why) {
    place.remove();
    console.error(why);
  }
}

Promise.all([...document.querySelectorAll("[data-spec]")].map(draw)).then(() => {
  document.documentElement.dataset.ready = "yes";
});
