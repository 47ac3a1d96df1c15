/* Choosing, playing, pointing and keys. */

function choose(index) {
  const program = data.programs[index], before = state.sheet;
  state.program = program;
  state.sheet = data.sheets.find((sheet) => sheet.number === program.sheet);
  state.t = program.total;
  program.current = undefined;
  byId("program").value = String(index);
  const size = [...state.sheet.size, state.sheet.thickness].map((v) => +v.toFixed(2)).join(" × ");
  byId("sheet").textContent = `${state.sheet.number} of ${data.sheets.length}: ${size} ${state.sheet.material}`;
  byId("total").textContent = clock(program.total);
  byId("time").max = program.total;
  byId("state").textContent = `ready: ${program.moves.count} moves in ${program.cuts.length} cuts`;
  listCuts(program);
  legend();
  if (before !== state.sheet) fitSheet(); else renew();
}

function seek(t) {
  state.t = Math.min(state.program.total, Math.max(0, t));
  redraw();
  hint();
}

function step(by) {
  play(false);
  const m = state.program.moves;
  let next = moveAt(m, state.t) + by;
  while (next > 0 && next < m.count - 1 && m.end[next] === state.t) next += by; // moves that take no time
  seek(next < 0 ? 0 : m.end[Math.min(next, m.count - 1)] ?? 0);
}

/* To the end of the cut `by` further on, so that what it did can be seen. */
function stepCut(by) {
  const { program } = state, m = program.moves;
  const ends = program.cuts.map((cut) => m.end[cut.end - 1]);
  const next = by > 0 ? ends.find((t) => t > state.t + 1e-4) : ends.findLast((t) => t < state.t - 1e-4);
  seek(next ?? (by > 0 ? program.total : 0));
}

let last = 0;
function play(on) {
  if (on && state.t >= state.program.total) state.t = 0;
  state.playing = on;
  byId("play").textContent = on ? "Pause" : "Play";
  byId("play").setAttribute("aria-pressed", String(on));
  last = performance.now();
  if (on) requestAnimationFrame(tick);
}

function tick(now) {
  if (!state.playing) return;
  if (calm.matches) {
    // Less motion wanted: whole cuts appear one after another instead of a moving cutter.
    if (now - last >= 1000) {
      last = now;
      stepCut(1);
    }
  } else {
    state.t = Math.min(state.program.total, state.t + ((now - last) / 1000) * Number(byId("pace").value));
    last = now;
    redraw();
  }
  if (state.t >= state.program.total) play(false); else requestAnimationFrame(tick);
}

function listCuts(program) {
  const list = byId("cuts");
  list.replaceChildren(...program.cuts.map((cut) => {
    const row = element("li"), button = element("button");
    const swatch = element("i", "", "swatch");
    swatch.style.background = lookOf(cut.kind).colour;
    button.append(
      swatch, element("span", String(cut.number), "number"), element("span", `${cut.kind}, ${cut.name}`),
      element("span", clock(cut.time_s), "took"),
    );
    button.addEventListener("click", () => {
      play(false);
      seek(program.moves.end[cut.end - 1] ?? 0);
    });
    row.append(button);
    return row;
  }));
  byId("cuts-count").textContent = program.cuts.length;
}

function listFindings() {
  byId("findings-count").textContent = data.findings.length;
  byId("nothing").hidden = data.findings.length > 0;
  byId("findings").replaceChildren(...data.findings.map((row) => {
    const item = element("li"), button = element("button");
    button.append(
      element("span", String(row.number), `disc ${row.level}`),
      element("span", `${row.level}: ${row.text}`),
    );
    button.addEventListener("click", () => show(row));
    item.append(button);
    return item;
  }));
}

function show(row) {
  play(false);
  state.chosen = row;
  byId("findings").querySelectorAll("button").forEach((button, n) => {
    if (data.findings[n] === row) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  });
  const of = row.program ?? data.programs.findIndex((program) => program.sheet === row.sheet);
  if (of >= 0 && data.programs[of] !== state.program) choose(of);
  if (row.move !== null) seek(state.program.moves.end[row.move]);
  if (row.place) {
    [view.x, view.y] = row.place;
    view.k = Math.max(view.k, Math.min(view.width, view.height) / 260);
    view.fitted = false;
    renew();
  } else if (row.extent) {
    const [x0, y0, x1, y1] = row.extent;
    view.fitted = false;
    fit(x0 - 20, y0 - 20, x1 + 20, y1 + 20);
  }
}

function legend() {
  const list = byId("legend"), { ink } = state;
  list.replaceChildren();
  const sample = (paintSample, word) => {
    const row = element("li"), picture = element("canvas");
    picture.width = 34 * view.dense;
    picture.height = 12 * view.dense;
    const ctx = picture.getContext("2d");
    ctx.scale(view.dense, view.dense);
    paintSample(ctx);
    row.append(picture, element("span", word));
    list.append(row);
  };
  const line = (colour, dash, width) => (ctx) => {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.setLineDash(dash.map((long) => long * width));
    ctx.beginPath();
    ctx.moveTo(1, 6);
    ctx.lineTo(33, 6);
    ctx.stroke();
  };
  const fill = (...colours) => (ctx) => {
    colours.forEach((colour, n) => {
      ctx.fillStyle = colour;
      ctx.fillRect(1 + (n * 32) / colours.length, 1, 32 / colours.length, 10);
    });
    ctx.strokeStyle = ink.faint;
    ctx.strokeRect(1.5, 1.5, 31, 9);
  };
  if (document.querySelector("input[name=colour]:checked").value === "operation") {
    const kinds = new Set(state.program.cuts.map((cut) => lookOf(cut.kind).kind));
    for (const look of data.looks.filter((row) => kinds.has(row.kind))) {
      const { colour, dash } = lookOf(look.kind);
      sample(line(colour, dash, 1.8), look.kind);
    }
  } else {
    sample(fill(...data.depths.map((_, n) => depthColour(n))), `path, 0 to ${+state.sheet.thickness.toFixed(2)} deep`);
  }
  sample(line(ink.rapid, [4, 3], 1), "rapid");
  sample(fill(...[0, 0.33, 0.66, 1].map((share) => mixed(ink.shallow, ink.deep, share))), "cut away, shallow to deep");
  sample(fill(ink.paper), "cut through");
  sample((ctx) => {
    ctx.fillStyle = ink.ink;
    ctx.beginPath();
    ctx.moveTo(12, 6); ctx.lineTo(17, 1); ctx.lineTo(22, 6); ctx.lineTo(17, 11);
    ctx.fill();
  }, "tab");
}

