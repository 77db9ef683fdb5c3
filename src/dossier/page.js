// Moving pictures of the dossier: a mechanism under a slider and the machine in space. Only turns what was computed;
// values of curves are read between their points.
'use strict';
(() => {
  const kSvg = 'http://www.w3.org/2000/svg';
  const add = (parent, name, attributes = {}, text) => {
    const e = name === 'canvas' || name === 'label' || name === 'input' || name === 'output' || name === 'span' ||
        name === 'p' ? document.createElement(name) : document.createElementNS(kSvg, name);
    for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
    if (text !== undefined) e.textContent = text;
    parent.append(e);
    return e;
  };
  const mark = document.documentElement.lang === 'en' ? '.' : ',';
  const text = (v, digits) => v.toFixed(digits).replace('-', '\u2212').replace('.', mark);
  const slider = (parent, before, name, low, high, at, unit, changed, words = (v) => text(v, 0) + unit) => {
    const label = document.createElement('label');
    add(label, 'span', {}, name);
    const input = add(label, 'input', {type: 'range', min: low, max: high, step: (high - low) / 200 || 1, value: at});
    const output = add(label, 'output');
    const tell = () => { output.textContent = words(Number(input.value)); };
    input.addEventListener('input', () => { tell(); changed(Number(input.value)); });
    tell();
    parent.insertBefore(label, before);
    return input;
  };
  const between = (xs, ys, x) => {
    let i = 1;
    while (i < xs.length - 1 && x > xs[i]) ++i;
    const t = Math.min(1, Math.max(0, (x - xs[i - 1]) / (xs[i] - xs[i - 1])));
    return ys[i - 1] + t * (ys[i] - ys[i - 1]);
  };

  /// A picture of straight bars and round joints that keeps its size while they move. `all`: every point ever drawn.
  const board = (figure, all) => {
    const caption = figure.querySelector('figcaption');
    const svg = document.createElementNS(kSvg, 'svg');
    figure.insertBefore(svg, caption);
    svg.setAttribute('role', 'img');
    svg.setAttribute('aria-label', figure.getAttribute('aria-label'));
    const xs = all.map((p) => p[0]), zs = all.map((p) => p[1]);
    const span = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...zs) - Math.min(...zs), 1), pad = span * 0.06;
    const low = [Math.min(...xs) - pad, Math.min(...zs) - pad], high = [Math.max(...xs) + pad, Math.max(...zs) + pad];
    svg.setAttribute('viewBox', `${low[0]} ${-high[1]} ${high[0] - low[0]} ${high[1] - low[1]}`);
    svg.style.maxHeight = '26rem';
    const w = span / 110;
    const told = document.createElement('p');
    figure.insertBefore(told, caption);
    return {
      told,
      clear: () => svg.replaceChildren(),
      line: (a, b, colour, width) => add(svg, 'line', {x1: a[0], y1: -a[1], x2: b[0], y2: -b[1], stroke: colour,
        'stroke-width': w * width, 'stroke-linecap': 'round'}),
      dot: (p, colour) => add(svg, 'circle', {cx: p[0], cy: -p[1], r: w * 1.3, fill: '#fff', stroke: colour,
        'stroke-width': w / 2}),
    };
  };
  const values = (curves, x) =>
    curves.map((c) => `${c.name}: ${text(between(c.x, c.y, x), 1)}\u00a0${c.unit}`).join(' · ');

  function turning(figure, d) {
    const all = [d.pivot, d.base];
    const turned = (p, a) => [d.pivot[0] + p[0] * Math.cos(a) - p[1] * Math.sin(a),
                              d.pivot[1] + p[0] * Math.sin(a) + p[1] * Math.cos(a)];
    for (let i = 0; i <= 40; ++i) {
      const a = (d.low_deg + (d.high_deg - d.low_deg) * i / 40) * Math.PI / 180;
      for (const p of [d.tip, d.rod]) all.push(turned(p, a));
    }
    const b = board(figure, all);
    const show = (deg) => {
      const at = (p) => turned(p, deg * Math.PI / 180);
      b.clear();
      b.line(d.pivot, d.base, '#1f2430', 1);
      b.line(d.pivot, at(d.tip), '#0072b2', 1.4);
      b.line(d.base, at(d.rod), '#d55e00', 1);
      b.dot(d.pivot, '#1f2430');
      b.dot(d.base, '#d55e00');
      b.dot(at(d.rod), '#d55e00');
      b.told.textContent = values(d.curves, deg);
    };
    const middle = (d.low_deg + d.high_deg) / 2;
    slider(figure, b.told, d.slider, d.low_deg, d.high_deg, middle, '°', show);
    show(middle);
  }

  /// Solves the square system a x = b in place; a is symmetric and positive.
  function solvedSystem(a, b) {
    const n = b.length;
    for (let c = 0; c < n; ++c) {
      for (let r = c + 1; r < n; ++r) {
        const f = a[r][c] / a[c][c];
        if (f === 0) continue;
        for (let k = c; k < n; ++k) a[r][k] -= f * a[c][k];
        b[r] -= f * b[c];
      }
    }
    for (let c = n - 1; c >= 0; --c) {
      for (let k = c + 1; k < n; ++k) b[c] -= a[c][k] * b[k];
      b[c] /= a[c][c];
    }
    return b;
  }

  /// Positions of a chain of bars over the angle of its driver, from the drawn one to either end in small steps. Each
  /// starts from the one before; Gauss and Newton's steps then give all rods their lengths again.
  function positions(d) {
    const kSteps = 60, kMostRounds = 12, kExact = 1e-7;
    const length = d.rods.map(([i, k]) => Math.hypot(d.points[i][0] - d.points[k][0], d.points[i][1] - d.points[k][1]));
    const ends = (bar) => { const [i, k] = d.bars[bar].ends; return d.stays[i] ? [i, k] : [k, i]; };
    const angle = (p, bar) => { const [s, m] = ends(bar); return Math.atan2(p[m][1] - p[s][1], p[m][0] - p[s][0]); };
    const turn = (p, bar, by) => {
      const [s, m] = ends(bar), a = angle(d.points, bar) + by;
      const r = Math.hypot(d.points[m][0] - d.points[s][0], d.points[m][1] - d.points[s][1]);
      p[m] = [p[s][0] + r * Math.cos(a), p[s][1] + r * Math.sin(a)];
    };
    const [, driven] = ends(d.driver);
    const wrapped = (a) => Math.atan2(Math.sin(a), Math.cos(a));
    const led = new Set(d.follows.map((f) => ends(f.bar)[1]));
    const free = d.points.map((_, i) => i).filter((i) => !d.stays[i] && i !== driven && !led.has(i));
    const at = new Map(free.map((i, k) => [i, 2 * k]));
    const round = (p) => {
      const n = 2 * free.length, a = [...Array(n)].map(() => Array(n).fill(0)), b = Array(n).fill(0);
      let worst = 0;
      d.rods.forEach(([i, k], r) => {
        const dx = p[k][0] - p[i][0], dz = p[k][1] - p[i][1], now = Math.hypot(dx, dz) || 1e-9;
        const off = now - length[r], row = [];
        for (const [q, sign] of [[i, -1], [k, 1]]) {
          if (at.has(q)) row.push([at.get(q), sign * dx / now], [at.get(q) + 1, sign * dz / now]);
        }
        if (row.length > 0) worst = Math.max(worst, Math.abs(off));
        for (const [x, v] of row) {
          b[x] -= v * off;
          for (const [y, w] of row) a[x][y] += v * w;
        }
      });
      // A hair of stiffness for what no rod holds.
      for (let k = 0; k < n; ++k) a[k][k] += 1e-9;
      const step = solvedSystem(a, b);
      free.forEach((i, k) => { p[i] = [p[i][0] + step[2 * k], p[i][1] + step[2 * k + 1]]; });
      return worst;
    };
    const solved = (from, by) => {
      const p = from.map((q) => [...q]);
      turn(p, d.driver, by);
      for (let k = 0; k < kMostRounds && round(p) > kExact; ++k);
      for (const f of d.follows) turn(p, f.bar, f.ratio * wrapped(angle(p, f.of) - angle(d.points, f.of)));
      return p;
    };
    const walk = (to) => {
      const out = [];
      let p = d.points;
      for (let i = 1; i <= kSteps; ++i) {
        p = solved(p, to * i / kSteps * Math.PI / 180);
        out.push({deg: to * i / kSteps, p});
      }
      return out;
    };
    const before = d.from_deg !== 0 ? walk(d.from_deg).reverse() : [];
    const after = d.to_deg !== 0 ? walk(d.to_deg) : [];
    const measured = (p) => !d.measure ? 0
      : d.measure.gap ? Math.hypot(p[d.measure.gap[0]][0] - p[d.measure.gap[1]][0],
                                   p[d.measure.gap[0]][1] - p[d.measure.gap[1]][1])
      : d.measure.at_drawn + d.measure.sign * 180 / Math.PI *
        wrapped(angle(p, d.measure.bar) - angle(d.points, d.measure.bar));
    return [...before, {deg: 0, p: d.points}, ...after].map((s) => ({...s, measured: measured(s.p)}));
  }

  function bars(figure, d) {
    const all = positions(d);
    const b = board(figure, all.flatMap((s) => s.p));
    const show = (i) => {
      const {p, measured} = all[i];
      b.clear();
      d.bars.forEach((bar) => b.line(p[bar.ends[0]], p[bar.ends[1]], bar.colour, 1.2));
      p.forEach((q, k) => b.dot(q, d.stays[k] ? '#1f2430' : '#0072b2'));
      b.told.textContent = d.measure
        ? `${d.measure.name}: ${text(measured, 1)}\u00a0${d.measure.unit} · ${values(d.curves, measured)}` : '';
    };
    // The slider counts the positions and tells the driver's angle.
    const middle = all.findIndex((s) => s.deg === 0);
    const input = slider(figure, b.told, d.slider, 0, all.length - 1, middle, '', show,
                         (i) => text(all[i].deg, 0) + '°');
    input.step = 1;
    show(middle);
  }

  function space(figure, d) {
    const caption = figure.querySelector('figcaption');
    const canvas = document.createElement('canvas');
    canvas.width = 1200;
    canvas.height = 760;
    canvas.tabIndex = 0;
    canvas.setAttribute('role', 'img');
    canvas.setAttribute('aria-label', figure.getAttribute('aria-label'));
    figure.insertBefore(canvas, caption);
    const c = canvas.getContext('2d');
    let around = -2.2, over = 0.45, zoom = 1;
    const angles = d.bodies.map((b) => b.at_deg * Math.PI / 180);
    const kFaces = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    const kLight = [0.72, 0.9, 0.8, 0.8, 0.62, 1];
    // Turned by a body's joint and by those of all that carry it.
    const placed = (body, p) => {
      let q = p;
      for (let b = body; b >= 0; b = d.bodies[b].parent) {
        const j = d.bodies[b];
        if (j.joint === 'fixed') continue;
        const a = angles[b], cs = Math.cos(a), sn = Math.sin(a), r = q.map((v, i) => v - j.pivot[i]);
        q = j.joint === 'slew' ? [r[0] * cs - r[1] * sn, r[0] * sn + r[1] * cs, r[2]]
                               : [r[0] * cs - r[2] * sn, r[1], r[0] * sn + r[2] * cs];
        q = q.map((v, i) => v + j.pivot[i]);
      }
      return q;
    };
    const middle = [0, 1, 2].map((i) => (d.low[i] + d.high[i]) / 2);
    const size = Math.hypot(...[0, 1, 2].map((i) => d.high[i] - d.low[i]));
    const draw = () => {
      const k = zoom * 0.95 * canvas.height / size, ca = Math.cos(around), sa = Math.sin(around);
      const co = Math.cos(over), so = Math.sin(over);
      const seen = (p) => {
        const r = p.map((v, i) => v - middle[i]);
        const x = -r[0] * sa + r[1] * ca, y = r[0] * ca + r[1] * sa;  // y towards the eye
        return [canvas.width / 2 + k * x, canvas.height / 2 - k * (r[2] * co - y * so), y * co + r[2] * so];
      };
      const faces = [];
      for (const b of d.boxes) {
        const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((n) => seen(placed(b.body, [
          (n & 4 ? b.high : b.low)[0], (n & 2 ? b.high : b.low)[1], (n & 1 ? b.high : b.low)[2]])));
        kFaces.forEach((f, i) => {
          const p = f.map((n) => corners[n]);
          const turn = (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[1][1] - p[0][1]) * (p[2][0] - p[0][0]);
          if (turn > 0) faces.push({p, depth: p.reduce((s, q) => s + q[2], 0) / 4, colour: b.colour, light: kLight[i],
            frame: b.frame});
        });
      }
      faces.sort((a, b) => a.depth - b.depth);
      c.fillStyle = '#ffffff';
      c.fillRect(0, 0, canvas.width, canvas.height);
      c.strokeStyle = '#c9ced6';
      const g = [[d.low[0], d.low[1]], [d.high[0], d.low[1]], [d.high[0], d.high[1]], [d.low[0], d.high[1]]]
        .map((p) => seen([p[0], p[1], 0]));
      c.beginPath();
      g.forEach((p, i) => (i ? c.lineTo(p[0], p[1]) : c.moveTo(p[0], p[1])));
      c.closePath();
      c.stroke();
      for (const f of faces) {
        c.beginPath();
        f.p.forEach((p, i) => (i ? c.lineTo(p[0], p[1]) : c.moveTo(p[0], p[1])));
        c.closePath();
        const rgb = [1, 3, 5].map((i) => Math.round(parseInt(f.colour.slice(i, i + 2), 16) * f.light));
        c.fillStyle = f.frame ? `rgba(${rgb},0.10)` : `rgb(${rgb})`;
        c.fill();
        c.strokeStyle = f.frame ? '#8a94a3' : 'rgba(0,0,0,0.35)';
        c.stroke();
      }
    };
    let held = null;
    canvas.addEventListener('pointerdown', (e) => { held = [e.clientX, e.clientY]; canvas.setPointerCapture(e.pointerId); });
    canvas.addEventListener('pointermove', (e) => {
      if (!held) return;
      around -= (e.clientX - held[0]) / 150;
      over = Math.min(1.55, Math.max(-0.3, over + (e.clientY - held[1]) / 150));
      held = [e.clientX, e.clientY];
      draw();
    });
    canvas.addEventListener('pointerup', () => { held = null; });
    canvas.addEventListener('wheel', (e) => {
      if (!e.ctrlKey) return;  // the plain wheel scrolls the page
      e.preventDefault();
      zoom = Math.min(6, Math.max(0.4, zoom * Math.exp(-e.deltaY / 500)));
      draw();
    }, {passive: false});
    canvas.addEventListener('keydown', (e) => {
      const turn = {ArrowLeft: [0.1, 0], ArrowRight: [-0.1, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1]}[e.key];
      if (turn) { around += turn[0]; over = Math.min(1.55, Math.max(-0.3, over + turn[1])); }
      if (e.key === '+') zoom = Math.min(6, zoom * 1.15);
      if (e.key === '-') zoom = Math.max(0.4, zoom / 1.15);
      if (turn || e.key === '+' || e.key === '-') { e.preventDefault(); draw(); }
    });
    d.bodies.forEach((b, i) => {
      if (b.joint === 'fixed' || b.high_deg - b.low_deg < 1e-6) return;
      slider(figure, caption, b.name, b.low_deg, b.high_deg, b.at_deg, '°', (deg) => {
        angles[i] = deg * Math.PI / 180;
        draw();
      });
    });
    draw();
  }

  for (const figure of document.querySelectorAll('[data-live]')) {
    const data = JSON.parse(figure.querySelector('script').textContent);
    const how = figure.dataset.live !== 'linkage' ? space : data.form === 'bars' ? bars : turning;
    how(figure, data);
  }
})();
