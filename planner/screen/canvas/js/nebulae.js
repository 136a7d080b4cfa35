// Nebulae: outlines at three depths of one tint, entries without one as ellipses. Kinds differ in tint, lightness and
// texture, so that they are told apart in red light too. Outlines are drawn on a layer of their own; while the view
// moves the layer is moved along, and drawn anew once the view rests.
const LAYER_RIM = 0.3, LAYER_CALM_MS = 140, LEAST_PX = 3, MOST_TITLES = 30;
const DEPTH = [0.2, 0.24, 0.3];
const SHOWN = { emission: true, reflection: true, dark: true, remnant: true, other: true, outlines: true, names: true, full: true,
  shades: true, thirds: false, middle: false, diagonals: false, stars: 11 };

// What an entry's kind is called among the switches.
function shownKind(kind) {
  if (kind === "supernova remnant") return "remnant";
  return ["emission", "reflection", "dark"].includes(kind) ? kind : kind === "complex" || kind === "nebula" ? "emission" : "other";
}

class Nebulae {
  constructor() { this.entries = []; this.rings = []; this.layer = document.createElement("canvas"); this.textures = {}; }

  take({ entries, rings, licence }) {
    const all = new Float32Array(Uint8Array.from(atob(rings.points), c => c.charCodeAt(0)).buffer), { start } = rings;
    this.entries = entries.map(e => ({ ...e, shown: shownKind(e.kind), v: skyToVector(e.ra, e.dec), rim: objectRim(e) }));
    this.rings = rings.level.map((level, i) => {
      const v = [];
      for (let j = start[i]; j < start[i + 1]; j++) v.push(skyToVector(all[2 * j], all[2 * j + 1]));
      return { v, level, entry: rings.entry[i], shown: shownKind(rings.kind[i]) };
    });
    this.licence = licence; this.layerKey = null;
  }

  // Draw the layer where it belongs; returns whether it is only moved along and wants to be drawn anew.
  draw(ctx, view, style, shown, dpr) {
    this.view = view; this.shown = shown;
    const key = JSON.stringify([view.ra, view.dec, view.angle, view.half, view.W, view.H, shown, style, dpr]);
    const look = JSON.stringify([shown, style, dpr, view.W, view.H]), moving = performance.now() - (this.movedAt ?? -1e9) < LAYER_CALM_MS;
    let late = false;
    if (key !== this.layerKey) {
      const way = moving && look === this.look && this.along(view);
      if (way) { late = true; this.blit(ctx, way, dpr); } else { this.paint(view, style, shown, dpr); this.layerKey = key; this.look = look; }
    }
    if (!late) this.blit(ctx, [1, 0, 0, 1, 0, 0], dpr);
    return late;
  }

  blit(ctx, [a, b, c, d, e, f], dpr) {
    const { W, H } = this.drawnView, x = W * LAYER_RIM, y = H * LAYER_RIM;
    ctx.save(); ctx.transform(a, b, c, d, e, f);
    ctx.drawImage(this.layer, -x, -y, W + 2 * x, H + 2 * y); ctx.restore();
  }

  // The affine way from the layer's view to another one; null where it would show what the layer lacks.
  along(view) {
    const old = this.drawnView, { W, H } = view;
    const at = (x, y) => old.pixel(view.vector(x, y));
    const p = [at(W / 2, H / 2), at(W, H / 2), at(W / 2, H)], far = [[0, 0], [W, 0], [0, H], [W, H]].map(c => at(...c));
    if ([...p, ...far].some(q => !q || q[0] < -W * LAYER_RIM || q[0] > W * (1 + LAYER_RIM) || q[1] < -H * LAYER_RIM || q[1] > H * (1 + LAYER_RIM))) return null;
    const ux = (p[1][0] - p[0][0]) / (W / 2), uy = (p[1][1] - p[0][1]) / (W / 2), vx = (p[2][0] - p[0][0]) / (H / 2), vy = (p[2][1] - p[0][1]) / (H / 2);
    const det = ux * vy - uy * vx, scale = Math.sqrt(Math.abs(det));
    if (!(scale > 0.4 && scale < 2.5)) return null;
    const a = vy / det, b = -uy / det, c = -vx / det, d = ux / det;
    return [a, b, c, d, W / 2 - a * p[0][0] - c * p[0][1], H / 2 - b * p[0][0] - d * p[0][1]];
  }

  paint(view, style, shown, dpr) {
    const wide = Object.assign(new View(), { ra: view.ra, dec: view.dec, angle: view.angle, half: view.half, W: view.W, H: view.H });
    wide.changed(); this.drawnView = wide;
    const x = view.W * LAYER_RIM, y = view.H * LAYER_RIM, c = this.layer, ctx = this.pen ??= c.getContext("2d");
    c.width = Math.round((view.W + 2 * x) * dpr); c.height = Math.round((view.H + 2 * y) * dpr);
    ctx.setTransform(dpr, 0, 0, dpr, x * dpr, y * dpr);
    for (const o of this.entries) { const p = wide.pixel(o.v); o.px = p && wide.inside(p, Math.max(x, o.across * RAD * wide.k)) ? p : null; o.size = o.across * RAD * wide.k / 2; }
    if (shown.outlines) this.paintRings(ctx, wide, style, shown);
    this.paintEllipses(ctx, wide, style, shown);
  }