function listenToPointer() {
  const down = new Map();
  const at = (event) => {
    const box = canvas.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    down.set(event.pointerId, at(event));
    state.pointer = at(event);
    hint();
  });
  canvas.addEventListener("pointermove", (event) => {
    const now = at(event), before = down.get(event.pointerId);
    if (before) {
      const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
      if (other) {
        const gap = (a) => Math.max(1, Math.hypot(a[0] - other[0], a[1] - other[1]));
        zoom(gap(now) / gap(before), (now[0] + other[0]) / 2, (now[1] + other[1]) / 2);
      }
      pan((now[0] - before[0]) / down.size, (now[1] - before[1]) / down.size);
      down.set(event.pointerId, now);
      state.pointer = null;
    } else state.pointer = now;
    hint();
  });
  for (const kind of ["pointerup", "pointercancel"]) {
    canvas.addEventListener(kind, (event) => down.delete(event.pointerId));
  }
  canvas.addEventListener("pointerleave", () => {
    state.pointer = null;
    hint();
  });
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0015)), ...at(event));
  }, { passive: false });
}

const KEYS = {
  " ": () => play(!state.playing),
  ArrowRight: (event) => (event.shiftKey ? stepCut(1) : step(1)),
  ArrowLeft: (event) => (event.shiftKey ? stepCut(-1) : step(-1)),
  "+": () => zoom(1.25),
  "=": () => zoom(1.25),
  "-": () => zoom(0.8),
  "0": fitSheet,
};

function listen() {
  byId("program").addEventListener("change", (event) => {
    play(false);
    choose(Number(event.target.value));
  });
  byId("time").addEventListener("input", (event) => {
    play(false);
    seek(Number(event.target.value));
  });
  byId("play").addEventListener("click", () => play(!state.playing));
  byId("closer").addEventListener("click", () => zoom(1.25));
  byId("farther").addEventListener("click", () => zoom(0.8));
  byId("whole").addEventListener("click", fitSheet);
  byId("show").addEventListener("change", () => {
    legend();
    renew();
  });
  document.addEventListener("keydown", (event) => {
    const own = event.key === " " ? "button, input[type=checkbox], input[type=radio]" : "input[type=radio]";
    const typing = event.target.closest(`select, ${own}`);
    const act = KEYS[event.key];
    if (!act || typing || event.ctrlKey || event.metaKey || event.altKey || !state.program) return;
    event.preventDefault();
    act(event);
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => {
    state.ink = inks();
    listCuts(state.program);
    legend();
    renew();
  });
  listenToPointer();
  new ResizeObserver(resize).observe(byId("stage"));
}

function prepare(program) {
  const m = program.moves;
  program.total = Math.max(m.count ? m.end[m.count - 1] : 0, 1e-3);
  program.cuts.forEach((cut, n) => {
    cut.end = n + 1 < program.cuts.length ? program.cuts[n + 1].first : m.count;
  });
}

/* An address may end in #finding-3, #cut-12 or #line-350, to open the page there. */
function followAddress() {
  const [, what, number] = /^#(finding|cut|line)-(\d+)$/.exec(location.hash) ?? [];
  const wanted = Number(number), m = state.program.moves;
  if (what === "finding") {
    const row = data.findings.find((found) => found.number === wanted);
    if (row) show(row);
  } else if (what === "cut") {
    const cut = state.program.cuts.find((found) => found.number === wanted);
    if (cut) seek(m.end[cut.end - 1] ?? 0);
  } else if (what === "line") {
    const move = m.line.findIndex((line) => line >= wanted);
    if (move >= 0) seek(m.end[move]);
  }
}

/* A pace at which the whole program passes in about a minute. */
function setPace() {
  const paces = [...byId("pace").options].map((option) => Number(option.value));
  const longest = Math.max(...data.programs.map((program) => program.total));
  byId("pace").value = String(paces.find((pace) => longest / pace <= 75) ?? paces[paces.length - 1]);
}

try {
  for (const piece of data.pieces) {
    for (const key of ["area", "edge", "inner"]) piece[key] = new Path2D(piece[key]);
  }
  for (const sheet of data.sheets) sheet.fixtures = new Path2D(sheet.fixtures);
  for (const program of data.programs) {
    program.moves = await unpack(program.packed, program.count);
    delete program.packed;
    prepare(program);
  }
  resize();
  listFindings();
  listen();
  setPace();
  choose(0);
  followAddress();
  paint(); // at once: a page that is not yet shown may be given no frame for long
  addEventListener("hashchange", followAddress);
} catch (fault) {
  byId("state").textContent = `cannot show this: ${fault.message}`;
  throw fault;
}
