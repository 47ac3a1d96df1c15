/* Moves of a program: unpacking, and where the cutter is at a time. Lengths in mm, times in s, angles in rad. */

const COLUMNS = [
  "kind", "sx", "sy", "sz", "dx", "dy", "dz", "ox", "oy", "sweep", "line", "cut", "feed", "cutter", "wait", "last",
];
const RAPID = 0;

/* int32 columns one after another, little endian, gzip, base64; see preview_data.py for their units. */
async function unpack(text, count) {
  const packed = Uint8Array.from(atob(text), (sign) => sign.charCodeAt(0));
  const stream = new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"));
  const whole = new Int32Array(await new Response(stream).arrayBuffer());
  if (whole.length !== count * COLUMNS.length) throw new Error("the moves are not complete");
  const raw = Object.fromEntries(
    COLUMNS.map((name, at) => [name, whole.subarray(at * count, (at + 1) * count)]),
  );
  const real = () => new Float64Array(count);
  const moves = {
    count, kind: raw.kind, cut: raw.cut, feed: raw.feed, cutter: raw.cutter, line: new Int32Array(count),
    x0: real(), y0: real(), z0: real(), x1: real(), y1: real(), z1: real(),
    cx: real(), cy: real(), r: real(), a0: real(), sweep: real(), begin: real(), end: real(),
  };
  let x = 0, y = 0, z = 0, line = 0, tick = 0;
  for (let i = 0; i < count; i++) {
    x += raw.sx[i]; y += raw.sy[i]; z += raw.sz[i];
    moves.x0[i] = x / 1000; moves.y0[i] = y / 1000; moves.z0[i] = z / 1000;
    if (raw.sweep[i] !== 0) {
      moves.cx[i] = (x + raw.ox[i]) / 1000;
      moves.cy[i] = (y + raw.oy[i]) / 1000;
      moves.r[i] = Math.hypot(raw.ox[i], raw.oy[i]) / 1000;
      moves.a0[i] = Math.atan2(-raw.oy[i], -raw.ox[i]);
      moves.sweep[i] = raw.sweep[i] / 1e6;
    }
    x += raw.dx[i]; y += raw.dy[i]; z += raw.dz[i];
    moves.x1[i] = x / 1000; moves.y1[i] = y / 1000; moves.z1[i] = z / 1000;
    line += raw.line[i]; moves.line[i] = line;
    tick += raw.wait[i]; moves.begin[i] = tick / 1e4;
    tick += raw.last[i]; moves.end[i] = tick / 1e4;
  }
  moves.like = likes(moves);
  return moves;
}

/* Equal numbers for moves over the same line or arc seen from above, whichever way: the passes of one cut. */
function likes(m) {
  const numbers = new Map(), like = new Int32Array(m.count), um = (v) => Math.round(v * 1000);
  for (let i = 0; i < m.count; i++) {
    const ends = [[um(m.x0[i]), um(m.y0[i])], [um(m.x1[i]), um(m.y1[i])]];
    const back = ends[0][0] > ends[1][0] || (ends[0][0] === ends[1][0] && ends[0][1] > ends[1][1]);
    const turn = m.sweep[i] === 0 ? "" : `${um(m.cx[i])},${um(m.cy[i])},${um(back ? -m.sweep[i] : m.sweep[i])}`;
    const key = `${back ? ends[1] : ends[0]},${back ? ends[0] : ends[1]},${turn}`;
    if (!numbers.has(key)) numbers.set(key, numbers.size);
    like[i] = numbers.get(key);
  }
  return like;
}

/* The point after `share` (0 to 1) of move i. */
function pointOf(m, i, share) {
  const z = m.z0[i] + (m.z1[i] - m.z0[i]) * share;
  if (share >= 1) return [m.x1[i], m.y1[i], z];
  if (m.sweep[i] === 0) {
    return [m.x0[i] + (m.x1[i] - m.x0[i]) * share, m.y0[i] + (m.y1[i] - m.y0[i]) * share, z];
  }
  const angle = m.a0[i] + m.sweep[i] * share;
  return [m.cx[i] + m.r[i] * Math.cos(angle), m.cy[i] + m.r[i] * Math.sin(angle), z];
}

/* Last move that has begun before time t, or the very last at the end; -1 before the first. */
function moveAt(m, t) {
  if (m.count && t >= m.end[m.count - 1]) return m.count - 1;
  let low = 0, high = m.count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (m.begin[middle] < t) low = middle + 1; else high = middle;
  }
  return low - 1;
}

function shareAt(m, i, t) {
  const long = m.end[i] - m.begin[i];
  return long > 0 ? Math.min(1, Math.max(0, (t - m.begin[i]) / long)) : 1;
}

/* Adds the stretch of move i between two shares to a path (a context or a Path2D), seen from above. */
function trace(path, m, i, from, to) {
  const [x0, y0] = pointOf(m, i, from);
  path.moveTo(x0, y0);
  extend(path, m, i, from, to);
}

function extend(path, m, i, from, to) {
  if (m.sweep[i] === 0) {
    const [x1, y1] = pointOf(m, i, to);
    path.lineTo(x1, y1);
    return;
  }
  const turn = m.sweep[i] * (to - from), start = m.a0[i] + m.sweep[i] * from;
  const full = Math.sign(turn) * Math.min(Math.abs(turn), 2 * Math.PI);
  path.arc(m.cx[i], m.cy[i], m.r[i], start, start + full, turn < 0);
}

/* Distance from (x, y) to move i, seen from above. */
function distanceTo(m, i, x, y) {
  if (m.sweep[i] !== 0) {
    const turned = (Math.atan2(y - m.cy[i], x - m.cx[i]) - m.a0[i]) * Math.sign(m.sweep[i]);
    const within = ((turned % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI) <= Math.abs(m.sweep[i]);
    if (within) return Math.abs(Math.hypot(x - m.cx[i], y - m.cy[i]) - m.r[i]);
    return Math.min(Math.hypot(x - m.x0[i], y - m.y0[i]), Math.hypot(x - m.x1[i], y - m.y1[i]));
  }
  const dx = m.x1[i] - m.x0[i], dy = m.y1[i] - m.y0[i];
  const long = dx * dx + dy * dy;
  const share = long > 0 ? Math.min(1, Math.max(0, ((x - m.x0[i]) * dx + (y - m.y0[i]) * dy) / long)) : 0;
  return Math.hypot(x - m.x0[i] - share * dx, y - m.y0[i] - share * dy);
}

/* The move under a point, at most `reach` away: of passes that lie over each other the latest one begun. */
function nearest(m, x, y, reach, t, withRapids) {
  const close = [];
  let best = reach;
  for (let i = 0; i < m.count; i++) {
    if (m.kind[i] === RAPID && !withRapids) continue;
    const away = distanceTo(m, i, x, y);
    if (away <= best + reach / 8) {
      close.push([i, away]);
      best = Math.min(best, away);
    }
  }
  let found = -1;
  for (const [i, away] of close) {
    if (away > best + reach / 8) continue;
    if (found < 0 || m.begin[i] <= t) found = i;
  }
  return found;
}
