/** What is out of service, by whom, since when and why, and the way back; and the way out for what has no alarm. */
import { useSignal } from '@preact/signals';
import type { BoardHead } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { StateShape } from '../words/state-shape.tsx';
import { clockTime } from '../words/times.ts';
import { columnFacts } from '../words/values.ts';
import { ActForm } from './act-form.tsx';

type Out = NonNullable<BoardHead['outOfService']>[number];
type Props = { store: Store; zone: string; acts: boolean };

export function ServicePart({ store, zone, acts }: Props) {
  const out = store.head.value?.outOfService ?? [];
  if (out.length === 0 && !acts) return null;
  return (
    <div class="service">
      {out.length > 0 && (
        <ul class="service-list">
          {out.map((one) => (
            <li key={`${one.monitor} ${one.sensor ?? ''} ${one.setPoint ?? ''}`}>
              <p>
                <StateShape of="out-of-service" />
                <b>{outWords(one)}</b> by {one.by}, {clockTime(one.at, zone)}, <Age store={store} at={one.at} /> ago: “
                {one.reason}”
              </p>
              {acts && <PutBack one={one} zone={zone} />}
            </li>
          ))}
        </ul>
      )}
      {acts && <TakeMonitorOut store={store} zone={zone} />}
    </div>
  );
}

/** "M-07 carbon monoxide, set-point co-35": as narrow as it was put out. */
export function outWords({ monitor, sensor, setPoint }: Pick<Out, 'monitor' | 'sensor' | 'setPoint'>): string {
  const of = sensor === undefined ? '' : ` ${columnFacts(sensor).name}`;
  return `${monitor}${of}${setPoint === undefined ? '' : `, set-point ${setPoint}`}`;
}

function PutBack({ one, zone }: { one: Out; zone: string }) {
  return (
    <ActForm
      title="Put back in service"
      confirm="Confirm: in service"
      zone={zone}
      reasonLabel="Why (goes on record)"
      done="back in service"
      command={(reason) => ({
        type: 'out-of-service',
        monitor: one.monitor,
        out: false,
        reason,
        ...(one.sensor === undefined ? {} : { sensor: one.sensor }),
        ...(one.setPoint === undefined ? {} : { setPoint: one.setPoint }),
      })}
    />
  );
}

function TakeMonitorOut({ store, zone }: { store: Store; zone: string }) {
  const ids = store.ids.value;
  const chosen = useSignal('');
  if (ids.length === 0) return null;
  const monitor = ids.includes(chosen.value) ? chosen.value : (ids[0] ?? '');
  const sensors = Object.keys(store.monitor(monitor).value?.readings ?? {});
  return (
    <ActForm
      title="Put a monitor or a sensor out of service"
      confirm="Confirm: out of service"
      zone={zone}
      reasonLabel="Why (goes on record)"
      done="out of service until somebody puts it back"
      command={(reason, form) => {
        const field = form.elements.namedItem('sensor');
        const sensor = field instanceof HTMLSelectElement ? field.value : '';
        return { type: 'out-of-service', monitor, out: true, reason, ...(sensor === '' ? {} : { sensor }) };
      }}
    >
      <label>
        Monitor
        <select
          value={monitor}
          onChange={(event) => {
            chosen.value = event.currentTarget.value;
          }}
        >
          {ids.map((id) => (
            <option key={id} value={id}>
              {store.monitor(id).value?.entrant ? `${id}, ${store.monitor(id).value?.entrant}` : id}
            </option>
          ))}
        </select>
      </label>
      <label>
        Sensor
        <select name="sensor">
          <option value="">all of it</option>
          {sensors.map((sensor) => (
            <option key={sensor} value={sensor}>
              {columnFacts(sensor).name}
            </option>
          ))}
        </select>
      </label>
    </ActForm>
  );
}
