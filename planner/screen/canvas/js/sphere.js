// The sphere: the same formulas as planner/geometry (unit vectors, tangent plane bases), for the browser.
const RAD = Math.PI / 180;
const mod = (a, n) => ((a % n) + n) % n;
const clamp = (x, low, high) => Math.min(high, Math.max(low, x));
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const unit = v => { const n = Math.hypot(...v); return [v[0] / n, v[1] / n, v[2] / n]; };
const mix = (x, a, y, b, z, c) => [0, 1, 2].map(i => x * a[i] + y * b[i] + z * c[i]);

function skyToVector(ra, dec) {
  const a = ra * RAD, d = dec * RAD;
  return [Math.cos(d) * Math.cos(a), Math.cos(d) * Math.sin(a), Math.sin(d)];
}

function vectorToSky(v) {
  return [mod(Math.atan2(v[1], v[0]) / RAD, 360), Math.atan2(v[2], Math.hypot(v[0], v[1])) / RAD];
}

function eastNorth(ra, dec) {
  const a = ra * RAD, d = dec * RAD;
  return [[-Math.sin(a), Math.cos(a), 0], [-Math.sin(d) * Math.cos(a), -Math.sin(d) * Math.sin(a), Math.cos(d)]];
}

// Rows (left, up, out); up lies `pa` degrees east of north.
function skyBasis(ra, dec, pa) {
  const [east, north] = eastNorth(ra, dec), c = Math.cos(pa * RAD), s = Math.sin(pa * RAD);
  return [mix(c, east, -s, north, 0, east), mix(c, north, s, east, 0, east), skyToVector(ra, dec)];
}

// Tangent plane coordinates (x left, y up) in radians at the centre; null where there is no image.
function toPlane(v, basis) {
  const out = dot(v, basis[2]);
  return out < 0.02 ? null : [dot(v, basis[0]) / out, dot(v, basis[1]) / out];
}

function fromPlane(x, y, basis) {
  return unit(mix(x, basis[0], y, basis[1], 1, basis[2]));
}

// The rotation of the sphere that takes one basis to another, as a function of vectors.
function motion(from, to) {
  return v => mix(dot(v, from[0]), to[0], dot(v, from[1]), to[1], dot(v, from[2]), to[2]);
}

// The shortest rotation that takes direction a to b, as a function of vectors (Rodrigues' formula).
function slide(a, b) {
  const k = cross(a, b), c = dot(a, b);
  return v => { const w = cross(k, v), f = dot(k, v) / (1 + c); return [0, 1, 2].map(i => v[i] * c + w[i] + k[i] * f); };
}

// Position angle of direction `to` seen from `at`, degrees east of north.
function positionAngle(at, to) {
  const [east, north] = eastNorth(...vectorToSky(at));
  return mod(Math.atan2(dot(to, east), dot(to, north)) / RAD, 360);
}

// A position angle carried from a to b. It keeps its number, save near the poles: there it keeps its direction
// (weight 0 up to 70 degrees of declination, 1 from 80 on), so that nothing spins while it crosses a pole.
function carry(pa, a, b) {
  const x = clamp((Math.abs(vectorToSky(b)[1]) - 70) / 10, 0, 1), weight = x * x * (3 - 2 * x);
  if (weight === 0 || 1 - dot(a, b) < 1e-15) return pa;
  const turn = mod(positionAngle(b, a) + 180 - positionAngle(a, b) + 180, 360) - 180;
  return mod(pa + weight * turn, 360);
}

// Corner vectors SE, SW, NW, NE of a rectangle of full angles width and height.
function rectangle(center, width, height, pa) {
  const basis = skyBasis(...center, pa), w = Math.tan(width * RAD / 2), h = Math.tan(height * RAD / 2);
  return [[w, -h], [-w, -h], [-w, h], [w, h]].map(([x, y]) => fromPlane(x, y, basis));
}

function circle(center, radius, n = 90) {
  const basis = skyBasis(...center, 0), r = Math.tan(radius * RAD);
  return Array.from({ length: n }, (_, i) => fromPlane(-r * Math.sin(i * 2 * Math.PI / n), r * Math.cos(i * 2 * Math.PI / n), basis));
}

// Words for positions: 8h34m00s, -45°50′.
function hours(ra, seconds = true) {
  const total = mod(Math.round(ra * 240), 86400), h = Math.floor(total / 3600), m = Math.floor(total / 60) % 60, s = total % 60;
  const two = n => String(n).padStart(2, "0");
  return `${h}h${two(m)}m` + (seconds ? `${two(s)}s` : "");
}

function degrees(dec, minutes = true) {
  const total = Math.round(Math.abs(dec) * 60), sign = dec < 0 && total ? "−" : "+";
  return `${sign}${Math.floor(total / 60)}°` + (minutes ? String(total % 60).padStart(2, "0") + "′" : "");
}
