// The scene of a trial: the ground as a strip, the vehicle from its side view on both sides, the bodies as boxes on it.
// Places and angles are the server's; wheels are turned by the way that the drive has made.
import {
  BoxGeometry,
  BufferGeometry,
  Color,
  CylinderGeometry,
  EdgesGeometry,
  Float32BufferAttribute,
  Group,
  Line,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  PerspectiveCamera,
  Scene,
  Vector3,
  WebGLRenderer,
} from 'three';

import { type BodyBox, disposeOf } from './space_scene.ts';
import { beltPoints, type Instant, type Vehicle } from './trial_run.ts';

export interface TrialSceneInput {
  ground: [number, number][];
  vehicle: Vehicle;
  bodies: BodyBox[];
  wide?: boolean; ///< it turns: ground to both sides
  across_deg?: number; ///< the ground falls to the right
  ink: string;
  accent: string;
  rust: string;
  paper: string;
}
export interface TrialScene {
  /// `way_mm` = what the drive's surface has run.
  pose(at: Instant, way_mm: number): void;
  turn(azimuth: number, height: number, zoom: number): void;
  resize(width: number, height: number): void;
  dispose(): void;
}

const kBeyond_mm = 3600; // level ground drawn at both ends
const kLineEvery_mm = 50;
const kPiece_mm = 300; // of a line
const kWheelWidth_mm = 12;
const kRad = Math.PI / 180;

function groundOf(line: [number, number][], half: number, input: TrialSceneInput): Group {
  const group = new Group();
  const first = line[0] ?? [0, 0];
  const last = line[line.length - 1] ?? [0, 0];
  const whole: [number, number][] = [[first[0] - kBeyond_mm, first[1]], ...line, [last[0] + kBeyond_mm, last[1]]];
  const ink = new Color(input.ink);
  const paper = new Color(input.paper);
  const faces: Record<'level' | 'wall', number[]> = { level: [], wall: [] };
  const lines: number[] = [];
  for (let i = 0; i + 1 < whole.length; i++) {
    const [a, b] = [whole[i]!, whole[i + 1]!];
    const flat = b[0] - a[0] > 1e-6;
    const quad = [
      a[0],
      -half,
      a[1],
      b[0],
      -half,
      b[1],
      b[0],
      half,
      b[1],
      a[0],
      -half,
      a[1],
      b[0],
      half,
      b[1],
      a[0],
      half,
      a[1],
    ];
    faces[flat ? 'level' : 'wall'].push(...quad);
    for (const y of [-half, half]) lines.push(a[0], y, a[1], b[0], y, b[1]);
    if (!flat) continue;
    for (let x = Math.ceil(a[0] / kLineEvery_mm) * kLineEvery_mm; x <= b[0]; x += kLineEvery_mm) {
      const z = a[1] + ((b[1] - a[1]) * (x - a[0])) / (b[0] - a[0]) + 0.3;
      // In pieces: some drivers drop a line of which an end lies behind the eye.
      for (let y = -half; y < half; y += kPiece_mm) lines.push(x, y, z, x, Math.min(y + kPiece_mm, half), z);
    }
  }
  for (const [kind, share] of [
    ['level', 0.06],
    ['wall', 0.3],
  ] as const) {
    const shape = new BufferGeometry().setAttribute('position', new Float32BufferAttribute(faces[kind], 3));
    group.add(
      new Mesh(
        shape,
        new MeshBasicMaterial({
          color: paper.clone().lerp(ink, share),
          side: 2,
          polygonOffset: true,
          polygonOffsetFactor: 1,
          polygonOffsetUnits: 1,
        }),
      ),
    );
  }
  const shape = new BufferGeometry().setAttribute('position', new Float32BufferAttribute(lines, 3));
  group.add(new LineSegments(shape, new LineBasicMaterial({ color: paper.clone().lerp(ink, 0.35) })));
  return group;
}

