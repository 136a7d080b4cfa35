// The backdrop: graticule, object outlines and stars, drawn on one canvas whenever the view changes.
class Backdrop {
  constructor(canvas) { this.canvas = canvas; this.key = ""; this.stars = { v: new Float32Array(0), mag: [] }; this.objects = [];
    this.nebulae = new Nebulae(); this.shown = { ...SHOWN }; }

  // Stars come as base64 of little-endian float32 triples (ra, dec, magnitude), brightest first; stars and objects
  // that are here already do not come again.
  take({ key, stars, objects, nebulae }) {
    if (key === this.key || stars === undefined) return;
    this.key = key; this.stars = decodeStars(stars);
    this.nebulae.take(nebulae);
    this.objects = objects.map(o => ({ ...o, v: skyToVector(o.ra, o.dec), rim: objectRim(o) }));
  }

  // Draw it, unless it is there as it should be; returns whether part of it is to be drawn anew once the view rests.
  draw(view, style) {
    const dpr = devicePixelRatio || 1, c = this.canvas, ctx = this.ctx ??= c.getContext("2d");
    const what = JSON.stringify([view, style, this.key, this.shown, dpr]);
    if (what === this.drawn && !this.late) return false;
    this.drawn = what;
    if (c.width !== Math.round(view.W * dpr) || c.height !== Math.round(view.H * dpr)) {
      c.width = Math.round(view.W * dpr); c.height = Math.round(view.H * dpr);
    }
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0); ctx.clearRect(0, 0, view.W, view.H);
    this.taken = []; this.wide = view.W;
    this.late = this.nebulae.draw(ctx, view, style, this.shown, dpr);
    if (this.shown.other) this.drawObjects(ctx, view, style);
    this.drawStars(ctx, view, style); this.drawGraticule(ctx, view, style);
    this.nebulae.names(view, (text, at, kind) => this.label(ctx, { ...style, faint: style.kinds[kind] }, text, at, "center"), this.shown);
    return this.late;
  }

  drawGraticule(ctx, view, style) {
    const g = graticule(view);
    ctx.strokeStyle = style.line; ctx.lineWidth = 1;
    for (const { points } of [...g.meridians, ...g.parallels]) { ctx.beginPath(); trace(ctx, points); ctx.stroke(); }
    ctx.font = `11px ${style.font}`; ctx.textBaseline = "middle";
    for (const m of g.meridians) this.label(ctx, style, m.text, labelSpot(m.points, view, "bottom", 14), "center");
    for (const p of g.parallels) this.label(ctx, style, p.text, labelSpot(p.points, view, "left", 26), "center");
    if (g.pole !== undefined) { const p = view.pixel(skyToVector(0, g.pole)); ctx.beginPath(); ctx.arc(...p, 4, 0, 7); ctx.stroke(); }
  }

  drawStars(ctx, view, style) {
    const { v, mag } = this.stars, [l, u, o] = view.basis, { W, H, k } = view, n = mag.length, seen = [];
    for (let i = 0, j = 0; i < n && mag[i] <= this.shown.stars; i++, j += 3) {
      const x = v[j], y = v[j + 1], z = v[j + 2], out = x * o[0] + y * o[1] + z * o[2];
      if (out < 0.1) continue;
      const px = W / 2 - (x * l[0] + y * l[1] + z * l[2]) / out * k, py = H / 2 - (x * u[0] + y * u[1] + z * u[2]) / out * k;
      if (px > 0 && py > 0 && px < W && py < H) seen.push(px, py, mag[i]);
    }
    const faint = seen.length ? Math.max(seen.at(-1), 5) : 10, radius = m => Math.min(5.5, 0.55 + 0.4 * (faint - m));
    ctx.fillStyle = style.star;
    for (let i = 0; i < seen.length;) {                                     // brightest first: one path per size
      const r = radius(seen[i + 2]); ctx.beginPath();
      for (; i < seen.length && radius(seen[i + 2]) > r - 0.25; i += 3)
        if (r < 1) ctx.rect(seen[i] - r, seen[i + 1] - r, 2 * r, 2 * r);
        else { ctx.moveTo(seen[i] + r, seen[i + 1]); ctx.arc(seen[i], seen[i + 1], r, 0, 7); }
      ctx.fill();
    }
  }

  drawObjects(ctx, view, style) {
    ctx.strokeStyle = style.object; ctx.lineWidth = 1;
    for (const o of this.objects) {
      ctx.setLineDash(o.turned ? [3, 2] : [1, 3]);
      o.px = view.pixel(o.v); o.size = o.major * RAD * view.k / 2;
      if (!view.inside(o.px, o.size + 4)) { o.px = null; continue; }
      ctx.beginPath();
      if (o.size < 4) ctx.arc(...o.px, 4, 0, 7); else trace(ctx, o.rim.map(v => view.pixel(v)), true);
      ctx.stroke();
    }
    ctx.setLineDash([]);
    if (!this.shown.names) return;
    ctx.font = `11px ${style.font}`; ctx.textBaseline = "middle";
    for (const o of this.objects) if (o.px && view.inside(o.px, -30))
      this.label(ctx, { ...style, faint: style.object }, o.name, [o.px[0], o.px[1] + Math.min(Math.max(o.size, 4) + 9, 40)], "center");
  }

  // Text with a halo, unless it would lie over an earlier one.
  label(ctx, style, text, at, align) {
    if (!at) return;
    const w = ctx.measureText(text).width + 8;
    at = [clamp(at[0], w / 2, this.wide - w / 2), at[1]];
    const box = [at[0] - w / 2, at[1] - 8, at[0] + w / 2, at[1] + 8];
    if (this.taken.some(b => box[0] < b[2] && b[0] < box[2] && box[1] < b[3] && b[1] < box[3])) return;
    this.taken.push(box);
    ctx.textAlign = align; ctx.lineWidth = 4; ctx.lineJoin = "round"; ctx.strokeStyle = style.ground; ctx.strokeText(text, ...at);
    ctx.fillStyle = style.faint; ctx.fillText(text, ...at); ctx.lineWidth = 1; ctx.strokeStyle = style.line;
  }

  // The objects under a pixel: the smallest of those that contain it first.
  objectsAt(x, y) {
    const near = !this.shown.other ? [] : this.otherAt(x, y);
    return [...near, ...this.nebulae.at(x, y)].sort((a, b) => (a.across ?? a.major) - (b.across ?? b.major));
  }

  objectAt(x, y) { return this.objectsAt(x, y)[0]; }

  otherAt(x, y) {
    const near = this.objects.filter(o => o.px && Math.hypot(o.px[0] - x, o.px[1] - y) < Math.max(8, Math.min(o.size, 60)));
    return near.sort((a, b) => a.major - b.major).slice(0, 1);
  }
}

