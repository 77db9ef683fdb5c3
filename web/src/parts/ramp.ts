// Colours of the load chart: one ramp per scheme, monotonic in lightness, so that it reads in grey and to colour-blind
// eyes as well. On paper much is deep, on a dark desk much is bright: what stands out is what lifts most.

export type Scheme = 'light' | 'dark';

export const kRamps: Record<Scheme, readonly string[]> = {
  light: ['#eef3ee', '#c9e0d3', '#93c7bd', '#55a5a6', '#2b7d88', '#1b5566', '#102f45'],
  dark: ['#2c4a5e', '#2c6577', '#2f8389', '#4ba28f', '#84bf8f', '#c3da9c', '#f6f2c4'],
};

/// Of an sRGB colour, "#rrggbb".
export function channels(colour: string): [number, number, number] {
  return [1, 3, 5].map((i) => parseInt(colour.slice(i, i + 2), 16)) as [number, number, number];
}

export function rampColour(scheme: Scheme, t: number): string {
  const stops = kRamps[scheme];
  const x = Math.min(Math.max(t, 0), 1) * (stops.length - 1);
  const i = Math.min(Math.floor(x), stops.length - 2);
  const [a, b] = [channels(stops[i] ?? '#000000'), channels(stops[i + 1] ?? '#000000')];
  return (
    '#' +
    a
      .map((v, c) =>
        Math.round(v + ((b[c] ?? 0) - v) * (x - i))
          .toString(16)
          .padStart(2, '0'),
      )
      .join('')
  );
}

/// Light that a channel gives, 0 to 1 (IEC 61966-2-1).
function linear(channel: number): number {
  const v = channel / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}

/// Relative luminance, 0 to 1 (WCAG 2.2).
export function luminance(colour: string): number {
  const [r, g, b] = channels(colour).map(linear) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/// Contrast ratio, 1 to 21 (WCAG 2.2).
export function contrast(a: string, b: string): number {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

/// Which of two inks reads better on a colour.
export function inkOn(colour: string, dark: string, light: string): string {
  return contrast(colour, dark) >= contrast(colour, light) ? dark : light;
}

export const kMarkInks = { dark: '#10222b', light: '#ffffff' } as const;
export const kUnderInks = { dark: '#6e2500', light: '#ffb48a' } as const;
