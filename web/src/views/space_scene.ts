// The scene of the view in space: bodies as boxes hung in their joints, support, centre of mass and the mechanisms' lines.
// Poses are shown, not judged: every figure about stability is the server's.
import {
  Box3,
  BoxGeometry,
  BufferGeometry,
  CanvasTexture,
  Color,
  CylinderGeometry,
  EdgesGeometry,
  GridHelper,
  Group,
  Line,
  LineBasicMaterial,
  LineDashedMaterial,
  LineLoop,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  Object3D,
  PerspectiveCamera,
  Scene,
  Sphere,
  SphereGeometry,
  Sprite,
  SpriteMaterial,
  Vector3,
  WebGLRenderer,
} from 'three';

export interface BodyBox {
  id: string;
  parent: string | null;
  centre: [number, number, number];
  size: [number, number, number];
  joint: { type: string; pivot: [number, number, number]; range: [number, number] } | null;
}
export interface Train {
  function: string;
  body: string;
  shafts: { from_mm: number[]; to_mm: number[] }[];
  wheels: {
    axis: 'x' | 'y' | 'z';
    centre_mm: number[];
    radius_mm: number;
    open_mm: number;
    width_mm: number;
    name: string;
  }[];
}
export interface SceneInput {
  trains: Train[];
  bodies: BodyBox[];
  support: number[][];
  centre: number[] | null;
  actuators: { moves: string; mounts: [number, number, number, number] }[]; ///< ends at rest: base x, z, rod x, z
  ink: string;
  accent: string;
  paper: string;
}

export interface SpaceScene {
  pose(angles: Record<string, number>): void;
  turn(azimuth: number, height: number, zoom: number): void;
  resize(width: number, height: number): void;
  dispose(): void;
}

function labelOf(text: string, ink: string): Sprite {
  const canvas = document.createElement('canvas');
  canvas.width = 256;
  canvas.height = 48;
  const c = canvas.getContext('2d');
  if (c) {
    c.font = '28px sans-serif';
    c.fillStyle = ink;
    c.textAlign = 'center';
    c.fillText(text, 128, 33);
  }
  const sprite = new Sprite(new SpriteMaterial({ map: new CanvasTexture(canvas), depthTest: false }));
  sprite.scale.set(128, 24, 1);
  return sprite;
}

const kAlong = { x: new Vector3(1, 0, 0), y: new Vector3(0, 1, 0), z: new Vector3(0, 0, 1) };
const kUp = new Vector3(0, 1, 0); // a cylinder's own axis

/// Shafts and wheels of a train, in the frame of the body that carries it.
function trainOf(train: Train, rest: Vector3, input: SceneInput): Group {
  const group = new Group();
  const steel = new MeshBasicMaterial({ color: input.ink });
  const tooth = new MeshBasicMaterial({ color: input.accent, transparent: true, opacity: 0.75 });
  const rim = new LineBasicMaterial({ color: input.ink });
  const kShaft_mm = 1.6; // drawn, not measured: axles of all systems are a few millimetres thick
  for (const s of train.shafts) {
    const from = new Vector3(...(s.from_mm as [number, number, number])).sub(rest);
    const to = new Vector3(...(s.to_mm as [number, number, number])).sub(rest);
    const rod = new Mesh(new CylinderGeometry(kShaft_mm, kShaft_mm, from.distanceTo(to), 10), steel);
    rod.position.copy(from).add(to).multiplyScalar(0.5);
    rod.quaternion.setFromUnitVectors(kUp, to.clone().sub(from).normalize());
    group.add(rod);
  }
  for (const w of train.wheels) {
    // A ring is open: only its rims are drawn.
    const shape = new CylinderGeometry(w.radius_mm, w.radius_mm, w.width_mm, 32, 1, w.open_mm > 0);
    const disc = new Mesh(shape, tooth);
    const edge = new LineSegments(new EdgesGeometry(shape, 40), rim);
    for (const part of [disc, edge]) {
      part.position.set(...(w.centre_mm as [number, number, number])).sub(rest);
      part.quaternion.setFromUnitVectors(kUp, kAlong[w.axis]);
      group.add(part);
    }
  }
  return group;
}

/// Around all boxes as they stand at rest, with room for labels and for what turns.
function ballAround(input: SceneInput): Sphere {
  const box = new Box3(new Vector3(0, 0, 0), new Vector3(0, 0, 0));
  for (const b of input.bodies) {
    const middle = new Vector3(...b.centre);
    const half = new Vector3(...b.size).divideScalar(2);
    box.expandByPoint(middle.clone().sub(half)).expandByPoint(middle.clone().add(half));
  }
  const ball = box.getBoundingSphere(new Sphere());
  ball.radius = Math.max(ball.radius, 120) * 1.04;
  return ball;
}

/// Gives back what a scene holds of the graphics processor.
export function disposeOf(scene: Scene, renderer: WebGLRenderer): void {
  scene.traverse((o: Object3D) => {
    const thing = o as Mesh;
    thing.geometry?.dispose();
    for (const m of Array.isArray(thing.material) ? thing.material : [thing.material]) {
      (m as MeshBasicMaterial | undefined)?.map?.dispose();
      m?.dispose();
    }
  });
  renderer.dispose();
}

