/* The page: what is chosen, what is drawn when, and the controls. */

const FONT = '"DejaVu Sans", Verdana, system-ui, sans-serif';
const byId = (id) => document.getElementById(id);
const data = JSON.parse(byId("data").textContent);
const calm = matchMedia("(prefers-reduced-motion: reduce)");
const canvas = byId("drawing");
const view = { x: 0, y: 0, k: 1, width: 1, height: 1, dense: 1, fitted: true };
const layers = { stock: layer(), gone: layer(), lines: layer() };
const state = {
  program: null, sheet: null, t: 0, playing: false, chosen: null, pointer: null, ink: inks(),
  done: -1, // moves of the chosen program that stand on the stock layers; -1 when they must be painted anew
  stale: true, // whether the lines must be painted anew
  painted: null, // the view that the layers were painted for
  slow: false, // whether painting them took longer than a frame bears
};
const shown = (id) => byId(id).checked;

function layer() {
  return document.createElement("canvas").getContext("2d");
}

function element(tag, text, kind) {
  const made = document.createElement(tag);
  if (text !== undefined) made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

function clock(seconds) {
  const whole = Math.round(seconds), two = (n) => String(n).padStart(2, "0");
  const hours = Math.floor(whole / 3600), minutes = Math.floor(whole / 60) % 60;
  return hours ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
}

/* ---- drawing ---- */

let asked = false;
function redraw() {
  if (asked) return;
  asked = true;
  requestAnimationFrame(() => {
    asked = false;
    paint();
  });
}

function renew() {
  state.done = -1;
  state.stale = true;
  redraw();
}

function blank(ctx) {
  ctx.canvas.width = canvas.width;
  ctx.canvas.height = canvas.height;
}

let resting = 0;

/* While the view is being moved, layers that take long to paint are shown shifted and scaled instead. */
function moving() {
  if (!state.slow || !state.painted) return renew();
  clearTimeout(resting);
  resting = setTimeout(() => {
    resting = 0;
    renew();
  }, 120);
  redraw();
}

function paint() {
  const { program, sheet, ink } = state;
  if (!program) return;
  const now = moveAt(program.moves, state.t);
  if (!resting) paintLayers(now);
  const ctx = canvas.getContext("2d");
  ctx.setTransform(1, 0, 0, 1, 0, 0);
  ctx.fillStyle = ink.paper;
  ctx.fillRect(0, 0, canvas.width, canvas.height);
  lay(ctx, layers.stock);
  if (shown("swept")) {
    lay(ctx, layers.gone);
    const share = now < 0 ? 0 : shareAt(program.moves, now, state.t);
    if (now >= 0) paintSwept(ctx, ctx, view, sheet, program, now, now + 1, ink, share);
  }
  lay(ctx, layers.lines);
  paintFindings(ctx, view, marked(), state.chosen, ink);
  if (now >= 0) paintCutterAt(ctx, now);
  paintRulers(ctx, view, ink);
  paintStrip();
  tell(now);
}

function lay(ctx, from) {
  const was = state.painted, scale = view.k / was.k;
  const right = (view.width / 2) * (1 - scale) + (was.x - view.x) * view.k;
  const down = (view.height / 2) * (1 - scale) - (was.y - view.y) * view.k;
  ctx.setTransform(scale, 0, 0, scale, right * view.dense, down * view.dense);
  ctx.drawImage(from.canvas, 0, 0);
}

/* Brings the layers up to the move `now`. */
function paintLayers(now) {
  const { program, sheet, ink } = state, begun = performance.now();
  const pieces = data.pieces.filter((piece) => piece.sheet === sheet.number);
  const whole = state.stale;
  if (state.done < 0 || state.done > now) paintStock(pieces);
  if (state.done < now) {
    paintSwept(layers.stock, layers.gone, view, sheet, program, state.done, now, ink);
    state.done = now;
  }
  if (state.stale) paintLines(pieces);
  state.painted = { x: view.x, y: view.y, k: view.k };
  if (whole) state.slow = performance.now() - begun > 25;
}

function paintStock(pieces) {
  blank(layers.stock);
  blank(layers.gone);
  paintWood(layers.stock, view, state.sheet, pieces, state.ink);
  state.done = 0;
  if (!shown("swept")) {
    state.done = state.program.moves.count;
    return;
  }
  for (const earlier of data.programs) {
    if (earlier === state.program) break;
    if (earlier.sheet !== state.sheet.number || !earlier.moves) continue;
    paintSwept(layers.stock, layers.gone, view, state.sheet, earlier, 0, earlier.moves.count, state.ink);
  }
}

function paintLines(pieces) {
  blank(layers.lines);
  const ctx = layers.lines, { program, ink } = state;
  intoSheet(ctx, view);
  ctx.lineJoin = ctx.lineCap = "round";
  if (shown("paths")) {
    for (const [look, path] of pathsOf(program)) {
      const { colour, dash } = look;
      strokePath(ctx, view, path, colour, 1.3, dash);
    }
  }
  if (shown("rapids")) strokePath(ctx, view, rapidsOf(program), ink.rapid, 0.9, [4, 4]);
  paintParts(ctx, view, state.sheet, pieces, ink, shown("names"));
  if (shown("tabs")) paintTabs(ctx, view, data.tabs.filter((tab) => tab.sheet === state.sheet.number), ink);
  state.stale = false;
}

function pathsOf(program) {
  const by = document.querySelector("input[name=colour]:checked").value;
  const m = program.moves;
  program.paths ||= {};
  program.paths[by] ||= gathered(program, (i) => {
    if (m.kind[i] === RAPID) return null;
    if (by === "operation") return m.cut[i] < 0 ? "cut" : program.cuts[m.cut[i]].kind;
    const share = (program.top - (m.z0[i] + m.z1[i]) / 2) / state.sheet.thickness;
    return Math.min(data.depths.length - 1, Math.max(0, Math.floor(share * data.depths.length)));
  });
  const rows = [...program.paths[by]];
  if (by === "operation") return rows.map(([kind, path]) => [lookOf(kind), path]);
  return rows.sort((a, b) => a[0] - b[0]).map(([step, path]) => [{ colour: depthColour(step), dash: [] }, path]);
}

function rapidsOf(program) {
  program.rapids ||= gathered(program, (i) => (program.moves.kind[i] === RAPID ? "rapid" : null)).get("rapid");
  return program.rapids || new Path2D();
}

function lookOf(kind) {
  const look = data.looks.find((row) => row.kind === kind) || data.looks[data.looks.length - 1];
  return { kind: look.kind, colour: state.ink.dark ? look.dark : look.light, dash: look.dash };
}

/* Deeper stands out more: towards dark blue on a light page, towards yellow on a dark one. */
function depthColour(step) {
  return state.ink.dark ? data.depths[step] : data.depths[data.depths.length - 1 - step];
}

function marked() {
  if (!shown("marks")) return [];
  const here = data.findings.filter((row) => row.place && row.sheet === state.sheet.number);
  return here.slice(0, 80);
}

function paintCutterAt(ctx, now) {
  const { program, ink } = state, m = program.moves;
  const at = pointOf(m, now, shareAt(m, now, state.t));
  paintCutter(ctx, view, at, program.cutters[m.cutter[now]] || 0, at[2] < program.top - 1e-6, ink);
}

function paintStrip() {
  const strip = byId("strip"), { program, ink } = state;
  const wide = strip.clientWidth, high = strip.clientHeight;
  strip.width = wide * view.dense;
  strip.height = high * view.dense;
  const ctx = strip.getContext("2d");
  ctx.setTransform(view.dense, 0, 0, view.dense, 0, 0);
  const at = (t) => (t / program.total) * wide;
  program.cuts.forEach((cut, n) => {
    ctx.fillStyle = lookOf(cut.kind).colour;
    ctx.globalAlpha = n % 2 ? 0.75 : 1;
    const begin = at(program.moves.begin[cut.first] ?? 0);
    const end = at(program.moves.end[cut.end - 1] ?? 0);
    ctx.fillRect(begin, 8, Math.max(0.8, end - begin - (end - begin > 4 ? 1 : 0)), high - 8);
  });
  ctx.globalAlpha = 1;
  for (const row of data.findings) {
    if (row.program !== data.programs.indexOf(program) || row.move === null) continue;
    const x = at(program.moves.end[row.move]);
    ctx.fillStyle = ink[row.level];
    ctx.beginPath();
    ctx.moveTo(x - 4, 0); ctx.lineTo(x + 4, 0); ctx.lineTo(x, 7);
    ctx.fill();
  }
}

/* ---- words ---- */

function deep(program, z) {
  const depth = program.top - z;
  if (depth > state.sheet.thickness - HAIR) return "through";
  return depth > 0 ? `${depth.toFixed(1)} deep` : "above the sheet";
}

function cutWords(program, i) {
  const cut = program.cuts[program.moves.cut[i]];
  return cut ? `cut ${cut.number} ${cut.kind}, ${cut.name}` : "";
}

function tell(now) {
  const { program } = state, m = program.moves;
  byId("time").value = state.t;
  const at = now < 0 ? null : pointOf(m, now, shareAt(m, now, state.t));
  byId("when").textContent = `${clock(state.t)} of ${clock(program.total)}`;
  byId("line").textContent = now < 0 ? "–" : m.line[now];
  for (const [axis, id] of ["x", "y", "z"].entries()) {
    byId(id).textContent = at ? at[axis].toFixed(2).replace("-", "−") : "–";
  }
  byId("deep").textContent = at ? deep(program, at[2]) : "";
  byId("cutting").textContent = now < 0 ? "" : cutWords(program, now);
  const current = now < 0 ? -1 : m.cut[now];
  if (program.current !== current) {
    program.current = current;
    byId("cuts").querySelectorAll("button").forEach((button, n) => {
      if (n === current) {
        button.setAttribute("aria-current", "true");
        if (state.playing) button.scrollIntoView({ block: "nearest" });
      } else button.removeAttribute("aria-current");
    });
  }
}

function hint() {
  const box = byId("hint"), { program, pointer } = state;
  const found = pointer && program
    ? nearest(program.moves, ...toSheet(view, pointer[0], pointer[1]), 9 / view.k, state.t, shown("rapids"))
    : -1;
  box.hidden = found < 0;
  if (found < 0) return;
  const m = program.moves, feed = m.feed[found];
  const speed = m.kind[found] === RAPID ? "rapid" : feed > 0 ? `feed ${feed} mm/min` : "no feed set";
  box.replaceChildren(
    element("b", `line ${m.line[found]}`), element("span", cutWords(program, found)),
    element("span", `${speed}, ${deep(program, Math.min(m.z0[found], m.z1[found]))}`),
  );
  const left = Math.min(pointer[0] + 14, view.width - box.offsetWidth - 6);
  const top = pointer[1] + 18 + box.offsetHeight > view.height ? pointer[1] - box.offsetHeight - 10 : pointer[1] + 18;
  box.style.left = `${Math.max(4, left)}px`;
  box.style.top = `${Math.max(4, top)}px`;
}

/* ---- view ---- */

function fit(x0, y0, x1, y1) {
  const left = 46, right = 26, above = 26, below = 34;
  view.k = Math.max(0.001, Math.min((view.width - left - right) / (x1 - x0), (view.height - above - below) / (y1 - y0)));
  view.x = (x0 + x1) / 2 - (left - right) / 2 / view.k;
  view.y = (y0 + y1) / 2 - (below - above) / 2 / view.k;
  renew();
}

function fitSheet() {
  view.fitted = true;
  fit(0, 0, state.sheet.size[0], state.sheet.size[1]);
}

function zoom(by, px = view.width / 2, py = view.height / 2) {
  const [x, y] = toSheet(view, px, py);
  view.k = Math.min(200, Math.max(0.02, view.k * by));
  view.x = x - (px - view.width / 2) / view.k;
  view.y = y + (py - view.height / 2) / view.k;
  view.fitted = false;
  moving();
}

function pan(dx, dy) {
  view.x -= dx / view.k;
  view.y += dy / view.k;
  view.fitted = false;
  moving();
}

function resize() {
  const box = byId("stage").getBoundingClientRect();
  view.width = Math.max(1, box.width);
  view.height = Math.max(1, box.height);
  view.dense = window.devicePixelRatio || 1;
  canvas.width = Math.round(view.width * view.dense);
  canvas.height = Math.round(view.height * view.dense);
  if (!state.sheet) return;
  if (view.fitted) fitSheet(); else renew();
  paint(); // at once: a resized canvas is empty, and waiting would show it so
}
