/* Drawing on canvases. What is drawn in sheet coordinates has Y upwards; `view` is centre and pixels per mm. */

const TONES = 24;
const HAIR = 0.05; // a cut this close to the underside is through

function inks() {
  const style = getComputedStyle(document.documentElement);
  const of = (name) => style.getPropertyValue(`--${name}`).trim();
  const names = [
    "paper", "ink", "faint", "sheet", "wood", "shallow", "deep", "rapid", "halo", "error", "warning", "note", "on-error",
  ];
  return Object.fromEntries([...names.map((name) => [name, of(name)]), ["dark", of("scheme") === "dark"]]);
}

function mixed(a, b, share) {
  const part = (text, at) => parseInt(text.slice(at, at + 2), 16);
  const blend = (at) => Math.round(part(a, at) + (part(b, at) - part(a, at)) * share);
  return `rgb(${blend(1)} ${blend(3)} ${blend(5)})`;
}

/* Puts a context into sheet coordinates. */
function intoSheet(ctx, view) {
  const k = view.k * view.dense;
  ctx.setTransform(k, 0, 0, -k, (view.width / 2 - view.x * view.k) * view.dense, (view.height / 2 + view.y * view.k) * view.dense);
}

function ontoScreen(ctx, view) {
  ctx.setTransform(view.dense, 0, 0, view.dense, 0, 0);
}

function toScreen(view, x, y) {
  return [(x - view.x) * view.k + view.width / 2, view.height / 2 - (y - view.y) * view.k];
}

function toSheet(view, px, py) {
  return [(px - view.width / 2) / view.k + view.x, (view.height / 2 - py) / view.k + view.y];
}

/* The bare sheet and the parts that are to come out of it. */
function paintWood(ctx, view, sheet, pieces, ink) {
  intoSheet(ctx, view);
  ctx.fillStyle = ink.sheet;
  ctx.fillRect(0, 0, sheet.size[0], sheet.size[1]);
  ctx.fillStyle = ink.wood;
  for (const piece of pieces) ctx.fill(piece.area, "evenodd");
}

/*
 * What the cutter sweeps from move `from` to before move `to`, of the last one only a share. Recesses darken
 * `stock`, so that the deepest pass shows whatever the order; what is cut right through is painted in paper colour
 * on `gone`, which lies above. As order does not matter, all that is equally deep is stroked at once.
 */
function paintSwept(stock, gone, view, sheet, program, from, to, ink, lastShare = 1) {
  const bands = new Map(), hidden = coveredMoves(program, from, to);
  for (let i = from; i < to; i++) {
    if (hidden[i - from]) continue;
    gatherSwept(bands, program, i, sheet.thickness, i === to - 1 ? lastShare : 1);
  }
  for (const { tone, width, strokes, discs } of bands.values()) {
    const through = tone === TONES, ctx = through ? gone : stock;
    ctx.save();
    intoSheet(ctx, view);
    ctx.beginPath();
    ctx.rect(0, 0, sheet.size[0], sheet.size[1]);
    ctx.clip();
    ctx.lineCap = ctx.lineJoin = "round";
    ctx.globalCompositeOperation = through ? "source-over" : "darken";
    ctx.strokeStyle = ctx.fillStyle = through ? ink.paper : mixed(ink.shallow, ink.deep, tone / (TONES - 1));
    ctx.lineWidth = width;
    ctx.stroke(strokes);
    ctx.fill(discs);
    ctx.restore();
  }
}

/* Which moves from `from` to before `to` another pass with the same cutter covers, deeper or as deep. */
function coveredMoves(program, from, to) {
  const m = program.moves, deepest = new Map(), hidden = new Uint8Array(to - from);
  for (let i = from; i < to - 1; i++) { // the last one may be under way
    if (m.z0[i] !== m.z1[i] || m.kind[i] === RAPID) continue;
    const key = m.like[i] * 1000 + (m.cutter[i] % 1000), best = deepest.get(key);
    if (best === undefined) deepest.set(key, i);
    else if (m.z0[i] <= m.z0[best]) {
      hidden[best - from] = 1;
      deepest.set(key, i);
    } else hidden[i - from] = 1;
  }
  return hidden;
}

