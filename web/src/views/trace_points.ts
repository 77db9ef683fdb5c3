// Geometry of tracing: picture points to places on the hole lattice at a chosen scale. Plain display geometry, exact where the
// lattice is: half-pitches.

export type Role = 'wheel' | 'pivot' | 'end' | 'foot';
export interface Point {
  id: number;
  role: Role;
  name: string;
  u: number;
  v: number;
} // picture pixels, v down
export interface TraceData {
  picture: string;
  facing: 'right' | 'left';
  known: { a: [number, number] | null; b: [number, number] | null; length_mm: number };
  ground: number | null; ///< v of the ground
  centre: number | null; ///< u of the machine's middle; left out = middle between first and last wheel
  scale: number; ///< real length / model length
  pitch_mm: number | null; ///< hole pitch; null = the kit system's usual one
  points: Point[];
}
export const kEmpty: TraceData = {
  picture: '',
  facing: 'right',
  known: { a: null, b: null, length_mm: 0 },
  ground: null,
  centre: null,
  scale: 20,
  pitch_mm: null,
  points: [],
};

/// Real millimetres per pixel, or null while two points and their distance are not known.
export function mmPerPixel(t: TraceData): number | null {
  const { a, b, length_mm } = t.known;
  if (!a || !b || !(length_mm > 0)) return null;
  const pixels = Math.hypot(a[0] - b[0], a[1] - b[1]);
  return pixels > 0 ? length_mm / pixels : null;
}

export function groundOf(t: TraceData): number | null {
  if (t.ground !== null) return t.ground;
  const low = t.points.filter((p) => p.role === 'foot').map((p) => p.v);
  return low.length > 0 ? Math.max(...low) : null;
}
export function centreOf(t: TraceData): number | null {
  if (t.centre !== null) return t.centre;
  const wheels = t.points.filter((p) => p.role === 'wheel').map((p) => p.u);
  return wheels.length > 0 ? (Math.min(...wheels) + Math.max(...wheels)) / 2 : null;
}

export interface Placed {
  x_mm: number;
  z_mm: number;
  x_hp: number;
  z_hp: number;
  off_mm: number;
}

/// Where a point is on the model: x forward from the middle, z up from the ground, snapped to half-pitches.
export function placed(t: TraceData, p: { u: number; v: number }, pitch_mm: number): Placed | null {
  const per = mmPerPixel(t);
  const ground = groundOf(t);
  const centre = centreOf(t);
  if (per === null || ground === null || centre === null || !(t.scale > 0)) return null;
  const sign = t.facing === 'right' ? 1 : -1;
  const x_mm = (sign * (p.u - centre) * per) / t.scale;
  const z_mm = ((ground - p.v) * per) / t.scale;
  const half = pitch_mm / 2;
  const x_hp = Math.round(x_mm / half);
  const z_hp = Math.round(z_mm / half);
  return { x_mm, z_mm, x_hp, z_hp, off_mm: Math.hypot(x_mm - x_hp * half, z_mm - z_hp * half) };
}
