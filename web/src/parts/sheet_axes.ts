// Reads a drawing's views: where their axes lie and which place in pitches a point of the sheet is. A view is told by
// data-* attributes of its group where the server writes them, else by its axis texts and tick numbers.

export interface Axis {
  name: string;
  at: number;
  value: number;
  perUnit: number;
}
export interface DrawnView {
  left: number;
  right: number;
  top: number;
  bottom: number;
  across: Axis;
  up: Axis;
}
export interface Cleaned {
  html: { __html: string };
  box: { x: number; y: number; w: number; h: number };
  views: DrawnView[];
}

const kTextRise = 0.36; // of the font size: numbers stand this far below the middle of their tick

const numberOf = (text: string) => Number(text.replace('−', '-').replace('½', '.5'));
const attribute = (e: Element, name: string) => Number(e.getAttribute(name) ?? 'NaN');

interface Label {
  text: string;
  x: number;
  y: number;
  size: number;
}

function axis(name: string, ticks: { at: number; value: number }[]): Axis | null {
  const sorted = [...ticks].sort((a, b) => a.at - b.at);
  const first = sorted[0];
  const last = sorted.at(-1);
  if (!first || !last || last.at === first.at || last.value === first.value) return null;
  return { name, at: first.at, value: first.value, perUnit: (last.at - first.at) / (last.value - first.value) };
}

function fromTexts(svg: Element): DrawnView[] {
  const labels: Label[] = [...svg.querySelectorAll('text')].map((t) => ({
    text: (t.textContent ?? '').trim(),
    x: attribute(t, 'x'),
    y: attribute(t, 'y'),
    size: attribute(t, 'font-size'),
  }));
  const ups = labels.filter((l) => /^[xyz] ↑$/.test(l.text));
  const numbers = labels.filter((l) => /^−?\d+½?$/.test(l.text));
  return labels
    .filter((l) => /^[xyz] →$/.test(l.text))
    .flatMap((a) => {
      const u = ups
        .filter((l) => l.x < a.x && l.y < a.y)
        .sort((p, q) => q.x - p.x || q.y - p.y)
        .find((l) => !ups.some((o) => o !== l && Math.abs(o.x - l.x) < 2 && o.y > l.y && o.y < a.y));
      if (!u) return [];
      const row = numbers.filter((n) => Math.abs(n.y - a.y) < 0.5 && n.x < a.x && n.x > u.x);
      const column = numbers.filter((n) => Math.abs(n.x - u.x) < 14 && n.y > u.y && n.y < a.y - 4);
      const across = axis(
        a.text.charAt(0),
        row.map((n) => ({ at: n.x, value: numberOf(n.text) })),
      );
      const up = axis(
        u.text.charAt(0),
        column.map((n) => ({ at: n.y - kTextRise * n.size, value: numberOf(n.text) })),
      );
      if (!across || !up) return [];
      const xs = row.map((n) => n.x);
      const ys = column.map((n) => n.y);
      const step = Math.abs(across.perUnit);
      return [
        {
          left: Math.min(...xs) - step,
          right: Math.max(...xs) + step,
          top: Math.min(...ys) - step,
          bottom: Math.max(...ys) + step,
          across,
          up,
        },
      ];
    });
}

function fromData(svg: Element): DrawnView[] {
  return [...svg.querySelectorAll('[data-view]')].flatMap((g) => {
    const [a = 'x', b = 'z'] = (g.getAttribute('data-view') ?? '').split('');
    const per = attribute(g, 'data-px_per_pitch');
    const [x0, y0] = [attribute(g, 'data-x0'), attribute(g, 'data-y0')];
    const [left, top, right, bottom] = ['data-left', 'data-top', 'data-right', 'data-bottom'].map((n) =>
      attribute(g, n),
    ) as [number, number, number, number];
    if (![per, x0, y0, left, top, right, bottom].every(Number.isFinite)) return [];
    return [
      {
        left,
        right,
        top,
        bottom,
        across: { name: a, at: x0, value: 0, perUnit: per },
        up: { name: b, at: y0, value: 0, perUnit: -per },
      },
    ];
  });
}

/// The drawing without anything that could act (scripts, handlers, foreign content), sized by its view box.
export function cleaned(text: string): Cleaned {
  const svg = new DOMParser().parseFromString(text, 'image/svg+xml').documentElement;
  svg.querySelectorAll('script, foreignObject, a, use, image, style').forEach((e) => e.remove());
  [svg, ...svg.querySelectorAll('*')].forEach((e) => {
    for (const { name } of [...e.attributes]) if (/^on|href$/i.test(name)) e.removeAttribute(name);
  });
  const [x = 0, y = 0, w = 100, h = 100] = (svg.getAttribute('viewBox') ?? '').split(/[ ,]+/).map(Number);
  const told = fromData(svg);
  const views = told.length > 0 ? told : fromTexts(svg);
  svg.setAttribute('width', '100%');
  svg.setAttribute('height', '100%');
  svg.setAttribute('aria-hidden', 'true');
  svg.querySelector('title')?.remove(); // the browser would show it over the coordinates
  return { html: { __html: svg.outerHTML }, box: { x, y, w, h }, views };
}

function pitches(value: number): string {
  const half = Math.round(value * 2);
  const whole = Math.floor(Math.abs(half) / 2);
  const text = `${whole === 0 && half % 2 !== 0 ? '' : whole}${half % 2 !== 0 ? '½' : ''}`;
  return (half < 0 ? '−' : '') + text;
}

/// "x −7½, z 3 p": the half-pitch next to the point, or nothing outside every view.
export function spot(views: DrawnView[], x: number, y: number): string | null {
  const v = views.find((w) => x >= w.left && x <= w.right && y >= w.top && y <= w.bottom);
  if (!v) return null;
  const place = (a: Axis, p: number) => `${a.name} ${pitches(a.value + (p - a.at) / a.perUnit)}`;
  return `${place(v.across, x)}, ${place(v.up, y)} p`;
}