/// Throws when the browser offers no WebGL; the view then shows an elevation instead.
export function makeScene(canvas: HTMLCanvasElement, input: SceneInput): SpaceScene {
  const renderer = new WebGLRenderer({ canvas, antialias: true, preserveDrawingBuffer: true });
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new Scene();
  scene.background = new Color(input.paper);
  const camera = new PerspectiveCamera(32, 1, 10, 10000);
  camera.up.set(0, 0, 1);
  const ink = new Color(input.ink);
  const faint = ink.clone().lerp(new Color(input.paper), 0.8);
  const grid = new GridHelper(960, 60, faint, faint); // a line every second hole of an 8 mm pitch
  grid.rotation.x = Math.PI / 2;
  scene.add(grid);

  const frames = new Map<string, { group: Group; body: BodyBox; rest: Vector3 }>();
  const origin = new Vector3();
  for (const body of input.bodies) {
    const parent = body.parent !== null ? frames.get(body.parent) : undefined;
    const pivot = new Vector3(...(body.joint?.pivot ?? [0, 0, 0]));
    const group = new Group();
    group.position.copy(pivot).sub(parent?.rest ?? origin);
    (parent?.group ?? scene).add(group);
    frames.set(body.id, { group, body, rest: pivot });
    const box = new BoxGeometry(...body.size);
    const middle = new Vector3(...body.centre).sub(pivot);
    const solid = new Mesh(
      box,
      new MeshBasicMaterial({ color: input.accent, transparent: true, opacity: 0.16, depthWrite: false }),
    );
    const edges = new LineSegments(new EdgesGeometry(box), new LineBasicMaterial({ color: ink }));
    solid.position.copy(middle);
    edges.position.copy(middle);
    const name = labelOf(body.id.replaceAll('_', ' '), input.ink);
    name.position.copy(middle).add(new Vector3(0, 0, body.size[2] / 2 + 12));
    group.add(solid, edges, name);
    if (body.joint) {
      const dot = new Mesh(new SphereGeometry(5, 16, 12), new MeshBasicMaterial({ color: '#c2571a' }));
      group.add(dot);
    }
  }
  for (const train of input.trains) {
    const frame = frames.get(train.body);
    if (frame) frame.group.add(trainOf(train, frame.rest, input));
  }
  const polygon = input.support.map(([x = 0, y = 0, z = 0]) => new Vector3(x, y, z + 0.5));
  if (polygon.length > 2)
    scene.add(new LineLoop(new BufferGeometry().setFromPoints(polygon), new LineBasicMaterial({ color: '#c2571a' })));
  if (input.centre) {
    const [x = 0, y = 0, z = 0] = input.centre;
    const ball = new Mesh(new SphereGeometry(7, 20, 14), new MeshBasicMaterial({ color: ink }));
    ball.position.set(x, y, z);
    const plumb = new Line(
      new BufferGeometry().setFromPoints([new Vector3(x, y, z), new Vector3(x, y, 0)]),
      new LineDashedMaterial({ color: ink, dashSize: 6, gapSize: 4 }),
    );
    plumb.computeLineDistances();
    scene.add(ball, plumb);
  }
  // An actuator spans from the body that carries the joint to the body that moves, wherever both are.
  const rods = input.actuators.flatMap(({ moves, mounts: [bx, bz, rx, rz] }) => {
    const moving = frames.get(moves);
    if (!moving) return [];
    const parent = moving.body.parent !== null ? frames.get(moving.body.parent) : undefined;
    const y = moving.rest.y;
    const rod = new Line(
      new BufferGeometry().setFromPoints([new Vector3(), new Vector3()]),
      new LineBasicMaterial({ color: '#c2571a' }),
    );
    rod.frustumCulled = false;
    scene.add(rod);
    return [
      {
        rod,
        moving: moving.group,
        parent: parent?.group ?? scene,
        base: new Vector3(bx, y, bz).sub(parent?.rest ?? origin),
        tip: new Vector3(rx, y, rz).sub(moving.rest),
      },
    ];
  });
  const stretch = () => {
    scene.updateMatrixWorld(true);
    for (const r of rods)
      r.rod.geometry.setFromPoints([r.parent.localToWorld(r.base.clone()), r.moving.localToWorld(r.tip.clone())]);
  };

  const ball = ballAround(input);
  let view = { azimuth: 35, height: 24, zoom: 1 };
  const draw = () => {
    // The ball around everything fills the narrower side of the picture, whatever turns.
    const wide = Math.min(1, camera.aspect);
    const half = Math.atan(Math.tan((camera.fov * Math.PI) / 360) * wide);
    const distance = ball.radius / Math.sin(half) / view.zoom;
    const [a, h] = [(view.azimuth * Math.PI) / 180, (view.height * Math.PI) / 180];
    camera.position.set(
      ball.center.x + distance * Math.cos(h) * Math.cos(a),
      ball.center.y - distance * Math.cos(h) * Math.sin(a),
      ball.center.z + distance * Math.sin(h),
    );
    camera.lookAt(ball.center);
    renderer.render(scene, camera);
  };
  return {
    pose(angles) {
      for (const [id, { group, body }] of frames) {
        const rad = ((angles[id] ?? 0) * Math.PI) / 180;
        if (body.joint?.type === 'slew') group.rotation.set(0, 0, rad);
        else if (body.joint?.type === 'pitch') group.rotation.set(0, -rad, 0);
      }
      stretch();
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
