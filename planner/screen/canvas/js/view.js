// The view: which part of the sky the canvas shows. Tangent plane about its centre; `half` is half its height.
const WIDEST = 40, CLOSEST = 0.03;

class View {
  constructor() { Object.assign(this, { ra: 0, dec: 0, angle: 0, half: 5, W: 1, H: 1 }); this.changed(); }

  static vector(place) { return skyToVector(...place); }

  changed() { this.basis = skyBasis(this.ra, this.dec, this.angle); this.k = this.H / 2 / Math.tan(this.half * RAD); }

  resize(W, H) { this.W = W; this.H = H; this.changed(); }

  look(ra, dec, half = this.half, angle = this.angle) {
    Object.assign(this, { ra: mod(ra, 360), dec: clamp(dec, -90, 90), half: clamp(half, CLOSEST, WIDEST), angle: mod(angle, 360) });
    this.changed();
  }

  pixel(v) { const p = toPlane(v, this.basis); return p && [this.W / 2 - p[0] * this.k, this.H / 2 - p[1] * this.k]; }

  vector(x, y) { return fromPlane((this.W / 2 - x) / this.k, (this.H / 2 - y) / this.k, this.basis); }

  inside(p, rim = 0) { return p && p[0] > -rim && p[1] > -rim && p[0] < this.W + rim && p[1] < this.H + rim; }

  // Bring the sky direction `v` under the pixel (x, y).
  hold(v, x, y) {
    const from = this.basis[2], to = slide(this.vector(x, y), v)(from);
    const [ra, dec] = vectorToSky(to);
    this.look(ra, dec, this.half, carry(this.angle, from, to));
  }

  zoom(factor, x = this.W / 2, y = this.H / 2) {
    const v = this.vector(x, y);
    this.look(this.ra, this.dec, this.half * factor);
    this.hold(v, x, y);
  }

  // Show these directions with a rim about them.
  fit(vectors, angle = this.angle) {
    const sum = vectors.reduce((s, v) => [s[0] + v[0], s[1] + v[1], s[2] + v[2]], [0, 0, 0]);
    this.look(...vectorToSky(sum), 1, angle);
    for (let i = 0; i < 3; i++) {
      const all = vectors.map(v => toPlane(v, this.basis)).filter(Boolean);
      const xs = all.map(p => p[0]), ys = all.map(p => p[1]);
      const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
      const half = Math.max((y1 - y0) / 2, (x1 - x0) / 2 * this.H / this.W) * 1.3;
      const [ra, dec] = vectorToSky(fromPlane((x0 + x1) / 2, (y0 + y1) / 2, this.basis));
      this.look(ra, dec, Math.atan(half) / RAD);
    }
  }

  graticule() { return graticule(this); }

  // Angular radius of the circle about the canvas, degrees.
  get reach() { return Math.atan(Math.hypot(this.W, this.H) / 2 / this.k) / RAD; }
}