  // Every ring of a level and kind goes into one path: few fills, and none twice over itself.
  paintRings(ctx, view, style, shown) {
    for (const level of [0, 1, 2]) for (const kind of ["emission", "reflection", "remnant", "other", "dark"]) {
      if (!shown[kind]) continue;
      ctx.beginPath(); let any = false;
      for (const ring of this.rings) {
        if (ring.level !== level || ring.shown !== kind) continue;
        ring.px = thinned(ring.v.map(v => view.pixel(v)));
        if (ring.px.length < 3 || !overlaps(ring.px, view)) continue;
        trace(ctx, ring.px, true); any = true;
      }
      if (any) this.fill(ctx, style, kind, DEPTH[level], level === 0);
    }
  }

  fill(ctx, style, kind, depth, textured) {
    ctx.globalAlpha = depth * (kind === "dark" ? 1.6 : 1); ctx.fillStyle = style.kinds[kind]; ctx.fill();
    const texture = textured && this.texture(ctx, kind, style);
    if (texture) { ctx.globalAlpha = 0.34; ctx.fillStyle = texture; ctx.fill(); }
    ctx.globalAlpha = 1;
  }

  // Emission is smooth, reflection dotted, dark clouds hatched, remnants hatched both ways.
  texture(ctx, kind, style) {
    if (kind === "emission" || kind === "other") return null;
    const key = kind + style.kinds[kind];
    if (this.textures[key]) return this.textures[key];
    const tile = document.createElement("canvas"), t = tile.getContext("2d"); tile.width = tile.height = 8;
    t.strokeStyle = t.fillStyle = style.kinds[kind]; t.lineWidth = 1;
    if (kind === "reflection") { t.fillRect(1, 1, 1.6, 1.6); t.fillRect(5, 5, 1.6, 1.6); }
    else { t.beginPath(); t.moveTo(-1, 9); t.lineTo(9, -1); if (kind === "remnant") { t.moveTo(-1, -1); t.lineTo(9, 9); } t.stroke(); }
    return this.textures[key] = ctx.createPattern(tile, "repeat");
  }

  paintEllipses(ctx, view, style, shown) {
    ctx.lineWidth = 1;
    for (const o of this.entries) {
      if (!shown[o.shown] || (o.outlined && shown.outlines) || !o.px || o.size < LEAST_PX) continue;
      const rim = o.rim.map(v => view.pixel(v)).filter(Boolean);
      if (rim.length < 3) continue;
      ctx.beginPath(); trace(ctx, rim, true);
      const texture = o.shown === "dark" && o.size > 8 && o.size < 400 && this.texture(ctx, "dark", style);
      if (texture) { ctx.globalAlpha = 0.16; ctx.fillStyle = texture; ctx.fill(); }
      ctx.globalAlpha = 0.38; ctx.strokeStyle = style.kinds[o.shown]; ctx.setLineDash([2, 3]); ctx.stroke(); ctx.setLineDash([]); ctx.globalAlpha = 1;
    }
  }

  // Names: what has an outline or a name in words first, then the largest; smaller ones as one comes closer.
  names(view, label, shown) {
    if (!shown.names) return;
    const rank = o => (o.outlined || o.words ? 1000 : 0) + o.across;
    let room = MOST_TITLES;
    for (const o of [...this.entries].sort((a, b) => rank(b) - rank(a))) {
      const size = o.across * RAD * view.k / 2;
      if (!shown[o.shown] || size < (rank(o) > 999 ? 9 : 24) || size > 0.9 * view.W || o.kind === "complex") continue;
      const p = view.pixel(o.v);
      if (view.inside(p, -24) && room-- > 0) label(o.words && size > 40 ? o.words : o.name, [p[0], p[1] + Math.min(size + 9, 0.3 * size + 12)], o.shown);
    }
  }

  // The nebulae under a pixel, whose outline or ellipse holds it: the smallest first.
  at(x, y) {
    const { view, shown } = this, held = [];
    if (!view) return [];
    if (shown.outlines) for (const ring of this.rings)
      if (ring.entry >= 0 && ring.px && shown[ring.shown] && holds(ring.v.map(v => view.pixel(v)), x, y)) held.push({ ...this.entries[ring.entry], level: ring.level });
    for (const o of this.entries) {
      if (!shown[o.shown] || (o.outlined && shown.outlines)) continue;
      const p = view.pixel(o.v), size = o.across * RAD * view.k / 2;
      if (p && Math.hypot(p[0] - x, p[1] - y) < Math.max(7, Math.min(size, 400))) held.push(o);
    }
    return held.sort((a, b) => a.across - b.across).filter((o, i) => held.findIndex(other => other.name === o.name) === i);
  }
}

// Pixels without those that lie within half a pixel of the last one kept.
function thinned(points) {
  const kept = [];
  for (const p of points) { const q = kept.at(-1); if (p && (!q || Math.abs(p[0] - q[0]) + Math.abs(p[1] - q[1]) > 0.7)) kept.push(p); }
  return kept;
}

function overlaps(points, view) {
  let [x0, x1, y0, y1] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [x, y] of points) { x0 = Math.min(x0, x); x1 = Math.max(x1, x); y0 = Math.min(y0, y); y1 = Math.max(y1, y); }
  const rx = view.W * LAYER_RIM, ry = view.H * LAYER_RIM;
  return x1 > -rx && x0 < view.W + rx && y1 > -ry && y0 < view.H + ry;
}

// Whether a polygon of pixels holds a pixel (even-odd rule).
function holds(points, x, y) {
  let inside = false;
  for (let i = 0, j = points.length - 1; i < points.length; j = i++) {
    const p = points[i], q = points[j];
    if (p && q && (p[1] > y) !== (q[1] > y) && x < (q[0] - p[0]) * (y - p[1]) / (q[1] - p[1]) + p[0]) inside = !inside;
  }
  return inside;
}
