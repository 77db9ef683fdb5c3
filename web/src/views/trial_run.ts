// A recorded run between its samples, the outline of a belt, and the meters of a live drive. No engineering here: places
// between two samples, and times of pictures.

export interface Wheel {
  x_mm: number;
  z_mm: number;
  radius_mm: number;
  driven: boolean;
  rocker: number;
}
export interface Vehicle {
  belt: boolean;
  gauge_mm: number;
  speed_mm_s: number;
  pull_n: number;
  wheels: Wheel[];
  rockers: { x_mm: number; z_mm: number }[];
  underside_mm: [number, number][];
}
export interface Instant {
  time_s: number;
  x_mm: number;
  z_mm: number;
  pitch_deg: number;
  y_mm?: number;
  yaw_deg?: number;
  roll_deg?: number;
  joint_deg?: number[];
  hook_mm?: number[] | null;
  load_mm?: number[] | null;
  rocker_deg: number[];
  speed_mm_s: number;
  pull_n: number;
  contacts: number;
  underside: boolean;
}

/// The run at any time, and the way that the drive has made by then.
export function playable(samples: Instant[]): (time_s: number) => { at: Instant; way_mm: number } | null {
  const ways: number[] = [];
  samples.forEach((s, i) => {
    const before = samples[i - 1];
    ways.push(before ? ways[i - 1]! + ((s.speed_mm_s + before.speed_mm_s) / 2) * (s.time_s - before.time_s) : 0);
  });
  return (time_s) => {
    if (samples.length === 0) return null;
    let [low, high] = [0, samples.length - 1];
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (samples[middle]!.time_s <= time_s) low = middle;
      else high = middle - 1;
    }
    const [a, b] = [samples[low]!, samples[low + 1]];
    const share = b ? Math.min(Math.max((time_s - a.time_s) / (b.time_s - a.time_s), 0), 1) : 0;
    if (!b || share === 0) return { at: a, way_mm: ways[low]! };
    const mix = (x: number, y: number) => x + (y - x) * share;
    return {
      at: {
        ...a,
        time_s: mix(a.time_s, b.time_s),
        x_mm: mix(a.x_mm, b.x_mm),
        z_mm: mix(a.z_mm, b.z_mm),
        pitch_deg: mix(a.pitch_deg, b.pitch_deg),
        y_mm: mix(a.y_mm ?? 0, b.y_mm ?? 0),
        yaw_deg: mix(a.yaw_deg ?? 0, b.yaw_deg ?? 0),
        roll_deg: mix(a.roll_deg ?? 0, b.roll_deg ?? 0),
        rocker_deg: a.rocker_deg.map((r, k) => mix(r, b.rocker_deg[k] ?? r)),
        speed_mm_s: mix(a.speed_mm_s, b.speed_mm_s),
        pull_n: mix(a.pull_n, b.pull_n),
      },
      way_mm: mix(ways[low]!, ways[low + 1]!),
    };
  };
}

/// Around all wheels, counter-clockwise seen with x to the right and z up: the hull of points on their rims.
export function beltPoints(wheels: Wheel[]): [number, number][] {
  const kOnRim = 32;
  const points = wheels
    .flatMap((w) =>
      Array.from({ length: kOnRim }, (_, i): [number, number] => [
        w.x_mm + w.radius_mm * Math.cos((2 * Math.PI * i) / kOnRim),
        w.z_mm + w.radius_mm * Math.sin((2 * Math.PI * i) / kOnRim),
      ]),
    )
    .sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const turn = (o: number[], a: number[], b: number[]) =>
    (a[0]! - o[0]!) * (b[1]! - o[1]!) - (a[1]! - o[1]!) * (b[0]! - o[0]!);
  const half = (list: [number, number][]) => {
    const out: [number, number][] = [];
    for (const p of list) {
      while (out.length > 1 && turn(out[out.length - 2]!, out[out.length - 1]!, p) <= 0) out.pop();
      out.push(p);
    }
    return out.slice(0, -1);
  };
  return [...half(points), ...half([...points].reverse())];
}

/// How many pictures were drawn in the last two seconds, and how long inputs took until a picture obeyed them.
export class Meters {
  private drawn: number[] = [];
  private waiting = new Map<number, number>();
  private delays: number[] = [];

  pressed(input: number, now_ms: number): void {
    this.waiting.set(input, now_ms);
  }
  pictured(obeyed: number, now_ms: number): void {
    this.drawn.push(now_ms);
    while (this.drawn.length > 0 && this.drawn[0]! < now_ms - 2000) this.drawn.shift();
    for (const [input, since] of this.waiting) {
      if (input > obeyed) continue;
      this.waiting.delete(input);
      this.delays.push(now_ms - since);
      if (this.delays.length > 20) this.delays.shift();
    }
  }
  /// 0 = not known yet.
  get pictures_per_s(): number {
    const [first, last] = [this.drawn[0], this.drawn[this.drawn.length - 1]];
    return first === undefined || last === undefined || last <= first
      ? 0
      : ((this.drawn.length - 1) * 1000) / (last - first);
  }
  /// The slowest of the last twenty; null = none yet.
  get delay_ms(): number | null {
    return this.delays.length === 0 ? null : Math.max(...this.delays);
  }
}

/// What a driver's keys move, each as its drive's plus and minus. The words are the keys'.
export const kKeys: Record<string, [stick: string, sense: number]> = {
  ArrowUp: ['throttle', 1],
  w: ['throttle', 1],
  ArrowDown: ['throttle', -1],
  s: ['throttle', -1],
  ArrowLeft: ['steer', 1],
  a: ['steer', 1],
  ArrowRight: ['steer', -1],
  d: ['steer', -1],
  q: ['slew', 1],
  e: ['slew', -1],
  r: ['luff', 1],
  f: ['luff', -1],
  t: ['stage', 1],
  g: ['stage', -1],
  u: ['hoist', 1],
  j: ['hoist', -1],
};
export const kKeysOf: Record<string, string> = {
  steer: 'A, D or left and right arrows',
  slew: 'Q, E',
  luff: 'R, F',
  stage: 'T, G',
  hoist: 'U, J',
};

/// Sticks of a gamepad: left one drives and steers, right one slews and luffs; shoulders the next stage, triggers the hook.
export function padSticks(axes: readonly number[], buttons: readonly number[]): Record<string, number> {
  const kDead = 0.12;
  const axis = (v: number | undefined) => {
    const wanted = v ?? 0;
    return Math.abs(wanted) < kDead ? 0 : Math.round(wanted * 20) / 20;
  };
  const pair = (plus: number, minus: number) => axis((buttons[plus] ?? 0) - (buttons[minus] ?? 0));
  return {
    throttle: axis(-(axes[1] ?? 0)),
    steer: axis(-(axes[0] ?? 0)),
    slew: axis(-(axes[2] ?? 0)),
    luff: axis(-(axes[3] ?? 0)),
    stage: pair(5, 4),
    hoist: pair(7, 6),
  };
}
