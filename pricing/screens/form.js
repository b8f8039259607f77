// A form: labels, inputs, sliders with their marks, and what is wrong beside each.

let count = 0;

function render({ model, el: root }) {
  root.classList.add("pp", "pp-form");
  keepKeys(root);
  root.setAttribute("role", "group");
  root.setAttribute("aria-label", model.get("about"));
  const parts = {};

  const edits = editQueue(model, root);
  const tell = (key, value, live = false) => edits.tell({ key, value, live });
  const leaving = ({ detail }) => { const heard = edits.allHeard(); if (heard) detail.waits.push(heard); };
  document.addEventListener("powder-heard", leaving);

  // two devices may share a kernel: what this one remembers goes before each of its presses
  const press = (key) => {
    for (const part of Object.values(parts)) part.recall?.();
    tell(key, true);
  };

  const textInput = (spec, id) => {
    const several = spec.kind === "lines";
    const input = el(several ? "textarea" : "input", { ...(several ? { rows: 6 } : { type: "text" }), id, autocomplete: "off", spellcheck: "false", "data-key": spec.key, placeholder: spec.hint ?? "" });
    let timer = 0;
    // what is sent while somebody is still typing is sent again when it is done: only then it counts as what stands there
    const send = (live = false) => {
      clearTimeout(timer);
      if (input.dataset.sent === input.value && (live || !input.dataset.live)) return false;
      input.dataset.sent = input.value;
      if (live) input.dataset.live = "yes"; else delete input.dataset.live;
      tell(spec.key, input.value, live);
      return true;
    };
    input.addEventListener("input", () => { parts[spec.key].touched = true; clearTimeout(timer); timer = setTimeout(() => send(true), 350); });
    input.addEventListener("change", () => { if (!laying) send(); });
    input.addEventListener("keydown", (event) => { if (event.key === "Enter" && !several) { if (send()) parts[spec.key].answered = true; else settle(spec.key); } }); // not what stood there before
    input.addEventListener("blur", () => { if (!laying) { send(); settle(spec.key); } });
    return input;
  };

  // what is shown after typing is the value as the workbook writes it
  const settle = (key) => {
    const at = model.get("state")[key];
    if (at && !at.message && !edits.waits(key)) parts[key].settle(at);
  };

  // while fields are laid anew the keys stay where they are
  let laying = false;
  const held = () => {
    const at = document.activeElement;
    const [key, old] = Object.entries(parts).find(([, part]) => [part.input, part.range, part.button, part.switch].includes(at)) ?? [];
    const which = ["input", "range", "button", "switch"].find((one) => old?.[one] === at);
    return () => { if (which) parts[key]?.[which]?.focus({ preventScroll: true }); };
  };

  const field = (spec) => {
    const old = parts[spec.key];
    const drawn = JSON.stringify({ ...spec, options: null, label: null, hint: null });
    if (old?.drawn === drawn) { // with all that is being typed in it, or looked for in a list
      old.options = spec.options;
      old.name(spec);
      old.node.style.display = "";
      return old.node;
    }
    const id = `pp-${++count}`;
    const node = el("div", { class: "pp-field", "data-field": spec.key });
    const label = el("label", { for: id }, spec.label);
    const message = el("div", { class: "pp-msg", id: `${id}-m`, role: "status" });
    const part = { node, label, message, drawn, options: spec.options };
    part.name = (now) => {
      label.textContent = now.label;
      for (const other of [part.range, part.taps]) other?.setAttribute("aria-label", now.label);
      if ("placeholder" in part.input) part.input.placeholder = now.hint ?? "";
    };
    if (spec.kind === "choice") {
      const input = el("select", { id, "aria-describedby": `${id}-m`, "data-key": spec.key });
      const keep = (value) => { if (spec.kept) try { localStorage.setItem(`pp.${spec.key}`, value); } catch { /* not allowed here */ } };
      input.addEventListener("change", () => { keep(input.value); tell(spec.key, input.value); });
      const taps = spec.taps ? el("div", { class: "pp-taps", role: "group", "aria-label": spec.label }) : null;
      node.append(label, input, ...(taps ? [taps] : []), message);
      Object.assign(part, { input, taps });
      part.settle = (at) => {
        const options = JSON.stringify(at.options ?? part.options);
        if (part.listed !== options) {
          part.listed = options;
          input.replaceChildren(...JSON.parse(options).map(([value, words]) => el("option", { value }, words)));
          taps?.replaceChildren(...JSON.parse(options).filter(([value]) => value).slice(0, spec.taps).map(([value, words]) => {
            const tap = el("button", { type: "button", "data-tap": value }, words);
            tap.addEventListener("click", () => { keep(value); press(`tap:${spec.key}:${value}`); });
            return tap;
          }));
        }
        input.value = at.text;
        for (const tap of taps?.children ?? []) tap.setAttribute("aria-pressed", tap.dataset.tap === at.text);
      };
      if (spec.kept) part.recall = () => {
        let kept = null;
        try { kept = localStorage.getItem(`pp.${spec.key}`); } catch { /* not allowed here */ }
        const at = model.get("state")[spec.key];
        if (kept && at && kept !== at.text && (at.options ?? part.options).some(([value]) => value === kept)) tell(spec.key, kept);
      };
    } else if (spec.kind === "check") {
      const input = el("input", { id, type: "checkbox", "aria-describedby": `${id}-m`, "data-key": spec.key });
      input.addEventListener("change", () => tell(spec.key, input.checked));
      node.append(label, input, message);
      part.input = input;
      part.settle = (at) => { input.checked = at.checked; };
    } else {
      const input = textInput(spec, id);
      input.setAttribute("aria-describedby", `${id}-m`);
      node.append(label, input);
      part.input = input;
      part.settle = (at) => {
        part.touched = false;
        input.dataset.sent = at.text;
        if (input.value === at.text) return;
        const all = document.activeElement === input && input.selectionEnd - input.selectionStart === input.value.length;
        input.value = at.text;
        if (all) input.select(); // to be written over, as it was
      };
      if (spec.kind === "slider") {
        const holder = el("div", { class: "pp-slider" });
        const range = el("input", { type: "range", "aria-label": spec.label, "data-slide": spec.key });
        range.addEventListener("input", () => { part.moved = performance.now(); tell(spec.key, Number(range.value)); });
        const marks = el("div", { class: "marks", "aria-hidden": "true" });
        part.range = range;
        part.mark = (list, least, most) => {
          const places = list.map(([at]) => (100 * (at - least)) / (most - least));
          part.wide = part.wide || marks.clientWidth; // asked once: asking costs a layout
          if (!part.wide) requestAnimationFrame(() => { if (marks.clientWidth) part.mark(list, least, most); });
          const half = (text) => (100 * (3.4 * text.length + 2)) / (part.wide || 260); // of the track
          const chief = Math.max(0, list.findIndex(([, word]) => word === "likely"));
          marks.replaceChildren(...list.map(([, word, text], i) => {
            const crowded = i !== chief && Math.abs(places[i] - places[chief]) < half(text) + half(list[chief][2]);
            const mark = el("span", { class: word, title: word }, crowded ? "" : text);
            mark.style.left = `${places[i]}%`;
            return mark;
          }));
        };
        holder.append(range, marks);
        node.append(holder);
        const settleText = part.settle;
        part.settle = (at) => {
          settleText(at);
          const ends = JSON.stringify([at.least, at.most, at.step, at.marks]);
          if (part.ends !== ends) {
            part.ends = ends;
            Object.assign(range, { min: at.least, max: at.most, step: at.step });
            part.mark(at.marks, at.least, at.most);
          }
          if (!(performance.now() - part.moved < 300)) range.value = at.at; // an echo must not pull the handle back
          range.setAttribute("aria-valuetext", at.text);
        };
      }
      node.append(message);
    }
    parts[spec.key] = part;
    return node;
  };

  // minutes run on from when they were started, whatever became of the page or the kernel meanwhile
  const tick = () => {
    for (const { face, at } of Object.values(parts)) {
      if (!face) continue;
      const since = at?.since_ms ? Math.max(0, Date.now() - at.since_ms) / 1000 : 0;
      const seconds = Math.floor((at?.before_s ?? 0) + since);
      const two = (n) => String(n).padStart(2, "0");
      face.textContent = at?.on || at?.before_s ? `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}` : "";
      face.classList.toggle("on", Boolean(at?.since_ms));
    }
  };
  const ticking = setInterval(tick, 1000);

  // what another tablet has started, or ended, is looked up while the page is in sight
  const look = () => { if (document.visibilityState === "visible" && Object.values(parts).some((part) => part.face)) tell("look", true); };
  const looking = setInterval(look, 15000);
  document.addEventListener("visibilitychange", look);

  // the stopwatch alone, with large buttons, on a screen that stays awake
  let lock = null;
  const stayAwake = async () => {
    if (!root.closest(".pp-page")?.classList.contains("pp-alone") || document.visibilityState !== "visible" || lock) return;
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
      if (parts.alone) parts.alone.words.textContent = "";
    } catch {
      if (parts.alone) parts.alone.words.textContent = "This browser lets the screen go dark: set the tablet to stay on.";
    }
  };
  const setAlone = (on) => {
    root.closest(".pp-page")?.classList.toggle("pp-alone", on);
    if (parts.alone) parts.alone.switch.textContent = on ? "Show the whole page" : parts.alone.label;
    try { localStorage.setItem("pp.alone", on ? "yes" : ""); } catch { /* not allowed here */ }
    if (on) stayAwake(); else { lock?.release(); if (parts.alone) parts.alone.words.textContent = ""; }
  };
  document.addEventListener("visibilitychange", stayAwake);
  // on a tablet that stands the form waits folded at the lower edge
  const fold = el("button", { type: "button", class: "pp-fold" });
  const setFolded = (folded) => {
    root.classList.toggle("folded", folded);
    fold.setAttribute("aria-expanded", String(!folded));
    fold.textContent = folded ? `Change: ${model.get("about").toLowerCase()}` : "Done";
  };
  fold.addEventListener("click", () => setFolded(!root.classList.contains("folded")));
  setFolded(true);

  const build = () => {
    const back = held();
    laying = true;
    const stem = (text) => text.replace(/ \(.*/, ""); // a count behind it may change
    const open = new Set([...root.querySelectorAll("details[open] > summary")].map((one) => stem(one.textContent)));
    root.replaceChildren(fold);
    let into = root;
    let row = null;
    for (const spec of model.get("fields")) {
      if (spec.kind !== "button") row = null;
      if (spec.kind === "heading") { into = el("section"); root.append(into); into.append(el("h3", {}, spec.label)); }
      else if (spec.kind === "alone") {
        const line = el("div", { class: "pp-buttons pp-aside" });
        const button = el("button", { type: "button", class: "pp-do", "data-key": spec.key }, spec.label);
        const words = el("p", { class: "pp-note", role: "status" });
        button.addEventListener("click", () => setAlone(!root.closest(".pp-page")?.classList.contains("pp-alone")));
        line.append(button);
        parts[spec.key] = { switch: button, words, label: spec.label };
        into.append(line, words);
      }
      else if (spec.kind === "more") {
        const details = el("details");
        details.open = open.has(stem(spec.label)); // what was opened stays so when other fields are laid
        details.append(el("summary", {}, spec.label));
        into = el("div");
        details.append(into);
        root.append(details);
      } else if (spec.kind === "end") into = root;
      else if (spec.kind === "note") {
        const note = el("p", { class: "pp-note", "data-note": spec.key });
        parts[spec.key] = { note };
        into.append(note);
      } else if (spec.kind === "clock") {
        const clock = el("div", { class: "pp-clock", "data-note": spec.key });
        const face = el("b", { role: "timer", "aria-live": "off" });
        const words = el("p", { class: "pp-note", role: "status" });
        clock.append(face, words);
        parts[spec.key] = { face, words };
        into.append(clock);
      } else if (spec.kind === "button") {
        if (!row) { row = el("div", { class: "pp-buttons" }); into.append(row); }
        const button = el("button", { type: "button", class: "pp-do", "data-key": spec.key }, spec.label);
        button.addEventListener("click", () => press(spec.key));
        parts[spec.key] = { button };
        row.append(button);
      } else into.append(field(spec));
    }
    back();
    show();
    laying = false;
  };

  // a note, with a link behind it where there is a file to open
  const write = (part, at) => {
    const told = JSON.stringify([at.text, at.link]);
    if (part.told === told) return;
    part.told = told;
    part.note.replaceChildren(at.text ?? "", ...(at.link ? [" ", el("a", { href: at.link.href, target: "_blank", rel: "noopener" }, at.link.text)] : []));
  };

  const show = () => {
    for (const [key, at] of Object.entries(model.get("state"))) {
      const part = parts[key];
      if (!part || part.switch) continue;
      if (part.face) { part.words.textContent = at.text ?? ""; part.at = at; tick(); continue; }
      if (part.note) { write(part, at); part.note.hidden = Boolean(at.hidden); continue; }
      if (part.button) { part.button.disabled = Boolean(at.off); part.button.hidden = Boolean(at.hidden); if (at.label) part.button.textContent = at.label; continue; }
      const waits = edits.waits(key);
      const typing = document.activeElement === part.input && part.touched;
      if (!waits && (part.answered || !typing)) part.settle(at);
      say(part.message, at, (given) => { part.input.value = given; part.input.dataset.sent = given; part.answered = true; tell(key, given); part.input.focus(); });
      if (!waits) part.answered = false;
      if (part.input) part.input.setAttribute("aria-invalid", at.message ? "true" : "false");
      if (at.hidden !== undefined) part.node.style.display = at.hidden ? "none" : "";
      if (at.label) part.label.textContent = at.label;
    }
  };

  // an answer that changes nothing else still ends what was typed
  const answered = () => {
    for (const [key, part] of Object.entries(parts)) if (part.touched && part.input !== document.activeElement) settle(key);
  };

  // what the device remembers is said again to fields that were drawn anew
  const recall = () => requestAnimationFrame(() => {
    for (const part of Object.values(parts)) part.recall?.();
    let alone = "";
    try { alone = localStorage.getItem("pp.alone"); } catch { /* not allowed here */ }
    if (parts.alone && alone) setAlone(true);
  });
  const anew = () => { build(); recall(); };
  anew();
  requestAnimationFrame(look);
  model.on("change:fields", anew);
  model.on("change:state", show);
  model.on("change:heard", answered);
  return () => {
    clearInterval(ticking);
    clearInterval(looking);
    document.removeEventListener("powder-heard", leaving);
    document.removeEventListener("visibilitychange", look);
    document.removeEventListener("visibilitychange", stayAwake);
    lock?.release();
    edits.end();
    model.off("change:fields", anew);
    model.off("change:state", show);
    model.off("change:heard", answered);
  };
}

export default { render };
