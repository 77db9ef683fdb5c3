// Turns the drawn pose of a luffing mechanism to another angle of its travel: display only, rigid rotation about the pivot.
import type { Shape } from '../contract.ts';

export interface Posed {
  still: Shape[];
  turns: boolean;
}

const angle = (s: Shape) => Math.atan2(s.z2_mm - s.z1_mm, s.x2_mm - s.x1_mm);

const rotated = (px: number, pz: number, about: Shape, by: number): [number, number] => {
  const [c, s] = [Math.cos(by), Math.sin(by)];
  const dx = px - about.x1_mm;
  const dz = pz - about.z1_mm;
  return [about.x1_mm + c * dx - s * dz, about.z1_mm + s * dx + c * dz];
};

/// Where an actuator's two ends are pinned when the joint stands at 0: [base x, z, rod x, z], or null when the shapes do not tell.
export function mounts(shapes: Shape[], first_deg: number | undefined): [number, number, number, number] | null {
  const pivot = shapes.find((s) => s.role === 'pivot');
  const beam = shapes.find((s) => s.role === 'moving_beam');
  const low = shapes.find((s) => s.role === 'ghost' && s.label !== '');
  const actuator = shapes.find((s) => s.role === 'actuator');
  if (!pivot || !beam || !low || !actuator || first_deg === undefined) return null;
  const shown = (first_deg * Math.PI) / 180 + angle(beam) - angle(low);
  return [actuator.x1_mm, actuator.z1_mm, ...rotated(actuator.x2_mm, actuator.z2_mm, pivot, -shown)];
}

/// `x`: angles of the travel in deg, in the order of the curves. Without a pivot, a moving beam and a drawn low end the
/// shapes are handed back as they are.
export function posed(shapes: Shape[], x: number[], index: number, inDegrees: boolean): Posed {
  const pivot = shapes.find((s) => s.role === 'pivot');
  const beam = shapes.find((s) => s.role === 'moving_beam');
  const low = shapes.find((s) => s.role === 'ghost' && s.label !== '');
  const first = x[0];
  const wanted = x[index];
  if (!pivot || !beam || !low || first === undefined || wanted === undefined || !inDegrees)
    return { still: shapes, turns: false };
  const starts = Math.hypot(beam.x1_mm - pivot.x1_mm, beam.z1_mm - pivot.z1_mm) < 1;
  if (!starts) return { still: shapes, turns: false };
  let shown = angle(beam) - angle(low);
  shown = Math.atan2(Math.sin(shown), Math.cos(shown));
  const by = ((wanted - first) * Math.PI) / 180 - shown;
  const turned = (px: number, pz: number) => rotated(px, pz, pivot, by);
  // Of the rod mounts the labelled one belongs to the shown pose; the others are drawn at the ends of the travel.
  const still = shapes.map((shape) => {
    if (shape.role === 'moving_beam') {
      const [x1_mm, z1_mm] = turned(shape.x1_mm, shape.z1_mm);
      const [x2_mm, z2_mm] = turned(shape.x2_mm, shape.z2_mm);
      return { ...shape, x1_mm, z1_mm, x2_mm, z2_mm };
    }
    if (shape.role === 'actuator') {
      const [x2_mm, z2_mm] = turned(shape.x2_mm, shape.z2_mm);
      return { ...shape, x2_mm, z2_mm };
    }
    if (shape.role === 'load' || (shape.role === 'rod_mount' && shape.label !== '')) {
      const [x1_mm, z1_mm] = turned(shape.x1_mm, shape.z1_mm);
      return { ...shape, x1_mm, z1_mm };
    }
    return shape;
  });
  return { still, turns: true };
}