/// Throws when the browser offers no WebGL.
export function makeTrialScene(canvas: HTMLCanvasElement, input: TrialSceneInput): TrialScene {
  const renderer = new WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new Scene();
  scene.background = new Color(input.paper);
  const camera = new PerspectiveCamera(32, 1, 10, 12000);
  camera.up.set(0, 0, 1);
  const v = input.vehicle;
  const half = Math.max(v.gauge_mm / 2, 30);
  const root = new Group();
  root.rotation.x = (input.across_deg ?? 0) * kRad;
  scene.add(root);
  root.add(groundOf(input.ground, input.wide ? 1200 : half + 70, input));

  const ink = new Color(input.ink);
  const edge = new LineBasicMaterial({ color: ink });
  const rubber = new MeshBasicMaterial({ color: ink.clone().lerp(new Color(input.paper), 0.45) });
  const driven = new MeshBasicMaterial({ color: input.accent });
  const hull = new Group();
  root.add(hull);
  // Bodies hang on their joints as in the project; a run from the side leaves them at rest.
  const frames = new Map<string, { group: Group; rest: Vector3 }>();
  const joints = input.bodies.map((b) => {
    const parent = b.parent !== null ? frames.get(b.parent) : undefined;
    const rest = new Vector3(...(b.joint?.pivot ?? [0, 0, 0]));
    const group = new Group();
    group.position.copy(rest).sub(parent?.rest ?? new Vector3());
    (parent?.group ?? hull).add(group);
    frames.set(b.id, { group, rest });
    return { group, type: b.joint?.type ?? '' };
  });
  for (const [i, b] of input.bodies.entries()) {
    const box = new BoxGeometry(...b.size);
    const solid = new Mesh(
      box,
      new MeshBasicMaterial({ color: input.accent, transparent: true, opacity: 0.2, depthWrite: false }),
    );
    const edges = new LineSegments(new EdgesGeometry(box), edge);
    const at = new Vector3(...b.centre).sub(frames.get(b.id)?.rest ?? new Vector3());
    solid.position.copy(at);
    edges.position.copy(at);
    joints[i]?.group.add(solid, edges);
  }
  if (v.underside_mm.length > 1)
    for (const y of [-half * 0.6, half * 0.6])
      hull.add(
        new Line(
          new BufferGeometry().setFromPoints(v.underside_mm.map(([x, z]) => new Vector3(x, y, z))),
          new LineBasicMaterial({ color: input.rust }),
        ),
      );
  const rope = new Line(new BufferGeometry().setFromPoints([new Vector3(), new Vector3()]), edge);
  const load = new Mesh(new BoxGeometry(20, 20, 20), driven);
  rope.visible = load.visible = false;
  rope.frustumCulled = false;
  root.add(rope, load);
  const rockers = v.rockers.map((r) => {
    const group = new Group();
    group.position.set(r.x_mm, 0, r.z_mm);
    hull.add(group);
    const on = v.wheels.filter((w) => v.rockers[w.rocker] === r);
    const points = [...on.map((w) => new Vector3(w.x_mm - r.x_mm, 0, w.z_mm - r.z_mm)), new Vector3()];
    for (const y of [-half, half]) {
      const beam = new Line(new BufferGeometry().setFromPoints([...points, points[0]!]), edge);
      beam.position.y = y;
      group.add(beam);
    }
    return group;
  });
  const wheels = v.wheels.flatMap((w) => {
    const carrier = rockers[w.rocker] ?? hull;
    const r = v.rockers[w.rocker];
    return [-half, half].map((y) => {
      const group = new Group();
      group.position.set(w.x_mm - (r?.x_mm ?? 0), y, w.z_mm - (r?.z_mm ?? 0));
      const disc = new CylinderGeometry(w.radius_mm, w.radius_mm, kWheelWidth_mm, 28);
      const side = Math.sign(y) * (kWheelWidth_mm / 2 + 0.4);
      const spokes = [0, 1, 2].flatMap((k) => {
        const [c, s] = [w.radius_mm * Math.cos((k * Math.PI) / 3), w.radius_mm * Math.sin((k * Math.PI) / 3)];
        return [new Vector3(c, side, s), new Vector3(-c, side, -s)];
      });
      group.add(
        new Mesh(disc, w.driven && !v.belt ? driven : rubber),
        new LineSegments(new EdgesGeometry(disc, 40), edge),
        new LineSegments(new BufferGeometry().setFromPoints(spokes), new LineBasicMaterial({ color: input.paper })),
      );
      carrier.add(group);
      return { group, wheel: w };
    });
  });
  // A belt is its outline with cleats that run along it.
  const outline = v.belt ? beltPoints(v.wheels) : [];
  const lengths = outline.map(([x, z], i) => {
    const [nx, nz] = outline[(i + 1) % outline.length]!;
    return Math.hypot(nx - x, nz - z);
  });
  const around = lengths.reduce((a, b) => a + b, 0);
  const kCleatEvery_mm = 14;
  const cleats = Array.from({ length: Math.floor(around / kCleatEvery_mm) }, (_, i) =>
    [-half, half].map((y) => {
      const cleat = new Mesh(new BoxGeometry(3, kWheelWidth_mm + 6, 3), driven);
      cleat.position.y = y;
      hull.add(cleat);
      return { cleat, at: i * kCleatEvery_mm };
    }),
  ).flat();
  if (outline.length > 0)
    for (const y of [-half, half])
      hull.add(
        new Line(
          new BufferGeometry().setFromPoints([...outline, outline[0]!].map(([x, z]) => new Vector3(x, y, z))),
          edge,
        ),
      );
  const runCleats = (way_mm: number) => {
    for (const { cleat, at } of cleats) {
      // The outline goes round counter-clockwise; the belt's lower run goes back as the vehicle goes ahead.
      let left = (((at - way_mm) % around) + around) % around;
      let i = 0;
      while (i + 1 < lengths.length && left > lengths[i]!) left -= lengths[i++]!;
      const [[ax, az], [bx, bz]] = [outline[i]!, outline[(i + 1) % outline.length]!];
      const share = lengths[i]! > 0 ? left / lengths[i]! : 0;
      cleat.position.x = ax + (bx - ax) * share;
      cleat.position.z = az + (bz - az) * share;
      cleat.rotation.y = -Math.atan2(bz - az, bx - ax);
    }
  };

  const xs = v.wheels.flatMap((w) => [w.x_mm - w.radius_mm, w.x_mm + w.radius_mm]);
  const tall = Math.max(0, ...input.bodies.map((b) => b.centre[2] + b.size[2] / 2));
  const ends = input.bodies.flatMap((b) => [b.centre[0] - b.size[0] / 2, b.centre[0] + b.size[0] / 2]);
  // Booms may stick out of the picture: the ground and the wheels are what is looked at.
  const long = Math.max(...xs, ...ends) - Math.min(...xs, ...ends);
  const reach = Math.max(Math.max(...xs) - Math.min(...xs), tall, long * 0.55, 120);
  let view = { azimuth: 112, height: 16, zoom: 1 };
  const middle = new Vector3();
  const draw = () => {
    const distance = (reach * 2.6) / view.zoom / Math.min(1, camera.aspect);
    const [a, h] = [view.azimuth * kRad, view.height * kRad];
    const target = middle.clone().add(new Vector3(0, 0, Math.min(tall * 0.45, reach * 0.4)));
    camera.position.set(
      target.x + distance * Math.cos(h) * Math.cos(a),
      target.y - distance * Math.cos(h) * Math.sin(a),
      target.z + distance * Math.sin(h),
    );
    camera.lookAt(target);
    renderer.render(scene, camera);
  };
  return {
    pose(at, way_mm) {
      hull.position.set(at.x_mm, at.y_mm ?? 0, at.z_mm);
      hull.rotation.set((at.roll_deg ?? 0) * kRad, -at.pitch_deg * kRad, (at.yaw_deg ?? 0) * kRad, 'ZYX');
      if (at.joint_deg?.length === joints.length)
        joints.forEach(({ group, type }, i) => {
          const angle = (at.joint_deg?.[i] ?? 0) * kRad;
          if (type === 'slew') group.rotation.set(0, 0, angle);
          if (type === 'pitch') group.rotation.set(0, -angle, 0);
        });
      const [hook, hangs] = [at.hook_mm, at.load_mm];
      rope.visible = load.visible = Boolean(hook && hangs);
      if (hook && hangs) {
        const [from, to] = [new Vector3(...hook), new Vector3(...hangs)];
        rope.geometry.setFromPoints([from, to]);
        load.position.copy(to);
      }
      rockers.forEach((r, i) => r.rotation.set(0, -(at.rocker_deg[i] ?? 0) * kRad, 0));
      for (const { group, wheel } of wheels)
        group.rotation.y = (wheel.driven || v.belt ? way_mm : at.x_mm) / Math.max(wheel.radius_mm, 1);
      if (cleats.length > 0) runCleats(way_mm);
      middle.set(at.x_mm, at.y_mm ?? 0, at.z_mm);
      draw();
    },
    turn(azimuth, height, zoom) {
      view = { azimuth, height, zoom };
      draw();
    },
    resize(width, height) {
      renderer.setSize(width, height, false);
      camera.aspect = width / Math.max(height, 1);
      camera.updateProjectionMatrix();
      draw();
    },
    dispose: () => disposeOf(scene, renderer),
  };
}
