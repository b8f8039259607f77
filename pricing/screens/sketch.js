// A sketch of a part: outlines over its straightened picture, and tools that tell what was clicked or dragged.

const NAMES = {
  off: ["Outlines", "Click an outline to leave it out, or to count it again."],
  seen: ["Edges", "Click an edge that is not seen: it is neither sanded nor wiped. Again to take it back."],
  nook: ["Nooks", "Click where a nook needs a swab; click a nook you added to take it away."],
  corner: ["Corners", "Drag a corner to where it is on the part."],
  mark: ["Known length", "Click both ends of a length you know, then write it beside."],
};

function render({ model, el: root }) {
  root.classList.add("pp", "pp-drawn");
  let tool = "";
  let url = "";
  let cross = null; // where the keys point, and the corner they carry
  let carried = null;
  const svgEl = (name, attributes = {}) => {
    const node = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    return node;
  };
  const tell = (what) => {
    model.set("done", { ...what, n: Math.max(model.get("heard"), model.get("done").n || 0) + 1 });
    model.save_changes();
  };

  const draw = () => {
    const view = model.get("view");
    const keys = root.contains(document.activeElement) ? document.activeElement.dataset.tool ?? "svg" : "";
    root.replaceChildren();
    if (view.plan) {
      const plan = el("div", { class: "plan" });
      plan.innerHTML = view.plan;
      root.append(plan, ...(view.said ? [el("p", {}, view.said)] : []));
      return;
    }
    if (!view.lines || (!view.lines.length && !view.at.length)) return;
    if (!view.tools.includes(tool)) tool = view.tools[0] || "";
    const [x0, y0] = view.low;
    const [x1, y1] = view.high;
    const wide = x1 - x0;
    const tall = y1 - y0;
    const svg = svgEl("svg", { viewBox: `0 0 ${wide} ${tall}`, tabindex: "0", role: "application", "data-tool": "svg", "aria-label": "The part with its outlines: arrow keys move a cross, with Shift faster; Enter is a click there" });
    const place = ([x, y]) => [x - x0, y1 - y];
    const steps = (points) => points.map(place).map(([x, y], i) => `${i ? "L" : "M"}${x.toFixed(2)} ${y.toFixed(2)}`).join("");
    if (view.at.length) {
      const [ax, ay] = place([view.at[0], view.at[3]]);
      svg.append(svgEl("image", { href: url, x: ax, y: ay, width: view.at[2] - view.at[0], height: view.at[3] - view.at[1], preserveAspectRatio: "none" }));
    }
    const metal = view.lines.filter((one) => ["outer", "hole", "plug"].includes(one.role));
    if (!view.at.length) svg.append(svgEl("path", { class: "metal", "fill-rule": "evenodd", d: metal.map((one) => steps(one.stretches.flatMap((stretch) => stretch.points)) + "Z").join("") }));
    const dot = Math.max(wide, tall) / 100;
    for (const one of view.lines) {
      one.stretches.forEach((stretch, at) => {
        const d = steps(stretch.points);
        const about = svgEl("title");
        about.textContent = `outline ${one.id}${one.stretches.length > 1 ? `, stretch ${at + 1}` : ""}`;
        if (stretch.seen && !["off", "bad"].includes(one.role)) svg.append(svgEl("path", { class: "lined", d }));
        svg.append(svgEl("path", { class: `line ${one.role}${stretch.seen ? "" : " unseen"}`, d }));
        const hit = svgEl("path", { class: "hit", d, "data-outline": one.id, "data-at": at });
        hit.append(about);
        hit.addEventListener("click", (event) => {
          if (tool !== "off" && tool !== "seen") return;
          event.stopPropagation();
          tell({ tool, outline: one.id, at });
        });
        svg.append(hit);
      });
    }
    for (const [x, y] of view.spots.map(place)) svg.append(svgEl("path", { class: "spot", d: `M${x - dot} ${y - dot}l${2 * dot} ${2 * dot}m0 ${-2 * dot}l${-2 * dot} ${2 * dot}` }));
    const marks = view.marks.map(place);
    for (const [x, y] of marks) svg.append(svgEl("circle", { class: "mark", cx: x, cy: y, r: dot }));
    if (marks.length === 2) svg.append(svgEl("path", { class: "mark", d: `M${marks[0].join(" ")}L${marks[1].join(" ")}` }));

    const inMm = (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      return { x: at.x + x0, y: y1 - at.y };
    };
    const long = ({ points }) => Math.hypot(points.at(-1)[0] - points[0][0], points.at(-1)[1] - points[0][1]);
    const knobs = [];
    if (tool === "corner") {
      for (const one of view.lines) {
        if (!one.corners || one.role === "off") continue;
        one.stretches.forEach((stretch, at) => {
          if (Math.max(long(stretch), long(one.stretches.at(at - 1))) < 4 * dot) return; // crowded round a small hole
          const [x, y] = place(stretch.points[0]);
          const spot = { outline: one.id, at, x: stretch.points[0][0], y: stretch.points[0][1] };
          knobs.push(spot);
          const knob = svgEl("circle", { class: "knob", cx: x, cy: y, r: 1.2 * dot, "data-corner": `${one.id}.${at}` });
          let held = false;
          knob.addEventListener("pointerdown", (event) => { held = true; knob.setPointerCapture(event.pointerId); event.preventDefault(); });
          knob.addEventListener("pointermove", (event) => {
            if (!held) return;
            const [cx, cy] = place(Object.values(inMm(event)));
            knob.setAttribute("cx", cx);
            knob.setAttribute("cy", cy);
          });
          knob.addEventListener("pointerup", (event) => {
            if (!held) return;
            held = false;
            const there = inMm(event);
            draw(); // back to where it was, until the new outline comes; a drag that would cross itself never does
            tell({ tool, outline: one.id, at, ...there });
          });
          svg.append(knob);
        });
      }
    }
    svg.addEventListener("click", (event) => {
      if (tool === "nook" || tool === "mark") tell({ tool, near: 2 * dot, ...inMm(event) });
    });
    const hair = svgEl("path", { class: "cross" });
    const aim = () => { if (cross) hair.setAttribute("d", `M${cross[0] - 3 * dot} ${cross[1]}h${6 * dot}m${-3 * dot} ${-3 * dot}v${6 * dot}`); };
    const strike = () => {
      const [x, y] = [cross[0] + x0, y1 - cross[1]];
      if (tool !== "corner") {
        const there = new DOMPoint(...cross).matrixTransform(svg.getScreenCTM());
        document.elementFromPoint(there.x, there.y)?.dispatchEvent(new MouseEvent("click", { clientX: there.x, clientY: there.y, bubbles: true }));
      } else if (carried) {
        tell({ tool, outline: carried.outline, at: carried.at, x, y });
        carried = null;
      } else {
        const far = (one) => Math.hypot(one.x - x, one.y - y);
        const near = knobs.filter((one) => far(one) < 6 * dot).sort((one, other) => far(one) - far(other))[0];
        if (near) { carried = near; cross = place([near.x, near.y]); }
      }
      svg.classList.toggle("carries", Boolean(carried));
      aim();
    };
    svg.addEventListener("keydown", (event) => {
      const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[event.key];
      if (!way && event.key !== "Enter") return;
      event.preventDefault();
      event.stopPropagation();
      cross ??= [wide / 2, tall / 2];
      if (!way) { strike(); return; }
      const by = dot * (event.shiftKey ? 8 : 1);
      cross = [Math.min(wide, Math.max(0, cross[0] + by * way[0])), Math.min(tall, Math.max(0, cross[1] + by * way[1]))];
      aim();
    });
    svg.append(hair);
    aim();
    svg.classList.add(`tool-${tool || "none"}`);

    const bar = el("div", { class: "tools", role: "group", "aria-label": "What a click does" });
    for (const name of view.tools) {
      const button = el("button", { type: "button", class: "pp-do", "aria-pressed": String(name === tool), "data-tool": name, title: NAMES[name][1] }, NAMES[name][0]);
      button.addEventListener("click", () => { tool = name; carried = null; draw(); });
      bar.append(button);
    }
    const large = root.classList.contains("large");
    const size = el("button", { type: "button", class: "pp-do", "data-tool": "size" }, large ? "Smaller" : "Larger");
    size.addEventListener("click", () => { root.classList.toggle("large"); draw(); });
    bar.append(size);
    root.append(bar, svg);
    if (tool) root.append(el("p", { role: "status" }, NAMES[tool][1]));
    if (view.said) root.append(el("p", {}, view.said));
    if (keys) root.querySelector(`[data-tool="${keys}"]`)?.focus({ preventScroll: true });
  };

  const picture = () => {
    if (url) URL.revokeObjectURL(url);
    const bytes = model.get("image");
    url = bytes && bytes.byteLength ? URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) : "";
  };
  const leave = (event) => { if (event.key === "Escape" && root.classList.contains("large")) { root.classList.remove("large"); draw(); } };
  picture();
  draw();
  model.on("change:image", () => { picture(); draw(); });
  model.on("change:view", draw);
  document.addEventListener("keydown", leave);
  return () => { document.removeEventListener("keydown", leave); if (url) URL.revokeObjectURL(url); };
}

export default { render };
