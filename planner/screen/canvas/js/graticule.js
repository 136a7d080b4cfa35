// The graticule: meridians and parallels with labels; nothing is special at 0 h, and at a pole only this: all
// meridians are in sight, the quarter ones run into the pole and the others end at the last parallel before it.
const DEC_STEPS = [1 / 60, 2 / 60, 5 / 60, 10 / 60, 15 / 60, 20 / 60, 0.5, 1, 2, 5, 10, 15, 20];
const RA_STEPS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200].map(s => s / 240);
const firstAtLeast = (steps, least) => steps.find(s => s >= least) ?? steps.at(-1);

function graticule(view) {
  const rim = Array.from({ length: 48 }, (_, i) => {
    const t = (i % 12) / 12, side = Math.floor(i / 12), W = view.W, H = view.H;
    return vectorToSky(view.vector(...[[t * W, 0], [W, t * H], [W - t * W, H], [0, H - t * H]][side]));
  });
  const pole = [90, -90].find(d => view.inside(view.pixel(skyToVector(0, d)), 1));
  const decs = rim.map(p => p[1]).concat(pole ?? []), lag = rim.map(p => mod(p[0] - view.ra + 180, 360) - 180);
  const [d0, d1] = [Math.min(...decs), Math.max(...decs)];
  const decStep = firstAtLeast(DEC_STEPS, 2 * view.half / 6);
  const raStep = pole ? 30 : firstAtLeast(RA_STEPS, 2 * view.half / 5 / Math.max(0.02, Math.cos(view.dec * RAD)));
  const [r0, r1] = pole ? [0, 360] : [view.ra + Math.min(...lag), view.ra + Math.max(...lag)];
  const line = (n, at) => Array.from({ length: n + 1 }, (_, i) => view.pixel(skyToVector(...at(i / n))));
  const meridians = [], parallels = [];
  for (let i = Math.ceil(r0 / raStep - 1e-9); i * raStep < r1 + (pole ? -1e-9 : 1e-9); i++) {
    const ra = i * raStep, end = ra % 90 === 0 ? 90 : 90 - decStep;
    const low = Math.max(d0, pole === -90 ? -end : -90), high = Math.min(d1, pole === 90 ? end : 90);
    meridians.push({ text: pole ? `${mod(ra, 360) / 15}h` : hours(ra, raStep < 0.25 - 1e-9), points: line(24, t => [ra, low + (high - low) * t]) });
  }
  for (let i = Math.ceil(d0 / decStep - 1e-9); i * decStep <= d1 + 1e-9; i++) {
    const dec = i * decStep;
    if (Math.abs(dec) < 90 - 1e-9)
      parallels.push({ text: degrees(dec, decStep < 1), points: line(pole ? 180 : 60, t => [r0 + (r1 - r0) * t, dec]) });
  }
  return { meridians, parallels, pole };
}

// Where a line leaves the canvas (inset by `gap`), nearest to the wished side; closed circles: their lowest point.
function labelSpot(points, view, side, gap) {
  const within = p => p && p[0] >= gap && p[1] >= gap && p[0] <= view.W - gap && p[1] <= view.H - gap;
  const far = p => side === "bottom" ? view.H - p[1] : p[0];
  const at = [];
  points.forEach((p, i) => { if (i && within(p) !== within(points[i - 1])) { const q = edge(points[i - 1], p, within); if (q) at.push(q); } });
  const all = at.length ? at : points.filter(within);
  if (!all.length) return null;
  return at.length ? all.reduce((a, b) => far(b) < far(a) ? b : a) : all.reduce((a, b) => b[1] > a[1] ? b : a);
}

function edge(a, b, within) {
  if (!a || !b) return null;
  let [p, q] = within(a) ? [a, b] : [b, a];
  for (let i = 0; i < 12; i++) { const m = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2]; if (within(m)) p = m; else q = m; }
  return p;
}
