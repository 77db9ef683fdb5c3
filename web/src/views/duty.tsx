// The working cycle: what runs together, what it draws, how warm the motors get, and which pairs must not run at once.
import type { Duty } from '../contract.ts';
import { amount, number, percent, sentence, words } from '../data/format.ts';
import { useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Paper } from '../parts/paper.tsx';

function Warmth({ duty }: { duty: Duty }) {
  return (
    <section className="card">
      <h2>Heat of the windings</h2>
      <table className="margins">
        <thead>
          <tr>
            <th scope="col">Function</th>
            <th scope="col">Motor</th>
            <th scope="col" className="num">
              Warmer at the end
            </th>
            <th scope="col" className="num">
              In the long run
            </th>
            <th scope="col">Protection</th>
            <th scope="col" className="num">
              Held fast, cuts out after
            </th>
          </tr>
        </thead>
        <tbody>
          {duty.warmth.map((w) => (
            <tr key={w.function} className={w.cut_out_min !== null ? 'short' : ''}>
              <th scope="row">{words(w.function)}</th>
              <td>{w.motor}</td>
              <td className="num">{amount(w.end_rise_k, 'K')}</td>
              <td className="num">{amount(w.steady_rise_k, 'K')}</td>
              <td>{w.cut_out_min === null ? 'holds' : `cuts out after ${amount(w.cut_out_min, 'min')}`}</td>
              <td className="num">{w.stall_cut_out_s === null ? 'never' : amount(w.stall_cut_out_s, 's')}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

export function WorkingCycle({ duty }: { duty: Duty }) {
  const revision = useStore((s) => s.result?.revision ?? 0);
  return (
    <>
      <dl className="facts facts-big">
        <div>
          <dt>One cycle</dt>
          <dd>{amount(duty.cycle_s, 's')}</dd>
        </div>
        <div>
          <dt>Mean current</dt>
          <dd>{amount(duty.mean_current_ma, 'mA')}</dd>
        </div>
        <div>
          <dt>Cells</dt>
          <dd>
            {amount(duty.fresh_voltage_v, 'V')} to {amount(duty.empty_voltage_v, 'V')}
            <small>{duty.cells}, fresh to empty</small>
          </dd>
        </div>
        <div>
          <dt>It ends by</dt>
          <dd className="fact-words">{duty.ends_by || 'nothing in sight'}</dd>
        </div>
        <div>
          <dt>Stalls first</dt>
          <dd className="fact-words">
            {duty.stalls_first ? words(duty.stalls_first) : 'nothing'}
            {duty.stalls_first && <small>with {percent(duty.stalls_first_depth)} of the charge gone</small>}
          </dd>
        </div>
      </dl>
      {duty.is_default && (
        <p className="lead">
          No working cycle is told: every function is taken to run alone, by its share of the time. Add phases under
          Wants, the whole machine.
        </p>
      )}
      <section className="card">
        <h2>Phases</h2>
        <div className="scroll-x">
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">Phase</th>
                <th scope="col" className="num">
                  Lasts
                </th>
                <th scope="col">Runs, and how quick against no load</th>
                <th scope="col" className="num">
                  Current of the hubs
                </th>
                <th scope="col" className="num">
                  Voltage left
                </th>
                <th scope="col">Limit</th>
              </tr>
            </thead>
            <tbody>
              {duty.phases.map((p, i) => (
                <tr key={i} className={p.over_limit ? 'short' : ''}>
                  <th scope="row">{sentence(words(p.id))}</th>
                  <td className="num">{amount(p.time_s, 's')}</td>
                  <td>
                    {p.runs.length === 0
                      ? 'nothing'
                      : p.runs
                          .map((r) => `${words(r.function)} ${percent(r.speed_share)}, ${amount(r.current_ma, 'mA')}`)
                          .join('; ')}
                  </td>
                  <td className="num">{p.hub_current_ma.map((c) => number(c)).join(' + ')} mA</td>
                  <td className="num">{p.hub_voltage_v.map((v) => number(v)).join(', ')} V</td>
                  <td>
                    <Glyph of={p.over_limit ? 'short' : 'meets'} /> {p.over_limit ? 'over' : 'kept'}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </section>
      <Paper
        src={`/api/drawing/duty.svg?of=${revision}`}
        alt="Currents of every phase of the working cycle, function by function; the table above has the same figures."
      />
      <Warmth duty={duty} />
      <section className="card">
        <h2>Not at the same time</h2>
        {duty.exclusions.length === 0 ? (
          <p className="lead">Any two functions may run together.</p>
        ) : (
          <ul className="plain">
            {duty.exclusions.map((e, i) => (
              <li key={i} className="finding-text">
                <Glyph of="warning" size={16} />
                <span>
                  <b>{words(e.first)}</b> with <b>{words(e.second)}</b>: {e.why} ({amount(e.value, e.unit)} against{' '}
                  {amount(e.limit, e.unit)}).
                </span>
              </li>
            ))}
          </ul>
        )}
      </section>
    </>
  );
}
