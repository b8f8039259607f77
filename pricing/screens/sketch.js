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
    const svg = svgEl("svg", { viewBox: `0 0 ${wide} ${tall}`, role: "img", "aria-label": "The part with its outlines" });
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
    if (tool === "corner") {
      for (const one of view.lines) {
        if (!one.corners || one.role === "off") continue;
        one.stretches.forEach((stretch, at) => {
          if (Math.max(long(stretch), long(one.stretches.at(at - 1))) < 4 * dot) return; // crowded round a small hole
          const [x, y] = place(stretch.points[0]);
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
    svg.classList.add(`tool-${tool || "none"}`);

    const bar = el("div", { class: "tools", role: "group", "aria-label": "What a click does" });
    for (const name of view.tools) {
      const button = el("button", { type: "button", class: "pp-do", "aria-pressed": String(name === tool), "data-tool": name, title: NAMES[name][1] }, NAMES[name][0]);
      button.addEventListener("click", () => { tool = name; draw(); });
      bar.append(button);
    }
    const large = root.classList.contains("large");
    const size = el("button", { type: "button", class: "pp-do", "data-tool": "size" }, large ? "Smaller" : "Larger");
    size.addEventListener("click", () => { root.classList.toggle("large"); draw(); });
    bar.append(size);
    root.append(bar, svg);
    if (tool) root.append(el("p", { role: "status" }, NAMES[tool][1]));
    if (view.said) root.append(el("p", {}, view.said));
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
