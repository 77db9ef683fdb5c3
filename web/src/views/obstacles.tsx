// What it gets over: the project's obstacles with what each takes, and the greatest steps, trenches and slopes over friction.
import type { Ground } from '../contract.ts';
import { amount, percent, sentence, words } from '../data/format.ts';
import { useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Paper } from '../parts/paper.tsx';

const kStops: Record<string, string> = {
  friction: 'the wheels slip',
  adhesion: 'the wheels slip',
  balance: 'it tips',
  tipping: 'it tips',
  clearance: 'it grounds',
  effort: 'the motors stall',
};

type Obstacle = Ground['obstacles'][number];

function takes(o: Obstacle): string {
  if (o.slope) return `${amount(o.slope.wanted_deg, 'deg')} of slope`;
  if (!o.way) return '';
  const friction = `friction of ${amount(o.way.needed_friction, '')} needed`;
  return `${friction}, clear by ${amount(o.way.least_clearance_mm, 'mm')}`;
}

/// On three grounds, slippery to grippy: a mark that differs in shape, not in colour alone.
function Passes({ obstacle }: { obstacle: Obstacle }) {
  return (
    <span className="passes">
      {obstacle.at.map((a, i) => (
        <span key={i} className={a.passed ? 'pass' : 'pass short-text'}>
          <Glyph of={a.passed ? 'meets' : 'short'} size={12} /> {amount(a.friction, '')}
          {a.stop ? `, ${kStops[a.stop] ?? a.stop}` : ''}
        </span>
      ))}
    </span>
  );
}

export function Obstacles({ ground, site }: { ground: Ground; site: boolean }) {
  const revision = useStore((s) => s.result?.revision ?? 0);
  if (!ground.judged)
    return (
      <section className="panel">
        <h2>Getting over things</h2>
        <p className="lead">{sentence(words(ground.why_not || 'not judged'))}.</p>
      </section>
    );
  return (
    <section className="panel">
      <h2>Getting over things</h2>
      {ground.note && <p className="lead">{sentence(ground.note)}.</p>}
      {ground.obstacles.length > 0 ? (
        <div className="scroll-x">
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">On the way</th>
                <th scope="col">What it takes</th>
                <th scope="col">Passed at a friction of</th>
                <th scope="col" className="num">
                  Sure to
                </th>
              </tr>
            </thead>
            <tbody>
              {ground.obstacles.map((o) => (
                <tr key={o.id} className={o.at.every((a) => a.passed) ? '' : 'short'}>
                  <th scope="row">
                    {words(o.id)}
                    <small className="dim block">{o.type}</small>
                  </th>
                  <td>{takes(o)}</td>
                  <td>
                    <Passes obstacle={o} />
                  </td>
                  <td className="num">{percent(o.confidence)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      ) : (
        <p className="lead">
          The project names no obstacles; add steps, trenches or slopes under Wants, the whole machine.
        </p>
      )}
      <Paper
        src={`/api/drawing/ground.svg?of=${revision}`}
        alt="Greatest step, trench and slope over the friction of the ground, each with what stops the next."
      />
      {site && (
        <Paper
          src={`/api/drawing/site.svg?of=${revision}`}
          alt="The site from above: places to stand, what they reach, and the loads from where to where."
        />
      )}
    </section>
  );
}