/* Adds the first part `upto` of move i to the bands of even depth and width that it cuts; nothing above the sheet. */
function gatherSwept(bands, program, i, thickness, upto) {
  const m = program.moves, width = program.cutters[m.cutter[i]] || 0;
  if (width === 0 || Math.min(m.z0[i], m.z1[i]) >= program.top - 1e-6) return;
  const plunge = m.x0[i] === m.x1[i] && m.y0[i] === m.y1[i] && m.sweep[i] === 0;
  const slope = Math.abs(m.z1[i] - m.z0[i]);
  const steps = plunge ? 1 : Math.min(TONES, Math.max(1, Math.ceil((slope * TONES) / thickness)));
  for (let n = 0; n < steps; n++) {
    const a = (n / steps) * upto, b = ((n + 1) / steps) * upto, middle = plunge ? b : (a + b) / 2;
    const depth = program.top - (m.z0[i] + (m.z1[i] - m.z0[i]) * middle);
    if (depth <= 1e-6) continue;
    const tone = depth >= thickness - HAIR ? TONES : Math.min(TONES - 1, Math.floor((depth / thickness) * TONES));
    const key = tone * 1e6 + Math.round(width * 1e3);
    let band = bands.get(key);
    if (!band) bands.set(key, (band = { tone, width, strokes: new Path2D(), discs: new Path2D() }));
    const [x, y] = pointOf(m, i, a);
    if (plunge) {
      band.discs.moveTo(x + width / 2, y);
      band.discs.arc(x, y, width / 2, 0, 2 * Math.PI);
      continue;
    }
    trace(band.strokes, m, i, a, b);
  }
}

/* Paths of a program as one Path2D a look; looks come from `lookOf(move)`, null leaves a move out. */
function gathered(program, lookOf) {
  const paths = new Map(), m = program.moves;
  for (let i = 0; i < m.count; i++) {
    const look = lookOf(i);
    if (look === null) continue;
    if (!paths.has(look)) paths.set(look, { path: new Path2D(), last: -2, drawn: new Set() });
    const row = paths.get(look);
    if (row.drawn.has(m.like[i])) continue; // passes over each other would blur the dashes
    row.drawn.add(m.like[i]);
    if (row.last === i - 1 && m.x0[i] === m.x1[i - 1] && m.y0[i] === m.y1[i - 1]) extend(row.path, m, i, 0, 1);
    else trace(row.path, m, i, 0, 1);
    row.last = i;
  }
  return new Map([...paths].map(([look, row]) => [look, row.path]));
}

function strokePath(ctx, view, path, colour, width, dash) {
  ctx.strokeStyle = colour;
  ctx.lineWidth = width / view.k;
  ctx.setLineDash(dash.map((long) => (long * width) / view.k));
  ctx.stroke(path);
  ctx.setLineDash([]);
}

/* Ink lines of the parts, the sheet's edge, names. */
function paintParts(ctx, view, sheet, pieces, ink, withNames) {
  intoSheet(ctx, view);
  ctx.lineJoin = "round";
  for (const piece of pieces) {
    strokePath(ctx, view, piece.inner, ink.ink, 0.7, []);
    strokePath(ctx, view, piece.edge, ink.ink, 1.2, []);
  }
  strokePath(ctx, view, sheet.fixtures, ink.ink, 1, []);
  const border = new Path2D();
  border.rect(0, 0, sheet.size[0], sheet.size[1]);
  strokePath(ctx, view, border, ink.ink, 1.6, []);
  if (!withNames) return;
  ontoScreen(ctx, view);
  for (const piece of pieces) paintName(ctx, view, piece, ink);
}

function paintName(ctx, view, piece, ink) {
  const { x, y, along, across, turned } = piece.label;
  ctx.font = "100px " + FONT;
  const fits = (text, most) => Math.min(most, (0.92 * along * view.k * 100) / Math.max(1, ctx.measureText(text).width));
  const size = fits(piece.name, Math.min(17, 0.55 * across * view.k));
  if (size < 7) return;
  const small = fits(piece.below, 0.75 * size);
  const two = small >= 8 && size + small < 0.9 * across * view.k;
  const [px, py] = toScreen(view, x, y);
  ctx.save();
  ctx.translate(px, py);
  if (turned) ctx.rotate(-Math.PI / 2);
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.lineJoin = "round";
  ctx.strokeStyle = ink.halo;
  const write = (text, height, down) => {
    ctx.font = `${height}px ${FONT}`;
    ctx.lineWidth = height / 3;
    ctx.strokeText(text, 0, down);
    ctx.fillStyle = ink.ink;
    ctx.fillText(text, 0, down);
  };
  write(piece.name, size, two ? -small * 0.6 : 0);
  if (two) write(piece.below, small, size * 0.62);
  ctx.restore();
}

function paintTabs(ctx, view, tabs, ink) {
  ontoScreen(ctx, view);
  ctx.fillStyle = ink.ink;
  ctx.strokeStyle = ink.halo;
  ctx.lineWidth = 1;
  for (const tab of tabs) {
    const [px, py] = toScreen(view, tab.x, tab.y);
    const r = Math.min(6, Math.max(3.2, (tab.width * view.k) / 4));
    ctx.beginPath();
    ctx.moveTo(px - r, py); ctx.lineTo(px, py - r); ctx.lineTo(px + r, py); ctx.lineTo(px, py + r);
    ctx.closePath();
    ctx.fill();
    ctx.stroke();
  }
}