function trace(ctx, points, close = false) {
  let pen = false;
  for (const p of points) { if (!p) pen = false; else if (pen) ctx.lineTo(p[0], p[1]); else { ctx.moveTo(p[0], p[1]); pen = true; } }
  if (close) ctx.closePath();
}

function decodeStars(base64) {
  const bytes = Uint8Array.from(atob(base64), c => c.charCodeAt(0)), all = new Float32Array(bytes.buffer), n = all.length / 3;
  const v = new Float32Array(3 * n), mag = new Float32Array(n);
  for (let i = 0; i < n; i++) { v.set(skyToVector(all[3 * i], all[3 * i + 1]), 3 * i); mag[i] = all[3 * i + 2]; }
  return { v, mag };
}

function objectRim({ ra, dec, major, minor, pa }) {
  const basis = skyBasis(ra, dec, pa), a = Math.tan(major * RAD / 2), b = Math.tan(minor * RAD / 2);
  return Array.from({ length: 36 }, (_, i) => fromPlane(b * Math.sin(i * Math.PI / 18), a * Math.cos(i * Math.PI / 18), basis));
}

// Colours of the page, for the canvas.
function style(svg) {
  const css = getComputedStyle(svg), get = name => css.getPropertyValue(name).trim();
  return { line: get("--sky-line"), star: get("--sky-star"), object: get("--sky-object"), kinds: Object.fromEntries(
      ["emission", "reflection", "dark", "remnant", "other"].map(kind => [kind, get(`--sky-${kind}`)])), faint: get("--sky-faint"),
    ground: get("--sky-ground"), font: get("--st-font") || "sans-serif" };
}