/* Numbered discs beside their places; discs never lie over each other. */
function paintFindings(ctx, view, findings, chosen, ink) {
  ontoScreen(ctx, view);
  const taken = [], radius = 9;
  const aside = [[0.7, -0.7], [-0.7, -0.7], [0.7, 0.7], [-0.7, 0.7], [1, 0], [-1, 0], [0, -1], [0, 1]];
  ctx.lineWidth = 1.5;
  for (const finding of findings) {
    const [px, py] = toScreen(view, finding.place[0], finding.place[1]);
    if (px < -40 || py < -40 || px > view.width + 40 || py > view.height + 40) continue;
    const colour = ink[finding.level];
    ctx.strokeStyle = colour;
    ctx.beginPath();
    ctx.arc(px, py, 3.5, 0, 2 * Math.PI);
    ctx.stroke();
    const spots = [22, 38, 56, 76].flatMap((away) => aside.map(([dx, dy]) => [px + away * dx, py + away * dy]));
    const free = spots.find(([x, y]) => taken.every(([a, b]) => Math.hypot(a - x, b - y) > 2 * radius + 3));
    if (!free) continue;
    taken.push(free);
    const [x, y] = free, away = Math.hypot(x - px, y - py);
    ctx.beginPath();
    ctx.moveTo(px + ((x - px) / away) * 3.5, py + ((y - py) / away) * 3.5);
    ctx.lineTo(x, y);
    ctx.stroke();
    ctx.beginPath();
    ctx.arc(x, y, finding === chosen ? radius + 2 : radius, 0, 2 * Math.PI);
    ctx.fillStyle = finding.level === "error" ? colour : ink.paper;
    ctx.fill();
    ctx.stroke();
    ctx.fillStyle = finding.level === "error" ? ink["on-error"] : ink.ink;
    ctx.font = `${finding.number > 99 ? 9 : 11}px ${FONT}`;
    ctx.textAlign = "center";
    ctx.textBaseline = "middle";
    ctx.fillText(String(finding.number), x, y + 0.5);
  }
}

/* The cutter: full line in the wood, dashed above it. */
function paintCutter(ctx, view, at, diameter, inWood, ink) {
  ontoScreen(ctx, view);
  const [px, py] = toScreen(view, at[0], at[1]);
  const r = Math.max(4, (diameter * view.k) / 2);
  for (const [colour, width] of [[ink.paper, 4], [ink.ink, 1.8]]) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.setLineDash(inWood ? [] : [4, 3]);
    ctx.beginPath();
    ctx.arc(px, py, r, 0, 2 * Math.PI);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.beginPath();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      ctx.moveTo(px + dx * (r + 2), py + dy * (r + 2));
      ctx.lineTo(px + dx * (r + 9), py + dy * (r + 9));
    }
    ctx.stroke();
  }
}

/* Millimetres along the lower and the left edge of the stage. */
function paintRulers(ctx, view, ink) {
  ontoScreen(ctx, view);
  const band = 20, step = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].find((s) => s * view.k >= 9) || 1000;
  ctx.fillStyle = ink.paper;
  ctx.globalAlpha = 0.86;
  ctx.fillRect(0, view.height - band, view.width, band);
  ctx.fillRect(0, 0, band + 16, view.height - band);
  ctx.globalAlpha = 1;
  ctx.strokeStyle = ctx.fillStyle = ink.faint;
  ctx.lineWidth = 1;
  ctx.font = `10px ${FONT}`;
  ctx.textBaseline = "middle";
  const [x0, y0] = toSheet(view, band + 16, view.height - band), [x1, y1] = toSheet(view, view.width, 0);
  ctx.beginPath();
  ctx.textAlign = "center";
  for (let n = Math.ceil(x0 / step); n * step <= x1; n++) {
    const [px] = toScreen(view, n * step, 0);
    ctx.moveTo(px, view.height - band);
    ctx.lineTo(px, view.height - band + (n % 5 === 0 ? 6 : 3));
    if (n % 5 === 0) ctx.fillText(String(n * step), px, view.height - 7);
  }
  ctx.textAlign = "right";
  for (let n = Math.ceil(y0 / step); n * step <= y1; n++) {
    const [, py] = toScreen(view, 0, n * step);
    ctx.moveTo(band + 16, py);
    ctx.lineTo(band + 16 - (n % 5 === 0 ? 6 : 3), py);
    if (n % 5 === 0) ctx.fillText(String(n * step), band + 7, py);
  }
  ctx.stroke();
}
